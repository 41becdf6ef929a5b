"""What the sub-panels of the slide show, against the model alone, the meshes in the scene and sums by hand."""

from __future__ import annotations

from itertools import pairwise
from types import SimpleNamespace

import bpy
import numpy as np
import pytest

from addon.check.forces.jamming import judge
from addon.check.prepared import prepare
from addon.check.slide.proof import prove_leaves
from addon.check.tolerance.analysis import analyze
from addon.designs.table import build
from addon.scene import access, built, pending, sliding_in, tables, tolerances
from addon.ui import lists

from .conftest import LOW_WINDOW, QUILTING, SEED_BENCH, analyze_now, first, in_scene
from .test_panels import Layout, drawn, reported

HIDDEN = 1 << 30
"""Bit by which Blender marks an item of a list as shown."""


def amount(text: str) -> float:
    """The amount at the start of a text in mm."""
    value, unit = text.split()[:2]
    assert unit == "mm"
    return float(value)


@pytest.fixture
def studied(state):
    """The quilting table with all that is worked out while the user pauses."""
    pending.flush()
    return first()


# -- jamming and droop


def test_where_a_leaf_may_be_pushed_is_what_friction_says(studied):
    table = access.table_in(studied)
    proofs = prove_leaves(prepare(build(table)))
    assert len(proofs) == len(studied.leaves) == 4
    for proof, leaf in zip(proofs, studied.leaves, strict=True):
        for view, start, jams in (
            (proof.side, leaf.study.side_start, leaf.study.side_jams),
            (proof.plan, leaf.study.plan_start, leaf.study.plan_jams),
        ):
            wanted = judge(view.of.row, mu=table.limits.friction).anywhere_from.near
            assert wanted is not None
            assert not jams
            assert amount(start) == pytest.approx(wanted, abs=0.0051)


def test_a_leaf_of_the_quilting_table_by_hand(studied):
    """L1 seen from above is 364.9 mm wide: with mu 0.4 it has to be guided over 364.9 * 0.4 = 145.96 mm.

    Drawer rule, from memory: guided length at least mu times the width. Here that is so in the second opening only.
    """
    words = studied.leaves[0].study.plan_words
    assert "guided over no more than 146 mm" in words
    assert words.splitlines()[0].startswith("From 474 mm on it may be pushed anywhere")
    assert "Entry, held by one opening, 3 mm to" in words
    assert words.splitlines()[-1].startswith("From there on, held by two,")
    assert words.splitlines()[-1].endswith("until 474 mm, then push anywhere.")


def test_friction_that_jams_at_home_is_told(scene):
    """405.2 mm wide, it would have to be guided over 405.2 * 0.8 * 1.2 = 389 mm stowed, and is over 359 mm."""
    state = tables.create_table(scene, SEED_BENCH)
    state.parameters.limits.friction = 0.8
    pending.flush()
    assert [leaf.study.plan_jams for leaf in first().leaves] == [True, True]
    assert [leaf.study.side_jams for leaf in first().leaves] == [False, False]
    assert [finding.rule for finding in first().findings].count("leaf-jam") == 1, "one cause, told once"
    leaf = first().leaves[0]
    assert leaf.study.plan_words.startswith("Push it at most ")
    layout = Layout()
    lists.DRY_ASSEMBLY_UL_jamming.draw_item(None, None, layout, first(), leaf, 0, None, "")
    assert layout.notes.words == ["L1", leaf.study.side_start, "nowhere"]


def test_a_heavier_load_lets_leaves_sag_too_far(scene):
    state = tables.create_table(scene, QUILTING)
    pending.flush()
    before = amount(first().leaves[0].study.sag)
    assert not first().leaves[0].study.sags
    state.parameters.limits.load *= 4
    pending.flush()
    study = first().leaves[0].study
    assert study.sags
    assert before < amount(study.sag) < 4 * before, "its own weight stays"
    assert study.sag in study.sag_words
    assert study.droop in study.droop_words


# -- cover


