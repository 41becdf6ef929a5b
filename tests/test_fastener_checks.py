"""Checks of screws and brads: tips, cuts, edges by two published rule sets, room for a driver.

Published values S-01 … S-17 are named beside each check with their source; distances are compared with python-fcl,
volumes with manifold3d, all other values are written by hand.
"""

from __future__ import annotations

from dataclasses import replace
from math import pi, radians, tan

import fcl
import numpy as np
import pytest

from addon.check.check import check
from addon.check.fasteners import InCut, NearEdge, NoDriver, TipOut, fastener_facts
from addon.check.in_wood import EDGE_RULES, Boards, InWood, _from_boxes
from addon.check.prepared import prepare
from addon.wood.assembly import Assembly
from addon.wood.fasteners import Fastener, FastenerKind
from addon.wood.features import AngledHole, EdgeTreatment, Opening, Taper
from addon.wood.limits import Limits
from addon.wood.part import Part, Shape
from addon.wood.screw_sizes import (
    BRADS,
    SCREWS,
    brad_length,
    gauge,
    penetration,
    pocket_length,
    screw_length,
    sizes_of,
)
from tests.line_samples import box
from tests.shape_bench import as_manifold, union

pytestmark = pytest.mark.once

DOWN = np.array([0.0, 0.0, -1.0])


def boards(upper: float = 17.7, lower: float = 17.7) -> tuple[Part, Part]:
    """A board 300 × 100 flat on another one; they meet at z = 0."""
    return box((300, 100, upper), (0, 0, 0), "A"), box((300, 100, lower), (0, 0, -lower), "B")


def screw(
    length: float, kind: FastenerKind = "screw", diameter: float = 4.0, x: float = 150.0, y: float = 50.0,
    z: float = 17.7, label: str = "SCR1", joins: tuple[str, ...] = ("A", "B"),
) -> Fastener:  # fmt: skip
    return Fastener(label, kind, np.array([x, y, z]), DOWN, sizes_of(kind, length, diameter), joins)


def facts(parts: tuple[Part, ...], *ones: Fastener, **limits: object):
    table = Assembly("x", parts, (), (), limits=replace(Limits(), **limits), fasteners=ones)
    return list(fastener_facts(prepare(table)))


# -- sizes
# ------------------------------------------------------------------------------------------------------------------


def test_gauge_numbers() -> None:
    """S-01, ASME B18.6.1: D = 0.060 + 0.013 N in: #4 .112, #6 .138 (3.51 mm), #8 .164 (4.17), #10 .190 (4.83)."""
    inches = {number: gauge(number) / 25.4 for number in (4, 6, 8, 10)}
    assert inches == pytest.approx({4: 0.112, 6: 0.138, 8: 0.164, 10: 0.190})
    assert [round(gauge(number), 2) for number in (6, 8, 10)] == [3.51, 4.17, 4.83]


def test_lead_holes_in_hardwood() -> None:
    """S-02, a toolmakers' table: #8 7/64, body 11/64; #6 3/32, body 9/64; #4 5/64."""
    found = {one.name: (one.lead, one.body) for one in SCREWS["in"]}
    assert found["#8"] == ("7/64 in", "11/64 in")
    assert found["#6"] == ("3/32 in", "9/64 in")
    assert found["#4"][0] == "5/64 in"


def test_pocket_screws_by_thickness() -> None:
    """S-05, common practice: 1/2 → 1, 3/4 → 1 1/4, 7/8 → 1 1/2, 1 1/4 → 2, 1 1/2 → 2 1/2 in, into wide boards."""
    table = {1 / 2: 1, 5 / 8: 1, 3 / 4: 1.25, 7 / 8: 1.5, 1: 1.5, 1.25: 2, 1.5: 2.5}
    for thick, long in table.items():
        assert pocket_length("in", thick * 25.4, 100.0, 3.0) == pytest.approx(long * 25.4), thick


def test_a_pocket_screw_into_a_face_is_shorter() -> None:
    """S-06 before S-05: 17.7 on the face of 17.7: 12.39 to the seat and at most 14.7 / 0.96593 = 15.22 past it."""
    assert pocket_length("mm", 17.7, 60.0, 3.0) == 32
    assert pocket_length("mm", 17.7, 17.7, 3.0) == 25
    assert pocket_length("mm", 17.7, 11.8, 3.0) == 20


def test_penetration_of_an_angled_screw() -> None:
    """S-06, geometry: p 20 mm at 15 deg: depth 19.32, drift 5.18 mm."""
    assert penetration(32.39, 12.39, 15.0) == pytest.approx((19.32, 5.18), abs=0.005)


