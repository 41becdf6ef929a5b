"""What comes of a table in the shop: random tables, cut at its tolerances, whose leaves cover, go in and come out.

    deviations of one table --> rows of its leaves --> goes in, comes out      by `maps`
                                                  --> guides itself            by `guides`, for poses that a hand holds
                            --> sums of the cover  --> lies down               by `cover_sums`

What is wrong whatever the deviations, a part that stands in another or a leaf that no finger can get out, lets no table
work at all. A row has the same numbers wherever it is met, and a dimension has the same deviations in every table that
has it: so the share before and after a change compares like with like, and a row that did not change costs nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from ...sizes.arrays import Bools, Floats
from ...sizes.tolerances import CONTACT, WELD
from ..cover import Stack, cover_of
from ..facts import Fact
from ..prepared import Prepared
from ..progress import Steps, share_of
from ..row.leaf_rows import LeafRow, leaf_rows
from ..row.profile import Row
from .deviations import Deviation, Form, Register, added, as_matrix
from .guided import guides
from .maps import compiled
from .model import RowModel, row_models
from .report import CoverTolerance, GapTolerance, InShop, LeafInShop, stacked
from .statistics import Share, deviations, share
from .triples import triples_of, worst_margin

FEW: Final = 200
"""Random tables that give a first answer; of more, only so many are asked whether they guide their leaves."""

COUNT: Final = 10_000
"""Random tables that give the share for good."""

_SEED: Final = 1

_AT_ONCE: Final = 2000
"""Random tables of a row in one step, so that a window can go on between them."""

_MOST_ROWS: Final = 400
"""Rows that a shop remembers: of `COUNT` tables they take 32 MB."""


@dataclass(frozen=True, eq=False)
class Tables:
    """What was found of one row in all random tables: margins (count,) float mm, guides (few,) bool; and its margin in
    the worst case, mm."""

    margins: Floats
    guides: Bools
    worst_case: float


class Shop:
    """Random tables of one seed, to compare assemblies in; rows that were met before are known.

    Parameters
    ----------
    count : of tables
    guided : how many of the first of them are asked whether they guide their leaves, which takes longer; one at least
    """

    def __init__(self, count: int = FEW, seed: int = _SEED, guided: int = FEW) -> None:
        self.count, self.seed, self.guided = count, seed, min(guided, count)
        self._rows: dict[tuple[object, ...], Tables] = {}
        self._margins: dict[tuple[object, ...], tuple[Floats, float]] = {}

    def asking(self, guided: int) -> Shop:
        """The same tables, of which more or fewer are asked whether they guide their leaves."""
        shop = Shop(self.count, self.seed, guided)
        shop._margins = self._margins
        return shop

    def steps(self, prepared: Prepared, facts: Iterable[Fact]) -> Steps[InShop]:
        """What comes of an assembly, row by row.

        Parameters
        ----------
        facts : of its check, whose errors let no table work
        """
        rows, register = leaf_rows(prepared), Register(prepared.assembly)
        models, gaps = row_models(rows, register), cover_sums(register)
        kind = prepared.assembly.tolerances.distribution
        tables = []
        for number, model in enumerate(models):
            yield number / len(models)
            own = self._row_steps(model, register.found, kind)
            tables.append((yield from share_of(own, number / len(models), (number + 1) / len(models))))
        cover = {gap.leaf: self._gap(gap, register.found, kind) for gap in gaps}
        worst_cases = {gap.leaf: gap.worst(register.tolerances) / 2 for gap in gaps}
        return together(rows, tables, (cover, worst_cases), works_never(rows, facts))

    def _row_steps(self, model: RowModel, found: Sequence[Deviation], kind: str) -> Steps[Tables]:
        own = [found[one] for one in model.used.tolist()]
        key = (*_numbers(model), kind, *((one.name, one.tolerance) for one in own))
        if key not in self._rows:
            if key not in self._margins:
                row = compiled(model, np.array([one.tolerance for one in found]))
                pieces: list[Floats] = []
                for off in self._drawn(own, kind, self.count):
                    pieces.append(row.margins_of(off))
                    yield len(pieces) * _AT_ONCE / (self.count + _AT_ONCE)
                self._margins[key] = np.concatenate(pieces), worst_margin(triples_of(row))
                if len(self._margins) > _MOST_ROWS:
                    del self._margins[next(iter(self._margins))]
            margins, worst = self._margins[key]
            guided = margins[: self.guided] >= -WELD
            few = np.concatenate(list(self._drawn(own, kind, len(guided))), axis=1)
            guided[guided] = guides(model, few[:, guided])
            self._rows[key] = Tables(margins, guided, worst)
            if len(self._rows) > _MOST_ROWS:
                del self._rows[next(iter(self._rows))]
        return self._rows[key]

    def _gap(self, gap: GapSum, found: Sequence[Deviation], kind: str) -> Floats:
        """(count,) float, mm: half of a room of the cover."""
        numbers = list(gap.form)
        change = np.array([gap.form[one] for one in numbers])
        drawn = self._drawn([found[one] for one in numbers], kind, self.count)
        return np.concatenate([gap.nominal + change @ off for off in drawn]) / 2

    def _drawn(self, found: Sequence[Deviation], kind: str, count: int) -> Iterator[Floats]:
        """The deviations of so many tables, in pieces of (deviations, n) float mm that memory holds."""
        return deviations(found, kind, count, self.seed, _AT_ONCE)


def _numbers(model: RowModel) -> tuple[object, ...]:
    """All that the result of a row depends on, but for the deviations."""
    arrays = (model.face, model.board, model.sill, model.head, model.length, model.thickness)
    return (model.row, *(one.tobytes() for one in arrays))


@dataclass(frozen=True)
class GapSum:
    """A gap as drawn, mm, and how deviations change it."""

    name: str
    nominal: float
    form: Form
    leaf: str = ""
    """The leaf at whose ends it is; none for the play of all."""

    def worst(self, tolerances: Floats) -> float:
        """With all deviations to the worse side, mm."""
        return self.nominal - sum(abs(change) * float(tolerances[one]) for one, change in self.form.items())

    def at(self, deviations: Floats) -> Floats:
        """(n,) float, mm: with deviations (deviations, n) float."""
        numbers = list(self.form)
        return self.nominal + np.array([self.form[one] for one in numbers]) @ deviations[numbers]


def cover_sums(register: Register) -> list[GapSum]:
    """The gaps that may not be less than nothing; their deviations are added to the register."""
    cover = cover_of(register.assembly)
    if cover is None:
        return []
    gaps = [_gap("play of all covering leaves", cover.play, register)]
    gaps += [
        _gap(f"{leaf}: room at its ends", stack, register, leaf) for leaf, stack in cover.end_play.items()
    ]
    return gaps


def _gap(name: str, stack: Stack, register: Register, leaf: str = "") -> GapSum:
    terms = []
    for one in stack.dimensions:
        part = register.assembly.by_label[one.part]
        if one.name == "squareness":
            off = register.squareness(part)
        else:
            off = register.thickness(part) if one.name == "thickness" else register.dimension(part, one.name)
        terms.append((off, one.coefficient))
    return GapSum(name, stack.nominal, added(*terms), leaf)


def cover_tolerance(
    gaps: Sequence[GapSum], deviations: Sequence[Deviation], fits: NDArray[np.bool_]
) -> CoverTolerance:
    """What the analysis says of the cover; fits : (gaps, tables) bool"""
    count = fits.shape[1]
    return CoverTolerance(
        tuple(
            GapTolerance(
                gap.name,
                stacked(gap.nominal, as_matrix([gap.form], len(deviations))[0], deviations),
                share(int(own.sum()), count),
            )
            for gap, own in zip(gaps, fits, strict=True)
        ),
        share(int(fits.all(axis=0).sum()), count),
    )


def together(
    rows: Sequence[LeafRow],
    tables: Sequence[Tables],
    cover: tuple[Mapping[str, Floats], Mapping[str, float]],
    never: Mapping[str, float],
) -> InShop:
    """What comes of all rows of an assembly, leaf by leaf and for the whole.

    Parameters
    ----------
    rows, tables : the side view of each leaf before its plan view, and what was found of them
    cover : leaf ("" for all together) → half its room as cover, (count,) float mm, and in the worst case
    never : see `works_never`
    """
    rooms, worst_rooms = cover
    count = len(next(iter((*(one.margins for one in tables), *rooms.values())), np.zeros(1)))
    few = min((len(one.guides) for one in tables), default=min(FEW, count))
    margin, guided, least = np.full(count, np.inf), np.ones(few, dtype=bool), np.inf
    leaves = []
    for number in range(0, len(rows), 2):
        leaf = rows[number].leaf
        own = np.minimum(tables[number].margins, tables[number + 1].margins)
        own = np.minimum(own, rooms.get(leaf, np.inf))
        amiss = -never.get(leaf, -np.inf)
        own = np.minimum(own, amiss)
        worst_case = min(
            *(one.worst_case for one in tables[number : number + 2]), worst_rooms.get(leaf, np.inf), amiss
        )
        its = tables[number].guides & tables[number + 1].guides & (own[:few] >= -WELD)
        leaves.append(LeafInShop(leaf, *_shares(own, its, worst_case)))
        margin, guided = np.minimum(margin, own), guided & its
        least = min(least, worst_case)
    for values in rooms.values():
        margin = np.minimum(margin, values)
    amiss = -never.get("", -np.inf)
    margin, least = np.minimum(margin, amiss), min(least, amiss, *worst_rooms.values())
    return InShop(*_shares(margin, guided & (margin[:few] >= -WELD), least), tuple(leaves))


def _shares(
    margin: Floats, guided: Bools, worst_case: float
) -> tuple[Share, Share | None, float | None, float | None]:
    worst = float(margin.min())
    return (
        share(int((margin >= -WELD).sum()), len(margin)),
        share(int(guided.sum()), len(guided)) if len(guided) else None,
        worst if np.isfinite(worst) else None,
        worst_case if np.isfinite(worst_case) else None,
    )


def works_never(rows: Sequence[LeafRow], facts: Iterable[Fact]) -> dict[str, float]:
    """Leaf ("" for the whole) → by how much it is amiss whatever the deviations, mm.

    That is each error of the check, but for wood in a leaf's way that its rows know: how often a table has it there is
    for the random tables to say.
    """
    known = _known(rows)
    errors = [
        fact
        for fact in facts
        if fact.severity == "error"
        and (fact.rule != "leaf-blocked" or fact.amount > known.get(fact.leaf, 0.0) + CONTACT)
    ]
    concerned = {leaf: facts_about(leaf, errors) for leaf in known} | {"": errors}
    return {leaf: max(CONTACT, *(one.amount for one in own)) for leaf, own in concerned.items() if own}


def facts_about(leaf: str, facts: Iterable[Fact]) -> list[Fact]:
    """Those of some facts that concern a leaf."""
    return [fact for fact in facts if any(leaf in (one.leaf, *one.parts) for one in fact.places)]


def _known(rows: Sequence[LeafRow]) -> dict[str, float]:
    """Leaf → how far wood that its rows know stands in its way as drawn, mm."""
    found: dict[str, float] = {}
    for one in rows:
        found[one.leaf] = max(found.get(one.leaf, 0.0), _in_the_way(one.row))
    return found


def _in_the_way(row: Row) -> float:
    """How far the wood of a row stands in the way of a leaf that goes in straight as drawn, mm; 0 where it does not."""
    low, high = row.rest, row.rest + row.thickness
    sills = [one.sill - low for one in row.openings if one.sill is not None]
    heads = [high - one.head for one in row.openings if one.head is not None]
    return max(0.0, *sills, *heads)


def in_doubt(found: InShop, wanted: float) -> bool:
    """Whether more tables are needed to tell whether the share that works is as wanted, 0 to 1.

    All of a few are enough, and so is a share whose bounds lie to one side.
    """
    works = found.works
    return works.count < works.of and works.low < wanted <= works.high
