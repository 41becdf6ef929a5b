"""Space that nothing may stand in: boxes, cylinders, the way of a hand, cable runs, and walls beside the table.

    box        two opposite corners                     +---+        |  table  |      | wall
    cylinder   the middles of its ends                  |   |        +---------+ <--> |
    hand       where it begins and where it ends        +---+                distance |
    cable      its ends and corners: straight lengths, and arcs of the least bend at the corners

Facets of what is round touch it from outside, so that nothing that is reserved is left out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import MISSING, dataclass
from functools import lru_cache
from itertools import pairwise
from math import acos, ceil, cos, pi, sin, tan
from typing import Final

import numpy as np

from ..sizes import declare
from ..sizes.arrays import Floats
from ..sizes.bounds import MOST_POINTS
from ..sizes.tolerances import ANGLE, CABLE_ARC, CONTACT, WELD
from .profiles import steps
from .solids.pieces import Pieces, from_planes

PREFIX: Final = "RES"
"""Of the labels of reserved spaces."""

Point = tuple[float, float, float]

LOW_VOLTAGE: Final = (
    "Cables in the table are for plug-in supplies of low voltage alone (SELV: at most 50 V AC or 120 V DC; in the US a"
    " Class 2 supply): mains only by a licensed electrician and the local code."
)
"""IEC 61140 and NFPA 70, from memory."""

LOW_ALONE: Final = "Low voltage alone: mains only by a licensed electrician and the local code."
"""The same in short."""


@dataclass(frozen=True)
class Reserved:
    """Space that is kept free: for a lamp, a pin tray, a hand, a cable, or a wall beside the table.

    Points are in the table: x from its middle to the right, y from its middle to the back, z from the floor up.
    """

    name: str = declare.text(MISSING, "Name", "What it is for, such as pin tray")
    form: str = declare.choice(
        "box",
        "Form",
        "What it is",
        box="a box, between two opposite corners",
        cylinder="a cylinder, from the middle of one end to that of the other",
        hand="the way of a hand, from where it begins to where it ends",
        cable="a cable of low voltage, from end to end with a point for each corner",
        wall="a wall beside the table, at a distance from one of its sides: leaves have to come out before it",
    )
    x: tuple[float, ...] | None = declare.lengths("X", "Of its points, from the table's middle to the right")
    y: tuple[float, ...] | None = declare.lengths("Y", "Of its points, from the table's middle to the back")
    z: tuple[float, ...] | None = declare.lengths("Z", "Of its points, from the floor up")
    diameter: float = declare.length(
        6.0, "Diameter", "Of a cylinder or a cable", low=0.5, high=2000, inch=1 / 4
    )
    bend: float = declare.number(
        4.0,
        "Least Bend",
        "Least radius of a cable's bend at its inner side, as a multiple of its diameter (common practice, no source;"
        " the cable's maker says its own)",
        "",
        0.5,
        50,
    )
    hole: float | None = declare.length(
        None,
        "Hole",
        "Diameter of the holes that are drilled for a cable through boards that it meets square; its plug has to pass."
        " Left out, none are",
        low=1,
        high=100,
    )
    width: float = declare.length(
        110.0, "Hand Width", "Of a hand, level (common practice, no source)", low=1, high=1000, inch=4.375
    )
    height: float = declare.length(
        60.0, "Hand Height", "Of a hand (common practice, no source)", low=1, high=1000, inch=2.375
    )
    side: str | None = declare.choice(
        None,
        "Side",
        "Side of the table that a wall stands beside",
        front="the long side at negative y",
        back="the long side at positive y",
        left="the short side at negative x",
        right="the short side at positive x",
    )
    distance: float = declare.length(
        1000.0, "Distance", "From that side's outer face to the wall", high=10_000, inch=40
    )
    leaf: str | None = declare.text(
        None, "Leaf", "Label of a leaf that may pass through it, as through the way of the hand that draws it"
    )

    @property
    def points(self) -> tuple[Point, ...]:
        """Its points, mm."""
        return tuple(zip(self.x or (), self.y or (), self.z or (), strict=False))

    @property
    def wrong(self) -> tuple[str, str, str] | None:
        """Name of a parameter that makes no sense with the others, what is wrong with it and what to do; else None."""
        if self.form == "wall":
            return None if self.side else ("side", "is missing", "add the side that the wall stands beside")
        counts = [len(one or ()) for one in (self.x, self.y, self.z)]
        many = self.form == "cable"
        use = f"give 2 to {MOST_POINTS} each for x, y and z" if many else "give 2 each for x, y and z"
        for name, count in zip("xyz", counts, strict=True):
            if count < 2 or count > (MOST_POINTS if many else 2):
                return name, f"has {count} {'value' if count == 1 else 'values'}", use
        if len(set(counts)) > 1:
            return "z", "has not as many values as x and y", use
        points = np.array(self.points, dtype=float)
        apart = np.abs(np.diff(points, axis=0))
        if self.form == "box" and (apart <= WELD).any():
            name = "xyz"[int(apart[0].argmin())]
            return name, "has twice the same value", "give the least and the greatest"
        if (np.linalg.norm(apart, axis=1) <= WELD).any():
            return "x", "has two points at one place", "leave one of them out"
        return None


@dataclass(frozen=True)
class Bend:
    """A straight length of a cable that is too short for the arcs at its ends.

    Parameters
    ----------
    at : its middle, mm
    short : by how much, mm
    """

    at: Point
    short: float


@dataclass(frozen=True, eq=False)
class Space:
    """A reserved space where it stands.

    Parameters
    ----------
    label : such as ``RES1``
    number : of its entry, from 0
    pieces : convex pieces that it is the union of, in the table, mm; of a wall, so much of it as is shown
    wall : (4,) float: outward normal and offset of the plane that nothing may pass; None where it is no wall
    """

    label: str
    number: int
    entry: Reserved
    pieces: Pieces
    wall: Floats | None = None

    @property
    def bends(self) -> tuple[Bend, ...]:
        """Of a cable, the lengths that are too short for the arcs at their ends."""
        return _run(self.entry).bends if self.entry.form == "cable" else ()

    @property
    def line(self) -> Floats:
        """(n, 3) float, mm: of a cable, its middle from end to end."""
        return _run(self.entry).line

    @property
    def legs(self) -> tuple[tuple[Floats, Floats], ...]:
        """Ends (3,) of a cable's straight lengths between its arcs, mm."""
        return _run(self.entry).legs if self.entry.form == "cable" else ()


