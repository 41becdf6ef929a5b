"""The surfaces of all parts as the eye sees them, and those of their edges that a drawing shows."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Final

import numpy as np

from ...sizes.tolerances import WELD
from ...wood.mesh import mesh_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from ...wood.part import Part, Placement

    Floats = NDArray[np.float64]
    Ints = NDArray[np.intp]
    Bools = NDArray[np.bool_]

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


def surface_of(parts: Sequence[Part], axes: Floats, places: dict[str, Placement] | None = None) -> Surface:
    """The surfaces of parts in a view.

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
    vertices = planes = 0
    for number, part in enumerate(parts):
        mesh = mesh_of(part.shape)
        points.append(places.get(part.label, part.placement).to_table(mesh.vertices) @ axes.T)
        triangles.append(mesh.triangles + vertices)
        faces.append(mesh.patch + planes)
        owner.append(np.full(len(mesh.triangles), number))
        vertices += len(mesh.vertices)
        planes += int(mesh.patch.max()) + 1
    joined = np.concatenate(points), np.concatenate(triangles).astype(np.intp)
    face = np.concatenate(faces).astype(np.intp)
    return Surface(*joined, face, _face_normals(*joined, face, planes), np.concatenate(owner), axes)


def _face_normals(points: Floats, triangles: Ints, face: Ints, count: int) -> Floats:
    """The sum of the triangles' areas is far less troubled by slivers than each of them alone."""
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
