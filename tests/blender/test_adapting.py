"""Counts just work in Blender: positions follow, a note says so, a refused value has its nearest beside it.

Numbers of leaves by hand from the drawing of the quilting table (common practice, no source).
"""

from __future__ import annotations

import bpy
import pytest

from addon.files.examples import EXAMPLES
from addon.scene import access, pending, tables

from .conftest import first

QUILTING = EXAMPLES["quilting"].text()


@pytest.mark.parametrize("count", [2, 3, 5, 6])
def test_a_typed_count_is_built_at_once_with_a_note(scene, count: int) -> None:
    state = tables.create_table(scene, QUILTING)
    state.parameters.leaves.count = count
    assert (state.error, state.parameters.leaves.count) == ("", count)
    assert state.adapted.startswith(f"{count} leaves: positions ")
    assert len(state.leaves) == count
    tables.pending.flush()
    assert state.verdict == "clear"
    state.parameters.table.height = 0.8
    assert state.adapted == ""


def test_a_width_that_cannot_be_built_names_its_own_field_and_the_nearest(scene) -> None:
    """An L of 18 mm boards in a body of 924.6 mm inside: arms of at most half of that, 462.3 mm; by rule 462."""
    state = tables.create_table(scene, QUILTING)
    state.parameters.well.depth = 0.02
    assert state.refusals.keys() == ["well.depth"]
    assert state.refusals["well.depth"].words == "30 mm"
    assert state.error == (
        "well.depth = 20 mm cannot be built: use 30 mm with well.ledger_height = 30 mm,"
        " because the ledger would stand below the bottom panel."
    )
    tables.use_nearest(state, "well.depth")
    assert (state.error, access.table_in(state).well.depth) == ("", 30.0)


def test_changes_by_key_adapt_too(scene) -> None:
    state = tables.create_table(scene, QUILTING)
    tables.change(state, {"leaves.count": 3})
    assert (state.error, state.verdict) == ("", "clear")
    assert state.adapted == "3 leaves: positions chosen anew."
    assert "[[stow]]" not in state.text


def test_a_count_and_all_that_follows_it_are_one_step_back(scene) -> None:
    bpy.ops.ed.undo_push(message="empty")
    tables.create_table(scene, QUILTING)
    pending.flush()
    bpy.ops.ed.undo_push(message="table")
    first().parameters.leaves.count = 3
    bpy.ops.ed.undo_push(message="count")
    pending.flush()
    assert (len(first().leaves), "[[stow]]" in first().text) == (3, False)
    bpy.ops.ed.undo()
    pending.flush()
    assert (first().text, first().adapted, first().parameters.leaves.count) == (QUILTING, "", 4)
    assert access.table_in(first()) == EXAMPLES["quilting"].table()
    assert len(first().leaves) == 4
    bpy.ops.ed.redo()
    pending.flush()
    assert (first().parameters.leaves.count, first().verdict) == (3, "clear")
    assert first().adapted == "3 leaves: positions chosen anew."
