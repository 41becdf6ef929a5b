"""Tables in a scene: what every button does, as plain functions that scripts can call as well.

A change of a parameter goes this way: property → `parameter_changed` → `rebuild` (parts and objects, at once) →
`settle` (the text and the findings, when the user pauses). Where the parameters cannot be built, the table's `error`
says why and the last good geometry stays.
"""

from __future__ import annotations

import json
import re
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any
from uuid import uuid4

import bpy

from ..model.errors import DryAssemblyError
from ..model.table_changes import update_text
from ..model.table_file import parse_table, read_text
from ..model.table_writer import new_table_text, save_text
from ..model.units import format_amount
from . import built, findings, ids, leaves, marks, objects, pending, timeline, values

if TYPE_CHECKING:
    from collections.abc import Iterator

    from bpy.types import Object, PropertyGroup, Scene

    from ..fit.findings import Report
    from ..model.parameters import Table
    from .state import DRY_ASSEMBLY_PG_leaf as LeafState
    from .state import DRY_ASSEMBLY_PG_table as TableState
    from .timeline import Order, Timeline

_OWNER = re.compile(r"dry_assembly\.tables\[(\d+)\]")
_filling = False
"""Whether our own code writes properties, whose updates then mean nothing."""


# Tables of a scene


def create_table(scene: Scene, text: str, path: str = "") -> TableState:
    """Adds a table to a scene: its objects beside those of the tables already there, its findings.

    Raises
    ------
    DryAssemblyError
        Where the text holds no table that can be built; the scene is as it was.
    """
    table = built.table_of(text)
    built.objects_of(table)
    if not scene.dry_assembly.tables:
        _set_units(scene, table)
    state = scene.dry_assembly.tables.add()
    state.key = uuid4().hex[:12]
    state.path = path
    scene.dry_assembly.active = len(scene.dry_assembly.tables) - 1
    set_text(state, text)
    settle(state)
    return state


def open_table(scene: Scene, path: str | Path) -> TableState:
    """Adds the table of a file to a scene. Raises DryAssemblyError; the scene is then as it was."""
    text = read_text(path)
    parse_table(text, Path(path).name)
    return create_table(scene, text, str(path))


def save_table(state: TableState, path: str | Path) -> None:
    """Writes a table's file, comments and spelling kept. Raises DryAssemblyError."""
    settle(state)
    save_text(path, state.text)
    state.path = str(path)


def remove_table(state: TableState) -> None:
    """Takes a table and its objects out of its scene; objects that the user made stay."""
    scene = scene_of(state)
    objects.remove(scene, state.key)
    group = scene.dry_assembly
    group.tables.remove(index_of(state))
    group.active = max(0, min(group.active, len(group.tables) - 1))


def active_table(scene: Scene) -> TableState | None:
    """The table that the panels show."""
    group = scene.dry_assembly
    return group.tables[group.active] if 0 <= group.active < len(group.tables) else None


def scene_of(state: PropertyGroup) -> Scene:
    """The scene that a table is in."""
    scene = state.id_data
    assert isinstance(scene, bpy.types.Scene)
    return scene


def index_of(item: PropertyGroup) -> int:
    """Number of the table that a property belongs to."""
    found = _OWNER.match(item.path_from_id())
    assert found is not None
    return int(found[1])


def owner(item: PropertyGroup) -> TableState:
    """The table that a property belongs to."""
    return scene_of(item).dry_assembly.tables[index_of(item)]


def table_in(state: TableState) -> Table:
    """The table as its parameters say now. Raises DryAssemblyError."""
    table = built.table_of(state.text)
    try:
        changed = values.changes(state.parameters, table)
    except ValueError as error:
        raise DryAssemblyError(str(error)) from None
    return built.changed_table(state.text, tuple(changed.items()))


def part_objects(state: TableState) -> dict[str, Object]:
    """Label → object."""
    return ids.part_objects(scene_of(state), state.key)


# Parameters, geometry and findings


def set_text(state: TableState, text: str) -> None:
    """Gives a table another text, and builds it. Raises DryAssemblyError where it holds no valid table."""
    table = built.table_of(text)
    before = state.parameters.units
    state.text = text
    with _own_writing():
        values.fill_all(state.parameters, table)
    state.name = table.name
    if before != table.units and active_table(scene_of(state)) == state:
        _set_units(scene_of(state), table)
    rebuild(state)


def change(state: TableState, changed: dict[str, Any]) -> None:
    """Changes values by their keys in the table file, lengths in mm; None takes one away. Then checks the table.

    Raises
    ------
    DryAssemblyError
        Where there is no such key or value; nothing is changed. A table that cannot be built is no error here: its
        `error` says why.
    """
    _write_text(state)
    set_text(state, update_text(state.text, changed, "The table"))
    if not state.error:
        settle(state)