def space_of(number: int, entry: Reserved, low: Point, high: Point) -> Space:
    """An entry where it stands.

    Parameters
    ----------
    low, high : corners of the table without its leaves, on the floor, mm
    """
    label = f"{PREFIX}{number + 1}"
    if entry.form == "wall":
        return Space(label, number, entry, *_wall(entry, low, high))
    return Space(label, number, entry, _pieces(entry))


@lru_cache(maxsize=256)
def _pieces(entry: Reserved) -> Pieces:
    points = np.array(entry.points, dtype=float)
    if entry.form == "box":
        return Pieces.boxes(points.min(axis=0)[None], points.max(axis=0)[None], [""])
    if entry.form == "cable":
        return _run(entry).pieces
    start, stop = points
    if entry.form == "hand":
        return from_planes([_hand(start, stop, entry.width / 2, entry.height / 2)], [""])
    return from_planes([_prism(start, stop, entry.diameter / 2, 4 * steps(entry.diameter / 2))], [""])


def _wall(entry: Reserved, low: Point, high: Point) -> tuple[Pieces, Floats]:
    """What is shown of a wall, as wide and as high as the table, and its plane."""
    axis, sign = _WALLS[entry.side or "front"]
    normal = np.zeros(3)
    normal[axis] = sign
    face = (high[axis] if sign > 0 else low[axis]) + sign * entry.distance
    ends = np.array([low, high], dtype=float)
    ends[:, axis] = sorted((face, face + sign * WALL_SHOWN))
    return Pieces.boxes(ends[:1], ends[1:], [""]), np.append(normal, sign * face)


_WALLS: Final[dict[str, tuple[int, int]]] = {
    "front": (1, -1), "back": (1, 1), "left": (0, -1), "right": (0, 1),
}  # fmt: skip
"""Side → axis along which a wall stands off, and which way."""

WALL_SHOWN: Final = 20.0
"""Thickness that a wall is shown with, mm."""


# -- bodies by their planes
# ----------------------------------------------------------------------------------------------------


def _hand(start: Floats, stop: Floats, half_width: float, half_height: float) -> Floats:
    """(6, 4) float: planes around the way of a hand, its width level and square to the way."""
    way = (stop - start) / np.linalg.norm(stop - start)
    level = np.cross([0.0, 0.0, 1.0], way)
    level = np.array([0.0, 1.0, 0.0]) if np.linalg.norm(level) < ANGLE else level / np.linalg.norm(level)
    up = np.cross(way, level)
    sides = [(level, half_width), (-level, half_width), (up, half_height), (-up, half_height)]
    return _planes([(one, float(one @ start) + by) for one, by in sides] + _caps(start, stop, way, way))


def _prism(
    start: Floats, stop: Floats, radius: float, count: int, ends: tuple[Floats, Floats] | None = None,
    across: Floats | None = None,
) -> Floats:  # fmt: skip
    """(count + 2, 4) float: planes around a round rod.

    Parameters
    ----------
    ends : outward normals of the cuts at its start and end; square to it where there are none
    across : (3,) float, unit, square to the rod; from where the facets are counted
    """
    way = (stop - start) / np.linalg.norm(stop - start)
    beside: Floats | None = across
    if beside is None:
        square = np.cross(way, np.eye(3)[int(np.abs(way).argmin())]).astype(float)
        beside = square / np.linalg.norm(square)
    other: Floats = np.cross(way, beside)
    angles = [2 * pi * k / count for k in range(count)]
    around = [cos(angle) * beside + sin(angle) * other for angle in angles]
    first, last = (-way, way) if ends is None else ends
    caps = [(first, float(first @ start)), (last, float(last @ stop))]
    return _planes([(one, float(one @ start) + radius) for one in around] + caps)


