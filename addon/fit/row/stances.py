"""The poses that a row of openings allows a leaf with its nose at a given depth: exactly, many depths at once.

A pose is the height c and the slope s = tan(tilt) of the leaf's lower edge z = c + s·x; its nose, the lower leading
corner, is at x = d. Every station of an opening that the leaf is over bounds c from below and above, as does every
corner of the leaf that is inside an opening. With

    low(s) = max(edge - s·x)    high(s) = min(edge - s·x) - t·sqrt(1 + s²)

the poses are low(s) <= c <= high(s). Their room g(s) = high(s) - low(s) is concave: it has one greatest value, and one
root on either side of that, where the leaf stands on both edges: the nose is lowest at the left root and highest at
the right one. Tangents of a concave function lie above it, so two of them enclose its greatest value, and each
crosses zero outside its root.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from .profile import Profiles

    Floats = NDArray[np.float64]
    Ints = NDArray[np.intp]
    Bools = NDArray[np.bool_]
    Function = Callable[[Floats], tuple[Floats, Floats]]
    """Slopes (n,) to values and derivatives (n,)."""

STEEPEST: Final = 10.0
"""Slope beyond which a leaf is not looked at: 84 degrees, where a hand no longer pushes it along."""

EXACT: Final = 1e-12
"""mm; a greatest room is found when tangents leave no more above it, a root when no more room is missing."""

SAME_SLOPE: Final = 1e-16
"""Slopes nearer than this are one."""

_FIRST_STEP: Final = 1 / 64
"""How far from level a slope is looked for at first; where there is none, twice as far."""

_STEPS: Final = 80
"""Tangents, or halvings where tangents do not help, until a slope is given up on as found."""


@dataclass(frozen=True, eq=False)
class Bounds:
    """What bounds the leaf's lower edge at one slope each.

    Attributes
    ----------
    low, high : (n, places) float, mm; bounds of c; -inf and inf where there are none
    low_x, high_x : (n, places) float, mm; where they are
    low_turn, high_turn : (n, places) float, mm; how they change with the slope
    """

    low: Floats
    low_x: Floats
    low_turn: Floats
    high: Floats
    high_x: Floats
    high_turn: Floats


class Stances:
    """Leaves with their noses at given depths, among given openings of their rows.

    Parameters
    ----------
    profiles : the rows
    row : (n,) int; row of each stance
    depth : (n,) float, mm; x of the nose
    counts : (n, openings) bool; openings that bound the pose; by default all
    """

    def __init__(self, profiles: Profiles, row: Ints, depth: Floats, counts: Bools | None = None) -> None:
        self.depth = depth[:, None]
        present = profiles.present[row]
        self.counts = (present if counts is None else present & counts)[:, :, None]
        self.x = profiles.x[row]
        self.low = np.where(self.counts, profiles.low[row], -np.inf)
        self.high = np.where(self.counts, profiles.high[row], np.inf)
        self.length, self.thickness = profiles.length[row][:, None], profiles.thickness[row][:, None]
        self.run, self.rise = profiles.lead_run[row][:, None], profiles.lead_rise[row][:, None]
        self._eased = bool(self.rise.any())

    def __len__(self) -> int:
        return len(self.depth)

    def bounds(self, slope: Floats) -> Bounds:
        """All that bounds the lower edge at these slopes, (n,) float."""
        s = slope[:, None]
        secant = np.sqrt(1 + s * s)
        below = self._one_side(s, secant, self.low, -1.0)
        high, high_x, high_turn = self._one_side(s, secant, self.high, 1.0)
        return Bounds(*below, high - self.thickness * secant, high_x, high_turn - self.thickness * s / secant)

    def _one_side(
        self, s: Floats, secant: Floats, edge: Floats, sign: float
    ) -> tuple[Floats, Floats, Floats]:
        """Bounds from the wood on one side (sign -1: below), their places and how they change with the slope.

        The upper edge of a tilted leaf is shifted against the lower one by t·sin(tilt).
        """
        cosine = 1 / secant
        shifted = 0.5 * (1 + sign)
        nose = self.depth - shifted * self.thickness * s * cosine
        nose_turn = -shifted * self.thickness * cosine**3
        rear, rear_turn = nose - self.length * cosine, nose_turn + self.length * s * cosine**3
        front, front_turn = nose - self.run * cosine, nose_turn + self.run * s * cosine**3
        x, wood = self.x.reshape(len(self), -1), edge.reshape(len(self), -1)
        over = (x >= rear) & (x <= front)
        values, places, turns = [np.where(over, wood - s * x, sign * np.inf)], [x], [-x]
        for corner, turn in ((rear, rear_turn), (front, front_turn)):
            at, along = self._edge_at(edge, corner, sign)
            values.append(at - s * corner)
            places.append(np.broadcast_to(corner, at.shape))
            turns.append((along - s) * turn - corner)
        if self._eased:
            eased = self._eased_lead(s, nose, front, front_turn, edge, sign)
            for have, more in zip((values, places, turns), eased, strict=True):
                have += more
        return np.concatenate(values, axis=1), np.concatenate(places, axis=1), np.concatenate(turns, axis=1)

    def _eased_lead(
        self, s: Floats, nose: Floats, front: Floats, front_turn: Floats, edge: Floats, sign: float
    ) -> tuple[list[Floats], list[Floats], list[Floats]]:
        """Bounds over the lead's chamfer: there the leaf's edge is another straight line, steeper by its angle."""
        steep = np.tan(np.arctan(s) - sign * np.arctan2(self.rise, self.run))
        steep_turn = (1 + steep * steep) / (1 + s * s)
        tip = nose + sign * self.rise * s / np.sqrt(1 + s * s)
        x, wood = self.x.reshape(len(self), -1), edge.reshape(len(self), -1)
        turn = -front + (steep - s) * front_turn
        at, _ = self._edge_at(edge, tip, sign)
        over = (x > front) & (x <= tip)
        values = [
            np.where(over, wood - s * front - steep * (x - front), sign * np.inf),
            at - s * front - steep * (tip - front),
        ]
        turns = [
            turn - steep_turn * (x - front),
            np.broadcast_to(turn - steep_turn * (tip - front), at.shape),
        ]
        return values, [x, np.broadcast_to(tip, at.shape)], turns

    def _edge_at(self, edge: Floats, x: Floats, sign: float) -> tuple[Floats, Floats]:
        """(n, openings) float each: the edges at x, (n, 1) mm, infinite outside the opening, and their slopes there."""
        first, start, stop, last = np.moveaxis(self.x, 2, 0)
        inside = (x >= first) & (x <= last) & np.isfinite(edge[:, :, 1])
        nothing = np.full(inside.shape, sign * np.inf)
        if not inside.any():
            return nothing, np.zeros_like(nothing)
        coming, leaving = inside & (x < start), inside & (x > stop)
        at, along = np.where(inside, edge[:, :, 1], nothing), np.zeros_like(nothing)
        for where, end, mouth, land in ((coming, 0, first, start), (leaving, 3, last, stop)):
            if where.any():
                fall = (edge[:, :, end][where] - edge[:, :, 1][where]) / (mouth - land)[where]
                along[where] = fall
                at[where] += fall * (np.broadcast_to(x, where.shape) - land)[where]
        return at, along

    def room(self, slope: Floats) -> tuple[Floats, Floats, Floats, Floats]:
        """Lowest and highest c at these slopes, (n,) float mm, and how both change with the slope.

        -inf and inf where nothing bounds it.
        """
        bounds = self.bounds(slope)
        each = np.arange(len(self))
        low, high = bounds.low.argmax(axis=1), bounds.high.argmin(axis=1)
        return (
            bounds.low[each, low],
            bounds.high[each, high],
            bounds.low_turn[each, low],
            bounds.high_turn[each, high],
        )

    def gap(self, slope: Floats) -> tuple[Floats, Floats]:
        """g(s) and its derivative, (n,) float each, mm."""
        low, high, low_turn, high_turn = self.room(slope)
        return high - low, high_turn - low_turn

    def best(self) -> tuple[Floats, Floats]:
        """Slope with the most room, and that room: (n,) float each, mm; inf room where one side has no wood.

        The greatest room that can be reached from a level leaf: one turned on end would have more, but not here.
        """
        left, right = self._around_best()
        (at_left, up), (at_right, down) = self.gap(left), self.gap(right)
        room = np.maximum(at_left, at_right)
        slope = np.where(np.isfinite(room), np.where(at_left > at_right, left, right), 0.0)
        waiting = np.isfinite(room) & (up > 0) & (down < 0)
        for step in range(_STEPS):
            with np.errstate(all="ignore"):
                crossing = (at_right - at_left + up * left - down * right) / (up - down)
                most = at_left + up * (crossing - left)
            waiting = waiting & (most > room + EXACT) & (right - left > SAME_SLOPE)
            if not waiting.any():
                break
            by_tangents = (crossing > left) & (crossing < right) & (step % 3 != 2)
            new = np.where(waiting, np.where(by_tangents, crossing, (left + right) / 2), slope)
            at_new, turn = self.gap(new)
            better, rising, falling = waiting & (at_new > room), waiting & (turn > 0), waiting & (turn <= 0)
            slope, room = np.where(better, new, slope), np.where(better, at_new, room)
            left, at_left, up = _replaced(rising, (new, at_new, turn), (left, at_left, up))
            right, at_right, down = _replaced(falling, (new, at_new, turn), (right, at_right, down))
        return slope, room

    def _around_best(self) -> tuple[Floats, Floats]:
        """Slopes on either side of the one with the most room, from a level leaf outward."""
        level = np.zeros(len(self))
        side = np.where(self.gap(level)[1] > 0, 1.0, -1.0)
        near, far = level, side * _FIRST_STEP
        while True:
            further = (side * self.gap(far)[1] > 0) & (np.abs(far) < STEEPEST)
            if not further.any():
                return np.minimum(near, far), np.maximum(near, far)
            near, far = (
                np.where(further, far, near),
                np.where(further, np.clip(2 * far, -STEEPEST, STEEPEST), far),
            )

    def last(self, inside: Floats, side: int) -> Floats:
        """(n,) float: the last slope with room, from the slope `inside` on toward rising ones (side 1) or falling.

        An infinite slope of that sign where even the steepest has room, nan where `inside` has none.
        """
        slope = outward(self.gap, inside, np.full(len(self), float(side)))
        return np.where(self.gap(inside)[0] >= 0, slope, np.nan)

    def lowest_nose(self, slope: Floats) -> tuple[Floats, Floats]:
        """Lowest height of the lower leading corner at these slopes, (n,) float mm, and its derivative."""
        low, _, turn, _ = self.room(slope)
        depth = self.depth[:, 0]
        return low + slope * depth, turn + depth

    def highest_top(self, slope: Floats) -> tuple[Floats, Floats]:
        """Greatest height of the leaf's upper edge at the nose's x, (n,) float mm, and its derivative."""
        _, high, _, turn = self.room(slope)
        depth, secant = self.depth[:, 0], np.sqrt(1 + slope * slope)
        thickness = self.thickness[:, 0]
        return high + slope * depth + thickness * secant, turn + depth + thickness * slope / secant


def outward(function: Function, start: Floats, side: Floats) -> Floats:
    """(n,) float: the first slope from `start` toward `side` at which a function changes its sign; else side·inf."""
    positive = function(start)[0] >= 0
    near, far = start, start + side * _FIRST_STEP
    while True:
        same = (function(far)[0] >= 0) == positive
        further = same & (np.abs(far) < STEEPEST)
        if not further.any():
            break
        step = 2 * (far - start)
        near, far = (
            np.where(further, far, near),
            np.where(further, np.clip(start + step, -STEEPEST, STEEPEST), far),
        )
    return np.where(same, side * np.inf, root(function, far, near))


def root(function: Function, a: Floats, b: Floats) -> Floats:
    """(n,) float: where functions that return value and derivative cross zero between a and b.

    Newton's steps from the last place, halvings where they leave what encloses the root; `a` where both ends have the
    same sign.
    """
    (at_a, turn), (at_b, _) = function(a), function(b)
    apart = np.sign(at_a) * np.sign(at_b) < 0
    now, at = a, at_a
    for step in range(_STEPS):
        waiting = apart & (np.abs(at) > EXACT) & (np.abs(b - a) > SAME_SLOPE)
        if not waiting.any():
            break
        with np.errstate(all="ignore"):
            newton = now - at / turn
        enclosed = ((newton - a) * (newton - b) < 0) & (step < _STEPS // 2)
        now = np.where(waiting, np.where(enclosed, newton, (a + b) / 2), now)
        at, turn = _replaced(waiting, function(now), (at, turn))
        as_a = np.sign(at) == np.sign(at_a)
        a, b = np.where(waiting & as_a, now, a), np.where(waiting & ~as_a, now, b)
    return np.where(apart, now, np.where(at_b == 0, b, a))


def _replaced(where: Bools, new: tuple[Floats, ...], old: tuple[Floats, ...]) -> list[Floats]:
    return [np.where(where, one, other) for one, other in zip(new, old, strict=True)]
