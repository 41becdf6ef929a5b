"""The line drawing of a table on a sheet of paper."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, Literal

import numpy as np

from ..sheet import Pen
from ..sheet.dimensions import NARROW, WIDE
from ..slide_page.words import scale_name
from .chains import crowded, merged, paths_of, specks
from .hidden import lines_of
from .labels import column_width, draw_labels, label_texts
from .layout import SPACE, layout_of, view_from
from .surface import surface_of
from .title_block import Titles, draw_title_block

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from ...wood.assembly import Assembly
    from ..sheet import Drawing
    from ..sheet.sheet import Sheet
    from .hidden import Lines
    from .layout import Layout, ViewFrom

    Floats = NDArray[np.float64]

Leaves = Literal["covered", "stowed"]

LEAVES: Final[dict[Leaves, str]] = {"covered": "leaves as the top", "stowed": "leaves stowed"}
"""Where the leaves are → what the title block says."""

OUTLINE: Final = Pen(WIDE)
EDGE: Final = Pen(NARROW)
HIDDEN: Final = Pen(NARROW, dash=(12 * NARROW, 3 * NARROW))
"""Lines 01.2, 01.1 and 02.1 of ISO 128-2 (from memory): continuous wide, continuous narrow, dashed narrow."""

_APART: Final = 0.7
_LONG: Final = 2.0
"""Outlines nearer to other lines than the least distance (ISO 128-2, from memory) are narrow over stretches
longer than this, mm on the paper: wide ones would run into one. What is
left of them and smaller is narrow too."""

RISE: Final = 0.2
"""Slope of leaders where level ones would lie along the drawing's own lines."""


def line_picture(
    assembly: Assembly, *, date: str, view: str = "isometric", leaves: Leaves = "covered", hidden: bool = False,
    labels: bool = False, sheet: Sheet | None = None,
) -> Drawing:  # fmt: skip
    """A table's outlines and edges to scale; isometric views are so large that lengths along all three axes are true.

    Parameters
    ----------
    date : as it is to stand in the title block
    view : as of `view_from`
    leaves : whether they lie as the table's top or in their slots
    hidden : with the hidden edges, dashed
    labels : with the labels of the parts that are seen
    sheet : A4 or A3 where it must be that; by default A4, or A3 where only that shows the thickness of boards well

    Raises
    ------
    PartError : where a part has no sound section
    ExportError : where the table is too large for the sheet, or there is no such view
    """
    seen = view_from(view)
    places = assembly.cover if leaves == "covered" else {}
    surface = surface_of(assembly.parts, seen.axes, places)
    lines = lines_of(surface)
    texts = label_texts(assembly.parts)
    beside = column_width(texts) if labels else SPACE
    layout = layout_of(assembly.name, lines.ends[:, :, :2].reshape(-1, 2), seen, sheet, beside)
    drawing = layout.sheet.drawing(f"{assembly.name}: {seen.name.lower()}, {LEAVES[leaves]}")
    drawn = draw_lines(drawing, lines, layout, hidden)
    if labels:
        rise = 0.0 if seen.isometric else RISE
        draw_labels(drawing, texts, surface, drawn, layout.scale, layout.place, layout.room, rise)
    titles = Titles(assembly.name, seen.name, LEAVES[leaves], scale_words(seen, layout.parts), date)
    draw_title_block(drawing, layout.sheet, titles)
    return drawing


def draw_lines(
    drawing: Drawing, lines: Lines, layout: Layout, hidden: bool = False, outline: Pen = OUTLINE, edge: Pen = EDGE
) -> Floats:  # fmt: skip
    """Puts the lines on the sheet; returns those that are visible, (n, 2, 2) float mm on the paper."""
    flat = lines.ends[:, :, :2]
    kinds = [flat[lines.outline], flat[lines.visible & ~lines.outline]]
    if hidden:
        kinds.append(flat[~lines.visible])
    kinds = merged(kinds)
    outlines, edges = _thinned(kinds[0], kinds[1], layout.scale)
    drawn = [
        *((one, HIDDEN, "hidden edges") for one in kinds[2:]),
        (edges, edge, "edges"),
        (outlines, outline, "outlines"),
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


def scale_words(view: ViewFrom, parts: int) -> str:
    """The scale, and along what it holds."""
    if not view.true:
        return "not to scale"
    scale = scale_name(1 / parts)
    return f"{scale} along length, width and height" if view.isometric else scale
