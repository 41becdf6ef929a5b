"""Holes at an angle to a face, such as pocket holes: a bore, and perhaps a narrower pilot that goes on from it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from math import cos, inf, radians, sin, tan
from typing import NamedTuple

from .base import LEAST_CUT, Blank, Dimension, Face, Feature, Stretch, Tool, Triple


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
            return Dimension(
                name, word, value, kind, datum, (), changed, f"{self.word} at the {where}", None, least, unit
            )

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
