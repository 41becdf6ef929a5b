"""Segments that meet at their ends as paths, so that corners are mitred and dashes run round arcs."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from .cells import Sorted

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

_SAME = 1e-4
"""Distance within which two ends are one point, mm."""


def paths_of(segments: Floats) -> list[Floats]:
    """(n, 2, 2) float segments, mm, as paths, (k, 2) float each; each goes on at its end while a segment does.

    Where several go on, the straightest does.
    """
    points = segments.reshape(-1, 2)
    node = _nodes(points)
    step = segments[:, 1] - segments[:, 0]
    way = step / np.maximum(np.hypot(step[:, 0], step[:, 1]), _SAME)[:, None]
    away = np.stack([way, -way], axis=1).reshape(-1, 2)
    partner = _partners(node, away)
    used = np.zeros(len(segments), dtype=bool)
    loose = np.flatnonzero(partner < 0)
    found = []
    for start in [*loose.tolist(), *range(0, len(points), 2)]:
        if used[start // 2]:
            continue
        path, end = [points[start]], start
        while end >= 0 and not used[end // 2]:
            used[end // 2] = True
            far = end ^ 1
            path.append(points[far])
            end = int(partner[far])
        if end >= 0 and node[end] == node[start] and len(path) > 3:
            path.append(path[1])  # past the corner, so that it is mitred too
        found.append(np.array(path))
    return found


def _nodes(points: Floats) -> NDArray[np.intp]:
    """The same number for ends that are one point."""
    _, node = np.unique(np.round(points / _SAME).astype(np.int64), axis=0, return_inverse=True)
    return node.reshape(-1).astype(np.intp)


def _partners(node: NDArray[np.intp], away: Floats) -> NDArray[np.intp]:
    """The end that each end goes on with, -1 where there is none: pairs at one point, the straightest first."""
    one, two = Sorted(np.arange(len(node)), node).meet(node)
    pair = (one < two) & (one // 2 != two // 2)
    one, two = one[pair], two[pair]
    cosine = np.einsum("ij,ij->i", away[one], away[two])
    partner = np.full(len(node), -1, dtype=np.intp)
    for at in np.argsort(cosine, kind="stable"):
        a, b = one[at], two[at]
        if partner[a] < 0 and partner[b] < 0:
            partner[a], partner[b] = b, a
    return partner


def specks(segments: Floats, size: float) -> NDArray[np.bool_]:
    """Which of (n, 2, 2) segments hang together with others, and with nothing more than `size` mm wide or high."""
    node = _nodes(segments.reshape(-1, 2)).reshape(-1, 2)
    group = np.arange(len(segments))
    least = np.arange(int(node.max(initial=-1)) + 1)
    while True:
        # The least number of each group goes from end to end until all segments of it have it.
        np.minimum.at(least, node.ravel(), np.repeat(group, 2))
        reached = least[node].min(axis=1)
        if (reached == group).all():
            break
        group = reached
    low, high = np.full((len(segments), 2), np.inf), np.full((len(segments), 2), -np.inf)
    np.minimum.at(low, group, segments.min(axis=1))
    np.maximum.at(high, group, segments.max(axis=1))
    several = np.bincount(group, minlength=len(segments)) > 1
    return (several & np.all(high - low < size, axis=1))[group]
