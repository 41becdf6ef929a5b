"""Parts cut otherwise than drawn: every dimension against plain boards, by hand on the quilting table, and refusals."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import numpy as np
import pytest

from addon.designs.table import build
from addon.designs.table.parameters import AsCut
from addon.sizes.errors import AsCutError, DryAssemblyError
from addon.wood.as_cut import apply_as_cut, drawn_dimension
from addon.wood.assembly import Assembly
from addon.wood.part import Part
from addon.wood.solids.solids import pieces_of
from plain_boards import Board, Deviation
from plain_boxes import PlainTable
from random_tables import sound_tables
from tests.old_tables import EXAMPLES

QUILTING = EXAMPLES["quilting"].table()
DRAWN = build(QUILTING)
DIMENSIONS = ["length", "width", "thickness"]
DIMENSIONS += [
    f"{kind}_{size}" for kind in ("window", "slot") for size in ("width", "height", "offset", "sill")
]
DIMENSIONS += [f"groove_{size}" for size in ("offset", "width", "depth")]


def cut(assembly: Assembly, *entries: AsCut) -> Part:
    """The part that the first entry names, after all of them."""
    return apply_as_cut(assembly, entries).by_label[entries[0].part]


def bounds(part: Part) -> np.ndarray:
    """(2, 3) low and high corner of a part's solid in the table, mm."""
    pieces = pieces_of(part)
    return np.array([pieces.low.min(axis=0), pieces.high.max(axis=0)])


def features(part: Part) -> list[tuple[float, ...]]:
    """Openings and grooves as ranges in table coordinates, in their own order; what runs out of an end by name."""
    length = part.shape.size[0]
    found = []
    for feature in (*part.shape.openings, *part.shape.grooves):
        u0, u1 = max(feature.u0, 0.0), min(feature.u1, length)
        ends = part.placement.to_table(np.array([[u0, feature.v0, 0.0], [u1, feature.v1, 0.0]]))
        w_axis = int(np.abs(part.placement.axes[2]).argmax())
        found.append(
            (*np.delete(np.sort(ends, axis=0), w_axis, axis=1).ravel(), getattr(feature, "depth", 0.0))
        )
    return found


def features_of_board(board: Board) -> list[tuple[float, ...]]:
    found = []
    rectangles = [(one, 0.0) for one in board.openings]
    rectangles += [(board.groove, board.groove_depth)] if board.groove else []
    w_axis = int(np.abs(board.part.placement.axes[2]).argmax())
    for one, depth in rectangles:
        u0, u1 = max(one.low[0], board.low[0]), min(one.high[0], board.high[0])
        low, high = board.in_table(np.array([[u0, one.low[1], 0.0]]), np.array([[u1, one.high[1], 0.0]]))
        found.append((*np.delete(np.concatenate([low, high]), w_axis, axis=1).ravel(), depth))
    return found


def has(part: Part, dimension: str) -> bool:
    feature = dimension.partition("_")[0]
    if feature == "groove":
        return bool(part.shape.grooves)
    return feature == dimension or any(opening.kind == feature for opening in part.shape.openings)


@pytest.mark.parametrize("dimension", DIMENSIONS)
def test_every_dimension_against_plain_boards(dimension: str) -> None:
    """Blank, openings and groove where the deviation puts them, on boards of random tables."""
    random = Random(dimension)
    compared = 0
    for _, drawn in sound_tables(12, seed=5):
        parts = [part for part in drawn.parts if has(part, dimension)]
        for part in random.sample(parts, min(len(parts), 4)):
            end, by = random.choice([None, "start", "end"]), random.uniform(-1.5, 4)
            mates = [opening.leaf for opening in part.shape.openings if dimension.startswith(opening.kind)]
            leaf = random.choice([None, *mates])
            changed = cut(drawn, AsCut(part.label, dimension, deviation=by, end=end, leaf=leaf))
            board = PlainTable(drawn, [Deviation(part.label, dimension, by, end, leaf)]).boards[part.label]
            low, high = board.box()
            blank = changed.placement.to_table(np.array([[0.0, 0.0, 0.0], changed.shape.size]))
            np.testing.assert_allclose(np.sort(blank, axis=0), [low[0], high[0]], atol=1e-9)
            np.testing.assert_allclose(features(changed), features_of_board(board), atol=1e-9)
            assert changed.drawn_shape == part.shape
            assert changed.drawn_placement is part.placement
            compared += 1
    assert compared >= 12


