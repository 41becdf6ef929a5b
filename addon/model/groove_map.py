"""What the map of one face of a board is: the grooves and rabbets in it, their sides and where these meet the outline.

The map divides the face into regions of one depth each. Its borders are straight: those along the outline move
with the depth as the outline's lines do, those along the grooves' sides stand square to the face.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable

    from .part import Groove

Point = tuple[float, float]


class Span(NamedTuple):
    """One side of a groove on its line: from `low` to `high`, the groove being `depth` deep, mm."""

    low: float
    high: float
    depth: float


class Crossing(NamedTuple):
    """A vertex where a groove's side meets a line of the outline."""

    line: int
    base: Point
    """Where it stands when the line is not displaced, mm."""
    rate: Point
    """Its displacement per mm of the line's inset."""
    depth: float
    """It is used from the face down to this depth, mm."""


class Side(NamedTuple):
    """A piece of a groove's side between two vertices."""

    start: int
    stop: int
    axis: int
    """0 if it runs along u, 1 if along v; always toward greater coordinates."""
    at: float
    """The other coordinate, mm."""
    left: float
    right: float
    """Depths of the regions on either side, mm."""


@dataclass
class Map:
    """The map of one face. Vertices 0 … n − 1 are the outline's; the others stand in `vertices`, from n on."""

    vertices: list[Crossing | Point] = field(default_factory=list)
    splits: dict[int, list[tuple[float, int]]] = field(default_factory=dict)
    """Vertices within an outline line, in its direction, each with its distance along the line, mm."""
    depths: dict[int, list[float]] = field(default_factory=dict)
    """Depths beside the pieces of an outline line, mm; lines that are not named have depth 0 all along."""
    sides: list[Side] = field(default_factory=list)


def depth_at(grooves: Iterable[Groove], u: float, v: float) -> float:
    """Depth of the deepest of some grooves of one face at a point, 0 outside all of them, mm."""
    return max((g.depth for g in grooves if g.u0 < u < g.u1 and g.v0 < v < g.v1), default=0.0)
