"""Convex pieces: what parts are made of wherever exact geometry is asked for.

A board with openings and eased edges is no convex body, but the union of a few convex ones. Each piece is kept in
three ways at once, its vertices, its facet planes and its edges, so that no later step has to derive one from
the other. All pieces of a set lie in the same few arrays ("ragged": `starts` says where each piece begins), because
numpy is fast on large arrays and slow on many small ones.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from .tolerances import ANGLE, WELD

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.intp]
    Bools = NDArray[np.bool_]

OTHER_AXES = ((1, 2), (0, 2), (0, 1))
"""For each table axis the two axes across it."""


class FlatFaces(NamedTuple):
    """What a piece shows where it touches its bounding box, per piece, axis and side (0 low, 1 high).

    Parameters
    ----------
    low, high : (N, 3, 2, 2) float, mm; the rectangle that bounds the extreme vertices on the other two axes, in the
        order of `OTHER_AXES`
    full : (N, 3, 2) bool; whether the piece really fills that rectangle (all of its corners are vertices). An edge
        or a single vertex at the extreme counts as a rectangle without area.
    """

    low: Floats
    high: Floats
    full: Bools


@dataclass(frozen=True, eq=False)
class Pieces:
    """N convex pieces.

    Parameters
    ----------
    vertices : (M, 3) float, mm; the corners of piece i are rows `starts[i]` to `starts[i + 1]`
    starts : (N + 1,) int
    planes : (K, 4) float; rows (nx, ny, nz, offset) with outward unit normal, the piece being n·x <= offset; one
        row a facet, none redundant
    plane_starts : (N + 1,) int
    edges : (E, 2) int; the two ends of each edge, as vertex numbers within their piece
    edge_planes : (E, 2) int; the two facets that meet there, as plane numbers within their piece
    edge_starts : (N + 1,) int
    tags : N strings; what each piece belongs to, such as ``window R3``; free for the caller
    """

    vertices: Floats
    starts: Ints
    planes: Floats
    plane_starts: Ints
    edges: Ints
    edge_planes: Ints
    edge_starts: Ints
    tags: tuple[str, ...]

    def __len__(self) -> int:
        return len(self.starts) - 1

    @classmethod
    def empty(cls) -> Pieces:
        """A set without pieces."""
        return cls.concatenate([])

    @classmethod
    def boxes(cls, low: Floats, high: Floats, tags: Sequence[str] | str = "") -> Pieces:
        """Boxes along the axes.

        Parameters
        ----------
        low, high : (N, 3) or (3,) float, mm
        tags : N strings, or one for all
        """
        low, high = np.atleast_2d(np.asarray(low, dtype=float)), np.atleast_2d(np.asarray(high, dtype=float))
        count = len(low)
        vertices = np.where(_BOX_CORNERS, high[:, None], low[:, None])
        planes = np.empty((count, 6, 4))
        planes[:, :, :3] = _BOX_NORMALS
        planes[:, :3, 3], planes[:, 3:, 3] = -low, high
        each = np.arange(count + 1)
        return cls(
            vertices.reshape(-1, 3),
            each * 8,
            planes.reshape(-1, 4),
            each * 6,
            np.tile(_BOX_EDGES, (count, 1)),
            np.tile(_BOX_EDGE_PLANES, (count, 1)),
            each * 12,
            (tags,) * count if isinstance(tags, str) else tuple(tags),
        )

    @classmethod
    def concatenate(cls, sets: Sequence[Pieces]) -> Pieces:
        """All pieces of several sets, in order."""
        if not sets:
            none = np.zeros((0, 2), dtype=np.intp)
            zero = np.zeros(1, dtype=np.intp)
            return cls(np.zeros((0, 3)), zero, np.zeros((0, 4)), zero, none, none, zero, ())
        return cls(
            np.concatenate([one.vertices for one in sets]),
            _joined_starts([one.starts for one in sets]),
            np.concatenate([one.planes for one in sets]),
            _joined_starts([one.plane_starts for one in sets]),
            np.concatenate([one.edges for one in sets]),
            np.concatenate([one.edge_planes for one in sets]),
            _joined_starts([one.edge_starts for one in sets]),
            tuple(tag for one in sets for tag in one.tags),
        )

    def piece(self, i: int) -> Floats:
        """Corners of piece i, (n, 3) float, mm."""
        return self.vertices[self.starts[i] : self.starts[i + 1]]

    def piece_planes(self, i: int) -> Floats:
        """Facets of piece i, (n, 4) float."""
        return self.planes[self.plane_starts[i] : self.plane_starts[i + 1]]

    def piece_edges(self, i: int) -> tuple[Ints, Ints]:
        """Edges of piece i, (n, 2) vertex numbers and (n, 2) plane numbers, both within the piece."""
        part = slice(self.edge_starts[i], self.edge_starts[i + 1])
        return self.edges[part], self.edge_planes[part]

    def select(self, which: Iterable[int]) -> Pieces:
        """The pieces with these numbers, in the given order."""
        which = np.fromiter(which, dtype=np.intp)
        vertex, starts = ragged_rows(self.starts, which)
        plane, plane_starts = ragged_rows(self.plane_starts, which)
        edge, edge_starts = ragged_rows(self.edge_starts, which)
        return Pieces(
            self.vertices[vertex],
            starts,
            self.planes[plane],
            plane_starts,
            self.edges[edge],
            self.edge_planes[edge],
            edge_starts,
            tuple(self.tags[i] for i in which),
        )

    def tagged(self, tag: str) -> Pieces:
        """The same pieces, all with this tag."""
        return self._with(self.vertices, self.planes, (tag,) * len(self))

    def retagged(self, tags: Sequence[str]) -> Pieces:
        """The same pieces with N new tags."""
        return self._with(self.vertices, self.planes, tuple(tags))

    def transformed(self, axes: Floats, origin: Floats) -> Pieces:
        """The pieces, given in a part's frame, in table coordinates.

        Parameters
        ----------
        axes : (3, 3) float; rows are the directions of u, v and w, orthonormal
        origin : (3,) float, mm
        """
        normals = self.planes[:, :3] @ axes
        planes = np.concatenate([normals, (self.planes[:, 3] + normals @ origin)[:, None]], axis=1)
        return self._with(self.vertices @ axes + origin, planes, self.tags)

    def translated(self, offset: Floats) -> Pieces:
        """The pieces shifted by (3,) float, mm."""
        planes = self.planes.copy()
        planes[:, 3] += planes[:, :3] @ offset
        return self._with(self.vertices + offset, planes, self.tags)

    def _with(self, vertices: Floats, planes: Floats, tags: tuple[str, ...]) -> Pieces:
        return Pieces(
            vertices,
            self.starts,
            planes,
            self.plane_starts,
            self.edges,
            self.edge_planes,
            self.edge_starts,
            tags,
        )

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
    def flat_faces(self) -> FlatFaces:
        """Where each piece touches its bounding box."""
        count = len(self)
        low, high, full = (
            np.empty((count, 3, 2, 2)),
            np.empty((count, 3, 2, 2)),
            np.empty((count, 3, 2), dtype=bool),
        )
        for side, extremes in enumerate((self.low, self.high)):
            extreme = np.abs(self.vertices - extremes[self.vertex_piece]) <= WELD
            for axis, across in enumerate(OTHER_AXES):
                there = extreme[:, axis, None]
                flat = self.vertices[:, across]
                least = reduce_ragged(np.minimum, np.where(there, flat, np.inf), self.starts)
                most = reduce_ragged(np.maximum, np.where(there, flat, -np.inf), self.starts)
                at_low = there & (flat - least[self.vertex_piece] <= WELD)
                at_high = there & (most[self.vertex_piece] - flat <= WELD)
                corners = np.stack(
                    [
                        at_low[:, 0] & at_low[:, 1],
                        at_low[:, 0] & at_high[:, 1],
                        at_high[:, 0] & at_low[:, 1],
                        at_high[:, 0] & at_high[:, 1],
                    ],
                    axis=1,
                )
                low[:, axis, side], high[:, axis, side] = least, most
                full[:, axis, side] = reduce_ragged(np.logical_or, corners, self.starts).all(axis=1)
        return FlatFaces(low, high, full)

    @cached_property
    def is_box(self) -> Bools:
        """(N,) bool; whether the piece fills its bounding box."""
        of = self.vertex_piece
        at_end = (self.vertices - self.low[of] <= WELD) | (self.high[of] - self.vertices <= WELD)
        return reduce_ragged(np.logical_and, at_end.all(axis=1), self.starts) & (np.diff(self.starts) == 8)

    @cached_property
    def volumes(self) -> Floats:
        """(N,) float, mm³"""
        return _volumes_and_surfaces(self)[0]

    def volume(self, i: int) -> float:
        """Volume of piece i, mm³."""
        return float(self.volumes[i])

    def contains(self, points: Floats, margin: float = WELD) -> Bools:
        """Whether each of (n, 3) points lies in at least one piece, or outside it by no more than `margin`; (n,)."""
        points = np.atleast_2d(points)
        inside = np.zeros(len(points), dtype=bool)
        for i in range(len(self)):
            planes = self.piece_planes(i)
            inside |= (points @ planes[:, :3].T <= planes[:, 3] + margin).all(axis=1)
        return inside


def from_planes(plane_sets: Sequence[Floats], tags: Sequence[str]) -> Pieces:
    """The convex pieces that the half-spaces of each set have in common.

    Every pair of planes meets in a line; what the other planes leave of that line is an edge of the piece. Planes
    that cut nothing are dropped, and so are pieces without a volume. Sets with the same number of planes are worked
    out together.

    Parameters
    ----------
    plane_sets : N arrays (P, 4) float; rows (nx, ny, nz, offset), the piece being n·x <= offset; normals of any
        length but zero
    tags : N strings

    Raises
    ------
    ValueError
        if the planes of a set enclose no finite body
    """
    by_count: dict[int, list[int]] = {}
    for number, planes in enumerate(plane_sets):
        by_count.setdefault(len(planes), []).append(number)
    groups = [
        _edges_of_planes(np.stack([plane_sets[number] for number in numbers]), np.array(numbers))
        for numbers in by_count.values()
    ]
    if not groups:
        return Pieces.empty()
    columns = [np.concatenate(column) for column in zip(*groups, strict=True)]
    pieces = _gathered(_Flat(*columns), len(plane_sets), tuple(tags))
    volumes, surfaces = _volumes_and_surfaces(pieces)
    solid = volumes > WELD * surfaces
    return pieces if solid.all() else pieces.select(np.flatnonzero(solid))


class _Flat(NamedTuple):
    """Vertices, planes and edges of several pieces, each row with the number of its piece."""

    vertex_piece: Ints
    vertices: Floats
    plane_piece: Ints
    planes: Floats
    edge_piece: Ints
    edges: Ints
    edge_planes: Ints


def _edges_of_planes(planes: Floats, numbers: Ints) -> _Flat:
    """`from_planes` for (B, P, 4) planes: B pieces of P planes each, whose numbers are (B,) int."""
    planes = planes / np.linalg.norm(planes[:, :, :3], axis=2, keepdims=True)
    normals, offsets = planes[:, :, :3], planes[:, :, 3]
    batch, plane_count = offsets.shape
    first, second = np.triu_indices(plane_count, 1)

    # The line in which two planes meet: its point nearest to the origin, and its direction. (3, B, L) for L pairs.
    n1, n2 = normals.transpose(2, 0, 1)[:, :, first], normals.transpose(2, 0, 1)[:, :, second]
    cross = _cross(n1, n2)
    square = (cross * cross).sum(axis=0)
    meets = square > _PARALLEL**2
    square[~meets] = 1.0
    nearest = (offsets[:, first] * _cross(n2, cross) + offsets[:, second] * _cross(cross, n1)) / square
    sine = np.sqrt(square)
    along = cross / sine

    # What the other planes leave of it. (B, P, L)
    rate = normals @ along.transpose(1, 0, 2)
    slack = offsets[:, :, None] - normals @ nearest.transpose(1, 0, 2)
    parallel = np.abs(rate) <= (ANGLE / sine)[:, None]
    misses = (parallel & (slack < -WELD)).any(axis=1)
    slack[parallel] = np.inf
    rate[parallel] = 1.0
    limit = slack / rate
    upward = rate > 0
    end = np.where(upward, limit, np.inf).min(axis=1)
    start = np.where(upward, -np.inf, limit).max(axis=1)
    is_edge = meets & ~misses & (end - start > WELD)
    twin = _twins(normals, offsets)
    if twin.any():
        is_edge &= ~(twin[:, first] | twin[:, second])
    owner, line = np.nonzero(is_edge)
    ends = np.stack([start[owner, line], end[owner, line]])
    if not np.isfinite(ends).all():
        raise ValueError("the planes of a piece enclose no finite body")

    # Ends of edges are the same vertex when they lie on the same planes.
    points = (nearest[:, None, owner, line] + ends * along[:, None, owner, line]).reshape(3, -1).T
    owner_of_point = np.tile(owner, 2)
    distance = (normals[owner_of_point] @ points[:, :, None])[:, :, 0] - offsets[owner_of_point]
    on_plane = np.abs(distance) <= 2 * WELD
    vertex_of_point, first_point = _same_rows(owner_of_point, on_plane)

    # A facet has three corners; a plane with fewer only touches the piece.
    vertex_owner = owner_of_point[first_point]
    vertex, plane = np.nonzero(on_plane[first_point])
    corners = np.bincount(vertex_owner[vertex] * plane_count + plane, minlength=batch * plane_count)
    facet = (corners.reshape(batch, plane_count) >= 3) & ~twin
    kept = facet[owner, first[line]] & facet[owner, second[line]]
    plane_owner, plane = np.nonzero(facet)
    plane_number = np.cumsum(facet, axis=1) - 1
    vertex_start = np.searchsorted(vertex_owner, np.arange(batch))
    edges = vertex_of_point.reshape(2, -1).T[kept]
    owner, line = owner[kept], line[kept]
    return _Flat(
        numbers[vertex_owner],
        points[first_point],
        numbers[plane_owner],
        planes[plane_owner, plane],
        numbers[owner],
        edges - vertex_start[owner, None],
        np.stack([plane_number[owner, first[line]], plane_number[owner, second[line]]], axis=1),
    )


_PARALLEL = 1000 * ANGLE
"""Sine of the angle below which two planes meet too far off, and too uncertainly, to make an edge."""


def _twins(normals: Floats, offsets: Floats) -> Bools:
    """(B, P) bool: planes made useless by a parallel one that lies further in (or by an equal one before them)."""
    cosine = normals @ normals.transpose(0, 2, 1)
    same = cosine > 0.5
    if same.sum() > same.shape[0] * same.shape[1]:
        rows, i, j = np.nonzero(same)
        sine = np.linalg.norm(_cross(normals[rows, i].T, normals[rows, j].T), axis=0)
        same[rows, i, j] = sine <= _PARALLEL
    further_in = offsets[:, None, :] - offsets[:, :, None]
    earlier = np.tri(offsets.shape[1], k=-1, dtype=bool)
    return (same & ((further_in < 0) | ((further_in == 0) & earlier))).any(axis=2)


def _same_rows(owner: Ints, marks: Bools) -> tuple[Ints, Ints]:
    """Number the distinct (owner, marks) rows, sorted by owner: the number of each row, and one row for each number."""
    columns = marks.shape[1]
    words = [
        marks[:, at : at + 60] @ (np.int64(1) << np.arange(min(60, columns - at), dtype=np.int64))
        for at in range(0, columns, 60)
    ]
    order = np.lexsort((*words, owner))
    new = np.ones(len(order), dtype=bool)
    new[1:] = False
    for key in (owner, *words):
        sorted_key = key[order]
        new[1:] |= sorted_key[1:] != sorted_key[:-1]
    number = np.empty(len(order), dtype=np.intp)
    number[order] = np.cumsum(new) - 1
    return number, order[new]


def _gathered(flat: _Flat, count: int, tags: tuple[str, ...]) -> Pieces:
    """Pieces from rows that come in any order of pieces."""
    vertex = np.argsort(flat.vertex_piece, kind="stable")
    plane = np.argsort(flat.plane_piece, kind="stable")
    edge = np.argsort(flat.edge_piece, kind="stable")
    each = np.arange(count + 1)
    return Pieces(
        flat.vertices[vertex],
        np.searchsorted(flat.vertex_piece[vertex], each),
        flat.planes[plane],
        np.searchsorted(flat.plane_piece[plane], each),
        flat.edges[edge],
        flat.edge_planes[edge],
        np.searchsorted(flat.edge_piece[edge], each),
        tags,
    )


def _volumes_and_surfaces(pieces: Pieces) -> tuple[Floats, Floats]:
    """(N,) volumes, mm³, and (N,) surfaces, mm².

    Each facet is the fan of triangles over its edges from a point inside it, each piece the fan of pyramids over its
    facets from a point inside it.
    """
    count, facets = len(pieces), len(pieces.planes)
    if not count:
        return np.zeros(0), np.zeros(0)
    piece_of_edge = np.repeat(np.arange(count), np.diff(pieces.edge_starts))
    piece_of_plane = np.repeat(np.arange(count), np.diff(pieces.plane_starts))
    ends = pieces.vertices[pieces.edges + pieces.starts[piece_of_edge, None]]
    planes = pieces.edge_planes + pieces.plane_starts[piece_of_edge, None]
    flat_planes = planes.ravel()
    sums = np.repeat(ends.sum(axis=1), 2, axis=0)
    middles = np.stack(
        [np.bincount(flat_planes, weights=sums[:, axis], minlength=facets) for axis in range(3)], axis=1
    )
    middles /= np.maximum(2 * np.bincount(flat_planes, minlength=facets), 1)[:, None]
    spokes = (ends[:, None] - middles[planes][:, :, None]).transpose(2, 3, 0, 1)
    triangles = np.linalg.norm(_cross(spokes[0], spokes[1]), axis=0) / 2
    areas = np.bincount(flat_planes, weights=triangles.ravel(), minlength=facets)
    totals = np.stack(
        [np.bincount(pieces.vertex_piece, weights=of_axis, minlength=count) for of_axis in pieces.vertices.T]
    )
    inside = totals / np.maximum(np.diff(pieces.starts), 1)
    heights = pieces.planes[:, 3] - (pieces.planes[:, :3] * inside.T[piece_of_plane]).sum(axis=1)
    volumes = np.bincount(piece_of_plane, weights=areas * heights / 3, minlength=count)
    return volumes, np.bincount(piece_of_plane, weights=areas, minlength=count)


def reduce_ragged(how: np.ufunc, rows: NDArray, starts: Ints) -> NDArray:
    """`how.reduce` over each run of rows; the runs are not empty."""
    if len(starts) < 2:
        return rows[:0]
    return how.reduceat(rows, starts[:-1], axis=0)


def ragged_rows(starts: Ints, which: Ints) -> tuple[Ints, Ints]:
    """Row numbers of the runs `which`, one run after the other, and the starts of those runs in the result."""
    counts = starts[which + 1] - starts[which]
    ends = np.cumsum(counts)
    rows = np.arange(ends[-1] if len(ends) else 0) + np.repeat(starts[which] - ends + counts, counts)
    return rows, np.concatenate([[0], ends]).astype(np.intp)


def _joined_starts(starts: Sequence[Ints]) -> Ints:
    counts = np.concatenate([np.diff(one) for one in starts])
    return np.concatenate([[0], np.cumsum(counts)]).astype(np.intp)


def _cross(a: Floats, b: Floats) -> Floats:
    """Cross products of (3, ...) arrays: the component comes first, which makes whole arrays the factors."""
    return np.stack([a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]])


_BOX_CORNERS = np.array([[(i >> 2) & 1, (i >> 1) & 1, i & 1] for i in range(8)], dtype=bool)
_BOX_NORMALS = np.concatenate([-np.eye(3), np.eye(3)])
_BOX_EDGES = np.array(
    [(i, i | bit) for bit in (4, 2, 1) for i in range(8) if not i & bit],
    dtype=np.intp,
)
_BOX_EDGE_PLANES = np.array(
    [
        [other + 3 * int(_BOX_CORNERS[i, other]) for other in OTHER_AXES[axis]]
        for axis, bit in enumerate((4, 2, 1))
        for i in range(8)
        if not i & bit
    ],
    dtype=np.intp,
)