@pytest.mark.parametrize(
    ("label", "dimension", "end", "low", "high"),
    [
        ("R1", "length", "end", (0, 0, 0), (0, 4, 0)),
        ("R1", "length", None, (0, 0, 0), (0, 4, 0)),
        ("R1", "length", "start", (0, -4, 0), (0, 0, 0)),
        ("R6", "length", "start", (-4, 0, 0), (0, 0, 0)),
        ("R6", "width", None, (0, 0, -4), (0, 0, 0)),
        ("R6", "width", "start", (0, 0, -4), (0, 0, 0)),
        ("R6", "thickness", None, (0, -2, 0), (0, 2, 0)),
        ("S1", "thickness", None, (0, 0, 0), (0, 4, 0)),
        ("S2", "thickness", None, (0, -4, 0), (0, 0, 0)),
        ("S3", "thickness", None, (0, 0, 0), (4, 0, 0)),
        ("S4", "thickness", None, (-4, 0, 0), (0, 0, 0)),
        ("B1", "thickness", None, (0, 0, 0), (0, 0, 4)),
        ("L1", "width", "start", (-4, 0, 0), (0, 0, 0)),
        ("L1", "width", "end", (0, 0, 0), (4, 0, 0)),
        ("L3", "width", "start", (0, -4, 0), (0, 0, 0)),
        ("L3", "length", "start", (-4, 0, 0), (0, 0, 0)),
        ("L1", "thickness", None, (0, 0, -2), (0, 0, 2)),
        ("LEG1", "length", "end", (0, 0, -4), (0, 0, 0)),
        ("LEG1", "length", "start", (0, 0, -4), (0, 0, 0)),
        ("LEG1", "thickness", None, (0, 0, 0), (0, 4, 0)),
        ("LEG2", "thickness", None, (0, 0, 0), (4, 0, 0)),
        ("LEDG2", "thickness", None, (0, -4, 0), (0, 0, 0)),
        ("LEDG1", "width", None, (0, 0, 0), (0, 0, 4)),
        ("S1", "groove_offset", None, (0, 0, -4), (0, 0, -4)),
        ("S1", "groove_width", None, (0, 0, 0), (0, 0, 0)),
        ("S1", "groove_width", "start", (0, 0, 4), (0, 0, 4)),
        ("R1", "place_along", None, (0, 4, 0), (0, 4, 0)),
        ("R1", "place_across", None, (4, 0, 0), (4, 0, 0)),
        ("R6", "place_along", None, (4, 0, 0), (4, 0, 0)),
        ("R6", "place_across", None, (0, 4, 0), (0, 4, 0)),
        ("R6", "place_up", None, (0, 0, 4), (0, 0, 4)),
        ("LEG1", "place_along", None, (4, 0, 0), (4, 0, 0)),
        ("B1", "place_across", None, (0, 4, 0), (0, 4, 0)),
    ],
)
def test_where_four_millimeters_more_stand_out(
    label: str, dimension: str, end: str | None, low: tuple[float, ...], high: tuple[float, ...]
) -> None:
    """By hand: the start is the end with the smaller x or y, or the lower one; sides keep their outer face.

    A rib is glued to the panel by its upper edge and a leg stands up against it, so that both come out below; what is
    glued to a side keeps that face, and a side goes down by as much as its groove is too high.
    """
    changed = bounds(cut(DRAWN, AsCut(label, dimension, deviation=4.0, end=end)))
    np.testing.assert_allclose(changed - bounds(DRAWN.by_label[label]), [low, high], atol=1e-9)


