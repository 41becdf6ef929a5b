"""The marks of findings: a shape for each severity, a dimension between two faces."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from .colors import OF_SEVERITY
from .shapes import HALO, bar, disc, fan, stroke

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import ArrayLike, NDArray

    from .colors import Color
    from .shapes import Corners

    Floats = NDArray[np.float64]

AWAY: Final = (26.0, 26.0)
"""From a place to the middle of its mark, pixels to the right and up."""
LARGER: Final = 1.4
"""How many times as large the mark of the chosen finding is."""
RADIUS: Final = 8.0
"""Of a mark, pixels."""
LINE: Final = 1.6
HEAD: Final = (10.0, 3.5)
"""Length and half width of an arrow's head, pixels."""
TAIL: Final = 22.0
"""From an arrow's tip to its end, pixels."""
TICK: Final = 9.0
"""Half length of the line at each end of a dimension, pixels."""

OUTLINES: Final = {
    "error": 0.9 * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]),
    "warning": np.array([[-1.1, -0.8], [1.1, -0.8], [0.0, 1.15]]),
}
"""A square and a triangle, of radius about 1; what is graver has corners, a note is round."""
DOT: Final = 3.0
"""Radius of the dot at the place itself, pixels."""

_NOWHERE: Final = (0.0, 0.0, 0.0)


def marker(place: ArrayLike, severity: str, chosen: bool) -> Iterator[Corners]:
    """A shape beside a place, and the line that ties it to the place."""
    ink = OF_SEVERITY[severity]
    radius = RADIUS * (LARGER if chosen else 1.0)
    for color, rim in ((None, HALO), (ink, 0.0)):
        yield fan(place, _NOWHERE, stroke((0, 0), AWAY, LINE + 2 * rim), color)
        yield disc(place, (0, 0), DOT + rim, color)
        if severity in OUTLINES:
            yield fan(place, _NOWHERE, (radius + 1.5 * rim) * OUTLINES[severity] + AWAY, color)
        else:
            yield disc(place, AWAY, radius + rim, color)


def dimension(start: ArrayLike, end: ArrayLike, severity: str) -> Iterator[Corners]:
    """A line between two places, and at each a short line across and an arrow that points at it from outside.

    Arrows stand outside, as is usual where there is little room between them (ISO 129-1, from memory).
    """
    ink = OF_SEVERITY[severity]
    for color, rim in ((None, HALO), (ink, 0.0)):
        yield bar(start, end, LINE + 2 * rim, color)
        yield from _arrow(start, np.subtract(end, start), color, rim)
        yield from _arrow(end, np.subtract(start, end), color, rim)


def _arrow(tip: ArrayLike, along: ArrayLike, ink: Color | None, rim: float) -> Iterator[Corners]:
    length, half = HEAD
    yield fan(tip, along, stroke((0, -TICK - rim), (0, TICK + rim), LINE + 2 * rim), ink)
    yield fan(tip, along, stroke((-TAIL - rim, 0), (-length / 2, 0), LINE + 2 * rim), ink)
    head = np.array([[0.0, 0.0], [-length - rim, half + 1.2 * rim], [-length - rim, -half - 1.2 * rim]])
    yield fan(tip, along, head, ink)
