"""A row ready for many variants at once: its sets of stations as linear maps, its fit margin, its level clearance."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from ...model.tolerances import WELD
from ..row.profile import profiles
from ..row.proof import fit_stances
from .holds import holds_of, lands_of
from .rooms import Edges, widest

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from ..row.profile import Row
    from ..row.stances import Stances
    from .holds import Holds, Lands, Station
    from .model import RowModel

    Floats = NDArray[np.float64]

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
class Places:
    """A set of stations as linear maps of the row's deviations; mm.

    Attributes
    ----------
    side : (places,) int; -1 for wood below, +1 for wood above
    x, z : (places,) float, as drawn
    x_off, z_off : (places, used) float; change per mm of each deviation
    land : (places,) int
    """

    side: NDArray[np.intp]
    x: Floats
    z: Floats
    x_off: Floats
    z_off: Floats
    land: NDArray[np.intp]

    def edges(self, off: Floats, thickness: Floats) -> Edges:
        """With deviations (used, n) float, mm, and the leaf's thickness (n,) float."""
        x, z = self.x[:, None] + self.x_off @ off, self.z[:, None] + self.z_off @ off
        low, high = self.side < 0, self.side > 0
        return Edges(z[low], x[low], z[high], x[high], thickness)


def places_of(model: RowModel, lands: Lands, stations: tuple[Station, ...]) -> Places:
    """The linear maps of a set of stations."""
    numbers = np.array([one.land for one in stations], dtype=np.intp)
    return Places(
        lands.side[numbers],
        np.array([one.x for one in stations]),
        lands.height[numbers],
        np.array([_moves(model, lands, one) for one in stations]).reshape(len(stations), -1),
        lands.height_off[numbers],
        numbers,
    )


def _moves(model: RowModel, lands: Lands, one: Station) -> Floats:
    ends = {"start": lands.start_off, "end": lands.end_off}
    if one.at in ("start", "end"):
        return ends[one.at][one.land]
    assert one.base is not None
    land, end, corner = one.base
    at = ends[end][land] if corner != "home" else np.zeros(len(model.used))
    if corner == "rear":
        return at + model.length if one.at == "nose" else at
    return at if one.at == "nose" else at - model.length


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

    def thickness(self, off: Floats) -> Floats:
        """(n,) float, mm: of the leaf, with deviations (used, n) float."""
        return self.model.row.thickness + self.model.thickness @ off

    def margins(self, deviations: Floats) -> Floats:
        """(n,) float, mm: fit margins with the table's deviations (deviations, n) float.

        Half the smallest room on the way, as what holds the leaf for certain leaves it. Where that is not all of it, or
        the leaf's corner stands on a land, the size may be off a little, but not the sign: what may be on the other
        side of zero is left to `proven`.
        """
        return self.margins_of(deviations[self.model.used])

    def margins_of(self, off: Floats, *, sizes: bool = False) -> Floats:
        """The same with the row's own deviations, (used, n) float mm; with `sizes` the sizes are settled as well."""
        thickness = self.thickness(off)
        room, slope = self.least(off)
        doubtful = np.abs(slope) > self.holds.slope
        if self.holds.doubt:
            doubtful |= np.abs(room) < self.holds.doubt
        for own in self.possible:
            lowest = room.copy() if sizes else np.where(room > -self.holds.doubt, self.holds.doubt, -np.inf)
            doubtful |= _tighten(own.edges(off, thickness), lowest, slope.copy())
        which = np.flatnonzero(doubtful)
        margins = room / 2
        for first in range(0, len(which), _AT_ONCE):
            own = which[first : first + _AT_ONCE]
            own_rows = [self.model.row_of(column) for column in off[:, own].T]
            margins[own] = proven(own_rows, margins[own], 1.5 * self.holds.slope)
        return margins

    def least(self, off: Floats) -> tuple[Floats, Floats]:
        """(n,) float each: the room, mm, that what holds a leaf for certain leaves it, and its slope there."""
        thickness = self.thickness(off)
        room, slope = np.full(off.shape[1], np.inf), np.zeros(off.shape[1])
        for own in self.certain:
            _tighten(own.edges(off, thickness), room, slope)
        return room, slope

    def level(self, deviations: Floats) -> Floats:
        """(n,) float, mm: half the room of a leaf that slides home level, straight, at the best height."""
        return self.level_of(deviations[self.model.used])

    def level_of(self, off: Floats) -> Floats:
        """The same with the row's own deviations, (used, n) float mm."""
        heights = self.lands.height[:, None] + self.lands.height_off @ off
        low, high = heights[self.lands.side < 0], heights[self.lands.side > 0]
        room = low.max(axis=0, initial=-np.inf)
        return (high.min(axis=0, initial=np.inf) - room - self.thickness(off)) / 2


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


def _tighten(edges: Edges, room: Floats, slope: Floats) -> NDArray[np.bool_]:
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


def compiled(model: RowModel, tolerances: Floats) -> Compiled:
    """A row ready for variants whose deviations stay within their tolerances, (deviations,) float mm."""
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
