"""Joints: which two boards meet, with which faces, and what holds them together."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from ..sizes.arrays import Floats
from ..sizes.tolerances import ANGLE, CONTACT
from .features import End
from .part import Part

JointKind = Literal["butt", "miter", "groove", "face"]

Fastening = Literal["glue", "screw", "brad", "pocket screw", "bolt", "dry"]
"""What holds a joint: ``dry`` is nothing, as with a panel that is free to move in its grooves. A joint that is glued
may have screws or brads beside, which clamp it until the glue has set."""

BoardFace = Literal["front", "back", "lower edge", "upper edge", "start", "end"]
"""The faces of a board: ``front`` at w = 0, ``lower edge`` at v = 0, ``start`` at u = 0, and those across from them."""

_FACES: Final[tuple[tuple[BoardFace, BoardFace], ...]] = (
    ("start", "end"), ("lower edge", "upper edge"), ("front", "back")
)  # fmt: skip
"""For each axis of a board the face on its lower side, and the one on its upper side."""


@dataclass(frozen=True)
class Joint:
    """Two parts that meet. `part_end` tells which end of part `a` seats on part `b`, if it is an end at all.

    Parameters
    ----------
    a, b : labels
    kind : ``butt`` (an end or edge against a face), ``miter``, ``groove`` (captured), ``face`` (face to face)
    part_end : end of `a`'s length, or None
    gap : the distance that the drawing leaves between the two, mm
    fastening : what holds the two together
    faces : those of `a` and `b` that meet, where they are not those that look at each other from nearest
    """

    a: str
    b: str
    kind: JointKind
    part_end: End | None = None
    gap: float = 0.0
    fastening: Fastening = "glue"
    faces: tuple[BoardFace, BoardFace] | None = None

    def faces_of(self, a: Part, b: Part) -> tuple[BoardFace, BoardFace] | None:
        """The faces of its two parts that meet: of a mitered corner the ends, of a groove the face that it is cut into.

        None where the boards stand askew to each other, or no two faces lie over each other.
        """
        if self.faces is not None:
            return self.faces
        if self.kind == "miter" and self.part_end is not None:
            return facing_ends(a, self.part_end, b)
        return meeting_faces(a, b)


def meeting_faces(a: Part, b: Part) -> tuple[BoardFace, BoardFace] | None:
    """The faces of two square-edged blanks that look at each other from nearest, one perhaps captured in the other.

    None where the boards stand askew to each other, or no two faces lie over each other.
    """
    placed = _in_frame(a, b)
    if placed is None:
        return None
    size = b.shape.blank
    box = [(size.low[0], size.high[0]), (size.low[1], size.high[1]), (0.0, size.thickness)]
    found: list[tuple[float, BoardFace, BoardFace]] = []
    for axis, (own, sign, low, high) in enumerate(placed):
        others = [(placed[k], box[k]) for k in range(3) if k != axis]
        if any(min(one[3], top) - max(one[2], bottom) <= CONTACT for one, (bottom, top) in others):
            continue
        found.append((abs(box[axis][0] - high), _FACES[own][sign > 0], _FACES[axis][0]))
        found.append((abs(low - box[axis][1]), _FACES[own][sign < 0], _FACES[axis][1]))
    return min(found)[1:] if found else None


def _in_frame(a: Part, b: Part) -> list[tuple[int, float, float, float]] | None:
    """For each axis of `b` the axis of `a` along it, its sign, and where a's blank begins and ends there, mm."""
    turn = (b.placement.axes @ a.placement.axes.T).tolist()
    off = (b.placement.axes @ (a.placement.origin - b.placement.origin)).tolist()
    size = a.shape.blank
    box = [(size.low[0], size.high[0]), (size.low[1], size.high[1]), (0.0, size.thickness)]
    found = []
    for row, at in zip(turn, off, strict=True):
        own = max(range(3), key=lambda k: abs(row[k]))
        if abs(row[own]) < 1.0 - ANGLE:
            return None
        low, high = sorted(at + row[own] * end for end in box[own])
        found.append((own, row[own], low, high))
    return found


def facing_ends(a: Part, end: End, b: Part) -> tuple[BoardFace, BoardFace]:
    """The ends of two mitered boards that meet: that of `a`, and the one of `b` that is nearer to it."""
    here, (start, stop) = _middles_of_ends(a)[int(end == "end")], _middles_of_ends(b)
    return end, "start" if np.linalg.norm(start - here) < np.linalg.norm(stop - here) else "end"


def _middles_of_ends(part: Part) -> Floats:
    """(2, 3) float, mm: the middles of a blank's start and end, in the table."""
    size = part.shape.blank
    v, w = (size.low[1] + size.high[1]) / 2, size.thickness / 2
    return part.placement.to_table(np.array([(size.low[0], v, w), (size.high[0], v, w)]))
