"""Variants side by side in the scene; the area of their boards is reckoned by hand from the boards' dimensions."""

from __future__ import annotations

import itertools

import bpy
import numpy as np
import pytest
from mathutils import Vector

from addon.files.table_file import parse_table
from addon.scene import access, ids, pending, seeing, tables, variants
from addon.scene.motion import motion

from .conftest import LOW_WINDOW, QUILTING, first, in_scene, positions


@pytest.fixture
def pair(state):
    """The quilting table, and a variant with legs of 80 mm that is the active table."""
    assert bpy.ops.dry_assembly.add_variant(name="Wide legs") == {"FINISHED"}
    access.tables_in(bpy.context.scene)[1].parameters.legs.width = 0.08
    pending.flush()
    return access.tables_in(bpy.context.scene)


def extent(state) -> np.ndarray:
    """(2, 3) float, m: least and greatest coordinates of a table's parts in the scene."""
    points = np.concatenate([in_scene(item) for item in access.part_objects(state).values()])
    return np.array([points.min(axis=0), points.max(axis=0)])


def shown(state) -> dict[str, str]:
    return {figure.name: figure.words for figure in state.figures}


def test_a_variant_is_the_same_table_beside_the_first(state):
    state.parameters.well.depth = 0.05
    assert bpy.ops.dry_assembly.add_variant(name="Deeper") == {"FINISHED"}
    one, other = access.tables_in(bpy.context.scene)
    wanted, found = parse_table(one.text), parse_table(other.text)
    assert wanted.well.depth == found.well.depth == 50.0
    assert (found.legs, found.stow, found.stock) == (wanted.legs, wanted.stow, wanted.stock)
    assert (wanted.name, found.name) == ("Quilting table", "Deeper")
    assert access.active_table(bpy.context) == other
    left, right = extent(one), extent(other)
    assert right[0, 0] - left[1, 0] == pytest.approx(0.6, abs=1e-5)
    assert right[:, 1:] == pytest.approx(left[:, 1:], abs=1e-5)
    assert not one.figures


def test_a_table_that_was_moved_and_turned_has_its_variant_in_line(state):
    state.root.location = (1.0, 2.0, 0.5)
    state.root.rotation_euler.z = np.pi / 2
    variants.add(first(), "B")
    variants.add(first(), "C")
    boxes = [extent(one) for one in access.tables_in(bpy.context.scene)]
    for left, right in itertools.pairwise(boxes):
        assert right[0, 0] - left[1, 0] == pytest.approx(0.6, abs=1e-5)
        assert right[:, 1:] == pytest.approx(left[:, 1:], abs=1e-5)


def test_the_view_looks_at_the_variant_where_it_stands(state):
    state.root.location = (1.0, 8.0, 0.5)
    made = variants.add(first(), "B")
    area, space = seeing.main_view()
    # No sidebar lies over the view: the table is in the middle from left to right.
    assert not seeing.lens_of(area, space).aside[0]
    middle = Vector(extent(made).mean(axis=0))
    off = space.region_3d.view_rotation.inverted() @ (middle - space.region_3d.view_location)
    assert off.x == pytest.approx(0.0, abs=1e-4)
    assert off.z == pytest.approx(0.0, abs=1e-4)


def faces(state) -> float:
    """Lengths times widths of all parts, m², from their vertices."""
    sizes = [np.sort(np.ptp(positions(item), axis=0)) for item in access.part_objects(state).values()]
    return sum(float(one[1] * one[2]) for one in sizes)


def test_the_figures_that_differ_are_kept_with_each(pair):
    one, other = (shown(state) for state in pair)
    assert list(one) == list(other)
    assert (one["Legs: width"], other["Legs: width"]) == ("60 mm", "80 mm")
    assert pair[0].verdict == pair[1].verdict == "clear"
    assert "Verdict of the check" not in one
    assert not [name for name in one if one[name] == other[name]]
    # Every board of a leg is 20 mm wider over its whole length, and ribs end at the legs.
    area = faces(pair[1]) - faces(pair[0])
    stock = "18 mm birch plywood, net area"
    grown = float(other[stock].removesuffix(" m²")) - float(one[stock].removesuffix(" m²"))
    assert grown == pytest.approx(area, abs=0.011)


def test_a_change_of_one_is_seen_at_the_others_and_equal_ones_have_nothing_to_show(pair):
    pair[0].parameters.legs.width = 0.08
    pending.flush()
    assert not pair[0].figures
    assert not pair[1].figures
    pair[0].parameters.table.height = 0.8
    pending.flush()
    assert shown(pair[1])["Table: height"] == "770 mm"


def test_no_more_than_four(pair):
    for _ in range(2):
        assert bpy.ops.dry_assembly.add_variant() == {"FINISHED"}
    scene = bpy.context.scene
    names = [state.name for state in access.tables_in(scene)]
    assert names == ["Quilting table", "Wide legs", "Variant B", "Variant C"]
    with pytest.raises(RuntimeError, match="4 variants stand side by side already"):
        bpy.ops.dry_assembly.add_variant()
    assert len(access.tables_in(scene)) == 4


@pytest.mark.parametrize(
    ("name", "sentence"), [("Wide legs", "There is a 'Wide legs'"), ("  ", "without a name")]
)
def test_names_tell_them_apart(pair, name, sentence):
    with pytest.raises(RuntimeError, match=sentence):
        bpy.ops.dry_assembly.add_variant(name=name)
    assert len(access.tables_in(bpy.context.scene)) == 2


