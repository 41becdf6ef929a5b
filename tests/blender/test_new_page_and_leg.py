"""A button of a page, and boards of a leg, that the add-on does not have, added as the contributors' guide says."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from importlib import import_module
from pathlib import Path
from typing import Any

import bpy
import numpy as np
import pytest
from bpy.types import Context, Operator

from addon.check.progress import Steps
from addon.designs.table.parameters import Table
from addon.paper.sheet.save import drawing_bytes
from addon.scene import built, ids, tables
from addon.ui.operator_kinds import SaveOperator

from ..new_leg import add_layered_legs
from ..new_page import board_page
from .conftest import QUILTING, in_scene


class DRY_ASSEMBLY_OT_save_board(SaveOperator, Operator):
    bl_idname = "dry_assembly.save_board"
    bl_label = "Save Board"
    bl_description = "Draw R1"
    what = "Drawing R1"

    def files(self, _context: Context, table: Table) -> Steps[dict[str, bytes]]:
        """Draws it."""
        yield 0.5
        drawing = board_page(built.assembly_of(table), "R1", table.units, date=date.today().isoformat())
        return {"R1.svg": drawing_bytes(drawing, "R1.svg")}


@pytest.fixture
def button(state: Any) -> Any:
    bpy.utils.register_class(DRY_ASSEMBLY_OT_save_board)
    yield bpy.ops.dry_assembly.save_board
    bpy.utils.unregister_class(DRY_ASSEMBLY_OT_save_board)


def test_a_button_saves_a_page(button: Any, tmp_path: Path) -> None:
    bpy.context.scene.dry_assembly.pictures_folder = str(tmp_path)
    assert button() == {"FINISHED"}
    assert (tmp_path / "R1.svg").read_bytes().startswith(b"<?xml")
    assert bpy.context.scene.dry_assembly.picture_saved == f"Saved {tmp_path / 'R1.svg'}"


@pytest.fixture
def layered_legs(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Tables are built with these legs, and none that was built before or meanwhile is remembered."""
    building = import_module("addon.designs.table.build")
    monkeypatch.setattr(building, "add_legs", add_layered_legs)
    remembered = [
        one for room in (building, built) for one in vars(room).values() if hasattr(one, "cache_clear")
    ]
    for one in remembered:
        one.cache_clear()
    yield
    for one in remembered:
        one.cache_clear()


@pytest.mark.usefixtures("layered_legs")
def test_boards_of_a_leg_are_objects_among_the_legs(scene: bpy.types.Scene) -> None:
    """Four legs of three boards; each 60 x 17.7 mm in plan, on the room's floor."""
    tables.create_table(scene, QUILTING)
    (legs,) = [one for one in bpy.data.collections if one.get(ids.ROLE) == "leg"]
    assert (legs.name, len(legs.objects)) == ("Legs", 12)
    (last,) = [one for one in legs.objects if one.name.startswith("LEG12 ")]
    assert last.name == "LEG12 leg layer, back right, inner"
    points = in_scene(last)
    assert np.ptp(points, axis=0)[:2] == pytest.approx([0.06, 0.0177], abs=1e-6)
    assert points[:, 2].min() == pytest.approx(0.0, abs=1e-6)
