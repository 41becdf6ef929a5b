"""How many sheets parts need at least, however they are laid out: proved, not tried.

A dual-feasible function f takes shares of a length to numbers such that whatever fits side by side in the whole adds up
to no more than f(whole) = 1. With one along each axis, f(w) g(h) is an area of the part for which the same holds on a
sheet (Fekete and Schepers 2001, "New classes of fast lower bounds for bin packing problems", Mathematical Programming
91, from memory): the sum over all parts, rounded up, is a bound. A part that may be turned counts with the smaller of
its two areas.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from ..sizes.arrays import Floats
from .blocks import Stock

_MOST_STEPS: Final = 80
"""Values of a parameter that are tried along an axis: of functions with one, more seldom add to the bound."""

_MOST_ROUNDED: Final = 12
"""Divisors that the rounding function is tried with: 13ths of a sheet are small parts, which area says enough of."""

_DOUBT: Final = 1e-9
"""What float64 may have added to a sum of shares; taken off before it is rounded up."""

_MOST_AT_ONCE: Final = 4_000_000
"""Numbers held at once, 32 MB."""


def least_sheets(stock: Stock) -> int:
    """A number of sheets below which the parts cannot be sawn out, by any cuts."""
    if not stock.counts.sum():
        return 0
    ways = [stock.ways(kind) for kind in range(len(stock.sizes))]
    first = [(one[0].width, one[0].height) for one in ways]
    last = [(one[-1].width, one[-1].height) for one in ways]
    along = _functions(stock.width, [w for w, _ in first] + [w for w, _ in last])
    across = _functions(stock.height, [h for _, h in first] + [h for _, h in last])
    kinds = len(first)
    most = 0.0
    step = max(1, _MOST_AT_ONCE // (len(across) * kinds))
    for begin in range(0, len(along), step):
        some = along[begin : begin + step, None, :]
        shares = np.minimum(some[..., :kinds] * across[:, :kinds], some[..., kinds:] * across[:, kinds:])
        most = max(most, float((shares @ stock.counts).max()))
    return max(1, math.ceil(most - _DOUBT))


def _functions(whole: int, lengths: list[int]) -> Floats:
    """(F, L) shares of lengths by each dual-feasible function, in exact whole numbers up to the last division.

    The identity; what is small left out and what is large counted whole (Martello and Vigo 1998, Fekete and Schepers
    2001, U(e)); rounded to kths (Fekete and Schepers, u(k)); rounded to multiples of a length, both from the part and
    from what it leaves (Carlier, Clautiaux and Moukrim 2007, f2; all from memory).
    """
    found = [[length / whole for length in lengths]]
    steps = sorted({min(one, whole - one) for one in lengths} | {whole // 2})
    steps = [one for one in steps if 0 < one <= whole // 2]
    steps = steps[:: -(-len(steps) // _MOST_STEPS)] if steps else []
    for least in steps:
        for edge in (least, least + 1):  # parts of just this length in or out
            if 2 * edge <= whole + 1:
                found.append([_without_small(length, edge, whole) for length in lengths])
        found.append([_multiples(length, least, whole) for length in lengths])
        found.append([_multiples(length, least + 1, whole) for length in lengths])
    for parts in range(1, _MOST_ROUNDED + 1):
        found.append([_rounded(length, parts, whole) for length in lengths])
    return np.unique(np.array(found, dtype=np.float64), axis=0)


def _without_small(length: int, least: int, whole: int) -> float:
    if length > whole - least:
        return 1.0
    return length / whole if length >= least else 0.0


def _rounded(length: int, parts: int, whole: int) -> float:
    share, rest = divmod((parts + 1) * length, whole)
    return share / parts if rest else length / whole


def _multiples(length: int, step: int, whole: int) -> float:
    most = whole // step
    if not most:
        return 0.0
    if 2 * length > whole:
        return (most - (whole - length) // step) / most
    return (most / 2 if 2 * length == whole else length // step) / most
