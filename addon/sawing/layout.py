"""Where each part lies on which sheet, and the through cuts in the order in which they are sawn. Lengths in mm."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final, Literal

import numpy as np

from ..sizes.bare import number_of, object_of, one_or_several
from ..sizes.bounds import MOST_LAYOUTS, MOST_SAWN
from ..sizes.errors import RowError
from ..sizes.units import format_given
from .blocks import ABOVE, BESIDE, UNIT, Block, Stock, units_around, units_within
from .search import laid_out

_DECIMALS: Final = 9
"""Of a position in mm; one unit is the last of them."""


@dataclass(frozen=True)
class Wanted:
    """So many equal parts; `turns` where the grain may run along either side."""

    name: str
    width: float
    height: float
    quantity: int
    turns: bool


@dataclass(frozen=True)
class Job:
    """What is sawn from sheets of width × height: `trim` is taken off each edge first, then each cut takes `kerf`."""

    sheet: tuple[float, float]
    kerf: float
    trim: float
    parts: tuple[Wanted, ...]

    @property
    def usable(self) -> tuple[float, float]:
        """Width and height of the trimmed sheet."""
        return self.sheet[0] - 2 * self.trim, self.sheet[1] - 2 * self.trim


@dataclass(frozen=True)
class Placement:
    """A part on a sheet, numbered from 1: its lower left corner from that of the untrimmed sheet, sizes as it lies."""

    sheet: int
    name: str
    x: float
    y: float
    width: float
    height: float
    turned: bool


@dataclass(frozen=True)
class Cut:
    """A through cut: the piece `box` (x, y, width, height) comes apart at x or y = `at`, where the kerf begins."""

    sheet: int
    box: tuple[float, float, float, float]
    axis: Literal["x", "y"]
    at: float


@dataclass(frozen=True)
class Layout:
    """All parts of a job on sheets; with fewer than `bound` sheets it is impossible."""

    sheets: int
    bound: int
    placements: tuple[Placement, ...]
    cuts: tuple[Cut, ...]


def read_jobs(text: str, where: str) -> tuple[list[Job], bool]:
    """The jobs of a JSON text, and whether it is a list of them.

    Parameters
    ----------
    where : name of the file, for the words of an error

    Raises
    ------
    RowError
        For what is no JSON, lacks a key, has one too many or a value that makes no sense, for parts that are larger
        than the trimmed sheet, and for more than are taken on.
    """
    found, several = one_or_several(text, where, MOST_LAYOUTS, "list of parts")
    return [read_job(*one) for one in found], several


def read_job(data: Any, where: str) -> Job:
    """One job from its JSON object. Raises RowError."""
    job = object_of(data, where, {"sheet", "kerf", "trim", "parts"}, ())
    sheet = _size(job["sheet"], f"{where}: sheet")
    kerf, trim = (number_of(job[key], f"{where}: {key}", least=0) for key in ("kerf", "trim"))
    if 2 * trim >= min(sheet):
        raise RowError(f"{where}: trim = {_mm(trim)} leaves nothing of a sheet of {_sizes(sheet)}: use less.")
    if not isinstance(job["parts"], list):
        raise RowError(f"{where}: parts has to be a list of parts.")
    parts = tuple(_part(one, f"{where}: parts[{number}]") for number, one in enumerate(job["parts"]))
    if sum(one.quantity for one in parts) > MOST_SAWN:
        raise RowError(f"{where} has more than {MOST_SAWN:,} parts: write fewer.")
    found = Job(sheet, kerf, trim, parts)
    stock, _ = _stock(found)
    for part in parts:
        if _fits(part, stock, kerf):
            continue
        grain = "" if part.turns else ", its grain fixed,"
        raise RowError(
            f'{where}: part "{part.name}" of {_sizes((part.width, part.height))}{grain} is larger than what trim leaves'
            f" of a sheet, {_sizes(found.usable)}: make it smaller or use a larger sheet."
        )
    return found


def _part(data: Any, where: str) -> Wanted:
    part = object_of(data, where, {"name", "size", "quantity", "grain"}, ())
    if not isinstance(part["name"], str):
        raise RowError(f"{where}.name has to be a text.")
    quantity = part["quantity"]
    if isinstance(quantity, bool) or not isinstance(quantity, int) or not 0 <= quantity <= MOST_SAWN:
        raise RowError(f"{where}.quantity has to be a whole number from 0 to {MOST_SAWN}.")
    if part["grain"] not in ("fixed", "either"):
        raise RowError(f'{where}.grain has to be "fixed" or "either".')
    return Wanted(part["name"], *_size(part["size"], f"{where}.size"), quantity, part["grain"] == "either")


def _size(data: Any, where: str) -> tuple[float, float]:
    if not isinstance(data, list) or len(data) != 2:
        raise RowError(f"{where} has to be [width, height] in mm.")
    width, height = (number_of(one, where, above=0) for one in data)
    return width, height


def _mm(length: float) -> str:
    return format_given(length, "mm")


def _sizes(size: Sequence[float]) -> str:
    return " × ".join(_mm(one) for one in size)


def lay_out(job: Job, go_on: Callable[[], bool] | None = None) -> Layout:
    """Parts on as few sheets as are found; the same for the same job, as long as nobody is asked whether to go on.

    Parameters
    ----------
    go_on : asked before each further attempt to find fewer; by default there are only so many
    """
    stock, kinds = _stock(job)
    sheets, bound = laid_out(stock, go_on)
    waiting: list[list[Wanted]] = [[one for one in kind for _ in range(one.quantity)] for kind in kinds]
    placements: list[Placement] = []
    cuts: list[Cut] = []
    for number, sheet in enumerate(sheets, 1):
        for step in _sawn(sheet, stock, job, number):
            if isinstance(step, Cut):
                cuts.append(step)
                continue
            x, y, kind, turned = step
            part = waiting[kind].pop(0)
            width, height = stock.sizes[kind] if not turned else stock.sizes[kind][::-1]
            as_drawn = (width, height) == _grown(part, job.kerf)
            size = (part.width, part.height) if as_drawn else (part.height, part.width)
            placements.append(Placement(number, part.name, x, y, *size, not as_drawn))
    return Layout(len(sheets), bound, tuple(placements), tuple(cuts))


def _grown(part: Wanted, kerf: float) -> tuple[int, int]:
    saw = units_within(kerf)
    return units_within(part.width) + saw, units_within(part.height) + saw


def _fits(part: Wanted, stock: Stock, kerf: float) -> bool:
    width, height = _grown(part, kerf)
    ways = [(width, height), (height, width)] if part.turns else [(width, height)]
    return any(one <= stock.width and two <= stock.height for one, two in ways)


def _stock(job: Job) -> tuple[Stock, list[list[Wanted]]]:
    """The sheet and the kinds of parts, and whose each kind is."""
    kinds: dict[tuple[int, int, bool], list[Wanted]] = {}
    for part in job.parts:
        width, height = _grown(part, job.kerf)
        turns = part.turns and width != height
        if turns and width < height:
            width, height = height, width
        kinds.setdefault((width, height, turns), []).append(part)
    saw = units_within(job.kerf)
    wide, high = (units_around(one) + saw for one in job.usable)
    counts = np.array([sum(one.quantity for one in kind) for kind in kinds.values()], dtype=np.intp)
    sizes = tuple((width, height) for width, height, _ in kinds)
    return Stock(wide, high, sizes, counts, tuple(turns for *_, turns in kinds)), list(kinds.values())


def _sawn(
    sheet: Block, stock: Stock, job: Job, number: int
) -> Iterator[Cut | tuple[float, float, int, bool]]:
    """The cuts of a sheet in order, each before those of the pieces that it makes, and parts where they come loose.

    What is left over comes off in one piece: across a row of blocks before these are parted.
    """
    saw = units_within(job.kerf)

    def place(at: int) -> float:
        return round(job.trim + at * UNIT, _DECIMALS)

    def cut(axis: Literal["x", "y"], at: int, x: int, y: int, wide: int, high: int) -> Cut:
        width, height = (round((one - saw) * UNIT, _DECIMALS) for one in (wide, high))
        return Cut(number, (place(x), place(y), width, height), axis, place(at - saw))

    waiting = [(sheet, 0, 0, stock.width, stock.height)]
    while waiting:
        block, x, y, wide, high = waiting.pop()
        if block.kind != BESIDE and wide > block.width:
            yield cut("x", x + block.width, x, y, wide, high)
            wide = block.width
        if block.kind != ABOVE and high > block.height:
            yield cut("y", y + block.height, x, y, wide, high)
            high = block.height
        one, two = block.first, block.second
        if not isinstance(one, Block) or two is None:
            assert isinstance(one, int)
            yield place(x), place(y), one, block.turned
        elif block.kind == BESIDE:
            yield cut("x", x + one.width, x, y, wide, high)
            waiting.append((two, x + one.width, y, wide - one.width, high))
            waiting.append((one, x, y, one.width, high))
        else:
            yield cut("y", y + one.height, x, y, wide, high)
            waiting.append((two, x, y + one.height, wide, high - one.height))
            waiting.append((one, x, y, wide, one.height))
