"""Parts of the maker's own in Blender: the dialog, the lists, and meshes that are made parts; undo, copies, saving.

Sizes are worked out by hand from the quilting table's: 1500 x 960 outside, its bottom panel's upper face at 712.3. mm.
"""

from __future__ import annotations

from math import cos, pi, sin

import bpy
import pytest

from addon.designs.table.build import build
from addon.designs.table.parameters import Table
from addon.files.table_file import parse_table
from addon.scene import access, ids, tables

from .conftest import first
from .test_panels import QUILTING, drawn

L_SHAPE = [(0, 0), (300, 0), (300, 80), (120, 80), (120, 200), (0, 200)]


def mesh(name: str, vertices, faces, at=(0.0, 0.0, 0.0)):
    """A mesh object in the scene, mm, its origin at a point."""
    data = bpy.data.meshes.new(name)
    data.from_pydata([[value / 1000 for value in one] for one in vertices], [], faces)
    item = bpy.data.objects.new(name, data)
    item.location = [value / 1000 for value in at]
    bpy.context.collection.objects.link(item)
    for other in bpy.context.selected_objects:
        other.select_set(False)
    item.select_set(True)
    bpy.context.view_layer.objects.active = item
    return item


def prism(name: str, outline, height: float, at):
    """A board of one outline, its faces of many corners."""
    n = len(outline)
    vertices = [(*one, 0.0) for one in outline] + [(*one, height) for one in outline]
    walls = [(k, (k + 1) % n, n + (k + 1) % n, n + k) for k in range(n)]
    return mesh(name, vertices, [tuple(reversed(range(n))), tuple(range(n, 2 * n)), *walls], at)


def ring(name: str, hole, at):
    """A board of 300 x 200 x 17.7 with one hole; faces around it are fans from the nearest corner of the board."""
    box = [(0.0, 0.0), (300.0, 0.0), (300.0, 200.0), (0.0, 200.0)]
    quarter = len(hole) // 4
    n = 4 + len(hole)
    vertices = [(*one, w) for w in (0.0, 17.7) for one in (*box, *hole)]
    top = []
    for k in range(4):
        run = [4 + (k * quarter + j) % len(hole) for j in range(quarter + 1)]
        top.append((k, (k + 1) % 4, *reversed(run)))
    faces = [tuple(n + one for one in face) for face in top] + [tuple(reversed(face)) for face in top]
    faces += [(k, (k + 1) % 4, n + (k + 1) % 4, n + k) for k in range(4)]
    inner = [4 + k for k in range(len(hole))]
    faces += [(b, a, n + a, n + b) for a, b in zip(inner, inner[1:] + inner[:1], strict=True)]
    return mesh(name, vertices, faces, at)


def own(state) -> Table:
    return parse_table(state.text)


@pytest.fixture
def table(scene):
    bpy.ops.ed.undo_push(message="empty")
    state = tables.create_table(scene, QUILTING)
    bpy.ops.ed.undo_push(message="table")
    return state


def test_the_dialog_adds_a_part_that_is_listed_and_undone(scene, table, tmp_path):
    assert {"dry_assembly.add_own_part", "dry_assembly.make_part"} <= set(drawn(scene).buttons)
    text = table.text
    done = bpy.ops.dry_assembly.add_own_part(
        title="hook board", length="300", width="60 mm", where="front_outside"
    )
    assert done == {"FINISHED"}
    bpy.ops.ed.undo_push(message="added")
    state = first()
    (entry,) = own(state).own_part
    assert (entry.name, entry.length, entry.width, entry.joined_to) == ("hook board", 300.0, 60.0, "S1 screw")
    assert "HB1" in access.part_objects(state)
    assert "HB1" in [item.name for item in state.parts]
    assert state.verdict == "clear"
    part = build(own(state)).by_label["HB1"]
    assert [round(value, 6) for value in part.box[1]] == [150.0, -480.0, 790.0]
    assert bpy.ops.dry_assembly.add_entry(section="own_cut") == {"FINISHED"}
    assert own(first()).own_cut[0].part == "HB1"
    assert build(own(first())).by_label["HB1"].shape.holes[0].diameter == 10.0
    tables.save_table(first(), tmp_path / "own.toml")
    assert own(first()) == parse_table((tmp_path / "own.toml").read_text(encoding="utf-8"))
    first().parameters.own_part_index = 0
    assert bpy.ops.dry_assembly.remove_entry(section="own_part") == {"FINISHED"}
    assert (own(first()).own_part, own(first()).own_cut) == ((), ())
    bpy.ops.ed.undo_push(message="removed")
    bpy.ops.ed.undo()
    bpy.ops.ed.undo()
    assert first().text == text
    assert "HB1" not in access.part_objects(first())
    bpy.ops.ed.redo()
    assert "HB1" in access.part_objects(first())


def test_a_length_that_is_none_adds_nothing(table):
    text = table.text
    with pytest.raises(RuntimeError, match="Give the width"):
        bpy.ops.dry_assembly.add_own_part(title="rest", length="300")
    assert first().text == text


