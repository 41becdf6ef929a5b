"""Hidden lines taken away: every edge cut where what is seen of it may change, and each piece judged at its middle.

That may change where a contour nearer to the eye crosses the edge, and where it enters wood. Each piece between two
such places is visible or hidden as a whole, so nothing is sampled. A piece is hidden where it is covered on both of its
sides: a line along the border of what covers it is that border's line too. Faces that touch (within `CONTACT`) do not
hide each other's edges, so that the joint between two flush parts is a line.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from ...sizes.arrays import Bools, Floats, Ints
from ...sizes.tolerances import ANGLE, CONTACT
from ...wood.part import Part, Placement
from .seen import NOTHING, Edges, Grid, Seen, Sorted, Surface, edges_of, surface_of

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
    order = np.argsort(edges.part, kind="stable")
    of_edges = np.searchsorted(edges.part[order], np.append(numbers, len(numbers)))
    of_walls = np.append(starts, len(surface.part)).tolist()
    found_edges, found_walls = [np.empty(0, dtype=np.intp)], [np.empty(0, dtype=np.intp)]
    for one, other in np.argwhere(overlap).tolist():
        edge = order[of_edges[one] : of_edges[one + 1]]
        wall = np.arange(of_walls[other], of_walls[other + 1])
        edge = edge[_within((lines[0][edge], lines[1][edge]), (low[other], high[other]), -CONTACT)]
        wall = wall[_within((walls[0][wall], walls[1][wall]), (low[one], high[one]), CONTACT)]
        meet = (lines[0][edge][:, None] <= walls[1][wall]) & (lines[1][edge][:, None] >= walls[0][wall])
        which = np.nonzero(meet.all(axis=2))
        found_edges.append(edge[which[0]])
        found_walls.append(wall[which[1]])
    return _pierced(edges, surface, np.concatenate(found_edges), np.concatenate(found_walls))


def entries_anywhere(lines: Edges, surface: Surface) -> tuple[Ints, Floats]:
    """The same for lines that are no part's edges: wherever they go through a surface."""
    corners, ends = surface.points[surface.triangles], lines.ends
    low, high = ends.min(axis=1) - CONTACT, ends.max(axis=1) + CONTACT
    walls = corners.min(axis=1), corners.max(axis=1)
    line, wall = [np.empty(0, dtype=np.intp)], [np.empty(0, dtype=np.intp)]
    for number in range(len(ends)):
        found = np.flatnonzero(_within(walls, (low[number], high[number]), 0.0))
        line.append(np.full(len(found), number))
        wall.append(found)
    return _pierced(lines, surface, np.concatenate(line), np.concatenate(wall))


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


_ACROSS: Final = 160
"""Cells along the longer side of the drawing."""


@dataclass(frozen=True, eq=False)
class Lines:
    """Pieces of edges, each visible or hidden from end to end."""

    ends: Floats
    """(n, 2, 3) float, mm: x to the right, y up, z toward the eye."""
    part: Ints
    """(n,) int: the number of the part whose edge it is."""
    visible: Bools
    """(n,) bool"""
    outline: Bools
    """(n,) bool: visible, and different parts, or a part and the paper, are seen on its two sides."""

    @property
    def length(self) -> Floats:
        """(n,) float: length on the paper at full size, mm."""
        along = self.ends[:, 1, :2] - self.ends[:, 0, :2]
        return np.hypot(along[:, 0], along[:, 1])


def hidden_lines(parts: Sequence[Part], axes: Floats, places: dict[str, Placement] | None = None) -> Lines:
    """The edges of parts in a view, each cut into visible and hidden pieces.

    Parameters
    ----------
    axes : (3, 3) float, orthonormal rows: to the right and up on the paper, and toward the eye
    places : label → where a part is, other than where the assembly has it

    Raises
    ------
    PartError : where a part has no sound section
    """
    return lines_of(surface_of(parts, axes, places))


