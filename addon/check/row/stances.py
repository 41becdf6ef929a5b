"""The poses that a row of openings allows a leaf with its nose at a given depth: exactly, many depths at once.

    c ^            high(s): the leaf just touches wood above
      |            .-.
      |        .-'     '-.
      |     <     free     >          each point is a pose; g(s) is how tall the free region is at a slope s
      |        '-.     .-'
      |            '-'
      |            low(s): it just touches wood below
      +-----+-------+-------+-----> s
       nose lowest best  nose highest

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

from ...sizes.tolerances import WELD
from .slopes import most_room, outward

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from .profile import Profiles

    Floats = NDArray[np.float64]
    Ints = NDArray[np.intp]
    Bools = NDArray[np.bool_]


class Wood:
    """Wood below leaves, whose noses are at `depth + lag·sin(tilt) + reach·cos(tilt)`.

    Wood above a leaf is wood below the leaf turned upside down: its heights and slopes change their signs, and its
    nose, the upper leading corner, lags behind the lower one by the thickness.

    What bounds a leaf, its places, are the stations of all openings, then the openings that its rear corner is in, then
    those that its leading corner is in; where a lead is eased, the stations under its chamfer and the openings that the
    tip of the chamfer is in come last.
    """

    def __init__(self, x: Floats, edge: Floats, columns: tuple[Floats, ...]) -> None:
        """x, edge : (n, openings, 4) float mm; -inf where there is no wood. columns : (n,) float each, mm: depth, lag,
        reach, and the leaf's length, run and rise of its lead.
        """
        every = len(x), -1
        self._stations = np.array(
            [one.reshape(every) for one in (x, edge, x - WELD, x + WELD)]
        )  # a corner that just comes to a station, to the rounding, is there
        with np.errstate(all="ignore"):
            rises = (edge[:, :, 1] - edge[:, :, 0], edge[:, :, 3] - edge[:, :, 2])
            runs = (x[:, :, 1] - x[:, :, 0], x[:, :, 3] - x[:, :, 2])
            entry, leave = (
                np.where((run > 0) & np.isfinite(rise), rise / run, 0.0)
                for rise, run in zip(rises, runs, strict=True)
            )
        first, start, stop, last = np.moveaxis(x, 2, 0)
        self._openings = np.array([first - WELD, last + WELD, start, stop, edge[:, :, 1], entry, leave])
        self._columns = np.array(columns)
        self._lead = bool(self._columns[5].any())

    def part(self, rows: slice | Ints) -> Wood:
        """Some of the leaves."""
        part = copy(self)
        for name in ("_stations", "_openings", "_columns"):
            setattr(part, name, getattr(self, name)[:, rows])
        return part

    def bounds(self, slope: Floats) -> tuple[Floats, Floats]:
        """(n, places) float each: bounds of c, and where they are, mm."""
        pose = Pose(self._columns, slope)
        x, count = self._stations[0], self._openings.shape[2]
        places = [x, np.repeat(pose.corners, count, axis=1)]
        if self._lead:
            places += [x, np.repeat(pose.tip[:, None], count, axis=1)]
        return self._values(pose), np.concatenate(places, axis=1)

    def highest(self, slope: Floats) -> tuple[Floats, Floats]:
        """The tightest bound, (n,) float mm, and how it changes with the slope."""
        pose = Pose(self._columns, slope)
        values = self._values(pose)
        each, place = np.arange(len(slope)), values.argmax(axis=1)
        stations, openings = self._stations.shape[2], self._openings.shape[2]
        turn = -self._stations[0][each, place % stations]
        at_corner = np.flatnonzero((place >= stations) & (place < stations + 2 * openings))
        if len(at_corner):
            which, opening = np.divmod(place[at_corner] - stations, openings)
            corner = pose.corners[at_corner, which]
            along = self._along(corner, at_corner, opening) - slope[at_corner]
            turn[at_corner] = along * pose.turns[at_corner, which] - corner
        if self._lead:
            self._turns_under_lead(turn, pose, place - stations - 2 * openings)
        return values[each, place], turn

    def _values(self, pose: Pose) -> Floats:
        """(n, places) float: bounds of c, mm; -inf where there is none."""
        x, edge, early, late = self._stations
        openings = self._openings.shape[2]
        sizes = [x.shape[1], openings, openings, *((x.shape[1], openings) if self._lead else ())]
        ends = np.cumsum(sizes)
        values = np.empty((len(x), ends[-1]))
        s, rear, front = pose.slope[:, None], pose.corners[:, :1], pose.corners[:, 1:]
        over = (late >= rear) & (early <= front)
        values[:, : ends[0]] = np.where(over, edge - s * x, -np.inf)
        at = self._at(pose.corners) - (s * pose.corners)[:, :, None]
        values[:, ends[0] : ends[2]] = at.reshape(len(x), 2 * openings)
        if self._lead:
            tip, steep = pose.tip[:, None], pose.steep[:, None]
            over = (x > front) & (x <= tip)
            values[:, ends[2] : ends[3]] = np.where(over, edge - s * front - steep * (x - front), -np.inf)
            values[:, ends[3] :] = self._at(tip)[:, 0] - s * front - steep * (tip - front)
        return values

    def _at(self, x: Floats) -> Floats:
        """(n, k, openings) float: the edges at x, (n, k) mm, -inf outside the openings."""
        x = x[:, :, None]
        first, last, start, stop, land, entry, leave = self._openings[:, :, None]
        at = land + np.minimum(np.minimum(entry * (x - start), leave * (x - stop)), 0.0)
        return np.where((x >= first) & (x <= last), at, -np.inf)

    def _along(self, x: Floats, rows: Ints, opening: Ints) -> Floats:
        """(k,) float: the slopes of single edges at x, (k,) mm."""
        _, _, start, stop, _, entry, leave = self._openings[:, rows, opening]
        return np.where(x < start, entry, np.where(x > stop, leave, 0.0))

    def _turns_under_lead(self, turn: Floats, pose: Pose, place: Ints) -> None:
        """Sets how bounds over the lead's chamfer change, (n,) float: those with a `place`, (n,) int, from 0 on."""
        own = np.flatnonzero(place >= 0)
        if not len(own):
            return
        stations = self._stations.shape[2]
        pose, place = pose.only(own), place[own]
        front, front_turn = pose.corners[:, 1], pose.turns[:, 1]
        at_tip = place >= stations
        tip, tip_turn = pose.tip, pose.tip_turn
        along = np.zeros(len(own))
        along[at_tip] = self._along(tip[at_tip], own[at_tip], place[at_tip] - stations)
        x = np.where(at_tip, tip, self._stations[0][own, place % stations])
        turn[own] = (pose.steep - pose.slope) * front_turn - front - pose.steep_turn * (x - front)
        turn[own] += np.where(at_tip, (along - pose.steep) * tip_turn, 0.0)


