r"""How far the leading corners of a leaf may stray: over the whole interval of slopes that the openings allow.

height of the blunt face's end
  ^                            A square nose is the lower the more the leaf leans: the worst slope is the last one
  |\        o                  with room. The end of an eased lead rises again when the leaf leans on, as soon as
  | \    .'                    what holds it is nearer to the nose than the lead is high times the sine of the tilt:
  |  '-.'   <- the worst       the worst slope lies between. Where wood comes under the lead, or the lead leaves it,
  +-----------------> slope    the height changes its course; between two such slopes it is smooth, or bends where
                               another edge takes over. Secants of its turn meet a smooth summit, tangents a bent one.
"""

from __future__ import annotations

from copy import copy
from typing import Final

import numpy as np

from ...sizes.arrays import Bools, Floats, Ints
from ...sizes.tolerances import WELD
from .slopes import STEEPEST, Function, outward, root
from .stances import Stances

_NODES: Final = 8
"""Places of each smooth part that are looked at first, to tell its summits apart."""

_STEPS: Final = 60
"""Secants and tangents until a summit is given up on as found."""

_EXACT: Final = 1e-12
"""mm; a summit is found when tangents leave no more above it."""

_BESIDE: Final = 1e-8
"""Slopes so near to a turning one are looked at on both of its sides, or so near as this share of a part:"""

_BESIDE_SHARE: Final = 1e-3

_SAME_SLOPE: Final = 1e-16
"""Slopes nearer than this are one."""


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

    def turning_slopes(self) -> Floats:
        """(n, k) float: slopes at which a corner of the leaf comes over a station or leaves it; else nan."""
        return -self.side[:, None] * self._wood.turning_slopes()

    @property
    def swing(self) -> Floats:
        """(n,) float, mm: more than a corner's height changes by per unit of slope, chamfers of up to 80 degrees."""
        return 2.0 * (self._wood.length + 8.0 * self.stances.thickness + 8.0 * self._wood.lead_length)

    def most_turning(self, low: Floats, high: Floats) -> Floats:
        """(n,) float, mm: by no more a corner strays farther between two slopes, (n,) float each, than at one."""
        return self._wood.most_turning(low, high)

    def may_turn(self, low: Floats, high: Floats) -> Bools:
        """(n,) bool: whether a corner may stray the farthest between two slopes, (n,) float each, rather than at one.

        Only what is nearer to the nose than the lead is long and leans can make it so.
        """
        steepest = np.maximum(np.abs(low), np.abs(high))
        sine = steepest / np.sqrt(1 + steepest * steepest)
        lead = self._wood.lead_length + (self.stances.thickness + self.stances.rise) * sine
        return self.stances.depth - lead <= self._wood.last_station

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


def straying(
    corners: LeadingCorners,
    inside: Floats,
    room: Floats,
    extreme: Floats,
    opposite: Ints,
    spare: Floats | None = None,
) -> tuple[Floats, Ints]:
    """The slopes at which leading corners stray the farthest, (n,) float, and which of them lie between, (k,) int.

    Parameters
    ----------
    inside, room : (n,) float; a slope with room, and that room, mm
    extreme : (n,) float; the last slope with room on the side on which a corner of a square lead strays the farthest
    opposite : (n,) int; number of the other leading corner of the same leaf, or -1
    spare : (n,) float, mm; how much farther than there they may stray, where nothing else matters: what misses there
        already, or cannot stray so much farther, is left as it is
    """
    eased = np.flatnonzero((corners.stances.rise > 0) & np.isfinite(extreme))
    if not len(eased):
        return extreme, eased
    other = extreme[opposite[eased]]
    if len(alone := np.flatnonzero(opposite[eased] < 0)):
        own = eased[alone]
        other[alone] = corners.stances.take(own).last(inside[own], -corners.side[own], room[own])
    ends = np.sort(
        np.stack([extreme[eased], np.where(np.isfinite(other), other, np.sign(other) * STEEPEST)]), axis=0
    )
    own = corners.take(eased)
    may = own.may_turn(*ends)
    if spare is not None:
        may &= (spare[eased] >= -WELD) & (own.most_turning(*ends) >= spare[eased])
    asked = np.flatnonzero(may)
    if not len(asked):
        return extreme, eased[:0]
    own = own.take(asked)
    between, farthest = _searched(own, *ends[:, asked])
    slope = extreme.copy()
    farther = farthest > own.farthest(extreme[eased[asked]])[0] * own.side
    slope[eased[asked[farther]]] = between[farther]
    return slope, eased[asked[farther]]


def first_miss(corners: LeadingCorners, aim: Floats, inside: Floats, worst: Floats) -> Floats:
    """(n,) float: a slope between one at which corners may not miss and the worst one from which on they may.

    `inside` where they may there already.
    """

    def beyond(some: Ints | None) -> Function:
        own, its_aim = (corners, aim) if some is None else (corners.take(some), aim[some])

        def missing(slope: Floats) -> tuple[Floats, Floats]:
            height, turn = own.farthest(slope)
            return own.side * (height - its_aim), own.side * turn

        return missing

    at_worst, turn = beyond(None)(worst)
    at_inside, _ = beyond(None)(inside)
    return np.where(at_inside > 0, inside, root(beyond, (worst, at_worst, turn), (inside, at_inside)))