def test_straight_screws_keep_their_margin() -> None:
    """S-07, L ≤ t1 + t2 - margin, margin 3 mm: 17.7 + 17.7 - 3 = 32.4 → 30 sold; 17.7 + 11.8 - 3 = 26.5 → 25."""
    assert screw_length("mm", 17.7, 17.7, 3.0) == 30
    assert screw_length("mm", 17.7, 11.8, 3.0) == 25
    assert screw_length("mm", 17.7, 60.0, 3.0) == 40  # two and a half times 17.7 is 44.25


def test_brads() -> None:
    """S-14: 18 gauge brads 10 to 50 mm long; S-16: about three times the held part, shorter than both by 3 mm."""
    assert (min(BRADS["mm"]), max(BRADS["mm"])) == (10, 50)
    assert brad_length("mm", 12.0, 100.0, 3.0) == 35  # 36 at most
    assert brad_length("mm", 17.7, 17.7, 3.0) == 32  # 32.4 at most


# -- distances, against general reference libraries
# ------------------------------------------------------------------------------------------------------------------


def test_distances_of_lines_from_boxes_are_those_of_fcl() -> None:
    random = np.random.default_rng(7)
    count = 60
    start, direction = random.uniform(-80, 80, (count, 3)), random.normal(size=(count, 3))
    direction[::3] = np.eye(3)[random.integers(0, 3, len(direction[::3]))]
    direction /= np.linalg.norm(direction, axis=1)[:, None]
    length = random.uniform(5, 60, count)
    low = random.uniform(-40, 0, (count, 3))
    high = low + random.uniform(5, 50, (count, 3))
    at, apart = _from_boxes(start, direction, length, low, high)
    away = 0
    for k in range(count):
        solid = fcl.CollisionObject(fcl.Box(*(high[k] - low[k])), fcl.Transform((low[k] + high[k]) / 2))
        turned = np.linalg.svd(direction[k][None])[2].T[:, [1, 2, 0]]
        turned[:, 2] = direction[k]
        turned[:, 0] = np.cross(turned[:, 1], turned[:, 2])
        middle = start[k] + length[k] / 2 * direction[k]
        line = fcl.CollisionObject(fcl.Capsule(0.5, length[k]), fcl.Transform(turned, middle))
        found = fcl.distance(line, solid, fcl.DistanceRequest(), fcl.DistanceResult())
        if apart[k] > 0.6:
            assert apart[k] - 0.5 == pytest.approx(found, abs=2e-4), k
            away += 1
        assert 0.0 <= at[k] <= length[k] + 1e-9
    assert away > 30


def test_what_stands_out_is_what_manifold_finds_outside() -> None:
    """S-07: a screw 40.4 long through 35.4 of wood stands 5 mm out: a cylinder of 4 mm diameter and that length."""
    parts, one = boards(), screw(40.4)
    wood = union(prepare(Assembly("x", parts, (), ())).pieces[0]) + union(
        prepare(Assembly("x", parts, (), ())).pieces[1]
    )
    outside = (union(one.pieces) - wood).volume()
    assert outside == pytest.approx(pi * 2.0**2 * 5.0, rel=0.02)
    (fact,) = facts(parts, one)
    assert (fact.rule, fact.severity, fact.cause.wood) == ("tip-out", "error", pytest.approx(-5.0))


# -- tips
# ------------------------------------------------------------------------------------------------------------------


def test_a_tip_keeps_3_mm_from_the_far_face() -> None:
    """S-07: 35.4 of wood: 32.4 long is right, 33.4 leaves 2 mm, 35.5 stands out."""
    assert facts(boards(), screw(32.4)) == []
    (near,) = facts(boards(), screw(33.4))
    assert (near.rule, near.severity, near.amount, near.parts) == (
        "tip-out",
        "warning",
        pytest.approx(1.0),
        ("SCR1", "B"),
    )
    (out,) = facts(boards(), screw(35.5))
    assert out.severity == "error"


def test_32_mm_screws_through_a_panel_of_11_8() -> None:
    """17.7 + 11.8 = 29.5: 32 mm stand out by 2.5."""
    (fact,) = facts(boards(lower=11.8), screw(32.0))
    assert isinstance(fact.cause, TipOut)
    assert fact.cause.wood == pytest.approx(-2.5)


def test_an_angled_screw_comes_out_beside() -> None:
    """S-06: 20 mm past the joint at 15 deg it is 19.32 deep and has drifted 5.18: from 8.85 below the face of an edge
    17.7 thick, 17.7 - 8.85 - 5.18 = 3.67 are left beside its middle, 1.67 beside a shank of 4 mm."""
    a, b = box((100, 60, 17.7), (0, 0, 0), "A"), box((60, 60, 17.7), (100, 0, 0), "B")
    lean = np.array([np.cos(radians(15)), 0.0, np.sin(radians(15))])
    sizes = sizes_of("pocket screw", 32.39, 4.0)
    start = np.array([100.0, 30.0, 8.85]) - (12.39 + sizes.head_height) * lean
    one = Fastener("PSCR1", "pocket screw", start, lean, sizes, ("A", "B"))
    (fact,) = [fact for fact in facts((a, b), one) if fact.rule == "tip-out"]
    assert fact.cause.beside
    assert fact.cause.wood == pytest.approx(17.7 - 8.85 - 5.176 - 2.0, abs=0.01)


