"""Pages of the story sticks: each as a list, and at full size as strips that are joined at lettered marks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from math import ceil
from typing import Final

import numpy as np

from ...shop.job import Job
from ...shop.sticks import Position, Stick, sticks
from ...sizes.units import MM_PER_INCH
from ...sizes.words import codes_in_row
from ..sheet import BLACK, Drawing, Pen
from ..sheet.clip import Rectangle
from ..sheet.dimensions import LETTERS, OUTLINE, THIN, balloon, spread
from ..sheet.lettering import shortened, text_width, wrapped
from .page import ShopPage, area_of
from .rows import Column, Listing, Row

STEP: Final = 220.0
"""From one join to the next, mm."""

OVERLAP: Final = 10.0
"""How far a strip goes on beyond its joins, mm."""

BAND: Final = 8.0
"""Height of a strip's band, mm."""

_ABOVE: Final = 7.0
"""Above the band, mm: the strip's name and the letters of its joins."""

_LEADERS: Final = 6.0
"""From the band to what its lines are, mm."""

_MOST: Final = 45.0
"""mm that the words beside a line may take."""

_BARS: Final = 12.0
"""What the bars at the page's lower edge take, mm."""

_TICK: Final = Pen(0.18)
_JOIN: Final = Pen(0.18, BLACK, (2.0, 0.8))
_LINE: Final = 4.4
_PITCH: Final = 3.9

_HOW: Final = (
    "Take a straight strip of wood as long as the piece, mark START on one end and square it, and strike the lines from"
    " the list: the list governs, the strip only checks. Hold START to the end or edge named on every piece and never"
    " to the other; the X is on the side of a line where the part lies. Left and right are those of the table on its"
    " feet, seen from the front."
)

_PRINT: Final = "Print at 100 %, then measure: this bar"


def pages(job: Job) -> Iterator[ShopPage]:
    """For each stick its list and its strips, on one page where they fit."""
    for stick in sticks(job):
        yield from _stick_pages(job, stick)


# -- strips


@dataclass(frozen=True)
class Strip:
    """One printed piece of a stick.

    Parameters
    ----------
    number, of : which of how many, from 0
    low, high : between which joins it lies, mm from the START; what goes on beyond them is overlap
    """

    stick: Stick
    number: int
    of: int
    low: float
    high: float

    @property
    def first(self) -> float:
        """Where the printed piece begins, mm from the START."""
        return self.low - OVERLAP if self.number else self.low

    @property
    def last(self) -> float:
        """Where the printed piece ends, mm from the START."""
        return self.high + OVERLAP if self.number + 1 < self.of else self.high

    @property
    def own(self) -> list[tuple[int, Position]]:
        """Number, from 1, and position of the lines between its joins."""
        return _between(self, self.low, self.high if self.number + 1 < self.of else self.last + 1.0)

    @property
    def height(self) -> float:
        """What it takes on the page with all that stands beside it, mm."""
        beside = [text_width(_beside(*pair), LETTERS) for pair in self.own]
        words = min(max(beside), _MOST) + _LEADERS if beside else 0.0
        return _ABOVE + BAND + words + 4.0

    @property
    def lettered(self) -> Iterator[tuple[str, float]]:
        """The joins with the strips before and behind it."""
        if self.number:
            yield join_letter(self.number - 1), self.low
        if self.number + 1 < self.of:
            yield join_letter(self.number), self.high


def _between(strip: Strip, low: float, high: float) -> list[tuple[int, Position]]:
    """Number, from 1, and position of the lines on a stretch of a stick."""
    every = enumerate(strip.stick.positions, 1)
    return [(number, one) for number, one in every if low <= one.figure.value < high]


def _beside(number: int, one: Position) -> str:
    return f"{number}  {one.short}"


def join_letter(number: int) -> str:
    """``a``, ``b``, … of a join, from 0."""
    return chr(ord("a") + number) if number < 26 else f"a{number - 25}"


