"""Dimensions, numbered marks, break lines, leaders and labels, after ISO 128-2, ISO 129-1 and ISO 3098-1 (from memory).

Labels go near what they speak of, not over one another, with leaders that do not cross.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike

from ...sizes.arrays import Floats, Ints
from .clip import Rectangle
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


def leader(
    drawing: Drawing, points: ArrayLike, end: Literal["arrow", "dot", "none"] = "dot", pen: Pen = THIN
) -> None:
    """A line through (n, 2) points that ends on what it speaks of: a dot within an outline, an arrow on one."""
    path = np.asarray(points, dtype=float)
    drawing.polyline(path, pen)
    if end == "dot":
        drawing.circle(path[-1], 2.5 * pen.width, pen.color)
    elif end == "arrow":
        arrow_head(drawing, path[-1], path[-1] - path[-2], pen.color)


def spread(wanted: Floats, widths: Floats, low: float, high: float) -> Floats:
    """Middles of labels side by side that do not overlap, each as near to the one wanted as the others let it.

    They stand in the order of what they want, so that leaders that begin side by side do not cross. Those that push
    each other move together, to the mean of what they want, which has the least sum of squares.

    Parameters
    ----------
    wanted : (n,) float
    widths : (n,) float, that they take
    low, high : the range that they may take; they begin at `low` where they do not all fit
    """
    if not len(wanted):
        return wanted
    order = np.argsort(wanted, kind="stable")
    taken = widths[order]
    offsets = np.cumsum(taken) - taken / 2
    blocks: list[list[float]] = []
    for start in (wanted[order] - offsets).tolist():
        blocks.append([start, 1])
        while len(blocks) > 1 and blocks[-2][0] > blocks[-1][0]:
            (a, m), (b, n) = blocks[-2:]
            blocks[-2:] = [[(a * m + b * n) / (m + n), m + n]]
    starts = np.repeat([one[0] for one in blocks], [int(one[1]) for one in blocks])
    found = np.empty(len(wanted))
    found[order] = np.clip(starts, low, max(low, high - float(taken.sum()))) + offsets
    return found


def columns(
    anchors: Floats, edges: tuple[float, float], pitch: float, low: float, high: float, rise: float = 0.0
) -> tuple[Ints, Floats]:
    """Labels in a column at the left and one at the right, each on the side where what it speaks of lies.

    Where a column has no room for all of them, those that come late in the list have none.

    Parameters
    ----------
    anchors : (n, 2) float, what each label points at
    edges : x of the left and of the right column
    pitch : from label to label
    low, high : the range that the columns may take
    rise : slope of leaders toward the labels, where they have room

    Returns
    -------
    numbers of those that have a place, and (m, 2) float where their leaders end, so that none crosses another
    """
    left = anchors[:, 0] < (edges[0] + edges[1]) / 2
    numbers, ends = [], []
    for x, mine in zip(edges, (np.flatnonzero(left), np.flatnonzero(~left)), strict=True):
        placed = mine[: int((high - low) / pitch)]
        numbers.append(placed)
        ends.append(_column(anchors[placed], x, pitch, low, high, rise))
    return np.concatenate(numbers), np.concatenate(ends)


def _column(anchors: Floats, x: float, pitch: float, low: float, high: float, rise: float) -> Floats:
    """(n, 2) float: where leaders from anchors end in one column."""
    wanted = anchors[:, 1] + rise * np.abs(x - anchors[:, 0])
    heights = spread(wanted, np.full(len(anchors), pitch), low, high)
    ends = np.stack([np.full(len(anchors), x), heights], axis=1)
    # Two that cross change places; that makes them shorter together, so it comes to an end.
    crossed = True
    while crossed:
        crossed = False
        for one in range(len(anchors)):
            for other in range(one):
                if crosses(anchors[one], ends[one], anchors[other], ends[other]):
                    ends[[one, other]] = ends[[other, one]]
                    crossed = True
    return ends


def crosses(a: Floats, b: Floats, c: Floats, d: Floats) -> bool:
    """Whether the open segments a-b and c-d, (2,) float each, cross."""

    def side(p: Floats, q: Floats, r: Floats) -> float:
        return float((q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]))

    return side(a, b, c) * side(a, b, d) < 0 and side(c, d, a) * side(c, d, b) < 0


def first_free(places: Iterable[Rectangle], taken: Sequence[Rectangle]) -> Rectangle | None:
    """The first of some places, the best first, that lies over nothing that is taken; None where all do."""
    return next((place for place in places if not any(lies_over(place, box) for box in taken)), None)


def lies_over(some: Rectangle, other: Rectangle) -> bool:
    """Whether two rectangles share more than a border."""
    return some[0] < other[2] and other[0] < some[2] and some[1] < other[3] and other[1] < some[3]
