"""Switching the add-on on and off leaves nothing behind."""

from __future__ import annotations

import bpy
import pytest

import addon
from addon.scene import access, pending, tables

from .conftest import QUILTING


def census() -> dict[str, set[str]]:
    """Everything that an add-on can leave in Blender."""
    handlers = {
        f"{name}: {handler.__module__}.{handler.__qualname__}"
        for name in dir(bpy.app.handlers)
        if isinstance(getattr(bpy.app.handlers, name), list)
        for handler in getattr(bpy.app.handlers, name)
    }
    return {
        "types": {name for name in dir(bpy.types) if "dry_assembly" in name.lower()},
        "operators": set(dir(bpy.ops.dry_assembly)),
        "scene": {name for name in dir(bpy.types.Scene) if "dry" in name},
        "object": {name for name in dir(bpy.types.Object) if "dry" in name},
        "subclasses": {kind.__name__ for kind in all_registered()},
        "handlers": handlers,
        "help": {prefix for prefix, _ in bpy.utils.manual_map()},
        "timers": {
            f"pending {lane}"
            for lane, timer in pending._TIMERS.items()
            if bpy.app.timers.is_registered(timer)
        },
    }


def all_registered() -> list[type]:
    bases = (
        bpy.types.Operator,
        bpy.types.Panel,
        bpy.types.UIList,
        bpy.types.PropertyGroup,
        bpy.types.AddonPreferences,
        bpy.types.FileHandler,
    )
    return [
        kind
        for base in bases
        for kind in base.__subclasses__()
        if "DRY_ASSEMBLY" in kind.__name__ and getattr(kind, "is_registered", False)
    ]


def test_nothing_is_left_after_switching_off_twice(empty):
    before = census()
    for _ in range(2):
        addon.register()
        tables.create_table(bpy.context.scene, QUILTING)
        access.tables_in(bpy.context.scene)[0].parameters.table.height = 0.8
        during = census()
        assert during["scene"] == during["object"] == {"dry_assembly"}
        assert "pending check" in during["timers"]
        assert len(during["subclasses"]) > 40
        assert len(during["handlers"] - before["handlers"]) == 6
        addon.unregister()
        assert census() == before


def test_the_panels_stand_in_one_tab_and_the_parents_exist(scene):
    panels = [
        kind for kind in bpy.types.Panel.__subclasses__() if kind.__name__.startswith("DRY_ASSEMBLY_PT_")
    ]
    names = {kind.__name__ for kind in panels}
    assert len(panels) == 5
    for kind in panels:
        assert kind.bl_category == "Dry Assembly"
        assert getattr(kind, "bl_parent_id", None) in {None, *names}


def test_operators_say_why_they_cannot_run(scene):
    assert bpy.ops.dry_assembly.add_example.poll()
    for name in (
        "save_table",
        "check_now",
        "animate",
        "show_finding",
        "stop_showing",
        "remove_table",
        "stop_animation",
        "add_entry",
    ):
        operator = getattr(bpy.ops.dry_assembly, name)
        assert not operator.poll()
        with pytest.raises(RuntimeError, match="Add an example table or open a table file first"):
            operator()


def test_every_operator_and_property_is_described(scene):
    for kind in bpy.types.Operator.__subclasses__():
        if kind.__name__.startswith("DRY_ASSEMBLY_OT_"):
            described = getattr(kind, "bl_description", "") or "description" in vars(kind)
            assert described, kind
            assert not getattr(kind, "bl_description", "").endswith(".")
            assert kind.bl_label == kind.bl_label.title().replace("And", "and").replace("Of", "of").replace(
                " As ", " as "
            )
