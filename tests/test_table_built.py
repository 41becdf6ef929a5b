"""The table built: the quilting table worked out by hand as boxes, and what holds for every random table."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from addon.designs.table import build
from addon.designs.table.design import check
from addon.designs.table.figures import long_rib, long_ribs
from addon.files.editing import set_values
from addon.wood.assembly import Assembly
from addon.wood.meshes.mesh import mesh_of
from addon.wood.part import Part
from plain_boards import Deviation
from plain_boxes import PlainTable
from plain_rows import rows
from random_tables import sound_tables
from tests.old_tables import EXAMPLES

QUILTING = EXAMPLES["quilting"].table()
BUILT = build(QUILTING)


def box_of(part: Part) -> list[tuple[float, float]]:
    """(low, high) of a part on x, y and z, mm."""
    ends = part.placement.to_table(np.array([[0.0, 0.0, 0.0], part.shape.size]))
    return [(float(low), float(high)) for low, high in zip(ends.min(axis=0), ends.max(axis=0), strict=True)]


def only(assembly: Assembly, **box: tuple[float, float]) -> Part:
    """The one part that fills these ranges of x, y and z."""
    found = [
        part
        for part in assembly.parts
        if all(box_of(part)["xyz".index(axis)] == pytest.approx(span, abs=1e-9) for axis, span in box.items())
    ]
    assert len(found) == 1, [part.label for part in found]
    return found[0]


# -- the quilting table, worked out by hand as boxes (mm; origin in the middle of the plan, z from the room's floor)
# ------------------------------------------------------------------------------------------------------------------

BODY = (626.1, 770.0)
RIB = (626.1, 700.5)
UPPER, LOWER = (673.3, 691.0), (649.6, 667.3)
BY_HAND: dict[str, dict[str, tuple[float, float]]] = {
    "front side": {"x": (-750.0, 750.0), "y": (-480.0, -462.3), "z": BODY},
    "back side": {"x": (-750.0, 750.0), "y": (462.3, 480.0), "z": BODY},
    "left side": {"x": (-750.0, -732.3), "y": (-462.3, 462.3), "z": BODY},
    "right side": {"x": (732.3, 750.0), "y": (-462.3, 462.3), "z": BODY},
    "bottom panel": {"x": (-737.8, 737.8), "y": (-467.8, 467.8), "z": (700.5, 712.3)},
    "upper leaf, front": {"x": (-555.15, -190.25), "y": (-460.8, 460.8), "z": UPPER},
    "upper leaf, back": {"x": (190.25, 555.15), "y": (-460.8, 460.8), "z": UPPER},
    "lower leaf, right": {"x": (-190.8, 730.8), "y": (15.0, 379.9), "z": LOWER},
    "lower leaf, left": {"x": (-730.8, 190.8), "y": (-379.9, -15.0), "z": LOWER},
    "end stop, right": {"x": (-210.0, -192.3), "y": (8.85, 381.9)},
    "end stop, left": {"x": (192.3, 210.0), "y": (-381.9, -8.85)},
    "leg board": {"x": (-732.3, -672.3), "y": (-462.3, -444.6), "z": (0.0, 700.5)},
    "other board of that leg": {"x": (-732.3, -714.6), "y": (-444.6, -402.3), "z": (0.0, 700.5)},
    "ledger strip": {"x": (-732.3, 732.3), "y": (-462.3, -444.6), "z": (722.3, 752.3)},
    **{
        f"through rib at {x}": {"x": (x - 8.85, x + 8.85), "y": (-462.3, 462.3), "z": RIB}
        for x in (-566, -139, 139, 566)
    },
}  # fmt: skip


@pytest.mark.parametrize("name", BY_HAND)
def test_quilting_table_by_hand(name: str) -> None:
    only(BUILT, **BY_HAND[name])


def test_heights_of_the_quilting_table() -> None:
    covers = [placement.origin[2] for placement in BUILT.cover.values()]
    assert covers == [pytest.approx(752.3)] * 4
    assert 770 - BODY[0] == pytest.approx(143.9)
    assert BODY[0] == pytest.approx(626.1)
    for side, leaf, low, high in (("S1", "L1", 671.8, 692.5), ("S4", "L3", 648.1, 668.8)):
        (slot,) = BUILT.by_label[side].shape.openings
        assert (slot.leaf, slot.kind) == (leaf, "slot")
        assert (626.1 + slot.v0, 626.1 + slot.v1) == (pytest.approx(low), pytest.approx(high))
    (groove,) = BUILT.by_label["S1"].shape.grooves
    assert (626.1 + groove.v0, 626.1 + groove.v1) == (pytest.approx(700.5), pytest.approx(712.3 + 0.2))
    # stopped before the ends of the long sides, so that it does not show
    assert (groove.u0, groove.u1) == (pytest.approx(750 - 738.3), pytest.approx(750 + 738.3))
    assert BUILT.by_label["S3"].shape.grooves[0].u0 < 0


def test_fifteen_segments_six_with_windows_open_at_the_outer_end() -> None:
    segments = [part for part in BUILT.parts if part.name == "rib segment"]
    assert len(segments) == 15
    rows = sorted({round(sum(box_of(part)[1]) / 2, 6) for part in segments})
    assert rows == [pytest.approx(-390.75), pytest.approx(0, abs=1e-9), pytest.approx(390.75)]
    windowed = [part for part in segments if part.shape.openings]
    assert len(windowed) == 6
    for part in windowed:
        (window,) = part.shape.openings
        (x0, x1), _, (z0, z1) = box_of(part)
        outer_end = "start" if x0 + x1 < 0 else "end"
        assert window.open_end == outer_end
        post = x1 - (x0 + window.u1) if outer_end == "start" else window.u0
        assert post == pytest.approx(40.4)
        assert z1 - (z0 + window.v1) == pytest.approx(8.0)


def test_every_opening_is_two_wider_and_one_and_a_half_higher_on_each_side() -> None:
    for result in check(QUILTING, BUILT).leaves:
        assert len(result.gaps) == 4
        for gap in result.gaps:
            assert (gap.above, gap.below) == (pytest.approx(1.5), pytest.approx(1.5))
            beside = [room for room in (gap.left, gap.right) if room is not None]
            assert beside == [pytest.approx(2.0)] * len(beside)
            assert beside
        assert result.vertical_play == pytest.approx(3.0)
        assert result.proud == pytest.approx(-19.2)
        assert result.end_gap == pytest.approx(1.5)


def test_leaves_of_the_quilting_table_weigh_about_four_kilograms() -> None:
    for leaf in BUILT.with_role("leaf"):
        assert leaf.shape.size == (pytest.approx(921.6), pytest.approx(364.9), pytest.approx(17.7))
        assert mesh_of(leaf.shape).volume * 1e-9 * leaf.stock.density == pytest.approx(4.1, abs=0.05)


def test_a_rib_four_millimeters_too_long_by_hand() -> None:
    """With its window in place it stops no leaf. Forced in, its windows go 4 mm along: 2 more than there is beside a
    leaf. Which leaves that stops, and pushing, by plain boxes, all boards of its row shifted at once."""
    ribs = list(long_ribs(QUILTING, 4.0))
    assert len(ribs) == 2 * 19
    for rib in ribs:
        cut = [Deviation(rib.rib, "length", 4.0, rib.end)]
        boxes = PlainTable(BUILT, cut)
        axis = int(np.abs(BUILT.by_label[rib.rib].placement.axes[0]).argmax())
        (row,) = (row for row in rows(boxes) if row.axis == axis)
        assert rib.stopped == ()
        assert (rib.excess, rib.trim) == (pytest.approx(4.0), pytest.approx(4.0))
        seats_low = rib.end == "start"
        for way, up in ((rib.forced, seats_low), (rib.pushing, not seats_low)):
            assert {stop.leaf for stop in way.stops} == boxes.stopped_by(row.shifts(up=up))
        assert abs(dict(rib.forced.shifts)[rib.rib]) == pytest.approx(4.0)
        assert rib.rib not in dict(rib.pushing.shifts)


def test_which_leaves_a_through_rib_4_too_long_stops_by_hand() -> None:
    """It takes its own windows along, with 2 beside each leaf: R1 and R4 one leaf's, R2 and R3 both of the lower tier.
    Pushing, it moves a side along a leaf's way; between the two sides it gives 2 at either end: just enough."""
    ribs = {(rib.rib, rib.end): rib for rib in long_ribs(QUILTING, 4.0)}
    for end in ("start", "end"):
        for label, leaves in (("R1", {"L4"}), ("R2", {"L3", "L4"}), ("R3", {"L3", "L4"}), ("R4", {"L3"})):
            rib = ribs[label, end]
            assert {stop.leaf for stop in rib.forced.stops} == leaves
            assert [stop.depth for stop in rib.forced.stops] == [pytest.approx(2.0)] * len(leaves)
            assert (rib.pushing.stops, rib.evenly.stops) == ((), ())
            assert abs(dict(rib.evenly.shifts)[label]) == pytest.approx(2.0)


