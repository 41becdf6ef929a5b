"""In what fractions of an inch the panel shows sizes: by the table's own choice."""

from __future__ import annotations

import re
from typing import Any

import bpy

from addon.files.editing import update_text
from addon.scene import pending, tables

from .conftest import SEED_BENCH, first

FINER = re.compile(r"\d/(?:32|64)\b")


def results() -> str:
    """Where the panel says that the openings of the leaves are."""
    pending.flush()
    return " | ".join(opening.at for leaf in first().leaves for opening in leaf.openings)


def test_results_are_shown_in_the_fractions_of_the_table(scene: bpy.types.Scene) -> None:
    tables.create_table(scene, SEED_BENCH)
    assert FINER.search(results())


def test_in_sixteenths_none_are_finer(scene: bpy.types.Scene) -> None:
    tables.create_table(scene, update_text(SEED_BENCH, {"fraction": "1/16"}, "The table"))
    assert first().parameters.fraction == "1/16"
    assert " in" in results()
    assert not FINER.search(results())


def test_it_is_changed_in_the_panel(scene: bpy.types.Scene) -> None:
    state: Any = tables.create_table(scene, SEED_BENCH)
    state.parameters.fraction = "1/16"
    tables.settle(first())
    assert 'fraction = "1/16"' in first().text
    assert not FINER.search(results())
