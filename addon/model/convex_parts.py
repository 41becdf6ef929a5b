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
    everything = tuple(range(len(outline)))
    if _is_convex(outline, everything):
        return (everything,)
    triangles = triangulate(np.array(outline), [len(outline)])
    parts = [tuple(int(i) for i in triangle) for triangle in triangles]
    merged = True
    while merged:
        merged = False
        for first in range(len(parts)):
            for second in range(first + 1, len(parts)):
                joined = _joined(parts[first], parts[second])
                if joined is not None and _is_convex(outline, joined):
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


def _is_convex(outline: tuple[tuple[float, float], ...], polygon: tuple[int, ...]) -> bool:
    corners = [outline[corner] for corner in polygon]
    return all(
        (v[0] - u[0]) * (w[1] - v[1]) - (v[1] - u[1]) * (w[0] - v[0]) >= -WELD
        for u, v, w in zip(corners[-1:] + corners[:-1], corners, corners[1:] + corners[:1], strict=True)
    )
