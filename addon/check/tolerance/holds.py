"""Which edges of a row can hold its leaf at the same depth: worked out once, on the row as drawn, for all tables.

The straight part of an opening's edge is a land; a leaf over it is bounded at its ends, or where the leaf's own corner
stands on it. At each depth where a land's end comes under the nose or leaves the rear, those that the leaf is over hold
it together. Of all these sets only the largest matter: one whose edges are all implied by those of another bounds no
less. Chamfers matter nowhere as long as the leaf leans less than they do.

Two readings of "over" are kept apart: what is over for certain, whatever the deviations, and what may be.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from .model import RowModel

    Floats = NDArray[np.float64]
    Ints = NDArray[np.intp]

LEAST_SLOPE: Final = 0.004
MOST_SLOPE: Final = 0.06
"""Bounds of the slope up to which leaves are looked at here; those that lean more are left to the proof."""

_SLOPES: Final = 4.0
"""That slope is so many times what the largest deviation makes over the row's length."""

End = Literal["start", "end"]
_ENDS: Final[tuple[End, End]] = ("start", "end")

Base = tuple[int, End, Literal["nose", "rear", "home"]]
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
    at: Literal["start", "end", "nose", "rear"]
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


class _Search:
    def __init__(self, model: RowModel, lands: Lands, tolerances: Floats, slope: float) -> None:
        row = model.row
        self.lands, self.row, self.tolerances, self.length_off = lands, row, tolerances, model.length
        self.off = np.abs(lands.height_off) @ tolerances
        self.x = np.stack([lands.start, lands.end], axis=1)
        self.x_off = np.stack([lands.start_off, lands.end_off], axis=1)
        self.shift = 2 * float((np.abs(self.x_off) @ tolerances).max(initial=0.0))
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
        corners = any(one.base is not None for own in (*certain, *possible) for one in own)
        return Holds(tuple(certain), tuple(possible), self.slope, self.doubt if corners or possible else 0.0)

    def _sets(self, sign: float, eased: float) -> list[tuple[Station, ...]]:
        """Sets at the depths where a land's end is at the nose or the rear, and of the leaf stowed.

        Parameters
        ----------
        sign : +1 for what may be over, -1 for what is so for certain
        eased : length of the lead that is not straight, mm
        """
        length, travel = self.row.length - eased, self.row.travel - eased
        sets = [self._over((-1, "end", "home"), travel, np.zeros_like(self.length_off), sign, length)]
        for land in range(len(self.x)):
            for end in (0, 1):
                x, off = float(self.x[land, end]), self.x_off[land, end]
                bases: list[tuple[Base, float, Floats]] = [
                    ((land, _ENDS[end], "nose"), x, off),
                    ((land, _ENDS[end], "rear"), x + length, off + self.length_off),
                ]
                for base, depth, its_off in bases:
                    if depth <= travel + sign * self._play(its_off):
                        sets.append(self._over(base, depth, its_off, sign, length))
        return sets

    def _play(self, off: Floats) -> Floats:
        """How far a length that deviations change by `off`, (..., used) float per mm, may be off, mm."""
        return np.abs(off) @ self.tolerances

    def _over(self, base: Base, depth: float, off: Floats, sign: float, length: float) -> tuple[Station, ...]:
        """What a leaf is over whose straight part ends at a depth that the base defines, mm."""
        rear = depth - length
        ahead = sign * (self._play(self.x_off - off) + self.lean)
        behind = sign * (self._play(self.x_off - off + self.length_off) + self.lean)
        over = (self.x >= rear - behind) & (self.x <= depth + ahead)
        if base[0] >= 0:
            # Both edges of an opening begin and end together, whatever the deviations.
            over[self.lands.opening == self.lands.opening[base[0]], _ENDS.index(base[1])] = True
        stations = [
            Station(int(land), _ENDS[end], None, float(self.x[land, end]))
            for land, end in zip(*np.nonzero(over), strict=True)
        ]
        start, end = self.x.T
        at_rear = ~over[:, 0] & (start < rear) & (end > rear - np.minimum(behind[:, 1], 0.0))
        at_nose = ~over[:, 1] & (end > depth) & (start < depth + np.minimum(ahead[:, 0], 0.0))
        stations += [Station(int(land), "rear", base, rear) for land in np.flatnonzero(at_rear)]
        stations += [Station(int(land), "nose", base, depth) for land in np.flatnonzero(at_nose)]
        return tuple(stations)

    def _largest(self, sets: list[tuple[Station, ...]]) -> list[tuple[Station, ...]]:
        kept: list[tuple[Station, ...]] = []
        for own in sorted(sets, key=len, reverse=True):
            if own and not any(self._implied(own, other) for other in kept):
                kept.append(self._pruned(own))
        return kept

    def _pruned(self, own: tuple[Station, ...]) -> tuple[Station, ...]:
        """Without stations that the others imply."""
        left = list(own)
        for one in own:
            others = tuple(other for other in left if other is not one)
            if self._implied((one,), others):
                left.remove(one)
        return tuple(left)

    def _implied(self, own: tuple[Station, ...], by: tuple[Station, ...]) -> bool:
        """Whether each station binds no pose that those of another set leave free, up to the slope looked at."""
        return all(self._implied_one(one, by) for one in own)

    def _implied_one(self, one: Station, by: tuple[Station, ...]) -> bool:
        side = self.lands.side[one.land]
        on_land = [other.x for other in by if other.land == one.land]
        if any((other.land, other.at, other.base) == (one.land, one.at, one.base) for other in by):
            return True
        if on_land and min(on_land) <= one.x <= max(on_land) and len(on_land) > 1:
            return True
        # Worked out for wood below: the other one stands higher by more than both may be off and the leaf may lean.
        height = -side * self.lands.height[one.land] + self.off[one.land]
        return any(
            -side * self.lands.height[other.land]
            - self.off[other.land]
            - self.slope * (abs(other.x - one.x) + self.shift)
            >= height
            for other in by
            if self.lands.side[other.land] == side and other.land != one.land
        )
