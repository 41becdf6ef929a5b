"""Where what is seen of an edge may change: where a contour nearer to the eye crosses it, and where it enters wood."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from ...model.tolerances import ANGLE, CONTACT
from .cells import Sorted

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from .cells import Grid
    from .surface import Edges, Surface

    Floats = NDArray[np.float64]
    Ints = NDArray[np.intp]
    Bools = NDArray[np.bool_]

_DIRECTIONS: Final = 4
"""So many directions with the most edges are looked at one by one: edges of one direction do not cross."""

_TURNS: Final = 1e6
"""Directions are sorted to a millionth of a radian."""

_PAIRS: Final = 2_000_000
"""Pairs looked at at once."""


def contour_crossings(edges: Edges, contours: Edges, grid: Grid) -> tuple[Ints, Floats]:
    """The number of an edge and the share of its length, for every contour in front of it that crosses it there.

    The ends of a contour count as crossings too, and so do contours that touch the edge.
    """
    kinds = _kinds(np.concatenate([edges.ends, contours.ends]))
    own, other = kinds[: len(edges.part)], kinds[len(edges.part) :]
    found = [(np.empty(0, dtype=np.intp), np.empty(0))]
    for kind in range(_DIRECTIONS + 1):
        mine = np.flatnonzero(own == kind)
        theirs = np.flatnonzero((other != kind) | (kind == _DIRECTIONS))
        which, cell = grid.cells(edges.ends[mine, :, :2])
        thing, its_cell = grid.cells(contours.ends[theirs, :, :2])
        place, contour = Sorted(thing, its_cell).meet(cell)
        for start in range(0, len(place), _PAIRS):
            part = slice(start, start + _PAIRS)
            found.append(_crossings(edges, contours, mine[which[place[part]]], theirs[contour[part]]))
    return np.concatenate([one for one, _ in found]), np.concatenate([share for _, share in found])


def _kinds(ends: Floats) -> Ints:
    """Numbers from 0 to `_DIRECTIONS` - 1 for the commonest directions on the paper, `_DIRECTIONS` for all others."""
    along = ends[:, 1, :2] - ends[:, 0, :2]
    turn = np.arctan2(along[:, 1], along[:, 0]) % np.pi
    rounded = np.round(turn * _TURNS).astype(np.int64) % round(np.pi * _TURNS)
    values, which, counts = np.unique(rounded, return_inverse=True, return_counts=True)
    rank = np.full(len(values), _DIRECTIONS, dtype=np.intp)
    commonest = np.argsort(-counts, kind="stable")[:_DIRECTIONS]
    rank[commonest] = np.arange(len(commonest))
    return rank[which.reshape(-1)]


def _crossings(edges: Edges, contours: Edges, edge: Ints, contour: Ints) -> tuple[Ints, Floats]:
    p, q = edges.ends[:, 0], contours.ends[:, 0]
    d, e = edges.ends[:, 1] - p, contours.ends[:, 1] - q
    dx, dy, ex, ey = d[edge, 0], d[edge, 1], e[contour, 0], e[contour, 1]
    gx, gy = q[contour, 0] - p[edge, 0], q[contour, 1] - p[edge, 1]
    across = dx * ey - dy * ex
    at_contour = gx * dy - gy * dx
    slack = CONTACT * edges.length[edge]
    # Of the contour's end from the edge's line, times the edge's length: whether it lies on both sides.
    size = np.abs(across)
    at_contour = np.where(across < 0, -at_contour, at_contour)
    keep = (at_contour >= -slack) & (at_contour <= size + slack)
    keep &= size > ANGLE * edges.length[edge] * contours.length[contour]
    edge, contour, across, at_contour = edge[keep], contour[keep], across[keep], at_contour[keep]
    share = (gx[keep] * e[contour, 1] - gy[keep] * e[contour, 0]) / across
    inside = (share > 0) & (share < 1)
    edge, contour, share = edge[inside], contour[inside], share[inside]
    z = p[edge, 2] + share * d[edge, 2]
    their = q[contour, 2] + at_contour[inside] / np.abs(across[inside]) * e[contour, 2]
    near = their >= z - CONTACT * (1 + np.abs(e[contour, 2]) / contours.length[contour]) - CONTACT
    return edge[near], share[near]


def entries(edges: Edges, surface: Surface) -> tuple[Ints, Floats]:
    """The number of an edge and the share of its length, wherever it goes through another part's surface."""
    # Parts lie along the table's axes, so that there their boxes are the smallest.
    corners, ends = (surface.points @ surface.axes)[surface.triangles], edges.ends @ surface.axes
    walls, lines = (corners.min(axis=1), corners.max(axis=1)), (ends.min(axis=1), ends.max(axis=1))
    numbers = np.arange(int(surface.part.max()) + 1)
    starts = np.searchsorted(surface.part, numbers)
    low, high = np.minimum.reduceat(walls[0], starts), np.maximum.reduceat(walls[1], starts)
    deep = np.minimum(high[:, None], high) - np.maximum(low[:, None], low)
    overlap = (deep > CONTACT).all(axis=2) & (numbers[:, None] != numbers)
    found_edges, found_walls = [np.empty(0, dtype=np.intp)], [np.empty(0, dtype=np.intp)]
    for one, other in np.argwhere(overlap):
        edge = np.flatnonzero((edges.part == one) & _within(lines, (low[other], high[other]), -CONTACT))
        wall = np.flatnonzero((surface.part == other) & _within(walls, (low[one], high[one]), CONTACT))
        meet = (lines[0][edge][:, None] <= walls[1][wall]) & (lines[1][edge][:, None] >= walls[0][wall])
        which = np.nonzero(meet.all(axis=2))
        found_edges.append(edge[which[0]])
        found_walls.append(wall[which[1]])
    return _pierced(edges, surface, np.concatenate(found_edges), np.concatenate(found_walls))