def test_a_rib_longer_at_its_start_keeps_its_windows_in_place() -> None:
    for label in ("R2", "R6", "R8"):
        before, after = DRAWN.by_label[label], cut(DRAWN, AsCut(label, "length", deviation=4.0, end="start"))
        for old, new in zip(before.shape.openings, after.shape.openings, strict=True):
            ends = [
                part.placement.to_table(np.array([[o.u0, o.v0, 0.0], [o.u1, o.v1, 0.0]]))
                for part, o in ((before, old), (after, new))
            ]
            expected = ends[0] - [[4.0, 0, 0], [0, 0, 0]] if old.open_end == "start" else ends[0]
            np.testing.assert_allclose(ends[1], expected, atol=1e-9)


def test_one_window_of_two() -> None:
    both = cut(DRAWN, AsCut("R2", "window_sill", deviation=1.0)).shape.openings
    one = cut(DRAWN, AsCut("R2", "window_sill", deviation=1.0, leaf="L4")).shape.openings
    drawn = DRAWN.by_label["R2"].shape.openings
    assert [opening.v0 for opening in both] == [opening.v0 + 1.0 for opening in drawn]
    assert [opening.v0 for opening in one] == [o.v0 + (1.0 if o.leaf == "L4" else 0.0) for o in drawn]


def test_a_value_is_the_dimension_itself() -> None:
    for dimension in ("length", "width", "thickness", "window_height", "window_offset", "window_sill"):
        entry = AsCut("R4", dimension, value=0.0)
        drawn = drawn_dimension(DRAWN.by_label["R4"], entry)
        measured = cut(DRAWN, replace(entry, value=drawn + 1.5))
        deviating = cut(DRAWN, AsCut("R4", dimension, deviation=1.5))
        assert measured.shape == deviating.shape
        assert drawn_dimension(replace(measured, drawn=None), entry) == pytest.approx(drawn + 1.5)


def test_entries_add_up_and_the_drawing_stays_that_of_the_first() -> None:
    twice = cut(
        DRAWN, AsCut("R1", "length", deviation=1.0), AsCut("R1", "length", deviation=2.0, end="start")
    )
    assert twice.shape.size[0] == pytest.approx(DRAWN.by_label["R1"].shape.size[0] + 3.0)
    assert twice.drawn_shape == DRAWN.by_label["R1"].shape
    assert twice.drawn_placement is DRAWN.by_label["R1"].placement


def test_nothing_else_changes() -> None:
    changed = apply_as_cut(DRAWN, (AsCut("R1", "length", deviation=4.0),))
    assert [part.label for part in changed.parts] == [part.label for part in DRAWN.parts]
    for before, after in zip(DRAWN.parts, changed.parts, strict=True):
        assert (before is after) == (before.label != "R1")
    assert changed.joints == DRAWN.joints
    assert changed.stow_paths == DRAWN.stow_paths
    assert apply_as_cut(DRAWN, ()) is DRAWN


REFUSED = [
    (AsCut("R99", "length", deviation=1.0), r"as_cut\[0\]\.part = 'R99' names no part of this table: use one of S1,"),
    (AsCut("B1", "window_height", deviation=1.0), r"'window_height': it has length, width, thickness\.$"),
    (AsCut("R2", "window_height", deviation=1.0, leaf="L1"), r"for L1: it has .*window_height \(for L3, L4\)"),
    (AsCut("R5", "groove_offset", deviation=1.0), r"R5 has no dimension 'groove_offset': it has length"),
    (AsCut("R1", "slot_height", deviation=1.0), r"R1 has no dimension 'slot_height': it has length"),
    (AsCut("R1", "thickness", deviation=-17.0), r"would leave R1 with a thickness of 0\.7 mm: use more than 1\.0 mm"),
    (AsCut("R1", "length", value=0.5), r"as_cut\[0\] would leave R1 with a length of 0\.5 mm"),
    (AsCut("R2", "window_height", value=-3.0), r"as_cut\[0\] would leave R2 with a window height of -3.0 mm"),
]  # fmt: skip


@pytest.mark.parametrize(("entry", "sentence"), REFUSED)
def test_entries_that_cannot_be_are_refused_in_one_sentence(entry: AsCut, sentence: str) -> None:
    with pytest.raises(AsCutError, match=sentence) as refused:
        build(replace(QUILTING, as_cut=(entry,)))
    assert isinstance(refused.value, DryAssemblyError)
    assert "\n" not in str(refused.value)
