"""A row ready for many random tables at once: its fit margin, tilted as well as may be, and its level clearance.

    deviations (used, n)  --linear maps-->  x and z of each station (places, n)  --tangents-->  room (n,)

What can hold the leaf together was found once, on the row as drawn (`holds`). In each random table the same stations
stand a little elsewhere, by a linear map of its deviations; the smallest room of all sets is that of the table. Where
this is not all of it, because the leaf leans more than was looked at or a corner of it stands on a land, the proof of
the row itself decides.

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

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from ...sizes.arrays import Bools, Floats
from ...sizes.tolerances import WELD
from ..row.profile import Row, profiles
from ..row.proof import fit_stances
from ..row.stances import Stances
from .holds import Holds, Lands, Station, holds_of, lands_of
from .model import RowModel

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


_AT_ONCE: Final = 256
"""Rows that are proven together."""

_LOOKS: Final = 41
"""Slopes that are looked at for the higher of two summits."""

_CLOSER: Final = 11
_TIMES: Final = 6
"""So many slopes, closer together each time, so many times."""

_TILTED: Final = 0.25
"""Share of the slope looked at beyond which a leaf as drawn is tilted."""


@dataclass(frozen=True, eq=False)
class Moved:
    """How deviations of n tables move a row; mm.

    Attributes
    ----------
    height : (lands, n) float; where the lands are then
    ends : (2, lands + 1, n) float; by how much their starts and ends have moved; the last ones are 0
    length, thickness : (n,) float; by how much the leaf is longer, and how thick it is
    """

    height: Floats
    ends: Floats
    length: Floats
    thickness: Floats


@dataclass(frozen=True, eq=False)
class Places:
    """A set of stations as linear maps of the row's deviations; mm.

    Attributes
    ----------
    side : (places,) int; -1 for wood below, +1 for wood above
    x, z : (places,) float, as drawn
    x_off, z_off : (places, used) float; change per mm of each deviation
    land : (places,) int
    with_land, with_end : (places,) int; the land with whose start (0) or end (1) they move
    with_length : (places,) float; how much of the leaf's length they move with, -1, 0 or 1
    """

    side: NDArray[np.intp]
    x: Floats
    z: Floats
    x_off: Floats
    z_off: Floats
    land: NDArray[np.intp]
    with_land: NDArray[np.intp]
    with_end: NDArray[np.intp]
    with_length: Floats

    def edges(self, moved: Moved) -> Edges:
        """Where the stations are then."""
        low, high = np.flatnonzero(self.side < 0), np.flatnonzero(self.side > 0)
        (low_z, low_x), (high_z, high_x) = (
            (moved.height[self.land[own]], self._x(moved, own)) for own in (low, high)
        )
        return Edges(low_z, low_x, high_z, high_x, moved.thickness)

    def _x(self, moved: Moved, own: NDArray[np.intp]) -> Floats:
        x = self.x[own, None] + moved.ends[self.with_end[own], self.with_land[own]]
        if self.with_length[own].any():
            x += self.with_length[own, None] * moved.length
        return x


def places_of(model: RowModel, lands: Lands, stations: tuple[Station, ...]) -> Places:
    """The linear maps of a set of stations."""
    numbers = np.array([one.land for one in stations], dtype=np.intp)
    moves = [_moves_with(one, len(lands.side)) for one in stations]
    land, end, length = np.array(moves).reshape(-1, 3).T
    nothing = np.zeros((1, len(model.used)))
    ends_off = np.stack([np.concatenate([one, nothing]) for one in (lands.start_off, lands.end_off)])
    return Places(
        lands.side[numbers],
        np.array([one.x for one in stations]),
        lands.height[numbers],
        ends_off[end, land] + length[:, None] * model.length,
        lands.height_off[numbers],
        numbers,
        land,
        end,
        length.astype(float),
    )


def _moves_with(one: Station, stowed: int) -> tuple[int, int, int]:
    """The land and its end, 0 or 1, with which a station moves, and how many lengths of the leaf.

    Parameters
    ----------
    stowed : what stands for a land where it moves with none
    """
    if one.base is None:
        return one.land, 0 if one.at == "start" else 1, 0
    land, end, corner = one.base
    at = (stowed if corner == "stowed" else land), 0 if end == "start" else 1
    if corner == "rear":
        return *at, 1 if one.at == "nose" else 0
    return *at, 0 if one.at == "nose" else -1


@dataclass(frozen=True, eq=False)
class Compiled:
    """A row, what can hold its leaf, and that as linear maps."""

    model: RowModel
    tolerances: Floats
    """(used,) float, mm; those of the model's deviations"""
    lands: Lands
    holds: Holds
    certain: tuple[Places, ...]
    possible: tuple[Places, ...]

    @property
    def stations(self) -> tuple[tuple[Station, ...], ...]:
        """Of the sets of places, the certain ones first."""
        return (*self.holds.certain, *self.holds.possible)

    def moved(self, off: Floats) -> Moved:
        """With the row's own deviations, (used, n) float mm."""
        lands, nothing = self.lands, np.zeros((1, off.shape[1]))
        ends = [np.concatenate([one @ off, nothing]) for one in (lands.start_off, lands.end_off)]
        return Moved(
            lands.height[:, None] + lands.height_off @ off,
            np.stack(ends),
            self.model.length @ off,
            self.model.row.thickness + self.model.thickness @ off,
        )

    def margins(self, deviations: Floats) -> Floats:
        """(n,) float, mm: fit margins with the table's deviations (deviations, n) float.

        Half the smallest room on the way, as what holds the leaf for certain leaves it. Where that is not all of it, or
        the leaf's corner stands on a land, the size may be off a little, but not the sign: what may be on the other
        side of zero is left to `proven`.
        """
        return self.margins_of(deviations[self.model.used])

    def margins_of(self, off: Floats, *, sizes: bool = False) -> Floats:
        """The same with the row's own deviations, (used, n) float mm; with `sizes` the sizes are settled as well."""
        moved = self.moved(off)
        room, slope = self._least(moved)
        doubtful = np.abs(slope) > self.holds.slope
        if self.holds.doubt:
            doubtful |= np.abs(room) < self.holds.doubt
        for own in self.possible:
            lowest = room.copy() if sizes else np.where(room > -self.holds.doubt, self.holds.doubt, -np.inf)
            doubtful |= tighten(own.edges(moved), lowest, slope.copy())
        which = np.flatnonzero(doubtful)
        margins = room / 2
        for first in range(0, len(which), _AT_ONCE):
            own = which[first : first + _AT_ONCE]
            own_rows = [self.model.row_of(column) for column in off[:, own].T]
            margins[own] = proven(own_rows, margins[own], 1.5 * self.holds.slope)
        return margins

    def least(self, off: Floats) -> tuple[Floats, Floats]:
        """(n,) float each: the room, mm, that what holds a leaf for certain leaves it, and its slope there."""
        return self._least(self.moved(off))

    def _least(self, moved: Moved) -> tuple[Floats, Floats]:
        count = len(moved.thickness)
        room, slope = np.full(count, np.inf), np.zeros(count)
        for own in self.certain:
            tighten(own.edges(moved), room, slope)
        return room, slope

    def level(self, deviations: Floats) -> Floats:
        """(n,) float, mm: half the room of a leaf that slides home level, straight, at the best height."""
        return self.level_of(deviations[self.model.used])

    def level_of(self, off: Floats) -> Floats:
        """The same with the row's own deviations, (used, n) float mm."""
        moved = self.moved(off)
        low, high = moved.height[self.lands.side < 0], moved.height[self.lands.side > 0]
        room = low.max(axis=0, initial=-np.inf)
        return (high.min(axis=0, initial=np.inf) - room - moved.thickness) / 2


