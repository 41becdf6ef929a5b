"""Part sheets: every distinct part with all its dimensions, plain ones several a page."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from ....shop.figures import Figure
from ....shop.job import Job
from ....shop.part_sheets import PartSheet, part_sheets
from ....sizes.units import format_amount
from ...sheet import Drawing
from ...sheet.clip import Rectangle
from ...sheet.dimensions import LARGE_LETTERS, LETTERS, THIN, TITLE_LETTERS, fitted
from ...sheet.lettering import shortened, wrapped
from ..page import ShopPage, area_of, sheet_of
from .board import draw_board
from .legend import draw_lines, legend, note_lines
from .placing import PITCH, Placing

_LABELS: Final = 7.0
"""Height of the labels at the head of a sheet, mm: a size of ISO 3098-1 (from memory)."""

_HEAD: Final = 12.0
_NOTES: Final = 0.36
"""Share of the width that the notes have."""

_CELL_NOTES: Final = 7
"""Lines of notes that a part may have on a page with others."""

_BETWEEN: Final = 6.0
"""From column to column of a page with several parts, mm."""

_MARKS: Final = (
    "V: reference edge. Loop: the face that is drawn. Put both on the wood first, then measure from them."
)


def pages(job: Job) -> Iterator[ShopPage]:
    """All sheets in the assembly's order, those of plain parts last."""
    sheets = part_sheets(job)
    for sheet in sheets:
        if not _shares(job, sheet):
            yield from _own_page(job, sheet)
    yield from _shared_pages(job, [sheet for sheet in sheets if _shares(job, sheet)])


def _shares(job: Job, sheet: PartSheet) -> bool:
    """Whether a part is so plain and small, and so little is to be said of it, that several fit on a page."""
    small = sheet.plain and sheet.shape.size[1] <= 160.0 and len(sheet.entries) <= 9
    return small and len(note_lines(sheet.notes, _cell_width(job))) <= _CELL_NOTES


def _cell_width(job: Job) -> float:
    left, _, right, _ = area_of(job)
    return (right - left - _BETWEEN) / 2


def _own_page(job: Job, sheet: PartSheet) -> Iterator[ShopPage]:
    area = area_of(job)
    left, bottom, right, top = area
    paper = sheet_of(job)
    width = right - left
    notes_width = _NOTES * width
    list_width = width - notes_width - 6.0
    notes = note_lines((*sheet.notes, _MARKS), notes_width)
    # What is never drawn is known before; what then finds no place on the drawing has to fit as well.
    never = [one for one in sheet.entries if one.span is None and one.figure.name != "thickness"]
    most = int((top - bottom) * 0.52 / PITCH)
    for spare in (1, 3, 6, 10):
        lines = max(len(legend(sheet, never, list_width)) + spare, len(notes))
        below = min(lines, most) * PITCH + 2.0
        drawing = Drawing(paper.width, paper.height)
        placing = Placing(drawing, area)
        _draw_head(placing, job, sheet, (left, top - _HEAD, right, top))
        placing.line((left, bottom + below - 0.5), (right, bottom + below - 0.5))
        placing.area = (left, bottom + below, right, top)
        scale, entries = draw_board(placing, (left, bottom + below, right, top - _HEAD - 1.0), sheet)
        found = legend(sheet, entries, list_width)
        if len(found) <= min(lines, most) or spare == 10:
            break
    room = int((below - 1.0) / PITCH)
    draw_lines(placing, found[:room], left, bottom + below - 2.0)
    for number, line in enumerate(notes[:room]):
        placing.text(line, right - notes_width, bottom + below - 2.0 - LETTERS - PITCH * number)
    rest, more = found[room:], notes[room:]
    title = f"Part sheet: {_named(sheet)}"
    later = tuple(word.entry.figure for line in rest for word in line if word.entry is not None)
    figures = tuple(one for one in sheet.figures if all(one is not other for other in later))
    yield _page(sheet.labels, title, drawing, figures, scale, sheet.labels[0])
    if rest or more:
        again = Drawing(paper.width, paper.height)
        placing = Placing(again, area)
        _draw_head(placing, job, sheet, (left, top - _HEAD, right, top))
        draw_lines(placing, rest, left, top - _HEAD - 2.0)
        for number, line in enumerate(more):
            placing.text(line, right - notes_width, top - _HEAD - 2.0 - LETTERS - PITCH * number)
        yield _page(sheet.labels, f"{title}, continued", again, later, "", f"{sheet.labels[0]}-2")


