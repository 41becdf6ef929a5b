"""Which edges of a row can hold its leaf at the same depth: worked out once, on the row as drawn, for all tables.

      x----x        x----x        x--o           x  a station: an end of a land that the leaf is over
     =================================>          o  its own corner, where that stands on a land
      x----x        x----x        x--o
      land 1        land 2        land 3         sets, as the leaf goes in: {1}, {1, 2}, {1, 2, 3}; of these only
                                                 the last matters, which binds no less than the others

The straight part of an opening's edge is a land; a leaf over it is bounded at its ends, or where the leaf's own corner
stands on it. At each depth where a land's end comes under the nose or leaves the rear, those that the leaf is over hold
it together. Of all these sets only the largest matter: one whose edges are all implied by those of another bounds no
less. Chamfers matter nowhere as long as the leaf leans less than they do.

Two readings of "over" are kept apart: what is over for certain, whatever the deviations, and what may be.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final, Literal

import numpy as np

from ...sizes.arrays import Bools, Floats, Ints
from .model import RowModel

LEAST_SLOPE: Final = 0.004
MOST_SLOPE: Final = 0.06
"""Bounds of the slope up to which leaves are looked at here; those that lean more are left to the proof."""

_SLOPES: Final = 4.0
"""That slope is so many times what the largest deviation makes over the row's length."""

End = Literal["start", "end"]
_ENDS: Final[tuple[End, End]] = ("start", "end")

At = Literal["start", "end", "rear", "nose"]
_AT: Final[tuple[At, ...]] = ("start", "end", "rear", "nose")
_REAR: Final = 2
_NOSE: Final = 3
"""Where on a land a leaf is bounded: at its ends, or where the leaf's own corner stands on it."""

_AT_ONCE: Final = 16
"""Stations that are looked at together; the first that is not implied spares the others."""

Base = tuple[int, End, Literal["nose", "rear", "stowed"]]
"""What defines a depth: number of a land, which of its ends, and which end of the leaf is there."""


@dataclass(frozen=True, eq=False)
class Lands:
    """The lands of a row, below the leaf (side -1) and above it, and how its deviations move them; mm.

    Attributes
    ----------
    side : (lands,) int
    opening : (lands,) int; number in the row
    start, end, height : (lands,) float, as drawn
    start_off, end_off, height_off : (lands, used) float; change per mm of each deviation
    """

    side: Ints
    opening: Ints
    start: Floats
    end: Floats
    height: Floats
    start_off: Floats
    end_off: Floats
    height_off: Floats


@dataclass(frozen=True)
class Station:
    """A place where a leaf is bounded.

    Parameters
    ----------
    land : number
    at : an end of the land, or the leaf's corner on it
    base : where it is a corner, what defines the depth; else None
    x : as drawn, mm
    """

    land: int
    at: At
    base: Base | None
    x: float


@dataclass(frozen=True)
class Holds:
    """What can hold a leaf on its way.

    Parameters
    ----------
    certain : sets of stations that hold it together for certain; their smallest room is that of the leaf's way
    possible : sets that may hold it together besides
    slope : up to which this is true
    doubt : mm; room within this of zero is left to the proof, where corners of the leaf stand on lands
    """

    certain: tuple[tuple[Station, ...], ...]
    possible: tuple[tuple[Station, ...], ...]
    slope: float
    doubt: float


def lands_of(model: RowModel) -> Lands:
    """The lands of a row."""
    rows = []
    for number, one in enumerate(model.row.openings):
        for side, edge, off in ((-1, one.sill, model.sill), (1, one.head, model.head)):
            if edge is not None:
                rows.append(
                    (side, number, one.face + one.entry.run, one.end - one.exit.run, edge, off[number])
                )
    opening = np.array([row[1] for row in rows], dtype=np.intp)
    return Lands(
        np.array([row[0] for row in rows], dtype=np.intp),
        opening,
        np.array([row[2] for row in rows], dtype=float),
        np.array([row[3] for row in rows], dtype=float),
        np.array([row[4] for row in rows], dtype=float),
        model.face[opening],
        model.face[opening] + model.board[opening],
        np.array([row[5] for row in rows]).reshape(len(rows), len(model.used)),
    )


def holds_of(model: RowModel, lands: Lands, tolerances: Floats, slope: float = 0.0) -> Holds:
    """What can hold a leaf whose row's deviations stay within their tolerances, (used,) float mm.

    slope : of the leaf as drawn where it has the most room, as far as that is known
    """
    return _Search(model, lands, tolerances, slope).run()


