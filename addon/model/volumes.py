"""Volumes and surfaces of convex pieces, all pieces of a set at once."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from .half_spaces import cross_product

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from .convex import Pieces

    Floats = NDArray[np.float64]


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
