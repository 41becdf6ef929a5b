"""Round holes square to the faces, plain, counterbored or countersunk, and holes at an angle, such as pocket holes."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from math import cos, inf, radians, sin, tan
from typing import Literal, NamedTuple

from ...sizes.tolerances import WELD
from .base import (
    LEAST_CUT,
    LEAST_SIZE,
    Blank,
    Dimension,
    Face,
    Feature,
    Rounder,
    SetFrom,
    Stretch,
    Tool,
    Triple,
    depths,
)


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
    between opposite sides of the cone. Diameters of 0 leave these out. With a leaf, it is to push that up.
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
    leaf: str = ""

    @property
    def word(self) -> str:
        """``hole``, ``push-up hole for L2``"""
        return f"push-up hole for {self.leaf}" if self.leaf else "hole"

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

        set_from: SetFrom = "rule" if field in ("depth", "counterbore_depth") else "bit"
        return Dimension(
            name, word, value, "hole size", datum, (), changed, self.word, least=least, set_from=set_from
        )

    def _placed(self, name: str, word: str, field: Literal["u", "v"], value: float, datum: str) -> Dimension:
        def changed(by: float, _at_start: bool) -> Hole:
            return replace(self, u=self.u + by) if field == "u" else replace(self, v=self.v + by)

        return Dimension(name, word, value, "hole place", datum, (), changed, self.word, least=-inf)

    def stretched(self, stretch: Stretch) -> Hole:
        """In its place."""
        return replace(self, u=stretch.place(0, self.u), v=stretch.place(1, self.v))

    def rounded(self, by: Rounder) -> Hole:
        """Its place and its depths; as wide as its bit."""
        return replace(
            self,
            u=by.point(0, self.u),
            v=by.point(1, self.v),
            depth=None if self.depth is None else by.size(self.depth),
            counterbore_depth=by.size(self.counterbore_depth),
        )


class Axis(NamedTuple):
    """Where an angled hole runs, in the part's frame; unit vectors."""

    entry: Triple
    """Where the axis meets the face, mm."""
    along: Triple
    """Into the wood."""
    beside: Triple
    """Square to it, along the edge that the hole is measured from."""
    below: Triple
    """Square to both, away from the face."""


