"""Hatching and flat lines as geometry, against areas in closed form."""

from __future__ import annotations

import numpy as np
import pytest

from addon.designs.table import build
from addon.scene.marks import LIFT, PITCH, STRIPE, hatch, outline_edges, ribbon
from addon.wood.meshes.mesh import mesh_of
from tests.old_tables import EXAMPLES


def crosses(positions, triangles):
    a, b, c = (positions[triangles[:, corner]].astype(float) for corner in range(3))
    return np.cross(b - a, c - a)


def test_stripes_take_their_share_of_a_square():
    side = 40 * PITCH
    square = np.array([[0, 0, 0], [side, 0, 0], [side, side, 0], [0, side, 0]], dtype=float)
    positions, triangles = hatch(square, np.array([[0, 1, 2], [0, 2, 3]]))
    found = crosses(positions, triangles)
    assert np.all(found[:, 2] > 0)  # they face the way the square does
    assert found[:, 2].sum() / 2 == pytest.approx(STRIPE * side**2, rel=1e-6)
    assert positions[:, 2] == pytest.approx(LIFT)


def test_stripes_lie_between_their_planes_on_a_whole_part():
    rib = next(part for part in build(EXAMPLES["quilting"].table()).parts if part.label == "R3")
    mesh = mesh_of(rib.shape)
    positions, triangles = hatch(mesh.vertices / 1000, mesh.triangles)
    normals = crosses(positions, triangles)
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    on_surface = positions[triangles] - LIFT * normals[:, None]
    share = on_surface.sum(axis=2) / PITCH
    whole = np.floor(share.mean(axis=1))[:, None]
    assert (share - whole).min() > -1e-3
    assert (share - whole).max() < STRIPE + 1e-3
    area = np.linalg.norm(crosses(positions, triangles), axis=1).sum() / 2
    surface = np.linalg.norm(crosses(mesh.vertices / 1000, mesh.triangles), axis=1).sum() / 2
    assert area / surface == pytest.approx(STRIPE, abs=0.02)


def test_a_ribbon_has_the_area_of_length_times_width():
    corner = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 0.5]])
    found = crosses(*ribbon(corner, 0.1, closed=False))
    assert np.all(found[:, 2] > 0)
    assert found[:, 2].sum() / 2 == pytest.approx(
        1.5 * 0.1, rel=1e-6
    )  # a miter adds outside what it takes inside


def test_a_closed_ribbon_is_a_frame():
    square = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])
    found = crosses(*ribbon(square, 0.2, closed=True))
    assert found[:, 2].sum() / 2 == pytest.approx(1.2**2 - 0.8**2, rel=1e-6)


def test_the_edges_of_a_part_are_those_between_faces_that_meet_at_an_angle():
    # A box has 12 edges, each as long as the box is on that axis (Euclid XI; the diagonals of its faces are no edges).
    size = np.array([0.4, 0.03, 0.2])
    corners = np.array([[x, y, z] for x in (0, 1) for y in (0, 1) for z in (0, 1)]) * size
    faces = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
    triangles = np.array([part for a, b, c, d in faces for part in ((a, b, c), (a, c, d))], dtype=np.int32)
    edges = outline_edges(corners, triangles)
    lengths = np.abs(corners[edges[:, 0]] - corners[edges[:, 1]])
    assert len(edges) == 12
    assert sorted(map(tuple, lengths)) == sorted(4 * [tuple(row) for row in np.diag(size)])
