"""The two points between which a clearance or an overlap is measured, and the room that a leaf takes up on its way.

Both are for drawing: a dimension, and a box from the outer face of the side that the leaf enters.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ..sizes.arrays import Floats
from ..sizes.tolerances import CONTACT
from ..wood.assembly import StowPath
from .causes import Point
from .clearance.kernel import Contact, Overlap, Slide
from .facts import Span
from .prepared import Prepared


def span_of_way(slides: list[Slide], part: int, contact: Contact) -> Span:
    """Nearest points of a leaf and a part at the moment of `contact`.

    Where the leaf's way overlaps the part: the points that would part last on the shortest move that takes them apart.

    Parameters
    ----------
    slides : those of the leaf's moves
    part : number of the part, whose clearance is exact in the slide of `contact`
    """
    if contact.clearance >= -CONTACT:
        return point(contact.on_mover), point(contact.on_part)
    found = (slide.separation(part) for slide in slides if slide.exact[part])
    deepest = min(found, key=lambda separation: separation.distance)
    return point(deepest.point_a), point(deepest.point_b)


def span_of_overlap(found: Overlap) -> Span:
    """The points of two parts that would part last on the shortest move that takes them apart."""
    half = found.depth / 2 * found.axis
    return point(found.place + half), point(found.place - half)


def point(place: Floats) -> Point:
    """(3,) float, mm, as plain numbers."""
    return float(place[0]), float(place[1]), float(place[2])


@dataclass(frozen=True)
class Passage:
    """A box that a leaf needs for itself on one of its moves; corners in table coordinates, mm."""

    leaf: str
    low: Point
    high: Point


def passages(prepared: Prepared) -> list[Passage]:
    """One box for each move of each leaf: what its bounding box sweeps, without what lies outside the table.

    The table ends at the outer face of the side with the leaf's slot, or at the leaf's own end where it stands proud.
    """
    return [one for path in prepared.assembly.stow_paths for one in _of_leaf(prepared, path)]


def _of_leaf(prepared: Prepared, path: StowPath) -> Iterator[Passage]:
    low, high = prepared.bounds(path.leaf)
    side_low, side_high = prepared.bounds(path.side)
    axis = int(np.abs(path.outward).argmax())
    for move in path.moves:
        start = low + np.minimum(move.start, move.end)
        end = high + np.maximum(move.start, move.end)
        if path.outward[axis] > 0:
            end[axis] = min(end[axis], max(side_high[axis], high[axis]))
        else:
            start[axis] = max(start[axis], min(side_low[axis], low[axis]))
        if (end - start > CONTACT).all():
            yield Passage(path.leaf, point(start), point(end))