def reaching(corners: LeadingCorners, aim: Floats, inside: Floats) -> Floats:
    """(n,) float: the slope nearest to `inside` at which the farthest height, which grows with it, is `aim`, mm.

    `inside` where nothing bounds that height: then a leaf so inclined reaches any.
    """

    def beyond(some: Ints | None) -> Function:
        every = np.arange(len(aim)) if some is None else some
        own = corners if some is None else corners.take(some)

        def missing(slope: Floats) -> tuple[Floats, Floats]:
            height, turn = own.farthest(slope)
            # Where nothing bounds it, it is as far beyond the aim as one likes.
            return np.where(bounded[every] & np.isfinite(height), height - aim[every], own.side), turn

        return missing

    height = corners.farthest(inside)[0]
    bounded = np.isfinite(height)
    off = np.where(bounded, height - aim, corners.side)
    slope = outward(beyond, inside, np.where(off > 0, -1.0, 1.0), off)
    return np.where(bounded & np.isfinite(slope), slope, inside)


def _searched(corners: LeadingCorners, low: Floats, high: Floats) -> tuple[Floats, Floats]:
    """Slope between two at which each corner strays the farthest, and how far, (n,) float each."""
    turning = np.clip(np.nan_to_num(corners.turning_slopes(), nan=0.0), low[:, None], high[:, None])
    points = np.concatenate([low[:, None], np.sort(turning, axis=1), high[:, None]], axis=1)
    start, stop = points[:, :-1], points[:, 1:]
    which, part = np.nonzero(stop > start)
    start, stop = start[which, part, None], stop[which, part, None]
    beside = np.minimum(_BESIDE, _BESIDE_SHARE * (stop - start))
    inner = start + (stop - start) * np.linspace(0.0, 1.0, _NODES + 2)[1:-1]
    first, last = (
        np.where(end == edge[which, None], 0.0, beside) for end, edge in ((start, low), (stop, high))
    )
    slopes = np.concatenate([start + first, inner, stop - last], axis=1).ravel()
    which = np.repeat(which, _NODES + 2)
    values, turns = _strays(corners.take(which), slopes)
    best, found = np.zeros(len(low)), np.full(len(low), -np.inf)
    _keep(best, found, which, slopes, values)
    # Between two places a corner strays by so much more at most, but where it jumps: at a turning slope.
    apart, ends = np.diff(slopes), np.stack([slopes, values, turns])
    most = np.maximum(values[:-1], values[1:]) + corners.swing[which[:-1]] * apart
    own = np.flatnonzero((which[:-1] == which[1:]) & np.isfinite(most) & (most > found[which[:-1]]))
    own = own[_humped(ends[:, own], ends[:, own + 1])]
    if len(own):
        _keep(best, found, which[own], *_summits(corners.take(which[own]), ends[:, own], ends[:, own + 1]))
    return best, found


def _keep(best: Floats, found: Floats, which: Ints, slope: Floats, value: Floats) -> None:
    """Set the best slopes so far and their values where one of some, by number, is higher."""
    highest = np.full(len(found), -np.inf)
    np.maximum.at(highest, which, value)
    own = np.flatnonzero((value == highest[which]) & (value > found[which]))
    best[which[own]], found[which[own]] = slope[own], value[own]


def _humped(left: Floats, right: Floats) -> Bools:
    """Whether values rise from the left and fall to the right, or jump between; (3, ...) float as in `_summits`."""
    return ((left[2] > 0) | (right[1] > left[1])) & ((right[2] < 0) | (left[1] > right[1]))


def _summits(corners: LeadingCorners, left: Floats, right: Floats) -> tuple[Floats, Floats]:
    """Slope and greatest value, (n,) float each, between two slopes at which the values rise and fall.

    Of the parts between the place that the secant of the turns gives, the one where tangents cross and the middle, the
    highest that rises and falls is kept.

    Parameters
    ----------
    left, right : (3, n) float; slope, value and its turn at either end
    """
    best = np.where(left[1] >= right[1], left[:2], right[:2])
    own = np.arange(best.shape[1])
    for _ in range(_STEPS):
        (a, at_a, up), (b, at_b, down) = left, right
        rises = (up > 0) & (down < 0)
        with np.errstate(all="ignore"):
            tangents = (at_b - at_a + up * a - down * b) / (up - down)
            bent = rises & (tangents > a) & (tangents < b)
            settled = bent & (at_a + up * (tangents - a) - best[1, own] <= _EXACT)
            secant = a + up / (up - down) * (b - a)
        waiting = (b - a > _SAME_SLOPE) & ~settled
        if not waiting.any():
            break
        middle = (a + b) / 2
        tried = np.stack([np.where(rises, secant, middle), middle, np.where(bent, tangents, middle)])
        tried, own = np.sort(tried[:, waiting], axis=0), own[waiting]
        values, turns = _strays(corners.take(np.tile(own, 3)), tried.ravel())
        new = np.stack([tried, values.reshape(tried.shape), turns.reshape(tried.shape)], axis=1)
        points = np.stack([left[:, waiting], *new, right[:, waiting]])
        each = np.arange(len(own))
        highest = points[points[:, 1].argmax(axis=0), :2, each].T
        best[:, own] = np.where(highest[1] > best[1, own], highest, best[:, own])
        humped = _humped(points[:-1].swapaxes(0, 1), points[1:].swapaxes(0, 1))
        part = np.where(humped, np.maximum(points[:-1, 1], points[1:, 1]), -np.inf).argmax(axis=0)
        left, right = points[part, :, each].T, points[part + 1, :, each].T
    return best[0], best[1]


def _strays(corners: LeadingCorners, slope: Floats) -> tuple[Floats, Floats]:
    """(n,) float each: how far corners are on their side at a slope each, mm, inf where not held; its derivative."""
    height, turn = corners.farthest(slope)
    height = height * corners.side
    return np.where(np.isfinite(height), height, np.inf), turn * corners.side
