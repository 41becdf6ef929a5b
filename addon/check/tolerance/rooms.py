"""The greatest room of leaves among given edges, many at once: tangents of a concave function, to the last digit.

      #####        #####
      -----        -----    upper edges: z = high at x = high_x         slope s of the leaf, tried by tangents
     =====================  lower edge of the leaf z = c + s·x          until no more room can be above them
      -----        -----    lower edges
      #####        #####

A leaf whose lower edge is z = c + s·x, of thickness t, has the room

    g(s) = min(upper - s·x) - max(lower - s·x) - t·sqrt(1 + s²)

over all edges; g is concave, and where two tangents cross lies above its greatest value. One column of the arrays is
one leaf, so that thousands of random tables take each step together; those that are done drop out.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from ...sizes.arrays import Bools, Floats

EXACT: Final = 1e-10
"""mm; a greatest room is found when tangents leave no more above it."""

WIDEST: Final = 0.5
"""Slope between whose signs the greatest room is looked for; leaves that lean so much are none of this module's."""

_STEPS: Final = 60

_FEW: Final = 50_000
"""Numbers that are gone through at once; of more, one edge after the other, in the processor's cache."""


@dataclass(frozen=True, eq=False)
class Edges:
    """Edges that hold leaves together, one column a leaf.

    Attributes
    ----------
    low, high : (places, n) float, mm; heights of wood below and above
    low_x, high_x : (places, n) float, mm; where
    thickness : (n,) float, mm
    """

    low: Floats
    low_x: Floats
    high: Floats
    high_x: Floats
    thickness: Floats

    def __getitem__(self, columns: NDArray[np.intp]) -> Edges:
        return Edges(
            self.low[:, columns],
            self.low_x[:, columns],
            self.high[:, columns],
            self.high_x[:, columns],
            self.thickness[columns],
        )

    def room(self, slope: Floats) -> tuple[Floats, Floats]:
        """g and its derivative at slopes (n,) float; (n,) float each, mm."""
        low, low_x = _extreme(self.low, self.low_x, slope, np.greater)
        high, high_x = _extreme(self.high, self.high_x, slope, np.less)
        secant = np.sqrt(1 + slope * slope)
        return high - low - self.thickness * secant, low_x - high_x - self.thickness * slope / secant


def _extreme(edge: Floats, x: Floats, slope: Floats, better: np.ufunc) -> tuple[Floats, Floats]:
    """The tightest of the edges less slope·x, and where it is."""
    if edge.size < _FEW:
        values = edge - slope * x
        place = values.argmax(axis=0) if better is np.greater else values.argmin(axis=0)
        each = np.arange(values.shape[1])
        return values[place, each], x[place, each]
    value, at = edge[0] - slope * x[0], x[0]
    for other, other_x in zip(edge[1:], x[1:], strict=True):
        new = other - slope * other_x
        tighter = better(new, value)
        value, at = np.where(tighter, new, value), np.where(tighter, other_x, at)
    return value, at


def widest(edges: Edges) -> tuple[Floats, Floats]:
    """Greatest room and the slope with it: (n,) float each, mm. Infinite room where one side has no edge."""
    count = len(edges.thickness)
    if not len(edges.low) or not len(edges.high):
        return np.full(count, np.inf), np.zeros(count)
    room, slope = np.empty(count), np.empty(count)
    left, right = np.full(count, -WIDEST), np.full(count, WIDEST)
    (at_left, up), (at_right, down) = edges.room(left), edges.room(right)
    better = at_left > at_right
    room[:], slope[:] = np.where(better, at_left, at_right), np.where(better, left, right)
    waiting = np.flatnonzero((up > 0) & (down < 0))
    state = [one[waiting] for one in (left, at_left, up, right, at_right, down)]
    own = edges if len(waiting) == count else edges[waiting]
    for step in range(_STEPS):
        left, at_left, up, right, at_right, down = state
        crossing = (at_right - at_left + up * left - down * right) / (up - down)
        top = at_left + up * (crossing - left)
        open_still = (top > room[waiting] + EXACT) & (crossing > left) & (crossing < right)
        if not open_still.any():
            break
        if open_still.sum() < 0.7 * len(waiting):
            keep = np.flatnonzero(open_still)
            waiting, own, crossing = waiting[keep], own[keep], crossing[keep]
            state = [one[keep] for one in state]
            left, at_left, up, right, at_right, down = state
        # Now and then a halving, for the curved part, where tangents creep.
        new = crossing if step % 5 != 4 else (left + right) / 2
        value, turn = own.room(new)
        higher = value > room[waiting]
        room[waiting], slope[waiting] = (
            np.where(higher, value, room[waiting]),
            np.where(higher, new, slope[waiting]),
        )
        rising = turn > 0
        state = [
            np.where(rising, new, left), np.where(rising, value, at_left), np.where(rising, turn, up),
            np.where(rising, right, new), np.where(rising, at_right, value), np.where(rising, down, turn),
        ]  # fmt: skip
    return room, slope


def tighten(edges: Edges, room: Floats, slope: Floats) -> Bools:
    """Where edges leave less room than there was: less it is, with its slope. Returns where, (n,) bool.

    Most often the slope that had the most room shows that these edges leave no less.
    """
    if not len(edges.low) or not len(edges.high):
        return np.zeros(len(room), dtype=bool)
    less = np.zeros(len(room), dtype=bool)
    columns = np.flatnonzero(edges.room(slope)[0] < room)
    new, its_slope = widest(edges if len(columns) == len(room) else edges[columns])
    tighter = new < room[columns]
    columns = columns[tighter]
    room[columns], slope[columns], less[columns] = new[tighter], its_slope[tighter], True
    return less
