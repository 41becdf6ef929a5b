"""Lists on pages for the shop: rows of cells in columns, as high as what stands in them, from page to page."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from ...shop.figures import Figure
from ..sheet import Drawing, Pen
from ..sheet.dimensions import LETTERS, OUTLINE, THIN, fitted
from ..sheet.items import Anchor
from ..sheet.lettering import wrapped

Cell = str | Figure
"""Words, which may run over several lines, or a number, which stands alone."""

_PALE: Final = Pen(0.18, "#8C8C8C")
_PAD: Final = 1.2
"""From a column's border to what stands in it, mm."""
_BELOW: Final = 3.0
"""Free below a list, mm."""


@dataclass(frozen=True)
class Column:
    """One column of a list.

    Parameters
    ----------
    heading : above it
    share : of the width
    anchor : to which side of it words and numbers stand
    size : of the letters, mm
    """

    heading: str
    share: float
    anchor: Anchor = "start"
    size: float = LETTERS


@dataclass(frozen=True)
class Row:
    """One row of a list.

    Parameters
    ----------
    cells : one for each column; a heading has one alone, which takes the whole width
    wide : whether the line above it is a wide one
    """

    cells: tuple[Cell, ...]
    wide: bool = False

    @property
    def is_heading(self) -> bool:
        """Whether it runs over all columns."""
        return len(self.cells) == 1


class Listing:
    """Rows in columns of a given width, mm."""

    def __init__(self, columns: Sequence[Column], rows: Sequence[Row], width: float) -> None:
        self.columns, self.rows, self.width = columns, rows, width
        total = sum(column.share for column in columns)
        self.widths = [column.share / total * width for column in columns]

    def pages(self, height: float) -> list[list[Row]]:
        """The rows, page by page of a given height; a heading stays with the row below it."""
        room = height - self._heading_height()
        pages: list[list[Row]] = [[]]
        used = 0.0
        for number, row in enumerate(self.rows):
            needed = self._height(row)
            after = self.rows[number + 1] if row.is_heading and number + 1 < len(self.rows) else None
            if pages[-1] and used + needed + (self._height(after) if after else 0.0) > room:
                pages.append([])
                used = 0.0
            pages[-1].append(row)
            used += needed
        return pages

    def blocks(self, height: float) -> list[Block]:
        """The rows as blocks that each fit into a given height."""
        return [Block(self, rows) for rows in self.pages(height)] if self.rows else []

    def height(self, rows: Sequence[Row]) -> float:
        """What some rows take with the headings of their columns, mm."""
        return self._heading_height() + sum(self._height(row) for row in rows)

    def draw(self, drawing: Drawing, left: float, top: float, rows: Sequence[Row]) -> float:
        """Draws some of the rows below their headings, from the top down; returns where they end, mm."""
        at = self._draw_cells(drawing, left, top, [column.heading for column in self.columns], 0.14)
        for number, row in enumerate(rows):
            pen = OUTLINE if row.wide or number == 0 else _PALE
            drawing.line((left, at), (left + self.width, at), pen)
            at = self._draw_row(drawing, left, at, row)
        drawing.line((left, at), (left + self.width, at), THIN)
        return at

    def _heading_height(self) -> float:
        return self._cells_height([column.heading for column in self.columns], LETTERS)

    def _height(self, row: Row) -> float:
        if row.is_heading:
            return len(wrapped(str(row.cells[0]), LETTERS, self.width - 2 * _PAD)) * 1.45 * LETTERS + 2.0
        return self._cells_height(row.cells)

    def _cells_height(self, cells: Sequence[Cell], size: float | None = None) -> float:
        tallest = 0.0
        for cell, column, width in zip(cells, self.columns, self.widths, strict=True):
            letters = size or column.size
            count = len(_lines(cell, letters, width))
            # A number reaches less far below its base line than words do.
            pitch = 1.22 if isinstance(cell, Figure) and letters > LETTERS else 1.45
            tallest = max(tallest, count * pitch * letters)
        return tallest + 1.6

    def _draw_row(self, drawing: Drawing, left: float, top: float, row: Row) -> float:
        if not row.is_heading:
            return self._draw_cells(drawing, left, top, row.cells)
        for number, line in enumerate(wrapped(str(row.cells[0]), LETTERS, self.width - 2 * _PAD)):
            y = top - 1.6 - 1.45 * LETTERS * number
            drawing.text(line, left + _PAD, y, LETTERS, vertical="top", weight=0.14)
        return top - self._height(row)

    def _draw_cells(
        self, drawing: Drawing, left: float, top: float, cells: Sequence[Cell], weight: float = 0.1
    ) -> float:
        """Cells side by side, words in LETTERS where they are headings."""
        heading = weight > 0.1
        height = self._cells_height(cells, LETTERS if heading else None)
        start = left
        for cell, column, width in zip(cells, self.columns, self.widths, strict=True):
            size = LETTERS if heading else column.size
            x = {"start": start + _PAD, "middle": start + width / 2, "end": start + width - _PAD}
            lines = _lines(cell, size, width)
            for number, line in enumerate(lines):
                y = top - 1.2 - 0.17 * LETTERS - number * 1.45 * size
                letters = fitted(line, size, width - 2 * _PAD, LETTERS)
                drawing.text(line, x[column.anchor], y, letters, column.anchor, vertical="top", weight=weight)
            start += width
        return top - height


@dataclass(frozen=True, eq=False)
class Block:
    """Some rows of a list, below the headings of its columns."""

    listing: Listing
    rows: list[Row]

    @property
    def height(self) -> float:
        """With what stays free below it, mm."""
        return self.listing.height(self.rows) + _BELOW

    @property
    def figures(self) -> tuple[Figure, ...]:
        """All that stand in it."""
        return tuple(cell for row in self.rows for cell in row.cells if isinstance(cell, Figure))


def flowed(blocks: Sequence[Block], height: float) -> list[list[Block]]:
    """Blocks one below the other, page by page of a given height."""
    pages: list[list[Block]] = []
    used = height
    for block in blocks:
        if not pages or used + block.height > height + _BELOW:
            pages.append([])
            used = 0.0
        pages[-1].append(block)
        used += block.height
    return pages


def draw_blocks(drawing: Drawing, left: float, top: float, blocks: Sequence[Block]) -> float:
    """Draws blocks one below the other; returns where they end, mm."""
    at = top
    for block in blocks:
        at = block.listing.draw(drawing, left, at, block.rows) - _BELOW
    return at


def _lines(cell: Cell, size: float, width: float) -> list[str]:
    if isinstance(cell, Figure):
        return [cell.printed]
    return wrapped(cell, size, width - 2 * _PAD)
