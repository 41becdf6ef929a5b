"""The tolerance analysis of an assembly: its leaves on their ways home and as cover."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from ...sizes.arrays import Bools, Floats
from ...sizes.tolerances import WELD
from ...wood.assembly import Assembly
from ..check import check_prepared
from ..prepared import prepare
from ..progress import Steps, run_through, share_of
from ..row.leaf_rows import leaf_rows
from .backwards import Wanted, router_steps, thickest, thickest_worst
from .deviations import Deviation, Register
from .guided import guides
from .maps import Compiled, compiled
from .model import row_models
from .report import Case, HeldBy, LeafTolerance, RowTolerance, ToleranceReport, stacked
from .shop import COUNT, FEW, Tables, cover_sums, cover_tolerance, together, works_never
from .statistics import AT_ONCE, deviations, share
from .triples import Triples, level_worst, triples_of, worst_margin, worst_of

QUANTILES: Final = (0.001, 0.01, 0.05, 0.5, 0.95)


def analyze(
    assembly: Assembly,
    *,
    count: int = COUNT,
    seed: int = 1,
    guided: int = FEW,
    wanted: float | None = 0.99,
    at_once: int = AT_ONCE,
) -> ToleranceReport:
    """How the tolerances of cutting and of the stock tell on an assembly's leaves.

    Parameters
    ----------
    count, seed : random tables, and what their deviations are drawn with
    guided : how many of them are asked whether their leaves need steering; 0 for none
    wanted : share of tables for which the router's tolerance is sought; None for none
    at_once : tables that are worked out together; changes memory and time, but no result

    Raises
    ------
    PartError
        For features that run together.
    """
    return run_through(
        analysis_steps(assembly, count=count, seed=seed, guided=guided, wanted=wanted, at_once=at_once)
    )


def analysis_steps(
    assembly: Assembly,
    *,
    count: int = COUNT,
    seed: int = 1,
    guided: int = FEW,
    wanted: float | None = 0.99,
    at_once: int = AT_ONCE,
) -> Steps[ToleranceReport]:
    """`analyze`, step by step: the fewer tables at once, the shorter the steps."""
    prepared = prepare(assembly)
    register = Register(assembly)
    on_way = leaf_rows(prepared)
    models = row_models(on_way, register)
    covering = cover_sums(register)
    tolerances = register.tolerances
    rows = []
    for number, model in enumerate(models):
        yield 0.1 * number / len(models)
        rows.append(compiled(model, tolerances))
    kind = assembly.tolerances.distribution
    drawn = _Drawn.empty(len(rows), len(covering), count, guided)
    first = 0
    for own in deviations(register.found, kind, count, seed, at_once):
        yield 0.1 + 0.2 * first / count
        drawn.fill(first, own, rows, np.array([gap.at(own) for gap in covering]))
        first += own.shape[1]
    if drawn.asked:
        yield 0.3
        few = np.concatenate(list(deviations(register.found, kind, drawn.asked, seed, at_once)), axis=1)
        for number, model in enumerate(models):
            yield 0.3 + 0.1 * number / len(models)
            good = drawn.passes[number, : drawn.asked]
            drawn.guides[number, good] = guides(model, few[model.used][:, good])
    found = tuple(register.found)
    passes = drawn.passes.all(axis=0) if rows else np.ones(count, dtype=bool)
    triples = [triples_of(row, register.routed) for row in rows]
    in_shop = together(
        on_way,
        [
            Tables(margins, good, worst_margin(own))
            for margins, good, own in zip(drawn.margins, drawn.guides, triples, strict=True)
        ],
        (
            {gap.leaf: room / 2 for gap, room in zip(covering, drawn.rooms, strict=True)},
            {gap.leaf: gap.worst(tolerances) / 2 for gap in covering},
        ),
        works_never(on_way, check_prepared(prepared).facts),
    )
    router = None
    if wanted is not None and rows:
        search = router_steps(
            assembly.tolerances,
            models,
            found,
            Wanted(wanted, kind, count, seed, at_once),
            triples,
        )
        router = yield from share_of(search, 0.4, 0.9)
    leaves = []
    for number in range(0, len(rows), 2):
        yield 0.9 + 0.1 * number / len(rows)
        leaves.append(_leaf(triples, found, drawn, number))
    return ToleranceReport(
        assembly.name,
        kind,
        count,
        seed,
        found,
        tuple(leaves),
        share(int(passes.sum()), count),
        share(int(drawn.level.all(axis=0).sum()) if rows else count, count),
        cover_tolerance(covering, found, drawn.rooms >= -WELD) if covering else None,
        in_shop,
        router,
    )


@dataclass(frozen=True, eq=False)
class _Drawn:
    """What was found of the random tables.

    Attributes
    ----------
    margins : (rows, count) float, mm
    passes, level : (rows, count) bool; whether the leaf goes in, tilted or level
    rooms : (gaps, count) float, mm
    guides : (rows, asked) bool
    """

    margins: Floats
    passes: Bools
    level: Bools
    rooms: Floats
    guides: Bools

    @classmethod
    def empty(cls, rows: int, gaps: int, count: int, guided: int) -> _Drawn:
        passes, level = np.zeros((2, rows, count), dtype=bool)
        guides = np.zeros((rows, min(guided, count)), dtype=bool)
        return cls(np.zeros((rows, count)), passes, level, np.zeros((gaps, count)), guides)

    @property
    def asked(self) -> int:
        """How many tables are asked whether they guide their leaves."""
        return self.guides.shape[1]

    def fill(self, first: int, own: Floats, rows: list[Compiled], gaps: Floats) -> None:
        """Tables from number `first` on."""
        last = first + own.shape[1]
        for number, row in enumerate(rows):
            margins = row.margins(own)
            self.margins[number, first:last] = margins
            self.passes[number, first:last] = margins >= -WELD
            self.level[number, first:last] = row.level(own) >= -WELD
        if len(gaps):
            self.rooms[:, first:last] = gaps


def _leaf(triples: list[Triples], found: tuple[Deviation, ...], drawn: _Drawn, number: int) -> LeafTolerance:
    side = triples[number].row
    passes = drawn.passes[number] & drawn.passes[number + 1]
    return LeafTolerance(
        side.model.leaf,
        _row(triples[number], found, drawn, number),
        _row(triples[number + 1], found, drawn, number + 1),
        share(int(passes.sum()), len(passes)),
        side.model.row.thickness,
        thickest(side.model.row),
        thickest_worst(triples[number]),
    )


def _row(triples: Triples, found: tuple[Deviation, ...], drawn: _Drawn, number: int) -> RowTolerance:
    row = triples.row
    own = [found[one] for one in row.model.used.tolist()]
    margins, count = drawn.margins[number], drawn.margins.shape[1]
    finite = bool(np.isfinite(margins).all())
    nothing = np.zeros((len(row.tolerances), 1))
    worst = worst_of(row, triples)
    governing = likeliest = case = None
    held: tuple[HeldBy, ...] = ()
    if worst is not None:
        least = int((triples.margin - np.sqrt(triples.squares)).argmin())
        governing, likeliest = (
            stacked(float(triples.margin[one]), triples.change(np.array([one]))[0], own)
            for one in (worst.triple, least)
        )
        moved = {one.name: float(off) for one, off in zip(own, worst.deviations, strict=True) if off}
        case = Case(worst.case, moved)
        held = _held_by(triples, worst.triple)
    return RowTolerance(
        row.model.leaf,
        row.model.view,
        float(row.margins_of(nothing, sizes=True)[0]),
        governing,
        held,
        case,
        likeliest,
        float(row.level_of(nothing)[0]),
        level_worst(row),
        share(int(drawn.passes[number].sum()), count),
        share(int(drawn.level[number].sum()), count),
        float(margins.mean()) if finite else np.inf,
        float(margins.std()) if finite else 0.0,
        {one: float(np.quantile(margins, one)) for one in QUANTILES} if finite else {},
    )


def _held_by(triples: Triples, number: int) -> tuple[HeldBy, ...]:
    row = triples.row
    places = (*row.certain, *row.possible)[triples.which[number]]
    edges = dict.fromkeys(triples.edges[number].tolist())
    held = [
        HeldBy(
            row.model.row.openings[row.lands.opening[places.land[one]]].label,
            bool(places.side[one] > 0),
            float(places.x[one]),
        )
        for one in edges
    ]
    return tuple(sorted(held, key=lambda one: one.x))
