"""The three lines in the panel: when each is there, what it says, undo and redo; places and remedies of findings."""

from __future__ import annotations

from collections import OrderedDict

import bpy
import numpy as np
import pytest
from mathutils import Vector

import addon
from addon.check.tolerance.shop import COUNT, FEW
from addon.designs.words.answer import told_of
from addon.files.editing import update_text
from addon.scene import access, answer, built, findings, jobs, pending, seeing, sliding_in, tables
from addon.sizes.errors import DryAssemblyError
from addon.ui import lists, panel

from .conftest import LOW_WINDOW, QUILTING, SEED_BENCH, first
from .test_panels import Layout, drawn, reported

NARROW = update_text(QUILTING, {"stowing.clearance_above": 0.1, "stowing.clearance_below": 0.1}, "The table")
"""0.1 mm above and below each leaf, while its thickness alone may be off by more: some tables work, most do not."""

LONG = QUILTING + '\n[[as_cut]]\npart = "R3"\ndimension = "length"\ndeviation = 4.0\n'
"""R3 is 4 mm too long: the table cannot be put together, though each leaf's way is as clear as before."""


def shorts(owner) -> list[str]:
    """The lines in short."""
    return [line.short for line in owner.answer]


def head(scene) -> list[str]:
    """The words of the panel's head, name and line by turns."""
    layout = Layout()
    panel.lines(layout, access.tables_in(scene)[0].answer)
    return layout.notes.words


@pytest.fixture
def stepped(monkeypatch):
    """Work that is scheduled, kept back: a list of (work, pause)."""
    waits = []
    monkeypatch.setattr(pending, "schedule", lambda work, delay=pending.DELAY: waits.append((work, delay)))
    return waits


# -- when each line is there


def test_as_drawn_and_by_hand_are_there_with_the_check_and_the_shop_says_that_it_is_coming(scene):
    """1.5 mm is the clearance above and below that the file says, less than the 2 mm at either side."""
    state = tables.create_table(scene, update_text(QUILTING, {"stowing.clearance_above": 1.5}, "T"))
    assert state.shop_count == 0
    words = head(scene)
    assert words[:4] == ["As drawn", "clear, 1.5 mm", "In the shop", "being worked out"]
    assert words[4] == "By hand"
    assert words[5].startswith(("steer to ±", "lead the nose in", "guides itself"))


def test_a_few_tables_come_first_and_many_when_the_hand_rests(scene, stepped):
    state = tables.create_table(scene, QUILTING)
    pauses, seen = [], []
    while stepped:
        work, pause = stepped.pop()
        stepped.clear()
        work()
        state = first()
        pauses.append(pause)
        seen.append((state.shop_count, state.answer[1].short, state.proof_out_of_date))
    assert seen[0][:2] == (0, "being worked out")
    assert seen[-1] == (COUNT, "all of 10,000 work", False)
    counts = [count for count, _, _ in seen]
    assert counts == sorted(counts)
    few = counts.index(FEW)
    assert seen[few][1:] == ("all of 200 so far", True), "the study of leaves on their way comes after"
    assert pauses[0] == pending.DELAY
    assert sliding_in.PAUSE in pauses[few:]
    assert pauses.count(answer.REST) == 1
    assert pauses.index(answer.REST) > pauses.index(sliding_in.PAUSE)


def test_the_views_are_drawn_when_there_is_something_new_and_not_at_each_step(scene, stepped, monkeypatch):
    """With the check, for the few tables, for the study, for the many tables: four times."""
    monkeypatch.setattr(built, "_results", OrderedDict())
    drawn_at = []
    monkeypatch.setattr(seeing, "redraw", lambda: drawn_at.append(first().shop_count))
    tables.create_table(scene, SEED_BENCH)
    steps = 0
    while stepped:
        work, _ = stepped.pop()
        stepped.clear()
        work()
        steps += 1
    assert steps > 10
    assert drawn_at == [0, FEW, FEW, COUNT]


