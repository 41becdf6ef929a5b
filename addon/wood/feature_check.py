"""Whether the cuts of a part leave it one sound board: each possible by itself, none running into another.

The outline and what is cut along its edges have to leave a sound section at every depth. Depth enters in closed form:
chamfers widen an opening most at one of the board's faces, and bevels and edge treatments reach in furthest there or at
the end of a blind cut, so that two depths tell for each pair.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from math import hypot, inf, isfinite
from typing import TYPE_CHECKING, Final

import numpy as np

from ..sizes.errors import PartError
from ..sizes.tolerances import ARC, WELD
from .features import Groove, Hole, Opening
from .mesh import body_of
from .outline import NOTCH, STOP, mouth_of, outline_lines
from .polygon_checks import crosses_itself, distance_to_box, inside

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from .outline import Lines
    from .part import Shape

    Point = tuple[float, float]
    Floats = NDArray[np.float64]


def check_outline(shape: Shape) -> None:
    if not 0.0 < shape.thickness < inf:
        raise PartError(f"the thickness is {shape.thickness:.4g} mm; it must be more than 0.")
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
                f"the bevel on edge {bevel.edge} must stay within the outline: insets of 0 or more."
            )
    if len({bevel.edge for bevel in shape.bevels}) < len(shape.bevels):
        raise PartError("an edge can have one bevel only.")
    spans = []
    for t in shape.edges:
        name = f"the {t.kind} on edge {t.edge}, {t.face} face"
        if t.edge not in range(count):
            raise PartError(
                f"a {t.kind} is on edge {t.edge}, but the outline's edges go from 0 to {count - 1}."
            )
        if not 0.0 < t.size <= thickness:
            raise PartError(f"{name} measures {t.size:.4g} mm; use more than 0 and at most {thickness:.4g}.")
        start, stop = t.start or 0.0, _length(shape, t.edge) if t.stop is None else t.stop
        if not 0.0 <= start < stop <= _length(shape, t.edge) + WELD:
            raise PartError(f"{name} must start before it stops and stay within the edge.")
        spans.append((t, start, stop, name))
    for (a, a0, a1, name), (b, b0, b1, _) in combinations(spans, 2):
        if a.edge == b.edge and min(a1, b1) - max(a0, b0) > WELD:
            if a.face == b.face:
                raise PartError(f"{name} is cut twice over the same length; leave one out.")
            if a.size + b.size > thickness:
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
    for treatment in shape.edges:
        rooms[treatment.edge] -= treatment.size
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
    for treatment in shape.edges:
        reach[treatment.edge] += treatment.size
    lengths = [u1 - u0, v1 - v0, u1 - u0, v1 - v0]
    if any(reach[e - 1] + reach[(e + 1) % 4] > lengths[e] for e in range(4)):
        return False
    stopped = False
    for t in shape.edges:
        start, stop = t.start, t.stop
        stopped |= start is not None or stop is not None
        if start is not None and start < reach[t.edge - 1]:
            return False
        if stop is not None and lengths[t.edge] - stop < reach[(t.edge + 1) % 4]:
            return False
    if stopped and any(opening.open_end is not None for opening in shape.openings):
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


LEAST_WEB: Final = 2 * ARC
"""Least wood between two cuts, mm: facets stand out of their arcs by up to `ARC` on either side."""


@dataclass(frozen=True)
class Cut:
    """The place of an opening, groove or hole: a rectangle grown all around by a radius that may change with depth."""

    name: str
    source: Opening | Groove | Hole
    low: tuple[float, float]
    high: tuple[float, float]
    top: float
    bottom: float
    """Depths between which it is cut, mm."""
    radius: float = 0.0
    chamfers: tuple[float, float] = (0.0, 0.0)
    sharp: bool = True
    """Whether chamfers keep the rectangle's corners sharp instead of rounding them."""

    def chamfer(self, w: float, thickness: float) -> float:
        """How far the cut's edges stand outside their land at a depth, mm."""
        front, back = self.chamfers
        return max(0.0, front - w, w - (thickness - back))


