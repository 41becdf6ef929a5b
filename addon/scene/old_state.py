"""Files in which tables were the scene's: what it kept of each goes to the table's empty when the file is opened."""

from __future__ import annotations

from contextlib import suppress
from typing import Any

import bpy
from bpy.types import Object, Scene

from ..sizes.errors import DryAssemblyError
from . import built, ids, objects
from .access import own_writing
from .motion import animation, exploded


def bring_over(scene: Scene) -> bool:
    """Gives each table of a scene's list to its empty, with all that was kept of it, and clears the list."""
    group = scene.dry_assembly
    active = group.active
    ids.forget()
    for number, old in enumerate(group.tables):
        root = ids.root_object(scene, old.key) or _new_root(scene, old)
        if root is None:
            continue  # neither an empty nor a text that can be built: nothing stands there
        state = root.dry_assembly  # type: ignore[attr-defined]
        with own_writing():
            _copy(old, state)
        state.number = number + 1
        state.labels = "\n".join(ids.part_objects(scene, old.key))
        _move_keys(scene, f"dry_assembly.tables[{number}].{exploded.FACTOR}", root, exploded.path_of(state))
        if number == active:
            group.last = state.key
    group.tables.clear()
    group.property_unset("active")
    return True


def _new_root(scene: Scene, old: Any) -> Object | None:
    with suppress(DryAssemblyError):
        return objects.new_root(scene, old.key, built.objects_of(built.table_of(old.text)))
    return None


def _copy(old: Any, new: Any) -> None:
    """Copies what a group of properties holds; what was never set stays as it is by itself."""
    for name, declared in old.bl_rna.properties.items():
        if name == "rna_type" or declared.is_skip_save:
            continue
        if declared.type == "POINTER":
            if isinstance(getattr(old, name), bpy.types.PropertyGroup):
                _copy(getattr(old, name), getattr(new, name))
        elif declared.type == "COLLECTION":
            getattr(new, name).clear()
            for item in getattr(old, name):
                _copy(item, getattr(new, name).add())
        elif not declared.is_readonly:
            value = getattr(old, name)  # Blender drops what was kept in another type when it is read
            if old.is_property_set(name):
                with suppress(TypeError):  # a word that the property has no more
                    setattr(new, name, value)


def _move_keys(scene: Scene, before: str, root: Object, after: str) -> None:
    """Moves the keyframes of a property from a scene to a table's empty."""
    for curve in animation.curves_of(scene):
        if curve.data_path != before:
            continue
        root.keyframe_insert(after, frame=scene.frame_start)
        for own in animation.curves_of(root):
            if own.data_path == after:
                _copy_keys(curve, own)
        animation.drop_keys(scene, before)
        return


def _copy_keys(old: Any, new: Any) -> None:
    new.keyframe_points.clear()
    new.keyframe_points.add(len(old.keyframe_points))
    for one, other in zip(old.keyframe_points, new.keyframe_points, strict=True):
        other.co = one.co
        other.interpolation = one.interpolation
        other.handle_left_type, other.handle_right_type = one.handle_left_type, one.handle_right_type
        other.handle_left, other.handle_right = one.handle_left, one.handle_right
    new.extrapolation = old.extrapolation
    new.update()
