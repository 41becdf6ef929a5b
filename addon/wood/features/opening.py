"""Openings right through a board: slots, windows, and notches, which run out of an end or of the upper edge."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import inf
from typing import Literal

from .base import BOTH, LEAST_CUT, LEAST_SIZE, Blank, Dimension, End, Feature, Rounder, Stretch, Tool, Triple

Part = Literal["width", "height", "offset", "sill", "corner_radius", "front_chamfer", "back_chamfer"]


@dataclass(frozen=True)
class Opening(Feature):
    """A rectangular way through the board with round corners and a chamfer at either face.

    `u0 … v1` bound the land (the part of the opening between the chamfers). A notch runs out of the board: at an end of
    u, where `open_end` is set, or out of the upper edge, where it is `open_above`. It has three edges and two round
    corners; one that does both takes a corner of the board, and has two edges and one round corner.
    """

    u0: float
    u1: float
    v0: float
    v1: float
    corner_radius: float = 0.0
    front_chamfer: float = 0.0
    back_chamfer: float = 0.0
    open_end: End | None = None
    kind: Literal["slot", "window", "notch"] = "window"
    leaf: str = ""
    """Label of the leaf that passes here."""
    open_above: bool = False

    @property
    def is_notch(self) -> bool:
        """Whether it runs out of the board."""
        return self.open_end is not None or self.open_above

    @property
    def walls(self) -> tuple[tuple[bool, bool], tuple[bool, bool]]:
        """Whether there is wood on its lesser and on its greater side, along u and along v."""
        return (self.open_end != "start", self.open_end != "end"), (True, not self.open_above)

    @property
    def word(self) -> str:
        """``window for L4``"""
        return f"{self.kind} for {self.leaf}" if self.leaf else self.kind

    @property
    def tool(self) -> Tool | None:
        """The widest router bit that leaves its corners; none where they are sharp."""
        return Tool("router bit", 2 * self.corner_radius) if self.corner_radius > 0 else None

    def bounds(self, blank: Blank) -> tuple[Triple, Triple]:
        """Land and chamfers."""
        wide = max(self.front_chamfer, self.back_chamfer)
        low, high = (self.u0 - wide, self.v0 - wide), (self.u1 + wide, self.v1 + wide)
        return (*low, 0.0), (*high, blank.thickness)

    def named(self, part: Part) -> str:
        """The name of one of its dimensions: ``window_sill``."""
        return f"{self.kind}_{part}"

    def dimensions(self, blank: Blank) -> tuple[Dimension, ...]:
        """Sizes and places of its land, its corners and its chamfers.

        A notch that is open at an end has one upright edge, by which both its width (from the open end) and its
        offset are measured; one that is open above has one level edge, for its height and its sill.
        """
        start, lower = blank.low
        edge = self.u1 if self.open_end == "start" else self.u0

        def one(
            part: Part,
            word: str,
            value: float,
            changed: Callable[[float, bool], Opening],
            datum: str = "",
            ends: tuple[End, ...] = (),
            least: float = -inf,
        ) -> Dimension:
            kind = "opening place" if part in ("offset", "sill") else "opening size"
            by_bit = part in ("corner_radius", "front_chamfer", "back_chamfer")
            return Dimension(
                self.named(part), word, value, kind, datum, ends, changed, self.word, self.leaf, least,
                set_from="bit" if by_bit else "rule",
            )  # fmt: skip

        ends = BOTH if self.open_end is None else ()
        heights = () if self.open_above else BOTH
        found = [
            one("width", "width", self.u1 - self.u0, self._widened, "", ends, LEAST_SIZE),
            one("height", "height", self.v1 - self.v0, self._heightened, "", heights, LEAST_SIZE),
            one("offset", "place along the board", edge - start, self._slid, "start"),
            one("sill", "sill height", self.v0 - lower, self._lifted, "lower edge"),
        ]
        if self.corner_radius > 0:

            def rounded(by: float, _at_start: bool) -> Opening:
                return replace(self, corner_radius=self.corner_radius + by)

            found.append(one("corner_radius", "corner radius", self.corner_radius, rounded, least=LEAST_CUT))
        if self.front_chamfer > 0:

            def chamfered(by: float, _at_start: bool) -> Opening:
                return replace(self, front_chamfer=self.front_chamfer + by)

            word = "chamfer on the front face"
            found.append(
                one("front_chamfer", word, self.front_chamfer, chamfered, "front face", (), LEAST_CUT)
            )
        if self.back_chamfer > 0:

            def chamfered_behind(by: float, _at_start: bool) -> Opening:
                return replace(self, back_chamfer=self.back_chamfer + by)

            word = "chamfer on the back face"
            found.append(
                one("back_chamfer", word, self.back_chamfer, chamfered_behind, "back face", (), LEAST_CUT)
            )
        return tuple(found)

    def stretched(self, stretch: Stretch) -> Opening:
        """In its place; a notch still runs out of its end."""
        u0, u1 = stretch.place(0, self.u0), stretch.place(0, self.u1)
        if stretch.axis == 0 and self.open_end == "start" and stretch.at_start:
            u0 = self.u0
        elif stretch.axis == 0 and self.open_end == "end" and not stretch.at_start:
            u1 = self.u1 + stretch.by
        v0, v1 = stretch.place(1, self.v0), stretch.place(1, self.v1)
        if self.open_above and stretch.axis == 1 and not stretch.at_start:
            v1 = self.v1 + stretch.by
        return replace(self, u0=u0, u1=u1, v0=v0, v1=v1)

    def rounded(self, by: Rounder) -> Opening:
        """Wider and higher; corners and chamfers as the bit cuts them."""
        u0, u1 = by.room(0, self.u0, self.u1, self.walls[0])
        v0, v1 = by.room(1, self.v0, self.v1, self.walls[1])
        return replace(self, u0=u0, u1=u1, v0=v0, v1=v1)

    def _widened(self, by: float, at_start: bool) -> Opening:
        """A notch has one edge only, which moves whatever was said."""
        at_start = at_start if self.open_end is None else self.open_end == "end"
        return (replace(self, u0=self.u0 - by) if at_start else replace(self, u1=self.u1 + by))._round_fit()

    def _heightened(self, by: float, at_start: bool) -> Opening:
        at_start = at_start or self.open_above
        return (replace(self, v0=self.v0 - by) if at_start else replace(self, v1=self.v1 + by))._round_fit()

    def _slid(self, by: float, _at_start: bool) -> Opening:
        """Further along the part; a notch still runs out of its end."""
        u0 = self.u0 if self.open_end == "start" else self.u0 + by
        u1 = self.u1 if self.open_end == "end" else self.u1 + by
        return replace(self, u0=u0, u1=u1)._round_fit()

    def _lifted(self, by: float, _at_start: bool) -> Opening:
        v1 = self.v1 if self.open_above else self.v1 + by
        return replace(self, v0=self.v0 + by, v1=v1)._round_fit()

    def _round_fit(self) -> Opening:
        """A bit cannot cut corners rounder than the opening is high."""
        return replace(
            self, corner_radius=min(self.corner_radius, (self.v1 - self.v0) / 2, (self.u1 - self.u0) / 2)
        )