def strips_of(stick: Stick) -> list[Strip]:
    """A stick in pieces that fit on either paper."""
    length = stick.length.value
    count = max(1, ceil((length - OVERLAP) / STEP))
    return [
        Strip(stick, k, count, STEP * k, min(STEP * (k + 1), length) if k + 1 < count else length)
        for k in range(count)
    ]


def _stick_pages(job: Job, stick: Stick) -> Iterator[ShopPage]:
    left, bottom, right, top = area_of(job)
    strips = strips_of(stick)
    listing = Listing(_COLUMNS, _rows(stick), right - left)
    words = wrapped(_words(stick), LETTERS, right - left)
    room = top - bottom - (len(words) + 0.5) * _LINE
    title = f"Story stick {stick.letter}: {stick.name}"
    lists = listing.pages(room)
    taken = sum(one.height for one in strips)
    together = len(lists) == 1 and listing.height(lists[0]) + taken + _BARS + _LINE <= room
    sheets = _in_pages(strips, top - bottom - _BARS)
    total = len(lists) + (0 if together else len(sheets))
    for place, rows in enumerate(lists, 1):
        page = _Page(words, listing, rows, strips if together else ())
        yield _page(stick, title, page, place, total)
    for place, some in enumerate(() if together else sheets, len(lists) + 1):
        yield _page(stick, title, _Page((), listing, (), some), place, total)


def _in_pages(strips: Sequence[Strip], room: float) -> list[list[Strip]]:
    """As many strips on each page as there is room for."""
    found: list[list[Strip]] = [[]]
    for one in strips:
        if found[-1] and sum(other.height for other in (*found[-1], one)) > room:
            found.append([])
        found[-1].append(one)
    return found


@dataclass(frozen=True, eq=False)
class _Page:
    """What stands on one page."""

    words: Sequence[str]
    listing: Listing
    rows: Sequence[Row]
    strips: Sequence[Strip]


def _page(stick: Stick, title: str, page: _Page, place: int, of: int) -> ShopPage:
    several = f", {place} of {of}" if of > 1 else ""
    own = {str(row.cells[0]) for row in page.rows}
    figures = [one.figure for number, one in enumerate(stick.positions, 1) if str(number) in own]
    if _END in own:
        figures.append(stick.length)
    return ShopPage(
        "story-stick", f"{title}{several}", partial(_draw, page),
        f"{stick.letter}-{place}" if of > 1 else stick.letter, stick.pieces, tuple(figures),
        "1:1" if page.strips else "", full_size=bool(page.strips),
    )  # fmt: skip


def _draw(page: _Page, drawing: Drawing, area: Rectangle) -> None:
    left, bottom, right, top = area
    y = top
    for line in page.words:
        drawing.text(line, left, y, LETTERS, vertical="top")
        y -= _LINE
    if page.rows:
        y = page.listing.draw(drawing, left, y - 0.5 * _LINE, page.rows) - _LINE
    for strip in page.strips:
        _draw_strip(drawing, strip, left, y - _ABOVE, right)
        y -= strip.height
    if page.strips:
        _draw_bars(drawing, left, bottom)


