"""Screws, brads and bolts, which hold joints: solids of no sheet.

          start                        A straight shank below a head, both round, and a bolt's nut at its tip. Pieces
___________|___________  0             and mesh follow one description, whose flat facets touch the metal from outside:
|        head         |                what is free of the pieces is free of the metal.
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
from .meshes.body import strip
from .meshes.mesh import Mesh, mesh_of
from .part import Part, Placement
from .profiles import hole_steps
from .roles import BOLT, BRAD, LEVELING_FOOT, POCKET_SCREW, SCREW, Role
from .solids.pieces import Pieces, Tag, from_planes

FastenerKind = Literal["screw", "brad", "pocket screw", "bolt", "leveling foot"]

_ROLES: Final[dict[FastenerKind, Role]] = {
    "screw": SCREW, "brad": BRAD, "pocket screw": POCKET_SCREW, "bolt": BOLT,
    "leveling foot": LEVELING_FOOT,
}  # fmt: skip


def role_of_kind(kind: FastenerKind) -> Role:
    """The role of a kind of fastener, which has its names and the first letters of its labels."""
    return _ROLES[kind]


Stretch = Literal["head", "shank", "nut"]


@dataclass(frozen=True)
class Sizes:
    """Sizes of a fastener, mm.

    Parameters
    ----------
    length : from the top of the head to the tip
    shank, head : diameters; the tip counts as thick as the shank, and the thread within it
    head_height : a countersunk head counts as a cylinder
    nut, nut_height : of a bolt's nut with its washer, which ends at the tip; 0 for none
    """

    length: float
    shank: float
    head: float
    head_height: float
    nut: float = 0.0
    nut_height: float = 0.0

    @cached_property
    def sections(self) -> tuple[tuple[float, float, float], ...]:
        """Diameter, from where and to where along the axis, of each stretch: head, shank and nut, where they are."""
        return tuple((diameter, top, tip) for _, diameter, top, tip in self.stretches)

    @cached_property
    def stretches(self) -> tuple[tuple[Stretch, float, float, float], ...]:
        """The same, with what each is."""
        top, tip = 0.0, self.length
        found: list[tuple[Stretch, float, float, float]] = []
        if self.head > self.shank and self.head_height > 0:
            top = self.head_height
            found.append(("head", self.head, 0.0, top))
        if self.nut > self.shank and self.nut_height > 0:
            tip -= self.nut_height
        found.append(("shank", self.shank, top, tip))
        if tip < self.length:
            found.append(("nut", self.nut, tip, self.length))
        return tuple(found)

    @property
    def facets(self) -> int:
        """How many flat facets stand for the round ones."""
        return max(hole_steps(diameter) for diameter, _, _ in self.sections)


@dataclass(frozen=True, eq=False)
class Fastener:
    """A screw, brad or bolt where it stands.

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
        return role_of_kind(self.kind)

    @property
    def name(self) -> str:
        """In words."""
        return self.role.one

    @property
    def sold_length(self) -> float:
        """What its maker calls its length, mm: without the head, where that is not sunk into the wood."""
        return self.sizes.length - (
            self.sizes.head_height if self.kind in ("pocket screw", "bolt", "leveling foot") else 0.0
        )

    @property
    def tip(self) -> Floats:
        """(3,) float, mm"""
        return np.asarray(self.start, dtype=float) + self.sizes.length * np.asarray(
            self.direction, dtype=float
        )

    @property
    def goes_with(self) -> str:
        """Label of the board under its head, with which it moves when a table is taken apart."""
        return self.joins[0]

    @cached_property
    def placement(self) -> Placement:
        """Where its own frame stands: w from its head to its tip, u level, so that its Euler angles are distinct."""
        direction = np.asarray(self.direction, dtype=float)
        across = np.cross(direction, np.eye(3)[1 if abs(direction[2]) > 0.9 else 2])
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
    return from_planes(sets, [Tag("", name) for name, _, _, _ in sizes.stretches])


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