class Pose:
    """Where the corners of leaves are at one slope each; (n,) float, mm, if nothing else is said.

    Attributes
    ----------
    corners, turns : (n, 2), the rear corner and the leading one (behind an eased lead), and how they move with the
        slope
    tip, tip_turn : the end of an eased lead's chamfer, and how it moves with the slope
    steep, steep_turn : slope of that chamfer, and how it changes
    """

    def __init__(self, columns: Floats, slope: Floats) -> None:
        """columns : (6, n) float mm, as of `Wood`"""
        self.slope, self._columns = slope, columns
        depth, lag, reach, length, run, _ = columns
        self._cosine = 1 / np.sqrt(1 + slope * slope)
        behind = np.array([reach - length, reach - run]).T
        self.corners = depth[:, None] + ((lag * slope)[:, None] + behind) * self._cosine[:, None]
        self._behind = behind

    def only(self, which: Ints) -> Pose:
        """Some of them, by number."""
        return Pose(self._columns[:, which], self.slope[which])

    @cached_property
    def turns(self) -> Floats:
        return (self._columns[1][:, None] - self._behind * self.slope[:, None]) * self._cosine[:, None] ** 3

    @cached_property
    def tip(self) -> Floats:
        depth, lag, reach, _, _, rise = self._columns
        return depth + ((lag - rise) * self.slope + reach) * self._cosine

    @property
    def tip_turn(self) -> Floats:
        _, lag, reach, _, _, rise = self._columns
        return (lag - rise - reach * self.slope) * self._cosine**3

    @cached_property
    def steep(self) -> Floats:
        _, _, _, _, run, rise = self._columns
        return np.tan(np.arctan(self.slope) + np.arctan2(rise, run))

    @property
    def steep_turn(self) -> Floats:
        return (1 + self.steep**2) * self._cosine**2


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
        # The nose is at depth + behind·cos(tilt) + above·sin(tilt); upside down the tilt is the opposite one.
        lag = np.concatenate([above, self.thickness - above])
        same = (depth, behind, profiles.length[row], profiles.lead_run[row], self.rise)
        depths, reach, length, run, rise = (np.concatenate([one, one]) for one in same)
        columns = (depths, lag, reach, length, run, rise)
        self._wood = Wood(np.concatenate([x, x]), np.concatenate([low, -high]), columns)

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

    def wood(self, rows: Ints) -> Wood:
        """Wood below some of the leaves, (n,) int; above the leaves by number less the count of all, upside down."""
        return self._wood.part(rows)

    @cached_property
    def _below(self) -> Wood:
        return self._wood.part(slice(0, len(self)))

    @cached_property
    def _above(self) -> Wood:
        return self._wood.part(slice(len(self), None))

    def nose(self, slope: Floats) -> Floats:
        """x of the nose at these slopes, (n,) float mm."""
        return self.depth + (self.point[:, 0] + self.point[:, 1] * slope) / np.sqrt(1 + slope * slope)

    def bounds(self, slope: Floats) -> Bounds:
        """All that bounds the lower edge at these slopes, (n,) float."""
        low, low_x = self._below.bounds(slope)
        above, high_x = self._above.bounds(-slope)
        return Bounds(low, low_x, -above - (self.thickness * np.sqrt(1 + slope * slope))[:, None], high_x)

    def gap(self, slope: Floats) -> tuple[Floats, Floats]:
        """g(s) and its derivative, (n,) float each, mm."""
        values, turns = self._wood.highest(np.concatenate([slope, -slope]))
        low, above, low_turn, above_turn = (*np.split(values, 2), *np.split(turns, 2))
        secant = np.sqrt(1 + slope * slope)
        return -above - self.thickness * secant - low, above_turn - self.thickness * slope / secant - low_turn

    def room(self, slope: Floats) -> tuple[Floats, Floats]:
        """Lowest and highest c at these slopes, (n,) float mm; -inf and inf where nothing bounds it."""
        return (
            self._below.highest(slope)[0],
            -self._above.highest(-slope)[0] - self.thickness * np.sqrt(1 + slope * slope),
        )

    def best(self, group: Ints | None = None) -> tuple[Floats, Floats]:
        """Slope with the most room, and that room: (n,) float each, mm; inf room where one side has no wood.

        The greatest room that can be reached from a level leaf: one turned on end would have more, but not here.

        Parameters
        ----------
        group : (n,) int, from 0 on; where only the least room of each group is wanted. A leaf that is known to have
            more is given up on, with some slope and room beyond that.
        """
        return most_room(self, group)

    def last(self, inside: Floats, side: int | Floats, room: Floats | None = None) -> Floats:
        """(n,) float: the last slope with room, from the slope `inside` on toward rising ones (side 1) or falling.

        An infinite slope of that sign where even the steepest has room, `inside` where there is none to the rounding,
        nan where there is less.

        Parameters
        ----------
        side : 1 or -1, for all or (n,) one each
        room : (n,) float, mm; the room at `inside`, where it is known
        """
        room = self.gap(inside)[0] if room is None else room
        slope = outward(self.gap, inside, np.broadcast_to(np.asarray(side, dtype=float), inside.shape), room)
        return np.where(room >= 0, slope, np.where(room >= -WELD, inside, np.nan))


