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

from copy import copy
from dataclasses import dataclass
from functools import cached_property
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

EXACT: Final = 1e-10
"""mm; a greatest room is found when tangents leave no more above it, a root when no more room is missing."""

SAME_SLOPE: Final = 1e-13
"""Slopes nearer than this are one: over a metre they differ by 1e-10 mm."""

_FIRST_STEP: Final = 1 / 64
"""How far from level a slope is looked for at first; where there is none, twice as far."""

_STEPS: Final = 80
"""Tangents, or halvings where tangents do not help, until a slope is given up on as found."""


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
    """Wood below leaves, whose noses are at `depth + lag·sin(tilt)`.

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

    def bounds(self, slope: Floats) -> tuple[Floats, Floats, Floats]:
        """(n, places) float each: bounds of c, where they are, mm, and how they change with the slope."""
        s, column = slope[:, None], self.columns
        secant = np.sqrt(1 + s * s)
        cosine = 1 / secant
        back = s * cosine**3
        nose = column["depth"] + column["lag"] * s * cosine
        corners = np.concatenate([column["length"], column["run"]], axis=1)
        turns = column["lag"] * cosine**3 + corners * back
        corners = nose - corners * cosine
        over = (self.x >= corners[:, :1]) & (self.x <= corners[:, 1:])
        values = np.where(over, self.edge - s * self.x, -np.inf)
        at, along = self._at(corners[:, :, None])
        of_corners = at - (s * corners)[:, :, None]
        corner_turns = (along - s[:, :, None]) * turns[:, :, None] - corners[:, :, None]
        rows = (len(slope), -1)
        found = [
            (values, self.x, -self.x),
            (
                of_corners.reshape(rows),
                np.broadcast_to(corners[:, :, None], at.shape).reshape(rows),
                corner_turns.reshape(rows),
            ),
        ]
        if self.lead:
            found += self._under_lead(s, nose, corners[:, 1:], turns[:, 1:])
        return tuple(np.concatenate(arrays, axis=1) for arrays in zip(*found, strict=True))  # type: ignore[return-value]

    def _at(self, x: Floats) -> tuple[Floats, Floats]:
        """(n, k, openings) float each: the edges at x, (n, k, 1) mm, -inf outside the openings, and their slopes."""
        before, beyond = self.start - x, x - self.stop
        at = self.land - self.entry * np.maximum(before, 0.0) + self.exit * np.maximum(beyond, 0.0)
        along = self.entry * (before > 0) + self.exit * (beyond > 0)
        return np.where((x >= self.first) & (x <= self.last), at, -np.inf), along

    def _under_lead(
        self, s: Floats, nose: Floats, front: Floats, front_turn: Floats
    ) -> list[tuple[Floats, Floats, Floats]]:
        """Bounds over the lead's chamfer: there the leaf's edge is another straight line, steeper by its angle."""
        run, rise = self.columns["run"], self.columns["rise"]
        steep = np.tan(np.arctan(s) + np.arctan2(rise, run))
        steep_turn = (1 + steep * steep) / (1 + s * s)
        tip = nose - rise * s / np.sqrt(1 + s * s)
        turn = (steep - s) * front_turn - front
        over = (self.x > front) & (self.x <= tip)
        at, _ = self._at(tip[:, :, None])
        at = at[:, 0, :]
        return [
            (
                np.where(over, self.edge - s * front - steep * (self.x - front), -np.inf),
                self.x,
                turn - steep_turn * (self.x - front),
            ),
            (
                at - s * front - steep * (tip - front),
                np.broadcast_to(tip, at.shape),
                np.broadcast_to(turn - steep_turn * (tip - front), at.shape),
            ),
        ]

    def highest(self, slope: Floats) -> tuple[Floats, Floats]:
        """The tightest bound, (n,) float mm, and how it changes with the slope."""
        values, _, turns = self.bounds(slope)
        each, place = np.arange(len(values)), values.argmax(axis=1)
        return values[each, place], turns[each, place]


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
        self.depth, self.thickness = depth, profiles.thickness[row]
        nothing = np.zeros_like(depth)
        columns = {
            "depth": (depth, depth),
            "lag": (nothing, self.thickness),
            "length": (profiles.length[row],) * 2,
            "run": (profiles.lead_run[row],) * 2,
            "rise": (profiles.lead_rise[row],) * 2,
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
        some.depth, some.thickness = self.depth[which], self.thickness[which]
        some._wood = self._wood.part(np.concatenate([which, which + len(self)]))
        return some

    @cached_property
    def _below(self) -> _Wood:
        return self._wood.part(slice(0, len(self)))

    @cached_property
    def _above(self) -> _Wood:
        return self._wood.part(slice(len(self), None))

    def bounds(self, slope: Floats) -> Bounds:
        """All that bounds the lower edge at these slopes, (n,) float."""
        low, low_x, _ = self._below.bounds(slope)
        above, high_x, _ = self._above.bounds(-slope)
        return Bounds(low, low_x, -above - (self.thickness * np.sqrt(1 + slope * slope))[:, None], high_x)

    def lowest_nose(self, slope: Floats) -> tuple[Floats, Floats]:
        """Lowest height of the lower leading corner at these slopes, (n,) float mm, and its derivative."""
        low, turn = self._below.highest(slope)
        return low + slope * self.depth, turn + self.depth

    def highest_top(self, slope: Floats) -> tuple[Floats, Floats]:
        """Greatest height of the leaf's upper edge at the nose's x, (n,) float mm, and its derivative."""
        above, turn = self._above.highest(-slope)
        return slope * self.depth - above, turn + self.depth

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
        left, right = self._around_best()
        (at_left, up), (at_right, down) = self.gap(left), self.gap(right)
        room = np.maximum(at_left, at_right)
        slope = np.where(np.isfinite(room), np.where(at_left > at_right, left, right), 0.0)
        waiting = np.isfinite(room) & (up > 0) & (down < 0)
        for step in range(_STEPS):
            with np.errstate(all="ignore"):
                crossing = (at_right - at_left + up * left - down * right) / (up - down)
                most = at_left + up * (crossing - left)
                # Tangents that cross below what was found are none: a corner that runs into a chamfer bends g up.
                waiting = waiting & (np.abs(most - room) > EXACT) & (right - left > SAME_SLOPE)
            if not waiting.any():
                break
            by_tangents = (crossing > left) & (crossing < right) & (most > room) & (step % 3 != 2)
            new = np.where(waiting, np.where(by_tangents, crossing, (left + right) / 2), slope)
            at_new, turn = self.gap(new)
            better, rising, falling = waiting & (at_new > room), waiting & (turn > 0), waiting & (turn <= 0)
            slope, room = np.where(better, new, slope), np.where(better, at_new, room)
            left, at_left, up = _replaced(rising, (new, at_new, turn), (left, at_left, up))
            right, at_right, down = _replaced(falling, (new, at_new, turn), (right, at_right, down))
        return slope, room

    def _around_best(self) -> tuple[Floats, Floats]:
        """Slopes on either side of the one with the most room, from a level leaf outward."""
        near = np.zeros(len(self))
        at_near, turn = self.gap(near)
        side = np.where(turn > 0, 1.0, -1.0)
        far = side * _FIRST_STEP
        while True:
            at_far, turn = self.gap(far)
            # A leaf that leans more and has less room is past the best, though a corner in a chamfer may gain again.
            further = (side * turn > 0) & (at_far >= at_near) & (np.abs(far) < STEEPEST)
            if not further.any():
                return np.minimum(near, far), np.maximum(near, far)
            near, at_near, far = (
                np.where(further, far, near),
                np.where(further, at_far, at_near),
                np.where(further, np.clip(2 * far, -STEEPEST, STEEPEST), far),
            )

    def last(self, inside: Floats, side: int) -> Floats:
        """(n,) float: the last slope with room, from the slope `inside` on toward rising ones (side 1) or falling.

        An infinite slope of that sign where even the steepest has room, nan where `inside` has none.
        """
        slope = outward(self.gap, inside, np.full(len(self), float(side)))
        return np.where(self.gap(inside)[0] >= 0, slope, np.nan)


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
