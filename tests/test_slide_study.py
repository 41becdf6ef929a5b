"""Friction, sag, cover and positions changed about, put together for whole tables, and what the advice promises."""

from __future__ import annotations

from dataclasses import replace

import pytest

from addon.check.prepared import prepare
from addon.check.progress import run_through
from addon.designs.findings import Finding, SlideReport
from addon.designs.table import build
from addon.designs.table.changes import changed
from addon.designs.table.design import TABLE, check, study
from addon.designs.table.parameters import Table
from addon.designs.trying import Trials, tried_steps
from tests.old_tables import EXAMPLES


def study_of(table: Table) -> SlideReport:
    return study(table, prepare(build(table)), remedies=False)


def tried(table: Table, rule: str) -> Finding:
    """The finding of a rule, with remedies that were tried."""
    trials = Trials(TABLE, table, prepare(build(table)))
    (found,) = run_through(tried_steps(trials, [only(study_of(table), rule)]))
    return found


def rules(found: SlideReport) -> list[str]:
    return [finding.rule for finding in found.findings]


def only(found: SlideReport, rule: str) -> Finding:
    (finding,) = (one for one in found.findings if one.rule == rule)
    return finding


def test_advice_never_changes_the_verdict() -> None:
    for example in EXAMPLES.values():
        table = example.table()
        assert {finding.severity for finding in study_of(table).findings} == {"note"}
        assert check(table).verdict == "clear"


def test_wide_leaves_wedge_until_they_are_guided_by_friction_times_their_width() -> None:
    """A leaf wedges up to a guided length of friction times its width (D. E. Whitney, rigid part mating)."""
    found = study_of(EXAMPLES["quilting"].table())
    (note,) = (one for one in found.findings if one.rule == "leaf-steer")
    steered = [leaf for leaf in found.leaves if leaf.proof.verdict == "needs-steering"]
    assert {place.leaf for place in note.places} == {leaf.proof.leaf for leaf in steered}
    assert note.amount == max(place.amount for place in note.places)
    for leaf in steered:
        assert leaf.plan.wedging_length == pytest.approx(0.4 * 364.9, abs=1e-9)
        assert leaf.side.wedging_length == pytest.approx(0.4 * 17.7, abs=1e-9)
        assert leaf.plan.anywhere_from.near is not None


def test_cover_that_may_not_lie_down_is_told_with_a_gap_that_lets_it() -> None:
    table = EXAMPLES["quilting"].table()
    table = replace(table, tolerances=replace(table.tolerances, sawn_size=2.0))
    finding = tried(table, "cover-tight")
    found = study_of(table)
    assert found.cover is not None
    # Four leaves and the long sides' length, 2 mm each; the thickness of the short sides comes on top.
    assert finding.amount == pytest.approx(found.cover.play.worst - found.cover.play.nominal, abs=1e-9)
    assert found.cover.play.worst >= 5 * 2.0
    assert finding.remedy is not None
    assert "cover-tight" not in rules(study_of(changed(table, finding.remedy.set)))


def test_a_leaf_that_sags_too_far_is_told() -> None:
    """5/384 w·l⁴/(E·I) for its weight, 1/48 F·l³/(E·I) for the load at its middle (any beam table)."""
    table = EXAMPLES["quilting"].table()
    table = replace(table, limits=replace(table.limits, load=600.0))
    found = study_of(table)
    sag = found.leaves[0].sag
    assert sag is not None
    stiffness = 10048 * 364.9 * 17.7**3 / 12
    weight = 685e-9 * 9.80665 * 364.9 * 17.7
    assert sag.span == pytest.approx(960 - 4 * 17.7, abs=1e-6)
    assert sag.own == pytest.approx(5 / 384 * weight * sag.span**4 / stiffness, rel=2e-2)
    assert sag.load == pytest.approx(600 * sag.span**3 / 48 / stiffness, rel=2e-2)
    excess = [place.amount for place in only(found, "leaf-sag").places]
    assert excess == pytest.approx([sag.own * 1.8 + sag.load - sag.span / 360] * 4)


def test_a_floppy_leaf_bends_down_and_misses_a_window() -> None:
    """A nose held by the openings behind it bends as a cantilever: w·l⁴/(8·E·I) (any beam table)."""
    table = EXAMPLES["quilting"].table()
    assert "leaf-droop" not in rules(study_of(table))
    sheet = replace(table.stock[0], modulus_along=150.0)
    floppy = replace(table, stock=(sheet, *table.stock[1:]))
    found = study_of(floppy)
    told = {place.leaf: place for place in only(found, "leaf-droop").places}
    assert set(told) == {"L3", "L4"}
    row = found.leaves[2].proof.side.of.row
    windows = [number for number, one in enumerate(row.openings) if one.window]
    last, met = row.openings[windows[2]], row.openings[windows[3]]
    free = met.face - (last.end - last.exit.run)
    weight = sheet.density * 1e-9 * 9.80665 * 364.9 * 17.7
    droop = weight * free**4 / 8 / (150.0 * 364.9 * 17.7**3 / 12)
    spare = found.leaves[2].proof.side.proof.openings[windows[3]].margin
    assert spare is not None
    assert told["L3"].amount == pytest.approx(droop - spare, rel=0.05)
    assert met.label in told["L3"].parts


def test_a_leaf_that_jams_even_at_home_is_told() -> None:
    """Guided over L a push at an offset e moves it while e < L / (2 mu) (any text on statics); 1.2 near wedging."""
    table = EXAMPLES["seed-bench"].table()
    assert "leaf-jam" not in rules(study_of(table))
    rough = replace(table, limits=replace(table.limits, friction=0.8))
    found = study_of(rough)
    told = {place.parts[0]: place for place in only(found, "leaf-jam").places}
    assert set(told) == {"L1", "L2"}
    jamming = found.leaves[0].plan
    assert jamming.home_length < 1.2 * 0.8 * jamming.width
    free = jamming.home_length / 1.2 / (2 * 0.8)
    assert told["L1"].amount == pytest.approx(jamming.width / 2 - free, abs=1e-6)


def test_leaves_that_no_edge_lifts_out_are_told_with_the_gap_that_lets_them() -> None:
    """Tilted by an edge a leaf needs its diagonal (Pythagoras): more than its length by what its thickness adds."""
    table = EXAMPLES["quilting"].table()
    assert "cover-lift" not in rules(study_of(table))
    table = replace(table, leaves=replace(table.leaves, gap=0.01, end_gap=0.02))
    finding = tried(table, "cover-lift")
    needed = (924.56**2 + 17.7**2) ** 0.5 - 924.56
    assert finding.amount == pytest.approx(needed - 0.04, abs=1e-6)
    assert finding.remedy is not None
    assert "cover-lift" not in rules(study_of(changed(table, finding.remedy.set)))


def test_the_amount_to_steer_by_is_the_worst_miss() -> None:
    found = study_of(EXAMPLES["quilting"].table())
    (note,) = (one for one in found.findings if one.rule == "leaf-steer")
    steered = [leaf for leaf in found.leaves if leaf.proof.verdict == "needs-steering"]
    assert {place.leaf for place in note.places} == {leaf.proof.leaf for leaf in steered}
    assert note.amount == max(place.amount for place in note.places)
    for leaf in steered:
        margins = [
            proved.margin
            for view in leaf.proof.views
            for proved in view.proof.openings
            if proved.margin is not None
        ]
        amounts = [place.amount for place in note.places if place.leaf == leaf.proof.leaf]
        assert max(amounts) == pytest.approx(-min(margins))
        assert len(amounts) == sum(margin < -1e-9 for margin in margins)
