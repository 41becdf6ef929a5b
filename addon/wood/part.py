"""A part: a board, what is cut into it, and where it stands.

A part lives in its own frame: u along its length, v across, w through the thickness. The front face lies at
w = 0, the back face at w = thickness. What can be cut into it stands in `features`, and is turned into solids
elsewhere (`solids/`, `meshes/`).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from functools import cache, cached_property
from typing import Literal, TypeVar

import numpy as np

from ..sizes.arrays import Floats
from .features import (
    AngledHole,
    Bevel,
    Blank,
    Dimension,
    EdgeTreatment,
    Feature,
    Groove,
    Hole,
    Opening,
    Taper,
)
from .roles import Role
from .stock import Stock

Datum = Literal["front", "middle", "back"]
"""The face, or the middle between both, that keeps its place when a board is thicker or thinner than drawn."""

_Kind = TypeVar("_Kind", bound=Feature)


@dataclass(frozen=True)
class Shape:
    """The solid of a part in its own frame, without name or place; equal shapes are built once.

    A board, and one list of all that is cut into it. Who needs the features of one kind asks for them here.
    """

    outline: tuple[tuple[float, float], ...]
    """Corners (u, v), counter-clockwise."""
    thickness: float
    features: tuple[Feature, ...] = ()

    @cached_property
    def _hash(self) -> int:
        return hash((self.outline, self.thickness, self.features))

    def __hash__(self) -> int:
        return self._hash

    @cached_property
    def blank(self) -> Blank:
        """The board before anything is cut into it."""
        return Blank(self.outline, self.thickness)

    @cached_property
    def openings(self) -> tuple[Opening, ...]:
        """Slots, windows and notches."""
        return self._of_kind(Opening)

    @cached_property
    def grooves(self) -> tuple[Groove, ...]:
        """Grooves, dadoes, rabbets and recesses."""
        return self._of_kind(Groove)

    @cached_property
    def holes(self) -> tuple[Hole, ...]:
        """Round holes square to the faces."""
        return self._of_kind(Hole)

    @cached_property
    def edges(self) -> tuple[EdgeTreatment, ...]:
        """Chamfers and round-overs."""
        return self._of_kind(EdgeTreatment)

    @cached_property
    def tapers(self) -> tuple[Taper, ...]:
        """Sloping faces."""
        return self._of_kind(Taper)

    @cached_property
    def edge_cuts(self) -> tuple[EdgeTreatment | Taper, ...]:
        """All that is cut along an edge from one of the faces."""
        return (*self.edges, *self.tapers)

    @cached_property
    def angled_holes(self) -> tuple[AngledHole, ...]:
        """Holes at an angle to a face."""
        return self._of_kind(AngledHole)

    @cached_property
    def bevels(self) -> tuple[Bevel, ...]:
        """Sloping edge faces."""
        return self._of_kind(Bevel)

    def _of_kind(self, kind: type[_Kind]) -> tuple[_Kind, ...]:
        return tuple(feature for feature in self.features if type(feature) is kind)

    def without(self, *kinds: type[Feature]) -> Shape:
        """The same without features of some kinds."""
        return self.with_features(feature for feature in self.features if type(feature) not in kinds)

    def with_features(self, features: Iterable[Feature]) -> Shape:
        """The same board with other features; itself where they are as many as its own."""
        kept = tuple(features)
        return self if len(kept) == len(self.features) else Shape(self.outline, self.thickness, kept)

    @cached_property
    def bare(self) -> Shape:
        """The shape without holes and closed openings, on which its outer walls do not depend."""
        return self.with_features(feature for feature in self.features if not _is_way_through_faces(feature))

    @property
    def is_rectangle(self) -> bool:
        """Whether the outline is that of a plain board, as `rectangle` makes it."""
        (u, v), *_ = self.outline
        length, width, _ = self.size
        return self.outline == ((u, v), (u + length, v), (u + length, v + width), (u, v + width))

    @cached_property
    def size(self) -> tuple[float, float, float]:
        """Length, width and thickness of the blank, mm."""
        us, vs = zip(*self.outline, strict=True)
        return max(us) - min(us), max(vs) - min(vs), self.thickness

    @cached_property
    def dimensions(self) -> tuple[Dimension, ...]:
        """All dimensions of the board and of its features, in order."""
        found = list(self.blank.dimensions())
        for number, feature in enumerate(self.features):
            found += [replace(one, number=number) for one in feature.dimensions(self.blank)]
        return tuple(found)

    def resized(self, dimension: Dimension, by: float, at_start: bool) -> Shape:
        """The shape with one of its dimensions greater by some mm (or degrees), and nothing else changed.

        What is on a board that grows at its start is counted from the new start, and so keeps its place.
        """
        if dimension.number is not None and dimension.changed is not None:
            changed = dimension.changed(by, at_start)
            if isinstance(changed, Blank):
                return replace(self, outline=changed.outline)
            features = list(self.features)
            features[dimension.number] = changed
            return replace(self, features=tuple(features))
        if dimension.name == "thickness":
            share = (self.thickness + by) / self.thickness
            thicker = tuple(feature.thickened(share) for feature in self.features)
            return Shape(self.outline, self.thickness + by, thicker)
        blank, stretch = self.blank.stretched(0 if dimension.name == "length" else 1, by, at_start)
        return Shape(
            blank.outline, self.thickness, tuple(feature.stretched(stretch) for feature in self.features)
        )


def _is_way_through_faces(feature: Feature) -> bool:
    """Whether it touches none of the board's outer walls."""
    if isinstance(feature, Opening):
        return not feature.is_notch
    return isinstance(feature, Hole | AngledHole)


