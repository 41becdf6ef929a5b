"""What is cut along an edge of the outline: chamfers, round-overs, bevels, and tapers, as on a leg."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import atan2, degrees, radians, tan
from typing import Literal

from .base import LEAST_CUT, Blank, Dimension, End, Face, Feature, Rounder, Stretch, Tool, Triple, depths


@dataclass(frozen=True)
class EdgeTreatment(Feature):
    """A chamfer or round-over along outline edge `edge` (from outline vertex `edge` to the next) at one face.

    `size` is the size of the 45° chamfer along either face or the radius of the round-over. `start` and `stop` are
    distances along the edge between which it is cut; None runs it out at that end. Stopped treatments end square.
    """

    edge: int
    face: Face
    kind: Literal["chamfer", "round-over"]
    size: float
    start: float | None = None
    stop: float | None = None

    @property
    def word(self) -> str:
        """``chamfer``"""
        return self.kind

    @property
    def faces(self) -> tuple[Face, ...]:
        """The one face."""
        return (self.face,)

    @property
    def reference_edge(self) -> int:
        """That along which it runs."""
        return self.edge

    @property
    def reach(self) -> float:
        """How far from the edge it begins at its face, mm."""
        return self.size

    @property
    def depth(self) -> float:
        """How much of the edge it takes, mm."""
        return self.size

    @property
    def tool(self) -> Tool:
        """Its router bit."""
        if self.kind == "chamfer":
            return Tool("chamfer bit", angle=45.0)
        return Tool("round-over bit", 2 * self.size)

    def bounds(self, blank: Blank) -> tuple[Triple, Triple]:
        """Around the strip that it takes off the edge."""
        low, high = blank.strip(self.edge, self.size, self.start, self.stop)
        top, bottom = depths(self.face, self.size, blank.thickness)
        return (*low, top), (*high, bottom)

    def dimensions(self, blank: Blank) -> tuple[Dimension, ...]:
        """Size and stops."""
        name = self.kind.replace("-", "_")
        where = blank.edge_words(self.edge)
        of = f"{self.kind} on the {where}, {self.face} face"
        size = "radius" if self.kind == "round-over" else "size"

        def resized(by: float, _at_start: bool) -> EdgeTreatment:
            return replace(self, size=self.size + by)

        found = [
            Dimension(f"{name}_size", size, self.size, "edge size", f"{self.face} face", (), resized, of,
                      least=LEAST_CUT, set_from="bit")
        ]  # fmt: skip
        if (start := self.start) is not None:

            def begun(by: float, _at_start: bool) -> EdgeTreatment:
                return replace(self, start=start + by)

            found.append(Dimension(f"{name}_start", "start", start, "edge size", where, (), begun, of))
        if (stop := self.stop) is not None:

            def ended(by: float, _at_start: bool) -> EdgeTreatment:
                return replace(self, stop=stop + by)

            found.append(Dimension(f"{name}_stop", "stop", stop, "edge size", where, (), ended, of))
        return tuple(found)

    def stretched(self, stretch: Stretch) -> EdgeTreatment:
        """Along its edge; stops keep their places."""
        slid = stretch.slid[self.edge] if self.edge < len(stretch.slid) else 0.0
        if slid == 0.0 or (self.start is None and self.stop is None):
            return self
        return replace(
            self,
            start=None if self.start is None else self.start + slid,
            stop=None if self.stop is None else self.stop + slid,
        )

    def rounded(self, by: Rounder) -> EdgeTreatment:
        """Where it starts and stops; as large as its bit cuts it."""
        if self.start is None and self.stop is None:
            return self
        before, after = by.before.edge(self.edge).length, by.after.edge(self.edge).length
        return replace(
            self,
            start=None if self.start is None else by.size(self.start),
            stop=None if self.stop is None else after - by.size(before - self.stop),
        )


@dataclass(frozen=True)
class Bevel(Feature):
    """A sloping edge face, such as a miter: the insets of outline edge `edge` at the front and the back face."""

    edge: int
    front_inset: float
    back_inset: float

    @property
    def word(self) -> str:
        """``bevel``"""
        return "bevel"

    @property
    def reference_edge(self) -> int:
        """That which slopes."""
        return self.edge

    def bounds(self, blank: Blank) -> tuple[Triple, Triple]:
        """Around the strip that it takes off the edge."""
        low, high = blank.strip(self.edge, max(self.front_inset, self.back_inset))
        return (*low, 0.0), (*high, blank.thickness)

    def dimensions(self, blank: Blank) -> tuple[Dimension, ...]:
        """Its insets at both faces."""
        where = blank.edge_words(self.edge)
        of = f"bevel of the {where}"

        def in_front(by: float, _at_start: bool) -> Bevel:
            return replace(self, front_inset=self.front_inset + by)

        def behind(by: float, _at_start: bool) -> Bevel:
            return replace(self, back_inset=self.back_inset + by)

        def tilted(by: float, _at_start: bool) -> Bevel:
            """The longer face keeps its length."""
            least = min(self.front_inset, self.back_inset)
            inset = least + blank.thickness * tan(radians(self.angle(blank.thickness) + by))
            if self.front_inset > self.back_inset:
                return replace(self, front_inset=inset)
            return replace(self, back_inset=inset)

        return (
            Dimension("bevel_front", "inset at the front face", self.front_inset, "edge size", where, (), in_front,
                      of, least=0.0, set_from="wood"),
            Dimension("bevel_back", "inset at the back face", self.back_inset, "edge size", where, (), behind,
                      of, least=0.0, set_from="wood"),
            Dimension("bevel_angle", "angle", self.angle(blank.thickness), "edge size", where, (), tilted,
                      of, least=0.0, unit="°", set_from="wood"),
        )  # fmt: skip

    def angle(self, thickness: float) -> float:
        """By how much the edge is off square, degrees; `thickness` of the board in mm."""
        return degrees(atan2(abs(self.front_inset - self.back_inset), thickness))

    def stretched(self, stretch: Stretch) -> Bevel:  # noqa: ARG002  # no place of its own
        """It is the edge's own."""
        return self

    def thickened(self, share: float) -> Bevel:
        """The saw stays tilted as it was: insets grow with the thickness."""
        return Bevel(self.edge, self.front_inset * share, self.back_inset * share)