@dataclass(frozen=True)
class AngledHole(Feature):
    """A hole whose axis leans toward outline edge `edge` and stands square to it seen on the face.

    Parameters
    ----------
    along : distance of the axis along the edge, from its first corner, mm
    inset : distance from the edge of the point where the axis meets the face, mm
    angle : between axis and face, degrees
    diameter : of the bore
    depth : of the bore along its axis, from the face to its flat bottom, mm; None runs it out of the board
    pilot_diameter : of the pilot that goes on from there; 0 for none
    pilot_depth : to the pilot's end, along the axis from the face, mm; None runs it out of the board
    """

    edge: int
    along: float
    inset: float
    diameter: float
    depth: float | None = None
    angle: float = 15.0
    face: Face = "front"
    pilot_diameter: float = 0.0
    pilot_depth: float | None = None

    @property
    def word(self) -> str:
        """``angled hole``"""
        return "angled hole"

    @property
    def faces(self) -> tuple[Face, ...]:
        """That which it is drilled from."""
        return (self.face,)

    @property
    def reference_edge(self) -> int:
        """That toward which it leans."""
        return self.edge

    @property
    def tool(self) -> Tool:
        """A drill, stepped where there is a pilot."""
        return Tool(
            "stepped drill bit" if self.pilot_diameter > 0 else "drill bit", self.diameter, self.angle
        )

    @property
    def stages(self) -> tuple[tuple[float, float | None], ...]:
        """Radius and depth along the axis of bore and pilot, mm; None for what runs out of the board."""
        bore = (self.diameter / 2, self.depth)
        return (bore, (self.pilot_diameter / 2, self.pilot_depth)) if self.pilot_diameter > 0 else (bore,)

    def axis(self, blank: Blank) -> Axis:
        """Where it runs."""
        return _axis(self, blank)

    def bounds(self, blank: Blank) -> tuple[Triple, Triple]:
        """Around bore and pilot, as far as the board goes."""
        axis, lean = self.axis(blank), radians(self.angle)
        sloping, down = cos(lean), 1.0 if self.face == "front" else -1.0
        farthest = min(blank.thickness / sin(lean), self.inset / sloping if sloping > 0 else inf)
        low, high = [inf] * 3, [-inf] * 3
        for radius, depth in self.stages:
            # A stage begins where its lowest side meets the face; one that runs out goes past the farthest side's exit.
            first = -radius / tan(lean)
            last = farthest + radius * max(tan(lean), 1 / tan(lean)) if depth is None else depth
            for k in range(3):
                side = radius * (1 - axis.along[k] ** 2) ** 0.5
                for t in (first, last):
                    low[k] = min(low[k], axis.entry[k] + t * axis.along[k] - side)
                    high[k] = max(high[k], axis.entry[k] + t * axis.along[k] + side)
        face = 0.0 if down > 0 else blank.thickness
        low[2], high[2] = (max(low[2], 0.0), min(high[2], blank.thickness))
        low[2], high[2] = (face, high[2]) if down > 0 else (low[2], face)
        return (low[0], low[1], low[2]), (high[0], high[1], high[2])

    def dimensions(self, blank: Blank) -> tuple[Dimension, ...]:
        """Place of its axis, its angle, diameters and depths."""
        where = blank.edge_words(self.edge)

        def one(name: str, word: str, field: str, datum: str = "", least: float = LEAST_CUT) -> Dimension:
            value = float(getattr(self, field))

            def changed(by: float, _at_start: bool) -> AngledHole:
                return replace(self, **{field: value + by})

            kind = "hole place" if field in ("along", "inset") else "hole size"
            unit = "°" if field == "angle" else "mm"
            set_from: SetFrom = "bit" if field in ("diameter", "pilot_diameter", "angle") else "rule"
            return Dimension(
                name, word, value, kind, datum, (), changed, f"{self.word} at the {where}", None, least, unit,
                set_from=set_from,
            )  # fmt: skip

        found = [
            one("angled_hole_diameter", "diameter", "diameter"),
            one("angled_hole_position", "place along the edge", "along", where, -inf),
            one("angled_hole_inset", "distance from the edge", "inset", where, -inf),
            one("angled_hole_angle", "angle to the face", "angle", f"{self.face} face"),
        ]
        if self.depth is not None:
            found.append(one("angled_hole_depth", "depth along the axis", "depth", f"{self.face} face"))
        if self.pilot_diameter > 0:
            found.append(one("pilot_diameter", "diameter of the pilot", "pilot_diameter"))
            if self.pilot_depth is not None:
                word = "depth of the pilot along the axis"
                found.append(one("pilot_depth", word, "pilot_depth", f"{self.face} face"))
        return tuple(found)

    def stretched(self, stretch: Stretch) -> AngledHole:
        """It goes with its edge, and keeps its place along it."""
        slid = stretch.slid[self.edge] if self.edge < len(stretch.slid) else 0.0
        return replace(self, along=self.along + slid) if slid else self

    def rounded(self, by: Rounder) -> AngledHole:
        """Its place, its depths and, to 0.1°, its angle; as wide as its bit."""
        length, new_length = by.before.edge(self.edge).length, by.after.edge(self.edge).length
        near = self.along <= length / 2 + WELD
        along = by.size(self.along) if near else new_length - by.size(length - self.along)
        return replace(
            self,
            along=along,
            inset=by.size(self.inset),
            depth=None if self.depth is None else by.size(self.depth),
            pilot_depth=None if self.pilot_depth is None else by.size(self.pilot_depth),
            angle=round(self.angle, 1),
        )


@lru_cache(maxsize=512)
def _axis(hole: AngledHole, blank: Blank) -> Axis:
    edge = blank.edge(hole.edge)
    lean = radians(hole.angle)
    sloping, steep = cos(lean), sin(lean)
    (du, dv), down = edge.along, 1.0 if hole.face == "front" else -1.0
    out_u, out_v = dv, -du
    u, v = edge.at(hole.along, hole.inset)
    return Axis(
        (u, v, 0.0 if hole.face == "front" else blank.thickness),
        (out_u * sloping, out_v * sloping, down * steep),
        (du, dv, 0.0),
        (-out_u * steep, -out_v * steep, down * sloping),
    )