def test_what_is_left_alone_is_no_variant(pair):
    tables.make_active(access.tables_in(bpy.context.scene)[0])
    assert bpy.ops.dry_assembly.remove_table() == {"FINISHED"}
    assert (first().name, first().family, len(first().figures)) == ("Wide legs", "", 0)
    with pytest.raises(RuntimeError, match="Add a variant first"):
        bpy.ops.dry_assembly.keep_variant()


def hang(item, collection):
    """An object of the user's on a part, and the part in a collection of the user's with keyframes of the user's."""
    lamp = bpy.data.objects.new("Lamp", None)
    bpy.context.scene.collection.objects.link(lamp)
    lamp.parent = item
    collection.objects.link(item)
    item.keyframe_insert("delta_location", frame=7)


def test_the_one_that_is_kept_stands_where_the_first_stood_with_all_that_the_user_gave_it(pair):
    scene = bpy.context.scene
    access.tables_in(scene)[0].path = "/studio/quilting.toml"
    access.tables_in(scene)[0].root.location.y = 3.0
    place = np.array(access.tables_in(scene)[0].root.matrix_basis)
    other = tables.create_table(scene, QUILTING.replace("Quilting table", "Not a variant"))
    unrelated = access.part_objects(other)["S1"].name
    own = bpy.data.collections.new("Mine")
    scene.collection.children.link(own)
    item = access.part_objects(access.tables_in(scene)[1])["S2"]
    hang(item, own)
    material = bpy.data.materials.new("Walnut")
    item.data.materials[0] = material
    tables.make_active(access.tables_in(scene)[1])
    bpy.ops.ed.undo_push(message="before")
    assert bpy.ops.dry_assembly.keep_variant("EXEC_DEFAULT", True) == {"FINISHED"}

    scene = bpy.context.scene
    assert [state.name for state in access.tables_in(scene)] == ["Quilting table", "Not a variant"]
    kept = access.active_in(scene)
    assert parse_table(kept.text).legs.width == 80.0
    assert (kept.path, kept.family, len(kept.figures)) == ("/studio/quilting.toml", "", 0)
    np.testing.assert_allclose(np.array(kept.root.matrix_basis), place, atol=1e-6)
    assert kept.root.name == "Quilting table"
    item = access.part_objects(kept)["S2"]
    assert bpy.data.objects["Lamp"].parent == item
    assert item.name in bpy.data.collections["Mine"].objects
    assert item.animation_data.action is not None
    assert item.data.materials[0].name == "Walnut"
    keys = {thing.get(ids.TABLE) for thing in bpy.context.scene.objects if thing.get(ids.TABLE)}
    assert keys == {state.key for state in access.tables_in(scene)}
    assert unrelated in bpy.context.scene.objects

    bpy.ops.ed.undo()
    pending.flush()
    found = access.tables_in(bpy.context.scene)
    assert [state.name for state in found] == ["Quilting table", "Wide legs", "Not a variant"]
    assert len(access.part_objects(found[0])) == len(access.part_objects(found[1])) == 40
    assert shown(found[1])["Legs: width"] == "80 mm"


def test_the_first_can_be_kept(pair):
    tables.make_active(access.tables_in(bpy.context.scene)[0])
    text = pair[0].text
    assert bpy.ops.dry_assembly.keep_variant() == {"FINISHED"}
    assert [state.text for state in access.tables_in(bpy.context.scene)] == [text]


def test_the_picture_has_all_of_them(pair, tmp_path):
    group = bpy.context.scene.dry_assembly
    group.pictures_folder = str(tmp_path)
    group.sheet.format = "svg"
    assert bpy.ops.dry_assembly.save_variants_picture() == {"FINISHED"}
    (path,) = tmp_path.iterdir()
    assert path.name == "quilting-table-variants-isometric.svg"
    text = path.read_text(encoding="utf-8")
    for words in ("Wide legs", "Quilting table", "Legs: width", "80 mm"):
        assert words in text


def markers() -> set[tuple[str, int]]:
    return {(marker.name, marker.frame) for marker in bpy.context.scene.timeline_markers}


def test_marks_in_the_timeline_are_those_of_the_one_that_is_kept(scene):
    motion.animate(tables.create_table(scene, LOW_WINDOW))
    wanted = markers()
    assert wanted
    variants.add(first(), "Also low")
    motion.animate(access.tables_in(scene)[1])
    kept = variants.keep(access.tables_in(scene)[1])
    assert markers() == wanted
    motion.stop_animation(kept)
    assert not markers()


def test_one_that_cannot_be_built_leaves_the_figures_and_is_not_kept(pair):
    before = shown(pair[0])
    pair[1].parameters.well.ledger_height = 0.06
    pending.flush()
    assert pair[1].error
    assert shown(pair[0]) == before
    for name in ("keep_variant", "add_variant"):
        with pytest.raises(RuntimeError, match="Correct the table first"):
            getattr(bpy.ops.dry_assembly, name)()
    with pytest.raises(RuntimeError, match="Correct Wide legs first"):
        bpy.ops.dry_assembly.save_variants_picture()
    assert len(pair) == 2
