"""Boxes for line drawings, and what a ray toward the eye meets: Möller and Trumbore (1997), written for these tests."""

from __future__ import annotations

import numpy as np

from addon.sizes.tolerances import CONTACT
from addon.wood.meshes.mesh import mesh_of
from addon.wood.part import Part, Placement, Shape, rectangle
from addon.wood.roles import RIB
from addon.wood.stock import Stock

PLY = Stock("birch", 18.0, 18.0)
BESIDE = 1e-9
"""How far beside an edge the rays start, mm."""


def box(size, origin=(0.0, 0.0, 0.0), label="A", axes=None) -> Part:
    """A block with its least corner at `origin`, along the table's axes or turned to others."""
    place = Placement(np.array(origin, dtype=float), np.eye(3) if axes is None else np.asarray(axes))
    return Part(label, label, RIB, PLY, Shape(rectangle(size[0], size[1]), size[2]), place)


def turned(first: float, second: float, third: float) -> np.ndarray:
    """Axes turned about z, y and x in turn, radians."""
    turns = []
    for angle, (a, b) in zip((first, second, third), ((0, 1), (2, 0), (1, 2)), strict=True):
        turn = np.eye(3)
        turn[[a, b], [a, b]] = np.cos(angle)
        turn[a, b], turn[b, a] = -np.sin(angle), np.sin(angle)
        turns.append(turn)
    return turns[0] @ turns[1] @ turns[2]


def triangles_of(parts, places=None) -> np.ndarray:
    """(m, 3, 3) corners in the table, mm."""
    found = []
    for part in parts:
        mesh = mesh_of(part.shape)
        found.append((places or {}).get(part.label, part.placement).to_table(mesh.vertices)[mesh.triangles])
    return np.concatenate(found)


def free_way(points: np.ndarray, beside: np.ndarray, toward: np.ndarray, triangles: np.ndarray) -> np.ndarray:
    """Whether the eye sees the points, from just beside them on one side or the other: (n,) bool.

    A triangle whose plane the point itself touches, within `CONTACT`, is none that hides it.
    """
    a = triangles[:, 0]
    one, two = triangles[:, 1] - a, triangles[:, 2] - a
    normal = np.cross(one, two)
    size = np.linalg.norm(normal, axis=1)
    solid = size > 1e-9
    a, one, two, normal = a[solid], one[solid], two[solid], normal[solid] / size[solid, None]
    across = np.cross(toward, two)
    with np.errstate(divide="ignore", invalid="ignore"):
        inverse = 1.0 / np.einsum("ij,ij->i", one, across)
        inverse[np.abs(normal @ toward) < 1e-9] = np.nan  # seen edge-on
        free = np.zeros(len(points), dtype=bool)
        for number, (point, aside) in enumerate(zip(points, beside, strict=True)):
            touches = np.abs(np.einsum("ij,ij->i", normal, point - a)) <= CONTACT
            for way in (aside, -aside):
                start = point + BESIDE * way - a
                u = np.einsum("ij,ij->i", start, across) * inverse
                around = np.cross(start, one)
                v = around @ toward * inverse
                t = np.einsum("ij,ij->i", two, around) * inverse
                hit = (u >= 0) & (v >= 0) & (u + v <= 1) & (t > 0) & ~touches
                free[number] |= not hit.any()
    return free