@pytest.mark.parametrize("first", [5, 10, 15])
@pytest.mark.parametrize("bay", [1, 2, 3, 4, 5])
@pytest.mark.parametrize("end", ["start", "end"])
def test_which_leaves_a_segment_4_too_long_stops_by_hand(first: int, bay: int, end: str) -> None:
    """Five segments a row, from R5, R10 and R15, between R1 … R4. Those of the second bay have an edge of L1's windows
    at their end, those of the fourth one of L2's at their start; R1 and R4 stand 2 beside L1 and L2.

    Pressed toward S3, all ribs beyond the segment move 4 up with all segments beyond, and the segment itself if it is
    too long at its start: R1 moves into L1, or the fourth bay's edges into L2. Pressed toward S4 it is the mirror
    image. Evenly, each of ten joints gives 0.4: beside a segment of the first or last bay R1 or R4 is 3.2 off.
    """
    rib = long_rib(QUILTING, f"R{first + bay - 1}", end, 4.0)
    low, high = (rib.forced, rib.pushing) if end == "start" else (rib.pushing, rib.forced)
    toward_s3 = {"L1"} if bay == 1 else set()
    if bay < 4 or (bay == 4 and end == "start"):
        toward_s3.add("L2")
    toward_s4 = {"L2"} if bay == 5 else set()
    if bay > 2 or (bay == 2 and end == "end"):
        toward_s4.add("L1")
    assert {stop.leaf for stop in low.stops} == toward_s3
    assert {stop.leaf for stop in high.stops} == toward_s4
    assert all(stop.depth == pytest.approx(2.0) for stop in (*low.stops, *high.stops))
    given = [(stop.leaf, stop.part, stop.depth) for stop in rib.evenly.stops]
    assert given == {1: [("L1", "R1", pytest.approx(1.2))], 5: [("L2", "R4", pytest.approx(1.2))]}.get(
        bay, []
    )


