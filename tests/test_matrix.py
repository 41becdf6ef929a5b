"""Any leaf in any slot, any way round: against the check, arithmetic by hand, and libraries from outside."""

from __future__ import annotations

from dataclasses import fields
from math import hypot

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from addon.check import matrix as matrix_module
from addon.check.facts import LeafResult
from addon.check.matrix import TURNS, Matrix, MatrixCell, Turn, leaf_matrix
from addon.check.prepared import Prepared, prepare
from addon.check.slide.study import notes_of_positions
from addon.designs.table import build
from addon.designs.table.design import check_prepared
from addon.files.editing import Changes, set_values
from addon.sizes.tolerances import ARC
from addon.wood.assembly import StowPath
from addon.wood.solids.pieces import Pieces
from random_tables import sound_table
from tests.large import sampled
from tests.matrix_samples import cut, worked_out
from tests.old_tables import EXAMPLES
from tests.oracles import Body, Exported, smallest_distance

pytestmark = pytest.mark.once

QUILTING = EXAMPLES["quilting"].table()
AGREES = 1e-6
"""Clearances by the project and by the libraries, mm."""
WORKED = {"leaves.tray_depth": 6, "leaves.pull_length": 90, "leaves.finger_hole": 0, "leaves.pull_inset": 0}
LENGTHWISE_AND_BROADSIDE = {
    "leaves.count": 2, "leaves.cover_length": 735, "stowing.set_back": 45, "stow[3]": None, "stow[2]": None,
    "stow[0].offset": 0, "stow[1].side": "left", "stow[1].offset": 0, "stow[1].tier": "lower",
    "stowing.tier_gap": 7, "leaves.finger_hole": 0,
}  # fmt: skip
"""Too short a table's depth for a leaf through the front, which goes in broadside; the other through a short side."""


def as_checked(cell: MatrixCell) -> dict[str, object]:
    """What a cell has in common with the check's result for a leaf."""
    names = {field.name for field in fields(LeafResult)} & {field.name for field in fields(MatrixCell)}
    return {"slot": cell.side, **{name: getattr(cell, name) for name in names}}


@pytest.mark.parametrize(
    "changes",
    [
        {},
        WORKED,
        {"leaves.rim_height": 6, "leaves.finger_hole_inset": 40},
        cut(0, "L1", "width", 2.7),
        {**cut(0, "L2", "length", 4.0, "start"), **cut(1, "L3", "thickness", 3.4)},
        cut(0, "R2", "length", 4.0),
        {"stowing.clearance_below": 0},
        LENGTHWISE_AND_BROADSIDE,
    ],
    ids=["drawn", "worked face", "rim", "wide", "long and thick", "long rib", "on its sills", "broadside"],
)
def test_a_leaf_in_its_own_position_is_as_the_check_says(changes: Changes) -> None:
    matrix, prepared, table = worked_out(changes)
    for result in check_prepared(table, prepared).leaves:
        own = as_checked(matrix.cell(result.leaf, result.leaf))
        assert own == {name: getattr(result, name) for name in own}


def test_own_positions_of_random_tables_are_as_the_check_says() -> None:
    for number in range(sampled(3, 6)):
        table, assembly = sound_table(f"matrix/{number}")
        prepared = prepare(assembly)
        matrix = leaf_matrix(prepared)
        assert len(matrix.cells) == 4 * len(matrix.leaves) ** 2
        for result in check_prepared(table, prepared).leaves:
            own = as_checked(matrix.cell(result.leaf, result.leaf))
            assert own == {name: getattr(result, name) for name in own}


def test_all_leaves_of_the_quilting_table_change_positions_freely() -> None:
    """All leaves are cut alike and every position leaves 2 mm beside and 1.5 mm above and below them."""
    matrix, _, _ = worked_out({})
    assert [(cell.leaf, cell.position, cell.turn) for cell in matrix.cells] == [
        (leaf, position, turn) for leaf in matrix.leaves for position in matrix.leaves for turn in TURNS
    ]
    for cell in matrix.cells:
        assert cell.clearance == pytest.approx(1.5, abs=1e-9)
        assert (cell.verdict, cell.stops_home) == ("clear", True)
        assert cell.outer_end == cell.proud == pytest.approx(-19.2)
        assert cell.end_gap == pytest.approx(1.5)
    assert matrix.interchangeable
    assert list(notes_of_positions(matrix)) == []


def _no_turns_alike(_prepared: Prepared, _path: StowPath, _pieces: Pieces) -> dict[Turn, Turn]:
    return {turn: turn for turn in TURNS}


