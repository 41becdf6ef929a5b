"""Where the leaves are: covering, on their way, stowed; animated; at the place of a finding."""

from __future__ import annotations

from typing import Final

from bpy.types import Object, Scene

from ...designs.findings import Report
from ...designs.table.parameters import Table
from ...sizes.errors import DryAssemblyError
from ...sizes.units import format_amount
from .. import access, built, findings, marks, seeing
from ..overlay import shown
from ..state import values
from ..state.properties import DRY_ASSEMBLY_PG_finding as FindingState
from ..state.properties import DRY_ASSEMBLY_PG_leaf as LeafState
from ..state.properties import DRY_ASSEMBLY_PG_table as TableState
from . import animation, exploded, timeline
from .timeline import Order, Timeline

_shown: Final[dict[str, tuple[str, str, float, float]]] = {}
"""Key of a table → leaf that stands where a finding has it, its state and travel before, its travel since, m."""


def leaf_changed(leaf: LeafState) -> None:
    """Called by Blender when the user changes where a leaf is."""
    if access.is_own_writing():
        return
    state = access.owner(leaf)
    if leaf.state != "sliding":
        seeing.put_back(access.scene_of(state))
    try:
        table = access.table_in(state)
        built.assembly_of(table)
    except DryAssemblyError:
        return
    item = access.part_objects(state).get(leaf.name)
    if item is None:
        return
    if animation.is_animated(item):
        _go_to(state, leaf, table)
    else:
        animation.forget_place(item)
        place_leaf(state, leaf, item, table)
        exploded.refresh(state)


def set_leaves(state: TableState, where: str, travel: float = 0.0) -> None:
    """Puts all leaves in one state: ``cover``, ``stowed`` or ``sliding`` (at `travel`, mm).

    Where they are animated, the scene goes to the frame of that state instead.
    """
    for leaf in state.leaves:
        set_leaf(state, leaf.name, where, travel)


def set_leaf(state: TableState, label: str, where: str, travel: float = 0.0) -> None:
    """Puts one leaf in a state: ``cover``, ``stowed`` or ``sliding`` (at `travel`, mm)."""
    leaf = next(leaf for leaf in state.leaves if leaf.name == label)
    with access.own_writing():
        leaf.travel = travel / 1000.0
        leaf.state = where
    leaf_changed(leaf)


def place_leaf(state: TableState, leaf: LeafState, item: Object, table: Table) -> None:
    """Puts a leaf where its state says; one that is animated waits on the cover."""
    part = next(part for part in built.objects_of(table).parts if part.label == leaf.name)
    if leaf.state == "cover" or state.animation != "none":
        animation.cover(item, part)
    elif leaf.state == "stowed":
        animation.stow(item, part)
    else:
        animation.slide(item, part, built.assembly_of(table), leaf.travel * 1000.0)


def list_leaves(state: TableState, labels: list[str]) -> None:
    """Keeps one entry a leaf, and the state of those that stay."""
    with access.own_writing():
        while len(state.leaves) > len(labels):
            state.leaves.remove(len(state.leaves) - 1)
        while len(state.leaves) < len(labels):
            state.leaves.add()
        for leaf, label in zip(state.leaves, labels, strict=True):
            leaf.name = label


def animate(state: TableState, order: Order = "in turn") -> Timeline:
    """Animates the leaves from the cover until they are stowed, with marks at overlaps and tight places.

    Raises
    ------
    DryAssemblyError
        Where the parameters cannot be built.
    """
    table, scene = access.table_in(state), access.scene_of(state)
    report = built.report_of(table)
    seeing.put_back(scene)
    state.animation = order
    parts = {part.label: part for part in built.objects_of(table).parts}
    line = animation.animate(access.part_objects(state), parts, built.assembly_of(table), order)
    show_marks(state, report)
    exploded.refresh(state)
    scene.render.fps = timeline.FRAME_RATE
    scene.frame_start, scene.frame_end = line.first, line.last
    scene.frame_set(line.first)
    return line


def stop_animation(state: TableState) -> None:
    """Takes the stow animation and its marks away; the leaves go where their states say."""
    state.animation = "none"
    seeing.put_back(access.scene_of(state))
    marks.clear(access.scene_of(state), state.key)
    for item in access.part_objects(state).values():
        animation.still(item)
    table = access.table_in(state)
    for leaf in state.leaves:
        place_leaf(state, leaf, access.part_objects(state)[leaf.name], table)
    exploded.refresh(state)