class LeadingCorners:
    """The lower leading corners of leaves (side -1) or their upper ones (side 1), as far as the wood lets them.

    For an eased lead they are the ends of its blunt face. Where one of them is, a line along the travel goes through
    it: its height counts where that line is at the leaf's depth.

    Parameters
    ----------
    side : (n,) float, 1 or -1 each
    """

    def __init__(self, stances: Stances, side: Floats) -> None:
        rows = np.arange(len(stances)) + np.where(side < 0, 0, len(stances))
        self.stances, self.side, self._wood = stances, side, stances.wood(rows)

    def take(self, which: Ints) -> LeadingCorners:
        """Some of them, by number."""
        some = copy(self)
        some.stances, some.side, some._wood = (
            self.stances.take(which),
            self.side[which],
            self._wood.part(which),
        )
        return some

    def farthest(self, slope: Floats) -> tuple[Floats, Floats]:
        """The lowest height of lower corners, the greatest of upper ones at these slopes, (n,) float mm, and its
        derivative; infinite where nothing bounds it.
        """
        upright = -self.side
        bound, turn = self._wood.highest(upright * slope)
        depth, rise = self.stances.depth, self.stances.rise
        secant = np.sqrt(1 + slope * slope)
        height = slope * depth + upright * (bound + rise * secant)
        return height, turn + depth + upright * rise * slope / secant
