"""The cut list: by stock in the order of sawing, at its end what is cut to fit last, the hardware, and labels."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from ...shop.cut_list import SHOWN, Fit, Line, StockList, cut_list, fits
from ...shop.hardware import Item, hardware
from ...shop.job import Job
from ...sizes.quantities import format_quantity
from ...sizes.units import format_amount
from ..sheet import Drawing
from ..sheet.clip import Rectangle
from ..sheet.dimensions import LETTERS
from ..sheet.lettering import wrapped
from . import labels
from .page import ShopPage, area_of
from .rows import Block, Cell, Column, Listing, Row, draw_blocks, flowed

_COLUMNS: Final = (
    Column("Label", 46),
    Column("Count", 12, "end"),
    Column("Name", 46),
    Column("Length", 19, "end"),
    Column("Width", 19, "end"),
    Column("Thick", 16, "end"),
    Column("Saw first to", 20, "end"),
    Column("Edges that show", 38),
    Column("One weighs", 20, "end"),
)

_FIT_COLUMNS: Final = (
    Column("Cut to fit last", 80),
    Column("Measure between", 60),
    Column("About", 30, "end"),
    Column("Measured", 70, "middle"),
)

_HARDWARE_COLUMNS: Final = (
    Column("Hardware", 46),
    Column("Count", 12, "end"),
    Column("Size", 18, "end"),
    Column("Length", 16, "end"),
    Column("Amount", 28, "end"),
    Column("For", 116),
)

_ORDER: Final = (
    "Rip all parts of one width together, wide to narrow, then crosscut those of one length at a stop block."
)
_TO_FIT: Final = (
    "Cut to fit last: saw longer first; when the two boards beside the gap stand dry, measure it and cut."
)
_THINNED: Final = "Thinned: ripped down from the thickness of the sheet, with push stick and featherboard."


def pages(job: Job) -> Iterator[ShopPage]:
    """All pages of the list, stock by stock, what is cut to fit at the end; then the sheets of labels."""
    left, bottom, right, top = area_of(job)
    width = right - left
    lists, found = cut_list(job), fits(job)
    thinned = any(line.thin for stock in lists for line in stock.lines)
    said = (_ORDER, *((_TO_FIT,) if found else ()), *((_THINNED,) if thinned else ()), SHOWN)
    notes = [line for note in said for line in wrapped(note, LETTERS, width)]
    room = top - bottom - _notes_height(notes)
    blocks: list[Block] = []
    for stock in lists:
        blocks += Listing(_COLUMNS, _rows(job, stock), width).blocks(room)
    blocks += Listing(_FIT_COLUMNS, [_fit_row(fit) for fit in found], width).blocks(room)
    blocks += Listing(_HARDWARE_COLUMNS, [_item_row(item) for item in hardware(job)], width).blocks(room)
    yield from _paged(flowed(blocks, room), notes)
    yield from labels.pages(job)


def _paged(sheets: Sequence[list[Block]], notes: Sequence[str]) -> Iterator[ShopPage]:
    for number, sheet in enumerate(sheets, 1):

        def draw(drawing: Drawing, area: Rectangle, sheet: list[Block] = sheet) -> None:
            left, bottom, _, top = area
            draw_blocks(drawing, left, top, sheet)
            for row, line in enumerate(reversed(notes)):
                drawing.text(line, left, bottom + 0.9 + 3.7 * row, LETTERS)

        which = f" {number} of {len(sheets)}" if len(sheets) > 1 else ""
        figures = tuple(dict.fromkeys(one for block in sheet for one in block.figures))
        parts = tuple(dict.fromkeys(figure.part for figure in figures if figure.part))
        yield ShopPage("cut-list", f"Cut list{which}", draw, str(number), parts, figures)


def _notes_height(notes: Sequence[str]) -> float:
    return 3.7 * len(notes) + 2.0


def _rows(job: Job, stock: StockList) -> list[Row]:
    rows = [Row((_heading(job, stock),), wide=True)]
    for rip in stock.rips:
        rows += [_row(job, line, wide=number == 0) for number, line in enumerate(rip)]
    return rows


def _heading(job: Job, stock: StockList) -> str:
    """What the stock is, and its totals."""
    measured = format_amount(stock.stock.sheet_thickness, job.units)
    pieces = f"{stock.pieces} piece{'s' if stock.pieces != 1 else ''}"
    area = format_quantity(stock.area, "m²", job.units)
    return (
        f"{stock.stock.name}, measured {measured}: {pieces}, {area} net, "
        f"{format_quantity(stock.mass, 'kg', job.units)}"
    )


def _row(job: Job, line: Line, wide: bool) -> Row:
    thin = ", thinned" if line.thin else ""
    cells: tuple[Cell, ...] = (
        ", ".join(line.labels),
        str(line.count),
        line.name + thin,
        line.length,
        line.width,
        line.thickness,
        line.rough or "",
        line.edges,
        format_quantity(line.mass, "kg", job.units, 2) if line.mass else "",
    )
    return Row(cells, wide)


def _fit_row(fit: Fit) -> Row:
    return Row((", ".join(fit.labels), " and ".join(fit.between), fit.about, ""))


def _item_row(item: Item) -> Row:
    count = "" if item.count is None else str(item.count)
    return Row((item.name, count, item.size, item.length or "", item.amount, item.note))
