"""Sheets of paper with a frame and a title block, after ISO 5457 and ISO 7200 (from memory)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from ...check.row.openings import Verdict
from . import Drawing
from .clip import Rectangle
from .dimensions import LARGE_LETTERS, LETTERS, OUTLINE, SMALL_LETTERS, THIN, TITLE_LETTERS, fitted
from .lettering import shortened, wrapped
from .palette import GRAY, verdict_mark

CAUTION: Final = "Model result from your sizes. Measure and dry-fit before glue."
"""What every sheet says."""

BLOCK_WIDTH: Final = 180.0
BLOCK_HEIGHT: Final = 32.0
"""Of the title block, mm; ISO 7200 has a width of 180."""

_FILING: Final = 20.0
_MARGIN: Final = 10.0
"""Of the frame, mm: on the left, where the sheet is filed or pinned, and on the other sides (ISO 5457)."""


@dataclass(frozen=True)
class Sheet:
    """A size of paper, lying, mm."""

    name: str
    width: float
    height: float

    @property
    def frame(self) -> Rectangle:
        """What may be drawn on: left, bottom, right, top, mm."""
        return _FILING, _MARGIN, self.width - _MARGIN, self.height - _MARGIN

    @property
    def block(self) -> Rectangle:
        """Where the title block stands, in the lower right corner: left, bottom, right, top, mm."""
        _, bottom, right, _ = self.frame
        return right - BLOCK_WIDTH, bottom, right, bottom + BLOCK_HEIGHT

    def drawing(self, title: str) -> Drawing:
        """An empty sheet with its frame."""
        drawing = Drawing(self.width, self.height, title)
        drawing.rectangle(self.frame, None, OUTLINE)
        return drawing


A4: Final = Sheet("A4", 297.0, 210.0)
A3: Final = Sheet("A3", 420.0, 297.0)
"""ISO 216."""

SCALES: Final = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0)
REDUCTIONS: Final = (1, 2, 5, 10, 20, 50, 100)
"""Scales of what is enlarged, and how many times a table is reduced: those of ISO 5455 (from memory)."""


def scale_name(scale: float) -> str:
    """``1:5``, ``2:1`` (ISO 5455, from memory)."""
    return f"1:{1 / scale:g}" if scale < 1 else f"{scale:g}:1"


@dataclass(frozen=True)
class Titles:
    """What the title block says.

    Parameters
    ----------
    view : from where, and how, the table or the leaf is shown
    leaf : the one leaf that the sheet is about; "" where it is about the table
    verdict, result : of that leaf, as a mark and in words; "" where there is none
    """

    table: str
    view: str
    scale: str
    date: str
    leaf: str = ""
    verdict: Verdict | None = None
    result: str = ""


def draw_title_block(drawing: Drawing, sheet: Sheet, titles: Titles) -> None:
    """The block in the lower right corner, with its border."""
    left, bottom, right, top = sheet.block
    first, second = left + 92.0, left + 122.0
    low, high = (bottom + 10.5, bottom + 20.0) if titles.result else (bottom + 8.0, bottom + 19.0)
    drawing.rectangle(sheet.block, None, OUTLINE)
    for y in (low, high):
        drawing.line((left, y), (right, y), THIN)
    drawing.line((first, bottom if titles.result else low), (first, top), THIN)
    drawing.line((second, low), (second, top if titles.leaf else high), THIN)
    _draw_cell(drawing, (left, high, first, top), "Table", titles.table, TITLE_LETTERS)
    if titles.leaf:
        _draw_cell(drawing, (first, high, second, top), "Leaf", titles.leaf, TITLE_LETTERS)
    _draw_cell(
        drawing, (second if titles.leaf else first, high, right, top), "View", titles.view, LARGE_LETTERS
    )
    _draw_cell(drawing, (left, low, first, high), "Scale", titles.scale, LARGE_LETTERS)
    _draw_cell(drawing, (first, low, second, high), "Date", titles.date, LETTERS)
    _draw_cell(drawing, (second, low, right, high), "Sheet", f"{sheet.name}, print at 100 %", LETTERS)
    if not titles.result:
        drawing.text(CAUTION, left + 2.0, (bottom + low) / 2, LETTERS, vertical="middle")
        return
    _draw_result(drawing, (left, bottom, first, low), titles)
    lines = wrapped(CAUTION, LETTERS, right - first - 4.0)
    for place, line in enumerate(lines):
        drawing.text(line, first + 2.0, bottom + 1.5 + 3.9 * (len(lines) - 1 - place), LETTERS)


def _draw_result(drawing: Drawing, box: Rectangle, titles: Titles) -> None:
    left, bottom, right, top = box
    middle = (bottom + top) / 2
    at = left + 2.0
    if titles.verdict is not None:
        verdict_mark(drawing, left + 6.0, middle, 6.5, titles.verdict)
        at = left + 11.5
    room = right - at - 2.0
    size = fitted(titles.result, TITLE_LETTERS, room)
    words = shortened(titles.result, size, room)
    drawing.text(words, at, middle, size, vertical="middle", weight=0.14)


def _draw_cell(drawing: Drawing, box: Rectangle, caption: str, text: str, size: float) -> None:
    """A field with its caption in the upper left corner, and its words below as large as they may be."""
    left, bottom, right, top = box
    drawing.text(caption, left + 1.2, top - 0.9, SMALL_LETTERS * 0.9, vertical="top", color=GRAY)
    room = right - left - 3.5
    fits = fitted(text, size, room)
    drawing.text(
        shortened(text, fits, room), left + 2.0, bottom + (2.9 if top - bottom > 10.0 else 2.0), fits
    )


def draw_words(
    drawing: Drawing, x: float, top: float, heading: str, lines: list[str], pitch: float = 3.9
) -> None:  # fmt: skip
    """A heading and lines under it, from the top down."""
    drawing.text(heading, x, top, LETTERS, vertical="top", weight=0.15)
    for place, line in enumerate(lines, 1):
        drawing.text(line, x, top - place * pitch - 0.6, LETTERS, vertical="top")