@dataclass(frozen=True)
class Taper(Feature):
    """A face that slopes toward outline edge `edge`: from nothing, `length` before it, to `amount` deep at the edge."""

    edge: int
    face: Face
    length: float
    amount: float

    @property
    def word(self) -> str:
        """``taper``"""
        return "taper"

    @property
    def faces(self) -> tuple[Face, ...]:
        """The one face."""
        return (self.face,)

    @property
    def reference_edge(self) -> int:
        """That to which it runs down."""
        return self.edge

    @property
    def kind(self) -> Literal["taper"]:
        """What it is among the cuts along an edge."""
        return "taper"

    @property
    def start(self) -> None:
        """It runs along the whole edge."""
        return None

    @property
    def stop(self) -> None:
        """It runs along the whole edge."""
        return None

    @property
    def reach(self) -> float:
        """How far from the edge it begins at its face, mm."""
        return self.length

    @property
    def depth(self) -> float:
        """How much of the edge it takes, mm."""
        return self.amount

    def bounds(self, blank: Blank) -> tuple[Triple, Triple]:
        """Around the wedge that it takes off."""
        low, high = blank.strip(self.edge, self.length)
        top, bottom = depths(self.face, self.amount, blank.thickness)
        return (*low, top), (*high, bottom)

    def dimensions(self, blank: Blank) -> tuple[Dimension, ...]:
        """How long it is and how much it takes."""
        where = blank.edge_words(self.edge)
        of = f"taper of the {self.face} face toward the {where}"

        def lengthened(by: float, _at_start: bool) -> Taper:
            return replace(self, length=self.length + by)

        def deepened(by: float, _at_start: bool) -> Taper:
            return replace(self, amount=self.amount + by)

        return (
            Dimension("taper_length", "length", self.length, "edge size", where, (), lengthened, of, least=LEAST_CUT),
            Dimension("taper_amount", "amount", self.amount, "edge size", f"{self.face} face", (), deepened, of,
                      least=LEAST_CUT),
        )  # fmt: skip

    def rounded(self, by: Rounder) -> Taper:
        """How long it is and how much it takes."""
        return replace(self, length=by.size(self.length), amount=by.size(self.amount))

    def stretched(self, stretch: Stretch) -> Taper:  # noqa: ARG002  # it goes with its edge
        """It goes with its edge."""
        return self


@dataclass(frozen=True)
class EdgeTaper(Feature):
    """Says that outline edge `edge` is a taper, which runs down toward one end of u or, if it is the steeper, of v.

    The outline itself has the edge's two corners; this gives its length and its amount names.
    """

    edge: int
    toward: End

    @property
    def word(self) -> str:
        """``taper``"""
        return "taper"

    @property
    def reference_edge(self) -> int:
        """That which slopes."""
        return self.edge

    def bounds(self, blank: Blank) -> tuple[Triple, Triple]:
        """Around the triangle that it takes off."""
        (u, v), (u1, v1) = self._corners(blank)
        return (min(u, u1), min(v, v1), 0.0), (max(u, u1), max(v, v1), blank.thickness)

    def dimensions(self, blank: Blank) -> tuple[Dimension, ...]:
        """How long it is, along the board, and how much it takes off the end."""
        corners = self._corners(blank)
        run = (abs(corners[1][0] - corners[0][0]), abs(corners[1][1] - corners[0][1]))
        axis = 0 if run[0] >= run[1] else 1
        at_end = (corners[1][axis] > corners[0][axis]) == (self.toward == "end")
        low_corner = (self.edge + int(at_end)) % len(blank.outline)
        far_corner = (self.edge + int(not at_end)) % len(blank.outline)
        of = f"taper of {blank.edge_words(self.edge)}"

        def moved(corner: int, other: int, along: int, by: float) -> Blank:
            """One corner farther away from the other along an axis."""
            outline = list(blank.outline)
            place = list(outline[corner])
            place[along] += by if place[along] > outline[other][along] else -by
            outline[corner] = (place[0], place[1])
            return Blank(tuple(outline), blank.thickness)

        def lengthened(by: float, _at_start: bool) -> Blank:
            return moved(far_corner, low_corner, axis, by)

        def deepened(by: float, _at_start: bool) -> Blank:
            return moved(low_corner, far_corner, 1 - axis, by)

        length, amount = run[axis], run[1 - axis]
        return (
            Dimension("taper_length", "length", length, "sawn size", self.toward, (), lengthened, of, least=LEAST_CUT),
            Dimension("taper_amount", "amount", amount, "sawn size", "", (), deepened, of, least=LEAST_CUT),
        )  # fmt: skip

    def stretched(self, stretch: Stretch) -> EdgeTaper:  # noqa: ARG002  # the outline has its corners
        """The outline has its corners."""
        return self

    def _corners(self, blank: Blank) -> tuple[tuple[float, float], tuple[float, float]]:
        return blank.outline[self.edge], blank.outline[(self.edge + 1) % len(blank.outline)]
