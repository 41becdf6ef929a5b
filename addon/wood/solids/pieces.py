"""Convex pieces: what parts are made of wherever exact geometry is asked for.

A board with openings and eased edges is no convex body, but the union of a few convex ones. Each piece is
kept in three ways at once, its vertices, its facet planes and its edges, so that no later step has to derive
one from the other. All pieces of a set lie in the same few arrays ("ragged": `starts` says where each piece
begins), because numpy is fast on large arrays and slow on many small ones.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import chain, pairwise
from typing import NamedTuple

import numpy as np

from ...sizes.arrays import Bools, Floats, Ints, joined_starts, ragged_rows, reduce_ragged
from ...sizes.tolerances import ANGLE, WELD
from .half_spaces import Rows, cross_product, edges_of_planes


class Edges(NamedTuple):
    """The edges of one convex piece; pieces that are alike share theirs."""

    ends: Ints
    """(e, 2) int; the vertices that each joins, as numbers within the piece"""
    planes: Ints
    """(e, 2) int; the facets that meet there, as numbers within the piece"""


class Tag(NamedTuple):
    """Which face of which cut a piece of a board's wood lies beside; `str(tag)` is for people."""

    face: str = ""
    """``lower edge``, ``start``, ``bottom`` …; empty where the whole cut is meant"""
    cut: str = "board"
    """``slot``, ``window``, ``groove``, ``hole`` …; ``board`` for wood that lies beside no cut"""
    leaf: str = ""
    """Label of the leaf that passes through the cut."""

    def __str__(self) -> str:
        cut = f"{self.cut} of {self.leaf}" if self.leaf else self.cut
        return f"{self.face} of the {cut}" if self.face else cut


