"""Turns the 3D views to a place, and lets what covers it be seen through until it is put back.

What is seen through is drawn as the edges of its box, and its object keeps how it was drawn before: so undo, redo,
copies and files saved by themselves bring that along, and nothing but the objects has to be looked at to put all back.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any, Final, NamedTuple

import bpy
import numpy as np
from bpy.types import Area, Object, Scene, SpaceView3D, ViewLayer
from mathutils import Matrix, Quaternion, Vector

from ..sizes.arrays import Floats
from ..sizes.errors import DryAssemblyError
from . import access, built, findings, ids, rays, sight
from .overlay.placing import free_width
from .state.properties import DRY_ASSEMBLY_PG_finding as FindingState
from .state.properties import DRY_ASSEMBLY_PG_table as TableState

BOX: Final = "BOUNDS"
"""How Blender calls the edges of a box about an object: of a board nearly its own, without those of roundings."""
HIDDEN: Final = "hidden"
"""Before the name of how an object was drawn: it was hidden, and is to be so again."""
SENSOR: Final = 36.0
"""Half the width that a lens of a 3D view sees at a distance of its focal length, mm: Blender's own."""
DEFAULT_SIZE: Final = (1200, 800)
"""Of a view that has no region yet, pixels."""
SOLID: Final = ("MESH", "CURVE", "SURFACE", "META", "FONT")
"""Kinds of objects that cover what is behind them."""


class View(NamedTuple):
    """How a 3D view looks: what is in its middle, how it is turned, from how far, with which perspective."""

    location: tuple[float, ...]
    rotation: tuple[float, ...]
    distance: float
    perspective: str


_turned: Final[dict[int, tuple[View, View]]] = {}
"""Address of a 3D view that was turned to a place → how it looked before, and after. Blender undoes no views."""


class Shown(NamedTuple):
    """What is shown of a finding, kept with its table.

    Parameters
    ----------
    finding : name of the finding
    names : label of a part → where its name stands, m, in the part's frame
    """

    finding: tuple[str, ...]
    names: dict[str, Sequence[float]]


def shown_in(state: TableState) -> Shown | None:
    """What is shown of a finding of a table now."""
    if not state.shown:
        return None
    kept = json.loads(state.shown)
    return Shown(tuple(kept["finding"]), kept["names"])


def is_shown(state: TableState, finding: FindingState) -> bool:
    """Whether a place of a finding is shown."""
    shown = shown_in(state)
    return shown is not None and shown.finding == findings.name_of(finding)


def finding_shown(state: TableState) -> FindingState | None:
    """The finding of which a place is shown."""
    return next((finding for finding in state.findings if is_shown(state, finding)), None)


def show(state: TableState, finding: FindingState) -> None:
    """Turns the views to the place chosen of a finding, has what still covers it seen through, and keeps where the
    names of its parts stand."""
    place = findings.place_of(finding)
    scene, root = access.scene_of(state), state.root
    put_back(scene)
    layer = access.layer_of(scene)
    layer.update()
    made = access.part_objects(state)
    labels = tuple(label for label in findings.labels_of(place) if label in made)
    for label in labels:
        _unhide(made[label], layer)
    found = main_view()
    if found is None:
        return
    for _, space in areas():
        if space.local_view is not None:
            for item in made.values():
                item.local_view_set(space, True)
    layer.update()
    to_world = np.array(root.matrix_world)
    span = np.subtract(place.span_to, place.span_from) if place.span_text else np.zeros(3)
    at = to_world[:3, :3] @ np.array(findings.looked_at(place)) + to_world[:3, 3]
    spot = sight.Spot(at, to_world[:3, :3] @ span, labels)
    items, bodies = bodies_of(state, scene, found[1])
    chosen = sight.choose(bodies, spot, lens_of(*found))
    for number in chosen.through:
        _see_through(items[number])
    for area, space in areas():
        now, (before, left) = _view(space), _turned.get(space.as_pointer(), (None, None))
        _turn(space, chosen.axes, *sight.turned(chosen.axes, spot, lens_of(area, space)))
        _turned[space.as_pointer()] = (before if before is not None and now == left else now, _view(space))
    names = {label: _in_frame_of(made[label], point) for label, point in chosen.names.items()}
    keep = Shown(findings.name_of(finding), names)
    if not access.locked(state):
        state.shown = json.dumps(keep._asdict())


