"""An outline as convex polygons."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from .polygon import triangulate
from .tolerances import WELD

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]


@lru_cache(maxsize=512)
def convex_parts(outline: tuple[tuple[float, float], ...]) -> tuple[tuple[int, ...], ...]:
    """Convex polygons that fill a simple outline, as vertex numbers, counter-clockwise.

    Triangles are joined across shared edges as long as the result stays convex (Hertel and Mehlhorn 1983: at most
    four times as many as the fewest possible).
    """
    points = np.array(outline)
    everything = tuple(range(len(outline)))
    if _is_convex(points, everything):
        return (everything,)
    parts = [tuple(int(i) for i in triangle) for triangle in triangulate(points, [len(points)])]
    merged = True
    while merged:
        merged = False
        for first in range(len(parts)):
            for second in range(first + 1, len(parts)):
                joined = _joined(parts[first], parts[second])
                if joined is not None and _is_convex(points, joined):
                    parts[first] = joined
                    del parts[second]
                    merged = True
                    break
            if merged:
                break
    return tuple(parts)


def _joined(a: tuple[int, ...], b: tuple[int, ...]) -> tuple[int, ...] | None:
    """Two polygons that share an edge, as one; None if they share none."""
    for i, start in enumerate(a):
        end = a[(i + 1) % len(a)]
        for j, other in enumerate(b):
            if other == end and b[(j + 1) % len(b)] == start:
                rest = [b[(j + 2 + k) % len(b)] for k in range(len(b) - 2)]
                return (*a[: i + 1], *rest, *a[i + 1 :])
    return None


def _is_convex(points: Floats, polygon: tuple[int, ...]) -> bool:
    corners = points[list(polygon)]
    along = np.roll(corners, -1, axis=0) - corners
    after = np.roll(along, -1, axis=0)
    return bool((along[:, 0] * after[:, 1] - along[:, 1] * after[:, 0] >= -WELD).all())
