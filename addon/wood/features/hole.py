"""Round holes square to the faces."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf
from typing import TYPE_CHECKING

from .base import Face, Feature, Tool, depths
from .dimension import LEAST_CUT, LEAST_SIZE, Dimension

if TYPE_CHECKING:
    from .base import Triple
    from .blank import Blank, Stretch


@dataclass(frozen=True)
class Hole(Feature):
    """A round hole, through or (with a depth) blind from one face."""

    u: float
    v: float
    diameter: float
    depth: float | None = None
    face: Face = "front"

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
        """Its drill."""
        return Tool("drill bit", self.diameter)

    def bounds(self, blank: Blank) -> tuple[Triple, Triple]:
        """As it is."""
        low, high = depths(self.face, blank.thickness if self.depth is None else self.depth, blank.thickness)
        r = self.diameter / 2
        return (self.u - r, self.v - r, low), (self.u + r, self.v + r, high)

    def dimensions(self, blank: Blank) -> tuple[Dimension, ...]:
        """Diameter, place of its axis and depth."""

        def one(name: str, word: str, value: float, datum: str, field: str, least: float) -> Dimension:
            def changed(by: float, _at_start: bool) -> Hole:
                return replace(self, **{field: getattr(self, field) + by})

            kind = "hole place" if field in ("u", "v") else "hole size"
            return Dimension(name, word, value, kind, datum, (), changed, self.word, least=least)

        found = [
            one("hole_diameter", "diameter", self.diameter, "", "diameter", LEAST_CUT),
            one("hole_offset", "place along the board", self.u - blank.low[0], "start", "u", -inf),
            one("hole_edge_distance", "distance from the lower edge", self.v - blank.low[1], "lower edge", "v", -inf),
        ]  # fmt: skip
        if self.depth is not None:
            found.append(one("hole_depth", "depth", self.depth, f"{self.face} face", "depth", LEAST_SIZE))
        return tuple(found)

    def stretched(self, stretch: Stretch) -> Hole:
        """In its place."""
        return replace(self, u=stretch.place(0, self.u), v=stretch.place(1, self.v))