def test_gaps_of_the_cover_are_those_between_the_leaves_in_the_scene(studied):
    parts = access.part_objects(studied)
    boxes = [in_scene(parts[leaf.name]) for leaf in studied.leaves]
    spans = sorted((box[:, axis].min(), box[:, axis].max()) for box in boxes for axis in [_along(boxes)])
    gaps = [(after[0] - before[1]) * 1000 for before, after in pairwise(spans)]
    assert gaps == pytest.approx([amount(studied.cover.gap)] * 3, abs=1e-3)
    low, high = (float(word) for word in studied.cover.gap_worst.removesuffix(" mm").split(" to "))
    assert (low + high) / 2 == pytest.approx(amount(studied.cover.gap), abs=0.006)
    assert low < high
    assert not studied.cover.tight


def _along(boxes) -> int:
    middles = np.array([box.mean(axis=0) for box in boxes])
    return int(np.ptp(middles, axis=0).argmax())


def test_a_cover_that_may_be_too_wide_is_marked_in_inches(scene):
    tables.create_table(scene, SEED_BENCH)
    pending.flush()
    assert first().cover.gap == "0.031 in"
    assert first().cover.tight
    assert first().cover.gap_worst.startswith("-0.0")


# -- any leaf, any place


def test_places_of_a_low_window_by_hand(scene):
    """R3's windows for L3 and L4 are 1.0 mm too low for any leaf (see LOW_WINDOW); all other ways are as before."""
    tables.create_table(scene, LOW_WINDOW)
    pending.flush()
    state = first()
    assert len(state.positions) == 4 * 4 * 4
    for cell in state.positions:
        blocked = cell.position in ("L3", "L4")
        assert (cell.verdict == "blocked") == blocked, (cell.name, cell.position, cell.turn)
        assert cell.clearance == ("-1.0" if blocked else "1.5")


def test_the_panel_shows_the_way_round_and_the_cell_chosen(scene):
    tables.create_table(scene, LOW_WINDOW)
    pending.flush()
    assert (first().guest, first().position) == ("L1", "L1")
    assert "L1 in the position of L1 through S1, as drawn: passes clear" in " ".join(
        reported(scene, "positions").words
    )
    assert reported(scene, "positions").buttons.count("dry_assembly.choose_position") == 16
    assert bpy.ops.dry_assembly.choose_position(leaf="L2", position="L3") == {"FINISHED"}
    first().turn = "turned over"
    words = " ".join(reported(scene, "positions").words)
    assert "L2 in the position of L3 through S4, turned over: R3" in words
    assert "stands 1.0 mm in the way" in words


def test_clearances_in_inches_are_thousandths(scene):
    tables.create_table(scene, SEED_BENCH)
    pending.flush()
    assert {cell.clearance for cell in first().positions} == {"0.062"}
    assert "0.062 in" in first().positions[0].words


# -- when it is worked out


def test_the_study_is_made_in_steps_and_a_change_between_them_starts_it_anew(state, monkeypatch):
    waits = []
    monkeypatch.setattr(pending, "schedule", lambda work, delay=pending.DELAY: waits.append((work, delay)))
    state.parameters.table.height = 0.8123
    tables.settle(state)
    tables.settle_later()
    waits.pop()[0]()
    steps, changed = 0, False
    while waits:
        work, _ = waits.pop()
        work()
        steps += 1
        if sliding_in._under_way is not None and not changed:
            assert state.proof_out_of_date, "a step is not the whole"
            state.parameters.limits.friction = 0.5
            waits.clear()
            tables.settle(state)
            tables._go_on_later("study")
            changed = True
    assert changed
    assert steps > 4
    assert not state.proof_out_of_date
    assert "(friction 0.5)" in state.leaves[0].study.side_words


def test_what_was_worked_out_once_is_remembered(state, monkeypatch):
    pending.flush()

    def refuse(*_args, **_settings):
        raise AssertionError("worked out again")

    monkeypatch.setattr(built.design, "study_steps", refuse)
    assert sliding_in.prove_now(state).name == access.table_in(state).name


# -- tolerances


