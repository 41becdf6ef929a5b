"""Sheets without any waste: blocks put together only where their sides are equal.

A through-cut layout without waste has, below each cut, two blocks with a side in common; so that all of them come of
single parts by joining along equal sides (Wang 1983 with no waste allowed, from memory). With measured lengths equal
sides are rare, and there are few such blocks in all. Which full sheets have no part twice is an exact cover, by trying.
"""

from __future__ import annotations

import heapq
from collections import defaultdict
from typing import Final

import numpy as np

from ..sizes.arrays import Ints
from .blocks import Block, Stock, above, beside

_SLACK: Final = 4096
"""Units by which sides may differ and count as equal: what the last digits of lengths add up to, 4e-6 mm."""

_SHIFT: Final = 12
_MOST_TRIES: Final = 100_000
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
    goal = int(left @ np.array([float(w) * h for w, h in stock.sizes]) / stock.area + 0.5)
    best: list[int] = []
    chosen: list[int] = []
    tries = 0

    def choose(start: int, used: int) -> None:
        nonlocal best, tries
        if len(chosen) > len(best):
            best = list(chosen)
        for number in range(start, len(full)):
            tries += 1
            if tries > _MOST_TRIES or len(best) == goal:
                return
            if counting.there(used + full[number][0]):
                chosen.append(number)
                choose(number, used + full[number][0])
                chosen.pop()

    choose(0, 0)
    return [full[number][1] for number in best]


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
    return list(full.items())
