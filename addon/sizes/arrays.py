"""Names for the arrays that most functions take and give, and runs of rows of different lengths in one array.

The shapes of arrays stand in the docstrings. Of runs, `starts` (N + 1,) tells where each of N runs begins.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Bools = NDArray[np.bool_]

_ZERO = np.zeros(1, dtype=np.intp)


def reduce_ragged(how: np.ufunc, rows: NDArray, starts: Ints) -> NDArray:
    """`how.reduce` over each run of rows; the runs are not empty."""
    if len(starts) < 2:
        return rows[:0]
    return how.reduceat(rows, starts[:-1], axis=0)


def ragged_rows(starts: Ints, which: Ints) -> tuple[Ints, Ints]:
    """Row numbers of the runs `which`, run after run, and where those runs start in the result."""
    counts = starts[which + 1] - starts[which]
    ends = np.cumsum(counts)
    rows = np.arange(ends[-1] if len(ends) else 0) + np.repeat(starts[which] - ends + counts, counts)
    return rows, np.concatenate([[0], ends]).astype(np.intp)


def joined_starts(starts: Sequence[Ints]) -> Ints:
    """Where each run begins when several arrays of runs are put one after the other."""
    joined = np.concatenate([_ZERO, *(one[1:] for one in starts)])
    before = np.cumsum([0] + [int(one[-1]) for one in starts[:-1]])
    joined[1:] += np.repeat(before, [len(one) - 1 for one in starts])
    return joined
