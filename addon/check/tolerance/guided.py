r"""In which random tables a leaf finds its own way home.

         ____x j____         two edges bound how much the leaf may lean with its nose at an opening, nose down: the
       ======================     slope at which it has no room between j above and i below, or that at which the
          hand      x i    nose   hand holds the outer end no higher; turning about i, the nose is lowest there

For most tables that is enough: if the nose cannot be lower than what the opening catches even with these two edges
alone, it never misses. The pair is the one that binds most in the row as drawn; in each table its slope is in closed
form, and a line. Both have to be under the straight part of the leaf for all slopes that come into question. Only what
is left is given to the proof, table by table.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from ...sizes.arrays import Bools, Floats, Ints
from ...sizes.tolerances import WELD
from ..row.openings import margins_at, met
from ..row.profile import Profiles
from .model import RowModel, profiles_at

_STEEPEST: Final = 0.25
"""Slope beyond which nothing is settled here."""

_APART: Final = 1.0
"""mm; edges that hold a leaf's slope are at least so far apart."""


def guides(model: RowModel, off: Floats) -> Bools:
    """(n,) bool: whether a row guides its leaf, for poses that its hand holds, with own deviations (used, n) float mm.

    Which openings a nose meets is settled table by table: an edge that is hidden behind a strip as drawn stands out
    from it where its window is cut a little narrower. Leaves are taken as flat: what bow and twist do to where a hand
    holds the outer end depends on how far the leaf is in, and is not asked.
    """
    if model.flat is not None:
        off = off[np.searchsorted(model.used, model.flat.used)]
        model = model.flat
    count = off.shape[1]
    tables = profiles_at(model, np.concatenate([np.zeros((len(off), 1)), off], axis=1))
    asked = np.zeros(tables.present.shape, dtype=bool)
    asked[tuple(met(tables).T)] = True
    place = np.flatnonzero(asked[1:].any(axis=0))
    guided = np.ones(count, dtype=bool)
    if not len(place):
        return guided
    missing = asked[1:, place] & ~_caught(tables, place)
    drawn = np.flatnonzero(missing.any(axis=0))
    # What many tables miss comes first: a table that misses one opening is asked no more.
    for one in drawn[np.argsort(-missing[:, drawn].sum(axis=0), kind="stable")].tolist():
        left = np.flatnonzero(missing[:, one] & guided)
        if len(left):
            own = profiles_at(model, off[:, left])
            guided[left] = margins_at(own, np.arange(len(left)), np.full(len(left), place[one])) >= -WELD
    return guided


def _caught(tables: Profiles, place: Ints) -> Bools:
    """(n, places) bool: whether openings, by number, catch the nose for certain; before n tables comes one as drawn."""
    depth = tables.x[:, place, 0]
    before = tables.holds[:, None] & tables.present[:, None] & (tables.x[:, None, :, 0] < depth[:, :, None])
    below, above = (_side(tables, before, place, upside_down=up) for up in (False, True))
    steep = np.minimum(-np.minimum(below.lean, above.lean), _STEEPEST)
    good = (np.maximum(below.lean, above.lean) < 0) & (steep < _STEEPEST) & _level(tables, before)
    # The upper leading corner of a leaf that is not wide lags behind the lower one, which is at the opening.
    lagging = tables.thickness * ~np.array([one.wide for one in tables.rows], dtype=bool)
    for side, lag in ((below, 0.0 * lagging), (above, lagging)):
        good &= side.stays(tables, depth, steep, lag[:, None]) & (side.nose >= side.aim - WELD)
    return good[1:]


def _level(tables: Profiles, before: Bools) -> Bools:
    """(n, places) bool: whether a level leaf has room among openings, (n, places, openings) bool, within the hand."""
    low, high = tables.low[:, None, :, 1], tables.high[:, None, :, 1]
    thickness, line, hand = (one[:, None] for one in (tables.thickness, tables.line, tables.hand))
    least = np.where(before, low, -np.inf).max(axis=2, initial=-np.inf)
    most = np.where(before, high, np.inf).min(axis=2, initial=np.inf) - thickness
    middle = line - thickness / 2
    return np.maximum(least, middle - hand) <= np.minimum(most, middle + hand)


