r"""What bounds a leaf from one side: wood below it, the lead and the leaf's own corners, the hand at its outer end.

                                  nose
          ______________________ |       each station x of an opening that the leaf is over, and each corner of the
outer end ______________________\|       leaf that is in an opening, bounds the height of the leaf's lower edge; the
  hand ^     x        x       x          hand does so at the middle of the outer end
"""

from __future__ import annotations

from copy import copy
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
    those that its leading corner is in, where a lead is eased those that the tip of its chamfer is in; last the hand at
    the outer end, where one holds it.
    """

    def __init__(
        self, x: Floats, edge: Floats, columns: tuple[Floats, ...], hand: tuple[Floats, Floats] | None = None
    ) -> None:
        """x, edge : (n, openings, 4) float mm; -inf where there is no wood. columns : (n,) float each, mm: depth, lag,
        reach, and the leaf's length, run and rise of its lead. hand : (n,) float each, mm: least height of the middle
        of the outer end, and half the leaf's thickness.
        """
        self._stations = np.array([one.reshape(len(x), -1) for one in (x, edge)])
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
        pose = self._pose(slope)
        corners = np.repeat(pose.corners, self._openings.shape[2], axis=1)
        outer = [] if self._hand is None else [pose.corners[:, :1]]
        return self._values(pose), np.concatenate([self._stations[0], corners, *outer], axis=1)

    def highest(self, slope: Floats) -> tuple[Floats, Floats]:
        """The tightest bound, (n,) float mm, and how it changes with the slope."""
        pose = self._pose(slope)
        values = self._values(pose)
        each, place = np.arange(len(slope)), values.argmax(axis=1)
        stations, openings = self._stations.shape[2], self._openings.shape[2]
        x = self._stations[0][each, place % stations]
        at_corner = np.flatnonzero(place >= stations)
        which, opening = np.divmod(place[at_corner] - stations, openings)
        which = np.minimum(which, pose.corners.shape[1] - 1)
        x[at_corner] = pose.corners[at_corner, which]
        turn = pose.turn_at(x, at_corner[which == 2])
        if self._hand is not None:
            at_hand = place[at_corner] == values.shape[1] - 1
            turn[at_corner[at_hand]] = self._turns_at_hand(pose, at_corner[at_hand])
            at_corner, which, opening = (one[~at_hand] for one in (at_corner, which, opening))
        if len(at_corner):
            along = self._along(x[at_corner], at_corner, opening) - pose.incline(at_corner, which)
            turn[at_corner] += along * pose.turns[at_corner, which]
        return values[each, place], turn

    def _pose(self, slope: Floats) -> Pose:
        return Pose(self._columns, slope, eased=self._lead)

    def _values(self, pose: Pose) -> Floats:
        """(n, places) float: bounds of c, mm; -inf where there is none."""
        x, edge = self._stations
        stations, corners = x.shape[1], pose.corners
        last = stations + corners.shape[1] * self._openings.shape[2]
        values = np.empty((len(x), last + (self._hand is not None)))
        # A corner that just comes to a station, to the rounding, is there.
        over = (x >= corners[:, :1] - WELD) & (x <= corners[:, 1:].max(axis=1, keepdims=True) + WELD)
        values[:, :stations] = np.where(over, edge - pose.under(x), -np.inf)
        at = self._at(corners) - pose.heights[:, :, None]
        values[:, stations:last] = at.reshape(len(x), last - stations)
        if self._hand is not None:
            least, half = self._hand
            values[:, -1] = least - half * pose.cosine - pose.slope * corners[:, 0]
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


class Pose:
    """Where the corners of leaves are at one slope each; (n,) float, mm, if nothing else is said.

    Attributes
    ----------
    corners : (n, 2 or 3), the rear corner and the leading one; of eased leads that behind the chamfer, and its tip
    turns : (n, 2 or 3), how they move with the slope
    heights : (n, 2 or 3), of the underside there, above c
    cosine : of the tilt
    """

    def __init__(self, columns: Floats, slope: Floats, *, eased: bool) -> None:
        """columns : (6, n) float mm, as of `Wood`; eased : whether any has a lead"""
        depth, lag, reach, length, run, rise = columns
        self.slope, self._eased = slope, eased
        self.cosine = 1 / np.sqrt(1 + slope * slope)
        behind = np.stack([reach - length, reach - run, *([reach] if eased else ())], axis=1)
        above = np.stack([lag, lag, *([lag - rise] if eased else ())], axis=1)
        s, cosine = slope[:, None], self.cosine[:, None]
        self.corners = depth[:, None] + (above * s + behind) * cosine
        self.turns = (above - behind * s) * cosine**3
        self.heights = s * self.corners
        if eased:
            self._steep = np.tan(np.arctan(slope) + np.arctan2(rise, run))
            self.heights[:, 2] += (self._steep - slope) * (self.corners[:, 2] - self.corners[:, 1])

    def under(self, x: Floats) -> Floats:
        """(n, k) float, mm: how high the underside is above c at x, (n, k) mm: straight, then along the lead."""
        straight = self.slope[:, None] * x
        if not self._eased:
            return straight
        past = x - self.corners[:, 1:2]
        return straight + np.where(past > 0, (self._steep - self.slope)[:, None] * past, 0.0)

    def turn_at(self, x: Floats, tips: Ints) -> Floats:
        """(n,) float: how a bound at x, (n,) mm, changes with the slope where it stays there.

        Parameters
        ----------
        tips : (k,) int; those that are at the tip of the lead, by number
        """
        if not self._eased:
            return -x
        past = x - self.corners[:, 1]
        under_lead = past > 0
        under_lead[tips] = True
        steep_turn = (1 + self._steep**2) * self.cosine**2
        more = (self._steep - self.slope) * self.turns[:, 1] + (1 - steep_turn) * past
        return np.where(under_lead, more, 0.0) - x

    def incline(self, rows: Ints, which: Ints) -> Floats:
        """(k,) float: slope of the underside up to corners, by row and number."""
        slope = self.slope[rows]
        return np.where(which == 2, self._steep[rows], slope) if self._eased else slope