def test_the_lines_are_those_of_the_model(scene):
    for text in (QUILTING, SEED_BENCH, LOW_WINDOW, LONG, NARROW):
        tables.create_table(scene, text)
    pending.flush()
    for state in access.tables_in(scene):
        told = told_of(built.run_through(built.answer_steps(access.table_in(state))))
        for owner, lines in ((state, told.table), *((leaf, told.leaves[leaf.name]) for leaf in state.leaves)):
            kept = [(one.name, one.words, one.short, one.grade) for one in owner.answer]
            assert kept == [(one.name, one.words, one.short, one.grade) for one in lines]


def test_a_window_too_low_blocks_two_leaves_and_the_table(scene):
    """1.0 mm: see LOW_WINDOW. L1 and L2 do not pass R3."""
    state = tables.create_table(scene, LOW_WINDOW)
    pending.flush()
    assert shorts(state)[0] == "blocked by 1.0 mm"
    assert next(line.grade for line in state.answer) == "bad"
    of_leaf = {leaf.name: leaf.answer[0] for leaf in state.leaves}
    assert {name: line.grade for name, line in of_leaf.items()} == {
        "L1": "watch", "L2": "watch", "L3": "bad", "L4": "bad",
    }  # fmt: skip
    assert of_leaf["L3"].words == "blocked, wood 1.0 mm in the way"
    assert of_leaf["L1"].words.endswith("but the table is blocked")


def test_a_rib_too_long_lets_no_table_work(scene):
    """Whatever the deviations: 4 mm are more than any tolerance of a length."""
    state = tables.create_table(scene, LONG)
    pending.flush()
    assert shorts(state)[:2] == ["blocked", "none of 10,000 work"]
    assert [line.grade for line in state.answer][:2] == ["bad", "bad"]


def test_a_low_share_is_a_warning_among_the_findings(scene):
    state = tables.create_table(scene, NARROW)
    pending.flush()
    line = state.answer[1]
    percent = float(line.short.split(" %")[0])
    assert line.grade == "watch"
    assert 0 < percent < 99
    assert line.short.endswith(" % of 10,000 work")
    warning = next(one for one in state.findings if one.rule == "few-work")
    assert (warning.severity, warning.of_answer) == ("warning", True)
    assert f"{line.short.split(' of')[0]} work" in warning.message, "the same number in both"


def test_each_leaf_says_its_three_lines_in_the_list_of_leaves(scene):
    state = tables.create_table(scene, LOW_WINDOW)
    pending.flush()
    state.leaf_index = 2
    words = " ".join(reported(scene, "sliding in").words)
    for line, name in zip(state.leaves[2].answer, ("As drawn", "In the shop", "By hand"), strict=True):
        assert f"{name}: {line.words}" in words.replace("\u00a0", " ")


def test_the_analysis_shows_no_number_of_tables_that_work_but_the_answers(scene):
    state = tables.create_table(scene, LONG)
    pending.flush()
    scene.dry_assembly.tolerance_count = 100
    assert bpy.ops.dry_assembly.analyze_tolerances() == {"FINISHED"}
    names = {share.name for share in first().analysis.shares}
    assert names == {"All leaves go in", "Even level and straight", "All lie in the well"}
    words = " ".join(reported(scene, "tolerances").words).replace("\u00a0", " ")
    assert f"In the shop: {state.answer[1].words}" in words


# -- changes, undo, redo, the end


def test_a_change_makes_the_shop_unknown_and_no_older_share_is_kept(scene, stepped):
    state = tables.create_table(scene, QUILTING)
    answer.answer_now(state)
    assert shorts(state)[1] == "all of 10,000 work"
    state.parameters.stowing.clearance_above = 0.0001
    tables.settle(state)
    assert (state.shop_count, shorts(state)[1]) == (0, "being worked out")
    assert shorts(state)[0] == "tight, 0.1 mm"


def test_a_change_between_two_steps_starts_the_shop_anew(scene, stepped, monkeypatch):
    monkeypatch.setattr(built, "_results", OrderedDict())
    state = tables.create_table(scene, QUILTING)
    assert answer.answer_next(FEW)
    state.parameters.stowing.clearance_above = 0.0001
    assert not answer.is_waiting(FEW), "the check comes first"
    tables.settle(state)
    while answer.answer_next(FEW):
        pass
    assert state.shop_count == FEW
    wanted = built.run_through(built.answer_steps(access.table_in(state), FEW)).answers.table.in_shop.share
    assert wanted.count < FEW
    assert shorts(state)[1].startswith(f"{100 * wanted.value:g} %")


