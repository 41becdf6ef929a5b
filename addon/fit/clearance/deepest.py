"""Where on a straight move a body stands deepest in another one."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from ...model.tolerances import ANGLE, CONTACT, WELD
from .separation import every_gap

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from .polytope import Polytope

    Floats = NDArray[np.float64]


class Deepest(NamedTuple):
    """The deepest contact on a move.

    Parameters
    ----------
    depth : mm; the shortest move that takes both bodies apart there
    first, last : shares of the move between which it is that deep, 0 … 1
    """

    depth: float
    first: float
    last: float


def deepest_contact(a: Polytope, travel: Floats, b: Polytope) -> Deepest | None:
    """Where A overlaps B by the most on a straight move, or None where they do not overlap by more than `CONTACT`.

    The gap along each direction of `signed_distance` is linear in the share of the move done, and the signed distance
    of bodies that overlap is the largest of them: a convex function made of straight pieces. Its lowest point is where
    the steepest falling piece met so far crosses the steepest rising one, until no gap is larger there: each step
    drops a piece for good, so the steps end, and the result is exact.

    Parameters
    ----------
    travel : (3,) float, mm; may be zero
    """
    axes, gaps = every_gap(a, b)
    rates = -(axes @ travel)
    rates[np.abs(rates) <= ANGLE * float(np.sqrt(travel @ travel))] = 0.0
    share = _lowest(gaps, rates)
    level = float((gaps + rates * share).max())
    if level >= -CONTACT:
        return None
    slack = level + WELD - gaps
    falling, rising = rates < 0, rates > 0
    first = max(0.0, float((slack[falling] / rates[falling]).max(initial=0.0)))
    last = min(1.0, float((slack[rising] / rates[rising]).min(initial=1.0)))
    return Deepest(-level, min(first, share), max(last, share))


def _lowest(gaps: Floats, rates: Floats) -> float:
    """Where between 0 and 1 the largest of all lines gap + rate·s is least."""
    low, high = 0.0, 1.0
    left, right = _steepest(gaps, rates, low), _steepest(gaps, rates, high)
    if rates[left] >= 0:
        return low
    if rates[right] <= 0:
        return high
    share = low
    for _ in range(len(gaps)):
        share = float((gaps[right] - gaps[left]) / (rates[left] - rates[right]))
        top = int((gaps + rates * share).argmax())
        if gaps[top] + rates[top] * share <= gaps[left] + rates[left] * share + WELD / 1000:
            return min(max(share, low), high)
        if rates[top] == 0:
            return share
        left, right = (top, right) if rates[top] < 0 else (left, top)
    return share


def _steepest(gaps: Floats, rates: Floats, share: float) -> int:
    """The highest line at a place; of several, at the start the flattest, elsewhere the steepest fall."""
    heights = gaps + rates * share
    highest = np.flatnonzero(heights >= heights.max() - WELD / 1000)
    order = rates[highest] if share == 0.0 else -rates[highest]
    return int(highest[order.argmax()])