def test_a_screw_that_does_not_reach_holds_nothing() -> None:
    (fact,) = facts(boards(), screw(16.0))
    assert (fact.rule, fact.severity, fact.parts) == ("tip-short", "error", ("SCR1", "B"))


# -- cuts
# ------------------------------------------------------------------------------------------------------------------


def with_cut(part: Part, feature) -> Part:
    return replace(part, shape=Shape(part.shape.outline, part.shape.thickness, (feature,)))


def test_a_brad_wanders_into_a_taper() -> None:
    """S-17, common practice: a cone of 5 deg; 30 mm down 30 tan 5° = 2.625 mm. B's end tapers from nothing at x = 200
    to 10 mm off its lower face at x = 300, a slope of 1 in 10: the brad's tip at x = 290 is 12.3 below the joint,
    its wood there 17.7 - 9 = 8.7 deep."""
    a, b = boards()
    b = with_cut(b, Taper(1, "front", 100.0, 10.0))
    brad = screw(30.0, "brad", 1.25, x=290.0, label="BRAD1")
    (fact,) = [fact for fact in facts((a, b), brad) if fact.rule == "screw-in-cut"]
    assert isinstance(fact.cause, InCut)
    slope = 1 / (1 + 0.1**2) ** 0.5
    depth = (12.3 - 8.7) * slope
    assert fact.cause.distance == pytest.approx(-depth - 0.625 - 30 * tan(radians(5)), abs=1e-6)
    assert (fact.severity, fact.cause.cut, fact.parts) == ("error", "taper", ("BRAD1", "B"))
    straight = replace(brad, kind="screw", label="SCR1", sizes=sizes_of("screw", 30.0, 1.25))
    (fact,) = [fact for fact in facts((a, b), straight) if fact.rule == "screw-in-cut"]
    assert fact.cause.distance == pytest.approx(-depth - 0.625, abs=1e-6)


def test_distances_from_openings_and_chamfers() -> None:
    """A window from x = 153 on is 3 - 2 mm from a 4 mm screw at 150; a chamfer of 15 on the far edge of the upper face
    begins at y = 85, 3 mm before the axis, and slopes away at 45 deg."""
    a, b = boards()
    window = with_cut(a, Opening(153.0, 200.0, 20.0, 80.0))
    (fact,) = facts((window, b), screw(30.0))
    assert (fact.rule, fact.severity, fact.cause.cut) == ("screw-in-cut", "warning", "window")
    assert fact.cause.distance == pytest.approx(1.0)
    chamfered = with_cut(a, EdgeTreatment(2, "back", "chamfer", 15.0))
    (fact,) = [one for one in facts((chamfered, b), screw(30.0, y=88.0)) if one.rule == "screw-in-cut"]
    assert fact.cause.distance == pytest.approx(-3.0 / 2**0.5 - 2.0)


def test_the_hole_that_it_is_in_is_none_of_those() -> None:
    a, b = box((100, 60, 17.7), (0, 0, 0), "A"), box((17.7, 60, 60), (100, 0, -20), "B")
    hole = AngledHole(1, 30.0, 33.03, 9.5, 21.8, 15.0, "front", 3.0)
    a = with_cut(a, hole)
    axis = hole.axis(a.shape.blank)
    sizes = sizes_of("pocket screw", 25.0, 4.0)
    start = np.array(axis.entry) + (21.8 - sizes.head_height) * np.array(axis.along)
    one = Fastener("PSCR1", "pocket screw", start, np.array(axis.along), sizes, ("A", "B"))
    assert [fact.rule for fact in facts((a, b), one)] == []


# -- edges
# ------------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("rule", "brad", "into_edge", "edge", "end"),
    [
        ("timber", False, False, 3, 7),  # S-08, EN 1995-1-1 table 8.2, predrilled: a4,c 3 d, a3,c 7 d
        ("timber", True, False, 5, 10),  # S-08, without predrilling: a4,c 5 d, a3,c 10 d
        ("plywood", True, True, 7, 15),  # S-09, into the edge of veneer boards: a4,c 7 d, a3,c 15 d
        ("plywood", False, True, 3, 3),  # S-09, predrilled: a4,c at least 3 d
        ("plywood", False, False, 3, 3),  # S-10, EN 1995-1-1 8.3.1.3: unloaded edge or end 3 d
        ("american", False, False, 2.5, 10),  # S-12, NDS wood screws: edge 2.5 D, end 10 D prebored
        ("american", True, False, 2.5, 15),  # S-12, end 15 D not prebored
    ],
)
def test_published_edge_distances(rule: str, brad: bool, into_edge: bool, edge: float, end: float) -> None:
    found = EDGE_RULES[rule].needs(np.array([brad]), np.array([into_edge]))
    assert found[:, 0].tolist() == [edge, end]


