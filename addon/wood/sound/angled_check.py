"""Whether holes at an angle lie in the wood: where they enter, end and leave, and what else is cut nearby.

A bore is a convex prism. It keeps clear of another convex body if some direction parts the two; the directions that can
are those of the facets of either and those square to an edge of each.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import combinations, product
from math import cos, inf, isfinite, pi
from typing import Final, NamedTuple

import numpy as np

from ...sizes.arrays import Floats
from ...sizes.errors import PartError
from ...sizes.tolerances import ANGLE, ARC
from ..features import AngledHole
from ..meshes.outline import outline_lines
from ..meshes.walls import angled_rings
from ..part import Shape
from ..profiles import distance_to_box, edge_profile, facets_around, inside

LEAST_WEB: Final = 2 * ARC
"""Least wood between two cuts, mm: facets stand out of their arcs by up to `ARC` on either side."""

_AROUND: Final = 16
"""Sides of the prism that stands for a round hole."""


class Body(NamedTuple):
    """A convex body: corners (n, 3) mm, directions of its facets (f, 3) and of its edges (e, 3)."""

    name: str
    corners: Floats
    facets: Floats
    edges: Floats
    along: float = 0.0
    """Stands in the name of a hole at an angle for ``{along}``, mm."""


def upright(name: str, low: Sequence[float], high: Sequence[float], radius: float) -> Body:
    """A body that holds a cut square to the faces: a box, or around a single point in the plane a prism."""
    if low[0] == high[0] and low[1] == high[1]:
        around = facets_around(_AROUND)
        ring = around * radius / cos(pi / _AROUND) + (low[0], low[1])
        angles = 2 * np.arange(_AROUND) * pi / _AROUND
        facets = np.stack([np.cos(angles), np.sin(angles), 0 * angles], axis=1)
        edges = np.stack([-facets[:, 1], facets[:, 0], facets[:, 2]], axis=1)
    else:
        u0, v0, u1, v1 = low[0] - radius, low[1] - radius, high[0] + radius, high[1] + radius
        ring = np.array([(u0, v0), (u1, v0), (u1, v1), (u0, v1)])
        facets = edges = np.eye(3)[:2]
    corners = np.concatenate([np.column_stack([ring, np.full(len(ring), w)]) for w in (low[2], high[2])])
    square = np.eye(3)[2:]
    return Body(name, corners, np.concatenate([facets, square]), np.concatenate([edges, square]))


def check_angled_holes(shape: Shape, others: Iterable[Body]) -> None:
    """Refuse holes at an angle that cannot be drilled or run into something else.

    Raises
    ------
    PartError : which hole, and what is wrong
    """
    standing = [[other] for other in others]
    bodies: list[list[Body]] = []
    for hole in shape.angled_holes:
        name = f"the {hole.word} {{along}} along the {shape.blank.edge_words(hole.edge)}"
        try:
            _check_sizes(hole, name, shape)
            _check_ends(hole, name, shape)
            bodies.append(_bodies(hole, name, shape))
        except PartError as error:
            raise PartError(error.text, along=hole.along, **error.lengths) from None
    for first, second in [*product(bodies, standing), *combinations(bodies, 2)]:
        for a, b in product(first, second):
            if not _apart(a, b):
                other = b.name.replace("{along}", "{other}")
                text = f"{a.name} runs into {other}; move one of them or make it smaller."
                raise PartError(text, along=a.along, other=b.along)


def _check_sizes(hole: AngledHole, name: str, shape: Shape) -> None:
    if hole.edge not in range(len(shape.outline)):
        raise PartError(
            f"an {hole.word} leans to edge {hole.edge}, but the outline's edges go from 0 to "
            f"{len(shape.outline) - 1}."
        )
    numbers = (hole.along, hole.inset, hole.diameter, hole.pilot_diameter)
    if not (all(isfinite(one) for one in numbers) and hole.diameter > 0.0 and hole.inset > 0.0):
        raise PartError(f"{name} needs a diameter and a distance from the edge of more than 0.")
    if not 0.0 < hole.angle < 90.0:
        raise PartError(f"{name} stands at {hole.angle:.4g}° to the face: use more than 0 and less than 90.")
    if hole.pilot_diameter < 0.0 or hole.pilot_diameter >= hole.diameter:
        sizes = {"pilot": hole.pilot_diameter, "diameter": hole.diameter}
        raise PartError(f"{name} has a pilot of {{pilot}}: use less than {{diameter}}.", **sizes)
    if hole.pilot_diameter > 0.0 and hole.depth is None:
        raise PartError(
            f"{name} runs right through and so has no pilot; leave the pilot out or give its depth."
        )
    depths = [inf if depth is None else depth for _, depth in hole.stages]
    if min(depths) <= 0.0 or sorted(set(depths)) != depths:
        raise PartError(f"{name} needs a depth, and its pilot a greater one.")


def _check_ends(hole: AngledHole, name: str, shape: Shape) -> None:
    """Flat bottoms lie wholly in the wood; what leaves does so through one flat face or edge."""
    rings, end = angled_rings(hole, shape.blank)
    below = rings[:, :, 2] if hole.face == "front" else shape.thickness - rings[:, :, 2]
    square = below[1:] if end == "wood" else below[1:-1]
    if len(square) and square.min() < LEAST_WEB:
        raise PartError(f"{name} has a bottom that reaches out of the {hole.face} face; drill it deeper.")
    if len(square) and square.max() > shape.thickness - LEAST_WEB:
        raise PartError(f"{name} comes out of the other face; make it shallower.")
    if end == "edge":
        cuts = tuple(cut for cut in shape.edge_cuts if cut.edge == hole.edge)
        bevel = next((one for one in shape.bevels if one.edge == hole.edge), None)
        flat = [float(w) for w, inset in edge_profile(shape.thickness, cuts, bevel) if inset == 0.0]
        low, high = (min(flat), max(flat)) if len(flat) > 1 else (0.0, 0.0)
        exit_w = rings[-1][:, 2]
        if exit_w.min() < low + LEAST_WEB or exit_w.max() > high - LEAST_WEB:
            raise PartError(
                f"{name} leaves the board across the border of the edge's flat; move it or turn it."
            )


def _bodies(hole: AngledHole, name: str, shape: Shape) -> list[Body]:
    """Bore and pilot, and that each keeps clear of the outline."""
    axis = hole.axis(shape.blank)
    rings, end = angled_rings(hole, shape.blank)
    found = []
    for stage in range(len(rings) // 2):
        corners = rings[2 * stage : 2 * stage + 2]
        sides = np.roll(corners[0], -1, axis=0) - corners[0]
        facets = np.cross(sides, axis.along)
        facets /= np.linalg.norm(facets, axis=1, keepdims=True)
        ends = np.array([axis.along, (0.0, 0.0, 1.0), np.cross(axis.beside, (0.0, 0.0, 1.0))])
        edges = np.concatenate([[axis.along], sides, np.roll(corners[1], -1, axis=0) - corners[1]])
        found.append(Body(name, corners.reshape(-1, 3), np.concatenate([facets, ends]), edges, hole.along))
        leaves = end == "edge" and 2 * stage + 2 == len(rings)
        _check_outline(hole, name, shape, corners, leaves)
    return found


def _check_outline(hole: AngledHole, name: str, shape: Shape, corners: Floats, leaves: bool) -> None:
    """Seen on the face, a stage keeps clear of the outline at all its depths, but for the edge that it leaves by."""
    edge, lines = shape.blank.edge(hole.edge), outline_lines(shape)

    def turned(points: Floats) -> Floats:
        """(…, 2): along the edge, and into the wood."""
        away, (du, dv) = points[..., :2] - edge.start, edge.along
        return np.stack([away @ (du, dv), away @ (-dv, du)], axis=-1)

    place = turned(corners).reshape(-1, 2)
    low, high = place.min(axis=0), place.max(axis=0)
    others = lines.edge != hole.edge if leaves else np.ones(len(lines.edge), dtype=bool)
    middle = np.array([[(low[0] + high[0]) / 2, high[1]]])
    depths = corners[:, :, 2]
    levels = np.clip([depths.min(), *lines.knees, depths.max()], depths.min(), depths.max())
    for ring in lines.vertices(lines.insets(np.unique(levels))):
        start = turned(ring)
        stop = np.roll(start, -1, axis=0)
        near = distance_to_box(start[others], stop[others], low, high).min()
        if near < LEAST_WEB or not inside(middle, start, stop)[0]:
            raise PartError(f"{name} runs out of the board; move it or make it smaller.")


def _apart(a: Body, b: Body) -> bool:
    """Whether some direction parts two bodies by the least web."""
    low = np.maximum(a.corners.min(axis=0), b.corners.min(axis=0))
    high = np.minimum(a.corners.max(axis=0), b.corners.max(axis=0))
    if (low - high).max() >= LEAST_WEB:
        return True
    across = np.cross(a.edges[:, None], b.edges[None]).reshape(-1, 3)
    axes = np.concatenate([a.facets, b.facets, across])
    size = np.linalg.norm(axes, axis=1)
    axes = axes[size > ANGLE] / size[size > ANGLE, None]
    along_a, along_b = a.corners @ axes.T, b.corners @ axes.T
    gap = np.maximum(along_a.min(axis=0) - along_b.max(axis=0), along_b.min(axis=0) - along_a.max(axis=0))
    return bool(gap.max() >= LEAST_WEB)
