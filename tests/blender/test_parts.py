"""The part that is selected: how it came out, its list, what is chosen in lists, the verdict in the view's corner."""

from __future__ import annotations

import csv
import io

import bpy
import numpy as np
import pytest

from addon.designs.table import build
from addon.files.editing import set_values
from addon.files.table_file import parse_table
from addon.scene import access, ids, parts, pending, tables
from addon.scene.overlay import corner
from addon.ui import panels
from tests.large import sampled

from .conftest import SEED_BENCH, first
from .test_panels import LONG_RIB, drawn


def choose(label: str) -> None:
    """Makes a part the active object, and the only one selected."""
    for item in bpy.context.selected_objects:
        item.select_set(False)
    item = access.part_objects(first())[label]
    item.select_set(True)
    bpy.context.view_layer.objects.active = item


def selected() -> set[str]:
    return {item[ids.PART] for item in bpy.context.view_layer.objects if item.select_get()}


def measured(label: str, key: str) -> parts.Measured:
    return next(one for one in parts.measured_of(first(), label) if one.key == key)


# -- how a part came out


def test_a_part_is_entered_as_it_was_measured(state):
    """R3 is 924.6 mm as drawn: 960 less two sides of 17.7 mm; read as 928.6 it is 4 mm too long."""
    choose("R3")
    assert bpy.ops.dry_assembly.enter_as_cut(dimension="length", reading="928.6", end="end") == {"FINISHED"}
    (entry,) = parse_table(first().text).as_cut
    assert (entry.part, entry.dimension, entry.value, entry.end) == ("R3", "length", 928.6, "end")
    pending.flush()
    assert first().findings[0].rule == "long-rib"
    assert first().findings[0].amount == "4.0 mm"


def test_the_same_dimension_read_again_is_the_same_entry(state):
    choose("R3")
    bpy.ops.dry_assembly.enter_as_cut(dimension="length", reading="928.6", end="end")
    bpy.ops.dry_assembly.enter_as_cut(dimension="length", reading="924.6", end="start")
    (entry,) = parse_table(first().text).as_cut
    assert (entry.value, entry.end, entry.deviation) == (924.6, "start", None)


def test_a_deviation_that_was_there_gives_way_to_the_reading(scene):
    tables.create_table(scene, LONG_RIB)
    choose("R3")
    bpy.ops.dry_assembly.enter_as_cut(dimension="length", reading="925.6", end="end")
    (entry,) = parse_table(first().text).as_cut
    assert (entry.value, entry.deviation) == (925.6, None)


def test_inches_are_read_as_on_the_tape(scene):
    """28 1/2 in is 723.9 mm: 28.5 times 25.4."""
    tables.create_table(scene, SEED_BENCH)
    choose("R1")
    assert bpy.ops.dry_assembly.enter_as_cut(dimension="length", reading="28 1/2", end="end") == {"FINISHED"}
    (entry,) = parse_table(first().text).as_cut
    assert entry.value == pytest.approx(723.9, abs=1e-9)


def test_what_does_not_read_changes_nothing(state):
    choose("R3")
    with pytest.raises(RuntimeError, match="long"):
        bpy.ops.dry_assembly.enter_as_cut(dimension="length", reading="long", end="end")
    assert not parse_table(first().text).as_cut


def test_a_window_is_chosen_by_its_leaf(state):
    choose("R3")
    words = {one.key: one.words for one in parts.measured_of(first(), "R3")}
    assert words["window_height@L3"] == "window for L3: height"
    assert "window_height" not in words
    assert bpy.ops.dry_assembly.enter_as_cut(dimension="window_height@L3", reading="18", end="end") == {
        "FINISHED"
    }
    (entry,) = parse_table(first().text).as_cut
    assert (entry.dimension, entry.leaf, entry.value) == ("window_height", "L3", 18.0)


def test_every_dimension_of_every_part_can_be_entered_as_drawn(state):
    """Entered as drawn it changes nothing, so that none is refused; one of each kind of part goes all the way."""
    pending.flush()
    verdict, text, seen = first().verdict, first().text, set()
    for item in list(first().parts):
        kind = item.kind.split(",")[0]
        if kind in seen:
            continue
        seen.add(kind)
        every = [
            parts.as_cut_changes(first(), item.name, one, one.drawn, "end" if one.ends else None)
            for one in parts.measured_of(first(), item.name)
        ]
        for changes in every:
            assert build(set_values(parse_table(text), changes)).by_label[item.name]
        for changes in sampled(every[:1], every):
            tables.change(first(), changes)
            assert first().error == "", changes
            tables.change(first(), {"as_cut[0]": None})
    assert first().verdict == verdict
    assert len(seen) > 6