def bodies_of(state: TableState, scene: Scene, space: SpaceView3D) -> tuple[list[Object], list[rays.Body]]:
    """All that is seen in a scene: parts of the table piece by piece, everything else as boxes."""
    items: list[Object] = []
    bodies: list[rays.Body] = []
    layer = access.layer_of(scene)
    labels = {item.name: label for label, item in access.part_objects(state).items()}
    try:
        table = access.table_in(state)
        prepared = built.prepared_of(table)
        homes = {part.label: part.matrix for part in built.objects_of(table).parts}
    except DryAssemblyError:
        return items, bodies
    for item in layer.objects:
        if item.type not in SOLID or ids.is_air(item) or item.display_type in ("WIRE", "BOUNDS"):
            continue
        if not item.visible_get(view_layer=layer, viewport=space):
            continue
        now, label = np.array(item.matrix_world), labels.get(item.name, "")
        if label in prepared.number and label in homes:
            move = np.asarray(now @ np.linalg.inv(homes[label]), dtype=float)
            one = rays.body(label, prepared.pieces[prepared.number[label]], move)
        else:
            corners = np.array(item.bound_box)
            if not np.ptp(corners, axis=0).any() or abs(np.linalg.det(now[:3, :3])) < 1e-12:
                continue
            one = rays.box(label or rays.OTHERS, corners.min(axis=0), corners.max(axis=0), now)
        items.append(item)
        bodies.append(one)
    return items, bodies


def put_back(scene: Scene) -> None:
    """Draws everything in a scene as it was before a finding was shown."""
    for item in scene.objects:
        if ids.THROUGH in item and item.library is None:
            _put_back(item, access.layer_of(scene))
    for state in access.tables_in(scene):
        if state.shown and not access.locked(state):
            state.shown = ""


def turn_back() -> None:
    """Has the 3D views look as they did before a finding was shown, unless the user turned them since."""
    for space in views():
        before, left = _turned.get(space.as_pointer(), (None, None))
        if before is not None and _view(space) == left:
            view = space.region_3d
            view.view_perspective = before.perspective  # type: ignore[assignment]
            view.view_rotation, view.view_location = Quaternion(before.rotation), Vector(before.location)
            view.view_distance = before.distance
    _turned.clear()


def _view(space: SpaceView3D) -> View:
    view = space.region_3d
    return View(
        tuple(view.view_location[:]), tuple(view.view_rotation[:]), view.view_distance, view.view_perspective
    )


def put_all_back() -> None:
    """The same in all scenes: before a file is saved, after one is opened, and when the add-on is switched off."""
    for scene in bpy.data.scenes:
        put_back(scene)


def put_back_if_gone(state: TableState) -> None:
    """After findings came or went: puts all back where the finding that is shown is none any more."""
    if state.shown and finding_shown(state) is None:
        put_back(access.scene_of(state))


def _see_through(item: Object) -> None:
    if item.library is None:
        item[ids.THROUGH] = str(item.get(ids.THROUGH, "")) or item.display_type
        item.display_type = BOX


def _unhide(item: Object, layer: ViewLayer) -> None:
    if item.hide_get(view_layer=layer) and item.library is None:
        item[ids.THROUGH] = f"{HIDDEN} {item.display_type}"
        item.hide_set(False, view_layer=layer)


def _put_back(item: Object, layer: ViewLayer) -> None:
    before: str = item[ids.THROUGH]
    item.display_type = before.removeprefix(f"{HIDDEN} ")  # type: ignore[assignment]
    if before.startswith(HIDDEN) and item.name in layer.objects:
        item.hide_set(True, view_layer=layer)
    del item[ids.THROUGH]