def entries_anywhere(lines: Edges, surface: Surface) -> tuple[Ints, Floats]:
    """The same for lines that are no part's edges: wherever they go through a surface."""
    corners, ends = surface.points[surface.triangles], lines.ends
    low, high = ends.min(axis=1) - CONTACT, ends.max(axis=1) + CONTACT
    meet = (low[:, None] <= corners.max(axis=1)).all(axis=2) & (high[:, None] >= corners.min(axis=1)).all(
        axis=2
    )
    return _pierced(lines, surface, *meet.nonzero())


def _within(boxes: tuple[Floats, Floats], box: tuple[Floats, Floats], slack: float) -> Bools:
    """Which boxes, (n, 3) float least and greatest coordinates, reach into a box that is larger by `slack`."""
    return np.all((boxes[0] <= box[1] + slack) & (boxes[1] >= box[0] - slack), axis=1)


def _pierced(edges: Edges, surface: Surface, edge: Ints, wall: Ints) -> tuple[Ints, Floats]:
    """Of pairs of an edge and a triangle those where the one goes through the other, and where."""
    start, end = edges.ends[edge, 0], edges.ends[edge, 1]
    corners = surface.points[surface.triangles]
    normal = surface.normals[wall]
    before = np.einsum("ij,ij->i", normal, start - corners[wall, 0])
    after = np.einsum("ij,ij->i", normal, end - corners[wall, 0])
    through = (np.minimum(before, after) < -CONTACT) & (np.maximum(before, after) > CONTACT)
    edge, wall, before, after = edge[through], wall[through], before[through], after[through]
    share = before / (before - after)
    at = edges.ends[edge, 0] + share[:, None] * (edges.ends[edge, 1] - edges.ends[edge, 0])
    inside = np.ones(len(edge), dtype=bool)
    for corner in range(3):
        a, b = corners[wall, corner], corners[wall, (corner + 1) % 3]
        side = np.einsum("ij,ij->i", np.cross(b - a, at - a), surface.normals[wall])
        inside &= side >= -CONTACT * np.linalg.norm(b - a, axis=1)
    return edge[inside], share[inside]
