"""The parts' surfaces as the eye sees them, and what of them is seen at a place.

A surface holds the triangles and the edges of all parts in the view's axes. Which face is in front at a point beside a
line is asked of those alone that lie in the same cell of a grid.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import NDArray

from ...sizes.arrays import Bools, Floats, Ints
from ...sizes.tolerances import CONTACT, WELD
from ...wood.fasteners import Body, mesh_of_body
from ...wood.meshes.mesh import Mesh
from ...wood.part import Part, Placement

CREASE: Final = np.radians(25.0)
"""Angle between two flat faces from which their edge is drawn: between that of facets of one arc, 22.5° at a radius
of 0.5 mm and less at larger ones, and the 45° of a chamfer."""

_EDGE_ON: Final = 1e-9
"""Sine of the angle to the line of sight below which a face is seen edge-on."""


@dataclass(frozen=True, eq=False)
class Surface:
    """Closed triangle meshes of several parts, mm; x to the right, y up, z toward the eye."""

    points: Floats
    """(n, 3) float"""
    triangles: Ints
    """(m, 3) int, counter-clockwise seen from outside."""
    face: Ints
    """(m,) int: the flat face of a part that a triangle belongs to."""
    face_normals: Floats
    """(f, 3) float: outward unit normals of the flat faces; zero for one without area."""
    part: Ints
    """(m,) int, rising: the number of the part."""
    axes: Floats
    """(3, 3) float, orthonormal; rows: x, y and z in the table's axes."""

    @cached_property
    def normals(self) -> Floats:
        """(m, 3) float: unit normal of each triangle's flat face."""
        return self.face_normals[self.face]

    @cached_property
    def facing(self) -> NDArray[np.int8]:
        """(m,) int: 1 for triangles that face the eye, -1 for those turned away, 0 for those seen edge-on."""
        toward = self.face_normals[:, 2]
        return np.where(np.abs(toward) <= _EDGE_ON, 0, np.sign(toward)).astype(np.int8)[self.face]


@dataclass(frozen=True, eq=False)
class Edges:
    """Edges of a surface that a drawing may show."""

    ends: Floats
    """(k, 2, 3) float, mm: from where to where."""
    part: Ints
    """(k,) int: the number of the part."""
    contour: Bools
    """(k,) bool: whether the one face is turned to the eye and the other is not."""
    away: Bools
    """(k,) bool: whether both faces are turned away, so that their own part hides the edge."""

    @cached_property
    def length(self) -> Floats:
        """(k,) float: length on the paper at full size, mm."""
        along = self.ends[:, 1, :2] - self.ends[:, 0, :2]
        return np.hypot(along[:, 0], along[:, 1])

    def select(self, which: Bools | Ints) -> Edges:
        """Some of them."""
        return Edges(self.ends[which], self.part[which], self.contour[which], self.away[which])


def surface_of(parts: Sequence[Body], axes: Floats, places: dict[str, Placement] | None = None) -> Surface:
    """The surfaces of parts and fasteners in a view.

    Parameters
    ----------
    axes : (3, 3) float, rows to the right, up and toward the eye
    places : label → where a part is, other than where the assembly has it

    Raises
    ------
    PartError : where a part has no sound section
    """
    places = places or {}
    points, triangles, faces, owner = [], [], [], []
    meshes: dict[object, Mesh] = {}
    vertices = planes = 0
    for number, part in enumerate(parts):
        alike = part.shape if isinstance(part, Part) else part
        mesh = meshes.get(alike) or meshes.setdefault(alike, mesh_of_body(part))
        points.append(places.get(part.label, part.placement).to_table(mesh.vertices) @ axes.T)
        triangles.append(mesh.triangles + vertices)
        faces.append(mesh.patch + planes)
        owner.append(np.full(len(mesh.triangles), number))
        vertices += len(mesh.vertices)
        planes += int(mesh.patch.max()) + 1
    joined = np.concatenate(points), np.concatenate(triangles).astype(np.intp)
    face = np.concatenate(faces).astype(np.intp)
    return Surface(*joined, face, face_normals(*joined, face, planes), np.concatenate(owner), axes)


def face_normals(points: Floats, triangles: Ints, face: Ints, count: int) -> Floats:
    """(count, 3) float: outward unit normals of flat faces; zero for one without area.

    The sum of the triangles' areas is far less troubled by slivers than each of them alone.

    Parameters
    ----------
    points, triangles : (n, 3) float, mm, and (m, 3) int
    face : (m,) int: the flat face that a triangle belongs to
    """
    a, b, c = (points[triangles[:, corner]] for corner in range(3))
    areas = np.cross(b - a, c - a)
    total = np.stack([np.bincount(face, areas[:, axis], count) for axis in range(3)], axis=1)
    size = np.linalg.norm(total, axis=1)
    there = size > WELD
    return np.divide(total, size[:, None], out=np.zeros_like(total), where=there[:, None])