def rectangle(length: float, width: float) -> tuple[tuple[float, float], ...]:
    """The outline of a plain board; edge 0 is its lower long edge, 1 its end, 2 its upper long edge, 3 its start."""
    return ((0.0, 0.0), (length, 0.0), (length, width), (0.0, width))


@dataclass(frozen=True, eq=False)
class Placement:
    """Where a part stands in the table: `x = origin + u·axes[0] + v·axes[1] + w·axes[2]`."""

    origin: Floats
    """(3,) float, mm"""
    axes: Floats
    """(3, 3) float; rows are the directions of u, v and w, right-handed and orthonormal."""

    @classmethod
    def along(cls, u: str, v: str, origin: tuple[float, float, float]) -> Placement:
        """A placement whose u and v run along table axes such as ``"+x"`` or ``"-y"``."""
        return cls(np.array(origin, dtype=float), _axes(u, v))

    def to_table(self, points: Floats) -> Floats:
        """(n, 3) float, part frame, to (n, 3) float in table coordinates, mm."""
        return np.asarray(points) @ self.axes + self.origin

    def to_part(self, points: Floats) -> Floats:
        """(n, 3) float, table coordinates, to (n, 3) float in the part's frame, mm."""
        return (np.asarray(points) - self.origin) @ self.axes.T

    def moved(self, offset: Floats) -> Placement:
        """The same placement shifted by (3,) float, mm."""
        return Placement(self.origin + np.asarray(offset, dtype=float), self.axes)


@cache
def _axes(u: str, v: str) -> Floats:
    along_u, along_v = _direction(u), _direction(v)
    axes = np.array([along_u, along_v, np.cross(along_u, along_v)])
    axes.flags.writeable = False
    return axes


def _direction(name: str) -> Floats:
    vector = np.zeros(3)
    vector["xyz".index(name[1])] = 1.0 if name[0] == "+" else -1.0
    return vector


@dataclass(frozen=True)
class GluedStrip:
    """A strip glued flat onto a board's face, such as a leaf's rim; mm. The part's shape includes it."""

    length: float
    width: float
    height: float
    count: int = 1


@dataclass(frozen=True, eq=False)
class Part:
    """One board of the table."""

    label: str
    """Short code that goes on the part with a pencil, such as ``S1`` or ``R3``; unique in the table."""
    kind: str
    """What it is, in words: ``through rib``, ``leg board``."""
    role: Role
    stock: Stock
    shape: Shape
    placement: Placement
    """In the table; a leaf's is its stow position (home)."""
    grain: Literal["u", "v"] = "u"
    drawn: Shape | None = field(default=None, repr=False)
    """The shape before any `as_cut` entry changed it; None when nothing did."""
    drawn_placement: Placement | None = field(default=None, repr=False)
    carried: Floats | None = field(default=None, repr=False)
    """(3,) float mm: how far it stands elsewhere than drawn because what it is glued to or seated on does."""
    strips: tuple[GluedStrip, ...] = ()
    """What is glued onto the board; all of one height."""
    datum: Datum = "middle"
    of: str = ""
    """Label of the part that it serves, such as the leaf of an end stop."""
    which: tuple[str, ...] = ()
    """Which of its kind it is, in words: ``front left``, ``long side``."""
    number: int | None = None
    """Its place among the labels that begin as its own does, from 1; None where its label was given otherwise."""

    given: bool = False
    """Whether it is one of the maker's own, for which what the design makes makes way."""

    @property
    def short_name(self) -> str:
        """The kind, and what it serves: ``end stop of L3``."""
        return f"{self.kind} of {self.of}" if self.of else self.kind

    @property
    def name(self) -> str:
        """All that tells it from others, in words: ``leg board, front left, long side``."""
        return ", ".join((self.short_name, *self.which))

    @property
    def board(self) -> tuple[float, float, float]:
        """Length, width and thickness of the board that is cut from the sheet, without strips, mm."""
        length, width, thickness = self.shape.size
        return length, width, thickness - max((strip.height for strip in self.strips), default=0.0)

    @cached_property
    def box(self) -> tuple[Floats, Floats]:
        """Low and high corner of the box around it in the table, (3,) float each, mm."""
        blank = self.shape.blank
        ends = self.placement.to_table(np.array([[*blank.low, 0.0], [*blank.high, blank.thickness]]))
        return ends.min(axis=0), ends.max(axis=0)

    @property
    def drawn_shape(self) -> Shape:
        """The shape as designed."""
        return self.drawn or self.shape


def datum_of(role: Role, shape: Shape, placement: Placement) -> Datum:
    """What keeps its place when a board is thicker than drawn, as its role says: `Role.keeps` on this very board."""
    if role.keeps == "outer face":
        return "back" if any(groove.face == "front" for groove in shape.grooves) else "front"
    if role.keeps == "lower face":
        return "front" if placement.axes[2][2] >= 0 else "back"
    return "middle"
