"""A fresh, empty Blender with the add-on switched on, for each test that asks for a scene."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

import bpy
import numpy as np
import pytest

import addon
from addon.check.progress import run_through
from addon.check.tolerance.report import ToleranceReport
from addon.designs.table.parameters import Table
from addon.scene import access, built, tables, tolerances
from tests.old_tables import EXAMPLES

built._REMEMBERED = 1000
"""Results that follow from a table alone are worked out once for all tests."""

QUILTING = EXAMPLES["quilting"].text()
SEED_BENCH = EXAMPLES["seed-bench"].text()

LOW_WINDOW = QUILTING + '\n[[as_cut]]\npart = "R3"\ndimension = "window_height"\ndeviation = -2.5\n'
"""R3's windows are 2.5 mm too low: 20.7 - 2.5 = 18.2 high; a leaf lies at 1.5 above the sill and is 17.7 thick, so L3
and L4 overlap the rib by 1.5 + 17.7 - 18.2 = 1.0 mm."""


@pytest.fixture(scope="session")
def factory_settings() -> None:
    """Blender's own preferences; no test changes them for good."""
    bpy.ops.wm.read_factory_settings(use_empty=True)


@pytest.fixture
def empty(factory_settings: None) -> Iterator[None]:
    """Blender as after File > New, without objects. Reading the preferences anew takes seven times as long."""
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
    yield
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)


@pytest.fixture
def scene(empty: None) -> Iterator[bpy.types.Scene]:
    """The scene of a fresh Blender with the add-on switched on."""
    addon.register()
    yield bpy.context.scene
    addon.unregister()


@pytest.fixture
def state(scene: bpy.types.Scene) -> tables.TableState:
    """The quilting table in a fresh Blender."""
    return tables.create_table(scene, QUILTING)


def first() -> tables.TableState:
    """The first table, looked up anew: undo and file operations make old references invalid."""
    return access.tables_in(bpy.context.scene)[0]


def positions(item: bpy.types.Object) -> np.ndarray:
    """(n, 3) float32, m: a mesh object's vertices in its own frame."""
    found = np.empty(3 * len(item.data.vertices), dtype=np.float32)
    item.data.vertices.foreach_get("co", found)
    return found.reshape(-1, 3)


def in_scene(item: bpy.types.Object) -> np.ndarray:
    """(n, 3) float, m: a mesh object's vertices in the scene."""
    bpy.context.view_layer.update()
    matrix = np.array(item.matrix_world)
    return positions(item) @ matrix[:3, :3].T + matrix[:3, 3]


def analyze_now(state) -> None:
    """Makes the tolerance analysis of a table as its button does, without a pause, and keeps it."""
    table, count = access.table_in(state), access.scene_of(state).dry_assembly.tolerance_count
    tolerances.store(state, _analysis_of(table, count))


@cache
def _analysis_of(table: Table, count: int) -> ToleranceReport:
    return run_through(tolerances.steps(table, count))
