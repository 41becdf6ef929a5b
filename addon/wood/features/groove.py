"""Flat-bottomed channels in one face: grooves, dadoes, rabbets, and the recesses of a leaf."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from ...sizes.tolerances import WELD
from .base import (
    BOTH,
    LEAST_SIZE,
    Blank,
    Dimension,
    End,
    Face,
    Feature,
    Rounder,
    SetFrom,
    Stretch,
    Tool,
    Triple,
    depths,
)


@dataclass(frozen=True)
class Groove(Feature):
    r"""A flat-bottomed channel in one face: a groove or dado, or a rabbet where it runs out of an edge.

    A leaf's tray recess and pull are such channels too, and so is the field that its rim encloses. `along` is the
    axis that it runs along; its width is across it. Ends that stop within the board are as round as the bit leaves
    them:

        ____________________
                            \        end_radius: half the bit's diameter; 0 where they were squared with a chisel
                             |
        ____________________/
    """

    u0: float
    u1: float
    v0: float
    v1: float
    depth: float
    face: Face = "front"
    kind: Literal["groove", "dado", "rabbet", "field", "tray", "pull"] = "groove"
    along: Literal["u", "v"] = "u"
    leaf: str = ""
    """Label of the leaf whose edge runs in it."""
    end_radius: float = 0.0
    """Of the corners at its stopped ends, mm."""

    @property
    def word(self) -> str:
        """``groove``, ``groove for L1``"""
        return f"{self.kind} for {self.leaf}" if self.leaf else self.kind

    @property
    def faces(self) -> tuple[Face, ...]:
        """The one face."""
        return (self.face,)

    @property
    def holds(self) -> bool:
        """Whether another part sits in it; a leaf's recesses decide no fit."""
        return self.kind in ("groove", "dado", "rabbet")

    @property
    def spans(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """From where to where along u and along v, mm; it may run past the board."""
        return (self.u0, self.u1), (self.v0, self.v1)

    @property
    def tool(self) -> Tool | None:
        """The bit that leaves its ends; none where they are square."""
        return Tool("router bit", 2 * self.end_radius) if self.end_radius > 0 else None

    def round_ends(self, blank: Blank) -> tuple[End, ...]:
        """Its ends within the board, where these are round."""
        along = 0 if self.along == "u" else 1
        low, high = self.spans[along]
        if self.end_radius <= WELD:
            return ()
        start: tuple[End, ...] = ("start",) if low > blank.low[along] + WELD else ()
        return (*start, "end") if high < blank.high[along] - WELD else start

    def bounds(self, blank: Blank) -> tuple[Triple, Triple]:
        """As it is."""
        low, high = depths(self.face, self.depth, blank.thickness)
        return (self.u0, self.v0, low), (self.u1, self.v1, high)

    def dimensions(self, blank: Blank) -> tuple[Dimension, ...]:
        """Depth, width, place across and, where they lie within the board, its ends.

        One that runs out of an edge along its side, a rabbet, has one side only: its width is measured from the edge.
        """
        name, word = ("groove", "groove") if self.holds else (self.kind, f"{self.kind} recess")
        along = 0 if self.along == "u" else 1
        across = 1 - along
        low, high = self.spans[across]
        inside_low, inside_high = low > blank.low[across] + WELD, high < blank.high[across] - WELD
        found = [
            Dimension(f"{name}_depth", f"depth of the {word}", self.depth, "groove size", f"{self.face} face",
                      changed=self._deepened, least=LEAST_SIZE, set_from="wood" if self.kind == "field" else "rule")
        ]  # fmt: skip
        if inside_low or inside_high:
            width = (high if inside_high else blank.high[across]) - (low if inside_low else blank.low[across])
            ends: tuple[End, ...] = BOTH if inside_low and inside_high else ()

            def widened(by: float, at_start: bool) -> Groove:
                at_start = at_start if inside_low and inside_high else inside_low
                return (
                    self._placed(across, low - by, high) if at_start else self._placed(across, low, high + by)
                )

            found.append(
                Dimension(f"{name}_width", f"width of the {word}", width, "groove size", ends=ends, changed=widened,
                          least=LEAST_SIZE, set_from=self._width_from)
            )  # fmt: skip
        if inside_low and inside_high:

            def moved(by: float, _at_start: bool) -> Groove:
                return self._placed(across, low + by, high + by)

            datum = "lower edge" if across == 1 else "start"
            what = f"height of the {word}" if across == 1 else f"place of the {word} along the board"
            found.insert(
                0,
                Dimension(
                    f"{name}_offset", what, low - blank.low[across], "groove place", datum, changed=moved
                ),
            )
        found += self._ends(name, word, along, blank)
        if not self.leaf:
            return tuple(found)
        return tuple(replace(one, of=self.word, leaf=self.leaf) for one in found)

    def _ends(self, name: str, word: str, along: int, blank: Blank) -> list[Dimension]:
        """Where it starts and stops within the board."""
        low, high = self.spans[along]
        datum = "start" if along == 0 else "lower edge"

        def begun(by: float, _at_start: bool) -> Groove:
            return self._placed(along, low + by, high)

        def ended(by: float, _at_start: bool) -> Groove:
            return self._placed(along, low, high + by)

        found = []
        if low > blank.low[along] + WELD:
            start, what = low - blank.low[along], f"start of the {word}"
            found.append(Dimension(f"{name}_start", what, start, "groove place", datum, changed=begun))
        if high < blank.high[along] - WELD:
            stop, what = high - blank.low[along], f"stop of the {word}"
            found.append(Dimension(f"{name}_stop", what, stop, "groove place", datum, changed=ended))
        if self.round_ends(blank):

            def rounded(by: float, _at_start: bool) -> Groove:
                return replace(self, end_radius=self.end_radius + by)._round_fit()

            what = f"radius of the {word}'s ends"
            found.append(
                Dimension(
                    f"{name}_end_radius", what, self.end_radius, "groove size", changed=rounded, least=0.0,
                    set_from="bit",
                )
            )  # fmt: skip
        return found

    @property
    def _width_from(self) -> SetFrom:
        """A groove is as wide as the board that sits in it; one for a leaf, or a recess, is measured."""
        return "wood" if self.holds and not self.leaf else "rule"

    def rounded(self, by: Rounder) -> Groove:
        """A groove as wide as its board, and longer rather than shorter; one for a leaf is wider and deeper.

        A field is as deep as the rim that encloses it is high; other recesses are no deeper than drawn. A pull keeps
        its size, other recesses keep what they leave beside them.
        """
        along = 0 if self.along == "u" else 1
        across = 1 - along
        spans = self.spans
        if not self.holds:
            depth = self.depth if self.kind == "field" else by.size(self.depth, "down")
            u, v = (
                by.kept(axis, *spans[axis])
                if self.kind == "pull"
                else by.between(axis, *spans[axis], "nearest")
                for axis in (0, 1)
            )
            return replace(self, u0=u[0], u1=u[1], v0=v[0], v1=v[1], depth=depth)
        found = {along: by.between(along, *spans[along], "down")}
        low, high = spans[across]
        inside = low > by.before.low[across] + WELD, high < by.before.high[across] - WELD
        if self.leaf:
            found[across] = by.room(across, low, high, inside)
        elif inside[0] and inside[1]:
            found[across] = by.line(across, low, high)
        else:
            shift = by.after.high[across] - by.before.high[across] if inside[0] else 0.0
            found[across] = (low + shift, high + shift)
        (u0, u1), (v0, v1) = found[0], found[1]
        return replace(
            self, u0=u0, u1=u1, v0=v0, v1=v1, depth=by.size(self.depth, "up" if self.leaf else "nearest")
        )

    def stretched(self, stretch: Stretch) -> Groove:
        """In its place; what ran out of an edge still does."""
        u, v = (stretch.span(axis, *span) for axis, span in enumerate(self.spans))
        return replace(self, u0=u[0], u1=u[1], v0=v[0], v1=v[1])

    def _deepened(self, by: float, _at_start: bool) -> Groove:
        return replace(self, depth=self.depth + by)

    def _placed(self, axis: int, low: float, high: float) -> Groove:
        placed = replace(self, u0=low, u1=high) if axis == 0 else replace(self, v0=low, v1=high)
        return placed._round_fit()

    def _round_fit(self) -> Groove:
        """No bit is wider than the groove."""
        (u0, u1), (v0, v1) = self.spans
        return replace(self, end_radius=min(self.end_radius, max(u1 - u0, 0.0) / 2, max(v1 - v0, 0.0) / 2))