def check_features(shape: Shape, label: str = "") -> None:
    """Refuse a shape that cannot be cut; `label` is the part's, for the sentence.

    Raises
    ------
    PartError : one sentence that names the cut, or both cuts that run into each other
    """
    try:
        check_outline(shape)
        check_edges(shape)
        cuts = [
            *(_opening(opening, shape) for opening in shape.openings),
            *(_groove(groove, shape) for groove in shape.grooves),
            *(_hole(hole, shape) for hole in shape.holes),
        ]
        for first, second in combinations(cuts, 2):
            _check_pair(first, second, shape.thickness)
        _check_inside(shape, cuts)
    except PartError as error:
        raise error.of(label) from None


def _opening(o: Opening, shape: Shape) -> Cut:
    name = f"the {o.kind} for {o.leaf}" if o.leaf else f"the {o.kind} at u = {o.u0:.5g} … {o.u1:.5g} mm"
    if not (o.u1 - o.u0 > WELD and o.v1 - o.v0 > WELD and _finite(o.u0, o.u1, o.v0, o.v1)):
        raise PartError(f"{name} has no width or no height.")
    ends = 1 if o.open_end else 2
    if not 0.0 <= o.corner_radius <= min((o.u1 - o.u0) / ends, (o.v1 - o.v0) / 2) + WELD:
        raise PartError(f"{name} is too small for corners of radius {o.corner_radius:.4g} mm.")
    for size in (o.front_chamfer, o.back_chamfer):
        if not 0.0 <= size < shape.thickness:
            raise PartError(f"{name} has a chamfer of {size:.4g} mm in a board of {shape.thickness:.4g} mm.")
    r = o.corner_radius
    low, high = (o.u0 + r, o.v0 + r), (o.u1 - r, o.v1 - r)
    if o.open_end == "start":
        low = (min(low[0], min(u for u, _ in shape.outline)), low[1])
    elif o.open_end == "end":
        high = (max(high[0], max(u for u, _ in shape.outline)), high[1])
    return Cut(name, o, low, high, 0.0, shape.thickness, r, (o.front_chamfer, o.back_chamfer), r <= WELD)


def _groove(g: Groove, shape: Shape) -> Cut:
    along_u = g.u1 - g.u0 >= g.v1 - g.v0
    place = f"v = {g.v0:.5g} … {g.v1:.5g}" if along_u else f"u = {g.u0:.5g} … {g.u1:.5g}"
    name = f"the {g.kind} at {place} mm"
    if not (g.u1 - g.u0 > WELD and g.v1 - g.v0 > WELD and _finite(g.u0, g.u1, g.v0, g.v1)):
        raise PartError(f"{name} has no length or no width.")
    if not 0.0 < g.depth < shape.thickness - LEAST_WEB:
        raise PartError(f"{name} is {g.depth:.4g} mm deep in a board of {shape.thickness:.4g} mm.")
    us, vs = zip(*shape.outline, strict=True)
    if g.u1 <= min(us) or g.u0 >= max(us) or g.v1 <= min(vs) or g.v0 >= max(vs):
        raise PartError(f"{name} lies outside the board.")
    top, bottom = (0.0, g.depth) if g.face == "front" else (shape.thickness - g.depth, shape.thickness)
    return Cut(name, g, (g.u0, g.v0), (g.u1, g.v1), top, bottom)


def _hole(h: Hole, shape: Shape) -> Cut:
    name = f"the hole at u = {h.u:.5g}, v = {h.v:.5g} mm"
    if not (0.0 < h.diameter < inf and _finite(h.u, h.v)):
        raise PartError(f"{name} needs a diameter of more than 0.")
    top, bottom = 0.0, shape.thickness
    if h.depth is not None:
        if not 0.0 < h.depth < shape.thickness - LEAST_WEB:
            raise PartError(f"{name} is {h.depth:.4g} mm deep in a board of {shape.thickness:.4g} mm.")
        top, bottom = (0.0, h.depth) if h.face == "front" else (shape.thickness - h.depth, shape.thickness)
    return Cut(name, h, (h.u, h.v), (h.u, h.v), top, bottom, h.diameter / 2, sharp=False)


def _finite(*values: float) -> bool:
    return all(isfinite(value) for value in values)


