"""The running clearance against the check of the whole way, and against python-fcl at single poses."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from addon.check.prepared import prepare
from addon.check.running import running_clearances, tight_places
from addon.designs.table import build
from addon.designs.table.design import check
from addon.designs.table.parameters import AsCut
from addon.sizes.tolerances import CONTACT
from tests.old_tables import EXAMPLES
from tests.oracles import Body, Exported, smallest_distance

QUILTING, SEED_BENCH = (EXAMPLES[name].table() for name in ("quilting", "seed-bench"))
TIGHT = replace(QUILTING, as_cut=(AsCut("S1", "slot_height", deviation=-1.2),))
LOW = replace(QUILTING, as_cut=(AsCut("R3", "window_height", deviation=-2.5),))
"""R3's windows are 18.2 mm high; L3 and L4 lie 1.5 above the sill and are 17.7 thick: they overlap R3 by 1.0 mm."""

TABLES = pytest.mark.parametrize("table", [QUILTING, SEED_BENCH, TIGHT], ids=["quilting", "bench", "tight"])


def travels_of(path, count):
    return np.linspace(-path.zero, path.length - path.zero, count)


@TABLES
def test_no_pose_is_nearer_than_the_whole_way_and_the_tightest_is_as_near(table):
    prepared = prepare(build(table))
    results = {result.leaf: result for result in check(table).leaves}
    travels = {
        path.leaf: [*travels_of(path, 9), results[path.leaf].travel] for path in prepared.assembly.stow_paths
    }
    for leaf, poses in running_clearances(prepared, travels).items():
        assert min(pose.clearance for pose in poses) >= results[leaf].clearance - CONTACT
        assert poses[-1].clearance == pytest.approx(results[leaf].clearance, abs=1e-6)
        assert [pose.travel for pose in poses] == pytest.approx(travels[leaf])


@TABLES
def test_clearances_are_those_of_another_library(table):
    assembly = build(table)
    exported = Exported(assembly)
    rng = np.random.default_rng(7)
    travels = {
        path.leaf: rng.uniform(-path.zero, path.length - path.zero, 3) for path in assembly.stow_paths[:2]
    }
    found = running_clearances(prepare(assembly), travels)
    for leaf, poses in found.items():
        path = assembly.path_of(leaf)
        for pose in poses:
            moved = [Body(body.vertices + path.offset_at(pose.travel)) for body in exported.bodies[leaf]]
            around = Body(np.concatenate([body.vertices for body in moved]))
            near = {
                label: smallest_distance(moved, bodies)
                for label, bodies in exported.bodies.items()
                if label not in (leaf, path.end_stop)
                and around.bounds_gap(exported.boxes[label]) <= pose.clearance + 1e-6
            }
            assert pose.clearance == pytest.approx(min(near.values()), abs=1e-6)
            assert near[pose.against] == pytest.approx(pose.clearance, abs=1e-6)


def test_the_nearest_points_lie_on_both_parts_and_are_as_far_apart():
    prepared = prepare(build(QUILTING))
    path = prepared.assembly.path_of("L1")
    for pose in running_clearances(prepared, {"L1": travels_of(path, 7)})["L1"]:
        on_leaf, on_part = np.array(pose.span)
        assert np.linalg.norm(on_part - on_leaf) == pytest.approx(pose.clearance, abs=1e-6)
        at_home = on_leaf - path.offset_at(pose.travel)
        assert prepared.pieces[prepared.number["L1"]].contains(at_home, 1e-6).all()
        assert prepared.pieces[prepared.number[pose.against]].contains(on_part, 1e-6).all()


def test_a_leaf_that_collides_has_a_negative_clearance_from_the_contact_on():
    result = next(leaf for leaf in check(LOW).leaves if leaf.leaf == "L3")
    assert result.contact is not None
    prepared = prepare(build(LOW))
    before, after = result.contact[0] - 1.0, result.contact[0] + 100.0
    poses = running_clearances(prepared, {"L3": [before, result.contact[0], after]})["L3"]
    assert poses[0].clearance > 0.05
    assert poses[1].clearance == pytest.approx(0.0, abs=10 * CONTACT)
    assert (poses[2].against, poses[2].clearance) == ("R3", pytest.approx(-1.0, abs=1e-6))


def test_parts_that_are_not_there_do_not_count():
    prepared = prepare(build(QUILTING))
    (with_it,) = running_clearances(prepared, {"L1": [10.0]})["L1"]
    (without,) = running_clearances(prepared, {"L1": [10.0]}, {"L1": [with_it.against]})["L1"]
    assert without.against != with_it.against
    assert without.clearance > with_it.clearance


@TABLES
def test_tight_places_are_as_near_as_they_say_and_the_first_of_all_is_the_checks(table):
    prepared = prepare(build(table))
    places = tight_places(prepared)
    results = {result.leaf: result for result in check(table).leaves}
    found = running_clearances(prepared, {leaf: [one.travel for one in own] for leaf, own in places.items()})
    for leaf, own in places.items():
        assert [one.travel for one in own] == sorted(one.travel for one in own)
        assert (own[0].part, own[0].travel) == (
            results[leaf].against,
            pytest.approx(results[leaf].travel, abs=1e-9),
        )
        for place, pose in zip(own, found[leaf], strict=True):
            assert place.clearance == pytest.approx(results[leaf].clearance, abs=1e-6)
            assert pose.clearance == pytest.approx(place.clearance, abs=1e-6)


def test_every_opening_of_the_quilting_table_is_as_tight_as_the_others():
    """Slots and windows of the example have one clearance below the leaf, 1.5 mm (by its file)."""
    found = tight_places(prepare(build(QUILTING)))
    openings = {
        path.leaf: {
            part.label
            for part in prepare(build(QUILTING)).assembly.parts
            for opening in part.shape.openings
            if opening.leaf == path.leaf
        }
        for path in build(QUILTING).stow_paths
    }
    for leaf, places in found.items():
        assert openings[leaf] <= {place.part for place in places}


def test_places_with_less_than_the_least_clearance_are_tight_too():
    own = tight_places(prepare(build(TIGHT)), least=2.0)["L1"]
    assert own[0].clearance == pytest.approx(0.3, abs=1e-6)
    assert {round(place.clearance, 6) for place in own} == {0.3, 1.5}
