"""One convex body, and the body that it passes through on a straight move."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ...sizes.arrays import Floats, Ints
from ...sizes.tolerances import ANGLE
from ...wood.solids.pieces import Pieces


@dataclass(frozen=True, eq=False)
class Polytope:
    """A convex body.

    Parameters
    ----------
    vertices : (V, 3) float, mm
    planes : (F, 4) float; rows (nx, ny, nz, offset), outward unit normals, inside is n·x <= offset
    edges : (E, 2) int; vertex numbers
    edge_planes : (E, 2) int; the facets that meet there
    """

    vertices: Floats
    planes: Floats
    edges: Ints
    edge_planes: Ints

    @classmethod
    def of(cls, pieces: Pieces, i: int) -> Polytope:
        """Piece i of a set."""
        return cls(pieces.piece(i), pieces.piece_planes(i), *pieces.edges[i])

    @cached_property
    def directions(self) -> Floats:
        """(D, 3) float; unit vectors along the edges, one for all edges that are parallel."""
        along = self.vertices[self.edges[:, 1]] - self.vertices[self.edges[:, 0]]
        along = along / np.sqrt((along * along).sum(axis=1))[:, None]
        leading = (np.abs(along) > _ROUNDING).argmax(axis=1)
        along *= np.sign(along[np.arange(len(along)), leading])[:, None]
        rounded = np.round(along / _ROUNDING)
        order = np.lexsort(rounded.T)
        new = np.ones(len(order), dtype=bool)
        new[1:] = (rounded[order[1:]] != rounded[order[:-1]]).any(axis=1)
        return along[order[new]]

    def translated(self, offset: Floats) -> Polytope:
        """The body shifted by (3,) float, mm."""
        planes = self.planes.copy()
        planes[:, 3] += planes[:, :3] @ offset
        return Polytope(self.vertices + offset, planes, self.edges, self.edge_planes)


_ROUNDING = 10 * ANGLE
"""Directions that agree to this are one; it only spares work."""


def sweep(body: Polytope, travel: Floats) -> Polytope:
    """What a body passes through on a straight move: the convex hull of the body at both ends of it.

    Facets that look ahead go along, facets that look back stay, and where the two kinds meet (the outline of
    the body seen along the travel) the edge leaves a new facet behind it, its ends new edges. Facets along
    the travel only grow. Nothing is searched or fitted.

    Parameters
    ----------
    travel : (3,) float, mm; may be zero
    """
    advance = body.planes[:, :3] @ travel
    along = ANGLE * float(np.sqrt(travel @ travel))
    front, back = advance > along, advance < -along
    if not front.any():
        return body

    edge_planes, edges = body.edge_planes, body.edges
    leads, trails = front[edge_planes], back[edge_planes]
    has_front, has_back = leads.any(axis=1), trails.any(axis=1)
    outline = np.flatnonzero(has_front & has_back)
    ahead = np.where(leads[:, 0], edge_planes[:, 0], edge_planes[:, 1])
    behind = np.where(trails[:, 0], edge_planes[:, 0], edge_planes[:, 1])

    # The new facets: the mixture of both normals that is square to the travel.
    n1, n2 = ahead[outline], behind[outline]
    normals = advance[n1, None] * body.planes[n2, :3] - advance[n2, None] * body.planes[n1, :3]
    normals /= np.sqrt((normals * normals).sum(axis=1))[:, None]
    offsets = (normals * body.vertices[edges[outline, 0]]).sum(axis=1)
    planes = body.planes.copy()
    planes[:, 3] += np.maximum(advance, 0.0)
    planes = np.concatenate([planes, np.concatenate([normals, offsets[:, None]], axis=1)])
    new_plane = np.zeros(len(edges), dtype=np.intp)
    new_plane[outline] = len(body.planes) + np.arange(len(outline))

    # Vertices: those of back facets stay, those of front facets move, those of the outline do both.
    stays, moves = np.zeros((2, len(body.vertices)), dtype=bool)
    stays[edges[has_back]] = True
    moves[edges[has_front]] = True
    vertices = np.concatenate([body.vertices[stays], body.vertices[moves] + travel])
    stayed = np.cumsum(stays) - 1
    moved = np.cumsum(moves) - 1 + np.count_nonzero(stays)

    # Edges: the same, then those along the travel, grown or new.
    flat = np.flatnonzero(~has_front & ~has_back)
    ends = edges[flat]
    swap = ((body.vertices[ends[:, 1]] - body.vertices[ends[:, 0]]) @ travel) < 0
    ends[swap] = ends[swap][:, ::-1]
    ridge = np.flatnonzero(stays & moves)
    on_outline = np.logical_and(has_front, has_back)[:, None]
    return Polytope(
        vertices,
        planes,
        np.concatenate(
            [
                stayed[edges[has_back]],
                moved[edges[has_front]],
                np.stack([stayed[ends[:, 0]], moved[ends[:, 1]]], axis=1),
                np.stack([stayed[ridge], moved[ridge]], axis=1),
            ]
        ),
        np.concatenate(
            [
                np.where(on_outline, np.stack([behind, new_plane], axis=1), edge_planes)[has_back],
                np.where(on_outline, np.stack([ahead, new_plane], axis=1), edge_planes)[has_front],
                edge_planes[flat],
                _ridge_planes(body, ridge, outline, new_plane, ~front & ~back),
            ]
        ),
    )


def _ridge_planes(
    body: Polytope, ridge: Ints, outline: Ints, new_plane: Ints, flat: NDArray[np.bool_]
) -> Ints:
    """(R, 2) int; the two facets along the travel that meet at each vertex of the outline."""
    count = len(body.planes) + len(outline)
    sides = np.stack([np.stack([body.edges, body.edge_planes[:, [k, k]]], axis=2) for k in range(2)]).reshape(
        -1, 2
    )
    sides = sides[flat[sides[:, 1]]]
    new = np.stack([body.edges[outline], new_plane[outline, None].repeat(2, axis=1)], axis=2).reshape(-1, 2)
    vertex, plane = np.divmod(np.unique(np.concatenate([sides, new]) @ np.array([count, 1])), count)
    return np.stack(
        [plane[np.searchsorted(vertex, ridge)], plane[np.searchsorted(vertex, ridge, side="right") - 1]],
        axis=1,
    )
