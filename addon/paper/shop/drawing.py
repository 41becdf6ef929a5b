"""The general drawing, which is the first page of a set.

front          from the left     First angle: what is seen from the left stands at the right, what is seen from
from above     section           above stands below.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial
from typing import Final

import numpy as np

from ...shop.figures import Figure
from ...shop.general import Cut, Sizes, covered, sizes_of
from ...shop.job import Job
from ...sizes.arrays import Floats
from ...wood.part import Part
from ...wood.reserved import LOW_ALONE, LOW_VOLTAGE
from ...wood.roles import BOTTOM
from ..lines.hidden import hidden_lines
from ..reserved_lines import draw_spaces, name_spaces
from ..sheet import Drawing, Pen
from ..sheet.clip import Rectangle
from ..sheet.dimensions import (
    ARROW,
    LARGE_LETTERS,
    LETTERS,
    OUTLINE,
    THIN,
    TITLE_LETTERS,
    arrow_head,
    break_line,
    spread,
    upright_dimension,
)
from ..sheet.lettering import shortened, text_width, wrapped
from ..sheet.sheet import CAUTION, REDUCTIONS, draw_answer, scale_name
from ..table_page import draw_lines
from ..views import OnSheet, view_from
from . import spaces
from .page import ShopPage, area_of, sheet_of
from .part_sheet.views import section

_LINE: Final = 4.4
_HEAD: Final = 6.0
"""Above a view, for its name, mm."""

_SIDE: Final = 15.0
"""Beside and below a view, for a dimension, mm."""

_ASIDE: Final = {"front": (5.0, 5.0, 1.0), "270,0": (5.0, 5.0, 1.0), "top": (9.0, 9.0, 3.5)}
"""How far beside, below and above a view reserved space is drawn, mm: names and dimensions stand there."""

_COLUMN: Final = 62.0
"""Width of the column of words at the right, mm."""

_LEAST_HIGH: Final = 42.0
"""Of a section below that column, mm."""

_ABOVE_ROWS: Final = 30.0
"""Above the sizes in that column, mm."""

_CHANGED: Final = "Other letters here mean: the table was changed; use no old paper."
_HATCH: Final = Pen(0.13)
_LEAST_SHOWN: Final = 200.0
"""How far a section goes into the table, at least, mm."""


def pages(job: Job) -> Iterator[ShopPage]:
    """The general drawing, and where space is reserved a page of that."""
    sizes = sizes_of(job)
    views = _views(job, sizes)
    yield ShopPage(
        "drawing", f"General drawing: {job.table.name}", partial(_draw, views), "",
        tuple(one.label for one in job.assembly.parts),
        sizes.figures, scale_name(1 / views.parts), projection=True,
    )  # fmt: skip
    yield from spaces.pages(job)


_MOST_ACCEPTED: Final = 4
"""Findings that are accepted, each with a line on this page; the page of dry fits has all."""


def _accepted(job: Job) -> tuple[str, ...]:
    """What is accepted, and how much more."""
    words = job.accepted_words
    more = len(words) - _MOST_ACCEPTED
    if more <= 0:
        return words
    return *words[:_MOST_ACCEPTED], f"Accepted besides: {more} more, listed with the dry fits."


def _views(job: Job, sizes: Sizes) -> _Views:
    """Where all stands; with what cables are for, in short or not at all where the views would become smaller for it:
    the page of reserved space has it."""
    plain = _Views(job, sizes, area_of(job), ())
    if all(one.entry.form != "cable" for one in job.assembly.reserved):
        return plain
    tried = (_Views(job, sizes, area_of(job), (words,)) for words in (LOW_VOLTAGE, LOW_ALONE))
    return next((one for one in tried if one.parts == plain.parts), plain)


# -- the page


class _Views:
    """Where the views, the section and the words stand."""

    def __init__(self, job: Job, sizes: Sizes, area: Rectangle, cables: tuple[str, ...]) -> None:
        self.job, self.sizes, self.area = job, sizes, area
        left, bottom, right, top = area
        self.words = [
            line
            for text in (job.rounding_words, *_accepted(job), *cables, CAUTION)
            for line in wrapped(text, LETTERS, right - left)
        ]
        self.foot = bottom + 13.5 + _LINE * len(self.words)
        size = sizes.high - sizes.low
        room = right - left - _COLUMN - 3 * _SIDE, top - self.foot - 2 * _HEAD - 2 * _SIDE
        most = max((size[0] + size[1]) / room[0], (size[1] + size[2]) / room[1])
        self.parts = next((parts for parts in (*REDUCTIONS, 200, 500) if parts >= most), 1000)
        length, width, height = size / self.parts
        self.front = left + _SIDE, top - _HEAD - height
        self.beside = self.front[0] + length + _SIDE, self.front[1]
        self.above = self.front[0], self.front[1] - _SIDE - _HEAD - width
        self.column = right - _COLUMN
        self.rows = _rows(sizes)
        x, below = self.front[0] + length + _SIDE, self.front[1] - _SIDE
        taken = sum(1 + _wraps(*row) for row in self.rows)
        under = min(below, top - _ABOVE_ROWS - _LINE * taken)
        wide = under - self.foot >= _LEAST_HIGH
        self.section = (x, self.foot, right, under) if wide else (x, self.foot, self.column - 6.0, below)

    def spans(self, axis: int) -> float:
        """On the paper, mm."""
        return float(self.sizes.high[axis] - self.sizes.low[axis]) / self.parts


def _draw(views: _Views, drawing: Drawing, area: Rectangle) -> None:
    sizes, reserved = views.sizes, []
    for words, view, corner in (
        ("Front", "front", views.front),
        ("From the left", "270,0", views.beside),
        ("From above", "top", views.above),
    ):
        height = views.spans(1 if view == "top" else 2)
        above = 5.0 if view == "top" else 2.0
        drawing.text(words, corner[0], corner[1] + height + above, LETTERS, weight=0.14)
        reserved.append(_draw_view(views, drawing, view, corner))
    length, width, height = (one.printed for one in sizes.overall)
    (x, y), (x1, _) = views.front, views.beside
    _level_dimension(drawing, x, x + views.spans(0), y, y - 7.0, length)
    _level_dimension(drawing, x1, x1 + views.spans(1), y, y - 7.0, width)
    upright_dimension(drawing, x - 4.0, (x - 1.0, y), (x - 1.0, y + views.spans(2)), "", -1)
    _upright_words(drawing, x - 5.0, y + views.spans(2) / 2, height)
    _draw_knee(views, drawing)
    if sizes.cut is not None:
        _draw_section(views, drawing, sizes.cut)
    _draw_column(views, drawing)
    _draw_foot(views, drawing, area)
    for drawn in reserved:
        name_spaces(drawing, drawn, {label: label for label in drawn}, area)


def _level_dimension(drawing: Drawing, left: float, right: float, start: float, y: float, text: str) -> None:
    """The dimension of a length below what it is of, its figure above the line (ISO 129-1, from memory).

    Parameters
    ----------
    left, right : where it begins and ends, mm
    start : from where the extension lines come
    y : of the dimension line
    """
    for x, way in ((left, -1.0), (right, 1.0)):
        drawing.line((x, start - 0.8), (x, y - 1.5), THIN)
        arrow_head(drawing, (x, y), (way, 0))
    drawing.line((left + 0.8 * ARROW, y), (right - 0.8 * ARROW, y), THIN)
    drawing.text(text, (left + right) / 2, y + 0.9, LETTERS, "middle")


def _upright_words(drawing: Drawing, x: float, y: float, text: str) -> None:
    drawing.text(text, x, y, LETTERS, "middle", angle=90.0)


def _draw_view(views: _Views, drawing: Drawing, view: str, corner: tuple[float, float]) -> dict[str, Floats]:
    """The outlines and edges in a view, their lower left corner at a point of the paper; where reserved spaces are."""
    job = views.job
    axes = view_from(view).axes
    lines = hidden_lines(job.assembly.parts, axes, job.assembly.cover)
    low = (np.stack([views.sizes.low, views.sizes.high]) @ axes[:2].T).min(axis=0)
    scale = 1 / views.parts
    place = np.array(corner) - low * scale
    draw_lines(drawing, lines, OnSheet(sheet_of(job), views.parts, scale, place, views.area))
    width, height = np.ptp(np.stack([views.sizes.low, views.sizes.high]) @ axes[:2].T, axis=0) * scale
    aside, below, above = _ASIDE[view]
    box = corner[0] - aside, corner[1] - below, corner[0] + width + aside, corner[1] + height + above
    return draw_spaces(drawing, job.assembly.reserved, axes, scale, place, box, cut=True)


def _draw_knee(views: _Views, drawing: Drawing) -> None:
    """The knee clearance, right of the view from the left."""
    x = views.beside[0] + views.spans(1)
    y = views.beside[1]
    high = y + views.sizes.knee.value / views.parts
    upright_dimension(drawing, x + 4.0, (x + 1.0, y), (x + 1.0, high), "", 1)
    _upright_words(drawing, x + 7.5, (y + high) / 2, views.sizes.knee.printed)


def _draw_section(views: _Views, drawing: Drawing, cut: Cut) -> None:
    """Wood that the plane cuts, hatched, from the side's outer face inward, with heights from its lower edge."""
    job, sizes = views.job, views.sizes
    left, bottom, right, top = views.section
    side = job.assembly.by_label[cut.side]
    zero = float(side.box[0][2])
    tall = float(sizes.high[2]) - zero
    numbers = max(text_width(figure.printed, LETTERS) for _, figure in sizes.heights) + 10.0
    beside = 9.0 + (text_width(sizes.well.printed, LETTERS) if sizes.well else 0.0)
    room = right - left - numbers - beside, top - bottom - _HEAD - 3.0
    parts = next(
        (parts for parts in REDUCTIONS if tall / parts <= room[1] and room[0] * parts >= _LEAST_SHOWN), 0
    )
    if not parts:
        return
    scale = 1 / parts
    origin = np.array([left + numbers, top - _HEAD - tall * scale])
    reach = min(room[0], (float(np.max(sizes.high[:2] - sizes.low[:2])) + 5.0) * scale)
    box = origin[0] - 1.0, origin[1] - 1.0, origin[0] + reach, origin[1] + tall * scale + 1.0
    along = 1 - cut.across
    with drawing.clipped(box):
        for part in job.assembly.parts:
            for number, ring in enumerate(_section_rings(job, part, cut)):
                flat = (ring - (0.0, zero)) * scale + origin
                drawing.hatch([flat], _HATCH, 1.4, 45.0 if (number + len(part.label)) % 2 else 135.0)
                drawing.strokes([flat], OUTLINE, closed=True, name=f"section {part.label}")
    x = float(box[2])
    break_line(drawing, (x, box[1] + 1.0), (x, box[3] - 1.0))
    letters = f"A–A, through the slot of {cut.leaf}, {scale_name(scale)}"
    drawing.text(letters, left, top - LETTERS, LETTERS, weight=0.14)
    _draw_heights(views, drawing, origin, scale, zero)
    _draw_well(views, drawing, x, origin, scale, zero)
    _draw_plane(views, drawing, cut, along)


