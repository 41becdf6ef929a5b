r"""How far the blunt face of an eased lead may stray: over the whole interval of slopes that the openings allow.

height of the blunt face's end
  ^                            A square nose is the lower the more the leaf leans: the worst slope is the last one
  |\        o                  with room. The end of an eased lead rises again when the leaf leans on, as soon as
  | \    .'                    what holds it is nearer to the nose than the lead is high times the sine of the tilt:
  |  '-.'   <- the worst       the worst slope lies between. Where wood comes under the lead, or the lead leaves it,
  +-----------------> slope    the height changes its course; between two such slopes it is smooth.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from ...sizes.arrays import Floats, Ints
from ...sizes.tolerances import WELD
from .stances import LeadingCorners

_STEEPEST: Final = 10.0
"""Slope beyond which a leaf is not looked at."""

_NODES: Final = 8
"""Places of each smooth part that are looked at first, to tell its hollows apart."""

_SECTIONS: Final = 40
"""Golden sections, each of which narrows a hollow to 0.62 of what it was."""

_HALVINGS: Final = 50

_GOLDEN: Final = (np.sqrt(5.0) - 1.0) / 2.0


def straying(
    corners: LeadingCorners, inside: Floats, room: Floats, extreme: Floats, spare: Floats | None = None
) -> tuple[Floats, Ints]:
    """The slopes at which leading corners stray the farthest, (n,) float, and which of them lie between, (k,) int.

    Parameters
    ----------
    inside, room : (n,) float; a slope with room, and that room, mm
    extreme : (n,) float; the last slope with room on the side on which a corner of a square lead strays the farthest
    spare : (n,) float, mm; how much farther than there they may stray, where nothing else matters: what misses there
        already, or cannot stray so much farther, is left as it is
    """
    eased = np.flatnonzero((corners.stances.rise > 0) & np.isfinite(extreme))
    if not len(eased):
        return extreme, eased
    other = corners.stances.take(eased).last(inside[eased], -corners.side[eased], room[eased])
    ends = np.sort(
        np.stack([extreme[eased], np.where(np.isfinite(other), other, np.sign(other) * _STEEPEST)]), axis=0
    )
    own = corners.take(eased)
    may = own.may_turn(*ends)
    if spare is not None:
        may &= (spare[eased] >= -WELD) & (own.most_turning(*ends) >= spare[eased])
    asked = np.flatnonzero(may)
    if not len(asked):
        return extreme, eased[:0]
    best = _searched(own.take(asked), *ends[:, asked])
    slope = extreme.copy()
    at_end = own.take(asked).farthest(extreme[eased[asked]])[0] * own.side[asked]
    farther = best[1] > at_end
    slope[eased[asked[farther]]] = best[0][farther]
    return slope, eased[asked[farther]]


def first_miss(corners: LeadingCorners, aim: Floats, inside: Floats, worst: Floats) -> Floats:
    """(n,) float: a slope between one at which corners may not miss and the worst one from which on they may.

    `inside` where they may there already.
    """
    good, bad = inside.copy(), worst.copy()
    missed = corners.side * (corners.farthest(inside)[0] - aim) > 0
    for _ in range(_HALVINGS):
        middle = (good + bad) / 2
        miss = corners.side * (corners.farthest(middle)[0] - aim) > 0
        good, bad = np.where(miss, good, middle), np.where(miss, middle, bad)
    return np.where(missed, inside, bad)


def _searched(corners: LeadingCorners, low: Floats, high: Floats) -> tuple[Floats, Floats]:
    """Slope between two at which each corner strays the farthest, and how far, (n,) float each."""
    turns = np.sort(
        np.clip(np.nan_to_num(corners.turning_slopes(), nan=0.0), low[:, None], high[:, None]), axis=1
    )
    points = np.concatenate([low[:, None], turns, high[:, None]], axis=1)
    start, stop = points[:, :-1], points[:, 1:]
    which, part = np.nonzero(stop > start)
    start, stop = start[which, part], stop[which, part]
    share = np.linspace(0.0, 1.0, _NODES + 2)
    # Just inside, where what begins or ends at the border does not count.
    share[0], share[-1] = 1e-9, 1 - 1e-9
    nodes = start[:, None] + (stop - start)[:, None] * share
    values = _strays(corners.take(np.repeat(which, len(share))), nodes.ravel()).reshape(nodes.shape)
    highest = values.argmax(axis=1)
    rows = np.arange(len(which))
    best, found = np.zeros(len(low)), np.full(len(low), -np.inf)
    # Between two nodes a corner strays by so much more at most: parts that cannot come up to the best are left out.
    most = values[rows, highest]
    np.maximum.at(found, which, most)
    rows = np.flatnonzero(most + corners.swing[which] * (stop - start) / (_NODES + 1) >= found[which])
    which, highest, found[:] = which[rows], highest[rows], -np.inf
    a, b = nodes[rows, np.maximum(highest - 1, 0)], nodes[rows, np.minimum(highest + 1, len(share) - 1)]
    slope, value = _golden(corners, which, a, b, nodes[rows, highest], values[rows, highest])
    for one in np.argsort(value, kind="stable").tolist():
        best[which[one]], found[which[one]] = slope[one], value[one]
    return best, found


def _golden(
    corners: LeadingCorners, which: Ints, a: Floats, b: Floats, slope: Floats, value: Floats
) -> tuple[Floats, Floats]:
    """The greatest value between two slopes each, by golden sections (Kiefer 1953), or the one that is known."""
    own = corners.take(which)
    inner, outer = b - _GOLDEN * (b - a), a + _GOLDEN * (b - a)
    first, second = _strays(own, inner), _strays(own, outer)
    for at, here in ((inner, first), (outer, second)):
        better = here > value
        slope, value = np.where(better, at, slope), np.where(better, here, value)
    for _ in range(_SECTIONS):
        left = first >= second
        a, b = np.where(left, a, inner), np.where(left, outer, b)
        new = np.where(left, b - _GOLDEN * (b - a), a + _GOLDEN * (b - a))
        here = _strays(own, new)
        inner, outer = np.where(left, new, outer), np.where(left, inner, new)
        first, second = np.where(left, here, second), np.where(left, first, here)
        better = here > value
        slope, value = np.where(better, new, slope), np.where(better, here, value)
    return slope, value


def _strays(corners: LeadingCorners, slope: Floats) -> Floats:
    """(n,) float: how far corners are on their side at a slope each, mm; inf where not held."""
    height = corners.farthest(slope)[0] * corners.side
    return np.where(np.isfinite(height), height, np.inf)