@dataclass(frozen=True, eq=False)
class _Side:
    """How low the nose may be at openings, by the pair of edges chosen for each; (n, places) float, mm.

    Attributes
    ----------
    pivot, counter : x of the edges below and above the leaf; the counter is the pivot where the hand takes its place
    lean : slope at which the leaf leans nose down at most; -inf where nothing says so
    nose : by no more the end of the blunt face comes down
    aim : what the opening catches
    """

    pivot: Floats
    counter: Floats
    lean: Floats
    nose: Floats
    aim: Floats

    def stays(self, tables: Profiles, depth: Floats, steep: Floats, lag: Floats) -> Bools:
        """(n, places) bool: whether both edges are at the straight part of the leaf at slopes up to `steep`."""
        length, run, thick = (one[:, None] for one in (tables.length, tables.lead_run, tables.thickness))
        rear = depth - length / np.sqrt(1 + steep * steep) + thick * steep
        front = depth - run - lag * steep
        return (np.minimum(self.pivot, self.counter) > rear + WELD) & (self.pivot < front - WELD)


def _side(tables: Profiles, before: Bools, place: Ints, *, upside_down: bool) -> _Side:
    """The lower side of leaves, or the upper one, upside down; the pairs are chosen in the first table."""
    low, high, line = (tables.low, tables.high, tables.line)
    if upside_down:
        low, high, line = -high, -low, -line
    count, depth = len(line), tables.x[:, place, 0]
    thick, length, rise = (one[:, None] for one in (tables.thickness, tables.length, tables.lead_rise))
    x, sill, head = (one[:, :, 1:3].reshape(count, -1) for one in (tables.x, low, high))
    reach = line + tables.hand

    def by_hand(one: Floats, height: Floats, depth: Floats) -> Floats:
        """Slope at which the hand holds the outer end as high as it may, with the leaf on an edge."""
        lean = np.full(height.shape, _STEEPEST)
        for _ in range(2):
            cosine = 1 / np.sqrt(1 + lean * lean)
            lever = length * cosine - (depth - one)
            found = (reach[:, None] - height - thick / 2 * cosine) / np.where(lever > _APART, lever, np.nan)
            lean = np.where(found < lean, found, lean)
        return np.where(lean < _STEEPEST, -lean, -np.inf)

    with np.errstate(all="ignore"):
        over = np.repeat(before[0], 2, axis=1) & (x[0] < depth[0][:, None] - tables.lead_run[0])
        over &= x[0] > depth[0][:, None] - tables.length[0]
        apart = x[0][:, None] - x[0]
        leans = np.where(apart > _APART, (sill[0][:, None] + thick[0] - head[0]) / apart, -np.inf)
        leans = np.where(over[:, None] & np.isfinite(head[0]), leans, -np.inf)
        pulled = np.stack([by_hand(x[:1], sill[:1], one)[0] for one in depth[:1].T])
        noses = (
            sill[0][:, None]
            + np.concatenate([leans, pulled[:, :, None]], axis=2) * (depth[0][:, None] - x[0])[:, :, None]
        )
        noses = np.where((over & np.isfinite(sill[0]))[:, :, None], noses, -np.inf)
    best = np.nan_to_num(noses, nan=-np.inf).reshape(len(place), -1).argmax(axis=1)
    first, second = np.divmod(best, x.shape[1] + 1)
    paired = second < x.shape[1]
    second = np.where(paired, second, first)
    pivot, counter, height, other = x[:, first], x[:, second], sill[:, first], head[:, second]
    with np.errstate(all="ignore"):
        lean = np.where(pivot - counter > _APART, (height + thick - other) / (pivot - counter), -np.inf)
        held = by_hand(pivot, height, depth)
        counter = np.where(held > lean, pivot, counter)
        lean = np.maximum(lean, held)
        nose = height + lean * (depth - pivot) + rise
    return _Side(pivot, counter, lean, nose, low[:, place, 0])
