"""A finding accepted from the panel: the button, the file, undo, copies, opening it again."""

from __future__ import annotations

import bpy

from addon.files.table_file import parse_table, read_table
from addon.scene import tables

from .conftest import first
from .test_panels import LONG_RIB, drawn

WHY = "planed on site"


def accept(scene) -> None:
    """The finding about the long rib, by its button."""
    state = first()
    state.finding_index = [one.rule for one in state.findings].index("long-rib")
    assert "dry_assembly.accept_finding" in drawn(scene).buttons
    assert bpy.ops.dry_assembly.accept_finding(reason=WHY) == {"FINISHED"}


def test_accepting_is_kept_listed_saved_undone_and_taken_back(scene, tmp_path):
    bpy.ops.ed.undo_push(message="empty")
    tables.create_table(scene, LONG_RIB)
    bpy.ops.ed.undo_push(message="table")
    text, verdict = first().text, first().verdict
    rules = [one.rule for one in first().findings]
    accept(scene)
    bpy.ops.ed.undo_push(message="accepted")
    state = first()
    assert [(one.rule, one.reason) for one in parse_table(state.text).accepted] == [("long-rib", WHY)]
    assert (state.verdict, state.findings[-1].rule, state.findings[-1].reason) == (verdict, "long-rib", WHY)
    assert sorted(one.rule for one in state.findings) == sorted(rules)
    assert state.answer[0].words.endswith("; accepted: 1")
    state.finding_index = len(state.findings) - 1
    notes = drawn(scene)
    assert {"Accepted, because:", f"{WHY}", "It blocks the table all the same."} <= set(notes.words)
    assert "dry_assembly.open_finding" in notes.buttons
    tables.save_table(state, tmp_path / "own.toml")
    assert read_table(tmp_path / "own.toml").accepted[0].reason == WHY

    bpy.ops.ed.undo()
    assert first().text == text
    assert not any(one.reason for one in first().findings)
    bpy.ops.ed.redo()
    assert first().findings[-1].reason == WHY

    first().finding_index = len(first().findings) - 1
    assert bpy.ops.dry_assembly.open_finding() == {"FINISHED"}
    assert parse_table(first().text) == parse_table(text)
    assert not any(one.reason for one in first().findings)


def test_without_a_reason_nothing_is_accepted(scene):
    tables.create_table(scene, LONG_RIB)
    text = first().text
    assert bpy.ops.dry_assembly.accept_finding(reason="  ") == {"CANCELLED"}
    assert first().text == text


def test_a_copy_has_what_was_accepted(scene):
    tables.create_table(scene, LONG_RIB)
    accept(scene)
    copy = tables.create_table(scene, first().text)
    assert copy.findings[-1].reason == WHY