def _whole_leaf(prepared: Prepared, path: StowPath, _shortest: float) -> Pieces:
    return prepared.pieces[prepared.number[path.leaf]]


@pytest.mark.parametrize("changes", [{"leaves.tray_depth": 6}, {**WORKED, **cut(0, "L2", "width", 2.2)}])
def test_what_is_worked_out_once_is_the_same_each_time(
    changes: Changes, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Like ways round, and cuts that the slide closes: with neither left out, the same comes out."""
    short, _, _ = worked_out(changes)
    monkeypatch.setattr(matrix_module, "same_turns", _no_turns_alike)
    monkeypatch.setattr(matrix_module, "sliding_pieces", _whole_leaf)
    whole, _, _ = worked_out(changes)
    for cell, other in zip(short.cells, whole.cells, strict=True):
        assert (cell.leaf, cell.position, cell.turn) == (other.leaf, other.position, other.turn)
        assert (cell.verdict, cell.stops_home) == (other.verdict, other.stops_home)
        assert cell.clearance == pytest.approx(other.clearance, abs=1e-9)
        assert cell.outer_end == pytest.approx(other.outer_end, abs=1e-5)


def test_turns_that_give_the_same_leaf_are_equal_to_the_last_figure() -> None:
    matrix, _, _ = worked_out({"leaves.lead_chamfer": 3.0})
    for position in matrix.leaves:
        drawn, over, ends, both = matrix.ways_round("L1", position)
        assert as_checked(drawn) == as_checked(over)
        assert as_checked(ends) == as_checked(both)


# -- leaves that came out otherwise than drawn, by hand
# ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("end", ["start", "end"])
@pytest.mark.parametrize("excess", [1.7, 2.7, 3.5])
def test_a_wide_leaf_lacks_its_excess_less_the_clearance_everywhere(excess: float, end: str) -> None:
    matrix, _, _ = worked_out(cut(0, "L1", "width", excess, end))
    room = 2.0 - excess
    for cell in matrix.cells:
        if cell.leaf != "L1":
            assert (cell.verdict, cell.clearance) == ("clear", pytest.approx(1.5))
            continue
        assert cell.clearance == pytest.approx(min(1.5, room), abs=1e-9)
        assert cell.verdict == ("blocked" if room < 0 else "tight")
        if room < 0:
            # the nose meets the slot's 3 mm chamfer where that has come as near as the leaf stands out
            assert cell.against == matrix.cell(cell.position, cell.position).side
            assert cell.travel == pytest.approx(3.0 + room, abs=1e-5)
            assert not cell.stops_home


def test_a_thick_leaf_lacks_half_its_excess_everywhere() -> None:
    matrix, _, _ = worked_out(cut(0, "L3", "thickness", 4.2))
    for cell in matrix.cells:
        thick = cell.leaf == "L3"
        assert cell.clearance == pytest.approx(1.5 - 2.1 if thick else 1.5, abs=1e-9)
        assert cell.verdict == ("blocked" if thick else "clear")


def test_a_narrow_position_is_narrow_for_every_leaf() -> None:
    matrix, _, _ = worked_out({"stow[2].side_clearance": 0.9})
    for cell in matrix.cells:
        assert cell.clearance == pytest.approx(0.9 if cell.position == "L3" else 1.5, abs=1e-9)


def test_a_long_leaf_meets_the_far_side_with_its_nose_or_comes_to_rest_farther_out() -> None:
    """L1 and L2 have the far side ahead, 1.5 mm away; L3 and L4 an end stop, which only ends their way."""
    matrix, _, _ = worked_out(cut(0, "L1", "length", 25.0, "start"))
    for position in matrix.leaves:
        for cell in matrix.ways_round("L1", position):
            nose_is_long = TURNS[cell.turn][0] < 0
            assert cell.proud == pytest.approx(-19.2 + (0.0 if nose_is_long else 25.0))
            # pushed home until it is stopped, it is as far out whichever end is long
            assert cell.outer_end == pytest.approx(-19.2 + (23.5 if nose_is_long else 25.0), abs=1e-5)
            assert not cell.stops_home
            far_side = nose_is_long and position in ("L1", "L2")
            assert cell.clearance == pytest.approx(-23.5 if far_side else 1.5, abs=1e-9)
            assert cell.verdict == ("blocked" if far_side else "clear")
    assert all(cell.stops_home for cell in matrix.cells if cell.leaf != "L1")


def test_an_end_stop_ends_the_way_of_a_leaf_that_is_longer_than_the_stop_is_thick() -> None:
    """25 mm too long, 1.5 mm from the stop as drawn."""
    table = set_values(QUILTING, cut(0, "L3", "length", 25.0, "start"))
    near = [
        finding for finding in check_prepared(table, prepare(build(table))).findings if finding.leaf == "L3"
    ]
    assert [finding.rule for finding in near] == ["end-stop-near"]
    assert near[0].amount == pytest.approx(23.5)


def test_a_leaf_eased_along_its_length_meets_round_corners_where_it_goes_in_broadside() -> None:
    """Its square corner is 2 and 1.5 mm from the edges at a corner of radius 3, whose arc is 3 mm from its center."""
    matrix, prepared, _ = worked_out(LENGTHWISE_AND_BROADSIDE)
    ways = {path.leaf: abs(path.outward[0]) for path in prepared.assembly.stow_paths}
    assert ways == {"L1": 0.0, "L2": 1.0}
    by_hand = 3.0 - hypot(3.0 - 2.0, 3.0 - 1.5)
    for cell in matrix.cells:
        if cell.leaf == cell.position:
            assert cell.clearance == pytest.approx(1.5)
        else:
            assert by_hand - 1e-9 <= cell.clearance <= by_hand + ARC
        assert cell.stops_home
        assert cell.proud == pytest.approx(-45.0)


# -- by libraries from outside
# ------------------------------------------------------------------------------------------------------------

ODD = {
    **WORKED,
    **cut(0, "L1", "width", 1.6, "start"),
    **cut(1, "L2", "length", 3.0, "start"),
    **cut(2, "L3", "thickness", 1.4),
    **cut(3, "R3", "length", 1.0, "end"),
}
"""Leaves that are alike no way round."""

CELLS: list[tuple[str, str, Turn]] = [
    ("L1", "L1", "turned over"),
    ("L1", "L3", "end for end"),
    ("L2", "L4", "both"),
    ("L3", "L2", "as drawn"),
    ("L4", "L1", "both"),
]


@pytest.fixture(scope="module")
def odd() -> tuple[Matrix, Exported, Prepared]:
    matrix, prepared, _ = worked_out(ODD)
    return matrix, Exported(prepared.assembly), prepared


@pytest.mark.parametrize(("leaf", "position", "turn"), CELLS, ids=[" ".join(cell) for cell in CELLS])
def test_cells_by_python_fcl_scipy_and_manifold3d(
    odd: tuple[Matrix, Exported, Prepared], leaf: str, position: str, turn: Turn
) -> None:
    """The leaf's exported pieces turned by scipy's rotations about the drawn leaf's center, then slid and measured."""
    matrix, exported, _ = odd
    drawn = Exported(build(set_values(QUILTING, WORKED)))
    middle = {label: (drawn.boxes[label].low + drawn.boxes[label].high) / 2 for label in (leaf, position)}
    way, own_way = (
        next(way for way in exported.ways if way.leaf == label).moves[0][1]
        - next(way for way in exported.ways if way.leaf == label).moves[0][0]
        for label in (position, leaf)
    )
    inward = way / np.linalg.norm(way)
    angle = np.arctan2(way[1], way[0]) - np.arctan2(own_way[1], own_way[0])
    rotation = Rotation.from_rotvec([0.0, 0.0, angle])
    if turn in ("turned over", "both"):
        rotation = Rotation.from_rotvec(np.pi * inward) * rotation
    if turn in ("end for end", "both"):
        rotation = Rotation.from_rotvec([0.0, 0.0, np.pi]) * rotation
    theirs = next(one for one in exported.ways if one.leaf == position)
    sweeps = [
        Body(rotation.apply(body.vertices - middle[leaf]) + middle[position]).swept(*theirs.moves[0])
        for body in exported.bodies[leaf]
    ]
    around = Body(np.concatenate([body.vertices for body in sweeps]))
    standing = [label for label in exported.bodies if label not in (leaf, position, theirs.end_stop)]
    near = [label for label in standing if around.bounds_gap(exported.boxes[label]) < 3.0]
    found = {label: smallest_distance(sweeps, exported.bodies[label]) for label in near}
    cell = matrix.cell(leaf, position, turn)
    assert cell.clearance == pytest.approx(min(found.values()), abs=AGREES)
    assert found[cell.against] == pytest.approx(cell.clearance, abs=AGREES)
