"""Parts of an exploded view where they end up, and the lines between them, on the paper."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from ...model.tolerances import CONTACT
from ..drawing.dimensions import chain
from ..lines.hidden import seen_through_air
from .ways import ways_home

if TYPE_CHECKING:
    from collections.abc import Collection

    from numpy.typing import NDArray

    from ...fit.explosion.explosion import Explosion
    from ...model.part import Placement
    from ..drawing import Drawing
    from ..lines.layout import Layout
    from ..lines.surface import Surface

    Floats = NDArray[np.float64]

_WAY: Final = chain(0.18)
"""Line 04.1 of ISO 128-2 (from memory), narrower than edges."""


_SHORT: Final = 4.0
"""Length below which a piece is left out, mm on the paper: less than a dash."""

CLEAR: Final = 0.35
"""Least distance of a leader's dot from the middle of any line where parts are small, mm on the paper: a dot on the
line of its own part says still which part it is."""


def places_at_the_end(explosion: Explosion, shown: Collection[str]) -> dict[str, Placement]:
    """Label → where a part stands when all is taken apart."""
    assembly = explosion.layout.assembly
    return {
        label: assembly.cover.get(label, assembly.by_label[label].placement).moved(
            explosion.offset_at(label, 1.0)
        )
        for label in shown
    }


def draw_ways(
    drawing: Drawing, explosion: Explosion, surface: Surface, layout: Layout, shown: Collection[str]
) -> Floats:
    """Puts the lines from part to part on the sheet; returns them, (n, 2, 2) float mm on the paper.

    Short pieces of a line that are seen between other parts, far from its ends, are left out.
    """
    ways = ways_home(explosion, shown) @ surface.axes.T
    seen = seen_through_air(surface, ways)
    apart = np.linalg.norm(seen[:, :, None] - ways.reshape(-1, 3), axis=3)
    at_end = (apart < CONTACT).any(axis=(1, 2))
    flat = seen[:, :, :2] * layout.scale + layout.place
    long = np.linalg.norm(flat[:, 1] - flat[:, 0], axis=1) >= _SHORT
    drawn = flat[long | at_end]
    drawing.strokes(list(drawn), _WAY, name="ways")
    return drawn
