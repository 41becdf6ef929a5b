"""Where words stand on the screen (no bpy here)."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from .marks import RADIUS
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
    turned : whether it stands at the left of its sign
    """

    text: Text
    low: Pair
    size: Pair
    feet: tuple[Pair, ...]
    turned: bool = False


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

    A text stands at the right of its sign; at the left where there is no room, or where it covers fewer signs.

    Parameters
    ----------
    at : (n, 2) float, pixels; where their places are seen
    size : width and height of what is seen of the region, pixels
    scale : pixels in a pixel of the texts' offsets
    """
    signs = np.array(
        [place + np.multiply(text.sign, scale) for text, place in zip(texts, at, strict=True) if text.sign]
    )
    found: list[Block] = []
    for text, (x, y) in zip(texts, at.tolist(), strict=True):
        if 0.0 <= x <= size[0] and 0.0 <= y <= size[1]:  # NaN is not
            block = _block(text, x + text.offset[0] * scale, y + text.offset[1] * scale, measure)
            ways = (block, _turned(block, x + (text.sign[0] if text.sign else 0.0) * scale))
            inside = [way for way in ways if 0.0 <= way.low[0] <= size[0] - way.size[0]] or [block]
            free = [way for way in inside if not any(_overlap(way, other) for other in found)]
            if free:
                found.append(min(free, key=lambda way: _covered(way, signs, RADIUS * scale)))
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


def _turned(block: Block, sign: float) -> Block:
    """A block as far to the left of its sign as it is to the right now, with its last line beside it.

    The line from the sign to the place goes down to the left: a line more below would lie on it.
    """
    by = 2.0 * (sign - block.low[0]) - block.size[0]
    up = block.feet[0][1] - block.feet[-1][1]
    feet = tuple((x + by, y + up) for x, y in block.feet)
    return block._replace(low=(block.low[0] + by, block.low[1] + up), feet=feet, turned=True)


def _covered(block: Block, signs: Floats, radius: float) -> int:
    """How many signs, whose middles are given, (n, 2) float, lie below a block."""
    if not len(signs):
        return 0
    low, high = np.array(block.low) - radius, np.add(block.low, block.size) + radius
    return int(((low < signs) & (signs < high)).all(axis=1).sum())


def _overlap(some: Block, other: Block) -> bool:
    return all(
        low < other_low + other_size and other_low < low + size
        for low, size, other_low, other_size in zip(some.low, some.size, other.low, other.size, strict=True)
    )
