"""The line drawing of a table on a sheet of paper."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal

import numpy as np

from ...model.errors import ExportError
from ..drawing import Pen
from ..drawing.dimensions import NARROW, WIDE
from ..drawing.sheet import A3, A4, BLOCK_HEIGHT
from ..slides.words import scale_name
from .chains import paths_of, specks
from .hidden import lines_of
from .labels import COLUMN, draw_labels
from .merge import crowded, merged
from .surface import surface_of
from .title_block import Titles, draw_title_block
from .views import VIEWS

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from ...model.assembly import Assembly
    from ..drawing import Drawing
    from ..drawing.clip import Rectangle
    from ..drawing.sheet import Sheet
    from .hidden import Lines
    from .views import ViewFrom

    Floats = NDArray[np.float64]

Leaves = Literal["covered", "stowed"]

LEAVES: Final[dict[Leaves, str]] = {"covered": "leaves as the top", "stowed": "leaves stowed"}
"""Where the leaves are → what the title block says."""

SHEETS: Final = {"A4": A4, "A3": A3}

OUTLINE: Final = Pen(WIDE)
EDGE: Final = Pen(NARROW)
HIDDEN: Final = Pen(NARROW, dash=(12 * NARROW, 3 * NARROW))
"""Lines 01.2, 01.1 and 02.1 of ISO 128-2 (from memory): continuous wide, continuous narrow, dashed narrow."""

_PARTS: Final = (1, 2, 5, 10, 20, 50, 100)
"""Reductions of ISO 5455 (from memory)."""

_PLAIN: Final = 10
"""Reduction from which a larger sheet is worth its while: 18 mm of plywood are then 1.8 mm."""

_SPACE: Final = 8.0
"""Between the drawing and the frame or the title block, at least, mm."""

_APART: Final = 0.7
_LONG: Final = 2.0
"""Outlines nearer to other lines than the least distance (ISO 128-2, from memory) are narrow over stretches
longer than this, mm on the paper: wide ones would run into one. What is
left of them and smaller is narrow too."""

_RISE: Final = 0.2
"""Slope of leaders where level ones would lie along the drawing's own lines."""


@dataclass(frozen=True)
class _Layout:
    """Where the drawing stands on its sheet: paper = place + points · scale."""

    sheet: Sheet
    parts: int
    scale: float
    place: Floats


def line_picture(
    assembly: Assembly, *, date: str, view: str = "isometric", leaves: Leaves = "covered", hidden: bool = False,
    labels: bool = False, sheet: Sheet | None = None,
) -> Drawing:  # fmt: skip
    """A table's outlines and edges to scale; isometric views are so large that lengths along all three axes are true.

    Parameters
    ----------
    date : as it is to stand in the title block
    view : one of `VIEWS`
    leaves : whether they lie as the table's top or in their slots
    hidden : with the hidden edges, dashed
    labels : with the labels of the parts that are seen
    sheet : A4 or A3 where it must be that; by default A4, or A3 where only that shows the thickness of boards well

    Raises
    ------
    PartError : where a part has no sound section
    ExportError : where the table is too large for the sheet
    """
    seen = VIEWS[view]
    places = assembly.cover if leaves == "covered" else {}
    surface = surface_of(assembly.parts, seen.axes, places)
    lines = lines_of(surface)
    layout = _layout(
        assembly.name, lines.ends[:, :, :2].reshape(-1, 2), seen, sheet, COLUMN if labels else _SPACE
    )
    drawing = layout.sheet.drawing(f"{assembly.name}: {seen.name.lower()}, {LEAVES[leaves]}")
    drawn = _draw_lines(drawing, lines, layout, hidden)
    if labels:
        names = [part.label for part in assembly.parts]
        box, rise = _above_block(layout.sheet), 0.0 if seen.isometric else _RISE
        draw_labels(drawing, names, surface, drawn, layout.scale, layout.place, box, rise)
    draw_title_block(drawing, layout.sheet, _titles(assembly.name, seen, leaves, layout.parts, date))
    return drawing


def _draw_lines(drawing: Drawing, lines: Lines, layout: _Layout, hidden: bool) -> Floats:
    """Puts the lines on the sheet; returns those that are visible, (n, 2, 2) float mm on the paper."""
    flat = lines.ends[:, :, :2]
    kinds = [flat[lines.outline], flat[lines.visible & ~lines.outline]]
    if hidden:
        kinds.append(flat[~lines.visible])
    kinds = merged(kinds)
    outlines, edges = _thinned(kinds[0], kinds[1], layout.scale)
    drawn = [
        *((one, HIDDEN, "hidden edges") for one in kinds[2:]),
        (edges, EDGE, "edges"),
        (outlines, OUTLINE, "outlines"),
    ]
    for segments, pen, name in drawn:
        drawing.strokes(paths_of(segments * layout.scale + layout.place), pen, name=name)
    return np.concatenate([outlines, edges]) * layout.scale + layout.place


def _thinned(outlines: Floats, edges: Floats, scale: float) -> tuple[Floats, Floats]:
    """Outlines and edges, (n, 2, 2) float mm, with those outlines among the edges that would run into one on paper."""
    narrow = crowded(outlines, edges, _APART / scale, _LONG / scale)
    edges, outlines = merged([np.concatenate([edges, narrow]), outlines])
    small = specks(outlines, _LONG / scale)
    return outlines[~small], np.concatenate([edges, outlines[small]])


def _above_block(sheet: Sheet) -> Rectangle:
    left, bottom, right, top = sheet.frame
    return left, bottom + BLOCK_HEIGHT + 2.0, right, top - 2.0


def _titles(table: str, view: ViewFrom, leaves: Leaves, parts: int, date: str) -> Titles:
    scale = scale_name(1 / parts)
    if view.isometric:
        scale = f"{scale} along length, width and height"
    return Titles(table, view.name, LEAVES[leaves], scale, date)


def _layout(table: str, points: Floats, view: ViewFrom, sheet: Sheet | None, beside: float) -> _Layout:
    """The largest standard scale at which (n, 2) points, mm, fit, in the middle of what the title block leaves."""
    low, high = points.min(axis=0), points.max(axis=0)
    fits: list[_Layout] = []
    for paper in (A4, A3) if sheet is None else (sheet,):
        left, bottom, right, top = paper.frame
        room = np.array([right - left - 2 * beside, top - bottom - BLOCK_HEIGHT - 2 * _SPACE])
        for parts in _PARTS:
            scale = view.enlarged / parts
            if ((high - low) * scale <= room).all():
                middle = np.array([left + right, bottom + BLOCK_HEIGHT + top]) / 2
                fits.append(_Layout(paper, parts, scale, middle - (low + high) / 2 * scale))
                break
    if not fits:
        raise ExportError(f"{table} cannot be drawn: it is too large for the paper even at 1:{_PARTS[-1]}.")
    plain = [one for one in fits if one.parts <= _PLAIN]
    return plain[0] if plain else min(fits, key=lambda one: one.parts)