def edges_of(surface: Surface) -> Edges:
    """Creases sharper than `CREASE` and contours, without those that the eye sees as a point."""
    pairs, beside = _shared(surface.triangles, len(surface.points))
    first, second = surface.face[beside[:, 0]], surface.face[beside[:, 1]]
    front = surface.facing[beside] > 0
    contour = front[:, 0] != front[:, 1]
    cosine = np.einsum("ij,ij->i", surface.face_normals[first], surface.face_normals[second])
    drawn = (first != second) & (contour | (cosine < np.cos(CREASE)))
    away = np.all(surface.facing[beside] < 0, axis=1)
    found = Edges(surface.points[pairs], surface.part[beside[:, 0]], contour, away).select(drawn)
    return found.select(found.length > WELD)


def _shared(triangles: Ints, points: int) -> tuple[Ints, Ints]:
    """The points, (e, 2) int, of all edges of closed meshes, and the two triangles, (e, 2) int, beside each."""
    start, end = triangles.ravel(), np.roll(triangles, -1, axis=1).ravel()
    order = np.argsort(np.minimum(start, end) * points + np.maximum(start, end), kind="stable").reshape(-1, 2)
    one = order[:, 0]
    return np.stack([start[one], end[one]], axis=1), order // 3


@dataclass(frozen=True)
class Grid:
    """Square cells, numbered row by row."""

    left: float
    bottom: float
    size: float
    columns: int
    rows: int

    @classmethod
    def over(cls, points: Floats, across: int) -> Grid:
        """A grid over (n, 2) points whose longer side has `across` cells."""
        low, high = points.min(axis=0), points.max(axis=0)
        size = max(float((high - low).max()) / across, CONTACT)
        columns, rows = (np.floor((high - low) / size).astype(int) + 1).tolist()
        return cls(float(low[0]), float(low[1]), size, columns, rows)

    def cell(self, points: Floats) -> Ints:
        """(n,) int: the cell of each of (n, 2) points."""
        column, row = self._column(points[:, 0]), self._row(points[:, 1])
        return row * self.columns + column

    def cells(self, rings: Floats) -> tuple[Ints, Ints]:
        """Which of (n, k, 2) convex rings lie in which cell: pairs of a ring's number and a cell.

        Each ring is cut into the rows of the grid; in a row it lies in all cells between its least and greatest x.
        """
        low, high = rings[:, :, 1].min(axis=1) - CONTACT, rings[:, :, 1].max(axis=1) + CONTACT
        ring, row = spread(self._row(low), self._row(high))
        bottom = self.bottom + row * self.size - CONTACT
        top = bottom + self.size + 2 * CONTACT
        least, greatest = np.full(len(ring), np.inf), np.full(len(ring), -np.inf)
        count = rings.shape[1]
        for corner in range(count):
            a, b = rings[ring, corner], rings[ring, (corner + 1) % count]
            rise = b[:, 1] - a[:, 1]
            for border in (bottom, top):
                share = np.divide(border - a[:, 1], rise, out=np.zeros(len(ring)), where=rise != 0)
                within = (share >= 0) & (share <= 1)
                x = a[:, 0] + share * (b[:, 0] - a[:, 0])
                least = np.where(within & (x < least), x, least)
                greatest = np.where(within & (x > greatest), x, greatest)
            inside = (a[:, 1] >= bottom) & (a[:, 1] <= top)
            least = np.where(inside & (a[:, 0] < least), a[:, 0], least)
            greatest = np.where(inside & (a[:, 0] > greatest), a[:, 0], greatest)
        there = least <= greatest
        ring, row = ring[there], row[there]
        entry, column = spread(self._column(least[there] - CONTACT), self._column(greatest[there] + CONTACT))
        return ring[entry], row[entry] * self.columns + column

    def _column(self, x: Floats) -> Ints:
        return np.clip(np.floor((x - self.left) / self.size), 0, self.columns - 1).astype(np.intp)

    def _row(self, y: Floats) -> Ints:
        return np.clip(np.floor((y - self.bottom) / self.size), 0, self.rows - 1).astype(np.intp)


def spread(first: Ints, last: Ints) -> tuple[Ints, Ints]:
    """All numbers from `first` to `last`, (n,) int, of each entry: the entry's number and the number."""
    count = last - first + 1
    entry = np.repeat(np.arange(len(first)), count)
    start = np.repeat(first - np.cumsum(count) + count, count)
    return entry, start + np.arange(len(entry))


class Sorted:
    """Things by the cell that they lie in."""

    def __init__(self, thing: Ints, cell: Ints) -> None:
        order = np.argsort(cell, kind="stable")
        self._things = thing[order]
        self._cells = cell[order]

    def meet(self, cell: Ints) -> tuple[Ints, Ints]:
        """For places in (n,) cells: pairs of a place's number and a thing in its cell."""
        first = np.searchsorted(self._cells, cell, side="left")
        last = np.searchsorted(self._cells, cell, side="right") - 1
        place, at = spread(first, last)
        return place, self._things[at]


