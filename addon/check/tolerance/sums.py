"""Linear sums of deviations: worst case, root of the sum of squares, and what each deviation contributes."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from .report import Effect, Stacked
from .statistics import SIGMAS, capability

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from .deviations import Deviation

    Floats = NDArray[np.float64]


def stacked(nominal: float, change: Floats, deviations: Sequence[Deviation]) -> Stacked:
    """A margin as drawn, mm, that changes by (deviations,) float per mm of each."""
    tolerances = np.array([one.tolerance for one in deviations])
    amounts = np.abs(change) * tolerances
    total, squares = float(amounts.sum()), float((amounts**2).sum())
    root = float(np.sqrt(squares))
    able = capability(nominal, root / SIGMAS, 0.0, None)
    effects = [
        Effect(
            deviations[one].name,
            deviations[one].kind,
            deviations[one].part,
            deviations[one].tolerance,
            float(change[one]),
            float(amounts[one]),
            float(amounts[one] / total),
            float(amounts[one] ** 2 / squares),
        )
        for one in np.argsort(-amounts, kind="stable").tolist()
        if amounts[one] > 0
    ]
    return Stacked(nominal, nominal - total, nominal - root, able.outside, able.cpk, tuple(effects))
