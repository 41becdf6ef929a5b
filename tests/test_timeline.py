"""Frames of the stow animation: from travel to frame and back."""

from __future__ import annotations

import itertools
from dataclasses import replace
from typing import get_args

import numpy as np
import pytest

from addon.designs.table import build
from addon.designs.table.design import check
from addon.designs.table.parameters import AsCut
from addon.scene.motion.timeline import PAUSE, LeafTime, Order, ease, marks, plan, unease
from addon.wood.assembly import Move, StowPath
from tests.old_tables import EXAMPLES

ASSEMBLY = build(EXAMPLES["quilting"].table())


def bezier(at: float) -> float:
    """A cubic Bezier curve from (0, 0) to (1, 1) with level handles at a third, by de Casteljau's construction."""

    def split(points, share):
        while len(points) > 1:
            points = [(1 - share) * a + share * b for a, b in itertools.pairwise(points)]
        return points[0]

    share = at  # handles at thirds: the curve's x is its parameter
    assert split(np.array([0.0, 1 / 3, 2 / 3, 1.0]), share) == pytest.approx(at, abs=1e-15)
    return float(split(np.array([0.0, 0.0, 1.0, 1.0]), share))


def test_easing_is_the_bezier_curve_that_blender_draws():
    for at in np.linspace(0.0, 1.0, 41):
        assert ease(at) == pytest.approx(bezier(at), abs=1e-15)


def test_unease_is_the_inverse_of_ease():
    times = np.linspace(0.0, 1.0, 201)
    assert [unease(ease(time)) for time in times] == pytest.approx(times, abs=1e-7)


@pytest.mark.parametrize("order", get_args(Order))
def test_travel_and_frame_are_inverse(order):
    for time in plan(ASSEMBLY, order).leaves.values():
        for travel in np.linspace(-time.path.zero, time.path.length - time.path.zero, 57):
            assert time.travel_at(time.frame_at(travel)) == pytest.approx(travel, abs=1e-9)


def test_ends_of_the_way():
    for time in plan(ASSEMBLY, "in turn").leaves.values():
        assert time.travel_at(time.at_slot) == pytest.approx(-time.path.zero)
        assert time.travel_at(time.home + 5) == pytest.approx(time.path.length - time.path.zero)
        assert time.travel_at(time.at_slot - 0.5) is None
        assert time.frame_at(1e9) == time.home
        assert time.frame_at(-1e9) == time.at_slot


def test_leaves_go_one_after_the_other_or_at_once():
    in_turn = list(plan(ASSEMBLY, "in turn").leaves.values())
    assert all(first.home < second.leaves_cover for first, second in itertools.pairwise(in_turn))
    together = plan(ASSEMBLY, "together").leaves.values()
    assert len({(time.leaves_cover, time.at_slot, time.home) for time in together}) == 1


def test_a_way_of_several_moves_rests_at_each_corner():
    moves = (
        Move(np.array([0.0, -900.0, 40.0]), np.array([0.0, -900.0, 0.0])),
        Move(np.array([0.0, -900.0, 0.0]), np.zeros(3)),
    )
    path = StowPath("L1", "S1", moves, zero=100.0, outward=np.array([0.0, -1.0, 0.0]))
    time = LeafTime(path, 5, 20, (24, 60))
    assert time.travel_at(24) == pytest.approx(40.0 - 100.0)
    assert time.travel_at(42) == pytest.approx(
        40.0 + 450.0 - 100.0
    )  # half the time of an eased move is half its way
    near = [time.travel_at(24 + step) - time.travel_at(24) for step in (-0.01, 0.01)]
    assert np.abs(near).max() < 0.01  # a steady move would cover 0.1 mm and 0.25 mm
    for travel in (-100.0, -70.0, -60.0, 0.0, 840.0):
        assert time.travel_at(time.frame_at(travel)) == pytest.approx(travel, abs=1e-9)


def test_contact_is_marked_from_its_first_frame():
    table = EXAMPLES["quilting"].table()
    low = replace(table, as_cut=(AsCut("R3", "window_height", deviation=-2.5),))
    report = check(low)
    line = plan(build(low), "in turn")
    found = marks(line, report.leaves)
    assert {(mark.leaf, mark.other, mark.word) for mark in found} == {
        ("L3", "R3", "overlap"),
        ("L4", "R3", "overlap"),
    }
    for mark in found:
        result = next(result for result in report.leaves if result.leaf == mark.leaf)
        assert mark.amount == pytest.approx(1.0, abs=1e-6)  # 20.7 - 2.5 high, leaf 1.5 + 17.7 above the sill
        time = line.leaves[mark.leaf]
        first, last = mark.frames
        assert time.travel_at(first) <= result.contact[0] < time.travel_at(first + 1)
        assert last == line.last  # it comes home in contact


def test_a_sound_table_has_no_marks():
    assert marks(plan(ASSEMBLY, "in turn"), check(EXAMPLES["quilting"].table()).leaves) == []


@pytest.mark.parametrize("order", get_args(Order))
def test_a_leaf_waits_where_it_is_told_to_and_goes_on_from_there(order):
    way = ASSEMBLY.stow_paths[0]
    stops = [way.length - way.zero, 3.0, 471.0]
    time = plan(ASSEMBLY, order, {way.leaf: stops}).leaves[way.leaf]
    assert [travel for _, _, travel in time.pauses] == pytest.approx(sorted(stops))
    for first, last, travel in time.pauses:
        assert last - first == PAUSE
        assert [time.travel_at(frame) for frame in np.linspace(first, last, 7)] == pytest.approx([travel] * 7)
    frames = np.linspace(time.at_slot, time.home, 400)
    assert (np.diff([time.travel_at(frame) for frame in frames]) >= -1e-9).all()
    for travel in np.linspace(-way.zero, way.length - way.zero, 57):
        assert time.travel_at(time.frame_at(travel)) == pytest.approx(travel, abs=1e-9)
        offset = time.path.offset_at(travel)
        assert offset == pytest.approx(way.offset_at(travel), abs=1e-9)  # the same way as without pauses


def test_without_pauses_nothing_changes():
    waiting, going = plan(ASSEMBLY, "in turn", {}), plan(ASSEMBLY, "in turn")
    assert (waiting.last, going.leaves["L1"].pauses) == (going.last, ())
