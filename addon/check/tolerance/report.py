"""What a tolerance analysis says: margins as drawn, in the worst case and of random tables, and what makes them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ...sizes.arrays import Floats
from ..row.leaf_rows import View
from .deviations import Deviation, Kind
from .statistics import SIGMAS, Share, capability


@dataclass(frozen=True)
class Effect:
    """What the deviation of one dimension does to a margin or a gap.

    Parameters
    ----------
    name, kind, part : of the dimension, as in `Deviation`
    tolerance : T, half-width of the deviation, mm
    change : a, of the margin per mm of the deviation
    amount : \\|a\\|·T, mm
    of_worst : its share of the sum of all \\|a\\|·T
    of_variance : its share of the sum of all (a·T)²
    """

    name: str
    kind: Kind
    part: str
    tolerance: float
    change: float
    amount: float
    of_worst: float
    of_variance: float


@dataclass(frozen=True)
class Stacked:
    """A margin or gap as a linear sum of deviations; mm.

    Parameters
    ----------
    nominal : as drawn
    worst : with all deviations to the worse side
    rss : less the root of the sum of squares
    misses : share below zero if all deviations are independent and normal, their tolerances three sigmas
    cpk : capability, on the same assumption
    effects : the greatest first
    """

    nominal: float
    worst: float
    rss: float
    misses: float
    cpk: float
    effects: tuple[Effect, ...]


def stacked(nominal: float, change: Floats, deviations: Sequence[Deviation]) -> Stacked:
    """A margin as drawn, mm, that changes by (deviations,) float per mm of each: linear sums."""
    tolerances = np.array([one.tolerance for one in deviations])
    amounts = np.abs(change) * tolerances
    total, squares = float(amounts.sum()), float((amounts**2).sum())
    root = float(np.sqrt(squares))
    able = capability(nominal, root / SIGMAS, 0.0, None)
    effects = [
        Effect(
            deviations[one].name,
            deviations[one].kind,
            deviations[one].part,
            deviations[one].tolerance,
            float(change[one]),
            float(amounts[one]),
            float(amounts[one] / total),
            float(amounts[one] ** 2 / squares),
        )
        for one in np.argsort(-amounts, kind="stable").tolist()
        if amounts[one] > 0
    ]
    return Stacked(nominal, nominal - total, nominal - root, able.outside, able.cpk, tuple(effects))


@dataclass(frozen=True)
class HeldBy:
    """An edge that holds a leaf: a part's wood below or above it (in the plan view: to its right or left), at x, mm."""

    part: str
    above: bool
    x: float


@dataclass(frozen=True)
class Case:
    """A table that is as bad for a leaf as the tolerances allow.

    Parameters
    ----------
    margin : fit margin of the leaf there, worked out from the deviations themselves, mm
    deviations : name of each dimension that matters → its deviation, mm
    """

    margin: float
    deviations: dict[str, float]


@dataclass(frozen=True)
class RowTolerance:
    """A leaf in one view: half its smallest room on the way, tilt included, mm.

    Parameters
    ----------
    nominal : as drawn
    governing : the edges whose worst case is the worst of all, as a sum; None where nothing holds the leaf
    held_by : these edges
    case : that case worked out; its margin differs from `governing.worst` by what is not linear
    likeliest : the sum that goes below zero first by the root of the sum of squares
    level, level_worst : half the room of a leaf that slides home level and straight
    passes, passes_level : how many of the random tables let it in, tilted or level
    mean, deviation : mean and standard deviation of their margins
    quantiles : share → margin below which so many of them are
    """

    leaf: str
    view: View
    nominal: float
    governing: Stacked | None
    held_by: tuple[HeldBy, ...]
    case: Case | None
    likeliest: Stacked | None
    level: float
    level_worst: float
    passes: Share
    passes_level: Share
    mean: float
    deviation: float
    quantiles: dict[float, float]

    @property
    def remainder(self) -> float:
        """What the closed form of the worst case leaves out, mm."""
        return 0.0 if self.case is None or self.governing is None else self.case.margin - self.governing.worst


