"""What is drawn already, as boxes, and which places for words lie over none of it."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from ...sizes.arrays import Bools, Floats
from .drawing import Drawing
from .items import Stroke


def line_boxes(drawing: Drawing) -> Floats:
    """(n, 4) float, mm: boxes of all lines, of sloping ones in small pieces."""
    found = []
    for item in drawing.items:
        if not isinstance(item, Stroke):
            continue
        for path in item.paths:
            for one, other in pairwise(np.concatenate([path, path[:1]]) if item.closed else path):
                points = np.linspace(one, other, 2 + int(2.0 * np.abs(other - one).min()))
                low, high = np.minimum(points[:-1], points[1:]), np.maximum(points[:-1], points[1:])
                found.append(np.concatenate([low, high], axis=1))
    return np.concatenate(found) if found else np.empty((0, 4))


def over(boxes: Floats, others: Floats) -> Bools:
    """(n,) bool: which of (n, 4) boxes lie over any of (m, 4) others."""
    found = (
        (boxes[:, None, 0] < others[:, 2]) & (others[:, 0] < boxes[:, None, 2])
        & (boxes[:, None, 1] < others[:, 3]) & (others[:, 1] < boxes[:, None, 3])
    )  # fmt: skip
    return np.any(found, axis=1)