def _caps(start: Floats, stop: Floats, first: Floats, last: Floats) -> list[tuple[Floats, float]]:
    return [(-first, float(-first @ start)), (last, float(last @ stop))]


def _planes(rows: Sequence[tuple[Floats, float]]) -> Floats:
    return np.array([(*normal, offset) for normal, offset in rows])


# -- a cable


@dataclass(frozen=True, eq=False)
class _Run:
    """A cable: its pieces, its middle, its straight lengths, and those that are too short."""

    pieces: Pieces
    line: Floats
    legs: tuple[tuple[Floats, Floats], ...]
    bends: tuple[Bend, ...]


@lru_cache(maxsize=256)
def _run(entry: Reserved) -> _Run:
    """A cable's straight lengths and arcs. Arcs for which there is no room are drawn as tight as there is."""
    points, radius = np.array(entry.points, dtype=float), entry.diameter / 2
    ways = np.diff(points, axis=0)
    lengths = np.linalg.norm(ways, axis=1)
    ways /= lengths[:, None]
    middle = entry.bend * entry.diameter + radius  # of the arcs, at the cable's middle
    turns = [acos(min(1.0, max(-1.0, float(one @ two)))) for one, two in pairwise(ways)]
    wanted = [0.0, *(middle * tan(min(turn, pi * 0.999) / 2) for turn in turns), 0.0]
    bends, share = [], np.ones(len(points))
    for k, length in enumerate(lengths.tolist()):
        need = wanted[k] + wanted[k + 1]
        if need > length + CONTACT:
            at = (points[k] + points[k + 1]) / 2
            bends.append(Bend((float(at[0]), float(at[1]), float(at[2])), need - length))
            share[k : k + 2] = np.minimum(share[k : k + 2], length / need)
    taken = np.array(wanted) * share
    starts, stops = points[:-1] + ways * taken[:-1, None], points[1:] - ways * taken[1:, None]
    count = 4 * ceil(pi / 2 / (2 * acos(radius / (radius + CABLE_ARC))))
    planes, legs, line = [], [], [points[0]]
    for k in range(len(ways)):
        if np.linalg.norm(stops[k] - starts[k]) > CONTACT:
            legs.append((starts[k], stops[k]))
            planes.append(_prism(starts[k], stops[k], radius, count))
        if k + 1 < len(ways) and turns[k] > ANGLE and taken[k + 1] > CONTACT:
            arc = _Arc.around(points[k + 1], ways[k], ways[k + 1], float(taken[k + 1]), turns[k])
            planes += arc.planes(radius, count)
            line += arc.points
        elif k + 1 < len(ways):
            line.append(points[k + 1])
    line.append(points[-1])
    return _Run(from_planes(planes, [""] * len(planes)), np.array(line), tuple(legs), tuple(bends))


@dataclass(frozen=True, eq=False)
class _Arc:
    """An arc of a cable's middle, in the plane of two unit vectors, (3,) float: the way in, and toward its center."""

    center: Floats
    way: Floats
    inward: Floats
    middle: float
    turn: float

    @classmethod
    def around(cls, corner: Floats, way: Floats, onward: Floats, taken: float, turn: float) -> _Arc:
        """One that begins and ends `taken` mm from its corner, and turns from one way onto another."""
        middle = taken / tan(turn / 2)
        axis = np.cross(way, onward)
        axis /= np.linalg.norm(axis)
        inward = np.cross(axis, way)
        return cls(corner - way * taken + inward * middle, way, inward, middle, turn)

    @property
    def angles(self) -> list[float]:
        """At which its facets meet."""
        number = max(2, ceil(self.turn / (2 * acos(self.middle / (self.middle + CABLE_ARC)))))
        return [self.turn * k / number for k in range(number + 1)]

    @property
    def points(self) -> list[Floats]:
        """(3,) float each, on the arc, mm."""
        return [self.center + self.middle * self.radial(angle) for angle in self.angles]

    def radial(self, angle: float) -> Floats:
        """From the center."""
        return self.way * sin(angle) - self.inward * cos(angle)

    def along(self, angle: float) -> Floats:
        """Onward."""
        return self.way * cos(angle) + self.inward * sin(angle)

    def planes(self, radius: float, count: int) -> Iterator[Floats]:
        """Of each piece of a cable along it; their middles touch the arc."""
        axis = np.cross(self.way, self.inward)
        for one, two in pairwise(self.angles):
            half = (one + two) / 2
            at, step = self.center + self.radial(half) * self.middle, self.middle * tan((two - one) / 2)
            start, stop = at - self.along(half) * step, at + self.along(half) * step
            yield _prism(start, stop, radius, count, (-self.along(one), self.along(two)), axis)
