"""The poses that a row of openings allows a leaf with its nose at a given depth: exactly, many depths at once.

A pose is the height c and the slope s = tan(tilt) of the leaf's lower edge z = c + s·x; its nose, the lower leading
corner, is at x = d. Every station of an opening that the leaf is over bounds c from below and above, as does every
corner of the leaf that is inside an opening. With

    low(s) = max(edge - s·x)    high(s) = min(edge - s·x) - t·sqrt(1 + s²)

the poses are low(s) <= c <= high(s). Their room g(s) = high(s) - low(s) is concave as long as the corners of the leaf
do not move along wood: it has one greatest value, and one root on either side of that, where the leaf stands on both
edges: the nose is lowest at the left root and highest at the right one. Tangents of a concave function lie above it, so
two of them enclose its greatest value, and each crosses zero outside its root.
"""

from __future__ import annotations

from copy import copy
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from ...model.tolerances import WELD
from .slopes import most_room, outward

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from .profile import Profiles

    Floats = NDArray[np.float64]
    Ints = NDArray[np.intp]
    Bools = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Bounds:
    """What bounds the leaf's lower edge at one slope each, and where that is.

    Attributes
    ----------
    low, high : (n, places) float, mm; bounds of c; -inf and inf where there are none
    low_x, high_x : (n, places) float, mm
    """

    low: Floats
    low_x: Floats
    high: Floats
    high_x: Floats


class _Wood:
    """Wood below leaves, whose noses are at `depth + lag·sin(tilt) + reach·cos(tilt)`.

    Wood above a leaf is wood below the leaf turned upside down: its heights and slopes change their signs, and its
    nose, the upper leading corner, lags behind the lower one by the thickness.
    """

    def __init__(self, x: Floats, edge: Floats, columns: dict[str, Floats]) -> None:
        """x, edge : (n, openings, 4) float mm; -inf where there is no wood. columns : (n, 1) float, mm."""
        self.x, self.edge = x.reshape(len(x), -1), edge.reshape(len(x), -1)
        self.columns = columns
        self.first, self.start, self.stop, self.last = np.moveaxis(x, 2, 0)[:, :, None, :]
        self.land = edge[:, None, :, 1]
        with np.errstate(all="ignore"):
            rises = (edge[:, :, 1] - edge[:, :, 0], edge[:, :, 3] - edge[:, :, 2])
            runs = (x[:, :, 1] - x[:, :, 0], x[:, :, 3] - x[:, :, 2])
            self.entry, self.exit = (
                np.where((run > 0) & np.isfinite(rise), rise / run, 0.0)[:, None, :]
                for rise, run in zip(rises, runs, strict=True)
            )
        self.lead = bool(columns["rise"].any())

    def part(self, rows: slice | Ints) -> _Wood:
        """Some of the leaves."""
        part = copy(self)
        for name, value in vars(self).items():
            if isinstance(value, np.ndarray):
                setattr(part, name, value[rows])
        part.columns = {name: value[rows] for name, value in self.columns.items()}
        return part

    def bounds(self, slope: Floats) -> tuple[Floats, Floats]:
        """(n, places) float each: bounds of c, and where they are, mm."""
        values, places, _ = zip(*self._found(slope), strict=True)
        return np.concatenate(values, axis=1), np.concatenate(places, axis=1)

    def highest(self, slope: Floats) -> tuple[Floats, Floats]:
        """The tightest bound, (n,) float mm, and how it changes with the slope."""
        each = np.arange(len(slope))
        best, turn = np.full(len(slope), -np.inf), np.zeros(len(slope))
        for values, places, turns in self._found(slope):
            place = values.argmax(axis=1)
            tightest = values[each, place]
            tighter = tightest > best
            own = -places[each, place] if turns is None else turns[each, place]
            best, turn = np.where(tighter, tightest, best), np.where(tighter, own, turn)
        return best, turn

    def _found(self, slope: Floats) -> list[tuple[Floats, Floats, Floats | None]]:
        """(n, places) float each: bounds of c, where they are, mm, and how they change with the slope; None: by -x."""
        s, column = slope[:, None], self.columns
        secant = np.sqrt(1 + s * s)
        cosine = 1 / secant
        back = s * cosine**3
        nose = column["depth"] + column["lag"] * s * cosine + column["reach"] * cosine
        corners = np.concatenate([column["length"], column["run"]], axis=1)
        turns = column["lag"] * cosine**3 + (corners - column["reach"]) * back
        corners = nose - corners * cosine
        # A corner that just comes to a station, to the rounding, is there.
        over = (self.x >= corners[:, :1] - WELD) & (self.x <= corners[:, 1:] + WELD)
        values = np.where(over, self.edge - s * self.x, -np.inf)
        at, along = self._at(corners[:, :, None])
        of_corners = at - (s * corners)[:, :, None]
        corner_turns = (along - s[:, :, None]) * turns[:, :, None] - corners[:, :, None]
        rows = (len(slope), -1)
        at_corners = np.broadcast_to(corners[:, :, None], at.shape)
        found: list[tuple[Floats, Floats, Floats | None]] = [
            (values, self.x, None),
            (of_corners.reshape(rows), at_corners.reshape(rows), corner_turns.reshape(rows)),
        ]
        if self.lead:
            nose_turn = column["lag"] * cosine**3 - column["reach"] * back
            found += self._under_lead(s, nose, nose_turn, corners[:, 1:], turns[:, 1:])
        return found

    def _at(self, x: Floats) -> tuple[Floats, Floats]:
        """(n, k, openings) float each: the edges at x, (n, k, 1) mm, -inf outside the openings, and their slopes."""
        before, beyond = self.start - x, x - self.stop
        at = self.land - self.entry * np.maximum(before, 0.0) + self.exit * np.maximum(beyond, 0.0)
        along = self.entry * (before > 0) + self.exit * (beyond > 0)
        return np.where((x >= self.first - WELD) & (x <= self.last + WELD), at, -np.inf), along

    def _under_lead(
        self, s: Floats, nose: Floats, nose_turn: Floats, front: Floats, front_turn: Floats
    ) -> list[tuple[Floats, Floats, Floats | None]]:
        """Bounds over the lead's chamfer: there the leaf's edge is another straight line, steeper by its angle."""
        run, rise = self.columns["run"], self.columns["rise"]
        steep = np.tan(np.arctan(s) + np.arctan2(rise, run))
        steep_turn = (1 + steep * steep) / (1 + s * s)
        tip, tip_turn = nose - rise * s / np.sqrt(1 + s * s), nose_turn - rise / (1 + s * s) ** 1.5
        turn = (steep - s) * front_turn - front
        over = (self.x > front) & (self.x <= tip)
        at, along = (values[:, 0, :] for values in self._at(tip[:, :, None]))
        return [
            (
                np.where(over, self.edge - s * front - steep * (self.x - front), -np.inf),
                self.x,
                turn - steep_turn * (self.x - front),
            ),
            (
                at - s * front - steep * (tip - front),
                np.broadcast_to(tip, at.shape),
                turn - steep_turn * (tip - front) + (along - steep) * tip_turn,
            ),
        ]


