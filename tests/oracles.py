"""What libraries from outside say about exported tables: distances, volumes, exact fractions.

Everything here starts from the exported document (`assembly.json`) and meshes, as another program would:

* python-fcl (the Flexible Collision Library: GJK and EPA) measures convex bodies that are apart; an answer counts when
  its nearest points prove it.
* Where bodies overlap, EPA stops at a tolerance of its own, so the depth is read off the Minkowski difference
  instead: the convex hull (scipy, Qhull) of all differences of vertices, whose nearest facet is the shortest way out.
* manifold3d makes hulls, unions, intersections and volumes of meshes.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property, reduce
from typing import TYPE_CHECKING

import fcl
import manifold3d
import numpy as np
from scipy.spatial import ConvexHull

from addon.files.export import assembly_document

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from addon.wood.assembly import Assembly

    Floats = NDArray[np.float64]


class Body:
    """A convex body from its vertices, (n, 3) float, mm."""

    def __init__(self, vertices: Floats) -> None:
        self.vertices = np.asarray(vertices, dtype=float)
        self.low, self.high = self.vertices.min(axis=0), self.vertices.max(axis=0)

    @cached_property
    def solid(self) -> manifold3d.Manifold:
        """Its hull by manifold3d."""
        return manifold3d.Manifold.hull_points(self.vertices)

    @cached_property
    def _collision_object(self) -> fcl.CollisionObject:
        mesh = self.solid.to_mesh64()
        triangles = np.asarray(mesh.tri_verts)
        faces = np.column_stack([np.full(len(triangles), 3), triangles]).ravel()
        corners = np.array(mesh.vert_properties, dtype=float)[:, :3]
        return fcl.CollisionObject(fcl.Convex(corners, len(triangles), faces))

    def swept(self, start: Floats, end: Floats) -> Body:
        """What it passes through on a straight move: the hull of both ends, by manifold3d."""
        both = manifold3d.Manifold.hull_points(np.concatenate([self.vertices + start, self.vertices + end]))
        return Body(np.array(both.to_mesh64().vert_properties, dtype=float)[:, :3])

    def distance(self, other: Body) -> float:
        """Signed distance of two bodies, mm: by python-fcl if the answer proves itself, else by difference."""
        answer = self.distance_by_fcl(other)
        return self.distance_by_difference(other) if answer is None else answer

    def distance_by_fcl(self, other: Body) -> float | None:
        """Distance of two bodies that are apart, mm; None where they are not, or where the answer is not proved.

        python-fcl now and then walks into a dead end on bodies with more than 32 vertices and answers too much. Its
        nearest points prove their distance when no vertex of either body reaches beyond the planes through them.
        """
        request = fcl.DistanceRequest(enable_nearest_points=True, enable_signed_distance=True)
        result = fcl.DistanceResult()
        apart = fcl.distance(self._collision_object, other._collision_object, request, result)
        if apart < 1e-3:
            return None
        way = np.subtract(result.nearest_points[1], result.nearest_points[0])
        normal = way / np.linalg.norm(way)
        proved = float((other.vertices @ normal).min() - (self.vertices @ normal).max())
        return apart if apart - proved < 1e-9 * max(1.0, apart) else None

    def distance_by_difference(self, other: Body) -> float:
        """Signed distance of the origin from the Minkowski difference: from all its facets, edges and vertices."""
        points = (other.vertices[None] - self.vertices[:, None]).reshape(-1, 3)
        hull = ConvexHull(points)
        depth = float(hull.equations[:, 3].max())
        return depth if depth < 0 else _origin_to_triangles(points[hull.simplices])

    def bounds_gap(self, other: Body) -> float:
        """Distance of the bounding boxes, mm: never more than that of the bodies."""
        return float(
            np.linalg.norm(np.maximum(0.0, np.maximum(self.low - other.high, other.low - self.high)))
        )


def _origin_to_triangles(corners: Floats) -> float:
    """Distance of the origin from (n, 3, 3) triangles (Ericson, Real-Time Collision Detection, 2005, 5.1.5)."""
    onward = np.roll(corners, -1, axis=1)
    edges = onward - corners
    square = np.maximum((edges**2).sum(axis=2), 1e-30)
    along = np.clip(-(corners * edges).sum(axis=2) / square, 0.0, 1.0)
    best = np.linalg.norm(corners + along[..., None] * edges, axis=2).min()
    normal = np.cross(edges[:, 0], edges[:, 1])
    size = np.linalg.norm(normal, axis=1)
    flat = size > 1e-12
    normal, corners, edges = normal[flat] / size[flat, None], corners[flat], edges[flat]
    height = (corners[:, 0] * normal).sum(axis=1)
    foot = height[:, None] * normal
    inside = (np.cross(edges, foot[:, None] - corners) * normal[:, None]).sum(axis=2) >= 0
    inside = inside.all(axis=1)
    return float(min(best, np.abs(height[inside]).min())) if inside.any() else float(best)


@dataclass(frozen=True)
class Way:
    """One leaf's stow path as exported."""

    leaf: str
    end_stop: str | None
    moves: tuple[tuple[Floats, Floats], ...]


