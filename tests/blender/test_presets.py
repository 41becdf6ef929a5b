"""Presets: what is kept and given back is compared by tomllib of Python's standard library."""

from __future__ import annotations

import tomllib
from types import SimpleNamespace

import bpy
import pytest

from addon.files.table_file import parse_table
from addon.scene import access, pending, presets, tables
from addon.ui.table_panel import DRY_ASSEMBLY_MT_presets, DRY_ASSEMBLY_MT_remove_presets

from .conftest import LOW_WINDOW, QUILTING, first


@pytest.fixture(autouse=True)
def folder(monkeypatch, tmp_path):
    """A folder of our own instead of the user's."""
    place = tmp_path / "presets"
    monkeypatch.setattr(presets, "folder", lambda: place)
    return place


def plain(text: str) -> dict:
    found = tomllib.loads(text)
    found.pop("name")
    return found


def menu_entries(kind) -> list[tuple[str, str]]:
    """Operator and name on it, as the menu draws them."""
    found = []

    def operator(name, text="", **_settings):
        found.append((name, text))
        return SimpleNamespace()

    layout = SimpleNamespace(operator=operator, separator=lambda: None, menu=lambda *_a, **_k: None)
    kind.draw(SimpleNamespace(layout=layout), bpy.context)
    return found


def test_the_folder_is_that_of_blenders_presets(monkeypatch):
    monkeypatch.undo()
    assert presets.folder().parent.name == "presets"
    assert str(presets.folder()).startswith(bpy.utils.user_resource("SCRIPTS"))


@pytest.mark.parametrize("name", presets.BUILTIN)
def test_those_of_the_extension_can_be_built_and_run_clear(scene, name):
    assert bpy.ops.dry_assembly.apply_preset(preset=name) == {"FINISHED"}
    assert (first().error, first().verdict) == ("", "clear")
    assert parse_table(first().text) == parse_table(presets.BUILTIN[name].path.read_text(encoding="utf-8"))


def test_sizes_are_kept_and_given_back_without_the_name_and_what_was_cut(scene, folder):
    state = tables.create_table(scene, LOW_WINDOW)
    state.parameters.legs.width = 0.08
    assert bpy.ops.dry_assembly.save_preset(name="Wide legs ½") == {"FINISHED"}
    text = (folder / "Wide legs ½.toml").read_text(encoding="utf-8")
    wanted = plain(QUILTING)
    wanted["legs"]["width"] = 80
    assert plain(text) == wanted
    assert tomllib.loads(text)["name"] == "Wide legs ½"

    tables.remove_table(first())
    state = tables.create_table(scene, presets.BUILTIN["seed-bench"].text())
    state.parameters.title = "Bench by the door"
    assert bpy.ops.dry_assembly.apply_preset(preset="Wide legs ½", is_own=True) == {"FINISHED"}
    assert len(access.tables_in(scene)) == 1
    assert plain(first().text) == wanted
    assert first().name == "Bench by the door"
    assert scene.unit_settings.length_unit == "MILLIMETERS"


def test_applying_is_one_step_to_undo(scene):
    tables.create_table(scene, QUILTING)
    bpy.ops.ed.undo_push(message="table")
    pending.flush()
    before = len(access.part_objects(first()))
    assert bpy.ops.dry_assembly.apply_preset("EXEC_DEFAULT", True, preset="hemming") == {"FINISHED"}
    assert len(first().leaves) == 2
    bpy.ops.ed.undo()
    pending.flush()
    assert first().text == QUILTING
    assert len(first().leaves) == 4
    assert len(access.part_objects(first())) == before


def test_the_menu_lists_them_and_a_removed_one_is_gone(scene, folder):
    assert ("dry_assembly.save_preset", "Save Preset…") not in menu_entries(DRY_ASSEMBLY_MT_presets)
    tables.create_table(scene, QUILTING)
    for name in ("beta", "Alpha"):
        assert bpy.ops.dry_assembly.save_preset(name=name) == {"FINISHED"}
    entries = menu_entries(DRY_ASSEMBLY_MT_presets)
    labels = [one.label for one in presets.BUILTIN.values()]
    assert [text for _, text in entries] == [*labels, "Alpha", "beta", "Save Preset…"]
    assert [text for _, text in menu_entries(DRY_ASSEMBLY_MT_remove_presets)] == ["Alpha", "beta"]
    assert bpy.ops.dry_assembly.remove_preset(preset="Alpha") == {"FINISHED"}
    assert [path.name for path in folder.iterdir()] == ["beta.toml"]
    with pytest.raises(RuntimeError, match="There is no preset 'Alpha'"):
        bpy.ops.dry_assembly.remove_preset(preset="Alpha")


@pytest.mark.parametrize("name", ["", "  ", "a/b", "a\\b", "..", "what?", "CON", "lpt1", "tab\nle"])
def test_what_cannot_be_a_file_is_no_name(scene, folder, name):
    tables.create_table(scene, QUILTING)
    with pytest.raises(RuntimeError, match="cannot name a preset"):
        bpy.ops.dry_assembly.save_preset(name=name)
    assert not folder.exists()


def test_a_name_that_is_taken_is_refused(scene, folder):
    tables.create_table(scene, QUILTING)
    bpy.ops.dry_assembly.save_preset(name="Mine")
    before = (folder / "Mine.toml").read_bytes()
    first().parameters.table.height = 0.8
    with pytest.raises(RuntimeError, match="There is a preset 'mine' already"):
        bpy.ops.dry_assembly.save_preset(name="mine")
    with pytest.raises(RuntimeError, match="There is a preset 'hemming table' already"):
        bpy.ops.dry_assembly.save_preset(name="hemming table")
    assert (folder / "Mine.toml").read_bytes() == before


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"[table]\nlenght = 3\n", "The preset 'bad'.*lenght is not a parameter"),
        (b"[table\n", "The preset 'bad'"),
        (b"\xff\xfe\x00", "bad"),
        (b"[well]\nledger_height = 60\n", "ledger_height"),
        (None, "bad"),
    ],
)
def test_a_preset_that_is_no_table_is_refused_and_changes_nothing(scene, folder, content, sentence):
    tables.create_table(scene, QUILTING)
    folder.mkdir()
    if content is not None:
        (folder / "bad.toml").write_bytes(content)
    with pytest.raises(RuntimeError, match=sentence):
        bpy.ops.dry_assembly.apply_preset(preset="bad", is_own=True)
    assert (first().text, first().error) == (QUILTING, "")