def _shared_pages(job: Job, sheets: Sequence[PartSheet]) -> Iterator[ShopPage]:
    """Two columns of plain parts."""
    left, bottom, _, top = area_of(job)
    paper, rows = sheet_of(job), 2
    width, height = _cell_width(job), (top - bottom) / rows
    groups = [sheets[start : start + 2 * rows] for start in range(0, len(sheets), 2 * rows)]
    for number, group in enumerate(groups, 1):
        drawing = Drawing(paper.width, paper.height)
        scales = set()
        for place, sheet in enumerate(group):
            column, row = place % 2, place // 2
            x, y = left + column * (width + _BETWEEN), top - (row + 1) * height
            scales.add(_draw_cell(drawing, job, sheet, (x, y + 1.0, x + width, y + height - 1.0)))
            if row:
                drawing.line((x, y + height), (x + width, y + height), THIN)
        labels = tuple(label for sheet in group for label in sheet.labels)
        figures = tuple(figure for sheet in group for figure in sheet.figures)
        which = f" {number} of {len(groups)}" if len(groups) > 1 else ""
        scale = scales.pop() if len(scales) == 1 else "as named"
        yield _page(labels, f"Part sheet: plain parts{which}", drawing, figures, scale, f"plain-{number}")


def _draw_cell(drawing: Drawing, job: Job, sheet: PartSheet, box: Rectangle) -> str:
    """A part in a cell: what is not drawn and the notes stand below its views."""
    left, bottom, right, top = box
    notes = note_lines(sheet.notes, right - left)
    never = [one for one in sheet.entries if one.span is None and one.figure.name != "thickness"]
    for spare in (0, 1, 2, 3):
        count = len(legend(sheet, never, right - left)) + spare
        trial = Drawing(drawing.width, drawing.height)
        placing = Placing(trial, box)
        head = _draw_cell_head(placing, job, sheet, box)
        notes_top = bottom + PITCH * len(notes) + 0.6
        list_top = notes_top + PITCH * count
        placing.area = (left, list_top + 0.6, right, head)
        scale, entries = draw_board(placing, placing.area, sheet, sections=False)
        lines = legend(sheet, entries, right - left)
        if len(lines) <= count:
            break
    draw_lines(placing, lines, left, list_top)
    for number, line in enumerate(notes):
        placing.text(line, left, notes_top - LETTERS - PITCH * number)
    placing.text(scale, right, top - 8.5 - LETTERS, "end")
    drawing.items += trial.items
    return scale


def _draw_cell_head(placing: Placing, job: Job, sheet: PartSheet, box: Rectangle) -> float:
    """Labels, and below them how many, what they are called and from which sheet."""
    left, _, right, top = box
    text, letters = " ".join(sheet.labels), TITLE_LETTERS
    size = fitted(text, letters, right - left, LARGE_LETTERS)
    placing.text(shortened(text, size, right - left), left, top - 1.0 - size, size=size, weight=0.13)
    room = right - left - 12.0
    words = f"{_count(sheet)}, {_stock(job, sheet)}"
    placing.text(shortened(words, LETTERS, room), left, top - 8.5 - LETTERS)
    return top - 12.0


def _count(sheet: PartSheet) -> str:
    count = len(sheet.labels)
    return f"{count} piece{'s' if count > 1 else ''}: {sheet.name}"


def _stock(job: Job, sheet: PartSheet) -> str:
    stock = sheet.part.stock
    return f"{stock.name}, measured {format_amount(stock.sheet_thickness, job.units)}"


def _draw_head(placing: Placing, job: Job, sheet: PartSheet, box: Rectangle) -> None:
    """Labels large, how many, and from which sheet."""
    left, _, right, top = box
    room = (right - left) * 0.58
    text = " ".join(sheet.labels)
    size = fitted(text, _LABELS, room, LARGE_LETTERS)
    lines = wrapped(text, size, room)[:2]
    for number, line in enumerate(lines):
        placing.text(
            shortened(line, size, room), left, top - size - number * size * 1.5, size=size, weight=0.13
        )
    for number, line in enumerate((_count(sheet), _stock(job, sheet))):
        size = LARGE_LETTERS if number == 0 else LETTERS
        limit = (right - left) * 0.40
        size = fitted(line, size, limit, LETTERS)
        placing.text(shortened(line, size, limit), right, top - LARGE_LETTERS - number * 4.4, "end", size)


def _named(sheet: PartSheet) -> str:
    return f"{sheet.name} {' '.join(sheet.labels)}"


def _page(
    labels: tuple[str, ...], title: str, drawn: Drawing, figures: tuple[Figure, ...], scale: str, number: str
) -> ShopPage:
    def draw(drawing: Drawing, area: Rectangle) -> None:  # noqa: ARG001  # placed beforehand
        drawing.items += drawn.items

    return ShopPage("part-sheet", title, draw, number, labels, figures, scale, projection=bool(scale))
