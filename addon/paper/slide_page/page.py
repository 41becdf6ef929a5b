"""A leaf on its way through its openings on a sheet of paper: to scale, and below that with clearances stretched."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np

from ...check.progress import Steps, run_through
from ...check.row.leaf_rows import View
from ...check.row.openings import Pose
from ...check.row.proof import RowProof
from ...check.slide.proof import LeafProof
from ...designs.table.parameters import Table
from ...designs.words.answer import Lines, Told
from ...sizes.errors import ExportError
from ...sizes.units import Units
from ..section import Panel, draw_leaf, draw_leaf_break, draw_wood, leaf_ring, woods
from ..sheet import Drawing, Pen
from ..sheet.clip import clip_ring
from ..sheet.dimensions import LARGE_LETTERS, LETTERS, THIN, arrow, balloon, spread
from ..sheet.lettering import wrapped
from ..sheet.palette import BLOCKED
from ..sheet.save import PAPER_AND_SCREEN, named_files, save_pictures
from ..sheet.sheet import (
    A3,
    A4,
    BLOCK_HEIGHT,
    BLOCK_WIDTH,
    Sheet,
    Titles,
    draw_title_block,
    draw_words,
    scale_name,
)
from .bands import PITCH, WIDTH, draw_heights, draw_legend, draw_strips, draw_travel, entries
from .detail import draw_detail
from .labels import (
    ACROSS,
    LABELS_LEFT,
    VIEW_NAMES,
    LabelRow,
    draw_labels,
    draw_names,
    heading,
    label_rows,
    notes,
    result,
)
from .strips import stretch_in, strips

_CHOICES: Final = (
    (A4, 1.0), (A4, 0.5), (A4, 0.2), (A4, 0.1), (A3, 0.2), (A3, 0.1), (A3, 0.05), (A3, 0.02), (A3, 0.01),
)  # fmt: skip
"""Sheets and scales (ISO 5455, from memory), the best first: every printer has A4, few have A3."""

_PLAIN: Final = 1.0
"""Scale of heights in the lower part from which clearances are plain to see; smaller where nothing else will do."""

_BEFORE: Final = 30.0
_LEAST_BEFORE: Final = 14.0
_AFTER: Final = 7.0
"""How much of the travel is shown before the first opening, usually and at least, and behind the last, mm."""

_AXIS: Final = 19.0
_RIGHT: Final = 6.0
"""For the scale of heights at the left, and for what is said of the nose stowed, mm."""

_WOOD: Final = 5.5
"""How much wood is shown behind its edge, mm on the sheet."""

_SWINGS: Final = (30.0, 12.0)
"""How far beyond that a tilted leaf is shown at most, mm on the sheet: if there is room, and else."""

_HEADING: Final = 7.5
_NAMES: Final = 6.2
_NUMBERS: Final = 7.5
_TRAVEL: Final = 6.0
"""Heights of the heading, of a line of names or of numbers, and of the scale of the travel, mm."""


@dataclass(frozen=True)
class _Arrangement:
    """Where everything goes; mm on the sheet."""

    sheet: Sheet
    scale: float
    stretch: int
    left: float
    x: tuple[float, float]
    """Range of the travel, mm of the row."""
    z: tuple[float, float]
    """Range of heights in the view to scale, mm of the row."""
    reach: tuple[float, float]
    """Heights at which wood is cut off there, mm of the row."""
    view_bottom: float
    labels: LabelRow
    labels_bottom: float
    """Lower border of the labels' leaders."""
    strips_bottom: float
    foot: float
    """Height of what stands below: words, title block and detail."""


def side_picture(
    proof: RowProof, *, table: str, leaf: str, view: View, units: Units, date: str, sheet: Sheet | None = None,
    answer: Lines = (),
) -> Drawing:  # fmt: skip
    """One view of a leaf among its openings, on the smallest sheet and at the largest standard scale that it fits.

    Parameters
    ----------
    table, leaf : their names
    view : which plane the row lies in
    units : of all amounts and scales
    date : as it is to stand in the title block
    sheet : A4 or A3 where it must be that; by default whichever will do
    answer : the leaf's three lines; () for a bare row, of which there is but the verdict of this view

    Raises
    ------
    ExportError
        Where the row fits on no sheet.
    """
    words = _wrapped_notes(proof, view, units)
    choices = [one for one in _CHOICES if sheet is None or one[0] == sheet]
    for plain in (_PLAIN, 0.0):
        for paper, scale in choices:
            for swing in _SWINGS:
                layout = _layout(proof, words, paper, scale, swing, plain, units)
                if layout is not None:
                    return _drawn(proof, layout, words, table, leaf, view, units, date, answer)
    raise ExportError(f"{leaf} cannot be drawn: its row is too long for a sheet; draw fewer openings.")


def _wrapped_notes(proof: RowProof, view: View, units: Units) -> list[str]:
    room = BLOCK_WIDTH - WIDTH - 6.0
    lines = []
    for note in notes(proof, view, units):
        first, *more = wrapped(note, LETTERS, room)
        lines += [first, *(f"   {line}" for line in more)]
    return lines


