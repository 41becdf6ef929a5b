"""A board before anything is cut into it, its dimensions, and what every kind of feature can say of itself.

A dimension is one size or place of a board or of what is cut into it: how to read it, how to set it.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise
from math import hypot, inf
from typing import Final, Literal, NamedTuple

from ...sizes.tolerances import WELD
from ...sizes.units import Rounding

Face = Literal["front", "back"]
End = Literal["start", "end"]
Point = tuple[float, float]
Triple = tuple[float, float, float]
Outline = tuple[Point, ...]

LEAST_SIZE: Final = 1.0
"""A board, an opening or a groove smaller than this is none, mm."""
LEAST_CUT: Final = 0.01
"""A smaller chamfer, round-over or hole is none, mm."""

Tolerance = Literal[
    "sawn size",
    "thickness",
    "opening size",
    "opening place",
    "groove place",
    "groove size",
    "hole size",
    "hole place",
    "edge size",
]
"""What a dimension is of, and so which tolerance applies to it."""

BOTH: Final[tuple[End, ...]] = ("start", "end")

SetFrom = Literal["rule", "wood", "bit"]
"""What a size is set from: a rule, which rounds it; the wood that it fits, or the bit that cuts it, which do not."""


@dataclass(frozen=True)
class Dimension:
    """One dimension of one part.

    Parameters
    ----------
    name : as `[[as_cut]]` entries have it, such as ``window_sill``
    word : what it is, in words: ``sill height``
    value : mm, or degrees
    tolerance : what it is a dimension of
    datum : the edge or face that it is measured from, in words; empty for a size that has none
    ends : which end may take the difference when it changes; none where the datum decides
    changed : the feature with this dimension greater by some mm, standing out at the start or not, or the blank for a
        feature that is part of the outline; None for the board's own, which `Shape.resized` changes
    of : the feature, in words (``window for L4``); empty for the board itself
    leaf : the leaf whose slot or window it is of, if it can be chosen by one
    least : smallest value that it may have
    unit : of the value
    number : which of the shape's features it is of
    set_from : what it is set from, which says whether it is rounded on paper
    """

    name: str
    word: str
    value: float
    tolerance: Tolerance
    datum: str = ""
    ends: tuple[End, ...] = ()
    changed: Callable[[float, bool], Feature | Blank] | None = field(default=None, repr=False, compare=False)
    of: str = ""
    leaf: str | None = None
    least: float = -inf
    unit: Literal["mm", "°"] = "mm"
    number: int | None = None
    set_from: SetFrom = "rule"

    @property
    def words(self) -> str:
        """Of which feature what it is: ``window for L4: sill height``."""
        return f"{self.of}: {self.word}" if self.of else self.word


class Edge(NamedTuple):
    """One straight edge of an outline; the wood lies on its left."""

    start: Point
    along: Point
    """Unit direction."""
    length: float

    def distance_along(self, point: Point) -> float:
        """Of a point, from the edge's first corner, mm."""
        return (point[0] - self.start[0]) * self.along[0] + (point[1] - self.start[1]) * self.along[1]

    def inset(self, point: Point) -> float:
        """Of a point, square to the edge and into the wood, mm."""
        return (point[1] - self.start[1]) * self.along[0] - (point[0] - self.start[0]) * self.along[1]

    def at(self, along: float, inset: float) -> Point:
        """The point at some distance along the edge and into the wood, mm."""
        (u, v), (du, dv) = self.start, self.along
        return u + du * along - dv * inset, v + dv * along + du * inset


