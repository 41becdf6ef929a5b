"""The title block of a line drawing, after ISO 7200 (from memory)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..sheet.dimensions import LARGE_LETTERS, LETTERS, OUTLINE, THIN, TITLE_LETTERS
from ..sheet.sheet import BLOCK_HEIGHT, BLOCK_WIDTH, CAUTION, draw_cell

if TYPE_CHECKING:
    from ..sheet import Drawing
    from ..sheet.clip import Rectangle
    from ..sheet.sheet import Sheet


@dataclass(frozen=True)
class Titles:
    """What the title block says."""

    table: str
    view: str
    leaves: str
    scale: str
    date: str


def block_of(sheet: Sheet) -> Rectangle:
    """Where the block stands, in the lower right corner: left, bottom, right, top, mm."""
    _, bottom, right, _ = sheet.frame
    return right - BLOCK_WIDTH, bottom, right, bottom + BLOCK_HEIGHT


def draw_title_block(drawing: Drawing, sheet: Sheet, titles: Titles) -> None:
    """The block with its border."""
    left, bottom, right, top = block_of(sheet)
    low, high, middle, second = bottom + 8.0, bottom + 19.0, left + 92.0, left + 122.0
    drawing.rectangle((left, bottom, right, top), None, OUTLINE)
    for y in (low, high):
        drawing.line((left, y), (right, y), THIN)
    drawing.line((middle, low), (middle, top), THIN)
    drawing.line((second, low), (second, high), THIN)
    draw_cell(drawing, (left, high, middle, top), "Table", titles.table, TITLE_LETTERS)
    draw_cell(drawing, (middle, high, right, top), "View", f"{titles.view}, {titles.leaves}", LARGE_LETTERS)
    draw_cell(drawing, (left, low, middle, high), "Scale", titles.scale, LARGE_LETTERS)
    draw_cell(drawing, (middle, low, second, high), "Date", titles.date, LETTERS)
    draw_cell(drawing, (second, low, right, high), "Sheet", f"{sheet.name}, print at 100 %", LETTERS)
    drawing.text(CAUTION, left + 2.0, (bottom + low) / 2, LETTERS, vertical="middle")
