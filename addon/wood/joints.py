"""Joints: which two boards meet, with which faces, and the screws and brads that hold them, solids of no sheet.

          start                        A straight shank below a head, both round. Pieces and mesh follow one
___________|___________  0             description, whose flat facets touch the metal from outside: what is free of
|        head         |                the pieces is free of the metal.
|_____________________|  head_height
        |     |
        |shank|
        |_____|          length
           |
           V direction
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache
from math import cos, pi
from typing import Final, Literal

import numpy as np

from ..sizes.arrays import Floats
from ..sizes.tolerances import ANGLE, CONTACT
from .features import End
from .meshes.body import strip
from .meshes.mesh import Mesh, mesh_of
from .part import Part, Placement
from .profiles import hole_steps
from .roles import BRAD, SCREW, Role
from .solids.pieces import Pieces, Tag, from_planes

JointKind = Literal["butt", "miter", "groove", "face"]

Fastening = Literal["glue", "screw", "brad", "dry"]
"""What holds a joint: ``dry`` is nothing, as with a panel that is free to move in its grooves."""

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


FastenerKind = Literal["screw", "brad"]

_ROLES: Final[dict[FastenerKind, Role]] = {"screw": SCREW, "brad": BRAD}


@dataclass(frozen=True)
class Sizes:
    """Sizes of a fastener, mm.

    Parameters
    ----------
    length : from the top of the head to the tip
    shank, head : diameters; the tip counts as thick as the shank, and the thread within it
    head_height : a countersunk head counts as a cylinder
    """

    length: float
    shank: float
    head: float
    head_height: float

    @cached_property
    def sections(self) -> tuple[tuple[float, float, float], ...]:
        """Diameter, from where and to where along the axis, of each stretch."""
        if self.head <= self.shank or self.head_height <= 0:
            return ((self.shank, 0.0, self.length),)
        return (self.head, 0.0, self.head_height), (self.shank, self.head_height, self.length)

    @property
    def facets(self) -> int:
        """How many flat facets stand for the round ones."""
        return max(hole_steps(diameter) for diameter, _, _ in self.sections)


@dataclass(frozen=True, eq=False)
class Fastener:
    """A screw or brad where it stands.

    Parameters
    ----------
    label : such as ``SCR1``; no part's
    start : (3,) float, mm; middle of the top of its head
    direction : (3,) float, of length 1; from the head to the tip
    joins : labels of the boards that it joins, the one under its head first
    """

    label: str
    kind: FastenerKind
    start: Floats
    direction: Floats
    sizes: Sizes
    joins: tuple[str, ...]

    @property
    def role(self) -> Role:
        """What it is for, as of a part."""
        return _ROLES[self.kind]

    @property
    def name(self) -> str:
        """In words."""
        return self.role.one

    @property
    def goes_with(self) -> str:
        """Label of the board under its head, with which it moves when a table is taken apart."""
        return self.joins[0]

    @cached_property
    def placement(self) -> Placement:
        """Where its own frame stands: w from its head to its tip."""
        direction = np.asarray(self.direction, dtype=float)
        across = np.cross(direction, np.eye(3)[int(np.abs(direction).argmin())])
        across /= np.linalg.norm(across)
        return Placement(
            np.asarray(self.start, dtype=float), np.array([across, np.cross(direction, across), direction])
        )

    @property
    def mesh(self) -> Mesh:
        """Its surface, in its own frame."""
        return _mesh(self.sizes)

    @property
    def pieces(self) -> Pieces:
        """Its convex pieces where it stands, mm."""
        return _pieces(self.sizes).transformed(self.placement.axes, self.placement.origin)

    @property
    def box(self) -> tuple[Floats, Floats]:
        """Corners of its bounding box, (3,) float each, mm."""
        pieces = self.pieces
        return pieces.low.min(axis=0), pieces.high.max(axis=0)


Body = Part | Fastener
"""What takes up space in an assembly."""


def mesh_of_body(body: Body) -> Mesh:
    """The surface of a part or fastener in its own frame. Raises PartError where a part has no sound section."""
    return body.mesh if isinstance(body, Fastener) else mesh_of(body.shape)


def _ring(diameter: float, count: int) -> Floats:
    """(count, 2) float, mm: corners of a regular polygon whose sides touch a circle from outside."""
    angles = (2 * np.arange(count) + 1) * pi / count
    return diameter / 2 / cos(pi / count) * np.stack([np.cos(angles), np.sin(angles)], axis=1)


@lru_cache(maxsize=64)
def _pieces(sizes: Sizes) -> Pieces:
    count = sizes.facets
    angles = 2 * np.arange(1, count + 1) * pi / count
    sets = []
    for diameter, top, tip in sizes.sections:
        planes = np.zeros((count + 2, 4))
        planes[:count, 0], planes[:count, 1], planes[:count, 3] = np.cos(angles), np.sin(angles), diameter / 2
        planes[count:, 2], planes[count:, 3] = (-1.0, 1.0), (-top, tip)
        sets.append(planes)
    names = ("head", "shank")[-len(sets) :]
    return from_planes(sets, [Tag("", name) for name in names])


@lru_cache(maxsize=64)
def _mesh(sizes: Sizes) -> Mesh:
    """Rings from the head to the tip, the walls between them, and a cover at either end."""
    count = sizes.facets
    levels = [(diameter, at) for diameter, top, tip in sizes.sections for at in (top, tip)]
    points = np.concatenate(
        [np.column_stack([_ring(diameter, count), np.full(count, at)]) for diameter, at in levels]
    )
    walls, patch = strip(len(levels), count)
    fan = np.array([(0, at, at + 1) for at in range(1, count - 1)], dtype=np.int32)
    last = (len(levels) - 1) * count
    triangles = np.concatenate([fan[:, ::-1], fan + np.int32(last), walls])
    covers = np.repeat(np.array([0, 1], dtype=np.int32), len(fan))
    return Mesh(points, triangles, np.concatenate([covers, patch + np.int32(2)]))