class Exported:
    """An exported table: pieces by label, and ways."""

    def __init__(self, assembly: Assembly) -> None:
        document = assembly_document(assembly)
        self.roles = {part["label"]: part["role"] for part in document["parts"]}
        self.bodies = {
            part["label"]: [Body(np.array(piece)) for piece in part["pieces"]]
            for part in (*document["parts"], *document["fasteners"])
        }
        self.boxes = {
            label: Body(np.concatenate([body.vertices for body in bodies]))
            for label, bodies in self.bodies.items()
        }
        """Label → all vertices of a part as one body, for its bounds."""
        self.ways = [
            Way(
                path["leaf"],
                path["end_stop"],
                tuple((np.array(move["from"]), np.array(move["to"])) for move in path["moves"]),
            )
            for path in document["stow_paths"]
        ]

    def clearances(self, way: Way, within: float) -> dict[str, float]:
        """Label → smallest signed distance over the whole way, of every other part but the leaf's end stop, mm.

        Of parts whose bounding boxes stay farther away than `within`, only that bound.
        """
        sweeps = [body.swept(*move) for move in way.moves for body in self.bodies[way.leaf]]
        around = Body(np.concatenate([body.vertices for body in sweeps]))
        found = {}
        for label, bodies in self.bodies.items():
            if label not in (way.leaf, way.end_stop):
                bound = around.bounds_gap(self.boxes[label])
                found[label] = bound if bound > within else smallest_distance(sweeps, bodies)
        return found

    def solid(self, label: str) -> manifold3d.Manifold:
        """Union of a part's pieces."""
        return reduce(lambda a, b: a + b, (body.solid for body in self.bodies[label]))


def smallest_distance(some: list[Body], others: list[Body]) -> float:
    """Smallest signed distance of any of these to any of those, mm; the deepest pair where some overlap."""
    low, high = np.array([body.low for body in some]), np.array([body.high for body in some])
    there_low, there_high = np.array([body.low for body in others]), np.array([body.high for body in others])
    gaps = np.maximum(low[:, None] - there_high, there_low - high[:, None])
    bound = np.linalg.norm(np.maximum(gaps, 0.0), axis=2)
    best = np.inf
    for at in np.argsort(bound, axis=None):
        i, j = np.unravel_index(at, bound.shape)
        if 0.0 < bound[i, j] >= best - 1e-9:
            break
        best = min(best, some[i].distance(others[j]))
    return best


def mesh_solid(vertices: Floats, triangles: NDArray[np.integer]) -> manifold3d.Manifold:
    """A closed mesh as manifold3d reads it; its status must be NoError."""
    return manifold3d.Manifold(manifold3d.Mesh64(np.ascontiguousarray(vertices), triangles.astype(np.uint64)))


Vector = tuple[Fraction, Fraction, Fraction]


def exact_separation(some: Iterable[Iterable[float]], others: Iterable[Iterable[float]]) -> float:
    """Signed distance of two convex bodies in rational arithmetic, from their vertices alone.

    The largest gap between their shadows over all normals of planes through three vertices of either, and over all
    cross products of a difference of two vertices of the one with one of the other. That contains every direction
    that can decide whether they overlap (Gottschalk, Lin and Manocha, SIGGRAPH 1996); the result is the distance if
    a face decides, and a lower bound of it otherwise.
    """
    a, b = ([_exact(point) for point in points] for points in (some, others))
    edges_a, edges_b = _directions(a), _directions(b)
    axes = {_cross(e, f) for e in edges_a for f in edges_a}
    axes |= {_cross(e, f) for e in edges_b for f in edges_b}
    axes |= {_cross(e, f) for e in edges_a for f in edges_b}
    best: tuple[Fraction, Fraction] | None = None
    for axis in axes:
        square = _dot(axis, axis)
        if square:
            shadow_a, shadow_b = [_dot(axis, point) for point in a], [_dot(axis, point) for point in b]
            gap = max(min(shadow_b) - max(shadow_a), min(shadow_a) - max(shadow_b))
            signed = (gap * abs(gap), square)
            if best is None or signed[0] * best[1] > best[0] * signed[1]:
                best = signed
    assert best is not None
    ratio = best[0] / best[1]
    return float(abs(ratio)) ** 0.5 * (1 if ratio > 0 else -1)


def _exact(point: Iterable[float]) -> Vector:
    x, y, z = (Fraction(float(value)) for value in point)
    return x, y, z


def _directions(points: list[Vector]) -> set[Vector]:
    """Differences of all pairs of vertices, each direction once (scaled so that its first entry is 1)."""
    found = set()
    for i, p in enumerate(points):
        for q in points[:i]:
            difference = tuple(s - t for s, t in zip(p, q, strict=True))
            lead = next(value for value in difference if value)
            found.add(tuple(value / lead for value in difference))
    return found


def _dot(a: Vector, b: Vector) -> Fraction:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def _cross(a: Vector, b: Vector) -> Vector:
    x, y, z = a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]
    lead = next((value for value in (x, y, z) if value), Fraction(1))
    return x / lead, y / lead, z / lead
