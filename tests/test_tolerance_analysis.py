"""The whole analysis of a table: what its parts say of each other, and what it says when asked backwards."""

from __future__ import annotations

import json
import math
import tracemalloc
from dataclasses import fields, replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from addon.check.prepared import prepare
from addon.check.row.leaf_rows import leaf_rows
from addon.check.row.profile import Row
from addon.check.row.proof import prove
from addon.check.tolerance.analysis import analyze
from addon.check.tolerance.deviations import Register
from addon.check.tolerance.guided import guides
from addon.check.tolerance.model import row_models
from addon.check.tolerance.report import RowTolerance, Stacked, ToleranceReport
from addon.check.tolerance.statistics import deviations
from addon.command_line import main
from addon.designs.table import build
from addon.designs.table.parameters import Table
from addon.reports.tolerance import CAUTION, tolerance_document, tolerance_text
from tests.old_tables import EXAMPLES

QUILTING = EXAMPLES["quilting"].table()
BENCH = EXAMPLES["seed-bench"].table()
UNITS = {table.name: table.units for table in (QUILTING, BENCH)}


def with_tolerances(table: Table, **changes: Any) -> Table:
    return replace(table, tolerances=replace(table.tolerances, **changes))


COARSE = with_tolerances(QUILTING, opening_size=0.5, opening_place=1.5, groove_place=0.8, part_place=1.0)
"""The quilting table by somebody in a hurry."""


@pytest.fixture(scope="module")
def coarse() -> ToleranceReport:
    return analyze(build(COARSE), count=1000, seed=3, guided=20)


@pytest.fixture(scope="module")
def bench() -> ToleranceReport:
    return analyze(build(BENCH), count=1000, seed=3, guided=20)


def test_random_tables_stay_within_the_worst_case(coarse: ToleranceReport, bench: ToleranceReport) -> None:
    for report in (coarse, bench):
        for row in report.rows:
            assert row.case is not None
            assert row.governing is not None
            assert row.case.margin <= row.governing.worst + 0.03
            assert row.quantiles[0.001] >= row.case.margin - 1e-9
            assert row.level_worst <= row.case.margin + 1e-9
            assert row.passes_level.count <= row.passes.count
    assert coarse.passes_level.count < coarse.passes.count < coarse.passes.of


def test_the_case_is_what_the_proof_finds_there(coarse: ToleranceReport) -> None:
    """The row rebuilt with the deviations of the case, by name."""
    prepared = prepare(build(COARSE))
    register = Register(prepared.assembly)
    models = {(one.leaf, one.view): one for one in row_models(leaf_rows(prepared), register)}
    for row in coarse.rows:
        assert row.case is not None
        off = np.array([row.case.deviations.get(one.name, 0.0) for one in register.found])
        assert (np.abs(off) <= register.tolerances).all()
        proof = prove([models[row.leaf, row.view].row_at(off)])[0]
        assert proof.fit_margin is not None
        if row.view == "side":
            assert proof.fit_margin == pytest.approx(row.case.margin, abs=1e-6)
        else:
            # The leaf's corners stand on the ribs beside its way.
            assert proof.fit_margin <= row.case.margin + 1e-4


def sums(report: ToleranceReport) -> list[Stacked]:
    assert report.cover is not None
    found = [gap.sum for gap in report.cover.gaps]
    for row in report.rows:
        assert row.governing is not None
        assert row.likeliest is not None
        found += [row.governing, row.likeliest]
    return found


def test_sums_are_those_of_their_dimensions(coarse: ToleranceReport, bench: ToleranceReport) -> None:
    for own in (*sums(coarse), *sums(bench)):
        amounts = [one.change * one.tolerance for one in own.effects]
        assert own.nominal - own.worst == pytest.approx(sum(map(abs, amounts)))
        assert own.nominal - own.rss == pytest.approx(math.hypot(*amounts))
        assert own.cpk == pytest.approx(own.nominal / math.hypot(*amounts))
        assert [one.amount for one in own.effects] == sorted(map(abs, amounts), reverse=True)
        assert sum(one.of_worst for one in own.effects) == pytest.approx(1.0)
        assert sum(one.of_variance for one in own.effects) == pytest.approx(1.0)


def test_leaves_and_shares_agree(coarse: ToleranceReport) -> None:
    for leaf in coarse.leaves:
        views = (leaf.side.passes.count, leaf.plan.passes.count)
        assert coarse.passes.count <= leaf.passes.count <= min(views)
        assert leaf.passes.count >= sum(views) - coarse.count
    assert coarse.cover is not None
    assert coarse.works.count <= min(coarse.passes.count, coarse.cover.fits.count)
    assert coarse.tightest is min(
        coarse.rows, key=lambda row: row.governing.worst if row.governing else np.inf
    )


