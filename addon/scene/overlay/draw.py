"""Draws what is prepared over the 3D views whose sidebar shows this extension's tab: marks, boxes, words.

Words stand on paper of the theme's color, where there is room for them.
"""

from __future__ import annotations

from functools import cache, lru_cache
from typing import Any, Final, NamedTuple

import blf
import bpy
import gpu
import numpy as np
from bpy.types import Context
from gpu_extras.batch import batch_for_shader
from mathutils import Matrix
from numpy.typing import NDArray

from .. import access
from . import placing, shader, shown
from .prepare import OF_PASSAGES, Color, Overlay, readable

LETTERS: Final = 12.0
"""Size of the letters, pixels at a resolution scale of 1."""
FONT: Final = 0
COVER: Final = 0.88
"""How much the paper covers of what lies behind it."""


class Tones(NamedTuple):
    """Colors of the theme, sRGB."""

    paper: Color
    text: Color


def tones_of(theme: Any) -> Tones:
    """The view's background for paper, its text's color if that can be read on it."""
    space = theme.view_3d.space
    return _tones(tuple(space.gradients.high_gradient)[:3], tuple(space.text))


@cache
def _tones(paper: Color, text: Color) -> Tones:
    return Tones(paper, readable(text, paper))


def forget() -> None:
    """Drops what was sent to the graphics card, and widths."""
    _words.cache_clear()
    _tones.cache_clear()
    _last.clear()


def write(
    overlay: Overlay, to_screen: Matrix, size: tuple[int, int], free: int, scale: float, tones: Tones
) -> None:
    """Writes those texts that are in the view and do not cover one another, the most important ones first.

    Parameters
    ----------
    to_screen : from the table's frame to clip space
    size : of the region, pixels
    free : how much of its width, from the left, is seen, pixels
    """
    key = (overlay, to_screen, size, free, scale, tones)
    if _last.get("key") != key:
        at, ends = _seen(overlay, to_screen, size)
        blocks = placing.placed(_words(overlay, scale), at, ends, (free, size[1]))
        _last.update(key=key, blocks=blocks, sheets=_sheets(blocks, tones, 3.0 * scale))
    _last["sheets"].draw(shader.painted())
    blf.size(FONT, LETTERS * scale)
    blf.color(FONT, *tones.text, 1.0)
    for block in _last["blocks"]:
        for line, (x, y) in zip(block.text.lines, block.feet, strict=True):
            blf.position(FONT, x, y, 0.0)
            blf.draw(FONT, line)


_last: Final[dict[str, Any]] = {}
"""Where the words stood when they were last drawn; while the view rests, they stay."""


@lru_cache(maxsize=2)
def _words(overlay: Overlay, scale: float) -> placing.Words:
    height = LETTERS * scale
    blf.size(FONT, height)
    measure = placing.Measure(lambda line: float(blf.dimensions(FONT, line)[0]), height)
    return placing.words(overlay.texts, scale, measure)


def _seen(overlay: Overlay, to_screen: Matrix, size: tuple[int, int]) -> NDArray[np.float64]:
    """(2, t, 2) float, pixels; where the texts' places, and the ends of their ways, are seen."""
    return placing.projected(overlay.places, np.array(to_screen), size).reshape(2, -1, 2)


def _sheets(blocks: list[placing.Block], tones: Tones, bar: float) -> Any:
    """The paper of all words, with a bar of the severity's color at the side of its mark, on the graphics card."""
    places, paints = [], []
    for block in blocks:
        left, low, right, top = block.box
        paints_of = ((left, right), (*tones.paper, COVER)), (block.bar(bar), (*block.text.tone, 1.0))
        for (x, to), paint in paints_of:
            places += [(x, low), (to, low), (to, top), (x, low), (to, top), (x, top)]
            paints += [paint] * 6
    return batch_for_shader(shader.painted(), "TRIS", {"pos": places, "color": paints})


CATEGORY: Final = "Dry Assembly"
"""The tab of the sidebar."""
STRIPES, FAINT = 0.5, 0.2
"""How much stripes cover of the part that bears them, and of what is behind a part that is seen through."""
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
    forget()
    for module in (shown, shader):
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
    state = access.active_table(context)
    if overlay is None or state is None:
        return None
    return Wanted(overlay, state.root.matrix_world, placing.free_width(sidebar, context.region))


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
            kind, positions = _triangles_or_lines(overlay, name)
            _batches[name] = batch_for_shader(shader.plain(), kind, {"pos": positions})  # type: ignore[dict-item]
    return _batches[name]


def _triangles_or_lines(overlay: Overlay, name: str) -> tuple[str, Any]:
    what, _, number = name.partition(" ")
    faces = what in ("faces", "stripes")
    if number:
        hatching = overlay.hatchings[int(number)]
        return ("TRIS", hatching.stripes) if faces else ("LINES", hatching.edges)
    return ("TRIS", overlay.box_faces) if faces else ("LINES", overlay.box_edges)


def _draw_boxes() -> None:
    context = bpy.context
    _found.clear()
    wanted = _found[context.region.as_pointer()] = _wanted(context)
    if wanted is None:
        return
    overlay = wanted.overlay
    gpu.state.blend_set("ALPHA")
    _draw_hatchings(overlay)
    if len(overlay.box_faces):
        _draw_passages(overlay, wanted.place)
    gpu.state.blend_set("NONE")


def _draw_hatchings(overlay: Overlay) -> None:
    """Stripes on what looks at the eye, and edges, where nothing solid is before them."""
    plain = shader.plain()
    for number, hatching in enumerate(overlay.hatchings):
        item = bpy.data.objects.get(hatching.item)
        if item is None:
            continue
        with gpu.matrix.push_pop():  # type: ignore[attr-defined]
            gpu.matrix.multiply_matrix(item.matrix_world)
            gpu.state.depth_test_set("LESS_EQUAL")
            gpu.state.face_culling_set("BACK")
            plain.bind()
            plain.uniform_float("color", (*hatching.color, FAINT if hatching.through else STRIPES))
            _batch(overlay, f"stripes {number}").draw(plain)
            gpu.state.face_culling_set("NONE")
            plain.uniform_float("color", (*hatching.color, 1.0))
            _batch(overlay, f"edges {number}").draw(plain)
            gpu.state.depth_test_set("NONE")


def _draw_passages(overlay: Overlay, place: Matrix) -> None:
    plain = shader.plain()
    with gpu.matrix.push_pop():  # type: ignore[attr-defined]
        gpu.matrix.multiply_matrix(place)
        for depth, alpha in _PASSES:
            gpu.state.depth_test_set(depth)
            plain.bind()
            plain.uniform_float("color", (*OF_PASSAGES, alpha))
            _batch(overlay, "faces").draw(plain)
        gpu.state.depth_test_set("NONE")
        plain.uniform_float("color", (*OF_PASSAGES, EDGES))
        _batch(overlay, "edges").draw(plain)


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
    tones = tones_of(context.preferences.themes[0])
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
        write(overlay, to_screen, size, wanted.free, scale, tones)
    gpu.state.blend_set("NONE")