@dataclass(frozen=True, eq=False)
class _Set:
    """Stations that may hold a leaf together, all at one depth; mm.

    Attributes
    ----------
    lands : how many there are in the row
    land, at : (stations,) int; the land of each, and where on it, a number of `_AT`
    x : (stations,) float, as drawn
    base : what defines the depth
    """

    lands: int
    land: Ints
    at: Ints
    x: Floats
    base: Base

    def __len__(self) -> int:
        return len(self.land)

    def only(self, which: Ints | Bools) -> _Set:
        """Some of the stations."""
        return replace(self, land=self.land[which], at=self.at[which], x=self.x[which])

    @cached_property
    def has(self) -> Bools:
        """(lands, 4) bool; which stations there are."""
        found = np.zeros((self.lands, len(_AT)), dtype=bool)
        found[self.land, self.at] = True
        return found

    @cached_property
    def spans(self) -> tuple[Floats, Floats]:
        """(lands,) float each: from where to where its stations are on each land; none where there is only one."""
        least, most = np.full(self.lands, np.inf), np.full(self.lands, -np.inf)
        np.minimum.at(least, self.land, self.x)
        np.maximum.at(most, self.land, self.x)
        alone = np.bincount(self.land, minlength=self.lands) < 2
        return np.where(alone, np.inf, least), np.where(alone, -np.inf, most)

    def stations(self) -> tuple[Station, ...]:
        """One by one."""
        return tuple(
            Station(land, _AT[at], self.base if at > 1 else None, x)
            for land, at, x in zip(self.land.tolist(), self.at.tolist(), self.x.tolist(), strict=True)
        )