def timeline_of(state: TableState) -> Timeline | None:
    """The frames of the stow animation, if there is one."""
    if state.animation == "none":
        return None
    return timeline.plan(built.assembly_of(access.table_in(state)), state.animation)


def _go_to(state: TableState, leaf: LeafState, table: Table) -> None:
    line = timeline.plan(built.assembly_of(table), state.animation)
    time = line.leaves.get(leaf.name)
    if time is not None:
        frame = {"cover": float(line.first), "stowed": float(time.home)}.get(leaf.state)
        go_to_frame(access.scene_of(state), time.frame_at(leaf.travel * 1000.0) if frame is None else frame)


def go_to_frame(scene: Scene, frame: float) -> None:
    """Shows a frame, which may lie between two whole ones."""
    scene.frame_set(int(frame // 1), subframe=frame % 1.0)


def show_marks(state: TableState, report: Report) -> None:
    """Brings the marks of the stow animation up to date."""
    line = timeline_of(state)
    if line is None:
        return
    units = values.units_of(built.table_of(state.text))
    found = timeline.marks(line, report.leaves)
    texts = [mark_text(mark, format_amount(mark.amount, units)) for mark in found]
    marks.show(access.scene_of(state), state.key, access.part_objects(state), found, texts)


def mark_text(mark: timeline.Mark, amount: str) -> str:
    """The note at a mark."""
    if mark.word == "overlap":
        return f"overlap: {mark.leaf} and {mark.other}\n{amount}"
    return f"tight: {mark.leaf} and {mark.other}\n{amount} clear"


def finding_chosen(state: TableState) -> None:
    """Called by Blender when the user selects a finding in the list."""
    if not access.is_own_writing() and 0 <= state.finding_index < len(state.findings):
        show_place(state, state.findings[state.finding_index])


def place_chosen(finding: FindingState) -> None:
    """Called by Blender when the user selects a place of a finding in the list."""
    if not access.is_own_writing():
        show_place(access.owner(finding), finding)


def show_finding(state: TableState, index: int) -> None:
    """Shows the place of a finding that is selected in its list."""
    show_place(state, state.findings[index])


def show_place(state: TableState, finding: FindingState) -> None:
    """Selects the parts at the place chosen of a finding, shows the frame (or the leaf's travel) at which it happens,
    and turns the view to where the place is seen.

    An exploded table is put together, unless its Factor is animated.
    """
    place = findings.place_of(finding)
    scene = access.scene_of(state)
    if state.explosion_factor > 0 and not exploded.is_animated(state):
        state.explosion_factor = 0.0
    with access.own_writing():
        state.finding_index = list(state.findings).index(finding)
    line = timeline_of(state)
    _lay_back(state)
    if place.leaf and place.has_travel:
        frame = line.frame_of(place.leaf, place.travel * 1000.0) if line else None
        if frame is not None:
            go_to_frame(scene, frame)
        else:
            leaf = next(leaf for leaf in state.leaves if leaf.name == place.leaf)
            before = leaf.state, leaf.travel
            set_leaf(state, place.leaf, "sliding", place.travel * 1000.0)
            _shown[state.key] = (leaf.name, *before, leaf.travel)
    seeing.show(state, finding)
    made = access.shown_objects(state)
    findings.select(scene, [made[label] for label in findings.labels_of(place) if label in made])
    shown.prepare_scene(scene)  # or what was shown before would stand in the view for a moment


def show_no_more(state: TableState) -> None:
    """Draws everything as it was before a finding was shown; views turn back, and the leaf goes back, unless the user
    moved them since."""
    seeing.put_back(access.scene_of(state))
    seeing.turn_back()
    _lay_back(state)


def _lay_back(state: TableState) -> None:
    name, where, travel, shown_at = _shown.pop(state.key, ("", "", 0.0, 0.0))
    leaf = next((leaf for leaf in state.leaves if leaf.name == name), None)
    if leaf is not None and (leaf.state, leaf.travel) == ("sliding", shown_at):
        set_leaf(state, name, where, travel * 1000.0)