@dataclass(frozen=True)
class LeafTolerance:
    """A leaf in both views.

    Parameters
    ----------
    passes : how many of the random tables let it in, in both views
    thickness : of the leaf as drawn, mm
    thickest : from which thickness on it no longer goes in, all else as drawn, mm
    thickest_worst : the same, all else to the worse side, mm
    """

    leaf: str
    side: RowTolerance
    plan: RowTolerance
    passes: Share
    thickness: float
    thickest: float
    thickest_worst: float


@dataclass(frozen=True)
class GapTolerance:
    """A gap of the covering leaves: the play of all together, or the room at the ends of one."""

    name: str
    sum: Stacked
    fits: Share


@dataclass(frozen=True)
class CoverTolerance:
    """The covering leaves in the well."""

    gaps: tuple[GapTolerance, ...]
    fits: Share
    """How many of the random tables take all of them."""


@dataclass(frozen=True)
class RouterTolerance:
    """How well the router has to work so that enough tables let all their leaves in.

    Parameters
    ----------
    wanted : share of the tables
    scale : of all routed tolerances at once, found with the same random numbers throughout; None where even with none
        too few do; at most `most`
    most : scale beyond which was not looked
    opening_size, opening_place, groove_place : these tolerances, so scaled, mm
    share : of the tables, at that scale
    rss_scale : the same in closed form for the leaf that is worst off: independent, normal, three sigmas; None where
        even with none too few do, infinite where the router does not matter
    """

    wanted: float
    scale: float | None
    most: float
    opening_size: float
    opening_place: float
    groove_place: float
    share: Share
    rss_scale: float | None


@dataclass(frozen=True)
class LeafInShop:
    """One leaf in the random tables.

    Parameters
    ----------
    works : how many tables let it lie down as cover, go in and come out
    guides : in how many of the first few it guides itself too; None where that was not asked
    worst : least margin of all tables, half its room on its way or as cover, mm; None where nothing holds it
    worst_case : the same with all deviations to the worse side, in closed form: however many tables are drawn, it is
        the same. The worst of the drawn ones goes with the share, which it never contradicts: it is negative where not
        all of them work. The worst case may be negative though all do, for hardly a table comes so bad.
    """

    leaf: str
    works: Share
    guides: Share | None
    worst: float | None
    worst_case: float | None


@dataclass(frozen=True)
class InShop:
    """All leaves of the random tables together: the same for the whole table, and leaf by leaf."""

    works: Share
    guides: Share | None
    worst: float | None
    worst_case: float | None
    leaves: tuple[LeafInShop, ...]


@dataclass(frozen=True)
class ToleranceReport:
    """The whole analysis.

    Parameters
    ----------
    name : of what was analyzed
    distribution : of each deviation, ``uniform`` or ``normal``
    count, seed : of the random tables
    deviations : all that may be off
    passes, passes_level : how many random tables let all leaves in, tilted or level
    cover : None for a table without covering leaves
    in_shop : in how many tables it covers, goes in and comes out, leaf by leaf and for all
    router : None where it was not asked for
    """

    name: str
    distribution: str
    count: int
    seed: int
    deviations: tuple[Deviation, ...]
    leaves: tuple[LeafTolerance, ...]
    passes: Share
    passes_level: Share
    cover: CoverTolerance | None
    in_shop: InShop
    router: RouterTolerance | None

    @property
    def works(self) -> Share:
        """How many tables let all leaves cover, go in and come out."""
        return self.in_shop.works

    @property
    def guides(self) -> Share | None:
        """How many of the first few guide all their leaves; None where it was not asked for."""
        return self.in_shop.guides

    @property
    def rows(self) -> tuple[RowTolerance, ...]:
        """All rows, leaf by leaf, side view first."""
        return tuple(row for leaf in self.leaves for row in (leaf.side, leaf.plan))

    @property
    def tightest(self) -> RowTolerance | None:
        """The row with the least worst case; its effects are the ranking of what matters most."""
        held = [(row.governing.worst, number) for number, row in enumerate(self.rows) if row.governing]
        return self.rows[min(held)[1]] if held else None