class Stances:
    """Leaves with their noses at given depths, among given openings of their rows.

    Parameters
    ----------
    profiles : the rows
    row : (n,) int; row of each stance
    depth : (n,) float, mm; x of the nose, or of the point of the leaf that `point` names
    counts : (n, openings) bool; openings that bound the pose; by default all
    point : (n, 2) float, mm; how far behind the nose along the leaf, and how far above its lower edge, the point is
        that stays at `depth` whatever the slope; by default the nose
    """

    def __init__(
        self,
        profiles: Profiles,
        row: Ints,
        depth: Floats,
        counts: Bools | None = None,
        point: Floats | None = None,
    ) -> None:
        present = profiles.present[row]
        counts = present if counts is None else present & counts
        used = np.flatnonzero(counts.any(axis=0))
        needed = int(counts.sum(axis=1).max(initial=0))
        if needed < len(used):
            order = np.argsort(~counts, axis=1, kind="stable")[:, :needed]
            row, counts = row[:, None], np.take_along_axis(counts, order, axis=1)
            x, low, high = (one[row, order] for one in (profiles.x, profiles.low, profiles.high))
            row = row[:, 0]
        else:
            x, low, high = profiles.x[row], profiles.low[row], profiles.high[row]
        low = np.where(counts[:, :, None], low, -np.inf)
        high = np.where(counts[:, :, None], high, np.inf)
        self.depth, self.thickness, self.rise = depth, profiles.thickness[row], profiles.lead_rise[row]
        self.point = np.zeros((len(depth), 2)) if point is None else point
        behind, above = self.point.T
        columns = {
            "depth": (depth, depth),
            # The nose is at depth + behind·cos(tilt) + above·sin(tilt); upside down the tilt is the opposite one.
            "lag": (above, self.thickness - above),
            "reach": (behind, behind),
            "length": (profiles.length[row],) * 2,
            "run": (profiles.lead_run[row],) * 2,
            "rise": (self.rise,) * 2,
        }
        stacked = {name: np.concatenate(pair)[:, None] for name, pair in columns.items()}
        self._wood = _Wood(np.concatenate([x, x]), np.concatenate([low, -high]), stacked)

    def __len__(self) -> int:
        return len(self.depth)

    def take(self, which: Ints) -> Stances:
        """Some of them, by number."""
        some = copy(self)
        for derived in ("_below", "_above"):
            vars(some).pop(derived, None)
        for name in ("depth", "point", "thickness", "rise"):
            setattr(some, name, getattr(self, name)[which])
        some._wood = self._wood.part(np.concatenate([which, which + len(self)]))
        return some

    @cached_property
    def _below(self) -> _Wood:
        return self._wood.part(slice(0, len(self)))

    @cached_property
    def _above(self) -> _Wood:
        return self._wood.part(slice(len(self), None))

    def nose(self, slope: Floats) -> Floats:
        """x of the nose at these slopes, (n,) float mm."""
        return self.depth + (self.point[:, 0] + self.point[:, 1] * slope) / np.sqrt(1 + slope * slope)

    def bounds(self, slope: Floats) -> Bounds:
        """All that bounds the lower edge at these slopes, (n,) float."""
        low, low_x = self._below.bounds(slope)
        above, high_x = self._above.bounds(-slope)
        return Bounds(low, low_x, -above - (self.thickness * np.sqrt(1 + slope * slope))[:, None], high_x)

    def lowest_nose(self, slope: Floats) -> tuple[Floats, Floats]:
        """Lowest height at these slopes, (n,) float mm, and its derivative, of the line along the travel on which the
        lower leading corner is, for an eased lead the lower end of its blunt face: where that line is at the depth.
        """
        low, turn = self._below.highest(slope)
        secant = np.sqrt(1 + slope * slope)
        return low + slope * self.depth + self.rise * secant, turn + self.depth + self.rise * slope / secant

    def highest_top(self, slope: Floats) -> tuple[Floats, Floats]:
        """Greatest height of the line of the upper leading corner, or blunt face's end, likewise."""
        above, turn = self._above.highest(-slope)
        secant = np.sqrt(1 + slope * slope)
        return slope * self.depth - above - self.rise * secant, turn + self.depth - self.rise * slope / secant

    def gap(self, slope: Floats) -> tuple[Floats, Floats]:
        """g(s) and its derivative, (n,) float each, mm."""
        values, turns = self._wood.highest(np.concatenate([slope, -slope]))
        low, above, low_turn, above_turn = (*np.split(values, 2), *np.split(turns, 2))
        secant = np.sqrt(1 + slope * slope)
        room = -above - self.thickness * secant - low
        return room, above_turn - self.thickness * slope / secant - low_turn

    def room(self, slope: Floats) -> tuple[Floats, Floats]:
        """Lowest and highest c at these slopes, (n,) float mm; -inf and inf where nothing bounds it."""
        return (
            self._below.highest(slope)[0],
            -self._above.highest(-slope)[0] - self.thickness * np.sqrt(1 + slope * slope),
        )

    def best(self) -> tuple[Floats, Floats]:
        """Slope with the most room, and that room: (n,) float each, mm; inf room where one side has no wood.

        The greatest room that can be reached from a level leaf: one turned on end would have more, but not here.
        """
        return most_room(self)

    def last(self, inside: Floats, side: int) -> Floats:
        """(n,) float: the last slope with room, from the slope `inside` on toward rising ones (side 1) or falling.

        An infinite slope of that sign where even the steepest has room, `inside` where there is none to the rounding,
        nan where there is less.
        """
        room, _ = self.gap(inside)
        slope = outward(self.gap, inside, np.full(len(self), float(side)))
        return np.where(room >= 0, slope, np.where(room >= -WELD, inside, np.nan))
