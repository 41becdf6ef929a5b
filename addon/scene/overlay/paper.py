"""Words over the view: on paper of the theme's colour, where there is room for them."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any, Final, NamedTuple

import blf
import gpu
from gpu_extras.batch import batch_for_shader

from . import layout, shader
from .colours import Colour, readable

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from .prepare import Overlay

LETTERS: Final = 12.0
"""Size of the letters, pixels at a resolution scale of 1."""
FONT: Final = 0
COVER: Final = 0.88
"""How much the paper covers of what lies behind it."""


class Tones(NamedTuple):
    """Colours of the theme, sRGB."""

    paper: Colour
    text: Colour


def tones(theme: Any) -> Tones:
    """The view's background for paper, its text's colour if that can be read on it."""
    space = theme.view_3d.space
    paper = tuple(space.gradients.high_gradient)[:3]
    return Tones(paper, readable(tuple(space.text), paper))


@cache
def _width(line: str, size: float) -> float:
    """Of a line in letters of this size, pixels."""
    blf.size(FONT, size)
    return float(blf.dimensions(FONT, line)[0])


@cache
def _square() -> Any:
    """One pixel, on the graphics card."""
    corners = {"pos": [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 0.0), (1.0, 1.0), (0.0, 1.0)]}
    return batch_for_shader(shader.plain(), "TRIS", corners)


def forget() -> None:
    """Drops what was sent to the graphics card."""
    _square.cache_clear()
    _width.cache_clear()


def write(
    overlay: Overlay, to_screen: NDArray[np.float64], size: tuple[int, int], scale: float, tones: Tones
) -> None:
    """Writes those texts that are in the view and do not cover one another, the most important ones first.

    Parameters
    ----------
    to_screen : (4, 4) float; from the table's frame to clip space
    size : of the region, pixels
    """
    height = LETTERS * scale
    measure = layout.Measure(lambda line: _width(line, height), height)
    blocks = layout.placed(
        overlay.texts, layout.projected(overlay.places, to_screen, size), size, scale, measure
    )
    plain, square = shader.plain(), _square()
    plain.bind()
    for block in blocks:
        for tone, alpha, low, extent in (
            (tones.paper, COVER, block.low, block.size),
            (block.text.tone, 1.0, block.low, (3.0 * scale, block.size[1])),
        ):
            with gpu.matrix.push_pop():
                gpu.matrix.translate(low)
                gpu.matrix.scale(extent)
                plain.uniform_float("color", (*tone, alpha))
                square.draw(plain)
    blf.size(FONT, height)
    blf.color(FONT, *tones.text, 1.0)
    for block in blocks:
        for line, (x, y) in zip(block.text.lines, block.feet, strict=True):
            blf.position(FONT, x, y, 0.0)
            blf.draw(FONT, line)
