"""Sizes that screws and brads are sold in, what is drilled for them, and which length two boards take.

Diameters of inch screws are those of ASME B18.6.1, 0.060 + 0.013 N inches for number N; lead holes are those of a
toolmakers' table for hardwood (tables differ: a lead hole is as wide as the screw's root, measure yours). Lengths and
metric sizes are common practice, no source.
"""

from __future__ import annotations

from math import cos, radians, sin, tan
from typing import Final, NamedTuple

from ..sizes.tolerances import CONTACT
from ..sizes.units import MM_PER_INCH, Units
from .fasteners import FastenerKind, Sizes


class ScrewSize(NamedTuple):
    """A diameter, mm, what it is called, and the drills for its lead hole and for its shank in the board under its
    head, in words."""

    diameter: float
    name: str
    lead: str
    body: str


def gauge(number: int) -> float:
    """Diameter of an inch screw of a number, mm (ASME B18.6.1)."""
    return (0.060 + 0.013 * number) * float(MM_PER_INCH)


SCREWS: Final[dict[Units, tuple[ScrewSize, ...]]] = {
    "mm": (
        ScrewSize(4.0, "4 mm", "2.5 mm", "4.5 mm"),
        ScrewSize(3.5, "3.5 mm", "2 mm", "4 mm"),
        ScrewSize(3.0, "3 mm", "2 mm", "3.5 mm"),
    ),
    "in": (
        ScrewSize(gauge(8), "#8", "7/64 in", "11/64 in"),
        ScrewSize(gauge(6), "#6", "3/32 in", "9/64 in"),
        ScrewSize(gauge(4), "#4", "5/64 in", "1/8 in"),
    ),
}
"""Thickest first."""

_INCHES: Final = tuple(
    float(MM_PER_INCH) * size for size in (0.5, 0.625, 0.75, 1, 1.25, 1.5, 1.75, 2, 2.5, 3)
)
LENGTHS: Final[dict[Units, tuple[float, ...]]] = {
    "mm": (12.0, 16.0, 20.0, 25.0, 30.0, 35.0, 40.0, 45.0, 50.0, 60.0, 70.0, 80.0),
    "in": _INCHES,
}
"""Of screws, mm."""

BRADS: Final[dict[Units, tuple[float, ...]]] = {
    "mm": (10.0, 12.0, 15.0, 18.0, 20.0, 25.0, 30.0, 32.0, 35.0, 38.0, 40.0, 45.0, 50.0),
    "in": _INCHES[:8],
}
"""Of 18 gauge brads, 10 to 50 mm (a guide to fasteners)."""

POCKETS: Final = ((1 / 2, 1), (5 / 8, 1), (3 / 4, 1.25), (7 / 8, 1.5), (1, 1.5), (1.25, 2), (1.5, 2.5))
"""Thickness of the board with the pocket → length of the screw, inches (common practice, no source)."""

_POCKET_LENGTHS: Final[dict[Units, tuple[float, ...]]] = {
    "mm": (20.0, 25.0, 32.0, 38.0, 50.0, 64.0),
    "in": tuple(float(MM_PER_INCH) * size for size in (0.75, 1, 1.25, 1.5, 2, 2.5)),
}

POCKET_ANGLE: Final = 15.0
"""Between a pocket and the face, degrees (common practice, no source)."""

WOOD_AT_SEAT: Final = 0.7
"""Share of the board's thickness that stays between a pocket's seat and its end, along the axis: what the head pulls on
(common practice, no source)."""

PAN_HEAD: Final = 2.5
"""Height of a pocket screw's head, mm."""


def longest(lengths: tuple[float, ...], most: float) -> float:
    """The longest that is sold and no longer than so much; the shortest of all where none is."""
    return max((one for one in lengths if one <= most + CONTACT), default=lengths[0])


def screw_length(units: Units, head: float, other: float, margin: float) -> float:
    """Of a countersunk screw through `head` mm of one board into `other` of the next: its tip stays `margin` below the
    far face, and it is no more than two and a half times as long as the first board is thick."""
    return longest(LENGTHS[units], min(head + other - margin, 2.5 * head))


def brad_length(units: Units, head: float, other: float, margin: float) -> float:
    """About three times the thickness of the held board, and shorter than both together by `margin`."""
    return longest(BRADS[units], min(3.0 * head, head + other - margin))


def pocket_length(units: Units, thickness: float, other: float, margin: float) -> float:
    """By the thickness of the board with the pocket, but no longer than lets its tip stay `margin` below the far face
    of the other: it goes in at an angle, so deep as the cosine of that says."""
    by_board = next((long for thick, long in POCKETS if thickness <= (thick + 1 / 32) * 25.4), 2.5) * 25.4
    most = seat_distance(thickness) + (other - margin) / cos(radians(POCKET_ANGLE))
    return longest(_POCKET_LENGTHS[units], min(by_board + 1.0, most))


def seat_distance(thickness: float) -> float:
    """From a pocket's seat to the board's end, along the axis, mm."""
    return WOOD_AT_SEAT * thickness


def penetration(length: float, seat: float, angle: float = POCKET_ANGLE) -> tuple[float, float]:
    """How deep, and how far aside, the tip of a screw at an angle ends past the joint, mm.

    Parameters
    ----------
    length : from under its head
    seat : from there to the joint, along the axis
    angle : between its axis and the joint's normal, degrees
    """
    past = length - seat
    return past * cos(radians(angle)), past * sin(radians(angle))


def pocket_inset(thickness: float) -> float:
    """From the board's end to where a pocket's axis meets the face, so that it leaves the end in its middle, mm."""
    return thickness / 2 / tan(radians(POCKET_ANGLE))


def pocket_depth(thickness: float) -> float:
    """Of the bore along its axis, from the face to its seat, mm: where the collar is set on the drill."""
    return thickness / 2 / sin(radians(POCKET_ANGLE)) - seat_distance(thickness)


def sizes_of(kind: FastenerKind, length: float, diameter: float, head: float | None = None) -> Sizes:
    """A fastener of a length as it is sold; heads are twice as wide as the shank, brads have next to none."""
    wide = 2 * diameter if head is None else head
    if kind == "brad":
        return Sizes(length, diameter, diameter if head is None else head, 1.0)
    if kind == "pocket screw":
        return Sizes(length + PAN_HEAD, diameter, wide, PAN_HEAD)
    if kind == "bolt":
        high = 0.65 * diameter
        return Sizes(length + high, diameter, wide, high, wide, 0.8 * diameter)
    return Sizes(length, diameter, wide, max((wide - diameter) / 2, 0.1))
