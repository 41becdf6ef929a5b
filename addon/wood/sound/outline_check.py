"""Whether the outline of a part and what is cut along its edges leave a sound section at every depth."""

from __future__ import annotations

from itertools import combinations
from math import hypot, inf, isfinite

import numpy as np

from ...sizes.errors import PartError
from ...sizes.tolerances import WELD
from ..features.base import Point
from ..meshes.body import body_of
from ..meshes.outline import outline_lines
from ..part import Shape
from ..profiles import crosses_itself


def check_outline(shape: Shape) -> None:
    if not 0.0 < shape.thickness < inf:
        raise PartError("the thickness is {thickness}; it must be more than 0.", thickness=shape.thickness)
    outline = shape.outline
    if len(outline) < 3 or not all(isfinite(u) and isfinite(v) for u, v in outline):
        raise PartError("the outline needs three or more corners, each with two finite coordinates.")
    if is_plain(outline):
        return
    points = np.array(outline, dtype=float)
    onward = np.roll(points, -1, axis=0)
    if np.hypot(*(onward - points).T).min() <= WELD:
        raise PartError("two neighboring corners of the outline fall together; leave one of them out.")
    if crosses_itself(points):
        raise PartError("the outline crosses or touches itself; put its corners in order.")
    if float((points[:, 0] * onward[:, 1] - points[:, 1] * onward[:, 0]).sum()) <= 0.0:
        raise PartError("the corners of the outline must go round counter-clockwise.")


def is_plain(outline: tuple[tuple[float, float], ...]) -> bool:
    """Whether an outline is a rectangle along u and v, counter-clockwise from its lower left corner."""
    if len(outline) != 4:
        return False
    (u0, v0), (u1, v1), (u2, v2), (u3, v3) = outline
    return v0 == v1 and u1 == u2 and v2 == v3 and u3 == u0 and u1 - u0 > WELD and v2 - v1 > WELD


def check_edges(shape: Shape) -> None:
    count, thickness = len(shape.outline), shape.thickness
    for bevel in shape.bevels:
        if bevel.edge not in range(count):
            raise PartError(
                f"a bevel is on edge {bevel.edge}, but the outline's edges go from 0 to {count - 1}."
            )
        if not (0.0 <= bevel.front_inset < inf and 0.0 <= bevel.back_inset < inf):
            raise PartError(
                f"the bevel on the {shape.blank.edge_words(bevel.edge)} must stay within the outline: insets of 0 or"
                " more."
            )
    if len({bevel.edge for bevel in shape.bevels}) < len(shape.bevels):
        raise PartError("an edge can have one bevel only.")
    spans = []
    for t in shape.edge_cuts:
        name = f"the {t.kind} on the {shape.blank.edge_words(t.edge)}, {t.face} face"
        if t.edge not in range(count):
            raise PartError(
                f"a {t.kind} is on edge {t.edge}, but the outline's edges go from 0 to {count - 1}."
            )
        if not (0.0 < t.depth <= thickness and 0.0 < t.reach < inf):
            raise PartError(
                f"{name} measures {{depth}}; use more than 0 and at most {{board}}.",
                depth=t.depth,
                board=thickness,
            )
        if t.kind == "taper" and any(bevel.edge == t.edge for bevel in shape.bevels):
            raise PartError(f"{name} runs down to a beveled edge; leave one of the two out.")
        start, stop = t.start or 0.0, _length(shape, t.edge) if t.stop is None else t.stop
        if not 0.0 <= start < stop <= _length(shape, t.edge) + WELD:
            raise PartError(f"{name} must start before it stops and stay within the edge.")
        spans.append((t, start, stop, name))
    for (a, a0, a1, name), (b, b0, b1, _) in combinations(spans, 2):
        if a.edge == b.edge and min(a1, b1) - max(a0, b0) > WELD:
            if a.face == b.face:
                raise PartError(f"{name} is cut twice over the same length; leave one out.")
            if a.depth + b.depth > thickness:
                raise PartError(f"{name} meets the {b.kind} of the other face; make one of them smaller.")


def _length(shape: Shape, edge: int) -> float:
    (u, v), (u_next, v_next) = shape.outline[edge], shape.outline[(edge + 1) % len(shape.outline)]
    return hypot(u_next - u, v_next - v)


def rooms_in_rectangle(shape: Shape, low: Point, high: Point) -> list[float]:
    """Least wood between a rectangle of the board's plane and each edge of a plain rectangular board, mm."""
    (u0, v0), _, (u1, v1), _ = shape.outline
    rooms = [low[1] - v0, u1 - high[0], v1 - high[1], low[0] - u0]
    for bevel in shape.bevels:
        rooms[bevel.edge] -= max(bevel.front_inset, bevel.back_inset)
    for treatment in shape.edge_cuts:
        rooms[treatment.edge] -= treatment.reach
    return rooms


def is_surely_sound(shape: Shape) -> bool:
    """Whether a plain rectangle has so much room that no section needs to be looked at.

    Its edges stay longer than what is cut from them by the neighboring ones, stops and grooves' sides lie clear of
    that too, and no two grooves touch at a corner.
    """
    (u0, v0), _, (u1, v1), _ = shape.outline
    reach = [0.0] * 4
    for bevel in shape.bevels:
        reach[bevel.edge] += max(bevel.front_inset, bevel.back_inset)
    for treatment in shape.edge_cuts:
        reach[treatment.edge] += treatment.reach
    lengths = [u1 - u0, v1 - v0, u1 - u0, v1 - v0]
    if any(reach[e - 1] + reach[(e + 1) % 4] > lengths[e] for e in range(4)):
        return False
    stopped = False
    for t in shape.edge_cuts:
        start, stop = t.start, t.stop
        stopped |= start is not None or stop is not None
        if start is not None and start < reach[t.edge - 1]:
            return False
        if stop is not None and lengths[t.edge] - stop < reach[(t.edge + 1) % 4]:
            return False
    if stopped and any(opening.is_notch for opening in shape.openings):
        return False
    for g in shape.grooves:
        rooms = (g.v0 - v0, u1 - g.u1, v1 - g.v1, g.u0 - u0)
        if any(0.0 < room < needed for room, needed in zip(rooms, reach, strict=True)):
            return False
    return not any(
        max(a.u0 - b.u1, b.u0 - a.u1) >= -WELD and max(a.v0 - b.v1, b.v0 - a.v1) >= -WELD
        for a, b in combinations(shape.grooves, 2)
        if a.face == b.face
    )


def check_sections(shape: Shape) -> None:
    """Refuse an outline that loses an edge at some depth or crosses itself there.

    Raises
    ------
    PartError : what is lost, and at which depth
    """
    lines = outline_lines(shape)
    body_of(shape)
    if is_plain(shape.outline) or len(lines.profiles) == 1:
        return
    # bevels and treatments reach in furthest at one of the faces
    for ring in lines.vertices(lines.insets(np.array([0.0, lines.knees[-1]]))):
        distinct = ring[np.abs(ring - np.roll(ring, 1, axis=0)).max(axis=1) > WELD]
        if crosses_itself(distinct):
            raise PartError("Bevelled or eased edges meet across the board: make them smaller.")
