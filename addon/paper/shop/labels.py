"""Sheets of labels to stick on: upright, at their true size, as many on each as fit."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from ...shop.job import Job
from ...shop.labels import MARGIN, Tag, grid_of, tags
from ...sizes.units import MM_PER_INCH
from ..sheet import Drawing, Pen
from ..sheet.clip import Rectangle
from ..sheet.dimensions import LARGE_LETTERS, LETTERS, OUTLINE, THIN, fitted
from ..sheet.lettering import shortened, text_width
from .page import ShopPage

_PALE: Final = Pen(0.1, "#B0B0B0")
"""Of the labels' edges, which may show where they are cut."""
_INSET: Final = 2.5
"""From a label's edge to what stands on it, mm."""
_BARS: Final = 7.0
"""Height of a margin in which the two bars stand, mm."""


def pages(job: Job) -> Iterator[ShopPage]:
    """One for each sheet of labels; where the sheet has no margin for the title, it stands on the first label."""
    grid, found = grid_of(job), tags(job)
    strips, first = grid.strips, grid.first
    bars = next(((low, high) for low, high in strips[1:] if high - low >= _BARS), None)
    if strips:
        slip: Rectangle = (MARGIN + _INSET, strips[0][0], grid.paper[0] - MARGIN, strips[0][1])
    else:
        left, low, right, high = grid.box(0)
        slip = (left + _INSET, low, right - _INSET, high)
    sheets = [found[at : at + grid.count] for at in range(0, len(found), grid.count)]
    for number, sheet in enumerate(sheets, 1):

        def draw(drawing: Drawing, area: Rectangle, sheet: Sequence[Tag] = sheet) -> None:  # noqa: ARG001
            for place, tag in enumerate(sheet, first):
                _draw(drawing, tag, grid.box(place))
            if bars is not None:
                _draw_bars(drawing, MARGIN + _INSET, bars)

        figures = tuple(one for tag in sheet for one in tag.sizes)
        parts = tuple(tag.label for tag in sheet if any(one.part for one in tag.sizes))
        which = f" {number} of {len(sheets)}" if len(sheets) > 1 else ""
        yield ShopPage(
            "cut-list",
            f"Labels{which}",
            draw,
            f"labels-{number}",
            parts,
            figures,
            "1:1",
            full_size=True,
            slip=slip,
        )


def _draw(drawing: Drawing, tag: Tag, box: Rectangle) -> None:
    """What is most needed first, as far as the label has room for it."""
    left, bottom, right, top = box
    drawing.rectangle(box, None, _PALE)
    room = right - left - 2 * _INSET
    large = max(min(9.0, 0.26 * (top - bottom)), LETTERS)
    at = top - _INSET / 2
    size = fitted(tag.label, large, room, LETTERS)
    drawing.text(tag.label, left + _INSET, at - 0.1 * size, size, vertical="top", weight=0.14)
    beside = room - text_width(tag.label, size) - 3.0
    if text_width(tag.sheet, LETTERS) <= beside:
        drawing.text(tag.sheet, right - _INSET, at - 0.1 * size, LETTERS, "end", vertical="top")
    at -= 1.45 * size
    low = bottom + _INSET / 2
    if at - 1.45 * LARGE_LETTERS >= low:
        _draw_sizes(drawing, tag, left + _INSET, at, room)
        at -= 1.5 * LARGE_LETTERS
    if at - 1.45 * LETTERS >= low:
        drawing.text(shortened(tag.name, LETTERS, room), left + _INSET, at, LETTERS, vertical="top")
        at -= 1.5 * LETTERS
    if tag.edge and at - 1.45 * LETTERS >= low:
        y = low + 0.4 * LETTERS
        x = left + _INSET + 1.4
        drawing.polyline([(x - 1.2, y + 2.4), (x, y - 0.6), (x + 1.2, y + 2.4)], THIN)
        drawing.text(f"reference: {tag.edge}", left + _INSET + 3.5, y, LETTERS)


def _draw_sizes(drawing: Drawing, tag: Tag, left: float, top: float, room: float) -> None:
    """Sizes in a row, each a text of its own, with crosses between."""
    words = [word for one in tag.sizes for word in ("×", one.printed)][1:]
    gap = 0.35 * LARGE_LETTERS
    total = sum(text_width(word, LARGE_LETTERS) for word in words) + gap * (len(words) - 1)
    size = max(LARGE_LETTERS * min(1.0, room / total), LETTERS)
    at = left
    for word in words:
        drawing.text(word, at, top, size, vertical="top")
        at += text_width(word, size) + gap * size / LARGE_LETTERS


def _draw_bars(drawing: Drawing, left: float, strip: tuple[float, float]) -> None:
    """Two bars to measure before the sheet is used."""
    middle = (strip[0] + strip[1]) / 2
    for y, length, name in ((middle + 1.9, 100.0, "100 mm"), (middle - 1.9, 4 * float(MM_PER_INCH), "4 in")):
        drawing.line((left, y), (left + length, y), OUTLINE)
        for x in (left, left + length):
            drawing.line((x, y - 1.2), (x, y + 1.2), THIN, name=f"bar of {name}")
        drawing.text(
            f"{name} long, else the labels are off", left + length + 2.0, y, LETTERS, vertical="middle"
        )
