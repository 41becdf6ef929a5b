"""What the user prefers for new tables, help links, and table files that are dropped into the window."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.request import url2pathname

import bpy
import pytest

from addon.files.examples import EXAMPLES
from addon.files.table_file import parse_table
from addon.scene import access, preferences, tables
from addon.scene.pictures import rendering
from addon.sizes.errors import DryAssemblyError
from addon.ui import host


@pytest.fixture
def chosen(scene: bpy.types.Scene) -> Iterator[Any]:
    """The preferences of an extension that is installed."""
    entry = bpy.context.preferences.addons.new()
    entry.module = preferences.PACKAGE
    yield entry.preferences
    bpy.context.preferences.addons.remove(entry)


def test_without_preferences_a_table_is_as_it_comes(scene: bpy.types.Scene) -> None:
    assert preferences.suited(EXAMPLES["quilting"].text()) == EXAMPLES["quilting"].text()
    assert preferences.first_example() == "quilting"


def test_a_new_table_has_what_is_preferred(chosen: Any) -> None:
    chosen.fraction, chosen.rule, chosen.hand = "1/16", "1 mm", "1/2 in"
    table = parse_table(preferences.suited(EXAMPLES["quilting"].text()))
    assert table.fraction == "1/16"
    assert table.limits.rule_division == 1.0
    assert table.limits.hand == pytest.approx(12.7)
    plain = parse_table(EXAMPLES["quilting"].text())
    assert (table.legs, table.leaves, table.stock) == (plain.legs, plain.leaves, plain.stock)


def test_the_first_button_and_the_presets_add_what_is_preferred(chosen: Any) -> None:
    chosen.hand = "13 mm"
    bpy.ops.dry_assembly.add_example(example="quilting")
    assert parse_table(access.active_table(bpy.context).text).limits.hand == 13.0
    chosen.hand, chosen.fraction = "14 mm", "1/16"
    bpy.ops.dry_assembly.apply_preset(preset="hemming", is_own=False)
    table = parse_table(access.active_table(bpy.context).text)
    assert (table.limits.hand, table.fraction) == (14.0, "1/16")


def test_a_fraction_that_nobody_chose_is_that_of_the_table(chosen: Any) -> None:
    text = EXAMPLES["seed-bench"].text().replace('fraction = "1/64"', 'fraction = "1/32"')
    assert parse_table(preferences.suited(text)).fraction == "1/32"


def test_lengths_without_unit_are_in_that_of_the_table(chosen: Any) -> None:
    chosen.hand = "1/2"
    assert parse_table(preferences.suited(EXAMPLES["seed-bench"].text())).limits.hand == pytest.approx(12.7)


@pytest.mark.parametrize("typed", ["a hand", "-3 mm", "900 mm"])
def test_a_preference_that_is_no_such_length_is_named(chosen: Any, typed: str) -> None:
    chosen.hand = typed
    with pytest.raises(DryAssemblyError) as raised:
        preferences.suited(EXAMPLES["quilting"].text())
    assert "hand" in str(raised.value).lower()


def test_who_works_in_inches_begins_with_an_inch_table(chosen: Any) -> None:
    chosen.units = "in"
    assert preferences.first_example() == "seed-bench"
    assert EXAMPLES["seed-bench"].table().units == "in"


def test_the_folder_preferred_counts_until_the_scene_has_its_own(chosen: Any, tmp_path: Path) -> None:
    state = tables.create_table(bpy.context.scene, EXAMPLES["quilting"].text())
    mine, other = tmp_path / "mine", tmp_path / "other"
    chosen.folder = str(mine)
    assert rendering.folder_of(state) == mine
    bpy.context.scene.dry_assembly.pictures_folder = str(other)
    assert rendering.folder_of(state) == other


def test_help_links_lead_to_pages_that_are_there() -> None:
    prefix, links = host._help_links()
    assert len(links) == 5
    for _, page in links:
        assert Path(url2pathname(prefix.removeprefix("file://"))).joinpath(page).is_file()


def test_blender_knows_the_help_links_while_the_extension_is_on(scene: bpy.types.Scene) -> None:
    assert host._help_links() in list(bpy.utils.manual_map())


def test_a_table_file_that_is_dropped_is_opened(scene: bpy.types.Scene, tmp_path: Path) -> None:
    handler = bpy.types.DRY_ASSEMBLY_FH_table
    assert handler.bl_file_extensions == ".toml"
    path = tmp_path / "table.toml"
    path.write_text(EXAMPLES["quilting"].text(), encoding="utf-8")
    category, name = handler.bl_import_operator.split(".")
    assert getattr(getattr(bpy.ops, category), name)("INVOKE_DEFAULT", filepath=str(path)) == {"FINISHED"}
    assert any(item.name.startswith("L1") for item in bpy.data.objects)
