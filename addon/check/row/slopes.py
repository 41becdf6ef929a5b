"""The slope with the most room, and where the room ends, many leaves at once.

    g ^              x          two tangents cross above the greatest room: the next one is taken below that
      |          .  ---  .
      |       .-'         '-.   the room g(s)
      |     .'               '.
    0 +---o-------------------o----> s
      | . root             root '.
                                  a tangent crosses zero outside of the root: the next one is taken there

Tangents find both where the room is concave (Kelley, The cutting-plane method, 1960; Newton's method for the roots),
halvings where it is not. A corner of the leaf that runs along wood when the slope changes can bend the room upward, and
one that comes off the wood makes it jump. So what is looked for is the greatest room that can be reached from a level
leaf without less on the way.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields
from typing import Final, Protocol

import numpy as np

from ...sizes.arrays import Bools, Floats, Ints
from ...sizes.tolerances import CONTACT

Function = Callable[[Floats], tuple[Floats, Floats]]
"""Slopes (n,) to values and derivatives (n,)."""

Curves = Callable[[Ints | None], Function]
"""Which ones of many, by number, or None for all, to the function of these."""


STEEPEST: Final = 10.0
"""Slope beyond which a leaf is not looked at: 84 degrees, where a hand no longer pushes it along."""

_FIRST_STEP: Final = 1 / 64
"""How far from level a slope is looked for at first; where there is none, twice as far."""

_EXACT: Final = 1e-12
"""mm; a greatest room is found when tangents leave no more above it, a root when no more room is missing."""

_SAME_SLOPE: Final = 1e-16
"""Slopes nearer than this are one."""

_STEPS: Final = 80
"""Tangents, or halvings where tangents do not help, until a slope is given up on as found."""

_NEAR: Final = 1e-9
"""How far from the slope with the most room it is made sure that there is less."""


class _Asked:
    """Curves of which fewer and fewer are asked, so that the others need not be worked out."""

    def __init__(self, curves: Curves, count: int) -> None:
        self._curves, self._own, self._function = curves, np.arange(count), curves(None)

    def __call__(self, which: Ints, slope: Floats) -> tuple[Floats, Floats]:
        """Values and derivatives of some, (k,) int rising, at slopes (k,); no others are asked later."""
        if 2 * len(which) < len(self._own):
            self._own, self._function = which, self._curves(which)
        if len(which) == len(self._own):
            return self._function(slope)
        slopes, place = np.zeros(len(self._own)), np.searchsorted(self._own, which)
        slopes[place] = slope
        values, turns = self._function(slopes)
        return values[place], turns[place]


class Rooms(Protocol):
    """Leaves whose room at a slope can be asked, as `Stances` are."""

    def __len__(self) -> int: ...

    def take(self, which: Ints) -> Rooms:
        """Some of them, by number."""
        ...

    def gap(self, slope: Floats) -> tuple[Floats, Floats]:
        """The room of each at a slope of its own, and its derivative, (n,) float each."""
        ...


@dataclass(eq=False)
class _Search:
    """Slopes that enclose the best one, (n,) float each, with the room there, mm, and how it turns."""

    left: Floats
    at_left: Floats
    up: Floats
    right: Floats
    at_right: Floats
    down: Floats
    slope: Floats
    """The best one so far."""
    room: Floats
    outward: Floats
    """1 where the slope with the most room is above 0, -1 where it is below."""

    def only(self, some: Bools) -> _Search:
        return _Search(*(getattr(self, one.name)[some] for one in fields(self)))

    def crossing(self) -> tuple[Floats, Floats]:
        """Where the tangents at both ends cross, and the room there."""
        at = (self.at_right - self.at_left + self.up * self.left - self.down * self.right) / (
            self.up - self.down
        )
        return at, self.at_left + self.up * (at - self.left)

    def put(self, new: Floats, at_new: Floats, turn: Floats, waiting: Bools) -> None:
        """Narrow the enclosure: what has less room than the end nearer to level is past the best one."""
        up, at_left, at_right = turn > 0, self.at_left, self.at_right
        before = np.where(self.outward > 0, up & (at_new >= at_left), up | (at_new < at_right))
        for found, names, values in (
            (waiting & (at_new > self.room), ("slope", "room"), (new, at_new)),
            (waiting & before, ("left", "at_left", "up"), (new, at_new, turn)),
            (waiting & ~before, ("right", "at_right", "down"), (new, at_new, turn)),
        ):
            for name, value in zip(names, values, strict=True):
                setattr(self, name, np.where(found, value, getattr(self, name)))


def most_room(stances: Rooms, group: Ints | None = None) -> tuple[Floats, Floats]:
    """Slope with the most room, and that room: (n,) float each, mm; inf room where one side has no wood.

    Parameters
    ----------
    group : (n,) int, from 0 on; where only the least room of each group is wanted, see `Stances.best`
    """
    now = _around(stances)
    best = now.slope.copy(), now.room.copy()
    own = np.arange(len(stances))
    with np.errstate(all="ignore"):
        waiting = np.isfinite(now.room) & ((now.up > 0) | (now.at_left < now.at_right))
        waiting &= (now.down < 0) | (now.at_right < now.at_left)
        for step in range(_STEPS):
            crossing, most = now.crossing()
            # Tangents that cross below what was found are none: a corner that runs into a chamfer bends the room up.
            # Where they cross at it, the next step looks whether it falls on both sides.
            met = (np.abs(most - now.room) <= _EXACT) & (now.slope >= now.left) & (now.slope <= now.right)
            waiting = waiting & (now.right - now.left > np.where(met, 2 * _NEAR, _SAME_SLOPE))
            if group is not None:
                waiting &= ~_beaten(now.room, group[own], waiting)
            if not waiting.any():
                break
            if 2 * np.count_nonzero(waiting) < len(own):
                best[0][own], best[1][own] = now.slope, now.room
                stances, own, now = stances.take(np.flatnonzero(waiting)), own[waiting], now.only(waiting)
                crossing, most, met = crossing[waiting], most[waiting], met[waiting]
                waiting = waiting[waiting]
            by_tangents = (now.up > 0) & (now.down < 0) & (crossing > now.left) & (crossing < now.right)
            by_tangents &= (most > now.room) & (step % 3 != 2)
            # A bend at the best slope shows the turn of either side: where tangents make no sense, look beside it.
            bent = (most < now.room) & ((now.slope == now.left) | (now.slope == now.right)) & (step % 2 == 0)
            beyond = met | (bent & (now.right - now.left > 2 * _NEAR))
            new = np.where(by_tangents, crossing, (now.left + now.right) / 2)
            beside = np.where(now.right - now.slope > now.slope - now.left, _NEAR, -_NEAR)
            new = np.where(waiting, np.where(beyond, now.slope + beside, new), now.slope)
            now.put(new, *_held(*stances.gap(new)), waiting)
    best[0][own], best[1][own] = now.slope, now.room
    return best


def _beaten(room: Floats, group: Ints, waiting: Bools) -> Bools:
    """(n,) bool: which have more room already than the least that is settled in their group."""
    least = np.full(int(group.max(initial=-1)) + 1, np.inf)
    np.minimum.at(least, group[~waiting], room[~waiting])
    return room > least[group] + CONTACT


def _held(room: Floats, turn: Floats) -> tuple[Floats, Floats]:
    """The room and how it turns; none where a leaf that leans so much is held by nothing any more."""
    return np.where(np.isfinite(room), room, -np.inf), turn


def _around(stances: Rooms) -> _Search:
    """Slopes on either side of the one with the most room, from a level leaf outward."""
    asked = _Asked(lambda which: stances.gap if which is None else stances.take(which).gap, len(stances))
    near, own = np.zeros(len(stances)), np.arange(len(stances))
    level, turn = asked(own, near)
    at_near, turn_near = _held(level, turn)
    side = np.where(turn > 0, 1.0, -1.0)
    far = side * _FIRST_STEP
    at_far, turn_far = at_near.copy(), turn_near.copy()
    while True:
        at_far[own], turn_far[own] = _held(*asked(own, far[own]))
        # A leaf that leans more and has less room is past the best, though a corner in a chamfer may gain again.
        further = (side * turn_far > 0) & (at_far >= at_near) & (np.abs(far) < STEEPEST) & np.isfinite(level)
        own = own[further[own]]
        if not len(own):
            break
        near[own], at_near[own], turn_near[own] = far[own], at_far[own], turn_far[own]
        far[own] = np.clip(2 * far[own], -STEEPEST, STEEPEST)
    rising = side > 0
    at_left, up, at_right, down = (
        np.where(rising, one, other)
        for one, other in ((at_near, at_far), (turn_near, turn_far), (at_far, at_near), (turn_far, turn_near))
    )
    left, right = np.minimum(near, far), np.maximum(near, far)
    room = np.where(np.isfinite(level), np.maximum(at_left, at_right), np.inf)
    slope = np.where(np.isfinite(room), np.where(at_left > at_right, left, right), 0.0)
    return _Search(left, at_left, up, right, at_right, down, slope, room, side)


def outward(curves: Curves, start: Floats, side: Floats, at_start: Floats) -> Floats:
    """(n,) float: the first slope from `start` toward `side` at which a function changes its sign; else side·inf.

    Parameters
    ----------
    at_start : (n,) float; the functions' values there
    """
    asked, own, positive = _Asked(curves, len(start)), np.arange(len(start)), at_start >= 0
    near, at_near, far = start.copy(), at_start.copy(), start + side * _FIRST_STEP
    at_far, turn = np.empty((2, len(start)))
    while True:
        at_far[own], turn[own] = asked(own, far[own])
        own = own[((at_far >= 0) == positive)[own] & (np.abs(far[own]) < STEEPEST)]
        if not len(own):
            break
        near[own], at_near[own] = far[own], at_far[own]
        far[own] = np.clip(2 * far[own] - start[own], -STEEPEST, STEEPEST)
    same = (at_far >= 0) == positive
    return np.where(same, side * np.inf, root(curves, (far, at_far, turn), (near, at_near)))


def root(curves: Curves, first: tuple[Floats, Floats, Floats], second: tuple[Floats, Floats]) -> Floats:
    """(n,) float: where functions cross zero between two places.

    Newton's steps from the last place, halvings where they leave what encloses the root; the first place where both
    have the same sign.

    Parameters
    ----------
    first : a place, the value there and the derivative
    second : another one and the value there
    """
    (a, at_a, turn), (b, at_b) = (tuple(one.copy() for one in place) for place in (first, second))
    apart = np.sign(at_a) * np.sign(at_b) < 0
    asked, now, at, sign = _Asked(curves, len(a)), a.copy(), at_a, np.sign(at_a)
    for step in range(_STEPS):
        own = np.flatnonzero(apart & (np.abs(at) > _EXACT) & (np.abs(b - a) > _SAME_SLOPE))
        if not len(own):
            break
        with np.errstate(all="ignore"):
            newton = now[own] - at[own] / turn[own]
        enclosed = ((newton - a[own]) * (newton - b[own]) < 0) & (step < _STEPS // 2)
        now[own] = np.where(enclosed, newton, (a[own] + b[own]) / 2)
        at[own], turn[own] = asked(own, now[own])
        as_a = np.sign(at[own]) == sign[own]
        a[own[as_a]], b[own[~as_a]] = now[own[as_a]], now[own[~as_a]]
    return np.where(apart, now, np.where(second[1] == 0, second[0], first[0]))