def test_a_table_that_cannot_be_built_has_its_error_and_no_work_that_waits(state, monkeypatch):
    def refuse(*_args):
        raise DryAssemblyError("No such table.")
        yield 0.0

    monkeypatch.setattr(built, "answer_steps", refuse)
    answer.answer_next(FEW)
    assert state.error == "No such table."
    assert not answer.is_waiting(FEW)


def test_undo_before_the_many_tables_were_made_makes_them_again(scene):
    bpy.ops.ed.undo_push(message="empty")
    tables.create_table(scene, SEED_BENCH)
    bpy.ops.ed.undo_push(
        message="table"
    )  # as in the window: the step is recorded before the shop is worked out
    pending.flush()
    bench = [[*shorts(owner)] for owner in (first(), *first().leaves)]
    first().parameters.stowing.clearance_above = 0.0001
    bpy.ops.ed.undo_push(message="clearance")
    pending.flush()
    tight = [[*shorts(owner)] for owner in (first(), *first().leaves)]
    assert tight != bench
    for step, wanted in (("undo", bench), ("redo", tight), ("undo", bench)):
        getattr(bpy.ops.ed, step)()
        pending.flush()
        assert [[*shorts(owner)] for owner in (first(), *first().leaves)] == wanted, step
        assert first().shop_count == COUNT


def test_nothing_waits_once_the_add_on_is_switched_off(empty):
    addon.register()
    tables.create_table(bpy.context.scene, SEED_BENCH)
    tables.settle_later()
    answer.answer_next(FEW)
    assert pending._work
    addon.unregister()
    assert not pending._work
    assert not bpy.app.timers.is_registered(pending._run)
    assert not hasattr(bpy.types.Scene, "dry_assembly")


# -- places and remedies of findings


@pytest.fixture
def steered(scene):
    """The note of a table whose leaves need steering: one finding, and each opening that may be missed is a place."""
    state = tables.create_table(scene, LOW_WINDOW)
    pending.flush()
    index = next(number for number, one in enumerate(state.findings) if one.rule == "leaf-steer")
    state.finding_index = index
    return state.findings[index]


def test_a_finding_lists_its_places_and_each_is_shown(scene, steered):
    state = first()
    assert len(steered.places) > 4
    assert {place.leaf for place in steered.places} <= {leaf.name for leaf in state.leaves}
    assert (steered.parts, tuple(steered.place)) == (steered.places[0].parts, tuple(steered.places[0].place))
    amounts = [float(place.amount.split()[0]) for place in steered.places]
    assert amounts == sorted(amounts, reverse=True), "the gravest first"
    for number in (3, 1):
        steered.place_index = number
        place = steered.places[number]
        leaf = next(one for one in state.leaves if one.name == place.leaf)
        assert (leaf.state, leaf.travel) == ("sliding", pytest.approx(place.travel))
        chosen = {item.name.split()[0] for item in bpy.context.view_layer.objects if item.select_get()}
        assert chosen == set(place.parts.split(", "))
        for space in seeing.views():
            seen = np.array(space.region_3d.view_location)
            # In the middle of what the headers leave free of the view: tests/blender/test_showing.py has rays to it.
            away = seen - np.array(state.root.matrix_world @ Vector(findings.looked_at(place)))
            assert np.linalg.norm(away) < 0.1 * space.region_3d.view_distance


def test_the_list_says_how_many_more_places_there_are(scene, steered):
    layout = Layout()
    lists.DRY_ASSEMBLY_UL_findings.draw_item(None, None, layout, first(), steered, 0, None, "")
    assert layout.notes.words[:2] == [
        "needs steering",
        f"{steered.parts.split(', ')[0]} +{len(steered.places) - 1}",
    ]
    assert f"{len(steered.places)} places:" in drawn(scene).words


