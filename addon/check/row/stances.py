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

import numpy as np

from ...sizes.arrays import Bools, Floats, Ints
from ...sizes.tolerances import WELD
from .bounds import Wood
from .profile import Profiles
from .slopes import most_room, outward


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
    hand : (n,) float, mm; how far off line the hand may hold the middle of the outer end; by default anywhere
    """

    def __init__(
        self,
        profiles: Profiles,
        row: Ints,
        depth: Floats,
        counts: Bools | None = None,
        point: Floats | None = None,
        hand: Floats | None = None,
    ) -> None:
        counts = profiles.present[row] if counts is None else profiles.present[row] & counts
        rows = np.concatenate([row, row])[:, None]
        # Openings with wood on a side come first, and no more than the most that any leaf has there.
        beside = np.concatenate(
            [counts & np.isfinite(one[row, :, 1]) for one in (profiles.low, profiles.high)]
        )
        order = np.argsort(~beside, axis=1, kind="stable")[
            :, : max(int(beside.sum(axis=1).max(initial=0)), 1)
        ]
        x, beside = profiles.x[rows, order], np.take_along_axis(beside, order, axis=1)
        below, above = np.split(order, 2)
        edge = np.concatenate(
            [profiles.low[rows[: len(row)], below], -profiles.high[rows[: len(row)], above]]
        )
        edge = np.where(beside[:, :, None], edge, -np.inf)
        self.depth, self.thickness, self.rise = depth, profiles.thickness[row], profiles.lead_rise[row]
        self.point = np.zeros((len(depth), 2)) if point is None else point
        behind, above = self.point.T
        # The nose is at depth + behind·cos(tilt) + above·sin(tilt); upside down the tilt is the opposite one.
        lag = np.concatenate([above, self.thickness - above])
        same = (depth, behind, profiles.length[row], profiles.lead_run[row], self.rise)
        depths, reach, length, run, rise = (np.concatenate([one, one]) for one in same)
        columns = (depths, lag, reach, length, run, rise)
        held = None
        if hand is not None:
            half = self.thickness / 2
            # A hand that allows nothing allows the rounding: else there would be no room.
            line, hand = profiles.line[row], np.maximum(hand, WELD)
            held = np.concatenate([line - hand, -line - hand]), np.concatenate([half, half])
        self._wood = Wood(x, edge, columns, held)

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

    def some(self) -> tuple[Floats, Floats]:
        """A slope with room, and that room: (n,) float each, mm; the most room there is where that is less than none.

        From a level leaf the last slopes with room are the same as from the best one.
        """
        slope = np.zeros(len(self))
        room = self.gap(slope)[0]
        tight = np.flatnonzero(room < 0)
        if len(tight):
            slope[tight], room[tight] = self.take(tight).best()
        return slope, room

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
        sides = np.broadcast_to(np.asarray(side, dtype=float), inside.shape)
        slope = outward(lambda some: self.gap if some is None else self.take(some).gap, inside, sides, room)
        return np.where(room >= 0, slope, np.where(room >= -WELD, inside, np.nan))