@dataclass(frozen=True, eq=False)
class Pieces:
    """N convex pieces.

    Parameters
    ----------
    vertices : (M, 3) float, mm; the corners of piece i are rows `starts[i]` to `starts[i + 1]`
    starts : (N + 1,) int
    planes : (K, 4) float; rows (nx, ny, nz, offset) with outward unit normal, the piece being n·x <= offset;
        one row a facet, none redundant
    plane_starts : (N + 1,) int
    edges : N `Edges`
    tags : what each piece belongs to, N of any kind; those of parts are `Tag`s
    """

    vertices: Floats
    starts: Ints
    planes: Floats
    plane_starts: Ints
    edges: tuple[Edges, ...]
    tags: tuple[object, ...]

    def __len__(self) -> int:
        return len(self.starts) - 1

    @classmethod
    def empty(cls) -> Pieces:
        """A set without pieces."""
        return cls.concatenate([])

    @classmethod
    def boxes(cls, low: Floats, high: Floats, tags: Sequence[object] | str = "") -> Pieces:
        """Boxes along the axes.

        Parameters
        ----------
        low, high : (N, 3) or (3,) float, mm
        tags : N of them, or one string for all
        """
        low, high = np.atleast_2d(np.asarray(low, dtype=float)), np.atleast_2d(np.asarray(high, dtype=float))
        vertices = np.where(_BOX_CORNERS, high[:, None], low[:, None])
        planes = np.empty((len(low), 6, 4))
        planes[:, :, :3] = _BOX_NORMALS
        planes[:, :3, 3], planes[:, 3:, 3] = -low, high
        tags = (tags,) * len(low) if isinstance(tags, str) else tags
        return cls.alike(vertices, planes, _BOX_EDGES, tags)

    @classmethod
    def alike(cls, vertices: Floats, planes: Floats, edges: Edges, tags: Sequence[object]) -> Pieces:
        """Pieces that share their edges: (N, v, 3) float, mm; (N, p, 4) float."""
        count, corners, _ = vertices.shape
        each = np.arange(count + 1)
        return cls(
            vertices.reshape(-1, 3),
            each * corners,
            planes.reshape(-1, 4),
            each * planes.shape[1],
            (edges,) * count,
            tuple(tags),
        )

    @classmethod
    def concatenate(cls, sets: Sequence[Pieces]) -> Pieces:
        """All pieces of several sets, in order."""
        if not sets:
            zero = np.zeros(1, dtype=np.intp)
            return cls(np.zeros((0, 3)), zero, np.zeros((0, 4)), zero, (), ())
        return cls(
            np.concatenate([one.vertices for one in sets]),
            joined_starts([one.starts for one in sets]),
            np.concatenate([one.planes for one in sets]),
            joined_starts([one.plane_starts for one in sets]),
            tuple(chain.from_iterable(one.edges for one in sets)),
            tuple(chain.from_iterable(one.tags for one in sets)),
        )

    def piece(self, i: int) -> Floats:
        """Corners of piece i, (n, 3) float, mm."""
        return self.vertices[self.starts[i] : self.starts[i + 1]]

    def piece_planes(self, i: int) -> Floats:
        """Facets of piece i, (n, 4) float."""
        return self.planes[self.plane_starts[i] : self.plane_starts[i + 1]]

    def select(self, which: Sequence[int] | Ints) -> Pieces:
        """The pieces with these numbers, in the given order."""
        which = np.asarray(which, dtype=np.intp)
        vertex, starts = ragged_rows(self.starts, which)
        plane, plane_starts = ragged_rows(self.plane_starts, which)
        names = which.tolist()
        return Pieces(
            self.vertices.take(vertex, axis=0),  # several times as fast as by brackets
            starts,
            self.planes.take(plane, axis=0),
            plane_starts,
            tuple(map(self.edges.__getitem__, names)),
            tuple(map(self.tags.__getitem__, names)),
        )

    def run(self, first: int, last: int) -> Pieces:
        """The pieces from number `first` to before `last`; shares the arrays."""
        vertex, plane = self.starts, self.plane_starts
        part = slice(first, last + 1)
        return Pieces(
            self.vertices[vertex[first] : vertex[last]],
            vertex[part] - vertex[first],
            self.planes[plane[first] : plane[last]],
            plane[part] - plane[first],
            self.edges[first:last],
            self.tags[first:last],
        )

    def retagged(self, tags: Sequence[object]) -> Pieces:
        """The same pieces with N new tags."""
        return replace(self, tags=tuple(tags))

    def transformed(self, axes: Floats, origin: Floats) -> Pieces:
        """The pieces, given in a part's frame, in table coordinates.

        Parameters
        ----------
        axes : (3, 3) float; rows are the directions of u, v and w, orthonormal
        origin : (3,) float, mm
        """
        normals = self.planes[:, :3] @ axes
        planes = np.concatenate([normals, (self.planes[:, 3] + normals @ origin)[:, None]], axis=1)
        return replace(self, vertices=self.vertices @ axes + origin, planes=planes)

    def translated(self, offset: Floats) -> Pieces:
        """The pieces shifted by (3,) float, mm."""
        planes = self.planes.copy()
        planes[:, 3] += planes[:, :3] @ offset
        return replace(self, vertices=self.vertices + offset, planes=planes)

    @cached_property
    def vertex_piece(self) -> Ints:
        """(M,) int; the piece that each vertex belongs to."""
        return np.repeat(np.arange(len(self)), np.diff(self.starts))

    @cached_property
    def low(self) -> Floats:
        """Lower corners of the bounding boxes, (N, 3) float, mm."""
        return reduce_ragged(np.minimum, self.vertices, self.starts)

    @cached_property
    def high(self) -> Floats:
        """Upper corners of the bounding boxes, (N, 3) float, mm."""
        return reduce_ragged(np.maximum, self.vertices, self.starts)

    @cached_property
    def is_box(self) -> Bools:
        """(N,) bool; whether the piece is a box along the axes."""
        x, y, z = np.abs(self.planes[:, :3].T)
        square = np.maximum(np.maximum(x, y), z) > 1 - ANGLE
        return (np.diff(self.plane_starts) == 6) & reduce_ragged(np.logical_and, square, self.plane_starts)

    @cached_property
    def volumes(self) -> Floats:
        """(N,) float, mm³"""
        return volumes_and_surfaces(self)[0]

    def volume(self, i: int) -> float:
        """Volume of piece i, mm³."""
        return float(self.volumes[i])

    def contains(self, points: Floats, margin: float = WELD) -> Bools:
        """(n,) bool; whether each of (n, 3) points lies in a piece, or outside it by at most `margin` mm."""
        points = np.atleast_2d(points)
        inside = np.zeros(len(points), dtype=bool)
        for i in range(len(self)):
            planes = self.piece_planes(i)
            inside |= (points @ planes[:, :3].T <= planes[:, 3] + margin).all(axis=1)
        return inside


def from_planes(plane_sets: Sequence[Floats], tags: Sequence[object]) -> Pieces:
    """The convex pieces that the half-spaces of each set have in common.

    Every pair of planes meets in a line; what the other planes leave of that line is an edge of the piece.
    Planes that cut nothing are dropped, and so are pieces without a volume. Sets with the same number of
    planes are worked out together.

    Parameters
    ----------
    plane_sets : N arrays (P, 4) float; rows (nx, ny, nz, offset), the piece being n·x <= offset; normals of
        any length but zero
    tags : N of them

    Raises
    ------
    ValueError
        if the planes of a set enclose no finite body
    """
    pieces, kept = solid_bodies(plane_sets)
    return pieces.retagged([tags[number] for number in kept])


