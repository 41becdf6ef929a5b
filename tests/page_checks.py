"""What is wrong with a page as it is drawn: lettering over lettering or lines, outside of its area, or too small.

Boxes of lettering are reckoned here from the advance widths of Helvetica's metrics file as the PDF uses them, and only
as high as capitals and figures are; what is drawn is taken from the items themselves.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from addon.paper.sheet import Drawing
from addon.paper.sheet.items import Stroke, Text
from addon.paper.sheet.lettering import text_width

Box = tuple[float, float, float, float]
"""Left, bottom, right, top, mm."""

LEAST = 2.5
"""Height of capitals that a copy still shows, mm: ISO 3098-1 has it among its sizes (from memory)."""

_TOUCH = 0.05
"""mm"""


def letters(item: Text) -> Box:
    """What a line's capitals take."""
    width = text_width(item.text, item.size)
    start = {"start": 0.0, "middle": -width / 2, "end": -width}[item.anchor]
    turn = np.radians(item.angle)
    along, up = np.array([np.cos(turn), np.sin(turn)]), np.array([-np.sin(turn), np.cos(turn)])
    corners = np.array(
        [(item.x, item.y) + along * s + up * h for s in (start, start + width) for h in (0.0, item.size)]
    )
    low, high = corners.min(axis=0), corners.max(axis=0)
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def _texts(drawing: Drawing) -> list[tuple[Text, Box]]:
    return [(item, letters(item)) for item in drawing.items if isinstance(item, Text)]


def _segments(drawing: Drawing) -> Iterator[tuple[np.ndarray, np.ndarray]]:
    for item in drawing.items:
        if isinstance(item, Stroke):
            for path in item.paths:
                ring = np.concatenate([path, path[:1]]) if item.closed else path
                yield ring[:-1], ring[1:]


def _crossing(box: Box, starts: np.ndarray, ends: np.ndarray) -> np.ndarray:
    """Which segments run through a box (Liang and Barsky's clipping, from memory)."""
    low, high = np.array(box[:2]) + _TOUCH, np.array(box[2:]) - _TOUCH
    step = ends - starts
    with np.errstate(divide="ignore", invalid="ignore"):
        first, second = (low - starts) / step, (high - starts) / step
    flat = step == 0
    inside = (starts > low) & (starts < high)
    first = np.where(flat, np.where(inside, -np.inf, np.inf), first)
    second = np.where(flat, np.where(inside, np.inf, -np.inf), second)
    enter = np.where(flat, first, np.minimum(first, second)).max(axis=1)
    leave = np.where(flat, second, np.maximum(first, second)).min(axis=1)
    return (enter < leave) & (leave > 0) & (enter < 1)


def overlaps(drawing: Drawing) -> list[str]:
    """Lettering that stands over other lettering or over a line."""
    texts = _texts(drawing)
    wrong = []
    for number, (item, one) in enumerate(texts):
        for other, box in texts[:number]:
            if (
                one[0] + _TOUCH < box[2]
                and box[0] + _TOUCH < one[2]
                and one[1] + _TOUCH < box[3]
                and box[1] + _TOUCH < one[3]
            ):
                wrong.append(f"{item.text!r} over {other.text!r}")
    lines = list(_segments(drawing))
    if lines:  # a page of words alone has none
        starts, ends = (np.concatenate(each) for each in zip(*lines, strict=True))
        wrong += [f"{item.text!r} over a line" for item, one in texts if _crossing(one, starts, ends).any()]
    return wrong


def outside(drawing: Drawing, area: Box) -> list[str]:
    """Lettering and lines that leave an area."""
    left, bottom, right, top = area
    low, high = np.array([left, bottom]) - _TOUCH, np.array([right, top]) + _TOUCH
    wrong = [
        item.text
        for item, box in _texts(drawing)
        if (np.array(box[:2]) < low).any() or (np.array(box[2:]) > high).any()
    ]
    for starts, ends in _segments(drawing):
        points = np.concatenate([starts, ends])
        if (points < low).any() or (points > high).any():
            wrong.append(f"a line at {points.min(axis=0)} to {points.max(axis=0)}")
    return wrong


def too_small(drawing: Drawing) -> list[str]:
    """Lettering that is lower than a copy still shows."""
    return [item.text for item, _ in _texts(drawing) if item.size < LEAST]