def proven(rows: Sequence[Row], most: Floats, slope: float) -> Floats:
    """(rows,) float, mm: fit margins by the depths and poses of `prove`; inf where nothing holds the leaf.

    Where a corner of the leaf runs into a chamfer its room may have two summits; where the one that is found leaves
    less than `most`, the higher one is looked for.

    Parameters
    ----------
    most : (rows,) float, mm; margins that are known not to be exceeded
    slope : up to which a higher summit is looked for
    """
    stances, number = fit_stances(profiles(tuple(rows)))
    _, room = stances.best()
    again = np.flatnonzero(room / 2 < most[number] - WELD)
    if len(again):
        room[again] = np.maximum(room[again], _highest(stances.take(again), slope))
    least = np.full(len(rows), np.inf)
    np.minimum.at(least, number, room)
    return least / 2


def _highest(stances: Stances, slope: float) -> Floats:
    """(n,) float, mm: greatest room within slopes on both sides of level, looked for closer and closer."""
    middle, width = np.zeros(len(stances)), slope
    best = np.full(len(stances), -np.inf)
    for points in (_LOOKS, *[_CLOSER] * _TIMES):
        around = middle
        for step in np.linspace(-width, width, points).tolist():
            room = stances.gap(around + step)[0]
            middle, best = np.where(room > best, around + step, middle), np.maximum(room, best)
        width *= 2 / (points - 1)
    return best


def compiled(model: RowModel, tolerances: Floats) -> Compiled:
    """A row ready for tables whose deviations stay within their tolerances, (deviations,) float mm."""
    own = tolerances[model.used]
    lands = lands_of(model)
    nothing = np.zeros((len(own), 1))
    made = _with_holds(model, own, lands, holds_of(model, lands, own))
    _, slope = made.least(nothing)
    if abs(slope[0]) > _TILTED * made.holds.slope:
        made = _with_holds(model, own, lands, holds_of(model, lands, own, float(slope[0])))
    return made


def _with_holds(model: RowModel, tolerances: Floats, lands: Lands, holds: Holds) -> Compiled:
    certain, possible = (
        tuple(places_of(model, lands, stations) for stations in sets)
        for sets in (holds.certain, holds.possible)
    )
    return Compiled(model, tolerances, lands, holds, certain, possible)