@dataclass(frozen=True)
class Blank:
    """Outline, counter-clockwise, and thickness, mm."""

    outline: Outline
    thickness: float

    @cached_property
    def low(self) -> Point:
        """Least u and v."""
        us, vs = zip(*self.outline, strict=True)
        return min(us), min(vs)

    @cached_property
    def high(self) -> Point:
        """Greatest u and v."""
        us, vs = zip(*self.outline, strict=True)
        return max(us), max(vs)

    def edge(self, number: int) -> Edge:
        """Outline edge `number`, from outline vertex `number` to the next."""
        (u, v), (u1, v1) = self.outline[number], self.outline[(number + 1) % len(self.outline)]
        length = hypot(u1 - u, v1 - v)
        return Edge((u, v), ((u1 - u) / length, (v1 - v) / length), length)

    def strip(
        self, number: int, reach: float, start: float | None = None, stop: float | None = None
    ) -> tuple[Point, Point]:
        """Low and high corner of a box around the strip along an edge, `reach` mm wide, perhaps stopped.

        At a corner it runs on until the neighboring edge's line.
        """
        edge = self.edge(number)
        ends = [
            [0.0, self._line_beside(number - 1, edge, reach)] if start is None else [start],
            [edge.length, self._line_beside((number + 1) % len(self.outline), edge, reach)]
            if stop is None
            else [stop],
        ]
        us, vs = zip(*(edge.at(s, inset) for end in ends for s in end for inset in (0.0, reach)), strict=True)
        return (
            (max(min(us), self.low[0]), max(min(vs), self.low[1])),
            (min(max(us), self.high[0]), min(max(vs), self.high[1])),
        )

    def _line_beside(self, number: int, edge: Edge, inset: float) -> float:
        """How far along an edge the line of a neighboring one is, some inset into the wood, mm."""
        (u, v), (du, dv), _ = neighbor = self.edge(number)
        rise = edge.along[0] * dv - edge.along[1] * du
        if abs(rise) <= WELD:
            return min(max(edge.distance_along((u, v)), 0.0), edge.length)
        more = (inset - edge.inset((u, v))) / rise
        return edge.distance_along(neighbor.at(more, 0.0))

    def edge_words(self, number: int) -> str:
        """What people call an edge: that of a plain board by its place, others by number."""
        if not 0 <= number < len(self.outline):
            return f"edge {number}"
        start, stop = self.outline[number], self.outline[(number + 1) % len(self.outline)]
        for axis, words in ((0, ("start", "end")), (1, ("lower edge", "upper edge"))):
            for limit, word in zip((self.low[axis], self.high[axis]), words, strict=True):
                if abs(start[axis] - limit) <= WELD and abs(stop[axis] - limit) <= WELD:
                    return word
        return f"edge {number}"

    def dimensions(self) -> tuple[Dimension, ...]:
        """Length, width and thickness."""
        length, width = self.high[0] - self.low[0], self.high[1] - self.low[1]
        return (
            Dimension("length", "length", length, "sawn size", "start", BOTH, least=LEAST_SIZE),
            Dimension("width", "width", width, "sawn size", "lower edge", BOTH, least=LEAST_SIZE),
            Dimension("thickness", "thickness", self.thickness, "thickness", "front face", least=LEAST_SIZE,
                      set_from="wood"),
        )  # fmt: skip

    def stretched(self, axis: int, by: float, at_start: bool) -> tuple[Blank, Stretch]:
        """The board `by` longer (axis 0) or wider (axis 1) at one end, and what that does to the features on it.

        Its least u and v stay, so that a board that grows at its start carries all else along. Edges keep their
        directions: the corners beyond a section that cuts only edges along the axis move, and of such sections the
        one nearest to the end. Chamfered corners, tapers and lead-ins so keep their sizes. Where an outline has none,
        the corners at the very end move.
        """
        moving = self._beyond_a_section(axis, by, at_start)
        outline = []
        for corner, moves in zip(self.outline, moving, strict=True):
            place = list(corner)
            place[axis] += by if moves != at_start else 0.0
            outline.append((place[0], place[1]))
        carried = [0.0, 0.0]
        carried[axis] = by if at_start else 0.0
        slid = []
        for number, (old, new) in enumerate(zip(self.outline, outline, strict=True)):
            du, dv = self.edge(number).along
            slid.append((carried[0] + old[0] - new[0]) * du + (carried[1] + old[1] - new[1]) * dv)
        return Blank(tuple(outline), self.thickness), Stretch(self, axis, by, at_start, tuple(slid))

    def _beyond_a_section(self, axis: int, by: float, at_start: bool) -> list[bool]:
        """Which corners move."""
        places = [corner[axis] for corner in self.outline]
        rising = sorted(set(places))
        sections = [(a, b) for a, b in pairwise(rising) if b - a > WELD and b - a + by > WELD]
        for low, high in sections if at_start else reversed(sections):
            if all(
                abs(start[1 - axis] - stop[1 - axis]) <= WELD
                for start, stop in pairwise((*self.outline, self.outline[0]))
                if min(start[axis], stop[axis]) <= low and max(start[axis], stop[axis]) >= high
            ):
                return [place <= low if at_start else place >= high for place in places]
        limit = rising[0] + WELD if at_start else rising[-1] - WELD
        return [place <= limit if at_start else place >= limit for place in places]