def _section_rings(job: Job, part: Part, cut: Cut) -> Iterator[Floats]:
    """Rings, (n, 2) float mm, of a part: from the side's outer face inward, and up from the room's floor.

    A leaf that is stowed is shown in its slot, and where it lies as the top.
    """
    along = 1 - cut.across
    for one in dict.fromkeys((part, covered(job, part))):
        if not one.box[0][cut.across] < cut.at < one.box[1][cut.across]:
            continue
        axis = int(np.abs(one.placement.axes[:, cut.across]).argmax())
        at = (cut.at - one.placement.origin[cut.across]) * one.placement.axes[axis, cut.across]
        for ring in section(one.shape, axis, float(at)):
            points = one.placement.to_table(np.insert(ring, axis, at, axis=1))
            yield np.stack([(points[:, along] - cut.face) * cut.inward, points[:, 2]], axis=1)


def _draw_heights(views: _Views, drawing: Drawing, origin: Floats, scale: float, zero: float) -> None:
    """Running dimensions from the side's lower edge, left of the section."""
    x, y = origin.tolist()
    heights = views.sizes.heights
    places = spread(
        np.array([y + (z - zero) * scale for z, _ in heights]),
        np.full(len(heights), 3.4),
        y + 2.0,
        views.section[3] - 4.0,
    )
    drawing.circle((x - 2.0, y), 0.6, None, THIN)
    drawing.line((x - 1.3, y), (x - 0.4, y), THIN)
    for (z, figure), place in zip(heights, places.tolist(), strict=True):
        at = y + (z - zero) * scale
        drawing.polyline([(x - 0.8, at), (x - 2.0, at), (x - 5.0, place), (x - 6.5, place)], THIN)
        drawing.text(figure.printed, x - 7.2, place, LETTERS, "end", vertical="middle")