def _draw_strip(drawing: Drawing, strip: Strip, left: float, top: float, right: float) -> None:
    """A strip with the upper edge of its band at a height."""
    stick = strip.stick
    start = left + 0.5 + (OVERLAP if strip.number == 0 else 0.0)
    origin = start - strip.first

    def x(at: float) -> float:
        return origin + at

    low, high = x(strip.first), x(strip.last)
    bottom = top - BAND
    for y in (bottom, top):
        drawing.line((low, y), (high, y), THIN, name="band")
    name = f"Stick {stick.letter}, strip {strip.number + 1} of {strip.of}"
    name_at = low + (1.5 * OVERLAP if strip.number else 0.0)
    if strip.number == 0:
        drawing.line((low, bottom), (low, top), OUTLINE, name="start")
        middle = (top + bottom) / 2
        drawing.fill(
            [[(low - 0.8, middle), (low - 7.0, middle + 4.0), (low - 7.0, middle - 4.0)]], BLACK, "START"
        )
        name = f"START: {stick.start}    {name}"
    if strip.number + 1 == strip.of:
        drawing.line((high, bottom), (high, top), OUTLINE, name="end")
        end = f"end: {stick.end}"
        if name_at + text_width(name, LETTERS) + text_width(end, LETTERS) + 3.0 <= high:
            drawing.text(end, high, top + 1.5, LETTERS, "end")
    for letter, at in strip.lettered:
        drawing.line((x(at), bottom - 1.0), (x(at), top + 1.0), _JOIN, name=f"join {letter}")
        balloon(drawing, (x(at), top + 3.8), letter)
    drawing.text(name, name_at, top + 1.5, LETTERS, weight=0.14)
    _draw_lines(drawing, strip, origin, top, (left + 2.0, min(right, left + 2 * OVERLAP + STEP) - 2.0))


def _draw_lines(
    drawing: Drawing, strip: Strip, origin: float, top: float, reach: tuple[float, float]
) -> None:
    """The lines of all positions on a strip; those between its joins with their numbers and what they are."""
    bottom = top - BAND
    for number, one in _between(strip, strip.first, strip.last):
        at = origin + one.figure.value
        drawing.line((at, bottom), (at, top), _TICK, name=f"line {number}")
    own = strip.own
    if not own:
        return
    wanted = np.array([origin + one.figure.value for _, one in own])
    pitch = min(_PITCH, (reach[1] - reach[0]) / len(own))
    places = spread(wanted, np.full(len(own), pitch), *reach)
    for (number, one), at, place in zip(own, wanted.tolist(), places.tolist(), strict=True):
        drawing.polyline([(at, bottom), (place, bottom - 4.0), (place, bottom - 5.0)], THIN)
        _draw_sides(drawing, one, at, bottom)
        words = _beside(number, one)
        drawing.text(
            shortened(words, LETTERS, _MOST),
            place + LETTERS / 2,
            bottom - _LEADERS,
            LETTERS,
            "end",
            angle=90.0,
        )


def _draw_sides(drawing: Drawing, one: Position, at: float, bottom: float) -> None:
    """The X of a part, on its side of a line."""
    for side in one.sides:
        if side:
            x, y = at + 1.6 * side, bottom + 2.0
            for way in (1.0, -1.0):
                drawing.line((x - 0.9, y - way * 0.9), (x + 0.9, y + way * 0.9), THIN, name="X")


def _draw_bars(drawing: Drawing, left: float, bottom: float) -> None:
    """Two bars to measure before a full-size page is used: of 100 mm and of 4 in."""
    inches = 4 * float(MM_PER_INCH)
    for x, length, name in ((left + 1.0, 100.0, "100 mm"), (left + 125.0, inches, "4 in")):
        y = bottom + 2.0
        drawing.line((x, y), (x + length, y), OUTLINE)
        for at in (x, x + length):
            drawing.line((at, y - 1.5), (at, y + 1.5), _TICK, name=f"bar of {name}")
        drawing.text(f"{_PRINT} is {name} long", x, y + 3.0, LETTERS)


# -- the list

_COLUMNS: Final = (
    Column("Line", 8.0, "end"),
    Column("From START", 16.0, "end"),
    Column("What, and on which pieces", 120.0),
)


_END: Final = "end"


def _words(stick: Stick) -> str:
    return f"Cut or routed from it: {codes_in_row(stick.pieces)}. START: {stick.start}. {_HOW}"


def _rows(stick: Stick) -> list[Row]:
    lines = [Row((f"{number}", one.figure, one.what)) for number, one in enumerate(stick.positions, 1)]
    return [*lines, Row((_END, stick.length, stick.end))]
