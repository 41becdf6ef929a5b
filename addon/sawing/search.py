"""Layouts on as few sheets as can be found: first quickly, then sheet by sheet, then parts of it again and again."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Final

import numpy as np

from ..sizes.arrays import Floats, Ints
from .blocks import Block, Stock
from .bound import least_sheets
from .filling import Taste, fill, shelves
from .patterns import full_blocks
from .perfect import without_waste

_SEED: Final = 1977
_QUICK_TRIES: Final = 24
_ROUNDS: Final = 3
_MOST_WORK: Final = 2_500
"""Sheets times kinds of parts of all rounds together in which sheets are filled as well as can be without being asked
to search; beyond, boxes are filled one by one."""

_NO_WASTE: Final = 1e-7
"""Share of a sheet that may be left over where a layout on so few sheets is one without waste."""

_JOINED: Final = 500_000
_JOINED_SEARCHING: Final = 4_000_000
"""Pairs of blocks without waste that are looked at."""

_KEPT: Final = 200
_KEPT_SEARCHING: Final = (100, 200, 400, 800)


def laid_out(stock: Stock, go_on: Callable[[], bool] | None = None) -> tuple[list[Block], int]:
    """Sheets with all parts on as few as are found, and a number below which there are none.

    Parameters
    ----------
    go_on : asked before each further attempt; by default there are only so many, and none by the clock
    """
    bound = least_sheets(stock)
    if not bound:
        return [], 0
    best: list[Block] = []
    for found in _attempts(stock, go_on):
        if not best or _order(stock, found) < _order(stock, best):
            best = found
        if len(best) == bound or (go_on is not None and not go_on()):
            break
    return best, bound


def _order(stock: Stock, sheets: list[Block]) -> tuple[int, float]:
    """Fewer sheets before more, then full ones beside empty ones, which are the next to go."""
    return len(sheets), -sum(_full(stock, one) ** 2 for one in sheets)


def _full(stock: Stock, sheet: Block) -> float:
    """Share of the sheet that is parts."""
    return float(stock.used(sheet) @ _areas(stock)) / stock.area


def _areas(stock: Stock) -> Floats:
    return np.array([float(width) * height for width, height in stock.sizes])


def _attempts(stock: Stock, go_on: Callable[[], bool] | None) -> Iterator[list[Block]]:
    rng = np.random.default_rng(_SEED)
    areas = _areas(stock)
    best: list[Block] = []

    def better(found: list[Block]) -> list[Block]:
        return found if not best or _order(stock, found) <= _order(stock, best) else best

    def well(left: Ints) -> Block | None:
        return _well_filled(stock, left, values, kept, rng, noise)

    for upright in (False, True):
        for lying in (False, True):
            best = better(shelves(stock, upright, lying))
            yield best
    kinds = len(stock.sizes)
    for number in range(_QUICK_TRIES if kinds <= 100 else 4 if kinds <= 400 else 1):
        taste = Taste(_varied(areas, stock.area, rng, number), (0.1, 0.5, 2.0)[number % 3], number % 2 == 1)
        best = better(_one_by_one(stock, stock.counts, lambda left, taste=taste: fill(stock, left, taste)))
        yield best
    values, kept, noise = areas, _KEPT, 0.0
    rest = float(areas @ stock.counts) / stock.area
    no_waste = -_NO_WASTE < round(rest) - rest < _NO_WASTE * len(best)
    if no_waste:
        whole = without_waste(stock, stock.counts, _JOINED)
        best = better(_completed(stock, whole, well))
        yield best
    rounds = 0
    while go_on is not None or (rounds < _ROUNDS and len(best) * kinds * (rounds + 1) <= _MOST_WORK):
        kept = _KEPT if go_on is None else int(rng.choice(_KEPT_SEARCHING))
        values = _varied(areas, stock.area, rng, rounds)
        noise = 0.0 if rounds < _ROUNDS else float(rng.choice((0.0, 0.003, 0.03)))
        again = rounds >= _ROUNDS and len(best) > 2 and rng.random() < 0.8
        some = _released(stock, best, rng) if again else list(range(len(best)))
        stay = [one for number, one in enumerate(best) if number not in some]
        if no_waste and rounds % 4 == 3:
            left = stock.counts - _used(stock, stay)
            stay += without_waste(stock, left, _JOINED_SEARCHING, rng)
        best = better(_completed(stock, stay, well))
        yield best
        rounds += 1


def _used(stock: Stock, sheets: list[Block]) -> Ints:
    return sum((stock.used(one) for one in sheets), np.zeros_like(stock.counts))


def _completed(stock: Stock, sheets: list[Block], fill_one: Callable[[Ints], Block | None]) -> list[Block]:
    """Some sheets, and others for the parts that are not on them."""
    return sheets + _one_by_one(stock, stock.counts - _used(stock, sheets), fill_one)


def _varied(areas: Floats, sheet: float, rng: np.random.Generator, number: int) -> Floats:
    """What parts are worth: their area, large ones more than that, and all but the first times by chance."""
    if number == 0:
        return areas
    values = areas * (1 + rng.uniform(0, 1) * areas / sheet)
    return values * (1 + rng.choice((0.0, 0.05, 0.3)) * rng.uniform(-1, 1, len(areas)))


def _released(stock: Stock, sheets: list[Block], rng: np.random.Generator) -> list[int]:
    """The emptiest sheet and one to three others, whose parts are laid out again."""
    emptiest = int(np.argmin([_full(stock, one) for one in sheets]))
    others = [one for one in range(len(sheets)) if one != emptiest]
    count = min(len(others), int(rng.integers(1, 4)))
    return [emptiest, *(int(one) for one in rng.choice(others, count, replace=False))]


def _one_by_one(stock: Stock, left: Ints, fill_one: Callable[[Ints], Block | None]) -> list[Block]:
    """Sheets filled one after the other until no part is left; a layout is used as often as there are parts for it."""
    found = []
    left = left.copy()
    while left.any():
        sheet = fill_one(left)
        if sheet is None:  # a part that no sheet takes, which is refused before
            raise AssertionError("a part does not fit")
        used = stock.used(sheet)
        times = int((left[used > 0] // used[used > 0]).min())
        found += [sheet] * times
        left -= times * used
    return found


def _well_filled(
    stock: Stock, left: Ints, values: Floats, kept: int, rng: np.random.Generator, noise: float
) -> Block | None:
    taste = Taste(values)
    best, most = fill(stock, left, taste), -1.0
    if best is None:
        return None
    if (stock.used(best) == left).all():
        return best
    most = float(stock.used(best) @ values)
    for start in full_blocks(stock, left, values, kept, rng, noise):
        sheet = fill(stock, left - stock.used(start), taste, start)
        if sheet is not None:
            value = float(stock.used(sheet) @ values)
            if value > most:
                best, most = sheet, value
    return best
