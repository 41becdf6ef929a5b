"""What the check finds out of an assembly alone: causes with their numbers, by hand on the quilting table."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import fields
from itertools import pairwise

import pytest

from addon.check import causes
from addon.check.check import check
from addon.check.facts import Fact
from addon.designs.table import build, design
from addon.designs.table.parameters import Table
from addon.files.editing import set_values
from tests.old_tables import EXAMPLES

QUILTING = EXAMPLES["quilting"].table()
LEAF_WIDTH = (1500 - 2 * 17.7 - 5 * 1.0) / 4


def as_cut(part: str, dimension: str, deviation: float, end: str) -> dict[str, object]:
    keys = {"part": part, "dimension": dimension, "deviation": deviation, "end": end}
    return {f"as_cut[0].{key}": value for key, value in keys.items()}


def fact(rule: str, parts: tuple[str, ...], changes: dict[str, object]) -> Fact:
    found = check(build(set_values(QUILTING, changes))).facts
    (one,) = (fact for fact in found if (fact.rule, fact.parts) == (rule, parts))
    return one


def test_a_leaf_that_is_stowed_too_far_in_has_wood_ahead() -> None:
    """2 mm farther in than the 1.5 mm to the back side allow."""
    cause = fact("leaf-blocked", ("S2", "L1"), {"stowing.set_back": 21.2}).cause
    assert isinstance(cause, causes.TooNear)
    assert (cause.where, cause.room) == ("ahead", None)
    assert cause.apart == pytest.approx(-0.5)


@pytest.mark.parametrize(("position", "parts"), [(0, ("LEG1", "L1")), (1, ("LEG7", "L2"))])
def test_a_wide_leg_stands_beside_a_leaf(position: int, parts: tuple[str, str]) -> None:
    """3 mm too wide. L1 looks in from the front, its leg at the corner to its left; so does L2 from the back."""
    edge = abs(QUILTING.stow[position].offset) + LEAF_WIDTH / 2
    cause = fact("leaf-blocked", parts, {"legs.width": 1500 / 2 - 17.7 - edge + 3}).cause
    assert isinstance(cause, causes.TooNear)
    assert (cause.where, cause.room) == ("left", None)
    assert cause.apart == pytest.approx(-3.0)


def test_the_room_in_a_tight_opening_is_told_side_by_side() -> None:
    cause = fact("leaf-tight", ("S1", "L1"), {"stowing.clearance_above": 0.2}).cause
    assert isinstance(cause, causes.TooNear)
    assert cause.room is not None
    assert (cause.room.above, cause.room.below) == (pytest.approx(0.2), pytest.approx(1.5))
    assert (cause.room.left, cause.room.right) == (pytest.approx(2.0), pytest.approx(2.0))
    assert cause.near == "upper edge of the slot of L1"


def test_what_ends_the_travel() -> None:
    cause = fact("no-end-stop", ("L3",), {"stowing.stop_gap": 30}).cause
    assert isinstance(cause, causes.NothingStops)
    assert (cause.gap, cause.stops_at) == (pytest.approx(30.0), "STOP1")
    early = fact("end-stop-near", ("STOP1", "L3"), as_cut("L3", "length", 3.0, "start")).cause
    assert early == causes.StopsEarly("STOP1")
    proud = fact("leaf-proud", ("L1", "S1"), {"stowing.set_back": -5, "limits.leaf_proud": 2}).cause
    assert isinstance(proud, causes.StandsOut)
    assert (proud.side, proud.excess) == ("S1", pytest.approx(3.0))


def test_holes_that_fingers_do_not_find() -> None:
    """The hole is 35 mm from the leaf's outer end, which lies 19.2 mm inside the side."""
    none = fact("finger-hole", ("L1",), {"leaves.finger_hole": 0}).cause
    assert isinstance(none, causes.NoGrip)
    assert (none.side, none.inside, none.turned_away) == ("S1", pytest.approx(19.2), False)
    small = fact("finger-hole", ("L1",), {"leaves.finger_hole": 10}).cause
    assert isinstance(small, causes.SmallGrip)
    assert (small.grip.kind, small.grip.least_size, small.least) == ("finger hole", pytest.approx(10.0), 20.0)
    far = fact("finger-reach", ("L1",), {"limits.finger_reach": 20}).cause
    assert isinstance(far, causes.FarGrip)
    assert (far.side, far.depth, far.reach) == ("S1", pytest.approx(19.2 + 35), 20.0)


def test_a_hole_above_a_rib_is_covered_while_it_is_shifted_across_that() -> None:
    """A hole of 25 mm is over some of a rib of 17.7 mm within 12.5 mm of either of its faces."""
    cause = fact("finger-room", ("L1", "R6"), {"leaves.finger_hole_inset": 70}).cause
    assert isinstance(cause, causes.CoveredGrip)
    assert cause.by == "R6"
    over = [stop - start for start, stop in cause.spans.tolist() if start < 0 < stop]
    assert any(width == pytest.approx(17.7 + 25) for width in over)


def test_pulls_that_face_up() -> None:
    cause = fact("finger-hole", ("L1",), {"leaves.finger_hole": 0, "leaves.pull_length": 100}).cause
    assert isinstance(cause, causes.NoGrip)
    assert cause.turned_away


@pytest.mark.parametrize(
    "changes",
    [
        {"legs.width": 330, "leaves.finger_hole": 0, "stowing.clearance_above": 0.2},
        as_cut("R2", "length", 4.0, "end"),
        as_cut("S3", "length", -3.0, "start"),
    ],
)
def test_the_design_says_every_fact_and_changes_none(changes: dict[str, object]) -> None:
    """Facts of one cause are one finding, which has all their places; none is lost, none is told twice."""
    table: Table = set_values(QUILTING, changes)
    facts, findings = check(build(table)).facts, design.check(table).findings
    assert len(facts) >= len(findings) > 0

    def places(found: Iterable[Fact]) -> list[object]:
        return sorted(
            (place.rule or one.rule, place.parts, place.at, place.amount, place.leaf, place.travel or 0.0)
            for one in found
            for place in one.places
        )

    assert places(facts) == places(findings)
    for said in findings:
        own = next(one for one in facts if (one.rule, one.parts, one.at) == (said.rule, said.parts, said.at))
        for field in fields(Fact):
            if field.name not in ("cause", "others"):
                assert getattr(own, field.name) == getattr(said, field.name)
        assert said.message.endswith(".")


def test_facts_are_told_the_gravest_first() -> None:
    order = ("error", "warning", "note")
    table = set_values(QUILTING, {"legs.width": 330, "stowing.set_back": -5, "stowing.end_stops": False})
    found = [order.index(one.severity) for one in check(build(table)).facts]
    assert set(found) == {0, 1, 2}
    assert all(one <= other for one, other in pairwise(found))


def test_a_hole_too_small_beside_a_pull_that_serves_is_no_fault() -> None:
    """A hole of 10 takes no finger; a pull 25 wide, 5 to 30 from the outer end, below at home, does. Turned up it does
    not, and the leaf cannot be drawn out: an error."""
    both = {
        "leaves.finger_hole": 10,
        "leaves.finger_hole_inset": 70,
        "leaves.pull_length": 100,
        "leaves.pull_inset": 5,
    }
    for over, found in ((True, set()), (False, {("finger-hole", "error"), ("finger-reach", "error")})):
        facts = check(build(set_values(QUILTING, {**both, "leaves.turned_over": over}))).facts
        fingers = {(one.rule, one.severity) for one in facts if one.rule.startswith("finger")}
        assert fingers - {("finger-room", "error")} == found