def _check_pair(a: Cut, b: Cut, thickness: float) -> None:
    """Two cuts must keep apart; but grooves of one face may cross, and a hole may start in a groove's floor."""
    if max(a.top, b.top) - min(a.bottom, b.bottom) >= LEAST_WEB:
        return
    first, second = a.source, b.source
    if isinstance(first, Groove) and isinstance(second, Groove) and first.face == second.face:
        return
    gap = min(_gap(a, b, w, thickness) for w in (max(a.top, b.top), min(a.bottom, b.bottom)))
    if gap >= LEAST_WEB or _starts_in(a, b) or _starts_in(b, a):
        return
    raise PartError(f"{a.name} runs into {b.name}; move one of them or make it smaller.")


def _starts_in(hole: Cut, groove: Cut) -> bool:
    """Whether a hole is drilled within the floor of a groove, from there or right through."""
    if not (isinstance(hole.source, Hole) and isinstance(groove.source, Groove)):
        return False
    if hole.source.depth is not None and hole.source.face != groove.source.face:
        return False
    reach = hole.radius + LEAST_WEB
    return all(groove.low[k] + reach <= hole.low[k] <= groove.high[k] - reach for k in (0, 1))


def _gap(a: Cut, b: Cut, w: float, thickness: float) -> float:
    """Distance between two cuts at a depth, negative if they overlap, mm."""
    grown = [(cut.chamfer(w, thickness), cut.sharp) for cut in (a, b)]
    square = sum(c for c, sharp in grown if sharp)
    du, dv = (max(a.low[k] - b.high[k], b.low[k] - a.high[k]) - square for k in (0, 1))
    apart = hypot(max(du, 0.0), max(dv, 0.0)) if max(du, dv) > 0.0 else max(du, dv)
    return apart - a.radius - b.radius - sum(c for c, sharp in grown if not sharp)


def _check_inside(shape: Shape, cuts: list[Cut]) -> None:
    """Edges must leave a section, and openings and holes must stay within it."""
    plain = is_plain(shape.outline)
    cuts = [cut for cut in cuts if not isinstance(cut.source, Groove)]
    if plain:
        cuts = [cut for cut in cuts if not _clear_of_rectangle(cut, shape)]
    if not (plain and is_surely_sound(shape)):
        check_sections(shape)
    for cut in cuts:
        for w in (cut.top, cut.bottom):
            if _room(cut, outline_lines(shape), w, shape) < LEAST_WEB:
                raise PartError(f"{cut.name} runs out of the board; move it or make it smaller.")


def _clear_of_rectangle(cut: Cut, shape: Shape) -> bool:
    """Whether a cut keeps clear of the edges of a plain rectangle however far they are beveled or eased."""
    rooms = rooms_in_rectangle(shape, cut.low, cut.high)
    if isinstance(cut.source, Opening) and cut.source.open_end is not None:
        rooms[mouth_of(shape, cut.source)[0]] = inf
    return min(rooms) >= cut.radius + LEAST_WEB + max(cut.chamfers)


def keeps_clear_of_edges(shape: Shape, low: Point, high: Point) -> bool:
    """Whether a rectangle of the board's plane with its middle in the wood keeps clear of all edges at all depths."""
    if is_plain(shape.outline) and min(rooms_in_rectangle(shape, low, high)) >= 0.0:
        return True
    lines = outline_lines(shape)
    rings = lines.vertices(lines.insets(np.array(lines.knees)))
    onwards = np.roll(rings, -1, axis=1)
    box = np.array(low), np.array(high)
    return all(
        distance_to_box(ring, onward, *box).min() > 0.0 for ring, onward in zip(rings, onwards, strict=True)
    )


def _room(cut: Cut, lines: Lines, w: float, shape: Shape) -> float:
    """Distance of a cut from the section's outline at a depth; negative outside, mm."""
    ring = lines.vertices(lines.insets(np.array([w])))[0]
    onward = np.roll(ring, -1, axis=0)
    chamfer = cut.chamfer(w, shape.thickness)
    grown = chamfer if cut.sharp else 0.0
    low, high = np.array(cut.low) - grown, np.array(cut.high) + grown
    others = lines.edge != NOTCH
    if isinstance(cut.source, Opening) and cut.source.open_end is not None:
        others &= (lines.edge != mouth_of(shape, cut.source)[0]) & (lines.edge != STOP)
    elif not inside(((low + high) / 2)[None], ring, onward)[0]:
        return -inf
    distance = distance_to_box(ring[others], onward[others], low, high).min()
    return float(distance) - cut.radius - (0.0 if cut.sharp else chamfer)