def _layout(
    proof: RowProof, words: list[str], sheet: Sheet, scale: float, swing: float, plain: float, units: Units
) -> _Arrangement | None:
    row = proof.row
    left, bottom, right, top = sheet.frame
    width = right - left - _AXIS - _RIGHT
    last = max([row.travel, *(one.end for one in row.openings if one.window)]) + _AFTER / scale
    before = min(_before(proof, scale), width - (last - row.first) * scale)
    if before < _LEAST_BEFORE:
        return None
    first = row.first - before / scale
    reach, z = _heights(proof, scale, swing, first)
    foot = BLOCK_HEIGHT + max(3.9 * len(words) + 7.0, PITCH * len(entries(proof)) + 3.5)
    view_bottom = top - _HEADING - _NAMES - (z[1] - z[0]) * scale
    strips_bottom = bottom + foot + _TRAVEL
    left += _AXIS + (width - (last - first) * scale) / 2
    for labels in label_rows(
        proof, units, scale, first - LABELS_LEFT / scale, (last - first) * scale + LABELS_LEFT
    ):
        labels_bottom = view_bottom - _below(proof) - labels.height
        stretch = stretch_in(proof, scale, labels_bottom - strips_bottom)
        if stretch is not None and stretch * scale >= plain:
            return _Arrangement(sheet, scale, stretch, left, (first, last), z, reach, view_bottom, labels,
                   labels_bottom, strips_bottom, foot)  # fmt: skip
    return None


def _before(proof: RowProof, scale: float) -> float:
    """How much there is to show before the first opening: the leaf as far as it reaches, mm on the sheet."""
    rear = [leaf_ring(proof.row, pose)[:, 0].min() for pose in _poses(proof)]
    return max(_BEFORE, (proof.row.first - min(rear, default=proof.row.first)) * scale + 4.0)


def _poses(proof: RowProof) -> list[Pose]:
    return [pose for pose in (proof.fit, proof.counterexample) if pose is not None]


def _below(proof: RowProof) -> float:
    """What stands below the view to scale, mm: names of what is only there, else the numbers of the edges."""
    if any(one.sill is not None and one.head is None and one.label for one in proof.row.openings):
        return _NAMES
    return _NUMBERS if proof.verdict == "does-not-pass" else 3.0


def _heights(
    proof: RowProof, scale: float, swing: float, first: float
) -> tuple[tuple[float, float], tuple[float, float]]:
    """Heights at which wood is cut off in the view to scale, and those that it shows, mm."""
    row = proof.row
    lows = [wood.edge - wood.opening.entry.rise for wood in woods(row) if wood.side < 0] or [row.rest]
    highs = [wood.edge + wood.opening.entry.rise for wood in woods(row) if wood.side > 0]
    highs = highs or [row.rest + row.thickness]
    reach = min(lows) - _WOOD / scale, max(highs) + _WOOD / scale
    low, high = reach
    for pose in _poses(proof):
        seen = clip_ring(leaf_ring(row, pose), (first, -np.inf, np.inf, np.inf))[:, 1]
        low, high = min(low, seen.min() - 1 / scale), max(high, seen.max() + 1 / scale)
    return reach, (max(low, reach[0] - swing / scale), min(high, reach[1] + swing / scale))


def _drawn(
    proof: RowProof,
    layout: _Arrangement,
    words: list[str],
    table: str,
    leaf: str,
    view: View,
    units: Units,
    date: str,
    answer: Lines,
) -> Drawing:
    row, scale, sheet = proof.row, layout.scale, layout.sheet
    drawing = sheet.drawing(f"{table}, {leaf}: {VIEW_NAMES[view].lower()} through its openings")
    left = layout.left
    right = left + (layout.x[1] - layout.x[0]) * scale
    height = (layout.z[1] - layout.z[0]) * scale
    box = (left, layout.view_bottom, right, layout.view_bottom + height)
    panel = Panel(box, layout.x[0], layout.z[0], scale, scale)
    _draw_to_scale(drawing, proof, panel, layout.reach)
    _draw_heading(drawing, layout, f"{VIEW_NAMES[view]} {scale_name(scale)}", right)
    stretched = strips(proof, scale, (left, layout.strips_bottom, right, layout.labels_bottom), layout.x[0])
    assert stretched is not None
    bands = draw_strips(drawing, proof, stretched)
    draw_labels(drawing, layout.labels, proof, stretched, bands, layout.labels_bottom)
    across = f"{ACROSS[view]} × {stretched.stretch}"
    draw_heights(drawing, stretched, row.rest, units, across)
    draw_travel(drawing, stretched.panels[0], layout.strips_bottom, row.travel, units, layout.labels_bottom)
    _draw_foot(drawing, proof, layout, words, units)
    scales = f"{scale_name(scale)}, {ACROSS[view]} in the lower part × {stretched.stretch}"
    titles = Titles(table, VIEW_NAMES[view], scales, date, leaf, answer, proof.verdict, result(proof, units))
    draw_title_block(drawing, sheet, titles)
    return drawing


