"""Lines and areas cut by a rectangle, lines cut by an area."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from ...sizes.arrays import Floats

Rectangle = tuple[float, float, float, float]
"""Left, bottom, right, top, mm."""

_SHORTEST: Final = 1e-9
"""mm; pieces shorter than this are left away."""


def clip_path(points: Floats, rectangle: Rectangle, closed: bool = False) -> list[Floats]:
    """The pieces of a polyline inside a rectangle, (n, 2) float each, mm; pieces that go on are joined."""
    if closed:
        points = np.concatenate([points, points[:1]])
    start, along = points[:-1], np.diff(points, axis=0)
    near, far = np.zeros(len(start)), np.ones(len(start))
    low, high = np.array(rectangle[:2]), np.array(rectangle[2:])
    with np.errstate(divide="ignore", invalid="ignore"):
        first, second = (low - start) / along, (high - start) / along
    for axis in (0, 1):
        still = along[:, axis] == 0
        outside = still & ((start[:, axis] < low[axis]) | (start[:, axis] > high[axis]))
        enter = np.where(still, 0.0, np.minimum(first[:, axis], second[:, axis]))
        leave = np.where(still, 1.0, np.maximum(first[:, axis], second[:, axis]))
        near, far = np.maximum(near, np.where(outside, 2.0, enter)), np.minimum(far, leave)
    inside = near < far
    pieces: list[list[Floats]] = []
    goes_on = False
    for number in np.flatnonzero(inside):
        a, b = start[number] + near[number] * along[number], start[number] + far[number] * along[number]
        if goes_on and near[number] == 0 and inside[number - 1]:
            pieces[-1].append(b)
        else:
            pieces.append([a, b])
        goes_on = bool(far[number] == 1)
    if closed and len(pieces) > 1 and np.array_equal(pieces[0][0], pieces[-1][-1]):
        pieces[0] = pieces.pop() + pieces[0][1:]
    found = [np.array(piece) for piece in pieces]
    return [piece for piece in found if np.abs(np.diff(piece, axis=0)).sum() > _SHORTEST]


def clip_ring(ring: Floats, rectangle: Rectangle) -> Floats:
    """A ring cut by a rectangle, (n, 2) float mm; (0, 2) where nothing is left.

    Where a ring that is not convex falls into pieces, they stay joined along the rectangle's border, by a strip of no
    area.
    """
    left, bottom, right, top = rectangle
    for normal, limit in (((1, 0), left), ((0, 1), bottom), ((-1, 0), -right), ((0, -1), -top)):
        ring = cut_ring(ring, np.array(normal, dtype=float), limit)
    return ring


def cut_ring(ring: Floats, normal: Floats, limit: float) -> Floats:
    """The part of a ring, (n, 2) float mm, where normal·p >= limit (Sutherland and Hodgman 1974)."""
    if not len(ring):
        return ring
    over = ring @ normal - limit
    after = np.roll(over, -1)
    crossing = (over > 0) != (after > 0)
    with np.errstate(divide="ignore", invalid="ignore"):
        share = over / (over - after)
    between = ring + np.where(crossing, share, 0.0)[:, None] * (np.roll(ring, -1, axis=0) - ring)
    both = np.stack([ring, between], axis=1).reshape(-1, 2)
    return both[np.stack([over > 0, crossing], axis=1).ravel()]


def overlap(ring: Floats, other: Floats) -> Floats:
    """Where two convex rings, (n, 2) and (m, 2) float mm, overlap: (k, 2), none where they do not."""
    following = np.roll(other, -1, axis=0)
    turned = float((other[:, 0] * following[:, 1] - other[:, 1] * following[:, 0]).sum())
    for a, b in zip(other, following, strict=True):
        normal = np.array([a[1] - b[1], b[0] - a[0]]) * (1.0 if turned > 0 else -1.0)
        ring = cut_ring(ring, normal, float(normal @ a))
    return ring


def hatch_lines(rings: Sequence[Floats], spacing: float, degrees: float) -> list[Floats]:
    """Parallel lines over an area, (2, 2) float each, mm.

    All areas of the same spacing and angle share one set of lines, through the origin of the sheet, so that one part
    in pieces is hatched alike (ISO 128-50, from memory).

    Parameters
    ----------
    rings : (n, 2) float each; the area is where an odd number of them overlap
    """
    turn = np.radians(degrees)
    along, across = np.array([np.cos(turn), np.sin(turn)]), np.array([-np.sin(turn), np.cos(turn)])
    start = np.concatenate(rings)
    end = np.concatenate([np.roll(ring, -1, axis=0) for ring in rings])
    s0, s1 = start @ across / spacing, end @ across / spacing
    t0, t1 = start @ along, end @ along
    first, last = np.ceil(np.minimum(s0, s1)), np.ceil(np.maximum(s0, s1))  # half open: a corner counts once
    count = (last - first).astype(int)
    edge = np.repeat(np.arange(len(start)), count)
    row = first[edge] + np.arange(len(edge)) - np.repeat(np.cumsum(count) - count, count)
    at = t0[edge] + (row - s0[edge]) / (s1 - s0)[edge] * (t1 - t0)[edge]
    order = np.lexsort((at, row))
    row, at = row[order], at[order]
    points = at[:, None] * along + (row * spacing)[:, None] * across
    lines = points[: len(points) // 2 * 2].reshape(-1, 2, 2)
    return [line for line in lines if np.abs(line[1] - line[0]).sum() > _SHORTEST]