def views() -> list[SpaceView3D]:
    """The 3D views of the window, or of all screens where there is no window."""
    return [space for _, space in areas()]


def areas() -> list[tuple[Area, SpaceView3D]]:
    """The same, each with where it is."""
    window = bpy.context.window
    screens = [window.screen] if window is not None else list(bpy.data.screens)
    found = [area for screen in screens for area in screen.areas if area.type == "VIEW_3D"]
    return [(area, one) for area in found for one in area.spaces if isinstance(one, SpaceView3D)]


def redraw() -> None:
    """Has the 3D views of all windows drawn again."""
    for window in bpy.context.window_manager.windows:
        for area in window.screen.areas:
            if area.type == "VIEW_3D":
                area.tag_redraw()


def main_view() -> tuple[Area, SpaceView3D] | None:
    """The largest of them."""
    return max(areas(), key=lambda one: one[0].width * one[0].height, default=None)


def lens_of(area: Area, space: SpaceView3D) -> sight.Lens:
    """A 3D view as it is now."""
    view = space.region_3d
    regions: dict[str, Any] = {region.type: region for region in area.regions}
    window, sidebar = regions.get("WINDOW"), regions.get("UI")
    size, right = DEFAULT_SIZE, float(DEFAULT_SIZE[0])
    top = float(DEFAULT_SIZE[1])
    if window is not None and window.width > 1 and window.height > 1:
        size = window.width, window.height
        is_open = space.show_region_ui and sidebar is not None and sidebar.width > 1
        right, top = float(free_width(sidebar, window) if is_open else size[0]), float(size[1])
        heads = [regions[name] for name in ("HEADER", "TOOL_HEADER") if name in regions]
        top -= sum(
            one.height for one in heads if one.alignment == "TOP" and window.y <= one.y < window.y + size[1]
        )
    back = np.array(view.view_rotation.to_matrix())[:, 2]
    slope = SENSOR / space.lens
    scale = bpy.context.preferences.system.ui_scale or 1.0  # 0 without a window
    return sight.Lens(
        slope, size, (0.0, right, 0.0, max(top, 1.0)), scale, view.view_perspective != "ORTHO", back
    )


def look_at(place: Vector, distance: float, spaces: Sequence[SpaceView3D] | None = None) -> None:
    """Turns 3D views, by default those of the window (of all screens, without one), to a place."""
    for space in views() if spaces is None else spaces:
        view = space.region_3d
        view.view_location = place
        view.view_distance = distance
        if view.view_perspective == "CAMERA":
            view.view_perspective = "PERSP"


def look_square(place: Vector, facing: Quaternion, distance: float) -> None:
    """Turns the 3D views to a place without perspective; `facing` is right, up and back of the eye."""
    for space in views():
        view = space.region_3d
        view.view_perspective = "ORTHO"
        view.view_rotation = facing
        view.view_location = place
        view.view_distance = distance


def _turn(space: SpaceView3D, axes: Floats, middle: Floats, distance: float) -> None:
    view = space.region_3d
    if view.view_perspective == "CAMERA":
        view.view_perspective = "PERSP"
    view.view_rotation = Matrix(axes.T.tolist()).to_quaternion()
    view.view_location = middle
    view.view_distance = distance


def _in_frame_of(item: Object, point: Floats) -> Sequence[float]:
    return (item.matrix_world.inverted() @ Matrix.Translation(point.tolist())).translation[:]


def in_table(state: TableState, names: dict[str, Sequence[float]]) -> dict[str, Sequence[float]]:
    """Where names stand now, m, in the table's frame, which leaves may have moved in since."""
    made = access.part_objects(state)
    to_table = state.root.matrix_world.inverted()
    return {
        label: (to_table @ made[label].matrix_world @ Matrix.Translation(place)).translation[:]
        for label, place in names.items()
        if label in made
    }