def parameter_changed(group: PropertyGroup) -> None:
    """Called by Blender when the user changes a parameter."""
    if _filling:
        return
    state = owner(group)
    if not state.text:
        return
    units = state.parameters.units
    rebuild(state)
    if units != built.table_of(state.text).units:
        _settle_quietly(state)  # properties that show texts in the table's unit are filled anew
        _set_units(scene_of(state), built.table_of(state.text))


def rebuild(state: TableState) -> bool:
    """Brings a table's objects up to date at once, and its findings when the user pauses; whether it can be built."""
    state.out_of_date = True
    try:
        table = table_in(state)
        described, assembly = built.objects_of(table), built.assembly_of(table)
    except DryAssemblyError as error:
        state.error = str(error)
        return False
    state.error = ""
    state.name = table.name
    scene = scene_of(state)
    made = objects.sync(scene, state.key, described)
    _list_leaves(state, [part.label for part in described.parts if part.role == "leaf"])
    for leaf in state.leaves:
        _place_leaf(state, leaf, made[leaf.name], table)
    if state.animation != "none":
        parts = {part.label: part for part in described.parts}
        leaves.animate(made, parts, assembly, state.animation)
    settle_later()
    return True


def settle(state: TableState) -> None:
    """Checks a table and writes its changed parameters into its text.

    Raises
    ------
    DryAssemblyError
        Where the parameters cannot be built; the findings stay as they were, out of date.
    """
    report = check_now(state)
    _write_text(state)
    if state.animation != "none":
        _show_marks(state, report)


def check_now(state: TableState) -> Report:
    """Checks a table and keeps its findings. Raises DryAssemblyError where it cannot be built."""
    report = built.report_of(table_in(state))
    findings.store(state, report)
    state.out_of_date = False
    return report


def settle_later() -> None:
    """Has all tables with findings out of date settled when the user pauses."""
    pending.schedule(_settle_all)


def _settle_all() -> None:
    for scene in bpy.data.scenes:
        for state in scene.dry_assembly.tables:
            if state.out_of_date:
                _settle_quietly(state)
    redraw()


def _settle_quietly(state: TableState) -> None:
    """`settle`, with what is wrong shown in the panel."""
    try:
        settle(state)
    except DryAssemblyError as error:
        state.error = str(error)


def _write_text(state: TableState) -> None:
    """Brings a table's text up to date with its parameters. Raises DryAssemblyError."""
    try:
        changed = values.changes(state.parameters, built.table_of(state.text))
    except ValueError as error:
        raise DryAssemblyError(str(error)) from None
    if not changed:
        return
    table = built.changed_table(state.text, tuple(changed.items()))
    try:
        text = update_text(state.text, changed, "The table")
    except DryAssemblyError:
        text = new_table_text(table)  # a layout that cannot be changed in place: written anew, no value lost
    state.text = text
    with _own_writing():
        values.fill_all(state.parameters, built.table_of(text))


# Leaves


def leaf_changed(leaf: LeafState) -> None:
    """Called by Blender when the user changes where a leaf is."""
    if _filling:
        return
    state = owner(leaf)
    try:
        table = table_in(state)
        built.assembly_of(table)
    except DryAssemblyError:
        return
    item = part_objects(state).get(leaf.name)
    if item is None:
        return
    if leaves.is_animated(item):
        _go_to(state, leaf, table)
    else:
        _place_leaf(state, leaf, item, table)


def set_leaves(state: TableState, where: str, travel: float = 0.0) -> None:
    """Puts all leaves in one state: ``cover``, ``stowed`` or ``sliding`` (at `travel`, mm).

    Where they are animated, the scene goes to the frame of that state instead.
    """
    for leaf in state.leaves:
        set_leaf(state, leaf.name, where, travel)


def set_leaf(state: TableState, label: str, where: str, travel: float = 0.0) -> None:
    """Puts one leaf in a state: ``cover``, ``stowed`` or ``sliding`` (at `travel`, mm)."""
    leaf = next(leaf for leaf in state.leaves if leaf.name == label)
    with _own_writing():
        leaf.travel = travel / 1000.0
        leaf.state = where
    leaf_changed(leaf)


def _place_leaf(state: TableState, leaf: LeafState, item: Object, table: Table) -> None:
    part = next(part for part in built.objects_of(table).parts if part.label == leaf.name)
    if leaf.state == "cover" or state.animation != "none":
        leaves.cover(item, part)
    elif leaf.state == "stowed":
        leaves.stow(item, part)
    else:
        leaves.slide(item, part, built.assembly_of(table), leaf.travel * 1000.0)


