"""Tables with random deviations: drawn with a seed, in pieces that fit into memory, alike however they are cut up."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from .statistics import SIGMAS

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

AT_ONCE: Final = 10_000
"""Tables that are worked out together."""

_MOST: Final = 2_000_000
"""Numbers that are drawn at a time, at most; it bounds the memory of tables with many dimensions."""


def deviations(
    tolerances: Floats, distribution: str, count: int, seed: int, at_once: int = AT_ONCE
) -> Iterator[Floats]:
    """Random deviations of `count` tables, in pieces of (deviations, n <= at_once) float mm.

    Parameters
    ----------
    tolerances : (deviations,) float, mm
    distribution : ``uniform`` within the tolerance, or ``normal`` with a standard deviation of a third of it
    """
    at_once = max(1, min(at_once, _MOST // max(1, len(tolerances))))
    generator = np.random.Generator(np.random.PCG64(seed))
    for first in range(0, count, at_once):
        # Row after row: the numbers of a table do not depend on how many are drawn at once.
        shape = (min(at_once, count - first), len(tolerances))
        if distribution == "uniform":
            drawn = generator.random(shape) * 2.0 - 1.0
        else:
            drawn = generator.standard_normal(shape) / SIGMAS
        yield np.ascontiguousarray(drawn.T) * tolerances[:, None]
