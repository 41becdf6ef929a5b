"""Draws what is prepared over the 3D views whose sidebar shows this extension's tab."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final, NamedTuple

import bpy
import gpu
from gpu_extras.batch import batch_for_shader
from mathutils import Matrix

from .. import access
from . import paper, shader, shown
from .colors import OF_PASSAGES

if TYPE_CHECKING:
    from bpy.types import Context

    from .prepare import Overlay

CATEGORY: Final = "Dry Assembly"
"""The tab of the sidebar."""
SEEN, HIDDEN, EDGES = 0.30, 0.10, 0.6
"""How much passages cover of what lies behind them: where they are seen, where wood is before them; their edges."""


class Wanted(NamedTuple):
    """What is to be drawn into a view.

    Parameters
    ----------
    place : where the table stands
    free : how much of the view's width, from the left, the sidebar does not lie over, pixels
    """

    overlay: Overlay
    place: Matrix
    free: int


_PASSES: Final[tuple[tuple[Any, float], ...]] = (("GREATER", HIDDEN), ("LESS_EQUAL", SEEN))
_handles: Final[list[tuple[Any, str]]] = []
_batches: Final[dict[str, Any]] = {}
"""What was sent to the graphics card, of the overlay under ``of``."""
_found: Final[dict[int, Wanted | None]] = {}
"""Region → what its boxes' handler found is to be drawn, for that of the marks, which comes in the same redraw."""
_tabs: Final[dict[int, bool]] = {}
"""Whether the tab was open when a sidebar was last drawn."""


def register() -> None:
    """Adds the handlers."""
    for function, region, kind in (
        (_draw_boxes, "WINDOW", "POST_VIEW"),
        (_draw_marks, "WINDOW", "POST_PIXEL"),
        (_draw_sidebar, "UI", "POST_PIXEL"),
    ):
        handle = bpy.types.SpaceView3D.draw_handler_add(function, (), region, kind)
        _handles.append((handle, region))


def unregister() -> None:
    """Takes the handlers away, and all that was prepared."""
    while _handles:
        bpy.types.SpaceView3D.draw_handler_remove(*_handles.pop())
    _batches.clear()
    _tabs.clear()
    _found.clear()
    for module in (shown, paper, shader):
        module.forget()


def is_open(area: Any) -> bool:
    """Whether the sidebar of a 3D view shows the tab."""
    return _open_sidebar(area) is not None


def _open_sidebar(area: Any) -> Any:
    """The sidebar of a 3D view if it shows the tab, else None."""
    if area.spaces.active.show_region_ui:
        for region in area.regions:
            if region.type == "UI":
                return region if region.active_panel_category == CATEGORY else None
    return None


def _free_width(sidebar: Any, region: Any) -> int:
    """How much of a view's width, from the left, the sidebar does not lie over, pixels."""
    at = sidebar.x - region.x
    return at if sidebar.alignment == "RIGHT" and 0 < at < region.width else region.width


def _draw_sidebar() -> None:
    """Has the view drawn anew when another tab was opened."""
    area = bpy.context.area
    now, key = is_open(area), area.as_pointer()
    if _tabs.get(key) != now:
        _tabs[key] = now
        for region in area.regions:
            if region.type == "WINDOW":
                region.tag_redraw()


def _wanted(context: Context) -> Wanted | None:
    """What is to be drawn into this view."""
    space: Any = context.space_data  # a 3D view: the handlers are of no other
    sidebar = _open_sidebar(context.area) if space.overlay.show_overlays else None
    if sidebar is None:
        return None
    overlay = shown.overlay_of(context.scene)
    state = access.active_table(context.scene)
    if overlay is None or state is None or state.root is None:
        return None
    return Wanted(overlay, state.root.matrix_world, _free_width(sidebar, context.region))


def _batch(overlay: Overlay, name: str) -> Any:
    """Sends arrays to the graphics card the first time that they are drawn."""
    if _batches.get("of") is not overlay:
        _batches.clear()
        _batches["of"] = overlay
    if name not in _batches:
        if name == "marks":
            marks = overlay.marks
            content: dict[str, Any] = {
                "place": marks.place,
                "along": marks.along,
                "offset": marks.offset,
                "ink": marks.ink,
                "round_at": marks.round,
            }
            _batches[name] = batch_for_shader(shader.marks(), "TRIS", content)
        else:
            kind, positions = ("TRIS", overlay.box_faces) if name == "faces" else ("LINES", overlay.box_edges)
            _batches[name] = batch_for_shader(shader.plain(), kind, {"pos": positions})  # type: ignore[dict-item]
    return _batches[name]


def _draw_boxes() -> None:
    context = bpy.context
    _found.clear()
    wanted = _found[context.region.as_pointer()] = _wanted(context)
    if wanted is None or not len(wanted.overlay.box_faces):
        return
    overlay = wanted.overlay
    gpu.state.blend_set("ALPHA")
    plain = shader.plain()
    with gpu.matrix.push_pop():  # type: ignore[attr-defined]
        gpu.matrix.multiply_matrix(wanted.place)
        for depth, alpha in _PASSES:
            gpu.state.depth_test_set(depth)
            plain.bind()
            plain.uniform_float("color", (*OF_PASSAGES, alpha))
            _batch(overlay, "faces").draw(plain)
        gpu.state.depth_test_set("NONE")
        plain.uniform_float("color", (*OF_PASSAGES, EDGES))
        _batch(overlay, "edges").draw(plain)
    gpu.state.blend_set("NONE")


def _draw_marks() -> None:
    context = bpy.context
    region = context.region
    key = region.as_pointer()
    wanted = _found.pop(key) if key in _found else _wanted(context)
    if wanted is None:
        return
    overlay = wanted.overlay
    scale = context.preferences.system.ui_scale
    to_screen = context.region_data.perspective_matrix @ wanted.place
    tones = paper.tones(context.preferences.themes[0])
    gpu.state.blend_set("ALPHA")
    if len(overlay.marks.place):
        marks = shader.marks()
        marks.bind()
        marks.uniform_float("to_screen", to_screen)
        marks.uniform_float("paper", (*tones.paper, 1.0))
        marks.uniform_float("pixel", (2.0 * scale / region.width, 2.0 * scale / region.height))
        _batch(overlay, "marks").draw(marks)
    if overlay.texts:
        size = region.width, region.height
        paper.write(overlay, to_screen, size, wanted.free, scale, tones)
    gpu.state.blend_set("NONE")
