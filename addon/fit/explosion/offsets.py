"""The least distances that meet all demands.

Each demand is a difference, one place so much farther out than another, and the least distances are then the longest
ways from home through a graph (Bellman, On a routing problem, 1958). All of them are least at once, and so is their
sum, which a linear program would have to search for.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Demand:
    """Place `outer` has to be at least `least` mm farther from home than place `inner`; numbers of places."""

    inner: int
    outer: int
    least: float


class ContradictionError(ValueError):
    """No distances meet all demands."""


def least_distances(count: int, demands: Sequence[Demand]) -> Floats:
    """The least distance of each place from home that meets all demands, (count,) mm; place 0 is home.

    No distance is negative.

    Raises
    ------
    ContradictionError
        if no distances do, because demands go round in a circle
    """
    distances = np.zeros(count)
    inner = np.array([one.inner for one in demands], dtype=np.intp)
    outer = np.array([one.outer for one in demands], dtype=np.intp)
    least = np.array([one.least for one in demands])
    for _ in range(count + 1):
        before = distances.copy()
        np.maximum.at(distances, outer, distances[inner] + least)
        if (distances == before).all():
            return distances
    raise ContradictionError("the demands contradict each other")