def test_a_through_rib_pushed_aside_stands_in_an_upper_leafs_way_alone() -> None:
    pushed = {stop.leaf for rib in long_ribs(QUILTING, 4.0) for stop in rib.pushing.stops}
    assert pushed == {"L1", "L2"}


@pytest.mark.parametrize(("excess", "into_the_rib"), [(2.5, 1.5), (3.0, 1.0), (4.0, 0.0), (6.0, 0.0)])
def test_travel_at_which_a_shifted_window_stops_a_leaf(excess: float, into_the_rib: float) -> None:
    """The nose meets the 2 mm chamfer where that leaves 2 mm beside the leaf less the shift: in closed form."""
    shifted = long_rib(QUILTING, "R2", "end", excess)
    to_near_face = {"L3": 750 - -130.15, "L4": -147.85 - -750}
    for stop in shifted.forced.stops:
        assert stop.travel == pytest.approx(to_near_face[stop.leaf] + into_the_rib)
        assert stop.depth == pytest.approx(excess - 2.0)
    assert {stop.leaf for stop in shifted.forced.stops} == {"L3", "L4"}


def test_seed_bench_in_inches_by_hand() -> None:
    """3/4 in stock measured 23/32 in; NIST SP 811 (2008): 1 in = 25.4 mm exactly."""
    assembly = build(EXAMPLES["seed-bench"].table())
    assert [side.shape.thickness for side in assembly.with_role("side")] == [
        pytest.approx(23 / 32 * 25.4)
    ] * 4
    assert [path.side for path in assembly.stow_paths] == ["S1", "S1"]
    assert len({path.leaf for path in assembly.stow_paths}) == 2
    assert len({round(box_of(leaf)[2][0], 6) for leaf in assembly.with_role("leaf")}) == 1
    assert check(EXAMPLES["seed-bench"].table()).verdict == "clear"


# -- random tables
# ------------------------------------------------------------------------------------------------------------------

SOUND = list(sound_tables(60, seed=11))