class Stretch(NamedTuple):
    """How a board grew at one end, for what is on it: places stay where they are, what ran out of an end still does."""

    before: Blank
    axis: int
    by: float
    at_start: bool
    slid: tuple[float, ...]
    """How much farther than before a place is from the first corner of each outline edge, along the edge, mm."""

    def place(self, axis: int, coordinate: float) -> float:
        """A place on the board."""
        return coordinate + self.by if self.at_start and axis == self.axis else coordinate

    def span(self, axis: int, low: float, high: float) -> tuple[float, float]:
        """Two places on the board; one that was at the end that grew, or past it, goes with it."""
        new_low, new_high = self.place(axis, low), self.place(axis, high)
        if axis == self.axis:
            if self.at_start and low <= self.before.low[axis] + WELD:
                new_low = low
            elif not self.at_start and high >= self.before.high[axis] - WELD:
                new_high = high + self.by
        return new_low, new_high


@dataclass(frozen=True)
class Rounder:
    """Rounds what is cut into a board so that what passes or sits there still fits; each feature says what is what.

    Places are measured from the nearer end, so that a board and the same one turned are rounded alike; where a board
    stands upright, from its lower edge.

    Parameters
    ----------
    to_rule : of u and of v, a length, mm, and which way → the length as the rule shows it
    before, after : the board as drawn, and as rounded
    moved : of u and of v, how much farther up that axis than drawn the board's low edge stands, and its high one, mm
    from_low : whether u, and v, are measured from their low edge, whatever is nearer
    """

    to_rule: tuple[Callable[[float, Rounding], float], Callable[[float, Rounding], float]]
    before: Blank
    after: Blank
    moved: tuple[tuple[float, float], tuple[float, float]] = ((0.0, 0.0), (0.0, 0.0))
    from_low: tuple[bool, bool] = (False, False)

    def size(self, mm: float, rounding: Rounding = "nearest", axis: int = 0) -> float:
        """A size of its own; one that would be rounded to nothing stays as it is."""
        return self.to_rule[axis](mm, rounding) or mm

    def point(self, axis: int, at: float) -> float:
        """A place on the board, such as a hole's axis."""
        low, high = at - self.before.low[axis], self.before.high[axis] - at
        if self.from_low[axis] or low <= high + WELD:
            return self.after.low[axis] + self.to_rule[axis](low, "nearest")
        return self.after.high[axis] - self.to_rule[axis](high, "nearest")

    def between(self, axis: int, low: float, high: float, rounding: Rounding) -> tuple[float, float]:
        """Two places by what they leave of the board at either end; what runs past an end goes on past it."""
        start, stop = low - self.before.low[axis], self.before.high[axis] - high
        start, stop = (one if one <= WELD else self.size(one, rounding, axis) for one in (start, stop))
        return self.after.low[axis] + start, self.after.high[axis] - stop

    def line(self, axis: int, low: float, high: float) -> tuple[float, float]:
        """Two places that keep their distance, such as the sides of a groove."""
        start = self.to_rule[axis](low - self.before.low[axis], "nearest") + self.after.low[axis]
        return start, start + high - low

    def kept(self, axis: int, low: float, high: float) -> tuple[float, float]:
        """Two places whose distance counts, from the nearer end; past an end, what of it is on the board."""
        start, stop = low - self.before.low[axis], self.before.high[axis] - high
        size = self.size(high - low + min(start, 0.0) + min(stop, 0.0), axis=axis)
        if start <= stop + WELD:
            begin = self.after.low[axis] + (start if start <= WELD else self.size(start, axis=axis))
            return begin, begin - min(start, 0.0) + size
        end = self.after.high[axis] - (stop if stop <= WELD else self.size(stop, axis=axis))
        return end + min(stop, 0.0) - size, end

    def room(self, axis: int, low: float, high: float, walls: tuple[bool, bool]) -> tuple[float, float]:
        """From where to where an opening reaches: no smaller, and where it leaves most on the side that loses most.

        Parameters
        ----------
        walls : whether there is wood on its low side, and on its high side
        """
        before, after, (low_by, high_by) = self.before, self.after, self.moved[axis]
        start, stop = low - before.low[axis], before.high[axis] - high
        if not walls[0] or not walls[1]:
            if walls[1]:
                stop = (
                    after.high[axis] - after.low[axis] - self._reach(axis, high - before.low[axis], -low_by)
                )
            elif walls[0]:
                start = (
                    after.high[axis] - after.low[axis] - self._reach(axis, before.high[axis] - low, high_by)
                )
            return after.low[axis] + start, after.high[axis] - stop
        more = self.to_rule[axis](high - low, "up") - (high - low)
        if self.from_low[axis] or start <= stop + WELD:
            begin = after.low[axis] + self._edge(axis, start - low_by, more)
            return begin, begin + high - low + more
        end = after.high[axis] - self._edge(axis, stop + high_by, more)
        return end - (high - low + more), end

    def _reach(self, axis: int, size: float, more: float) -> float:
        """How far what is open at one end reaches into the board."""
        return max(self.to_rule[axis](size, "up"), self.to_rule[axis](size + more, "up"))

    def _edge(self, axis: int, wanted: float, more: float) -> float:
        """Where the nearer edge of an opening goes that is wider by so much."""
        found = [self.to_rule[axis](wanted, "down"), self.to_rule[axis](wanted, "up")]

        def loss(at: float) -> tuple[float, float]:
            return round(max(at - wanted, wanted - at - more), 9), abs(at - wanted)

        return min(found, key=loss)


