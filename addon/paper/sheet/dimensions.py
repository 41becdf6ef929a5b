"""Dimensions, numbered marks and break lines, after ISO 128-2, ISO 129-1 and ISO 3098-1 (from memory)."""

from __future__ import annotations

from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike

from .drawing import Drawing
from .items import BLACK, WHITE, Pen
from .lettering import text_width

WIDE: Final = 0.5
"""Width of wide lines, mm: outlines."""

NARROW: Final = 0.25
"""Width of narrow lines, mm: hatching, dimensions, leaders."""

SMALL_LETTERS: Final = 1.8
LETTERS: Final = 2.5
LARGE_LETTERS: Final = 3.5
TITLE_LETTERS: Final = 5.0
"""Heights of capitals, mm: sizes of ISO 3098-1, 4.2 (from memory)."""

OUTLINE: Final = Pen(WIDE)
THIN: Final = Pen(NARROW)

ARROW: Final = 2.5
"""Length of an arrow's head, mm: ten narrow lines."""

_HALF_HEAD: Final = np.radians(10.0)
"""Half the angle at an arrow's tip."""

_BEYOND: Final = 8 * NARROW
"""How far an extension line goes past the dimension line, mm."""


def double_dashed(width: float = NARROW, color: str = BLACK) -> Pen:
    """Line 05.1, long dashes and pairs of dots: other positions of what moves, outlines of adjacent parts.

    Dashes of 24, gaps of 3 and dots of half a line width, as the standard has them.
    """
    return Pen(width, color, (24 * width, 3 * width, width / 2, 3 * width, width / 2, 3 * width))


def chain(width: float = NARROW, color: str = BLACK) -> Pen:
    """Line 04.1, long dashes and dots: limits and centers."""
    return Pen(width, color, (24 * width, 3 * width, width / 2, 3 * width))


def arrow_head(drawing: Drawing, tip: ArrayLike, direction: ArrayLike, color: str = BLACK) -> None:
    """A filled head with its tip at a point, pointing along a direction."""
    along = np.asarray(direction, dtype=float)
    along = along / np.hypot(*along)
    side = np.array([-along[1], along[0]]) * np.tan(_HALF_HEAD)
    end = np.asarray(tip, dtype=float)
    drawing.fill([[end, end + ARROW * (side - along), end - ARROW * (side + along)]], color)


def arrow(drawing: Drawing, start: ArrayLike, tip: ArrayLike, pen: Pen = THIN) -> None:
    """A line with a head at its end."""
    a, b = np.asarray(start, dtype=float), np.asarray(tip, dtype=float)
    along = (b - a) / np.hypot(*(b - a))
    drawing.line(a, b - along * ARROW * 0.8, pen)
    arrow_head(drawing, b, along, pen.color)


def upright_dimension(
    drawing: Drawing, x: float, low: tuple[float, float], high: tuple[float, float], text: str, side: Literal[-1, 1],
    at: float | None = None,
) -> None:  # fmt: skip
    """The dimension of a height, with arrows from outside where there is no room for them within.

    Parameters
    ----------
    x : of the dimension line, mm
    low, high : points (x, y) from which the extension lines come
    side : where the lettering stands: -1 left of the dimension line, 1 right of it
    at : height of its middle, mm; by default that of the dimension, or above it
    """
    for point in (low, high):
        way = 1.0 if x > point[0] else -1.0
        drawing.line(point, (x + way * _BEYOND, point[1]), THIN)
    bottom, top = low[1], high[1]
    if top - bottom >= 3 * ARROW:
        drawing.line((x, bottom + 0.8 * ARROW), (x, top - 0.8 * ARROW), THIN)
        arrow_head(drawing, (x, top), (0, 1))
        arrow_head(drawing, (x, bottom), (0, -1))
        middle = (bottom + top) / 2
    else:
        drawing.line((x, bottom), (x, top), THIN)
        arrow(drawing, (x, top + 2 * ARROW), (x, top))
        arrow(drawing, (x, bottom - 2 * ARROW), (x, bottom))
        middle = top + 2 * ARROW
    if at is not None:
        middle = at
        if not bottom <= at <= top:
            drawing.line((x, at), (x, bottom if at < bottom else top), THIN)
    anchor = "start" if side > 0 else "end"
    drawing.text(text, x + side * 1.2, middle, LETTERS, anchor, vertical="middle", halo=0.6)


def balloon(drawing: Drawing, at: tuple[float, float], text: str, radius: float = 2.4) -> None:
    """A number in a circle."""
    drawing.circle(at, radius, WHITE, THIN)
    drawing.text(text, at[0], at[1], LETTERS, "middle", vertical="middle", weight=0.13)


def break_line(
    drawing: Drawing, start: ArrayLike, end: ArrayLike, pen: Pen = THIN, share: float = 0.5
) -> None:  # fmt: skip
    """Line 01.1.16, thin with a zigzag at a share of its length: here the part goes on."""
    a, b = np.asarray(start, dtype=float), np.asarray(end, dtype=float)
    length = float(np.hypot(*(b - a)))
    along = (b - a) / length
    side = np.array([-along[1], along[0]])
    tooth = min(1.6, length / 3)
    middle = a + share * (b - a)
    zigzag = [middle - along * tooth / 2, middle - along * tooth / 4 + side * tooth,
              middle + along * tooth / 4 - side * tooth, middle + along * tooth / 2]  # fmt: skip
    drawing.polyline([a - along * 0.8, *zigzag, b + along * 0.8], pen)


def fitted(text: str, size: float, room: float, least: float = SMALL_LETTERS) -> float:
    """The size at which a line of lettering fits into `room` mm: `size` or less, not below `least`."""
    width = text_width(text, 1.0)
    return size if width * size <= room else max(least, room / width)