def test_cuts_of_other_parts_keep_them_where_one_goes(table):
    for length in ("200", "300"):
        bpy.ops.dry_assembly.add_own_part(title="rest", length=length, width="50", where="lies")
        first().parameters.own_part_index = len(first().parameters.own_part) - 1
        bpy.ops.dry_assembly.add_entry(section="own_cut")
    first().parameters.own_part_index = 0
    assert bpy.ops.dry_assembly.remove_entry(section="own_part") == {"FINISHED"}
    (entry,), (cut,) = own(first()).own_part, own(first()).own_cut
    assert (entry.length, cut.part, cut.along) == (300.0, "REST1", 150.0)
    assert not first().error


def test_a_box_is_made_a_part_where_it_stands(table):
    item = prism("Shelf.001", [(0, 0), (80, 0), (80, 320), (0, 320)], 17.7, (-40.0, -160.0, 712.3))
    assert bpy.ops.dry_assembly.make_part() == {"FINISHED"}
    (entry,) = own(first()).own_part
    assert (entry.name, entry.length, entry.width, entry.corners) == ("shelf", 320.0, 80.0, None)
    assert (entry.length_along, entry.width_along, entry.x, entry.y, entry.z) == (
        "+y",
        "+x",
        -40,
        -160,
        712.3,
    )
    assert item.hide_render
    part = build(own(first())).by_label["SHEL1"]
    assert [round(value, 6) for one in part.box for value in one] == [-40, -160, 712.3, 40, 160, 730]
    assert "SHEL1" in access.part_objects(first())


def test_an_outline_of_corners_is_read_exactly(table):
    prism("rest", L_SHAPE, 17.7, (-150.0, 0.0, 712.3))
    assert bpy.ops.dry_assembly.make_part() == {"FINISHED"}
    (entry,) = own(first()).own_part
    corners = list(zip(entry.corners[::2], entry.corners[1::2], strict=True))
    start = corners.index((0.0, 0.0))
    turned = corners[start:] + corners[:start]
    assert turned in (L_SHAPE, [L_SHAPE[0], *reversed(L_SHAPE[1:])])
    assert build(own(first())).by_label["REST1"].shape.size == pytest.approx((300.0, 200.0, 17.7))


def test_holes_straight_through_are_read(table):
    circle = [
        (150 + 20 * cos(k * pi / 16 + pi * 1.25), 100 + 20 * sin(k * pi / 16 + pi * 1.25)) for k in range(32)
    ]
    ring("tray", circle, (-150.0, 0.0, 712.3))
    assert bpy.ops.dry_assembly.make_part() == {"FINISHED"}
    (cut,) = own(first()).own_cut
    assert (cut.part, cut.kind, cut.along, cut.across, cut.diameter) == ("TRAY1", "hole", 150.0, 100.0, 40.0)
    ring("grip", [(100, 60), (200, 60), (200, 140), (100, 140)], (-150.0, -300.0, 712.3))
    assert bpy.ops.dry_assembly.make_part() == {"FINISHED"}
    cut = own(first()).own_cut[1]
    assert (cut.part, cut.kind) == ("GRIP1", "opening")
    assert (cut.start, cut.stop, cut.lower, cut.upper) == (100.0, 200.0, 60.0, 140.0)


def test_what_is_no_flat_board_is_refused_in_a_sentence(table):
    text = table.text
    cases = [
        (prism("thick", [(0, 0), (80, 0), (80, 320), (0, 320)], 25.0, (0, 0, 712.3)), "25.0 mm thick, and no sheet"),
        (prism("askew", L_SHAPE, 17.7, (0, 0, 712.3)), "no flat board square to the table"),
        (ring("odd", [(100, 60), (200, 90), (200, 140), (100, 140)], (0, 0, 712.3)), "neither round nor a rectangle"),
    ]  # fmt: skip
    cases[1][0].rotation_euler = (0.2, 0.0, 0.0)
    for item, words in cases:
        bpy.context.view_layer.objects.active = item
        bpy.context.view_layer.update()
        with pytest.raises(RuntimeError, match=words):
            bpy.ops.dry_assembly.make_part()
        assert not item.hide_render
    assert first().text == text


def test_a_part_kept_as_my_own_can_be_made_a_part(table):
    """The end stop, moved out and kept as one's own, comes back as a part of one's own."""
    item = access.part_objects(table)["STOP1"]
    item.location.z -= 0.2
    bpy.context.view_layer.update()
    from addon.scene import copies, standing

    standing.look(table)
    assert copies.keep_as_own(table, "STOP1")
    assert item.get(ids.PART) is None
    item.name = "rest"
    bpy.context.view_layer.objects.active = item
    bpy.context.view_layer.update()
    assert bpy.ops.dry_assembly.make_part() == {"FINISHED"}
    stop, rest = (build(own(first())).by_label[label] for label in ("STOP1", "REST1"))
    assert rest.shape.size == pytest.approx(sorted(stop.shape.size, reverse=True), abs=2e-3)
    assert rest.box[0][2] == pytest.approx(stop.box[0][2] - 200.0, abs=2e-3)