class _Search:
    def __init__(self, model: RowModel, lands: Lands, tolerances: Floats, slope: float) -> None:
        row = model.row
        self.lands, self.row, self.tolerances = lands, row, tolerances
        self.off = np.abs(lands.height_off) @ tolerances
        self.height = -lands.side * lands.height
        """(lands,) float, mm; of wood below, and upside down of wood above"""
        self.x = np.stack([lands.start, lands.end], axis=1)
        self.plays = _Plays(lands, model.length, tolerances)
        self.shift = 2 * float(self.plays.own.max(initial=0.0))
        reach = min(row.length, float(np.ptp(self.x)) if self.x.size else 0.0)
        wanted = 2 * abs(slope) + _SLOPES * float(self.off.max(initial=0.0)) / max(reach, 1.0)
        self.slope = min(max(wanted, LEAST_SLOPE), MOST_SLOPE, self._least_chamfer())
        self.lean = row.thickness * self.slope + row.length * self.slope**2
        self.doubt = self.lean * self.slope

    def _least_chamfer(self) -> float:
        chamfers = [one for own in self.row.openings for one in (own.entry, own.exit) if one.run > 0]
        return min((one.rise / one.run for one in chamfers), default=np.inf)

    def run(self) -> Holds:
        """The sets of the row."""
        certain = self._largest(self._sets(-1.0, self.row.lead.run))
        most = self._largest(self._sets(1.0, 0.0))
        possible = [own for own in most if not any(self._implied(own, other) for other in certain)]
        doubt = self.doubt if possible or any((own.at > 1).any() for own in certain) else 0.0
        holding, others = (tuple(own.stations() for own in some) for some in (certain, possible))
        return Holds(holding, others, self.slope, doubt)

    def _sets(self, sign: float, eased: float) -> list[_Set]:
        """Sets at the depths where a land's end is at the nose or the rear, and of the leaf stowed.

        Parameters
        ----------
        sign : +1 for what may be over, -1 for what is so for certain
        eased : length of the lead that is not straight, mm
        """
        length, travel, plays = self.row.length - eased, self.row.travel - eased, self.plays
        sets = [self._over((-1, "end", "stowed"), travel, (plays.own, plays.longer), sign, length)]
        for land in range(len(self.x)):
            for end, name in enumerate(_ENDS):
                x, own = float(self.x[land, end]), (land, end)
                if x <= travel + sign * plays.own[own]:
                    ahead_behind = plays.between(own), plays.between(own, 1)
                    sets.append(self._over((land, name, "nose"), x, ahead_behind, sign, length))
                if x + length <= travel + sign * plays.longer[own]:
                    ahead_behind = plays.between(own, -1), plays.between(own)
                    sets.append(self._over((land, name, "rear"), x + length, ahead_behind, sign, length))
        return sets

    def _over(
        self, base: Base, depth: float, plays: tuple[Floats, Floats], sign: float, length: float
    ) -> _Set:
        """What a leaf is over whose straight part ends at a depth that the base defines, mm.

        Parameters
        ----------
        plays : (lands, 2) float each, mm; how far the ends of lands may be off from the leaf's nose and its rear
        """
        rear = depth - length
        ahead, behind = (sign * (play + self.lean) for play in plays)
        over = (self.x >= rear - behind) & (self.x <= depth + ahead)
        if base[0] >= 0:
            # Both edges of an opening begin and end together, whatever the deviations.
            over[self.lands.opening == self.lands.opening[base[0]], _ENDS.index(base[1])] = True
        start, end = self.x.T
        at_rear = np.flatnonzero(~over[:, 0] & (start < rear) & (end > rear - np.minimum(behind[:, 1], 0.0)))
        at_nose = np.flatnonzero(~over[:, 1] & (end > depth) & (start < depth + np.minimum(ahead[:, 0], 0.0)))
        land, at = np.nonzero(over)
        return _Set(
            len(self.x),
            np.concatenate([land, at_rear, at_nose]),
            np.concatenate([at, np.full(len(at_rear), _REAR), np.full(len(at_nose), _NOSE)]),
            np.concatenate([self.x[over], np.full(len(at_rear), rear), np.full(len(at_nose), depth)]),
            base,
        )

    def _largest(self, sets: list[_Set]) -> list[_Set]:
        kept: list[_Set] = []
        for own in sorted(sets, key=len, reverse=True):
            if len(own) and not any(self._implied(own, other) for other in kept):
                kept.append(self._pruned(own))
        return kept

    def _pruned(self, own: _Set) -> _Set:
        """Without stations that the others imply."""
        outdone = self._outdone(own, own)
        left = np.ones(len(own), dtype=bool)
        for one in range(len(own)):
            left[one] = False
            on_land = own.x[left & (own.land == own.land[one])]
            between = len(on_land) > 1 and on_land.min() <= own.x[one] <= on_land.max()
            left[one] = not (between or (outdone[one] & left).any())
        return own.only(left)

    def _implied(self, own: _Set, by: _Set) -> bool:
        """Whether each station binds no pose that those of another set leave free, up to the slope looked at."""
        known = by.has[own.land, own.at] & ((own.at < _REAR) | (own.base == by.base))
        least, most = by.spans
        known |= (least[own.land] <= own.x) & (own.x <= most[own.land])
        rest = np.flatnonzero(~known)
        return all(
            self._outdone(own.only(rest[first : first + _AT_ONCE]), by).any(axis=1).all()
            for first in range(0, len(rest), _AT_ONCE)
        )

    def _outdone(self, own: _Set, by: _Set) -> Bools:
        """(own, by) bool; whether stations are implied by such of another land.

        That is higher (for wood below) by more than both may be off and the leaf may lean.
        """
        side, land = self.lands.side, own.land[:, None]
        leans = self.slope * (np.abs(by.x - own.x[:, None]) + self.shift)
        higher = self.height[by.land] - self.off[by.land] - leans >= self.height[land] + self.off[land]
        return higher & (side[by.land] == side[land]) & (by.land != land)


class _Plays:
    """How far lengths may be off that end at lands' ends, whatever deviations are shared; mm.

    Attributes
    ----------
    own, longer : (lands, 2) float; of the ends themselves, and of them with the leaf's length added
    """

    def __init__(self, lands: Lands, length_off: Floats, tolerances: Floats) -> None:
        ends = np.stack([lands.start_off, lands.end_off], axis=1)
        ends = ends.reshape(2 * len(ends), len(tolerances))
        matter = ends.any(axis=0) | (length_off != 0)
        # Both edges of an opening end alike, and so do openings of one board.
        distinct, number = np.unique(ends[:, matter], axis=0, return_inverse=True)
        self._number = number.reshape(-1, 2)
        length, weights = length_off[matter], tolerances[matter]
        self.own, self.longer = (
            (np.abs(distinct + more) @ weights)[self._number] for more in (0.0 * length, length)
        )
        self._between = {
            more: np.array([np.abs(distinct - one + more * length) @ weights for one in distinct])
            for more in (-1, 0, 1)
        }

    def between(self, end: tuple[int, int], longer: int = 0) -> Floats:
        """(lands, 2) float: from one end of a land to all, with the leaf's length added so many times."""
        return self._between[longer][self._number[end]][self._number]
