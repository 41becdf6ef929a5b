"""Questions about polygons in the plane of a board."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ...sizes.arrays import Floats
from ...sizes.tolerances import WELD


def inside(points: Floats, start: Floats, stop: Floats) -> NDArray[np.bool_]:
    """Which points (m, 2) lie within the polygon of edges `start` → `stop`, (n, 2) each, and not on its border."""
    u, v = points[:, :1], points[:, 1:]
    run = stop - start
    spans = (start[:, 1] > v) != (stop[:, 1] > v)
    area = run[:, 0] * (v - start[:, 1]) - run[:, 1] * (u - start[:, 0])
    odd = ((area > 0.0) == (run[:, 1] > 0.0)) & spans
    length2 = np.einsum("ij,ij->i", run, run)
    share = ((u - start[:, 0]) * run[:, 0] + (v - start[:, 1]) * run[:, 1]) / np.maximum(length2, WELD**2)
    border = (area**2 <= WELD**2 * length2) & (share >= 0.0) & (share <= 1.0) & (length2 > WELD**2)
    return (odd.sum(axis=1) % 2 == 1) & ~border.any(axis=1)


def crosses_itself(points: Floats) -> bool:
    """Whether a closed polygon (n, 2) has edges that cross or touch others than their neighbors."""
    onward = np.roll(points, -1, axis=0)
    run = onward - points

    def sides(ends: Floats) -> Floats:
        away = ends[None, :, :] - points[:, None, :]
        distance = run[:, None, 0] * away[..., 1] - run[:, None, 1] * away[..., 0]
        return np.where(np.abs(distance) <= WELD * np.hypot(*run.T)[:, None], 0.0, np.sign(distance))

    parted = sides(points) * sides(onward) > 0.0
    low, high = np.minimum(points, onward), np.maximum(points, onward)
    boxes_meet = ((low[:, None] <= high[None] + WELD) & (low[None] <= high[:, None] + WELD)).all(axis=2)
    meet = boxes_meet & ~parted & ~parted.T
    index = np.arange(len(points))
    gap = (index[:, None] - index[None]) % len(points)
    meet &= (gap > 1) & (gap < len(points) - 1)
    turned_back = (run * np.roll(run, -1, axis=0)).sum(axis=1) < 0.0
    straight = np.abs(run[:, 0] * np.roll(run[:, 1], -1) - run[:, 1] * np.roll(run[:, 0], -1)) <= WELD
    return bool(meet.any() or (turned_back & straight).any())


def distance_to_box(start: Floats, stop: Floats, low: Floats, high: Floats) -> Floats:
    """(n,) distances of segments (n, 2), (n, 2) from a rectangle; 0 where they meet."""
    corners = np.array([low, [high[0], low[1]], high, [low[0], high[1]]])
    run = stop - start
    away = corners[None] - start[:, None]
    area = run[:, None, 0] * away[..., 1] - run[:, None, 1] * away[..., 0]
    length2 = np.maximum((run**2).sum(axis=1), WELD**2)
    beyond = np.maximum(low - np.maximum(start, stop), np.minimum(start, stop) - high).max(axis=1)
    parted = (beyond > 0.0) | (area.min(axis=1) > 0.0) | (area.max(axis=1) < 0.0)
    share = np.clip((away * run[:, None]).sum(axis=2) / length2[:, None], 0.0, 1.0)
    from_corners = np.linalg.norm(away - share[..., None] * run[:, None], axis=2).min(axis=1)
    ends = np.stack([start, stop])
    from_ends = np.linalg.norm(np.maximum(np.maximum(low - ends, ends - high), 0.0), axis=2).min(axis=0)
    return np.where(parted, np.minimum(from_corners, from_ends), 0.0)
