"""The .blend files of the time of table files of format 1, kept in tests/data/format-1, opened today.

What they hold and what was found in them is what the program of that time saved in them.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import bpy
import numpy as np
import pytest

import addon
from addon.files.old_format import label_of_today
from addon.files.table_file import parse_table
from addon.scene import access, handlers, ids, pending, tables

from .conftest import first, positions

FOLDER = Path(__file__).resolve().parent.parent / "data" / "format-1"
LONG_RIB = "quilting-table-long-rib"
NAMES = ["quilting-table", "seed-bench", LONG_RIB]


def open_file(name: str) -> None:
    bpy.ops.wm.open_mainfile(filepath=str(FOLDER / f"{name}.blend"))


@pytest.fixture
def switched_on() -> Iterator[None]:
    addon.register()
    yield
    addon.unregister()
    bpy.ops.wm.read_factory_settings(use_empty=True)


@pytest.fixture
def old(request: pytest.FixtureRequest) -> Iterator[dict[str, Any]]:
    """What an old file holds, read while the add-on is off; then it is opened with the add-on on."""
    open_file(request.param)
    meshes = {item.get("dry_assembly_part"): item for item in bpy.data.objects if item.type == "MESH"}
    found = {
        "meshes": {label: positions(item) for label, item in meshes.items() if label},
        "names": {label: item.name for label, item in meshes.items() if label},
        "name": request.param,
    }
    addon.register()
    open_file(request.param)
    yield found
    addon.unregister()
    bpy.ops.wm.read_factory_settings(use_empty=True)


@pytest.mark.parametrize("old", NAMES, indirect=True)
def test_an_old_file_opens_with_its_table_its_objects_and_its_findings(old):
    state = first()
    text = state.text
    assert tomllib.loads(text)["format"] == 4
    expected = (FOLDER / f"{old['name'].removesuffix('-long-rib')}.toml").read_text(encoding="utf-8")
    table = parse_table(text)
    if old["name"] != LONG_RIB:
        assert table == parse_table(expected)
    assert access.table_in(state) == table  # no property takes a value back
    kept = access.part_objects(state)
    assert kept.keys() == {label_of_today(label) for label in old["meshes"]}
    pending.flush()
    assert (state.error, state.out_of_date) == ("", False)
    # Their strips above the windows, 8 mm high, are too thin for a router.
    assert state.verdict == ("blocked" if old["name"] == LONG_RIB else "tight")
    assert state.text == text
    assert tables.rebuild(state)
    made = access.part_objects(state)
    assert {label: item.name for label, item in made.items()} == {
        label: item.name for label, item in kept.items()
    }
    for label, before in old["meshes"].items():
        today = positions(made[label_of_today(label)])
        if len(today) == len(before):
            assert np.array_equal(today, before), label
        else:  # arcs have more facets by now
            assert np.array_equal(today.min(axis=0), before.min(axis=0)), label
            assert np.array_equal(today.max(axis=0), before.max(axis=0)), label
    assert access.part_objects(state).keys() == kept.keys()


@pytest.mark.parametrize("old", ["quilting-table"], indirect=True)
def test_objects_are_called_by_their_labels_of_today(old):
    made = access.part_objects(first())
    assert old["names"]["F1"] == "F1 floor of the well"
    assert made["B1"].name == made["B1"].data.name == "B1 bottom panel"
    assert made["LEG3"].name.startswith("LEG3 ")
    assert made["R3"].name == old["names"]["R3"]
    (group,) = made["B1"].users_collection
    assert (group.name, group[ids.ROLE]) == ("Bottom", "bottom")


def test_what_the_user_named_stays_and_what_the_old_file_had_pending_is_kept(switched_on, tmp_path):
    open_file("quilting-table")
    state = first()
    old = (FOLDER / "quilting-table.toml").read_text(encoding="utf-8")
    made = access.part_objects(state)
    made["B1"].name = "Sewing surface"
    made["B1"][ids.PART] = "F1"
    made["B1"].users_collection[0].name = "Below"
    made["B1"].users_collection[0][ids.ROLE] = "floor"
    with access.own_writing():
        state.text = old
        state.parameters.legs.width = 0.075  # a change that was not yet in the text
    assert handlers.renew_tables()
    assert not handlers.renew_tables()
    assert parse_table(state.text).legs.width == 75.0
    found = access.part_objects(state)["B1"]
    assert (found.name, found.users_collection[0].name) == ("Sewing surface", "Below")
    assert found.users_collection[0][ids.ROLE] == "bottom"


def test_an_old_table_file_is_saved_in_todays_format(switched_on, tmp_path):
    bpy.ops.wm.read_factory_settings(use_empty=True)
    old = FOLDER / "measured-parts.toml"
    state = tables.open_table(bpy.context.scene, old)
    path = tmp_path / "saved.toml"
    tables.save_table(state, path)
    saved = path.read_text(encoding="utf-8")
    assert saved == state.text
    assert tomllib.loads(saved)["format"] == 4
    assert parse_table(saved) == parse_table(old.read_text(encoding="utf-8"))
    assert "wood_above_slots = 9            # by hand\n" in saved


def test_an_old_file_that_is_open_when_the_extension_is_switched_on_is_renewed():
    open_file("quilting-table")
    addon.register()
    try:
        pending.flush()
        assert tomllib.loads(first().text)["format"] == 4
    finally:
        addon.unregister()
        bpy.ops.wm.read_factory_settings(use_empty=True)
