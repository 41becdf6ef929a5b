"""One sheet as full as can be: blocks put together from the parts up, the best of them kept at each step.

Any through-cut layout is made by putting two blocks side by side or one above the other, again and again (Wang 1983,
"Two algorithms for constrained two-dimensional cutting stock problems", Operations Research 31, from memory). Wang
keeps all blocks with little waste; here only so many are kept, those with the least waste first (a beam). Blocks
without any waste are among them, so that sheets that leave none are found as long as there are not too many.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from ..sizes.arrays import Floats, Ints
from .blocks import Block, Stock, above, beside

_LEAST_FULL: Final = 0.75
"""Share of a block that is parts; of emptier ones nothing comes that boxes filled one by one do not find."""

_MOST_PAIRS: Final = 60_000
_LEVELS: Final = 12
_SHOWN: Final = 4

_PRIMES: Final = (np.uint64(0x9E3779B97F4A7C15), np.uint64(0xC2B2AE3D27D4EB4F))


@dataclass(frozen=True)
class _Pool:
    """Blocks as arrays (B,), `counts` (B, K) of the kinds that are left; `key` tells what parts a block has."""

    width: Ints
    height: Ints
    counts: Ints
    area: Floats
    value: Floats
    key: np.ndarray
    blocks: list[Block]

    def take(self, rows: Ints) -> _Pool:
        return _Pool(
            self.width[rows],
            self.height[rows],
            self.counts[rows],
            self.area[rows],
            self.value[rows],
            self.key[rows],
            [self.blocks[row] for row in rows],
        )


def _joined(one: _Pool, two: _Pool) -> _Pool:
    return _Pool(
        np.concatenate([one.width, two.width]),
        np.concatenate([one.height, two.height]),
        np.concatenate([one.counts, two.counts]),
        np.concatenate([one.area, two.area]),
        np.concatenate([one.value, two.value]),
        np.concatenate([one.key, two.key]),
        one.blocks + two.blocks,
    )


def full_blocks(
    stock: Stock, left: Ints, values: Floats, kept: int, rng: np.random.Generator, noise: float = 0.0
) -> list[Block]:
    """Blocks that fit on the sheet and hold the most value of the parts that are left, the best first.

    Parameters
    ----------
    left : (K,) how many of each kind there are
    values : (K,) of a part of each kind
    kept : how many blocks are kept at each step
    noise : by how much the order in which they are kept is random, as a share of a block
    """
    kinds = np.flatnonzero(left)
    pool = _single(stock, kinds, values, rng)
    if not pool.blocks:
        return []
    least = int(min(pool.width.min(), pool.height.min()))
    leaves = pool
    have = left[kinds]
    best = _best(pool)
    old, new = pool.take(np.arange(0)), pool
    for _ in range(_LEVELS):
        found = _grown(stock, _joined(old, new), len(old.blocks), have, least, kept)
        if not found.blocks:
            break
        best = _best(_joined(best, found))
        every = _joined(_joined(old, new), found)
        is_new = np.arange(len(every.blocks)) >= len(every.blocks) - len(found.blocks)
        marks = (
            every.key
            + every.width.astype(np.uint64) * _PRIMES[0]
            + every.height.astype(np.uint64) * _PRIMES[1]
        )
        first = np.unique(marks, return_index=True)[1]
        worth = _worth(stock, every, least)[first] + noise * rng.standard_normal(len(first))
        worth[first < len(leaves.blocks)] = np.inf  # single parts stay
        rows = first[np.argsort(-worth, kind="stable")[: kept + len(leaves.blocks)]]
        rows.sort()
        old, new = every.take(rows[~is_new[rows]]), every.take(rows[is_new[rows]])
        if not new.blocks:
            break
    return best.blocks


def _single(stock: Stock, kinds: Ints, values: Floats, rng: np.random.Generator) -> _Pool:
    marks = rng.integers(1, 2**63, size=len(kinds), dtype=np.uint64)
    blocks, rows = [], []
    for number, kind in enumerate(kinds):
        for way in stock.ways(int(kind)):
            blocks.append(way)
            rows.append(number)
    which = np.array(rows, dtype=np.intp)
    width = np.array([one.width for one in blocks], dtype=np.intp)
    height = np.array([one.height for one in blocks], dtype=np.intp)
    counts = np.eye(len(kinds), dtype=np.intp)[which]
    area = width.astype(np.float64) * height
    return _Pool(width, height, counts, area, values[kinds][which], marks[which], blocks)


def _best(pool: _Pool) -> _Pool:
    return pool.take(np.argsort(-pool.value, kind="stable")[:_SHOWN])


def _worth(stock: Stock, pool: _Pool, least: int) -> Floats:
    """Share of a block that is parts, what no part fits beside counted with it; large blocks before small ones."""
    size = _reach(pool.width, stock.width, least) * _reach(pool.height, stock.height, least)
    return pool.area / size + 0.05 * pool.area / stock.area


def _reach(length: Ints, whole: int, least: int) -> Floats:
    return np.where(whole - length < least, whole, length).astype(np.float64)


def _grown(stock: Stock, pool: _Pool, old: int, have: Ints, least: int, kept: int) -> _Pool:
    """All pairs of blocks of which one is new (from number `old` on), as long as there are parts for both."""
    width, height = pool.width[:, None], pool.height[:, None]
    area = pool.area[:, None] + pool.area[None, old:]
    single = have == 1
    some = pool.counts[:, single].astype(np.float32)
    apart = some @ some[old:].T == 0
    found = []
    for across in (False, True):
        wide = np.maximum(width, width[old:].T) if across else width + width[old:].T
        high = height + height[old:].T if across else np.maximum(height, height[old:].T)
        fits = apart & (wide <= stock.width) & (high <= stock.height)
        one, two = np.nonzero(fits)
        size = _reach(wide[one, two], stock.width, least) * _reach(high[one, two], stock.height, least)
        full = area[one, two] / size
        keep = full >= _LEAST_FULL
        if keep.sum() > _MOST_PAIRS:
            keep &= full >= np.partition(full, -_MOST_PAIRS)[-_MOST_PAIRS]
        one, two, full = one[keep], two[keep] + old, full[keep]
        if not single.all():
            there = (pool.counts[one][:, ~single] + pool.counts[two][:, ~single] <= have[~single]).all(axis=1)
            one, two, full = one[there], two[there], full[there]
        found.append((one, two, full, np.full(len(one), across)))
    one, two, full, across = (np.concatenate(list(some)) for some in zip(*found, strict=True))
    marks = (pool.key[one] + pool.key[two]) ^ (across.astype(np.uint64))
    full = full + 0.05 * (pool.area[one] + pool.area[two]) / stock.area
    order = np.argsort(-full, kind="stable")
    order = order[np.sort(np.unique(marks[order], return_index=True)[1])][: 2 * kept]
    one, two, across = one[order], two[order], across[order]
    blocks = [
        above(pool.blocks[i], pool.blocks[j]) if up else beside(pool.blocks[i], pool.blocks[j])
        for i, j, up in zip(one, two, across, strict=True)
    ]
    return _Pool(
        np.where(across, np.maximum(pool.width[one], pool.width[two]), pool.width[one] + pool.width[two]),
        np.where(across, pool.height[one] + pool.height[two], np.maximum(pool.height[one], pool.height[two])),
        pool.counts[one] + pool.counts[two],
        pool.area[one] + pool.area[two],
        pool.value[one] + pool.value[two],
        pool.key[one] + pool.key[two],
        blocks,
    )