def _draw_well(views: _Views, drawing: Drawing, x: float, origin: Floats, scale: float, zero: float) -> None:
    """The depth of the well, right of the section."""
    well = views.sizes.well
    if well is None:
        return
    panel = max(float(one.box[1][2]) for one in views.job.assembly.with_role(BOTTOM.word))
    low = float(origin[1]) + (panel - zero) * scale
    high = low + well.value * scale
    upright_dimension(drawing, x + 5.0, (x + 1.5, low), (x + 1.5, high), well.printed, 1)


def _draw_plane(views: _Views, drawing: Drawing, cut: Cut, along: int) -> None:
    """Where the section is: its ends beside the view from above."""
    left, bottom = views.above
    start = float(cut.at - views.sizes.low[cut.across]) / views.parts
    if along == 1:
        x, ends = left + start, (bottom - 1.0, bottom + views.spans(1) + 1.0)
        for y, away in zip(ends, (-1.0, 1.0), strict=True):
            drawing.line((x, y), (x, y + away * 2.5), OUTLINE)
            drawing.text("A", x + 1.2, y + away * 2.0 - LETTERS / 2, LETTERS, weight=0.14)
    else:
        y, ends = bottom + start, (left - 1.0, left + views.spans(0) + 1.0)
        for x, away in zip(ends, (-1.0, 1.0), strict=True):
            drawing.line((x, y), (x + away * 2.5, y), OUTLINE)
            drawing.text("A", x + away * 1.8, y + 1.0, LETTERS, "middle", weight=0.14)