def test_the_analysis_in_the_panel_is_that_of_the_table(state):
    bpy.context.scene.dry_assembly.tolerance_count = 300
    assert bpy.ops.dry_assembly.analyze_tolerances() == {"FINISHED"}
    analysis = first().analysis
    report = analyze(build(access.table_in(first())), count=300)
    assert (analysis.made, analysis.out_of_date, analysis.count) == (True, False, 300)
    assert [margin.name for margin in analysis.margins][:3] == ["L1 side", "L1 above", "L2 side"]
    for margin, row in zip(analysis.margins, report.rows, strict=True):
        assert amount(margin.nominal) == pytest.approx(row.nominal, abs=0.0051)
        assert amount(margin.worst) == pytest.approx(row.governing.worst, abs=0.0051)
        assert amount(margin.worst) < amount(margin.nominal)
    assert len(analysis.effects) == tolerances.RANKED
    effects = [amount(effect.words.replace(" mm", " mm ")) for effect in analysis.effects]
    assert effects == sorted(effects, reverse=True)
    goes_in = analysis.shares[0]
    assert goes_in.every == (report.passes.count == 300)
    # 1 - 0.05 ** (1 / 300) = 0.00994: what may hide where none of 300 failed (rule of three).
    assert goes_in.words == "all of 300 tables (at least 99.01 %)"
    assert analysis.thickest.startswith("L")
    assert "Router: for 99 % of the tables" in analysis.router


def test_an_analysis_is_marked_as_out_of_date_once_parameters_change(scene):
    state = tables.create_table(scene, SEED_BENCH)
    scene.dry_assembly.tolerance_count = 100
    assert "Out of date: analyze anew" not in reported(scene).words
    analyze_now(state)
    assert "Out of date: analyze anew" not in reported(scene).words
    assert " in" in state.analysis.margins[0].worst
    state.parameters.table.height = 0.8
    assert "Out of date: analyze anew" in reported(scene).words
    analyze_now(state)
    assert "Out of date: analyze anew" not in reported(scene).words


def test_undo_takes_an_analysis_back_in_one_step(scene):
    tables.create_table(scene, SEED_BENCH)
    scene.dry_assembly.tolerance_count = 100
    bpy.ops.ed.undo_push(message="table")
    assert bpy.ops.dry_assembly.analyze_tolerances("EXEC_DEFAULT", True) == {"FINISHED"}
    assert first().analysis.made
    bpy.ops.ed.undo()
    assert not first().analysis.made
    bpy.ops.ed.redo()
    assert first().analysis.made
    assert len(first().analysis.margins) == 4


# -- the list of findings


def shown(state, text: str = "") -> list[str]:
    """Severities that the list shows."""
    stand_in = SimpleNamespace(filter_name=text, bitflag_filter_item=HIDDEN)
    flags, order = lists.DRY_ASSEMBLY_UL_findings.filter_items(stand_in, bpy.context, state, "findings")
    assert order == []
    return [finding.severity for finding, flag in zip(state.findings, flags, strict=True) if flag & HIDDEN]


def test_findings_are_listed_gravest_first_and_by_severity(scene):
    state = tables.create_table(scene, LOW_WINDOW)
    pending.flush()
    every = shown(state)
    rank = ["error", "warning", "note"]
    assert every == sorted(every, key=rank.index)
    assert {"error", "note"} <= set(every)
    scene.dry_assembly.show_notes = False
    assert set(shown(state)) == set(every) - {"note"}
    scene.dry_assembly.show_errors = False
    assert "error" not in shown(state)
    assert state.findings[0].message.split(".")[0] not in " ".join(drawn(scene).words)


def test_findings_are_searched_by_part_and_by_words(scene):
    state = tables.create_table(scene, LOW_WINDOW)
    pending.flush()
    for text in ("R3", "stands 1.0 mm", "steering"):
        wanted = [one for one in state.findings if text in one.parts or text in one.message]
        assert wanted, text
        assert shown(state, text) == [one.severity for one in wanted]
    assert shown(state, "no such words") == []
