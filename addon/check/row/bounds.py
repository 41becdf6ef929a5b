r"""What bounds a leaf from one side: wood below it, the lead and the leaf's own corners, the hand at its outer end.

                                  nose
          ______________________ |       each station x of an opening that the leaf is over, and each corner of the
outer end ______________________\|       leaf that is in an opening, bounds the height of the leaf's lower edge; the
  hand ^     x        x       x          hand does so at the middle of the outer end
"""

from __future__ import annotations

from copy import copy
from functools import cached_property
from typing import Final

import numpy as np

from ...sizes.arrays import Floats, Ints
from ...sizes.tolerances import WELD

_UPRIGHT: Final = 1.5
"""rad; a lead's chamfer that leans more stands upright, as far as its slope is asked."""


class Wood:
    """Wood below leaves, whose noses are at `depth + lag·sin(tilt) + reach·cos(tilt)`.

    Wood above a leaf is wood below the leaf turned upside down: its heights and slopes change their signs, and its
    nose, the upper leading corner, lags behind the lower one by the thickness.

    What bounds a leaf, its places, are the stations of all openings, then the openings that its rear corner is in, then
    those that its leading corner is in; where a lead is eased, the stations under its chamfer and the openings that the
    tip of the chamfer is in; last the hand at the outer end, where one holds it.
    """

    def __init__(
        self, x: Floats, edge: Floats, columns: tuple[Floats, ...], hand: tuple[Floats, Floats] | None = None
    ) -> None:
        """x, edge : (n, openings, 4) float mm; -inf where there is no wood. columns : (n,) float each, mm: depth, lag,
        reach, and the leaf's length, run and rise of its lead. hand : (n,) float each, mm: least height of the middle
        of the outer end, and half the leaf's thickness.
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
        self._hand = None if hand is None else np.array(hand)

    def part(self, rows: slice | Ints) -> Wood:
        """Some of the leaves."""
        part = copy(self)
        for name in ("_stations", "_openings", "_columns"):
            setattr(part, name, getattr(self, name)[:, rows])
        if self._hand is not None:
            part._hand = self._hand[:, rows]
        return part

    @property
    def length(self) -> Floats:
        """(n,) float, mm; of each leaf."""
        return self._columns[3]

    @property
    def lead_length(self) -> Floats:
        """(n,) float, mm: run of each leaf's lead."""
        return self._columns[4]

    def most_turning(self, low: Floats, high: Floats) -> Floats:
        """(n,) float, mm: by no more the leading corner sinks from one slope to a greater one, (n,) float each.

        All that bounds it lets it rise with the slope, but for what is under the lead's chamfer or on an opening's
        there: the sum of what each term of that derivative can be at worst, over the whole interval.
        """
        depth, lag, _, _, run, rise = self._columns
        steepest = np.maximum(np.abs(low), np.abs(high))
        steep = np.tan(np.minimum(np.arctan(steepest) + np.arctan2(rise, run), _UPRIGHT))
        wide = run + rise * steepest + WELD
        ahead, behind = depth + lag * steepest + WELD, depth - wide - lag * steepest
        first, last, start, stop, land, entry, leave = self._openings
        on_entry = (first <= ahead[:, None]) & (start >= behind[:, None]) & np.isfinite(land)
        on_exit = (stop <= ahead[:, None]) & (last >= behind[:, None]) & np.isfinite(land)
        along = np.maximum(np.abs(entry) * on_entry, np.abs(leave) * on_exit).max(axis=1, initial=0.0)
        worst = (1 + steep * steep) * wide - run / np.sqrt(1 + steepest * steepest)
        worst += steepest * (lag + rise + steep * (run + lag)) + along * (lag + rise + run)
        return np.maximum(worst, 0.0) * (high - low)

    @property
    def last_station(self) -> Floats:
        """(n,) float, mm: x of the last station with wood; -inf where there is none."""
        return np.where(np.isfinite(self._stations[1]), self._stations[0], -np.inf).max(
            axis=1, initial=-np.inf
        )

    def turning_slopes(self) -> Floats:
        """(n, k) float: slopes at which the rear corner, the leading one or the tip of the lead is at a station.

        A corner is at `depth + (lag·s + reach)/√(1 + s²)`: squared, a quadratic equation for s. nan where it has no
        solution; some of those that it has are none of the place, but of its mirror image.
        """
        depth, lag, reach, length, run, rise = self._columns
        found = []
        for behind, above in ((reach - length, lag), (reach - run, lag), (reach, lag - rise)):
            far = self._stations[0] - depth[:, None]
            behind, above = behind[:, None], above[:, None]
            a, b, c = far**2 - above**2, -2 * above * behind, far**2 - behind**2
            with np.errstate(all="ignore"):
                root = np.sqrt(b * b - 4 * a * c)
                found += [(-b - root) / (2 * a), (-b + root) / (2 * a)]
        slopes = np.concatenate(found, axis=1)
        return np.where(np.isfinite(slopes), slopes, np.nan)

    def bounds(self, slope: Floats) -> tuple[Floats, Floats]:
        """(n, places) float each: bounds of c, and where they are, mm."""
        pose = Pose(self._columns, slope)
        x, count = self._stations[0], self._openings.shape[2]
        places = [x, np.repeat(pose.corners, count, axis=1)]
        if self._lead:
            places += [x, np.repeat(pose.tip[:, None], count, axis=1)]
        if self._hand is not None:
            places.append(pose.corners[:, :1])
        return self._values(pose), np.concatenate(places, axis=1)

    def highest(self, slope: Floats) -> tuple[Floats, Floats]:
        """The tightest bound, (n,) float mm, and how it changes with the slope."""
        pose = Pose(self._columns, slope)
        values = self._values(pose)
        each, place = np.arange(len(slope)), values.argmax(axis=1)
        tightest = values[each, place]
        stations, openings = self._stations.shape[2], self._openings.shape[2]
        turn = -self._stations[0][each, place % stations]
        at_corner = np.flatnonzero((place >= stations) & (place < stations + 2 * openings))
        if len(at_corner):
            which, opening = np.divmod(place[at_corner] - stations, openings)
            corner = pose.corners[at_corner, which]
            along = self._along(corner, at_corner, opening) - slope[at_corner]
            turn[at_corner] = along * pose.turns[at_corner, which] - corner
        at_hand = np.flatnonzero(place == values.shape[1] - 1) if self._hand is not None else each[:0]
        if self._lead:
            place[at_hand] = 0
            self._turns_under_lead(turn, pose, place - stations - 2 * openings)
        if len(at_hand):
            turn[at_hand] = self._turns_at_hand(pose, at_hand)
        return tightest, turn

    def _values(self, pose: Pose) -> Floats:
        """(n, places) float: bounds of c, mm; -inf where there is none."""
        x, edge, early, late = self._stations
        openings = self._openings.shape[2]
        sizes = [x.shape[1], openings, openings, *((x.shape[1], openings) if self._lead else ())]
        ends = np.cumsum(sizes)
        values = np.empty((len(x), ends[-1] + (self._hand is not None)))
        s, rear, front = pose.slope[:, None], pose.corners[:, :1], pose.corners[:, 1:]
        over = (late >= rear) & (early <= front)
        values[:, : ends[0]] = np.where(over, edge - s * x, -np.inf)
        at = self._at(pose.corners) - (s * pose.corners)[:, :, None]
        values[:, ends[0] : ends[2]] = at.reshape(len(x), 2 * openings)
        if self._lead:
            tip, steep = pose.tip[:, None], pose.steep[:, None]
            over = (x > front) & (x <= tip)
            values[:, ends[2] : ends[3]] = np.where(over, edge - s * front - steep * (x - front), -np.inf)
            values[:, ends[3] : ends[4]] = self._at(tip)[:, 0] - s * front - steep * (tip - front)
        if self._hand is not None:
            least, half = self._hand
            values[:, -1] = least - half * pose.cosine - pose.slope * pose.corners[:, 0]
        return values

    def _turns_at_hand(self, pose: Pose, which: Ints) -> Floats:
        """(k,) float: how the bound of the hand changes with the slope, for some leaves by number."""
        assert self._hand is not None
        slope, corner = pose.slope[which], pose.corners[which, 0]
        upright = self._hand[1, which] * slope * pose.cosine[which] ** 3
        return upright - corner - slope * pose.turns[which, 0]

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
    cosine : of the tilt
    """

    def __init__(self, columns: Floats, slope: Floats) -> None:
        """columns : (6, n) float mm, as of `Wood`"""
        self.slope, self._columns = slope, columns
        depth, lag, reach, length, run, _ = columns
        self.cosine = 1 / np.sqrt(1 + slope * slope)
        behind = np.array([reach - length, reach - run]).T
        self.corners = depth[:, None] + ((lag * slope)[:, None] + behind) * self.cosine[:, None]
        self._behind = behind

    def only(self, which: Ints) -> Pose:
        """Some of them, by number."""
        return Pose(self._columns[:, which], self.slope[which])

    @cached_property
    def turns(self) -> Floats:
        return (self._columns[1][:, None] - self._behind * self.slope[:, None]) * self.cosine[:, None] ** 3

    @cached_property
    def tip(self) -> Floats:
        depth, lag, reach, _, _, rise = self._columns
        return depth + ((lag - rise) * self.slope + reach) * self.cosine

    @property
    def tip_turn(self) -> Floats:
        _, lag, reach, _, _, rise = self._columns
        return (lag - rise - reach * self.slope) * self.cosine**3

    @cached_property
    def steep(self) -> Floats:
        _, _, _, _, run, rise = self._columns
        return np.tan(np.arctan(self.slope) + np.arctan2(rise, run))

    @property
    def steep_turn(self) -> Floats:
        return (1 + self.steep**2) * self.cosine**2
