"""Parts of a role that nobody has heard of, and fasteners, as objects of Blender."""

from __future__ import annotations

from dataclasses import replace

import bpy
import numpy as np
import pytest

from addon.designs.table import build
from addon.scene import ids, objects
from addon.scene.description import describe
from addon.scene.materials import tone_of
from addon.wood.assembly import Assembly
from addon.wood.fasteners import Fastener, Sizes
from addon.wood.roles import role_of
from tests.old_tables import EXAMPLES

from ..new_role import WELL_FLOOR, with_drawer_sides
from .conftest import in_scene


def synced(scene: bpy.types.Scene, table: Assembly) -> dict[str, bpy.types.Object]:
    """The objects of a new table, by label."""
    described = describe(table)
    return objects.sync(scene, objects.new_root(scene, "new", described), described)


def test_they_are_objects_in_a_collection_of_their_own(scene) -> None:
    table = with_drawer_sides(build(EXAMPLES["quilting"].table()))
    made = synced(scene, table)
    item = made["DS1"]
    assert item.name == "DS1 drawer side, front"
    (group,) = item.users_collection
    assert (group.name, group[ids.ROLE], len(group.objects)) == ("Drawer Sides", "drawer side", 2)
    # 300 x 12 x 30 mm on the bottom panel, whose upper face is 712.3 mm above the room's floor.
    points = in_scene(item)
    assert np.ptp(points, axis=0) == pytest.approx([0.3, 0.012, 0.03], abs=1e-6)
    assert points[:, 2].min() == pytest.approx(0.7123, abs=1e-6)
    material = item.data.materials[0]
    assert tuple(material.diffuse_color)[:3] == pytest.approx(tone_of(role_of("drawer side")).screen)


def test_fasteners_are_objects_of_steel_in_a_collection_of_their_own(scene) -> None:
    """A screw 32.3 mm long through the bottom panel into R1; its head is 8 mm wide, facets stand 0.01 out at most."""
    start = np.array([-566.0, 300.0, WELL_FLOOR])
    one = Fastener("SCR1", "screw", start, np.array([0.0, 0.0, -1.0]), Sizes(32.3, 4, 8, 3.5), ("B1", "R1"))
    table = replace(build(EXAMPLES["quilting"].table()), fasteners=(one,))
    item = synced(scene, table)["SCR1"]
    assert [group.name for group in item.users_collection] == ["Fasteners"]
    points = in_scene(item)
    assert np.ptp(points, axis=0) == pytest.approx([0.008, 0.008, 0.0323], abs=3e-5)
    assert points.max(axis=0)[2] == pytest.approx(0.7123, abs=1e-6)
    shader = next(node for node in item.data.materials[0].node_tree.nodes if node.type == "BSDF_PRINCIPLED")
    assert shader.inputs["Metallic"].default_value == 1.0