def _draw_column(views: _Views, drawing: Drawing) -> None:
    """The set's fingerprint, and sizes in words."""
    job, x, y = views.job, views.column, views.area[3] - 1.0
    room = views.area[2] - x
    drawing.text(
        shortened(job.table.name, LARGE_LETTERS, room), x, y, LARGE_LETTERS, vertical="top", weight=0.14
    )
    y -= 7.0
    drawing.text(job.fingerprint, x, y, TITLE_LETTERS, vertical="top", weight=0.14)
    y -= 8.0
    for line in wrapped(_CHANGED, LETTERS, room):
        drawing.text(line, x, y, LETTERS, vertical="top")
        y -= _LINE
    y -= _LINE / 2
    for caption, figures, between in views.rows:
        if y < views.foot + _LINE:
            break
        y = _draw_size(drawing, caption, figures, between, x, y, room)


def _rows(sizes: Sizes) -> list[tuple[str, tuple[Figure, ...], str]]:
    """Caption, figures and what stands between these of each size in the column."""
    rows = [("Length", sizes.overall[:1]), ("Width", sizes.overall[1:2]), ("Height", sizes.overall[2:])]
    rows.append(("Knee clearance", (sizes.knee,)))
    if sizes.well is not None:
        rows.append(("Well depth", (sizes.well,)))
    found: list[tuple[str, tuple[Figure, ...], str]] = [(caption, figures, "") for caption, figures in rows]
    if sizes.slots:
        found.append(("Slots, from the side's lower edge:", (), ""))
    found += [(f"    {labels}", pair, "to") for labels, pair in sizes.slots]
    return found + [(f"Leaves {labels}", three, "×") for labels, three in sizes.leaves]


def _width(figures: Sequence[Figure], between: str) -> tuple[float, float]:
    """Of the gap between two figures, and of all of them, mm."""
    gap = text_width(between, LETTERS) + 3.0
    return gap, sum(text_width(one.printed, LETTERS) for one in figures) + gap * max(len(figures) - 1, 0)


def _wraps(caption: str, figures: Sequence[Figure], between: str) -> bool:
    """Whether the figures have no room behind their caption."""
    return text_width(caption, LETTERS) + _width(figures, between)[1] + 4.0 > _COLUMN


def _draw_size(
    drawing: Drawing, caption: str, figures: Sequence[Figure], between: str, x: float, y: float, room: float
) -> float:
    """A caption and its figures, each a text of its own, below it where behind it is no room; returns where it ends."""
    drawing.text(shortened(caption, LETTERS, room), x, y, LETTERS, vertical="top")
    if _wraps(caption, figures, between):
        y -= _LINE
    gap, width = _width(figures, between)
    at = x + room - width
    for number, one in enumerate(figures):
        if number:
            drawing.text(between, at + gap / 2, y, LETTERS, "middle", vertical="top")
            at += gap
        drawing.text(one.printed, at, y, LETTERS, vertical="top")
        at += text_width(one.printed, LETTERS)
    return y - _LINE


def _draw_foot(views: _Views, drawing: Drawing, area: Rectangle) -> None:
    """The three lines of the table as rounded, whether it passes, and what to do before glue."""
    left, _, right, _ = area
    y = draw_answer(drawing, views.job.told.table, left, views.foot - 0.5, right - left) - 1.0
    for line in views.words:
        drawing.text(line, left, y, LETTERS, vertical="top")
        y -= _LINE
