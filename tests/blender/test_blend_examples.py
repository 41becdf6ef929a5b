"""The .blend files that come with the project, opened in the Blender that runs, whichever it is."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import bpy
import fcl
import numpy as np
import pytest

import addon
from addon.designs.table import build
from addon.designs.table.design import check
from addon.designs.table.figures import long_rib
from addon.designs.table.parameters import AsCut
from addon.files.examples import EXAMPLES
from addon.files.table_file import parse_table
from addon.scene import access, tables
from addon.scene.findings import labels_of
from addon.scene.motion import motion
from example import EXCESS

from .conftest import first, in_scene

FOLDER = Path(__file__).resolve().parent.parent.parent / "blend_examples"
SOUND = {"quilting-table": "quilting", "seed-bench": "seed-bench"}
LONG_RIB = "quilting-table-long-rib"
OWN = ("key", "number", "root", "finding_index", "rna_type")
"""What a table has that does not follow from its text."""


@pytest.fixture
def opened(request: pytest.FixtureRequest) -> Iterator[str]:
    """An example, opened with the add-on switched on; its name."""
    addon.register()
    bpy.ops.wm.open_mainfile(filepath=str(FOLDER / f"{request.param}.blend"))
    yield request.param
    addon.unregister()
    bpy.ops.wm.read_factory_settings(use_empty=True)


def held(group: Any) -> dict[str, Any]:
    """All that a property group holds, as plain values."""
    found: dict[str, Any] = {}
    for item in group.bl_rna.properties:
        if item.identifier in OWN:
            continue
        value = getattr(group, item.identifier)
        if item.type == "POINTER":
            found[item.identifier] = held(value)
        elif item.type == "COLLECTION":
            found[item.identifier] = [held(entry) for entry in value]
        elif getattr(item, "is_array", False):
            found[item.identifier] = list(value)
        else:
            found[item.identifier] = value
    return found


def test_each_example_is_there_saved_by_blender_4_2_and_under_1_mb():
    files = {path.stem: path for path in FOLDER.glob("*.blend")}
    assert files.keys() == {*SOUND, LONG_RIB}
    for path in files.values():
        assert path.stat().st_size < 1_000_000
        bpy.ops.wm.open_mainfile(filepath=str(path))
        assert tuple(bpy.data.version[:2]) == (4, 2)


@pytest.mark.parametrize("opened", [*SOUND, LONG_RIB], indirect=True)
def test_an_example_holds_what_its_parameters_say_today(opened):
    state = first()
    if opened in SOUND:
        assert state.text == EXAMPLES[SOUND[opened]].text()
    report = check(parse_table(state.text))
    assert state.verdict == report.verdict == ("blocked" if opened == LONG_RIB else "clear")
    assert (state.out_of_date, state.proof_out_of_date, state.error) == (False, False, "")
    of_check = [one for one in state.findings if not (one.of_slide or one.of_answer)]
    assert [(one.rule, one.message) for one in of_check] == [
        (one.rule, one.message) for one in report.findings
    ]
    fresh = tables.create_table(bpy.context.scene, state.text)
    motion.animate(fresh)
    tables.check_all(fresh)
    kept, made = (access.tables_in(bpy.context.scene)[number] for number in (0, 1))
    assert json.dumps(held(kept), indent=1) == json.dumps(held(made), indent=1)
    copies = access.part_objects(made)
    for label, item in access.part_objects(kept).items():
        assert np.array_equal(positions_of(item), positions_of(copies[label])), label


def positions_of(item: bpy.types.Object) -> np.ndarray:
    """(n, 3) float32: a mesh's vertices in its own frame."""
    found = np.empty(3 * len(item.data.vertices), dtype=np.float32)
    item.data.vertices.foreach_get("co", found)
    return found.reshape(-1, 3)


def body(item: bpy.types.Object) -> fcl.CollisionObject:
    """An object as it stands in the scene, mm, for the Flexible Collision Library."""
    mesh = item.data
    mesh.calc_loop_triangles()
    triangles = np.array([list(one.vertices) for one in mesh.loop_triangles])
    vertices = in_scene(item) * 1000.0
    model = fcl.BVHModel()
    model.beginModel(len(vertices), len(triangles))
    model.addSubModel(vertices, triangles)
    model.endModel()
    return fcl.CollisionObject(model)


@pytest.mark.parametrize("opened", [LONG_RIB], indirect=True)
def test_the_long_rib_is_the_one_forced_in_and_the_leaf_stands_where_it_meets_it(opened):
    """python-fcl measures the meshes that Blender shows: nothing between leaf and rib at the frame shown, and room
    before."""
    state, scene = first(), bpy.context.scene
    sound, table = EXAMPLES["quilting"].table(), parse_table(state.text)
    finding = state.findings[state.finding_index]
    rib, leaf = labels_of(finding)
    (too_long,) = (one for one in table.as_cut if one.dimension == "length")
    assert (too_long.part, too_long.deviation) == (rib, EXCESS)
    forced = {stop.leaf: stop.travel for stop in long_rib(sound, rib, "start", EXCESS).forced.stops}
    shown = build(table).by_label[rib]
    loose = build(parse_table(EXAMPLES["quilting"].text() + loose_rib(rib))).by_label[rib]
    assert shown.shape == loose.shape  # the same piece of wood
    assert shown.placement.origin - loose.placement.origin == pytest.approx([0.0, EXCESS, 0.0], abs=1e-9)

    frame = scene.frame_current_final
    line = motion.timeline_of(state)
    assert line is not None
    assert finding.leaf == leaf
    assert line.leaves[leaf].travel_at(frame) == pytest.approx(forced[leaf], abs=1e-3)
    assert frame == pytest.approx(line.frame_of(leaf, forced[leaf]), abs=1e-4)
    selected = {item.name.split()[0] for item in bpy.context.view_layer.objects if item.select_get()}
    assert selected == {rib, leaf}
    made = access.part_objects(state)

    def apart(at: float) -> float:
        motion.go_to_frame(scene, at)
        request, result = fcl.DistanceRequest(), fcl.DistanceResult()
        return fcl.distance(body(made[leaf]), body(made[rib]), request, result)

    assert abs(apart(frame)) < 0.002  # float32 at half a meter: 0.00006 mm a step, in a product of matrices
    assert apart(frame - 0.01) > 0.01
    assert apart(frame - 1.0) > 0.4
    assert apart(frame + 0.01) <= 0.0


def loose_rib(rib: str) -> str:
    """The rib too long at its start, with nothing forced."""
    entry = AsCut(rib, "length", deviation=EXCESS, end="start")
    return (
        f'\n[[as_cut]]\npart = "{entry.part}"\ndimension = "{entry.dimension}"\n'
        f'deviation = {entry.deviation}\nend = "{entry.end}"\n'
    )


@pytest.mark.parametrize("opened", [LONG_RIB], indirect=True)
def test_the_view_of_the_long_rib_is_framed_on_the_overlap(opened):
    state = first()
    place = state.findings[state.finding_index].place
    views = [
        area.spaces.active.region_3d
        for screen in bpy.data.screens
        for area in screen.areas
        if area.type == "VIEW_3D"
    ]
    assert views
    for view in views:
        assert view.view_perspective == "PERSP"
        assert list(view.view_location) == pytest.approx(list(place), abs=1e-6)
        assert view.view_distance < 1.0
        assert view.view_rotation.to_matrix().col[2].z < 0.0  # from below, as the floor hides it from above