def test_all_places_of_the_selected_finding_are_marked_and_of_others_the_first(scene, steered):
    from addon.scene.overlay import shown

    state = first()
    items = shown._items(scene.dry_assembly, state)
    assert sum(item.chosen for item in items) == 1, "one of them is the one that is looked at"
    own = [item for item in items if "needs steering" in item.head]
    assert len(own) == len(steered.places)
    state.finding_index = 0
    others = len(shown._items(scene.dry_assembly, state))
    assert others == max(1, len(state.findings[0].places)), "one that is shown is shown alone"
    seeing.put_back(scene)
    scene.dry_assembly.view.notes = True
    assert len([one for one in shown._items(scene.dry_assembly, state) if "needs steering" in one.head]) == 1


def test_remedies_are_offered_when_they_were_tried_with_what_comes_of_them(scene):
    state = tables.create_table(scene, LOW_WINDOW)
    pending.flush()
    blocked = state.findings[0]
    assert (blocked.rule, blocked.untried, len(blocked.remedies)) == ("leaf-blocked", True, 0)
    assert bpy.ops.dry_assembly.find_remedies() == {"FINISHED"}
    blocked = first().findings[0]
    assert not blocked.untried
    assert blocked.remedies
    remedy = blocked.remedies[0]
    assert remedy.changes
    assert "of tables work" in remedy.after
    words = " ".join(drawn(scene).words).replace("\u00a0", " ")
    assert f"{remedy.name}." in words
    first().finding_index = 0
    assert bpy.ops.dry_assembly.apply_remedy(which=0) == {"FINISHED"}
    pending.flush()
    assert "leaf-blocked" not in {one.rule for one in first().findings}
    assert shorts(first())[0].startswith("clear")
    assert not first().remedies_found, "of the table as it is now nothing was tried"


def test_the_second_of_two_remedies_is_applied_by_its_own_button(state):
    """Two remedies written by hand, each with its own clearance above."""
    pending.flush()
    finding = state.findings.add()
    finding.rule, finding.severity, finding.parts, finding.message = "leaf-tight", "note", "L1", "Tight."
    for size in (1.75, 2.25):
        remedy = finding.remedies.add()
        remedy.name, remedy.changes = f"Leave {size} mm", f'{{"stowing.clearance_above": {size}}}'
    state.finding_index = len(state.findings) - 1
    buttons = drawn(bpy.context.scene).buttons
    assert buttons.count("dry_assembly.apply_remedy") == 2
    assert tables.apply_remedy(state, state.finding_index, 1)
    assert access.table_in(first()).stowing.clearance_above == 2.25
    assert not tables.apply_remedy(first(), 0, 5)


def test_the_selected_finding_stays_selected_when_others_come(scene):
    """The note of the study comes last of all; with the shop's warning before it, it is another one in number."""
    state = tables.create_table(scene, NARROW)
    pending.flush()
    chosen = next(number for number, one in enumerate(state.findings) if one.of_slide)
    state.finding_index = chosen
    name = findings.name_of(state.findings[chosen])
    index = next(number for number, one in enumerate(state.findings) if one.rule == "few-work")
    state.findings.remove(index)
    with access.own_writing():
        state.finding_index = chosen - 1
    answer.answer_now(state)
    assert state.finding_index == chosen
    assert findings.name_of(state.findings[chosen]) == name


def test_a_region_as_narrow_as_the_sidebar_has_room_for_the_lines(scene):
    """28 letters in a line are what a sidebar of the usual width shows beside a sign (from memory)."""
    for text in (QUILTING, SEED_BENCH, LOW_WINDOW, NARROW):
        tables.create_table(scene, text)
    pending.flush()
    for state in access.tables_in(scene):
        for owner in (state, *state.leaves):
            assert all(len(line.name) <= 11 for line in owner.answer)
            assert all(len(line.short) <= 21 for line in owner.answer), shorts(owner)


def test_a_table_saved_before_there_were_lines_is_answered_when_it_is_opened(scene, tmp_path):
    tables.create_table(scene, SEED_BENCH)
    first().answer.clear()
    first().shop_count = 0
    path = tmp_path / "old.blend"
    jobs.save_blend(path)
    bpy.ops.wm.open_mainfile(filepath=str(path))
    pending.flush()
    assert first().shop_count == COUNT
    assert len(first().answer) == 3