@pytest.mark.parametrize(
    ("label", "end", "way"), [("R3", "end", [0, 1, 0]), ("R3", "start", [0, -1, 0]), ("S1", "end", [1, 0, 0])]
)
def test_the_arrow_points_where_the_part_would_be_longer(state, label, end, way):
    """R3 runs from front to back, S1 from left to right; each end lies half its length from the part's middle."""
    at, found = parts.grows_at(first(), label, measured(label, "length"), end)
    assert found == pytest.approx(way, abs=1e-9)
    item = access.part_objects(first())[label]
    bpy.context.view_layer.update()
    root = np.linalg.inv(np.array(first().root.matrix_world)) @ np.array(item.matrix_world)
    corners = np.array([[*corner, 1.0] for corner in item.bound_box]) @ root.T
    assert at @ way == pytest.approx((corners[:, :3] @ way).max(), abs=1e-4)


def test_a_dialog_that_is_left_takes_its_arrow_away(state):
    corner.show(first().root.matrix_world, np.zeros(3), np.array([1.0, 0, 0]), "R3: length")
    assert corner.pointed().words == "R3: length"
    choose("R3")
    bpy.ops.dry_assembly.enter_as_cut(dimension="length", reading="928.6", end="end")
    assert corner.pointed() is None


# -- what is said of the part selected


def test_the_part_selected_is_shown_with_its_size_and_what_is_said_of_it(scene):
    tables.create_table(scene, LONG_RIB)
    pending.flush()
    choose("R3")
    words = drawn(scene, panels.PANELS[0]).words
    assert {"R3  through rib", "too long  4.0 mm"} <= set(words)
    assert any(word.startswith("928.6 × ") and word.endswith(" × 17.7 mm") for word in words)
    choose("S1")
    words = drawn(scene, panels.PANELS[0]).words
    assert "S1  front side" in words
    assert "too long  4.0 mm" not in words


# -- the list


def test_the_list_has_every_part_in_the_order_chosen(state):
    """The sides along the table are as long as it, 1500 mm; no board is longer."""
    group = bpy.context.scene.dry_assembly
    assert [item.name for item in first().parts] == list(access.part_objects(first()))
    group.parts_order = "length"
    order = parts.in_order(first().parts, "length")
    lengths = [first().parts[number].size[0] for number in order]
    assert lengths == sorted(lengths, reverse=True)
    assert {first().parts[number].name for number in order[:2]} == {"S1", "S2"}
    assert lengths[0] == pytest.approx(1.5, abs=1e-6)


def test_the_clipboard_and_the_file_hold_the_list(state, tmp_path):
    group = bpy.context.scene.dry_assembly
    group.pictures_folder, group.parts_order = str(tmp_path), "thickness"
    assert bpy.ops.dry_assembly.save_parts() == {"FINISHED"}
    (path,) = tmp_path.iterdir()
    rows = list(csv.reader(io.StringIO(path.read_text(encoding="utf-8"))))
    assert rows[0] == ["label", "name", "length, mm", "width, mm", "thickness, mm", "sheet"]
    assert len(rows) == 1 + len(access.part_objects(first()))
    assert ["S1", "front side", "1500"] in [row[:3] for row in rows]
    assert parts.as_columns(first()).splitlines()[1:] == ["\t".join(row) for row in rows[1:]]


def test_the_list_follows_a_change_of_sizes(state):
    state.parameters.table.length = 1.4
    pending.flush()
    assert first().parts["S1"].words.startswith("1400 × ")


# -- what is chosen in a list


def test_a_line_that_is_chosen_selects_its_part(scene):
    state = tables.create_table(scene, LONG_RIB)
    pending.flush()
    state.part_index = state.parts.find("B1")
    assert selected() == {"B1"}
    state.leaf_index = 2
    assert selected() == {"L3"}
    state.parameters.stow_index = 1
    assert selected() == {"L2"}
    state.parameters.as_cut_index = 0
    assert selected() == {"R3"}
    state.parameters.stock_index = 1
    assert selected() == {"B1"}


# -- the verdict in the corner


def test_the_corner_says_what_the_panel_says(scene):
    state = tables.create_table(scene, LONG_RIB)
    assert corner.verdict_of(state)[:2] == [("", "Quilting table"), ("bad", "As drawn: blocked")]
    state.parameters.well.ledger_height = 0.06
    assert [words for _, words in corner.verdict_of(state)][1:] == [
        "Not built",
        "You see the last table that could be built.",
    ]