def solid_bodies(plane_sets: Sequence[Floats]) -> tuple[Pieces, list[int]]:
    """The same without tags, and the number of the set that each is of."""
    by_count: dict[int, list[int]] = {}
    for number, planes in enumerate(plane_sets):
        by_count.setdefault(len(planes), []).append(number)
    groups = [
        edges_of_planes(np.stack([plane_sets[number] for number in numbers]), np.array(numbers))
        for numbers in by_count.values()
    ]
    if not groups:
        return Pieces.empty(), []
    columns = [np.concatenate(column) for column in zip(*groups, strict=True)]
    pieces = _gathered(Rows(*columns), len(plane_sets))
    volumes, surfaces = volumes_and_surfaces(pieces)
    solid = np.flatnonzero(volumes > WELD * surfaces)
    return pieces if len(solid) == len(pieces) else pieces.select(solid), solid.tolist()


def _gathered(flat: Rows, count: int) -> Pieces:
    """Pieces from rows that come in any order of pieces."""
    vertex = np.argsort(flat.vertex_piece, kind="stable")
    plane = np.argsort(flat.plane_piece, kind="stable")
    edge = np.argsort(flat.edge_piece, kind="stable")
    each = np.arange(count + 1)
    starts = np.searchsorted(flat.edge_piece[edge], each).tolist()
    ends, sides = flat.edges[edge], flat.edge_planes[edge]
    return Pieces(
        flat.vertices[vertex],
        np.searchsorted(flat.vertex_piece[vertex], each),
        flat.planes[plane],
        np.searchsorted(flat.plane_piece[plane], each),
        tuple(Edges(ends[first:last], sides[first:last]) for first, last in pairwise(starts)),
        ("",) * count,
    )


_BOX_CORNERS = np.array([[(i >> 2) & 1, (i >> 1) & 1, i & 1] for i in range(8)], dtype=bool)
_BOX_NORMALS = np.concatenate([-np.eye(3), np.eye(3)])
_BOX_EDGES = Edges(
    np.array([(i, i | bit) for bit in (4, 2, 1) for i in range(8) if not i & bit]),
    np.array(
        [
            [other + 3 * int(_BOX_CORNERS[i, other]) for other in range(3) if other != axis]
            for axis, bit in enumerate((4, 2, 1))
            for i in range(8)
            if not i & bit
        ]
    ),
)


def volumes_and_surfaces(pieces: Pieces) -> tuple[Floats, Floats]:
    """(N,) volumes, mm³, and (N,) surfaces, mm².

    Each facet is the fan of triangles over its edges from a point inside it, each piece the fan of pyramids
    over its facets from a point inside it.
    """
    count, facets = len(pieces), len(pieces.planes)
    if not count:
        return np.zeros(0), np.zeros(0)
    piece_of_edge = np.repeat(np.arange(count), [len(own.ends) for own in pieces.edges])
    piece_of_plane = np.repeat(np.arange(count), np.diff(pieces.plane_starts))
    ends = pieces.vertices[
        np.concatenate([own.ends for own in pieces.edges]) + pieces.starts[piece_of_edge, None]
    ]
    planes = np.concatenate([own.planes for own in pieces.edges]) + pieces.plane_starts[piece_of_edge, None]
    flat_planes = planes.ravel()
    sums = np.repeat(ends.sum(axis=1), 2, axis=0)
    # of no edges at all numpy counts whole numbers, hence the cast
    middles = np.stack(
        [np.bincount(flat_planes, weights=sums[:, axis], minlength=facets) for axis in range(3)], axis=1
    ).astype(float)
    middles /= np.maximum(2 * np.bincount(flat_planes, minlength=facets), 1)[:, None]
    spokes = (ends[:, None] - middles[planes][:, :, None]).transpose(2, 3, 0, 1)
    triangles = np.linalg.norm(cross_product(spokes[0], spokes[1]), axis=0) / 2
    areas = np.bincount(flat_planes, weights=triangles.ravel(), minlength=facets)
    totals = np.stack(
        [np.bincount(pieces.vertex_piece, weights=of_axis, minlength=count) for of_axis in pieces.vertices.T]
    )
    inside = totals / np.maximum(np.diff(pieces.starts), 1)
    heights = pieces.planes[:, 3] - (pieces.planes[:, :3] * inside.T[piece_of_plane]).sum(axis=1)
    volumes: Floats = np.bincount(piece_of_plane, weights=areas * heights / 3, minlength=count).astype(float)
    surfaces: Floats = np.bincount(piece_of_plane, weights=areas, minlength=count).astype(float)
    return volumes, surfaces
