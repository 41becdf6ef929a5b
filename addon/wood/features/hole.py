"""Round holes square to the faces, plain, counterbored or countersunk."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf, radians, tan
from typing import Literal, NamedTuple

from .base import LEAST_CUT, LEAST_SIZE, Blank, Dimension, Face, Feature, Stretch, Tool, Triple, depths


class Tier(NamedTuple):
    """One length of a stepped hole, which begins at some depth below its face and may begin with a cone; mm."""

    top: float
    radius: float
    flare: float
    """Radius where it begins: more than `radius` if it is countersunk."""
    sink: float
    """Depth of the cone."""


@dataclass(frozen=True)
class Hole(Feature):
    """A round hole, through or (with a depth) blind from one face.

    At that face it may begin with a wider, flat-bottomed length for a screw's head or a plug (the counterbore) and
    with a cone (the countersink); with both, the cone begins on the counterbore's bottom. `countersink_angle` is that
    between opposite sides of the cone. Diameters of 0 leave these out.
    """

    u: float
    v: float
    diameter: float
    depth: float | None = None
    face: Face = "front"
    counterbore_diameter: float = 0.0
    counterbore_depth: float = 0.0
    countersink_diameter: float = 0.0
    countersink_angle: float = 90.0

    @property
    def word(self) -> str:
        """``hole``"""
        return "hole"

    @property
    def faces(self) -> tuple[Face, ...]:
        """Both, or that which it is drilled from."""
        return ("front", "back") if self.depth is None else (self.face,)

    @property
    def tool(self) -> Tool:
        """Its drill, or its countersink."""
        if self.countersink_diameter > 0:
            return Tool("countersink bit", self.diameter, self.countersink_angle)
        return Tool("drill bit", self.diameter)

    @property
    def widest(self) -> float:
        """Its greatest diameter, mm."""
        return max(self.diameter, self.counterbore_diameter, self.countersink_diameter)

    @property
    def sink(self) -> float:
        """Depth of the countersink's cone, mm."""
        if self.countersink_diameter <= self.diameter:
            return 0.0
        return (self.countersink_diameter - self.diameter) / 2 / tan(radians(self.countersink_angle) / 2)

    @property
    def tiers(self) -> tuple[Tier, ...]:
        """Its lengths, from its face down."""
        bored = self.counterbore_depth if self.counterbore_diameter > 0 else 0.0
        flare = max(self.diameter, self.countersink_diameter) / 2
        last = Tier(bored, self.diameter / 2, flare, self.sink)
        if bored == 0:
            return (last,)
        return Tier(0.0, self.counterbore_diameter / 2, self.counterbore_diameter / 2, 0.0), last

    def bounds(self, blank: Blank) -> tuple[Triple, Triple]:
        """Around its greatest diameter."""
        low, high = depths(self.face, blank.thickness if self.depth is None else self.depth, blank.thickness)
        r = self.widest / 2
        return (self.u - r, self.v - r, low), (self.u + r, self.v + r, high)

    def dimensions(self, blank: Blank) -> tuple[Dimension, ...]:
        """Diameters, depths, and the place of its axis."""
        face = f"{self.face} face"
        found = [
            self._sized("hole_diameter", "diameter", "diameter"),
            self._placed("hole_offset", "place along the board", "u", self.u - blank.low[0], "start"),
            self._placed("hole_edge_distance", "distance from lower edge", "v", self.v - blank.low[1], "lower edge"),
        ]  # fmt: skip
        if self.depth is not None:
            found.append(self._sized("hole_depth", "depth", "depth", face, LEAST_SIZE))
        if self.counterbore_diameter > 0:
            found += [
                self._sized("counterbore_diameter", "diameter of the counterbore", "counterbore_diameter"),
                self._sized("counterbore_depth", "depth of the counterbore", "counterbore_depth", face),
            ]
        if self.countersink_diameter > 0:
            angle = self._sized("countersink_angle", "angle of the countersink", "countersink_angle")
            found += [
                self._sized("countersink_diameter", "diameter of the countersink", "countersink_diameter"),
                replace(angle, unit="°"),
            ]
        return tuple(found)

    def _sized(
        self, name: str, word: str, field: str, datum: str = "", least: float = LEAST_CUT
    ) -> Dimension:
        value = float(getattr(self, field))

        def changed(by: float, _at_start: bool) -> Hole:
            return replace(self, **{field: value + by})

        return Dimension(name, word, value, "hole size", datum, (), changed, self.word, least=least)

    def _placed(self, name: str, word: str, field: Literal["u", "v"], value: float, datum: str) -> Dimension:
        def changed(by: float, _at_start: bool) -> Hole:
            return replace(self, u=self.u + by) if field == "u" else replace(self, v=self.v + by)

        return Dimension(name, word, value, "hole place", datum, (), changed, self.word, least=-inf)

    def stretched(self, stretch: Stretch) -> Hole:
        """In its place."""
        return replace(self, u=stretch.place(0, self.u), v=stretch.place(1, self.v))
