"""Rectangles put together by through cuts: what all searches build, and what they take it from.

The kerf needs no room of its own here: with every part and the sheet grown by one kerf on two sides, parts lie edge to
edge exactly where they can be sawn apart (n parts of width w come out of W if n(w + k) <= W + k). All lengths are grown
in this way and whole numbers of `UNIT`, so that sums of them are exact.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np

from ..sizes.arrays import Ints

UNIT: Final = 1e-9
"""mm; what a length is counted in. Far below what any rule reads, and 2000 parts side by side stay within 2e-6 mm."""

PART: Final = 0
BESIDE: Final = 1
ABOVE: Final = 2


class Block(NamedTuple):
    """A part, or two blocks and the through cut between them; its size is what both need.

    `kind` is PART (`first` is the number of its kind, `turned` whether it lies turned), BESIDE (`first` left of
    `second`) or ABOVE (`first` below `second`).
    """

    width: int
    height: int
    kind: int
    first: Block | int
    second: Block | None = None
    turned: bool = False


def beside(left: Block, right: Block) -> Block:
    """Two blocks with a cut between them that runs from bottom to top."""
    return Block(left.width + right.width, max(left.height, right.height), BESIDE, left, right)


def above(lower: Block, upper: Block) -> Block:
    """Two blocks with a cut between them that runs from left to right."""
    return Block(max(lower.width, upper.width), lower.height + upper.height, ABOVE, lower, upper)


def row(blocks: Sequence[Block]) -> Block:
    """Blocks side by side, the first on the left."""
    found = blocks[0]
    for one in blocks[1:]:
        found = beside(found, one)
    return found


def stack(blocks: Sequence[Block]) -> Block:
    """Blocks one above the other, the first at the bottom."""
    found = blocks[0]
    for one in blocks[1:]:
        found = above(found, one)
    return found


def kinds_in(block: Block) -> Iterable[int]:
    """The kinds of the parts in a block, once for each part."""
    waiting = [block]
    while waiting:
        one = waiting.pop()
        if isinstance(one.first, Block):
            waiting.append(one.first)
            if one.second is not None:
                waiting.append(one.second)
        else:
            yield one.first


@dataclass(frozen=True)
class Stock:
    """A sheet and kinds of parts, grown by the kerf, in units.

    Parameters
    ----------
    sizes : width and height of each kind as drawn
    counts : (K,) how many of each
    turns : whether a kind may be turned and would lie otherwise then
    """

    width: int
    height: int
    sizes: tuple[tuple[int, int], ...]
    counts: Ints
    turns: tuple[bool, ...]

    @property
    def area(self) -> float:
        """Of the sheet."""
        return float(self.width) * float(self.height)

    def ways(self, kind: int) -> list[Block]:
        """A part of this kind in each way that it may lie on the sheet."""
        width, height = self.sizes[kind]
        found = [Block(width, height, PART, kind)]
        if self.turns[kind]:
            found.append(Block(height, width, PART, kind, turned=True))
        return [one for one in found if one.width <= self.width and one.height <= self.height]

    def used(self, block: Block) -> Ints:
        """(K,) how many parts of each kind a block holds."""
        return np.bincount(np.fromiter(kinds_in(block), np.intp), minlength=len(self.sizes)).astype(np.intp)


def units_within(mm: float) -> int:
    """A part's length or a kerf in units, never more than it is (but for what float64 adds)."""
    return math.floor(mm / UNIT + 1e-2)


def units_around(mm: float) -> int:
    """A sheet's length in units, never less than it is (but for what float64 adds)."""
    return math.ceil(mm / UNIT - 1e-2)
