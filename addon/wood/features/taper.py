"""Tapers: a face or an edge of a board that runs down toward one of its ends, as on a leg."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from .base import LEAST_CUT, Blank, Dimension, End, Face, Feature, Stretch, Triple, depths


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
