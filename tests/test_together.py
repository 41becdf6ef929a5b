"""Two leaves pushed home at once, against intervals worked out axis by axis in exact fractions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from random import Random

import numpy as np
import pytest

from addon.check.causes import MeetAtOnce
from addon.check.drawn_way import meetings_at_once
from addon.check.facts import Fact
from addon.check.prepared import prepare
from addon.designs.findings import Remedy
from addon.designs.table import build
from addon.designs.table.design import TABLE
from addon.files.editing import set_values
from addon.wood.assembly import Assembly, Move, StowPath
from tests.old_tables import EXAMPLES

SQUARE = set_values(EXAMPLES["quilting"].table(), {"leaves.edge_radius": 0, "leaves.finger_hole": 0})
BUILT = build(SQUARE)


def path_of_two_moves(leaf: str, random: Random) -> StowPath:
    """From anywhere by way of anywhere home, in whole millimeters."""
    places = [
        np.array([random.randint(-900, 900), random.randint(-900, 900), random.randint(-60, 60)])
        for _ in range(2)
    ]
    corners = [*(place.astype(float) for place in places), np.zeros(3)]
    moves = tuple(Move(start, end) for start, end in pairwise(corners))
    return replace(BUILT.path_of(leaf), moves=moves, zero=0.0)


Boxes = list[list[list[Fraction]]]
"""Lowest and highest corners of two boxes."""

HOME = [Fraction(0)] * 3


def boxes_of(assembly: Assembly, *leaves: str) -> Boxes:
    prepared = prepare(assembly)
    return [[[Fraction(value) for value in corner] for corner in prepared.bounds(leaf)] for leaf in leaves]


def meeting(
    boxes: Boxes, starts: Sequence[Sequence[Fraction]], stops: Sequence[Sequence[Fraction]]
) -> Fraction | None:
    """Share of straight ways at which two boxes begin to overlap, both going evenly; None if they never do."""
    (low_a, high_a), (low_b, high_b) = boxes
    enter, leave = Fraction(0), Fraction(1)
    for k in range(3):
        start, stop = starts[0][k] - starts[1][k], stops[0][k] - stops[1][k]
        # overlap on this axis while low_b - high_a < start + share·(stop - start) < high_b - low_a
        for bound, sign in ((low_b[k] - high_a[k], 1), (high_b[k] - low_a[k], -1)):
            speed, rest = sign * (stop - start), sign * (bound - start)
            if speed > 0:
                enter = max(enter, rest / speed)
            elif speed < 0:
                leave = min(leave, rest / speed)
            elif rest >= 0:
                leave = Fraction(-1)
    return enter if enter < leave - Fraction(1, 10**7) else None


def first_overlap(assembly: Assembly, one: StowPath, other: StowPath) -> float | None:
    """Share of the way at which two boxes begin to overlap, both going evenly; None if they never do."""
    boxes = boxes_of(assembly, one.leaf, other.leaf)
    turns = sorted(
        {Fraction(0), Fraction(1), *(Fraction(path.moves[0].length / path.length) for path in (one, other))}
    )
    for begin, end in pairwise(turns):
        starts = [[Fraction(x) for x in path.offset_at(float(begin) * path.length)] for path in (one, other)]
        stops = [[Fraction(x) for x in path.offset_at(float(end) * path.length)] for path in (one, other)]
        enter = meeting(boxes, starts, stops)
        if enter is not None:
            return float(begin + enter * (end - begin))
    return None


def passes(assembly: Assembly, path: StowPath, home: str) -> bool:
    """Whether a box goes its whole way past another that lies home."""
    boxes = boxes_of(assembly, path.leaf, home)
    ways = [
        [[Fraction(float(x)) for x in corner] for corner in (move.start, move.end)] for move in path.moves
    ]
    return all(meeting(boxes, (start, HOME), (stop, HOME)) is None for start, stop in ways)


@pytest.mark.parametrize("seed", range(60))
def test_first_meeting_of_two_leaves_on_bent_ways(seed: int) -> None:
    random = Random(seed)
    pair = random.sample(["L1", "L2", "L3", "L4"], 2)
    paths = tuple(path_of_two_moves(leaf, random) for leaf in sorted(pair))
    assembly = replace(BUILT, stow_paths=paths)
    expected = first_overlap(assembly, *paths)
    found = list(meetings_at_once(prepare(assembly)))
    assert len(found) == (0 if expected is None else 1)
    if expected is not None:
        assert found[0].rule == "leaves-meet"
        assert found[0].parts == tuple(sorted(pair))
        assert found[0].travel == pytest.approx(expected * paths[0].length, abs=1e-3)
        one, other = paths
        in_turn = [a.leaf for a, b in ((one, other), (other, one)) if passes(assembly, b, a.leaf)]
        cause = found[0].cause
        assert isinstance(cause, MeetAtOnce)
        assert cause.first == (in_turn[0] if in_turn else "")


def test_all_outcomes_come_up() -> None:
    outcomes = set()
    for seed in range(60):
        random = Random(seed)
        pair = random.sample(["L1", "L2", "L3", "L4"], 2)
        one, other = (path_of_two_moves(leaf, random) for leaf in sorted(pair))
        assembly = replace(BUILT, stow_paths=(one, other))
        meet = first_overlap(assembly, one, other) is not None
        outcomes.add((meet, passes(assembly, other, one.leaf), passes(assembly, one, other.leaf)))
    assert {(True, True, False), (True, False, True), (True, False, False), (False, True, True)} <= outcomes


@pytest.mark.parametrize(
    ("first", "said"),
    [("L1", "Slide L1 home first, then L4"), ("L4", "Slide L4 home first, then L1")],
)
def test_the_one_that_the_other_passes_goes_home_first(first: str, said: str) -> None:
    fact = Fact("leaves-meet", "note", ("L1", "L4"), (0.0, 0.0, 0.0), 0.5, MeetAtOnce(first), "L1", 300.0)
    (finding,) = TABLE.advise(SQUARE, BUILT, [fact])
    assert [one.text for one in finding.candidates if isinstance(one, Remedy)] == [said]