def _draw_to_scale(drawing: Drawing, proof: RowProof, panel: Panel, reach: tuple[float, float]) -> None:
    row = proof.row
    if proof.fit is not None:
        draw_leaf(drawing, panel, row, proof.fit, "leaf at its tightest")
    draw_wood(drawing, panel, row, reach)
    if proof.fit is not None:
        draw_leaf_break(drawing, panel, row, proof.fit)
    if proof.counterexample is not None:
        draw_leaf(drawing, panel, row, proof.counterexample, "leaf that needs steering", other=True)
        draw_leaf_break(drawing, panel, row, proof.counterexample)
    if proof.verdict == "does-not-pass":
        _draw_edges(drawing, proof, panel)
    draw_names(drawing, proof, panel, reach)


def _draw_edges(drawing: Drawing, proof: RowProof, panel: Panel) -> None:
    """Rings around the edges that hold the leaf, and their numbers below if there is room."""
    wanted = np.array([panel.along_at(edge.x) for edge in proof.edges])
    places = spread(wanted, np.full(len(wanted), 6.0), panel.box[0], panel.box[2])
    for number, (edge, x) in enumerate(zip(proof.edges, places.tolist(), strict=True), 1):
        at = panel.place((edge.x, edge.z))
        drawing.circle(at, 1.8, None, Pen(0.4, BLOCKED), f"edge {number}")
        if _below(proof) == _NUMBERS:
            y = panel.box[1] - 4.2
            drawing.polyline([(x, y), (at[0], panel.box[1] - 1.0), (at[0], at[1] - 1.8)], THIN)
            balloon(drawing, (x, y), str(number))


def _draw_heading(drawing: Drawing, layout: _Arrangement, words: str, right: float) -> None:
    left, _, _, top = layout.sheet.frame
    y = top - 5.5
    drawing.text(words, left + 4.0, y, LARGE_LETTERS, weight=0.14)
    x = right - 12.0
    drawing.text("direction of travel", x - 2.0, y, LETTERS, "end")
    arrow(drawing, (x, y + LETTERS / 2), (right, y + LETTERS / 2), THIN)


def _draw_foot(
    drawing: Drawing, proof: RowProof, layout: _Arrangement, words: list[str], units: Units
) -> None:
    """The words and the legend over the title block, the detail beside them."""
    left, bottom, right, _ = layout.sheet.frame
    top = bottom + layout.foot
    block = right - BLOCK_WIDTH
    drawing.line((left, top), (right, top), THIN)
    draw_detail(drawing, proof, (left, bottom, block, top), units)
    draw_words(drawing, block + 3.0, top - 2.5, heading(proof), words)
    draw_legend(drawing, proof, right - WIDTH, top - 2.5)


SLIDE_NAMES: Final = r"\w+-(side|plan)"
"""Of the files of `slide_files`, without their suffixes."""


def slide_files(
    table: Table,
    proofs: Sequence[LeafProof],
    date: str,
    suffixes: Sequence[str] = PAPER_AND_SCREEN,
    told: Told | None = None,
) -> Steps[dict[str, bytes]]:
    """Two pictures a leaf, `L1-side` and `L1-plan`: name of a file → what is in it.

    Parameters
    ----------
    told : the three lines of each leaf
    """
    found: dict[str, bytes] = {}
    for number, proof in enumerate(proofs):
        answer = () if told is None else told.leaves[proof.leaf]
        for half, picture in enumerate(_of_leaf(table, proof, date, answer)):
            found |= named_files([picture], suffixes)
            yield (number + (half + 1) / len(proof.views)) / len(proofs)
    return found


def save_slide_pictures(
    table: Table,
    proofs: Sequence[LeafProof],
    folder: Path,
    date: str,
    suffixes: Sequence[str] = PAPER_AND_SCREEN,
    told: Told | None = None,
) -> list[str]:
    """Saves the files of `slide_files`; their names. Raises ExportError."""
    return save_pictures(run_through(slide_files(table, proofs, date, suffixes, told)), folder, SLIDE_NAMES)


def save_row_pictures(
    proofs: Sequence[RowProof], folder: Path, date: str, suffixes: Sequence[str] = PAPER_AND_SCREEN
) -> list[str]:
    """One picture a row, `row-1` and on; the names of all files written. Raises ExportError."""
    return save_pictures(named_files(_of_rows(proofs, date), suffixes), folder, r"row-\d+")


def _of_leaf(table: Table, proof: LeafProof, date: str, answer: Lines) -> Iterator[tuple[str, Drawing]]:
    for view in proof.views:
        drawing = side_picture(
            view.proof, table=table.name, leaf=proof.leaf, view=view.of.view, units=table.units, date=date,
            answer=answer,
        )  # fmt: skip
        yield f"{proof.leaf}-{view.of.view}", drawing


def _of_rows(proofs: Sequence[RowProof], date: str) -> Iterator[tuple[str, Drawing]]:
    for number, proof in enumerate(proofs, 1):
        name = f"row-{number}"
        yield (
            name,
            side_picture(proof, table="Row of openings", leaf=name, view="side", units="mm", date=date),
        )
