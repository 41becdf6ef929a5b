"""The two points between which a clearance or an overlap is measured, for drawing it as a dimension."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..model.tolerances import CONTACT

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from .clearance.kernel import Contact, Overlap, Slide
    from .findings import Point, Span

    Floats = NDArray[np.float64]


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
