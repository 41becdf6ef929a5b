"""A look at a step as lines, areas and arrows on paper."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from ...sizes.arrays import Floats
from ..lines.chains import crowded, merged, paths_of, specks
from ..sheet import WHITE, Drawing, Pen
from ..sheet.clip import Rectangle
from ..sheet.palette import BY_HAND
from .looks import Look

FILL: Final = "#dcdcdc"
"""Of what goes in: pale enough for black lines on it, and still gray on a gray print."""

ARROW: Final = BY_HAND
"""Of what the hand moves; dark enough to print nearly black."""


@dataclass(frozen=True)
class Pens:
    """How a picture's lines are drawn; sizes of arrows in mm."""

    strong: Pen
    """Outlines of what goes in."""
    fine: Pen
    """Its inner edges."""
    done: Pen
    """All that is there already."""
    shaft: float
    """Width of an arrow's line."""
    head: float
    """Length of its head."""
    arrow: str = ARROW
    """Color of it."""


PAGE: Final = Pens(Pen(0.5), Pen(0.25), Pen(0.18, "#6e6e6e"), 0.9, 4.5)
ALONE: Final = Pens(Pen(0.5), Pen(0.25), Pen(0.2), 0.9, 4.5)
"""Where there is nothing but what is there already."""
SMALL: Final = Pens(Pen(0.28), Pen(0.13), Pen(0.13, "#7f7f7f"), 0.6, 2.6)

_LONG: Final = 2.0
"""Outlines beside other lines over more than this are fine ones, and so are specks that are smaller, mm."""

_CROWDED: Final = 1.4
"""Distance below which they are, in widths of an outline: wide lines would run into one."""


BETWEEN: Final = 0.24
"""Share of the room that pictures side by side leave between them."""


@dataclass(frozen=True, eq=False)
class Fitted:
    """Where a picture stands: paper = place + points · scale."""

    scale: float
    place: Floats


def bounds_of(look: Look) -> tuple[Floats, Floats]:
    """(2,) float each, mm at full size: lower left and upper right of all that a picture shows."""
    points = np.concatenate([look.surface.points[:, :2], *look.arrows])
    return points.min(axis=0), points.max(axis=0)


def fitted_into(box: Rectangle, looks: Sequence[Look]) -> list[Fitted]:
    """The largest scale at which pictures stand side by side in a box, and their places."""
    bounds = [bounds_of(look) for look in looks]
    left, bottom, right, top = box
    width = (right - left) / len(looks)
    room = np.array([width * (1.0 if len(looks) == 1 else 1.0 - BETWEEN), top - bottom])
    scale = min(float((room / (high - low)).min()) for low, high in bounds)
    found = []
    for number, (low, high) in enumerate(bounds):
        middle = np.array([left + (number + 0.5) * width, (bottom + top) / 2])
        found.append(Fitted(scale, middle - (low + high) / 2 * scale))
    return found


def draw_look(drawing: Drawing, look: Look, at: Fitted, pens: Pens) -> Floats:
    """Puts a picture on paper; returns all lines that it has, (n, 2, 2) float mm on the paper."""
    seams, strong = look.seams, look.scenery.strong
    rings = [ring * at.scale + at.place for ring in seams.rings(strong)]
    drawing.fill(rings, FILL, name="new parts")
    inside = seams.within(strong)
    border = seams.beside[:, 0] != seams.beside[:, 1]
    kinds = [
        seams.ends[inside.any(axis=1) & border],
        seams.ends[inside.all(axis=1) & ~border],
        seams.ends[~inside.any(axis=1)],
    ]
    strong_lines, fine, done = (one * at.scale + at.place for one in merged(kinds))
    narrow = crowded(strong_lines, fine, _CROWDED * pens.strong.width, _LONG)
    fine, strong_lines = merged([np.concatenate([fine, narrow]), strong_lines])
    small = specks(strong_lines, _LONG)
    fine, strong_lines = np.concatenate([fine, strong_lines[small]]), strong_lines[~small]
    drawing.strokes(paths_of(done), pens.done, name="parts in place")
    drawing.strokes(paths_of(fine), pens.fine, name="edges of new parts")
    drawing.strokes(paths_of(strong_lines), pens.strong, name="outlines of new parts")
    arrows = np.array([arrow * at.scale + at.place for arrow in look.arrows]).reshape(-1, 2, 2)
    for start, tip in arrows:
        draw_arrow(drawing, np.array([start, tip]), pens)
    return np.concatenate([strong_lines, fine, done, arrows])


def draw_turn(drawing: Drawing, box: Rectangle, pens: Pens) -> None:
    """A bent arrow from the left picture in a box to the right one."""
    left, bottom, right, top = box
    middle, high = (left + right) / 2, (bottom + top) / 2
    turns = np.linspace(np.pi * 0.9, np.pi * 0.05, 24)
    across = 0.2 * BETWEEN * (right - left)
    path = np.stack([middle + across * np.cos(turns), high + 1.2 * across * np.sin(turns)], axis=1)
    draw_arrow(drawing, path, pens)


def draw_arrow(drawing: Drawing, path: Floats, pens: Pens) -> None:
    """An arrow along a path, (n, 2) float mm on the paper, with a white border so that it stands out."""
    tip, step = path[-1], path[-1] - path[-2]
    length = float(np.hypot(*step))
    along = step / length
    side = np.array([-along[1], along[0]])
    head = min(pens.head, 0.7 * float(np.hypot(*np.diff(path, axis=0).T).sum()))
    shaft = np.concatenate([path[:-1], [tip - along * 0.9 * min(head, length)]])
    corners = np.array(
        [tip, tip - along * head + side * 0.38 * head, tip - along * head - side * 0.38 * head]
    )
    drawing.polyline(shaft, Pen(pens.shaft + 0.8, WHITE))
    drawing.polygon(corners, None, Pen(0.8, WHITE))
    drawing.polyline(shaft, Pen(pens.shaft, pens.arrow), name="arrow")
    drawing.fill([corners], pens.arrow, name="arrow head")