class Tool(NamedTuple):
    """What cuts a feature, where that decides its form."""

    name: str
    diameter: float | None = None
    """Of the bit, mm; the greatest that fits, where any smaller one does too."""
    angle: float | None = None
    """Degrees: between a chamfer and the face, of a countersink's cone, of an axis to the face."""


class Feature(ABC):
    """One cut into a board. A kind of feature is a frozen dataclass that says all of this of itself."""

    @property
    @abstractmethod
    def word(self) -> str:
        """What it is, in words: ``window for L4``."""

    @property
    def faces(self) -> tuple[Face, ...]:
        """The faces that it is open to."""
        return ("front", "back")

    @property
    def reference_edge(self) -> int | None:
        """The outline edge that it lies on or is measured from; None if it is measured from start and lower edge."""
        return None

    @property
    def tool(self) -> Tool | None:
        """What cuts it, where that decides its form."""
        return None

    @abstractmethod
    def bounds(self, blank: Blank) -> tuple[Triple, Triple]:
        """Low and high corner of a box that holds all of it that lies in the board, mm."""

    @abstractmethod
    def dimensions(self, blank: Blank) -> tuple[Dimension, ...]:
        """Its dimensions."""

    @abstractmethod
    def stretched(self, stretch: Stretch) -> Feature:
        """The same on a board that grew at one end."""

    def rounded(self, by: Rounder) -> Feature:  # noqa: ARG002  # what is set by a bit or by the wood is not
        """The same with its sizes and places as a rule shows them, so that what fits still fits."""
        return self

    def thickened(self, share: float) -> Feature:  # noqa: ARG002  # most features have a depth of their own
        """The same on a board that is so many times as thick."""
        return self


def depths(face: Face, depth: float, thickness: float) -> tuple[float, float]:
    """Least and greatest w of what is cut into a face down to some depth, mm."""
    return (0.0, depth) if face == "front" else (thickness - depth, thickness)