@pytest.mark.parametrize(("rule", "least"), [("plywood", 12.0), ("timber", 28.0), ("american", 40.0)])
def test_a_limit_chooses_the_rule_that_the_finding_names(rule: str, least: float) -> None:
    """A 4 mm screw from the end of both boards: 3 d, 7 d or 10 d (S-10, S-08, S-12)."""
    assert facts(boards(), screw(30.0, x=least + 0.01), edge_rule=rule) == []
    (fact,) = facts(boards(), screw(30.0, x=least - 0.01), edge_rule=rule)
    assert isinstance(fact.cause, NearEdge)
    assert (fact.rule, fact.severity, fact.cause.of) == ("near-edge", "warning", "end")
    assert fact.cause.need == pytest.approx(least)
    assert fact.cause.source == EDGE_RULES[rule].source


@pytest.mark.parametrize(("diameter", "times"), [(gauge(8), 2.16), (gauge(6), 2.57), (3.0, 3.0)])
def test_screws_into_the_edge_of_18_mm_plywood(diameter: float, times: float) -> None:
    """S-13: 9 mm from either face are 2.16 d for #8, 2.57 d for #6, 3.0 d at 3 mm: clamping screws but the last."""
    a = box((300, 100, 18.0), (0, 0, 0), "A")
    stood = replace(box((300, 60, 18.0), (0, 0, 0), "B"))
    upright = replace(
        stood, placement=replace(stood.placement, origin=np.array([0.0, 59.0, -60.0]),
                                 axes=np.array([[1.0, 0, 0], [0, 0, 1.0], [0, -1.0, 0]])),
    )  # fmt: skip
    found = facts((a, upright), screw(40.0, diameter=diameter, z=18.0))
    assert 9.0 / diameter == pytest.approx(times, abs=0.005)
    if times >= 3:
        assert found == []
        return
    (fact,) = found
    assert (fact.rule, fact.severity, fact.parts) == ("edge-screw", "note", ("SCR1", "B"))
    assert fact.cause.clamping
    assert fact.cause.diameters == pytest.approx((times, 3.0), abs=0.005)


# -- drivers
# ------------------------------------------------------------------------------------------------------------------


def test_room_for_a_driver() -> None:
    """A board 90 mm above the head: a driver of 80 has room, one of 150 has not; what goes in later is in no way."""
    above = box((300, 100, 10), (0, 0, 107.7), "C")
    assert facts((*boards(), above), screw(30.0), driver_length=80.0) == []
    parts = tuple(replace(one, role=replace(one.role, stage=20)) for one in boards())
    early = replace(above, role=replace(above.role, stage=10))
    (fact,) = facts((*parts, early), screw(30.0), driver_length=150.0, driver_width=12.0)
    assert isinstance(fact.cause, NoDriver)
    assert (fact.rule, fact.cause.by) == ("no-driver", "C")
    assert fact.cause.room == pytest.approx(90.0 - 6.0)  # grown by the driver's radius on all sides
    late = replace(above, role=replace(above.role, stage=30))
    assert facts((*parts, late), screw(30.0), driver_length=150.0) == []
    beside = replace(early, placement=early.placement.moved(np.array([0.0, 56.5, 0.0])))
    assert facts((*parts, beside), screw(30.0), driver_length=150.0, driver_width=12.0) == []


# -- several at once
# ------------------------------------------------------------------------------------------------------------------


def test_three_faults_at_once_are_three_facts() -> None:
    ones = (
        screw(40.4, label="SCR1"), screw(30.0, x=5.0, label="SCR2"), screw(12.0, x=250.0, label="SCR3"),
        screw(30.0, x=200.0, label="SCR4"),
    )  # fmt: skip
    found = {(fact.rule, fact.parts[0]) for fact in facts(boards(), *ones)}
    assert found == {("tip-out", "SCR1"), ("near-edge", "SCR2"), ("tip-short", "SCR3")}


def test_the_whole_check_tells_them() -> None:
    table = Assembly("x", boards(), (), (), fasteners=(screw(40.4),))
    assert [fact.rule for fact in check(table).facts if fact.rule == "tip-out"] == ["tip-out"]


def test_rows_of_a_board_that_is_missing_are_left_out() -> None:
    rows = InWood.of([screw(30.0)], Boards(boards()[:1]))
    assert rows.number.tolist() == [0]
    assert as_manifold(screw(30.0).mesh).volume() > 0