def lines_of(surface: Surface) -> Lines:
    """The edges of closed surfaces, each cut into visible and hidden pieces."""
    edges = edges_of(surface)
    grid = Grid.over(surface.points[:, :2], _ACROSS)
    asked = edges.select(~edges.away)
    contours = asked.select(asked.contour)
    own, first, last = _pieces(asked, [contour_crossings(asked, contours, grid), entries(asked, surface)])
    start, along = asked.ends[:, 0], asked.ends[:, 1] - asked.ends[:, 0]
    middle = start[own] + ((first + last) / 2)[:, None] * along[own]
    left = (np.stack([-along[:, 1], along[:, 0]], axis=1) / asked.length[:, None])[own]
    seen = Seen(surface, grid)
    visible = ~seen.hidden(middle, left).all(axis=1)
    outline = np.zeros(len(own), dtype=bool)
    sides = seen.foremost(middle[visible], left[visible], asked.part[own[visible]])
    outline[visible] = sides[:, 0] != sides[:, 1]
    ends = start[own][:, None] + np.stack([first, last], axis=1)[:, :, None] * along[own][:, None]
    away = edges.select(edges.away)
    no = np.zeros(len(away.part), dtype=bool)
    return Lines(
        np.concatenate([ends, away.ends]),
        np.concatenate([asked.part[own], away.part]),
        np.concatenate([visible, no]),
        np.concatenate([outline, no]),
    )


def seen_through_air(surface: Surface, ends: Floats) -> Floats:
    """The visible pieces, (m, 2, 3) float mm, of straight lines that are no part's edges, such as ways of parts.

    Parameters
    ----------
    ends : (n, 2, 3) float, mm in the view's axes: from where to where, within the drawing
    """
    none = np.zeros(len(ends), dtype=bool)
    lines = Edges(ends, np.zeros(len(ends), dtype=np.intp), none, none)
    lines = lines.select(lines.length > CONTACT)
    grid = Grid.over(surface.points[:, :2], _ACROSS)
    edges = edges_of(surface)
    contours = edges.select(edges.contour)
    own, first, last = _pieces(
        lines, [contour_crossings(lines, contours, grid), entries_anywhere(lines, surface)]
    )
    start, along = lines.ends[:, 0][own], (lines.ends[:, 1] - lines.ends[:, 0])[own]
    left = np.stack([-along[:, 1], along[:, 0]], axis=1) / lines.length[own][:, None]
    hidden = Seen(surface, grid).hidden(start + ((first + last) / 2)[:, None] * along, left).any(axis=1)
    own, first, last = own[~hidden], first[~hidden], last[~hidden]
    goes_on = (own[1:] == own[:-1]) & (first[1:] == last[:-1])
    begins, ends_here = np.append(True, ~goes_on)[: len(own)], np.append(~goes_on, True)[: len(own)]
    shares = np.stack([first[begins], last[ends_here]], axis=1)
    start, along = start[~hidden][begins], along[~hidden][begins]
    return start[:, None] + shares[:, :, None] * along[:, None]


def _pieces(edges: Edges, found: list[tuple[Ints, Floats]]) -> tuple[Ints, Floats, Floats]:
    """Pieces of edges between neighboring crossings: the edge's number and shares of its length from and to.

    Crossings nearer to each other than `CONTACT` are one.

    Parameters
    ----------
    found : crossings: numbers of edges and shares of their lengths
    """
    numbers = np.arange(len(edges.part))
    edge = np.concatenate([numbers, *(one for one, _ in found), numbers])
    share = np.concatenate([np.zeros(len(numbers)), *(at for _, at in found), np.ones(len(numbers))])
    order = np.lexsort((share, edge))
    edge, share = edge[order], share[order]
    # An edge's ends stay; of crossings close together, and close to its ends, the first of each run does.
    at = share * edges.length[edge]
    apart = np.diff(at, prepend=-np.inf) > CONTACT
    ends = (share == 0) | (share == 1)
    keep = ends | (apart & (edges.length[edge] - at > CONTACT))
    edge, share = edge[keep], share[keep]
    same = edge[1:] == edge[:-1]
    return edge[:-1][same], share[:-1][same], share[1:][same]


__all__ = ["NOTHING", "Lines", "hidden_lines", "lines_of"]
