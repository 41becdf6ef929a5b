"""Sheets of paper with a frame and a title block, after ISO 5457 and ISO 7200 (from memory)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from ...check.row.openings import Verdict
from ...designs.words.answer import Lines
from ...sizes.words import capital
from . import Drawing
from .clip import Rectangle
from .dimensions import LARGE_LETTERS, LETTERS, OUTLINE, SMALL_LETTERS, THIN, TITLE_LETTERS, fitted
from .lettering import shortened, text_width, wrapped
from .palette import GRAY, grade_mark, verdict_mark

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
LETTER: Final = Sheet("Letter", 279.4, 215.9)
"""ASME Y14.1, size A (from memory)."""

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
    answer : the three lines, of that leaf or of the table; () where nobody asked
    verdict, result : of a bare row of openings, as a mark and in words; "" where there is none
    """

    table: str
    view: str
    scale: str
    date: str
    leaf: str = ""
    answer: Lines = ()
    verdict: Verdict | None = None
    result: str = ""


_LINE: Final = 4.1
"""From one line of the answer to the next, mm."""

_NAMES: Final = 25.0
"""From the left side of the block to the words of the answer, mm."""


def draw_title_block(drawing: Drawing, sheet: Sheet, titles: Titles) -> None:
    """The block in the lower right corner, with its border."""
    left, bottom, right, top = sheet.block
    first, second = left + 92.0, left + 122.0
    low, high = bottom + 8.0, bottom + 19.0
    if titles.answer:
        low, high = bottom + 5.2 + _LINE * len(titles.answer), bottom + 24.4
    elif titles.result:
        low, high = bottom + 10.5, bottom + 20.0
    drawing.rectangle(sheet.block, None, OUTLINE)
    for y in (low, high):
        drawing.line((left, y), (right, y), THIN)
    parted = bool(titles.result) and not titles.answer
    drawing.line((first, bottom if parted else low), (first, top), THIN)
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
    if titles.answer:
        draw_answer(drawing, titles.answer, left + 1.5, low - 0.6, right - left - 3.0)
        drawing.text(CAUTION, left + 2.0, bottom + 1.4, LETTERS)
        return
    if not titles.result:
        drawing.text(CAUTION, left + 2.0, (bottom + low) / 2, LETTERS, vertical="middle")
        return
    _draw_result(drawing, (left, bottom, first, low), titles)
    lines = wrapped(CAUTION, LETTERS, right - first - 4.0)
    for place, line in enumerate(lines):
        drawing.text(line, first + 2.0, bottom + 1.5 + 3.9 * (len(lines) - 1 - place), LETTERS)


def draw_answer(drawing: Drawing, answer: Lines, left: float, top: float, width: float) -> float:
    """The three lines from the top down, each with its mark and its name; returns where they end, mm."""
    room = width - _NAMES - 1.0
    for place, line in enumerate(answer):
        middle = top - (place + 0.5) * _LINE
        grade_mark(drawing, left + 1.6, middle, 2.9, line.grade)
        weight = 0.1 if line.grade == "good" else 0.14
        drawing.text(capital(line.name), left + 4.4, middle, LETTERS, vertical="middle", weight=weight)
        size = fitted(line.words, LETTERS, room)
        drawing.text(
            shortened(line.words, size, room), left + _NAMES, middle, size, vertical="middle", weight=weight,
            name="answer",
        )  # fmt: skip
    return top - len(answer) * _LINE


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


_LOW: Final = 8.0
"""Height below which a field has its caption before its words, mm."""


def _draw_cell(drawing: Drawing, box: Rectangle, caption: str, text: str, size: float) -> None:
    """A field with its caption in the upper left corner, and its words below as large as they may be.

    In a low field the caption stands before the words.
    """
    left, bottom, right, top = box
    if top - bottom < _LOW:
        middle, small = (bottom + top) / 2, SMALL_LETTERS * 0.9
        drawing.text(caption, left + 1.5, middle, small, vertical="middle", color=GRAY)
        start = left + 1.5 + text_width(caption, small) + 1.8
        fits = fitted(text, min(size, LARGE_LETTERS), right - start - 1.5)
        words = shortened(text, fits, right - start - 1.5)
        drawing.text(words, start, middle, fits, vertical="middle")
        return
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