def _list_leaves(state: TableState, labels: list[str]) -> None:
    """Keeps one entry a leaf, and the state of those that stay."""
    with _own_writing():
        while len(state.leaves) > len(labels):
            state.leaves.remove(len(state.leaves) - 1)
        while len(state.leaves) < len(labels):
            state.leaves.add()
        for leaf, label in zip(state.leaves, labels, strict=True):
            leaf.name = label


# Animation


def animate(state: TableState, order: Order = "in turn") -> Timeline:
    """Animates the leaves from the cover to home, with marks at contacts and tight places.

    Raises
    ------
    DryAssemblyError
        Where the parameters cannot be built.
    """
    settle(state)
    table, scene = built.table_of(state.text), scene_of(state)
    state.animation = order
    parts = {part.label: part for part in built.objects_of(table).parts}
    line = leaves.animate(part_objects(state), parts, built.assembly_of(table), order)
    _show_marks(state, built.report_of(table))
    scene.render.fps = timeline.FRAME_RATE
    scene.frame_start, scene.frame_end = line.first, line.last
    scene.frame_set(line.first)
    return line


def stop_animation(state: TableState) -> None:
    """Takes the stow animation and its marks away; the leaves go where their states say."""
    state.animation = "none"
    marks.clear(scene_of(state), state.key)
    for item in part_objects(state).values():
        leaves.still(item)
    rebuild(state)


def timeline_of(state: TableState) -> Timeline | None:
    """The frames of the stow animation, if there is one."""
    if state.animation == "none":
        return None
    return timeline.plan(built.assembly_of(table_in(state)), state.animation)


def _go_to(state: TableState, leaf: LeafState, table: Table) -> None:
    line = timeline.plan(built.assembly_of(table), state.animation)
    time = line.leaves.get(leaf.name)
    if time is not None:
        frame = {"cover": float(line.first), "stowed": float(time.home)}.get(leaf.state)
        go_to_frame(scene_of(state), time.frame_at(leaf.travel * 1000.0) if frame is None else frame)


def go_to_frame(scene: Scene, frame: float) -> None:
    """Shows a frame, which may lie between two whole ones."""
    scene.frame_set(int(frame // 1), subframe=frame % 1.0)


def _show_marks(state: TableState, report: Report) -> None:
    line = timeline_of(state)
    if line is None:
        return
    units = values.units_of(built.table_of(state.text))
    found = timeline.marks(line, report.leaves)
    texts = [mark_text(mark, format_amount(mark.amount, units)) for mark in found]
    marks.show(scene_of(state), state.key, part_objects(state), found, texts)


def mark_text(mark: timeline.Mark, amount: str) -> str:
    """The note at a mark."""
    if mark.word == "contact":
        return f"contact: {mark.leaf} and {mark.other}\noverlap {amount}"
    return f"tight: {mark.leaf} and {mark.other}\n{amount} clear"


# Findings


def apply_remedy(state: TableState, index: int) -> bool:
    """Makes the changes that finding `index` suggests, and checks again; False where it suggests none."""
    changes = json.loads(state.findings[index].remedy_changes or "{}")
    if not changes:
        return False
    change(state, changes)
    return True


def show_finding(state: TableState, index: int) -> None:
    """Selects the parts of a finding, shows the frame (or the leaf's travel) at which it happens, and its place."""
    finding = state.findings[index]
    scene = scene_of(state)
    made = part_objects(state)
    line = timeline_of(state)
    if finding.leaf and finding.has_travel:
        frame = line.frame_of(finding.leaf, finding.travel * 1000.0) if line else None
        if frame is not None:
            go_to_frame(scene, frame)
        else:
            set_leaf(state, finding.leaf, "sliding", finding.travel * 1000.0)
    findings.select(scene, [made[label] for label in finding.parts.split(", ") if label in made])
    root = ids.root_object(scene, state.key)
    if root is not None:
        findings.look_at(root.matrix_world @ finding.place.copy())


# Files and screen


def save_blend(path: str | Path) -> None:
    """Writes the .blend file, without changing what Blender takes for the open file's name."""
    bpy.ops.wm.save_as_mainfile(filepath=str(path), copy=True, check_existing=False, compress=True)


def redraw() -> None:
    """Has the 3D views drawn again."""
    for window in bpy.context.window_manager.windows:
        for area in window.screen.areas:
            if area.type == "VIEW_3D":
                area.tag_redraw()


def _set_units(scene: Scene, table: Table) -> None:
    settings = scene.unit_settings
    settings.system = "IMPERIAL" if table.units == "in" else "METRIC"
    settings.length_unit = "INCHES" if table.units == "in" else "MILLIMETERS"
    settings.scale_length = 1.0


@contextmanager
def _own_writing() -> Iterator[None]:
    global _filling
    before, _filling = _filling, True
    try:
        yield
    finally:
        _filling = before
