"""Where words stand on the screen (no bpy here)."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from .shapes import LEAST

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from .prepare import Text

    Floats = NDArray[np.float64]
    Pair = tuple[float, float]

BORDER = 0.5
"""Of the paper around the words, in heights of letters."""
MOST = 6
"""Texts that are shown at once; more would hide the table. The shapes of all findings are always shown."""
STEP = 1.35
"""From line to line, in heights of letters."""


class Measure(NamedTuple):
    """How wide a line is, pixels, and how high letters are, pixels."""

    width: Callable[[str], float]
    height: float


class Block(NamedTuple):
    """A text on the screen, pixels from the lower left corner of the region.

    Parameters
    ----------
    low, size : of its paper
    feet : left end of the foot of each line
    """

    text: Text
    low: Pair
    size: Pair
    feet: tuple[Pair, ...]


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


def visible(at: Floats, ends: Floats, texts: Sequence[Text], scale: float) -> Floats:
    """`at`, NaN for texts that go with a way that looks too short.

    Parameters
    ----------
    at, ends : (n, 2) float, pixels; where places, and the ends of ways from there, are seen
    """
    short = np.hypot(*(ends - at).T) <= LEAST * scale
    return np.where((short & [any(text.along) for text in texts])[:, None], np.nan, at)


def placed(
    texts: Sequence[Text], at: Floats, size: tuple[int, int], scale: float, measure: Measure
) -> list[Block]:
    """The first `MOST` texts that can be shown: in the view, and not over one that comes before.

    A text for which there is no room at the right of its place stands at the left.

    Parameters
    ----------
    at : (n, 2) float, pixels; where their places are seen
    size : width and height of what is seen of the region, pixels
    scale : pixels in a pixel of the texts' offsets
    """
    found: list[Block] = []
    for text, (x, y) in zip(texts, at.tolist(), strict=True):
        if 0.0 <= x <= size[0] and 0.0 <= y <= size[1]:  # NaN is not
            away, middle = text.offset[0] * scale, y + text.offset[1] * scale
            block = _block(text, x + away, middle, measure)
            width = block.size[0]
            if block.low[0] + width > size[0] and x - away - width >= 0.0:
                block = _block(text, x - away - width, middle, measure)
            if not any(_overlap(block, other) for other in found):
                found.append(block)
        if len(found) == MOST:
            break
    return found


def _block(text: Text, left: float, middle: float, measure: Measure) -> Block:
    """A text whose first line's middle begins at (left, middle)."""
    height, step = measure.height, measure.height * STEP
    border = BORDER * height
    foot = middle - 0.36 * height
    feet = tuple((left + border, foot - number * step) for number in range(len(text.lines)))
    width = max(map(measure.width, text.lines)) + 2 * border
    tall = (len(text.lines) - 1) * step + 0.72 * height + 2 * border
    return Block(text, (left, feet[-1][1] - border), (width, tall), feet)


def _overlap(some: Block, other: Block) -> bool:
    return all(
        low < other_low + other_size and other_low < low + size
        for low, size, other_low, other_size in zip(some.low, some.size, other.low, other.size, strict=True)
    )
