"""Where labels go: near what they speak of, not over one another, with leaders that do not cross."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from ...sizes.arrays import Floats, Ints
from .clip import Rectangle
from .dimensions import THIN, arrow_head
from .drawing import Drawing
from .items import Pen


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
