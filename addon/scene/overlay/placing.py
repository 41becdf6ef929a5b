"""Where words stand on the screen (no bpy here).

Sizes follow from the texts alone and are kept (`Words`); what is done again in each redraw is few operations on arrays.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from ...sizes.arrays import Floats
from .prepare import LEAST, RADIUS, Text

Pair = tuple[float, float]
Box = Sequence[float]

BORDER = 0.5
"""Of the paper around the words, in heights of letters."""
MOST = 6
"""Texts that are shown at once; more would hide the table. The shapes of all findings are always shown."""
STEP = 1.35
"""From line to line, in heights of letters."""
FOOT, CAPITAL = 0.36, 0.72
"""From a line's middle to its foot, and how high capitals are, in heights of letters."""


class Measure(NamedTuple):
    """How wide a line is, pixels, and how high letters are, pixels."""

    width: Callable[[str], float]
    height: float


@dataclass(frozen=True, eq=False)
class Words:
    """Texts with their sizes; pixels, to the right and up from where their places are seen.

    Parameters
    ----------
    texts : least rank first
    boxes : (2, t, 4) float; left, lower, right and upper end of their paper at the right of their mark, and at the left
    marks : (t, 2) float; middles of the marks that they stand beside, NaN for those without
    come_and_go : (t,) bool; those that go with a way
    scale : pixels in a pixel of the texts' offsets
    height : of letters
    """

    texts: Sequence[Text]
    boxes: Floats
    marks: Floats
    come_and_go: NDArray[np.bool_]
    scale: float
    height: float


class Block(NamedTuple):
    """A text on the screen, pixels from the lower left corner of the region.

    Parameters
    ----------
    box : left, lower, right and upper end of its paper
    feet : left end of the foot of each line
    turned : whether it stands at the left of its mark
    """

    text: Text
    box: Box
    feet: tuple[Pair, ...]
    turned: bool

    def bar(self, width: float) -> Pair:
        """Left and right end of a bar on the paper, at the side of the mark."""
        left, _, right, _ = self.box
        return (right - width, right) if self.turned else (left, left + width)


def free_width(sidebar: Any, region: Any) -> int:
    """How much of a view's width, from the left, the sidebar does not lie over, pixels."""
    at = sidebar.x - region.x
    return at if sidebar.alignment == "RIGHT" and 0 < at < region.width else region.width


def words(texts: Sequence[Text], scale: float, measure: Measure) -> Words:
    """Measures texts.

    Parameters
    ----------
    scale : pixels in a pixel of the texts' offsets
    """
    return Words(
        texts,
        np.array([_sides(text, scale, measure) for text in texts]).reshape(-1, 2, 4).swapaxes(0, 1),
        np.array([text.mark or (np.nan, np.nan) for text in texts], dtype=float).reshape(-1, 2) * scale,
        np.array([any(text.along) for text in texts], dtype=bool),
        scale,
        measure.height,
    )


def _sides(text: Text, scale: float, measure: Measure) -> tuple[Box, Box]:
    """The paper at the right of the mark, the first line beside it; and as far at the left, the last line beside it.

    The line from the mark to the place goes down to the left: one line more below would lie on it.
    """
    height = measure.height
    border = BORDER * height
    left, foot = text.offset[0] * scale, text.offset[1] * scale - FOOT * height
    width = max(map(measure.width, text.lines)) + 2 * border
    more = (len(text.lines) - 1) * STEP * height
    lower, upper = foot - more - border, foot + CAPITAL * height + border
    end = 2.0 * (text.mark[0] * scale if text.mark else 0.0) - left
    return (left, lower, left + width, upper), (end - width, lower + more, end, upper + more)


def projected(places: Floats, to_screen: Floats, size: tuple[int, int]) -> Floats:
    """(n, 2) float, pixels: where places are seen; NaN for those behind the eye.

    Parameters
    ----------
    places : (n, 3) float
    to_screen : (4, 4) float; to clip space
    size : of the region, pixels
    """
    clip = places @ to_screen[:, :3].T + to_screen[:, 3]
    clip[clip[:, 3] <= 0.0] = np.nan
    return (clip[:, :2] / clip[:, 3:] + 1.0) / 2.0 * np.asarray(size)


def placed(words: Words, at: Floats, ends: Floats, size: tuple[int, int]) -> list[Block]:
    """The first `MOST` texts that can be shown: in the view, and not over one that comes before.

    A text stands at the right of its mark; at the left where there is no room, or where it covers fewer marks. One
    that goes with a way is left out where that looks too short.

    Parameters
    ----------
    at, ends : (t, 2) float, pixels; where the texts' places, and the ends of their ways from there, are seen
    size : width and height of what is seen of the region, pixels
    """
    seen = ((at >= 0.0) & (at <= size)).all(axis=1)  # NaN is not
    seen &= ~(words.come_and_go & (np.hypot(*(ends - at).T) <= LEAST * words.scale))
    boxes = words.boxes + at[:, [0, 1, 0, 1]]
    inside = (boxes[:, :, 0] >= 0.0) & (boxes[:, :, 2] <= size[0])
    inside[0] |= ~inside[1]
    covers = _covered(boxes, at + words.marks, RADIUS * words.scale).tolist()
    sides = boxes.tolist()
    found: list[Block] = []
    for index in np.flatnonzero(seen).tolist():
        free = [
            side
            for side in (0, 1)
            if inside[side, index] and not any(_overlap(sides[side][index], other.box) for other in found)
        ]
        if free:
            side = min(free, key=lambda side: covers[side][index])
            found.append(_block(words, index, sides[side][index], side == 1))
        if len(found) == MOST:
            break
    return found


def _block(words: Words, index: int, box: Box, turned: bool) -> Block:
    text = words.texts[index]
    lowest = len(text.lines) - 1
    border, step = BORDER * words.height, STEP * words.height
    left, foot = box[0] + border, box[1] + border
    feet = tuple((left, foot + (lowest - number) * step) for number in range(len(text.lines)))
    return Block(text, box, feet, turned)


def _covered(boxes: Floats, marks: Floats, radius: float) -> NDArray[np.intp]:
    """(2, t) int; how many marks, whose middles are given, (t, 2) float, lie below boxes."""
    low, high = boxes[:, :, None, :2] - radius, boxes[:, :, None, 2:] + radius
    found: NDArray[np.intp] = ((low < marks) & (marks < high)).all(axis=3).sum(axis=2)
    return found


def _overlap(some: Box, other: Box) -> bool:
    return some[0] < other[2] and other[0] < some[2] and some[1] < other[3] and other[1] < some[3]
