"""A part: a board with its outline, openings, grooves, holes and eased edges, and where it stands.

A part lives in its own frame: u along its length, v across, w through the thickness. The front face lies at
w = 0, the back face at w = thickness. Cuts are described here and turned into solids elsewhere
(`solids.convex_pieces`, `mesh.triangles`).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache, cached_property
from typing import TYPE_CHECKING, Literal

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from .stock import Stock

    Floats = NDArray[np.float64]

Face = Literal["front", "back"]
End = Literal["start", "end"]
Role = Literal[
    "side", "bottom", "rib", "leaf", "end_stop", "leg", "ledger", "top", "runner", "kicker", "guide"
]


@dataclass(frozen=True)
class Opening:
    """A rectangular way through the board with round corners and a chamfer at either mouth.

    `u0 … v1` bound the land (the part of the opening between the chamfers). An opening whose `open_end` is set
    runs out of the board at that end of u: it has three edges and two round corners.
    """

    u0: float
    u1: float
    v0: float
    v1: float
    corner_radius: float = 0.0
    front_chamfer: float = 0.0
    back_chamfer: float = 0.0
    open_end: End | None = None
    kind: Literal["slot", "window"] = "window"
    leaf: str = ""
    """Label of the leaf that passes here."""


@dataclass(frozen=True)
class Groove:
    """A flat-bottomed channel in one face: a groove or dado, or a rabbet where it runs out of an edge.

    A leaf's tray recess and pull are such channels too, and so is the field that its rim encloses.
    """

    u0: float
    u1: float
    v0: float
    v1: float
    depth: float
    face: Face = "front"
    kind: Literal["groove", "dado", "rabbet", "field", "tray", "pull"] = "groove"


@dataclass(frozen=True)
class Hole:
    """A round hole, through or (with a depth) blind from one face."""

    u: float
    v: float
    diameter: float
    depth: float | None = None
    face: Face = "front"


@dataclass(frozen=True)
class EdgeTreatment:
    """A chamfer or round-over along outline edge `edge` (from outline vertex `edge` to the next) at one face.

    `size` is the leg of the 45° chamfer or the radius of the round-over. `start` and `stop` are distances along
    the edge between which it is cut; None runs it out at that end. Stopped treatments end square.
    """

    edge: int
    face: Face
    kind: Literal["chamfer", "round-over"]
    size: float
    start: float | None = None
    stop: float | None = None


@dataclass(frozen=True)
class Bevel:
    """A sloping edge face, such as a miter: the insets of outline edge `edge` at the front and the back face."""

    edge: int
    front_inset: float
    back_inset: float


@dataclass(frozen=True)
class Shape:
    """The solid of a part in its own frame, without name or place; equal shapes are built once."""

    outline: tuple[tuple[float, float], ...]
    """Corners (u, v), counter-clockwise."""
    thickness: float
    openings: tuple[Opening, ...] = ()
    grooves: tuple[Groove, ...] = ()
    holes: tuple[Hole, ...] = ()
    edges: tuple[EdgeTreatment, ...] = ()
    bevels: tuple[Bevel, ...] = ()

    @cached_property
    def _hash(self) -> int:
        return hash(
            (self.outline, self.thickness, self.openings, self.grooves, self.holes, self.edges, self.bevels)
        )

    def __hash__(self) -> int:
        return self._hash

    @cached_property
    def bare(self) -> Shape:
        """The shape without holes and closed openings, on which its outer walls do not depend."""
        notches = tuple(opening for opening in self.openings if opening.open_end is not None)
        if not self.holes and len(notches) == len(self.openings):
            return self
        return Shape(self.outline, self.thickness, notches, self.grooves, (), self.edges, self.bevels)

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
    name: str
    role: Role
    stock: Stock
    shape: Shape
    placement: Placement
    """In the table; a leaf's is its stow place (home)."""
    grain: Literal["u", "v"] = "u"
    drawn: Shape | None = field(default=None, repr=False)
    """The shape before any `as_cut` entry changed it; None when nothing did."""
    drawn_placement: Placement | None = field(default=None, repr=False)
    strips: tuple[GluedStrip, ...] = ()
    """What is glued onto the board; all of one height."""

    @property
    def board(self) -> tuple[float, float, float]:
        """Length, width and thickness of the board that is cut from the sheet, without strips, mm."""
        length, width, thickness = self.shape.size
        return length, width, thickness - max((strip.height for strip in self.strips), default=0.0)

    @property
    def drawn_shape(self) -> Shape:
        """The shape as designed."""
        return self.drawn or self.shape
