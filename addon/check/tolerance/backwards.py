"""Backwards: how well the router has to work, how thick a sheet may be."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from ...sizes.arrays import Ints
from ...sizes.tolerances import WELD
from ...wood.limits import Tolerances
from ..progress import Steps
from ..row.profile import Row
from ..row.proof import prove
from .deviations import Deviation
from .maps import Compiled, compiled
from .model import RowModel
from .report import RouterTolerance
from .statistics import AT_ONCE, NORMAL, SIGMAS, deviations, share
from .triples import Triples

MOST_SCALE: Final = 8.0
"""Scale of the router's tolerances beyond which is not looked."""

TABLES: Final = 5_000
"""Random tables that the scale is sought with."""

_HALVINGS: Final = 12

_LOOKS: Final = 2 + math.ceil(math.log2(MOST_SCALE)) + _HALVINGS
"""Scales that are looked at, at most."""

_CLOSE: Final = 1e-9
"""mm; a thickness limit is found when the margin is so small."""


@dataclass(frozen=True)
class Wanted:
    """The share of tables that shall let their leaves in, how the random ones are drawn, and how many are worked
    out together; see `deviations`."""

    share: float
    distribution: str
    count: int
    seed: int
    at_once: int = AT_ONCE


def router_steps(
    given: Tolerances,
    models: Sequence[RowModel],
    found: Sequence[Deviation],
    wanted: Wanted,
    triples: Sequence[Triples],
) -> Steps[RouterTolerance]:
    """Step by step, the greatest scale of all routed tolerances with which enough tables let all leaves in.

    A table's margin is concave in the scale, so one that works with none of the router's deviations works up to some
    scale of its own and no further; one that does not is counted as failing throughout. So the share of those that work
    only falls, and bisection finds where it is as wanted. The same random numbers are used throughout.
    """
    count = min(wanted.count, TABLES)
    search = _Search(models, found, wanted, count)
    scale = yield from search.run()
    kept = 0.0 if scale is None else scale
    return RouterTolerance(
        wanted.share,
        scale,
        MOST_SCALE,
        kept * given.opening_size,
        kept * given.opening_place,
        kept * given.groove_place,
        share(search.working, count),
        _rss_scale(triples, wanted.share),
    )


class _Search:
    def __init__(
        self, models: Sequence[RowModel], found: Sequence[Deviation], wanted: Wanted, count: int
    ) -> None:
        self.models = models
        self.tolerances = np.array([one.tolerance for one in found])
        self.routed = np.array([one.routed for one in found], dtype=bool)
        self.drawn = np.concatenate(list(deviations(found, wanted.distribution, count, wanted.seed)), axis=1)
        self.least = math.ceil(wanted.share * count - WELD)
        self.at_once = wanted.at_once
        self.working = 0
        self.done = 0

    def run(self) -> Steps[float | None]:
        """The scale; `working` is how many tables work with it."""
        every = np.arange(self.drawn.shape[1])
        at_none = yield from self._working(every, 0.0, (yield from self._compiled(0.0)))
        self.working = len(at_none)
        if len(at_none) < self.least:
            return None
        # Tables that are known to work at the scale `low` are `sure`; of the `open` ones, some do.
        low, high, sure, open_ones = 0.0, 1.0, 0, at_none
        rows = yield from self._compiled(high)
        while True:
            good = yield from self._working(open_ones, high, rows)
            if len(good) < self.least:
                break
            low, self.working = high, len(good)
            if high >= MOST_SCALE:
                return high
            open_ones, high = good, min(2 * high, MOST_SCALE)
            rows = yield from self._compiled(high)
        sure, open_ones = len(good), np.setdiff1d(open_ones, good, assume_unique=True)
        for _ in range(_HALVINGS):
            middle = (low + high) / 2
            good = yield from self._working(open_ones, middle, rows)
            if sure + len(good) >= self.least:
                low, self.working, open_ones = middle, sure + len(good), good
            else:
                high, sure = middle, sure + len(good)
                open_ones = np.setdiff1d(open_ones, good, assume_unique=True)
        return low

    def _compiled(self, scale: float) -> Steps[list[Compiled]]:
        scaled = np.where(self.routed, scale, 1.0) * self.tolerances
        rows = []
        for model in self.models:
            rows.append(compiled(model, scaled))
            yield self._share()
        return rows

    def _working(self, which: Ints, scale: float, rows: list[Compiled]) -> Steps[Ints]:
        """Those of some tables whose leaves all go in."""
        factors = np.where(self.routed, scale, 1.0)[:, None]
        self.done += 1
        for row in rows:
            good = []
            for first in range(0, len(which), self.at_once):
                some = which[first : first + self.at_once]
                used = row.model.used
                good.append(some[row.margins_of(self.drawn[np.ix_(used, some)] * factors[used]) >= -WELD])
                yield self._share()
            which = np.concatenate([which[:0], *good])
        return which

    def _share(self) -> float:
        """How much is done, of as many looks as it takes at most."""
        return self.done / _LOOKS


def _rss_scale(triples: Sequence[Triples], wanted: float) -> float | None:
    """By the root of the sum of squares: margin >= z·sigma for every triple, z for the share wanted on one side."""
    z = NORMAL.inv_cdf(wanted)
    least = math.inf
    for own in triples:
        by_router, fixed = (one / SIGMAS**2 for one in (own.routed_squares, own.squares - own.routed_squares))
        room = np.where(own.margin > 0, (own.margin / z) ** 2, -1.0) - fixed
        if (room < 0).any():
            return None
        with np.errstate(divide="ignore"):
            least = min(least, float(np.sqrt((room / by_router).min(initial=np.inf))))
    return least


def thickest(row: Row) -> float:
    """From which thickness on a leaf no longer goes through its row, mm; inf where nothing holds it on both sides.

    The margin falls by half of sqrt(1 + s²) per mm of thickness, s the leaf's slope, near 0: so adding twice the margin
    comes nearer by far at each step.
    """
    thickness = row.thickness
    for _ in range(50):
        margin = prove([replace(row, thickness=thickness)])[0].fit_margin
        if margin is None:
            return math.inf
        if abs(margin) < _CLOSE:
            break
        thickness += 2 * margin
    return thickness


def thickest_worst(triples: Triples) -> float:
    """The same with all but the leaf's thickness to the worse side, in closed form."""
    room = 2 * (triples.margin - triples.worst_others)
    return triples.row.model.row.thickness + float(room.min(initial=np.inf))
