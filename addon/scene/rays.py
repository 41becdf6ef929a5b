"""Parts as they stand, and where rays enter them (no bpy here).

Parts are convex pieces, as the check has them. A ray enters a convex piece where the last of the planes that it comes
in through is passed, and leaves it where it meets the first of the others: no triangles are needed. Lengths in m, in
one frame for all.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from typing import Final

import numpy as np

from ..sizes.arrays import Floats, Ints
from ..wood.solids.pieces import Pieces
from .description import METERS

OTHERS: Final = "-"
"""Label of what is no part of the table."""


@dataclass(frozen=True, eq=False)
class Body:
    """What may cover a place.

    Parameters
    ----------
    label : of the part, or `OTHERS`
    planes : (k, 4) float; outward normal and offset of the planes of all its pieces, n·x <= offset inside
    starts : (n,) int; first plane of each piece
    low, high : (3,) float; its bounding box
    """

    label: str
    planes: Floats
    starts: Ints
    low: Floats
    high: Floats


def body(label: str, pieces: Pieces, move: Floats) -> Body:
    """A part where it stands; `move` is (4, 4) float, m, from where the pieces (mm) are."""
    scaled = move.copy()
    scaled[:3, :3] *= METERS
    points = pieces.vertices @ scaled[:3, :3].T + scaled[:3, 3]
    starts = np.asarray(pieces.plane_starts[:-1])
    return Body(label, _moved(pieces.planes, scaled), starts, points.min(axis=0), points.max(axis=0))


def box(label: str, low: Floats, high: Floats, move: Floats) -> Body:
    """A box about a thing; `low` and `high` are (3,) float in its own frame, `move` (4, 4) float from there."""
    planes = np.column_stack([np.concatenate([np.eye(3), -np.eye(3)]), np.concatenate([high, -low])])
    corners = np.array(list(product(*zip(low, high, strict=True)))) @ move[:3, :3].T + move[:3, 3]
    return Body(label, _moved(planes, move), np.zeros(1, dtype=int), corners.min(axis=0), corners.max(axis=0))


def _moved(planes: Floats, move: Floats) -> Floats:
    """(k, 4) float: planes after an affine move; normals keep no length, which nothing here asks for."""
    normals = planes[:, :3] @ np.linalg.inv(move[:3, :3])
    return np.column_stack([normals, planes[:, 3] + normals @ move[:3, 3]])


def entered(bodies: Sequence[Body], eyes: Floats, ends: Floats) -> Floats:
    """(b, r) float: where on its way from an eye (0) to its end (1) each ray first enters each body; inf where it does
    not.

    Parameters
    ----------
    eyes, ends : (r, 3) float
    """
    ways = ends - eyes
    ways = np.where(np.abs(ways) < 1e-12, 1e-12, ways)
    found = np.full((len(bodies), len(ways)), np.inf)
    if not bodies:
        return found
    lows, highs = (np.stack([getattr(one, name) for one in bodies]) for name in ("low", "high"))
    first, last = (lows[:, None] - eyes) / ways, (highs[:, None] - eyes) / ways
    begin, end = np.minimum(first, last).max(axis=2), np.maximum(first, last).min(axis=2)
    met = (begin <= end) & (end >= 0.0) & (begin <= 1.0)
    for number in np.flatnonzero(met.any(axis=1)).tolist():
        rays = np.flatnonzero(met[number])
        found[number, rays] = _entered(bodies[number], eyes[rays], ways[rays])
    return found


def _entered(one: Body, eyes: Floats, ways: Floats) -> Floats:
    """(r,) float; see `entered`."""
    toward = one.planes[:, :3] @ ways.T
    room = one.planes[:, 3:] - one.planes[:, :3] @ eyes.T
    with np.errstate(divide="ignore", invalid="ignore"):
        share = room / toward
    aside = toward == 0.0
    begin = np.where(aside, np.where(room < 0.0, np.inf, -np.inf), np.where(toward < 0.0, share, -np.inf))
    end = np.where(toward > 0.0, share, np.inf)
    begin = np.maximum(np.maximum.reduceat(begin, one.starts, axis=0), 0.0)
    end = np.minimum.reduceat(end, one.starts, axis=0)
    inside: Floats = np.where((begin < end) & (begin < 1.0), begin, np.inf).min(axis=0)
    return inside