def test_random_tables_reach_what_the_design_can_do() -> None:
    tables = [table for table, _ in SOUND]
    assert {table.leaves.count for table in tables} == set(range(1, 9))
    assert {table.table.corner_joint for table in tables} == {"butted", "mitered"}
    assert {table.leaves.direction for table in tables} == {"across", "along"}
    assert {stow.side for table in tables for stow in table.stow} == {"front", "back", "left", "right"}
    assert {stow.tier for table in tables for stow in table.stow} == {"upper", "lower"}
    assert any(len({stow.tier for stow in table.stow}) == 2 for table in tables)
    roles = {part.role.word for _, assembly in SOUND for part in assembly.parts}
    assert roles == {
        "side", "bottom", "rib", "leaf", "end_stop", "leg", "ledger", "top", "runner", "kicker", "guide", "block"
    }  # fmt: skip


def test_random_tables_are_such_as_a_file_may_hold() -> None:
    for table, _ in SOUND:
        assert set_values(table, {}) == table


def test_labels_joints_and_ways_fit_together() -> None:
    for table, assembly in SOUND:
        labels = [part.label for part in assembly.parts]
        assert len(set(labels)) == len(labels)
        assert [path.leaf for path in assembly.stow_paths] == [f"L{n + 1}" for n in range(table.leaves.count)]
        assert {label for joint in assembly.joints for label in (joint.a, joint.b)} <= set(labels)
        joined = {joint.a for joint in assembly.joints} | {joint.b for joint in assembly.joints}
        assert joined == {part.label for part in assembly.parts if not part.role.slides}
        for path in assembly.stow_paths:
            assert path.moves[-1].end.tolist() == [0, 0, 0]
            openings = [(part.label, opening) for part in assembly.parts for opening in part.shape.openings]
            slots = [label for label, one in openings if one.leaf == path.leaf and one.kind == "slot"]
            assert slots == [path.side]
            if path.end_stop is not None:
                ends = [joint.part_end for joint in assembly.joints if joint.a == path.end_stop]
                assert sorted(end or "" for end in ends) == ["end", "start"]


def test_boards_that_are_joined_touch() -> None:
    """Face to face, end to face, or captured; miters in the corner that both ends share."""
    for _, assembly in SOUND:
        boxes = {part.label: np.array(box_of(part)) for part in assembly.parts}
        for joint in assembly.joints:
            a, b = boxes[joint.a], boxes[joint.b]
            shared = np.minimum(a[:, 1], b[:, 1]) - np.maximum(a[:, 0], b[:, 0])
            assert shared.min() >= -1e-9
            if joint.kind in ("butt", "face"):
                assert shared.min() == pytest.approx(0, abs=1e-9)


def test_cover_leaves_lie_side_by_side_with_the_gap_asked_for() -> None:
    for table, assembly in SOUND:
        axis = 0 if table.leaves.direction == "across" else 1
        spans = []
        for label, placement in assembly.cover.items():
            corners = placement.to_table(np.array([[0.0, 0.0, 0.0], assembly.by_label[label].shape.size]))
            spans.append(sorted(corners[:, axis]))
            assert corners[:, 2].max() == pytest.approx(table.table.height)
            room = [table.table.length, table.table.width][1 - axis] / 2 - table.stock[0].thickness
            assert np.abs(corners[:, 1 - axis]).max() == pytest.approx(room - table.leaves.end_gap)
        for (_, end), (start, _) in pairwise(sorted(spans)):
            assert start - end == pytest.approx(table.leaves.gap)
        tops = [box_of(part)[axis] for part in assembly.with_role("top")]
        well = [table.table.length, table.table.width][axis] / 2 - table.stock[0].thickness
        edges = sorted([(-well, -well), *tops, (well, well), (min(spans)[0], max(spans)[1])])
        for (_, end), (start, _) in pairwise(edges):
            assert start - end == pytest.approx(0, abs=1e-9) or start - end == pytest.approx(table.leaves.gap)


def test_ribs_keep_out_of_every_way_but_for_windows() -> None:
    """By plain boxes: where a leaf's way crosses a rib, the rib has a window for that leaf, and only there."""
    for table, assembly in SOUND[::4]:
        boxes = PlainTable(assembly)
        for path in assembly.stow_paths:
            low, high = boxes.sweep(path.leaf)
            lateral = 1 if abs(path.outward[0]) > 0.5 else 0
            beside = table.stow[path.position].side_clearance or table.stowing.side_clearance
            low[0, lateral] -= beside
            high[0, lateral] += beside
            for rib in assembly.with_role("rib"):
                box = np.array(box_of(rib))
                crosses = (np.minimum(box[:, 1], high[0]) - np.maximum(box[:, 0], low[0]) > 1e-6).all()
                windows = [opening for opening in rib.shape.openings if opening.leaf == path.leaf]
                assert len(windows) == int(crosses), (rib.label, path.leaf)
