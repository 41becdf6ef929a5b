"""A table on a sheet of paper: its lines, or a rendered picture under them, at the same scale and place."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from ..designs.table.figures import room_below
from ..designs.words.answer import Lines as AnswerLines
from ..sizes.arrays import Floats
from ..sizes.bounds import MOST_RENDERED
from ..sizes.errors import BoundsError
from ..sizes.units import Units, format_size
from ..wood.assembly import Assembly
from ..wood.part import Part
from .lines.chains import crowded, merged, paths_of, specks
from .lines.hidden import Lines, lines_of
from .lines.seen import Surface, surface_of
from .part_labels import column_width, draw_labels, label_texts
from .reserved_lines import draw_spaces, name_spaces, points_of, words_of
from .sheet import Drawing, Pen
from .sheet.clip import Rectangle
from .sheet.dimensions import LETTERS, NARROW, WIDE
from .sheet.lettering import shortened, wrapped
from .sheet.sheet import REDUCTIONS, Sheet, Titles, draw_title_block, draw_words, scale_name
from .views import SPACE, Frame, OnSheet, ViewFrom, frame_of, layout_of, view_from

Style = Literal["shaded", "transparent", "rendered"]

STYLES: Final[dict[Style, str]] = {
    "shaded": "",
    "transparent": ", body transparent",
    "rendered": "",
}
"""Name on the command line → what it adds to the words on the leaves in the title block."""

BODY: Final = Pen(NARROW, "#808080")
"""Lines of a transparent body: gray enough to lie behind, dark enough to stay on a gray print."""

_AROUND: Final = 1.0
_SHADOW: Final = 24.0
"""How far a picture goes beyond the drawing, mm on the paper, without and with the shadows of a rendered one."""


@dataclass(frozen=True, eq=False)
class StyledPage:
    """A page before its picture is there; `frame` says what has to be in that."""

    assembly: Assembly
    style: Style
    view: ViewFrom
    leaves: Leaves
    labels: bool
    surface: Surface
    layout: OnSheet

    def frame(self, dpi: float) -> Frame:
        """What the picture has to show, with the dots of the sheet at a number of dots an inch.

        Raises BoundsError for more dots than are rendered.
        """
        around = _SHADOW if self.style == "rendered" else _AROUND
        depth = self.surface.points[:, 2]
        frame = frame_of(self.layout, self.view.axes, float(depth.min() + depth.max()) / 2, dpi, around)
        share = MOST_RENDERED / (frame.rows * frame.columns)
        if share < 1:
            raise BoundsError(
                f"At {dpi:g} dots an inch the picture has more than {MOST_RENDERED:,} dots: use at most"
                f" {int(dpi * share**0.5)} dots an inch."
            )
        return frame

    def drawing(
        self, date: str, frame: Frame, pixels: NDArray[np.uint8], answer: AnswerLines = ()
    ) -> Drawing:  # fmt: skip
        """The page with its picture.

        Parameters
        ----------
        date : as it is to stand in the title block
        frame : that the picture was made for
        pixels : (rows, columns, 4) uint8, straight alpha
        answer : the three lines for the title block; () where nobody asked
        """
        assembly, layout, words = self.assembly, self.layout, LEAVES[self.leaves] + STYLES[self.style]
        drawing = layout.sheet.drawing(f"{assembly.name}: {self.view.name.lower()}, {words}")
        share: NDArray[np.float32] = pixels[:, :, 3].astype(np.float32) / np.float32(255)
        if self.style == "rendered":
            share *= _fading(frame, self.layout.box)
        drawing.image(_on_white(pixels, share), frame.box, name="picture")
        if self.style == "transparent":
            self._draw_through(drawing)
        elif self.style == "shaded" or self.labels:
            sheet = drawing if self.style == "shaded" else layout.sheet.drawing("")
            drawn = draw_lines(sheet, lines_of(self.surface), layout)
            self._label(drawing, assembly.parts, self.surface, drawn)
        if self.style != "rendered":
            _draw_reserved(drawing, assembly, self.view, layout, None)
        view = f"{self.view.name}, {words}"
        titles = Titles(assembly.name, view, scale_words(self.view, layout.parts), date, answer=answer)
        draw_title_block(drawing, layout.sheet, titles)
        return drawing

    def _draw_through(self, drawing: Drawing) -> None:
        """Leaves as if nothing stood before them, over the thin lines of the body."""
        leaves = [part for part in self.assembly.parts if part.role.slides]
        body = [part for part in self.assembly.parts if not part.role.slides]
        drawn = []
        if body:
            drawn.append(
                draw_lines(drawing, lines_of(self._surface(body)), self.layout, outline=BODY, edge=BODY)
            )
        if leaves:
            surface = self._surface(leaves)
            drawn.append(draw_lines(drawing, lines_of(surface), self.layout))
            self._label(drawing, leaves, surface, np.concatenate(drawn))

    def _surface(self, parts: list[Part]) -> Surface:
        return surface_of(parts, self.view.axes, _places(self.assembly, self.leaves))

    def _label(
        self, drawing: Drawing, parts: list[Part] | tuple[Part, ...], surface: Surface, drawn: Floats
    ) -> None:
        if self.labels:
            layout, texts = self.layout, label_texts(parts)
            rise = 0.0 if self.view.isometric else RISE
            draw_labels(drawing, texts, surface, drawn, layout.scale, layout.place, layout.room, rise)


def styled_page(
    assembly: Assembly, style: Style, *, view: str = "isometric", leaves: Leaves = "covered", labels: bool = False,
    sheet: Sheet | None = None,
) -> StyledPage:  # fmt: skip
    """The page of a table in a style, at the scale and place that its line drawing has.

    Parameters
    ----------
    view : as of `view_from`
    leaves : whether they lie as the table's top or in their slots
    labels : with the labels of the parts that are seen; those of the leaves where the body is transparent
    sheet : A4 or A3 where it must be that

    Raises
    ------
    PartError : where a part has no sound section
    ExportError : where the table is too large for the sheet, or there is no such view
    """
    seen = view_from(view)
    surface = surface_of(assembly.parts, seen.axes, _places(assembly, leaves))
    beside = column_width(label_texts(assembly.parts)) if labels else SPACE
    layout = layout_of(
        assembly.name, _with_spaces(assembly, seen, surface.points[:, :2]), seen, sheet, beside
    )
    return StyledPage(assembly, style, seen, leaves, labels, surface, layout)


def _places(assembly: Assembly, leaves: Leaves) -> dict:
    return assembly.cover if leaves == "covered" else {}


def _fading(frame: Frame, box: Rectangle) -> NDArray[np.float32]:
    """(rows, columns) float32: 1 where the drawing is, falling to 0 at the borders of its picture: for shadows."""
    left, bottom, right, top = frame.box
    across = _bell(left, box[0], box[2], right, frame.columns)
    down = _bell(bottom, box[1], box[3], top, frame.rows)[::-1]
    return down[:, None] * across


def _bell(start: float, first: float, last: float, end: float, count: int) -> NDArray[np.float32]:
    """(count,) float32: 1 from `first` to `last`, smoothly 0 at `start` and `end`."""
    at = start + (np.arange(count) + 0.5) * (end - start) / count
    share = np.interp(at, (start, first, last, end), (0.0, 1.0, 1.0, 0.0))
    return (share * share * (3 - 2 * share)).astype(np.float32)


def _on_white(pixels: NDArray[np.uint8], share: NDArray[np.float32]) -> NDArray[np.uint8]:
    """(rows, columns, 3) uint8: colors that cover white paper by a share, (rows, columns) float32."""
    return (255.5 - share[:, :, None] * (255 - pixels[:, :, :3].astype(np.float32))).astype(np.uint8)


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
    labels: bool = False, sheet: Sheet | None = None, answer: AnswerLines = (), sizes_in: Units | None = None,
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
    answer : the three lines for the title block; () where nobody asked
    sizes_in : the unit in which the overall sizes and the knee clearance stand beside the title block; None without

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
    points = _with_spaces(assembly, seen, lines.ends[:, :, :2].reshape(-1, 2))
    layout = layout_of(assembly.name, points, seen, sheet, beside)
    drawing = layout.sheet.drawing(f"{assembly.name}: {seen.name.lower()}, {LEAVES[leaves]}")
    drawn = draw_lines(drawing, lines, layout, hidden)
    if labels:
        rise = 0.0 if seen.isometric else RISE
        draw_labels(drawing, texts, surface, drawn, layout.scale, layout.place, layout.room, rise)
    if sizes_in is not None:
        _draw_sizes(drawing, assembly, surface, layout, sizes_in)
    _draw_reserved(drawing, assembly, seen, layout, sizes_in)
    words = f"{seen.name}, {LEAVES[leaves]}"
    titles = Titles(assembly.name, words, scale_words(seen, layout.parts), date, answer=answer)
    draw_title_block(drawing, layout.sheet, titles)
    return drawing


def _draw_sizes(
    drawing: Drawing, assembly: Assembly, surface: Surface, layout: OnSheet, units: Units
) -> None:  # fmt: skip
    """How large the table is that is drawn, and what is free below its body, on the left of the title block."""
    points = surface.points @ surface.axes
    length, width, height = (points.max(axis=0) - points.min(axis=0)).tolist()
    sizes = [("Length", length), ("Width", width), ("Height", height)]
    sizes.append(("Knee clearance", room_below(assembly)))
    left, top = layout.sheet.frame[0], layout.sheet.block[3]
    lines = [f"{name} {format_size(mm, units)}" for name, mm in sizes]
    draw_words(drawing, left + 4.0, top - 3.0, "Sizes as drawn", lines)


def _with_spaces(assembly: Assembly, view: ViewFrom, points: Floats) -> Floats:
    """Points of a table in a view, (n, 2) float mm, and those of its reserved spaces."""
    return np.concatenate([points, points_of(assembly.reserved, view.axes)])


_WORDS_AT: Final = 51.0
"""From the frame to the words on reserved space where sizes stand before them, mm."""


def _draw_reserved(
    drawing: Drawing, assembly: Assembly, view: ViewFrom, layout: OnSheet, units: Units | None
) -> None:
    """Reserved spaces, over all that is drawn, each with its name; those that are off the sheet in words alone."""
    spaces = assembly.reserved
    if not spaces:
        return
    drawn = draw_spaces(drawing, spaces, view.axes, layout.scale, layout.place, layout.room)
    names = {one.label: words_of(one, None) for one in spaces}
    left, top = layout.sheet.frame[0], layout.sheet.block[3]
    said = [words_of(one, units) for one in spaces if units is not None or one.label not in drawn]
    if said:
        start = left + (4.0 if units is None else _WORDS_AT)
        lines = _in_lines(said, layout.sheet.block[0] - start - 2.0)
        draw_words(drawing, start, top - 3.0, "Reserved space", lines)
    name_spaces(drawing, drawn, names, layout.room)


def _in_lines(said: list[str], room: float) -> list[str]:
    """Sentences in lines: wrapped where there is room for all, else each cut short, the last ones counted."""
    lines = [line for text in said for line in wrapped(text, LETTERS, room)]
    if len(lines) > _MOST_SAID:
        more = [f"and {len(said) - _MOST_SAID + 1} more"] if len(said) > _MOST_SAID else []
        lines = [shortened(text, LETTERS, room) for text in (*said[: _MOST_SAID - len(more)], *more)]
    return lines


_MOST_SAID: Final = 6
"""Lines of words on reserved spaces."""


def draw_lines(
    drawing: Drawing, lines: Lines, layout: OnSheet, hidden: bool = False, outline: Pen = OUTLINE, edge: Pen = EDGE
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
    """The scale, and along what it holds; of a reduction that no scale rule has, that there is none."""
    if not view.true or parts not in REDUCTIONS:
        return "not to scale"
    scale = scale_name(1 / parts)
    return f"{scale} along length, width and height" if view.isometric else scale