NOTHING: Final = -1
"""In place of a part's number: the paper."""

_ON_LINE: Final = 1e-7
"""Distance on the paper within which a point lies on a triangle's side, mm: a tenth of `CONTACT`, which is the length
of the shortest interval."""

_POINTS: Final = 20_000
"""Points looked at at once."""


class Seen:
    """The triangles that face the eye, sorted by where they are on the paper.

    What is turned away from the eye hides nothing that the front of the same closed part does not hide.
    """

    def __init__(self, surface: Surface, grid: Grid) -> None:
        corners = surface.points[surface.triangles]
        flat = corners[:, :, :2]
        one, two = flat[:, 1] - flat[:, 0], flat[:, 2] - flat[:, 0]
        area = one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]
        front = np.flatnonzero((surface.facing > 0) & (area > 0))
        self._grid = grid
        self._normals = surface.normals[front]
        self._offsets = np.einsum("ij,ij->i", self._normals, corners[front, 0])
        self._part = surface.part[front]
        start, end = flat[front], np.roll(flat[front], -1, axis=1)
        length = np.hypot(*np.moveaxis(end - start, 2, 0))
        # Inward unit normals of the three sides: (-dy, dx) for sides that go counter-clockwise.
        self._inward = np.stack([start[:, :, 1] - end[:, :, 1], end[:, :, 0] - start[:, :, 0]], axis=2)
        self._inward /= length[:, :, None]
        self._sides = np.einsum("ijk,ijk->ij", self._inward, start)
        self._sorted = Sorted(*grid.cells(flat[front]))

    def hidden(self, points: Floats, left: Floats) -> Bools:
        """Whether points are hidden just beside them, on the left and on the right: (n, 2) bool.

        A face nearer to the eye than `CONTACT`, or that far behind, touches the point and does not hide it.

        Parameters
        ----------
        points : (n, 3) float, in no triangle's corner
        left : (n, 2) float, the unit direction to the left on the paper
        """
        covered = np.zeros((len(points), 2), dtype=bool)
        for start in range(0, len(points), _POINTS):
            some = slice(start, start + _POINTS)
            place, wall = self._sorted.meet(self._grid.cell(points[some, :2]))
            behind = self._distance(points[some], place, wall) < -CONTACT
            place, wall = place[behind], wall[behind]
            for side, over in enumerate(self._over(points[some], left[some], place, wall)):
                covered[start + place[over], side] = True
        return covered

    def foremost(self, points: Floats, left: Floats, own: Ints) -> Ints:
        """The number of the part seen just beside points, on the left and on the right: (n, 2) int, or `NOTHING`.

        Parameters
        ----------
        own : (n,) int, the part that is meant where several lie equally near to the eye
        """
        found = np.full((len(points), 2), NOTHING, dtype=np.intp)
        for start in range(0, len(points), _POINTS):
            some = slice(start, start + _POINTS)
            place, wall = self._sorted.meet(self._grid.cell(points[some, :2]))
            for side, over in enumerate(self._over(points[some], left[some], place, wall)):
                at, seen = place[over], wall[over]
                nearer = -self._distance(points[some], at, seen) / self._normals[seen, 2]
                is_own = self._part[seen] == own[start + at]
                nearer = nearer + np.where(is_own, 2 * CONTACT, 0.0)
                order = np.lexsort((nearer, at))
                last = np.flatnonzero(np.diff(at[order], append=-1))
                found[start + at[order][last], side] = self._part[seen[order][last]]
        return found

    def _distance(self, points: Floats, place: Ints, wall: Ints) -> Floats:
        """How far points are in front of the planes of triangles, mm."""
        normal = self._normals[wall]
        x, y, z = points[:, 0][place], points[:, 1][place], points[:, 2][place]
        return normal[:, 0] * x + normal[:, 1] * y + normal[:, 2] * z - self._offsets[wall]

    def _over(self, points: Floats, left: Floats, place: Ints, wall: Ints) -> tuple[Bools, Bools]:
        """Whether triangles cover points on the paper, just to the left and just to the right."""
        at, toward = points[place, :2], left[place]
        to_left, to_right = np.ones(len(place), dtype=bool), np.ones(len(place), dtype=bool)
        for side in range(3):
            inward = self._inward[wall, side]
            inside = inward[:, 0] * at[:, 0] + inward[:, 1] * at[:, 1] - self._sides[wall, side]
            slope = inward[:, 0] * toward[:, 0] + inward[:, 1] * toward[:, 1]
            clear, on = inside > _ON_LINE, np.abs(inside) <= _ON_LINE
            to_left &= clear | (on & (slope >= 0))
            to_right &= clear | (on & (slope <= 0))
        return to_left, to_right