def as_plain(report: ToleranceReport) -> dict[str, Any]:
    return json.loads(json.dumps(tolerance_document(report, UNITS[report.name])))


def nearly(a: Any, b: Any) -> bool:
    if isinstance(a, dict):
        return a.keys() == b.keys() and all(nearly(a[key], b[key]) for key in a)
    if isinstance(a, list):
        return len(a) == len(b) and all(map(nearly, a, b))
    return a == (pytest.approx(b, abs=1e-9) if isinstance(b, float) else b)


def test_pieces_and_wholes_agree(coarse: ToleranceReport) -> None:
    """Counts are the same, lengths to the last digits of the arithmetic; another seed gives other ones."""
    pieces = analyze(build(COARSE), count=1000, seed=3, guided=20, at_once=400)
    assert nearly(as_plain(pieces), as_plain(coarse))
    other = analyze(build(COARSE), count=1000, seed=4, guided=0, wanted=None)
    assert other.passes.count != coarse.passes.count
    assert other.guides is None
    assert other.router is None
    assert [row.case for row in other.rows] == [row.case for row in coarse.rows]


def test_memory_does_not_grow_with_the_tables() -> None:
    """Twice as many tables need room for their margins only: a number a row, and a byte or two a verdict."""
    peaks = []
    for count in (2_000, 4_000):
        tracemalloc.start()
        analyze(build(BENCH), count=count, guided=0, wanted=None, at_once=1_000)
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
    rows = 4
    assert peaks[1] - peaks[0] < 2_000 * rows * (8 + 4) + 200_000
    assert peaks[1] < 20e6


def side_row(table: Table, leaf: str) -> Row:
    return next(one.row for one in leaf_rows(prepare(build(table))) if (one.leaf, one.view) == (leaf, "side"))


def test_thickest_leaf(coarse: ToleranceReport) -> None:
    """A millionth less goes in, a millionth more does not."""
    for leaf in coarse.leaves:
        row = side_row(COARSE, leaf.leaf)
        less, more = (
            prove([replace(row, thickness=leaf.thickest + step)])[0].fit_margin for step in (-1e-6, 1e-6)
        )
        assert less is not None
        assert more is not None
        assert less > 0 > more
        # Level openings 20.7 high, as the design draws them: no leaf is thicker.
        assert leaf.thickest == pytest.approx(20.7, abs=1e-6)
        assert leaf.side.governing is not None
        own = sum(one.amount for one in leaf.side.governing.effects if "thickness" in one.name)
        # All else to the worse side: what the worst case has left, and what thickness takes of it; twice, as margins
        # are halves.
        most = leaf.thickness + 2 * (leaf.side.governing.worst + own)
        assert leaf.thickest_worst <= most + 1e-9
        assert leaf.thickest_worst == pytest.approx(most, abs=0.02)
        assert leaf.thickest_worst < leaf.thickest


def test_router_tolerance_is_the_greatest_that_will_do(coarse: ToleranceReport) -> None:
    """With the tolerances that it names as many tables work as wanted; with a hundredth more, fewer do."""
    router = coarse.router
    assert router is not None
    assert router.scale is not None
    assert 0 < router.scale < 1
    assert router.share.value >= 0.99
    for factor, enough in ((1.0 - 1e-9, True), (1.01, False)):
        own = with_tolerances(
            COARSE,
            opening_size=router.opening_size * factor,
            opening_place=router.opening_place * factor,
            groove_place=router.groove_place * factor,
        )
        passes = analyze(build(own), count=1000, seed=3, guided=0, wanted=None).passes
        assert (passes.value >= 0.99) == enough
        if enough:
            assert passes.count == router.share.count
    assert router.rss_scale is not None
    assert router.rss_scale > router.scale  # root sum square promises too much: these deviations are uniform


def test_router_cannot_make_up_for_the_rest() -> None:
    thick = replace(QUILTING.stock[0], spread_between=6.0)
    table = replace(QUILTING, stock=(thick, *QUILTING.stock[1:]))
    report = analyze(build(table), count=100, guided=0)
    assert report.router is not None
    assert report.router.scale is None
    assert report.router.opening_size == 0.0
    # Root sum square takes one wide uniform deviation for a normal one, and promises that the router may do worse.
    assert report.router.rss_scale is not None
    assert report.router.rss_scale > 1
    assert "however well it works" in tolerance_text(report, "mm")


def test_router_cannot_make_up_for_boards_put_anywhere() -> None:
    router = analyze(build(with_tolerances(QUILTING, part_place=8.0)), count=8, guided=0).router
    assert router is not None
    assert router.scale is None
    assert router.rss_scale is None


