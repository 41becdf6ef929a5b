"""What stands over the view whatever tab is open: the verdict in its corner, the arrow that a dialog points with."""

from __future__ import annotations

from typing import Any, Final, NamedTuple

import blf
import bpy
import gpu
import numpy as np
from bpy.types import Context
from gpu_extras.batch import batch_for_shader
from mathutils import Matrix

from ...sizes.arrays import Floats
from ...sizes.words import capital
from .. import access, seeing
from ..translation import shown
from . import placing, shader
from .prepare import OF_GRADE, Color

LETTERS: Final = 12.0
FONT: Final = 0
LINE: Final = 18.0
"""From one line to the next, pixels at a resolution scale of 1."""
BELOW_NAME: Final = 62.0
"""From the top of the view to the verdict: Blender names view and object there."""
STATISTICS: Final = 6
"""Lines that Blender's statistics take."""
UNKNOWN: Final[Color] = (0.6, 0.6, 0.6)
SHAFT: Final = 0.12
"""Length of the arrow, m."""
HEAD: Final = (14.0, 7.0)
"""Of the arrow: along and to either side, pixels."""
WIDTH: Final = 2.0


class Pointed(NamedTuple):
    """Where the arrow points.

    Parameters
    ----------
    place : where the table stands
    at, way : (3,) float, m, in the table; the second of length 1
    """

    place: Matrix
    at: Floats
    way: Floats
    words: str


_pointed: list[Pointed] = []
_handles: Final[list[Any]] = []


def register() -> None:
    """Adds the handler."""
    _handles.append(bpy.types.SpaceView3D.draw_handler_add(_draw, (), "WINDOW", "POST_PIXEL"))


def unregister() -> None:
    """Takes it away."""
    _pointed.clear()
    while _handles:
        bpy.types.SpaceView3D.draw_handler_remove(_handles.pop(), "WINDOW")


def show(place: Matrix, at: Floats, way: Floats, words: str) -> None:
    """Points an arrow at a place of a table until `hide`."""
    _pointed[:] = [Pointed(place, at, way, words)]
    seeing.redraw()


def hide() -> None:
    """Takes the arrow away."""
    if _pointed:
        _pointed.clear()
        seeing.redraw()


def pointed() -> Pointed | None:
    """Where the arrow points now."""
    return _pointed[0] if _pointed else None


def verdict_of(state: Any) -> list[tuple[str, str]]:
    """Grade and words of each line of the verdict on a table; the name of the table first, without a grade."""
    if state.error:
        return [
            ("", state.name),
            ("bad", shown("Not built")),
            ("", shown("You see the last table that could be built.")),
        ]
    lines = [(one.grade, f"{capital(shown(one.name))}: {shown(one.short)}") for one in state.answer]
    if state.moved:  # the lines are about what was made
        lines = [
            ("watch", capital(shown(access.standing_words(state)))),
            *(("open", words) for _, words in lines),
        ]
    return [("", state.name), *lines]


def _draw() -> None:
    context = bpy.context
    space: Any = context.space_data
    if not space.overlay.show_overlays:
        return
    scale = context.preferences.system.ui_scale
    blf.size(FONT, LETTERS * scale)
    gpu.state.blend_set("ALPHA")
    state = access.active_table(context)
    if state is not None and context.scene.dry_assembly.view.verdict:
        _draw_verdict(context, verdict_of(state), scale)
    if _pointed:
        _draw_arrow(context, _pointed[0], scale)
    gpu.state.blend_set("NONE")


def _draw_verdict(context: Context, lines: list[tuple[str, str]], scale: float) -> None:
    left, top = _corner(context, scale)
    text = tuple(context.preferences.themes[0].view_3d.space.text_hi)
    blf.enable(FONT, blf.SHADOW)
    blf.shadow(FONT, 3, 0.0, 0.0, 0.0, 0.8)
    places: list[tuple[float, float]] = []
    paints: list[tuple[float, float, float, float]] = []
    side = LETTERS * scale * 0.75
    for number, (grade, words) in enumerate(lines):
        y = top - (number + 1) * LINE * scale
        if grade:
            places += _square(left, y, side)
            paints += [(*OF_GRADE.get(grade, UNKNOWN), 1.0)] * 6
        blf.color(FONT, text[0], text[1], text[2], 1.0)
        blf.position(FONT, left + (1.8 * side if grade else 0.0), y, 0.0)
        blf.draw(FONT, words)
    blf.disable(FONT, blf.SHADOW)
    if places:
        batch_for_shader(shader.painted(), "TRIS", {"pos": places, "color": paints}).draw(shader.painted())


def _square(x: float, y: float, side: float) -> list[tuple[float, float]]:
    return [(x, y), (x + side, y), (x + side, y + side), (x, y), (x + side, y + side), (x, y + side)]


def _corner(context: Context, scale: float) -> tuple[float, float]:
    """The upper left corner of what is free for words, in pixels of the region."""
    region, space = context.region, context.space_data
    left, top = 0.0, 0.0
    for other in context.area.regions:
        inside = other.x < region.x + region.width and other.y < region.y + region.height
        if other.type == "TOOLS" and inside and other.width > 1:
            left = max(left, float(other.x + other.width - region.x))
        if (
            other.type in ("HEADER", "TOOL_HEADER")
            and inside
            and other.alignment == "TOP"
            and other.height > 1
        ):
            top += float(other.height)
    lines = STATISTICS if space.overlay.show_stats else 0  # type: ignore[union-attr]
    return left + 12.0 * scale, region.height - top - (BELOW_NAME + lines * LINE) * scale


def _draw_arrow(context: Context, one: Pointed, scale: float) -> None:
    region = context.region
    to_screen = np.array(context.region_data.perspective_matrix @ one.place)
    ends = np.array([one.at, one.at + SHAFT * one.way])
    tail, tip = placing.projected(ends, to_screen, (region.width, region.height))
    along = tip - tail
    length = float(np.hypot(*along))
    if not np.isfinite(length) or length < 1.0:
        return
    along = along / length
    across = np.array([-along[1], along[0]])
    neck = tip - along * HEAD[0] * scale
    wide, thin = across * HEAD[1] * scale, across * WIDTH * scale
    corners = [tail - thin, neck - thin, neck + thin, tail - thin, neck + thin, tail + thin]
    corners += [neck - wide, tip, neck + wide]
    content = {
        "pos": [tuple(map(float, corner)) for corner in corners],
        "color": [(*OF_GRADE["watch"], 1.0)] * 9,
    }
    batch_for_shader(shader.painted(), "TRIS", content).draw(shader.painted())
    blf.enable(FONT, blf.SHADOW)
    blf.shadow(FONT, 3, 0.0, 0.0, 0.0, 0.8)
    text = tuple(context.preferences.themes[0].view_3d.space.text_hi)
    blf.color(FONT, text[0], text[1], text[2], 1.0)
    blf.position(FONT, float(tip[0]) + 8.0 * scale, float(tip[1]) + 6.0 * scale, 0.0)
    blf.draw(FONT, one.words)
    blf.disable(FONT, blf.SHADOW)
