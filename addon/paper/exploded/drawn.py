"""Parts of an exploded view where they end up, and the lines between them, on the paper.

The lines of an exploded view: from each part to what it goes onto, along the way that it takes.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from ...check.apart.blocking import DIRECTIONS
from ...sizes.tolerances import CONTACT
from ..lines.hidden import seen_through_air
from ..sheet.dimensions import chain

if TYPE_CHECKING:
    from collections.abc import Collection

    from numpy.typing import NDArray

    from ...check.apart.explosion import Explosion
    from ...check.apart.graph import Departure
    from ...wood.part import Placement
    from ..lines.layout import Layout
    from ..lines.surface import Surface
    from ..sheet import Drawing

    Floats = NDArray[np.float64]


def ways_home(explosion: Explosion, shown: Collection[str]) -> Floats:
    """(n, 2, 3) float, mm in the table's axes: through the air from shown units to those that they hang on.

    Each line lies in the middle of where the two lie across the way most broadly over each other, and ends at both.
    """
    units, graph = explosion.layout.units, explosion.layout.graph
    there = {units.of[label] for label in shown}
    found = [_way(explosion, one) for one in graph.departures if one.unit in there and one.parent in there]
    return np.array([way for way in found if way is not None]).reshape(-1, 2, 3)


def _way(explosion: Explosion, one: Departure) -> Floats | None:
    """From what a unit hangs on to the unit; None where neither is beside the other, or they are not apart."""
    axis = DIRECTIONS.index(one.direction) % 3
    sign = 1.0 if one.direction[0] == "+" else -1.0
    low, high = _boxes(explosion, one.unit)
    low_below, high_below = _boxes(explosion, one.parent)
    shared_low, shared_high = np.maximum(low[:, None], low_below), np.minimum(high[:, None], high_below)
    size = np.delete(shared_high - shared_low, axis, axis=2)
    area = np.where((size > 0).all(axis=2), size.prod(axis=2), 0.0)
    # Of pieces that lie over each other alike, those that face each other.
    near = (low[:, None, axis] if sign > 0 else -high[:, None, axis]) - (
        high_below[:, axis] if sign > 0 else -low_below[:, axis]
    )
    broad = area >= 0.999 * area.max()
    if not area.max() > 0:
        return None
    piece, below = np.unravel_index(np.where(broad, np.abs(near), np.inf).argmin(), area.shape)
    start = (shared_low + shared_high)[piece, below] / 2
    end = start.copy()
    start[axis] = high_below[below, axis] if sign > 0 else low_below[below, axis]
    end[axis] = low[piece, axis] if sign > 0 else high[piece, axis]
    way = np.array([start + explosion.offsets[one.parent], end + explosion.offsets[one.unit]])
    return way if sign * (way[1] - way[0])[axis] > 0 else None


def _boxes(explosion: Explosion, unit: int) -> tuple[Floats, Floats]:
    """(n, 3) float each, mm: corners of the boxes of a unit's pieces, stowed."""
    blocking = explosion.layout.blocking
    pieces = [blocking.pieces[blocking.number[label]] for label in explosion.layout.units.members[unit]]
    return np.concatenate([one.low for one in pieces]), np.concatenate([one.high for one in pieces])


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
