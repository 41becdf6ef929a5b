"""Sheets without any waste: blocks put together only where their sides are equal.

A through-cut layout without waste has, below each cut, two blocks with a side in common; so that all of them come of
single parts by joining along equal sides (Wang 1983 with no waste allowed, from memory). With measured lengths equal
sides are rare, and there are few such blocks in all. Which full sheets have no part twice is an exact cover, by trying.
"""

from __future__ import annotations

import heapq
from collections import defaultdict
from collections.abc import Callable
from typing import Final

import numpy as np

from ..sizes.arrays import Ints
from .blocks import Block, Stock, above, beside, row, stack

_SLACK: Final = 4096
"""Units by which sides may differ and count as equal: what the last digits of lengths add up to, 4e-6 mm."""

_SHIFT: Final = 12
_MOST_TRIES: Final = 2_000
_MOST_STRIPS: Final = 200_000
_MOST_FULL: Final = 500


def without_waste(stock: Stock, left: Ints, most: int, rng: np.random.Generator | None = None) -> list[Block]:
    """Sheets without waste from the parts that are left, as many at once as are found.

    Parameters
    ----------
    left : (K,) how many of each kind there are
    most : how many pairs of blocks are looked at
    rng : by whose chance blocks are looked at; by default the large ones first
    """
    counting = _Counting(left)
    full = _full_sheets(stock, left, counting, most, rng)
    has = np.array([stock.used(sheet) > 0 for _, sheet in full]).reshape(len(full), len(left))
    best: list[int] = []
    tries = 0

    def choose(chosen: list[int], used: int, some: Ints) -> bool:
        """Whether all parts are on sheets; the kind that fewest sheets have is what decides (Knuth 2000)."""
        nonlocal best, tries
        tries += 1
        if len(chosen) > len(best):
            best = chosen
        open_kinds = [kind for kind in range(len(left)) if counting.there(used + counting.one(kind))]
        if not open_kinds or tries > _MOST_TRIES:
            return not open_kinds
        some = np.array([one for one in some if counting.there(used + full[one][0])], dtype=np.intp)
        number = has[some].sum(axis=0)[open_kinds]
        if not number.any():
            return False
        kind = open_kinds[int(np.argmin(np.where(number > 0, number, len(full) + 1)))]
        return any(choose([*chosen, one], used + full[one][0], some) for one in some[has[some, kind]])

    choose([], 0, np.arange(len(full)))
    return [full[one][1] for one in best]


class _Counting:
    """Parts of each kind, counted in the bits of one whole number, so that sets of parts add up as numbers.

    Parameters
    ----------
    left : (K,) how many of each kind there are
    """

    def __init__(self, left: Ints) -> None:
        self.bits = int(2 * left.max(initial=1) + 1).bit_length() + 1
        top = 1 << (self.bits - 1)
        self.room = sum((top - 1 - int(count)) << (self.bits * kind) for kind, count in enumerate(left))
        self.over = sum(top << (self.bits * kind) for kind in range(len(left)))

    def one(self, kind: int) -> int:
        """A single part of a kind."""
        return 1 << (self.bits * kind)

    def there(self, parts: int) -> bool:
        """Whether there are as many of each kind; for two sets of which each is there, added."""
        return not (parts + self.room) & self.over


def _full_sheets(
    stock: Stock, left: Ints, counting: _Counting, most: int, rng: np.random.Generator | None
) -> list[tuple[int, Block]]:
    """Each set of parts that fills a sheet, once, and a sheet with it."""
    singles = [
        (counting.one(int(kind)), way) for kind in np.flatnonzero(left) for way in stock.ways(int(kind))
    ]
    least = min((min(way.width, way.height) for _, way in singles), default=0)
    by_width: dict[int, list[tuple[int, Block]]] = defaultdict(list)
    by_height: dict[int, list[tuple[int, Block]]] = defaultdict(list)
    waiting: list[tuple[float, int, int, Block]] = []
    seen: set[tuple[int, int, int]] = set()
    full: dict[int, Block] = {}
    upright: list[tuple[int, int, Block]] = []
    lying: list[tuple[int, int, Block]] = []

    def add(block: Block, parts: int) -> None:
        over_width, over_height = stock.width - block.width, stock.height - block.height
        mark = (block.width >> _SHIFT, block.height >> _SHIFT, parts)
        if min(over_width, over_height) < 0 or mark in seen:
            return
        if _SLACK < over_width < least or _SLACK < over_height < least:  # nothing fills what is beside it
            return
        seen.add(mark)
        if max(over_width, over_height) <= _SLACK:
            full.setdefault(parts, block)
            return
        if min(over_width, over_height) <= _SLACK:  # only strips like it can lie beside it
            columns = over_height <= _SLACK
            (upright if columns else lying).append((block.width if columns else block.height, parts, block))
            return
        worth = float(block.width) * block.height / stock.area
        by_chance = worth if rng is None else worth * rng.random()
        heapq.heappush(waiting, (-by_chance, len(seen), parts, block))

    for parts, way in singles:
        add(way, parts)
    looked = 0
    while waiting and looked < most and len(full) < _MOST_FULL:
        _, _, parts, block = heapq.heappop(waiting)
        by_width[block.width >> _SHIFT].append((parts, block))
        by_height[block.height >> _SHIFT].append((parts, block))
        for others, side, join in ((by_width, block.width, above), (by_height, block.height, beside)):
            for near in (-1, 0, 1):
                some = others.get((side >> _SHIFT) + near, ())
                looked += len(some)
                for more, other in some:
                    if not counting.there(parts + more):
                        continue
                    if abs(side - (other.width if join is above else other.height)) <= _SLACK:
                        add(join(block, other), parts + more)
    for strips, whole, join in ((upright, stock.width, row), (lying, stock.height, stack)):
        for parts, sheet in _strips_that_fill(strips, whole, counting, join):
            full.setdefault(parts, sheet)
    return list(full.items())


def _strips_that_fill(
    strips: list[tuple[int, int, Block]],
    whole: int,
    counting: _Counting,
    join: Callable[[list[Block]], Block],
) -> list[tuple[int, Block]]:
    """Sets of strips, all as long as the sheet, that are together as wide as it.

    Parameters
    ----------
    strips : width, parts and block of each
    whole : width of the sheet
    """
    strips = sorted(strips, key=lambda one: -one[0])
    least = strips[-1][0] if strips else 0
    found: dict[int, Block] = {}
    looked = 0

    def choose(start: int, rest: int, parts: int, chosen: list[Block]) -> None:
        nonlocal looked
        for number in range(start, len(strips)):
            looked += 1
            if looked > _MOST_STRIPS or len(found) >= _MOST_FULL:
                return
            width, more, block = strips[number]
            over = rest - width
            if over < 0 or _SLACK < over < least or not counting.there(parts + more):
                continue
            if over <= _SLACK:
                found.setdefault(parts + more, join([*chosen, block]))
            else:
                choose(number, over, parts + more, [*chosen, block])

    choose(0, whole, 0, [])
    return list(found.items())
