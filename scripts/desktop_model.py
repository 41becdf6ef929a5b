"""What Blender shows of a table, held against the model: the check of the same parameters, and where the parts are."""

from __future__ import annotations

import importlib
import sys
from functools import lru_cache
from typing import Any

bpy: Any = importlib.import_module("bpy")
np: Any = importlib.import_module("numpy")

#: The extension's name once it is installed.
PACKAGE = "bl_ext.user_default.dry_assembly"
#: How far a vertex may be from where the model has it, mm: Blender computes in float32.
NEAR = 0.005


class Differs(Exception):
    """The window shows something else than the model says."""


def part(name: str) -> Any:
    """A module of the installed extension."""
    return importlib.import_module(PACKAGE + "." + name)


def table() -> Any:
    """The table that the panels show."""
    return part("scene.access").active_table(bpy.context)


def tables() -> Any:
    """All tables of the scene, in the order in which they were made."""
    return part("scene.access").tables_in(bpy.context.scene)


def expect(what: str, shown: object, wanted: object) -> None:
    """Raises Differs unless both are the same."""
    if shown != wanted:
        raise Differs("%s is %r where the model says %r" % (what, shown, wanted))


def report() -> Any:
    """A new check of the parameters that the panels show, from the text that would be saved."""
    return part("designs.table.design").check(part("files.table_file").parse_table(table().text))


def compare() -> str:
    """Holds panels and objects against the model; what was compared, in words.

    Raises Differs at the first thing that does not agree.
    """
    state = table()
    expect("the error", state.error, "")
    expect("out of date", state.out_of_date, False)
    in_panel, in_text = part("scene.access").table_in(state), part("files.table_file").parse_table(state.text)
    expect("the panel's table", in_panel, in_text)
    found = report()
    expect("the verdict", state.verdict, found.verdict)
    shown = sorted((one.rule, one.message) for one in state.findings if not (one.of_slide or one.of_answer))
    expect("the list of findings", shown, sorted((one.rule, one.message) for one in found.findings))
    words = part("scene.findings").leaf_text
    verdicts = {leaf: one.as_drawn.verdict for leaf, one in found.answers.leaves.items()}
    wanted = [(one.leaf, verdicts[one.leaf], words(one, found.units)) for one in found.leaves]
    expect("the leaves", [(one.name, one.verdict, one.result) for one in state.leaves], wanted)
    parts = compare_places()
    return "verdict %s, %d findings, %d leaves, %d parts in place" % (
        found.verdict,
        len(found.findings),
        len(wanted),
        parts,
    )


def compare_places(offsets: Any = None) -> int:
    """Holds each part's vertices in the scene against the model's mesh; the number of parts.

    Parameters
    ----------
    offsets : label to (3,) float, mm: how far parts are from their places
    """
    state = table()
    assembly = part("designs.table").build(part("scene.access").table_in(state))
    line = part("scene.motion.motion").timeline_of(state)
    made = part("scene.access").part_objects(state)
    labels = [one.label for one in (*assembly.parts, *assembly.fasteners)]
    expect("the parts", sorted(made), sorted(labels))
    of_leaf = {leaf.name: leaf for leaf in state.leaves}
    for one in assembly.parts:
        placement = one.placement
        if one.label in of_leaf:
            placement = _leaf_placement(assembly, line, of_leaf[one.label], one)
        if placement is None:
            continue
        if offsets is not None and one.label in offsets:
            placement = placement.moved(np.array(offsets[one.label], dtype=float))
        wanted = placement.to_table(_mesh(one.shape))
        shown = vertices(made[one.label])
        if shown.shape != wanted.shape or np.abs(shown - wanted).max() > NEAR:
            off = "another shape" if shown.shape != wanted.shape else "%.3f mm" % np.abs(shown - wanted).max()
            raise Differs("%s is not where the model has it: %s off" % (one.label, off))
    return len(made)


