"""Words over the view: on paper of the theme's color, where there is room for them."""

from __future__ import annotations

from functools import cache, lru_cache
from typing import TYPE_CHECKING, Any, Final, NamedTuple

import blf
import numpy as np
from gpu_extras.batch import batch_for_shader

from . import layout, shader
from .colors import Color, readable

if TYPE_CHECKING:
    from mathutils import Matrix
    from numpy.typing import NDArray

    from .prepare import Overlay

LETTERS: Final = 12.0
"""Size of the letters, pixels at a resolution scale of 1."""
FONT: Final = 0
COVER: Final = 0.88
"""How much the paper covers of what lies behind it."""


class Tones(NamedTuple):
    """Colors of the theme, sRGB."""

    paper: Color
    text: Color


def tones(theme: Any) -> Tones:
    """The view's background for paper, its text's color if that can be read on it."""
    space = theme.view_3d.space
    return _tones(tuple(space.gradients.high_gradient)[:3], tuple(space.text))


@cache
def _tones(paper: Color, text: Color) -> Tones:
    return Tones(paper, readable(text, paper))


def forget() -> None:
    """Drops what was sent to the graphics card, and widths."""
    _words.cache_clear()
    _tones.cache_clear()
    _last.clear()


def write(
    overlay: Overlay, to_screen: Matrix, size: tuple[int, int], free: int, scale: float, tones: Tones
) -> None:
    """Writes those texts that are in the view and do not cover one another, the most important ones first.

    Parameters
    ----------
    to_screen : from the table's frame to clip space
    size : of the region, pixels
    free : how much of its width, from the left, is seen, pixels
    """
    key = (overlay, to_screen, size, free, scale, tones)
    if _last.get("key") != key:
        at, ends = _seen(overlay, to_screen, size)
        blocks = layout.placed(_words(overlay, scale), at, ends, (free, size[1]))
        _last.update(key=key, blocks=blocks, sheets=_sheets(blocks, tones, 3.0 * scale))
    _last["sheets"].draw(shader.painted())
    blf.size(FONT, LETTERS * scale)
    blf.color(FONT, *tones.text, 1.0)
    for block in _last["blocks"]:
        for line, (x, y) in zip(block.text.lines, block.feet, strict=True):
            blf.position(FONT, x, y, 0.0)
            blf.draw(FONT, line)


_last: Final[dict[str, Any]] = {}
"""Where the words stood when they were last drawn; while the view rests, they stay."""


@lru_cache(maxsize=2)
def _words(overlay: Overlay, scale: float) -> layout.Words:
    height = LETTERS * scale
    blf.size(FONT, height)
    measure = layout.Measure(lambda line: float(blf.dimensions(FONT, line)[0]), height)
    return layout.words(overlay.texts, scale, measure)


def _seen(overlay: Overlay, to_screen: Matrix, size: tuple[int, int]) -> NDArray[np.float64]:
    """(2, t, 2) float, pixels; where the texts' places, and the ends of their ways, are seen."""
    return layout.projected(overlay.places, np.array(to_screen), size).reshape(2, -1, 2)


def _sheets(blocks: list[layout.Block], tones: Tones, bar: float) -> Any:
    """The paper of all words, with a bar of the severity's color at the side of its mark, on the graphics card."""
    places, paints = [], []
    for block in blocks:
        left, low, right, top = block.box
        paints_of = ((left, right), (*tones.paper, COVER)), (block.bar(bar), (*block.text.tone, 1.0))
        for (x, to), paint in paints_of:
            places += [(x, low), (to, low), (to, top), (x, low), (to, top), (x, top)]
            paints += [paint] * 6
    return batch_for_shader(shader.painted(), "TRIS", {"pos": places, "color": paints})