def test_no_tolerances_no_spread() -> None:
    none = with_tolerances(
        QUILTING,
        opening_size=0.0,
        opening_place=0.0,
        groove_place=0.0,
        sawn_size=0.0,
        squareness=0.0,
        part_place=0.0,
    )
    sheets = tuple(replace(one, spread_within=0.0, spread_between=0.0) for one in none.stock)
    report = analyze(build(replace(none, stock=sheets)), count=20, guided=0)
    assert report.deviations == ()
    assert report.passes.count == 20
    for row in report.rows:
        assert row.governing is not None
        assert row.case is not None
        assert row.governing.worst == row.governing.nominal == pytest.approx(row.nominal, abs=1e-9)
        assert row.deviation == 0.0
        assert row.governing.effects == ()


def test_what_parts_of_one_sheet_have_in_common_adds_up() -> None:
    """L3's way depends on the thicknesses of a side and of ribs: off together, they stop it more often than apart."""
    thick = replace(QUILTING.stock[0], spread_between=4.6)
    table = replace(QUILTING, stock=(thick, *QUILTING.stock[1:]))
    one, many = (
        analyze(build(with_tolerances(table, sheets=sheets)), count=1000, guided=0, wanted=None)
        .leaves[2]
        .plan.passes
        for sheets in ("one", "many")
    )
    assert one.high < many.low


def test_tables_that_guide_their_leaves() -> None:
    """Single openings, likeliest first, against the whole proof of each table."""
    short = replace(
        QUILTING,
        sides=replace(QUILTING.sides, slot_chamfer=6.0),
        ribs=replace(QUILTING.ribs, window_chamfer=6.4),
        stowing=replace(QUILTING.stowing, runners=True, kickers=True, guides=True),
    )
    prepared = prepare(build(short))
    register = Register(prepared.assembly)
    models = row_models(leaf_rows(prepared), register)
    off = np.concatenate(list(deviations(register.found, "uniform", 12, 5)), axis=1)
    found = 0
    for model in models:
        proofs = prove([model.row_at(column) for column in off.T])
        wanted = [all(proved.verdict in (None, "guides-itself") for proved in one.openings) for one in proofs]
        assert guides(model, off[model.used]).tolist() == wanted
        found += sum(wanted)
    assert 0 < found < 12 * len(models)


def test_document_says_what_the_report_says(bench: ToleranceReport) -> None:
    document = as_plain(bench)
    assert document["table"] == "Seed-sorting bench"
    assert (document["units"], document["shown_in"]) == ("mm", "in")
    assert document["all_leaves_go_in"]["count"] == bench.passes.count
    assert document["all_works"]["low"] == pytest.approx(bench.works.low, abs=1e-9)
    assert [one["name"] for one in document["deviations"]] == [one.name for one in bench.deviations]
    for leaf, own in zip(bench.leaves, document["leaves"], strict=True):
        for row, found in ((leaf.side, own["side"]), (leaf.plan, own["plan"])):
            assert row.governing is not None
            assert found["margin_mm"] == pytest.approx(row.nominal, abs=1e-9)
            assert found["worst_case"]["worst_mm"] == pytest.approx(row.governing.worst, abs=1e-9)
            assert found["worst_case"]["remainder_mm"] == pytest.approx(row.remainder, abs=1e-9)
            assert len(found["worst_case"]["dimensions"]) == len(row.governing.effects)
    names = {item.name for item in fields(RowTolerance)}
    assert len(names) == 14  # a new field belongs into the document as well


def test_text_names_what_matters(bench: ToleranceReport) -> None:
    text = tolerance_text(bench, "in", details=True)
    for row in bench.rows:
        assert row.governing is not None
        assert row.governing.effects[0].name in text
    assert "3/4 in plywood: mean thickness" in text
    assert text.endswith(CAUTION)
    assert "nan" not in text


def test_statistics_that_hold_for_normal_deviations_alone_are_told_on_demand(bench: ToleranceReport) -> None:
    plain, details = tolerance_text(bench, "in"), tolerance_text(bench, "in", details=True)
    for words in ("root sum square", "Cpk", "variance", "95 % confidence bounds"):
        assert words not in plain
        assert words in details


def test_command(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """Status 0 where enough tables work, 1 where too few do, 2 for what cannot be."""
    path = tmp_path / "table.toml"
    path.write_text(EXAMPLES["quilting"].text(), encoding="utf-8")
    assert main(["tolerance", str(path), "--json", "--count", "200"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert document["count"] == 200
    assert document["router"]["wanted"] == 0.99
    text = EXAMPLES["quilting"].text().replace("opening_place = 0.5", "opening_place = 3")
    path.write_text(text, encoding="utf-8")
    assert main(["tolerance", str(path), "--count", "60", "--seed", "2"]) == 1
    assert "Router: for 99 % of the tables it has to hold" in capsys.readouterr().out
    assert main(["tolerance", str(path), "--count", "0"]) == 2
    assert main(["tolerance", str(path), "--wanted", "1"]) == 2
    assert main(["tolerance", str(tmp_path / "none.toml")]) == 2