@lru_cache(maxsize=1000)
def _mesh(shape: Any) -> Any:
    """(n, 3) float, mm: the vertices of a shape's mesh."""
    return part("wood.meshes.mesh").mesh_of(shape).vertices


def _leaf_placement(assembly: Any, line: Any, leaf: Any, one: Any) -> Any:
    """Where a leaf is now; None while it is carried from the cover to its slot."""
    if line is None:
        if leaf.state == "cover":
            return assembly.cover[leaf.name]
        travel = leaf.travel * 1000.0
        return (
            one.placement
            if leaf.state == "stowed"
            else one.placement.moved(assembly.path_of(leaf.name).offset_at(travel))
        )
    frame, time = bpy.context.scene.frame_current_final, line.leaves[leaf.name]
    if frame <= time.leaves_cover:
        return assembly.cover[leaf.name]
    travel = time.travel_at(frame)
    if travel is None:
        return None
    return one.placement.moved(assembly.path_of(leaf.name).offset_at(travel))


def vertices(item: Any) -> Any:
    """(n, 3) float, mm: an object's vertices in the scene, from the table's corner of the scene."""
    bpy.context.view_layer.update()
    found = np.empty(3 * len(item.data.vertices), dtype=np.float32)
    item.data.vertices.foreach_get("co", found)
    root = np.array(table().root.matrix_world, dtype=float) if table().root else np.eye(4)
    matrix = np.linalg.inv(root) @ np.array(item.matrix_world, dtype=float)
    return (found.reshape(-1, 3) @ matrix[:3, :3].T + matrix[:3, 3]) * 1000.0


def snapshot() -> dict[str, Any]:
    """All that undo has to bring back, exactly: text, parameters, verdict, findings, leaves, objects."""
    state = table()
    made = part("scene.access").part_objects(state)
    return {
        "text": state.text,
        "table": part("scene.access").table_in(state),
        "verdict": state.verdict,
        "findings": [(one.rule, one.severity, one.message) for one in state.findings],
        "leaves": [(one.name, one.state, one.travel, one.result) for one in state.leaves],
        "objects": {label: vertices(item).tobytes() for label, item in made.items()},
    }


def differences(before: dict[str, Any]) -> list[str]:
    """What is not as it was at that snapshot."""
    now = snapshot()
    return [name for name, value in before.items() if now[name] != value]


def expect_same(before: dict[str, Any]) -> None:
    """Raises Differs unless everything is as it was at that snapshot."""
    found = differences(before)
    if found:
        raise Differs("not brought back: %s" % ", ".join(found))


def own_things() -> list[str]:
    """Handlers, properties and operators of the extension that Blender knows of."""
    found = []
    for name in dir(bpy.app.handlers):
        functions = getattr(bpy.app.handlers, name)
        if isinstance(functions, list):
            found += [
                "%s handler" % name for one in functions if getattr(one, "__module__", "").startswith(PACKAGE)
            ]
    for kind in ("Scene", "Object", "WindowManager", "Collection"):
        names = getattr(bpy.types, kind).bl_rna.properties.keys()
        found += ["%s.%s" % (kind, name) for name in names if "dry_assembly" in name]
    found += ["operator %s" % name for name in dir(bpy.ops.dry_assembly)][:1]
    menus = ("VIEW3D_MT_object", "VIEW3D_MT_add", "VIEW3D_MT_object_context_menu")
    for menu in menus:
        drawers = getattr(getattr(bpy.types, menu).draw, "_draw_funcs", [])
        found += ["entry in %s" % menu for one in drawers if one.__module__.startswith(PACKAGE)]
    timers = sorted(name for name in _timers() if bpy.app.timers.is_registered(_timers()[name]))
    return found + ["timer %s" % name for name in timers]


def _timers() -> dict[str, Any]:
    """Functions of the extension that may run as timers."""
    module = sys.modules.get(PACKAGE + ".scene.pending")
    return {} if module is None else {"pending " + lane: timer for lane, timer in module._TIMERS.items()}
