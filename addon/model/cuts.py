"""Openings, grooves and holes as the wood sees them: where they are, and what lies beyond each of their faces."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf
from typing import TYPE_CHECKING, NamedTuple

from .cell import Mouth
from .tolerances import WELD

if TYPE_CHECKING:
    from collections.abc import Iterator

    from .bases import Triple
    from .cell import Cell
    from .part import Groove, Hole, Opening


class Wedges(NamedTuple):
    """A ready-made set of wedges around an arc: which, mirrored how, and where its centre lies."""

    key: tuple[str, float, float, float, float]
    """(kind, radius, front chamfer, back chamfer, height); see `solids.wedge_template`"""
    sign_u: int
    sign_v: int
    centre: Triple
    tag: str

    def square(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """Lowest and highest (u, v) of the square that they lie in, mm."""
        _, radius, front, back, _ = self.key
        wide = radius + max(front, back)
        (u0, u1), (v0, v1) = (
            sorted((middle, middle + sign * wide))
            for middle, sign in zip(self.centre, (self.sign_u, self.sign_v), strict=False)
        )
        return (u0, v0), (u1, v1)


@dataclass(frozen=True)
class Feature:
    """A cut as the wood sees it: its bounds in the board's plane, a rule for the wood beyond, and its wedges."""

    low: tuple[float, float]
    high: tuple[float, float]
    limits: tuple[tuple[str, int, int, float], ...]
    """(tag, axis, sign, limit): wood beyond the limit, on the greater side for sign +1."""
    chamfers: tuple[float, float] = (0.0, 0.0)
    wedges: tuple[Wedges, ...] = ()
    hemmed_in: tuple[Wedges, ...] = ()
    """Wedges of which other cuts or the board's edges may take something."""

    def beyond(self, cell: Cell) -> Iterator[Cell]:
        """The wood of a cell beyond each face of the cut."""
        front, back = self.chamfers
        for tag, axis, sign, limit in self.limits:
            mouths = (*cell.mouths, Mouth(axis, sign, front, back, limit)) if front or back else cell.mouths
            low, high = (limit, inf) if sign > 0 else (-inf, limit)
            yield cell.beyond(axis, low, high, tag, mouths)


def of_opening(opening: Opening) -> Feature:
    o, r = opening, opening.corner_radius
    name = f"{o.kind} of {o.leaf}" if o.leaf else o.kind
    wide = max(o.front_chamfer, o.back_chamfer)
    limits = [
        (f"lower edge of the {name}", 1, -1, o.v0),
        (f"upper edge of the {name}", 1, 1, o.v1),
    ]
    ends = []
    if o.open_end != "start":
        ends.append((-1, o.u0))
        limits.append((f"start edge of the {name}", 0, -1, o.u0))
    if o.open_end != "end":
        ends.append((1, o.u1))
        limits.append((f"end edge of the {name}", 0, 1, o.u1))
    key = ("corner", r, o.front_chamfer, o.back_chamfer)
    wedges = tuple(
        Wedges((*key, 0.0), su, sv, (end - su * r, edge - sv * r, 0.0), f"corner of the {name}")
        for su, end in ends
        for sv, edge in ((-1, o.v0), (1, o.v1))
        if r > WELD
    )
    return Feature(
        (o.u0 - wide, o.v0 - wide),
        (o.u1 + wide, o.v1 + wide),
        tuple(limits),
        (o.front_chamfer, o.back_chamfer),
        wedges,
    )


def of_groove(groove: Groove, thickness: float) -> Feature:
    g = groove
    sign, floor = (1, g.depth) if g.face == "front" else (-1, thickness - g.depth)
    limits = (
        (f"lower edge of the {g.kind}", 1, -1, g.v0),
        (f"upper edge of the {g.kind}", 1, 1, g.v1),
        (f"start of the {g.kind}", 0, -1, g.u0),
        (f"end of the {g.kind}", 0, 1, g.u1),
        (f"bottom of the {g.kind}", 2, sign, floor),
    )
    return Feature((g.u0, g.v0), (g.u1, g.v1), limits)


def of_hole(hole: Hole, thickness: float) -> Feature:
    """Beyond the four flats of the faceted circle; the other facets as wedges within its square."""
    h, r = hole, hole.diameter / 2
    limits = [
        ("hole", 1, -1, h.v - r),
        ("hole", 1, 1, h.v + r),
        ("hole", 0, -1, h.u - r),
        ("hole", 0, 1, h.u + r),
    ]
    start, height = 0.0, thickness
    if h.depth is not None:
        height = h.depth
        sign, bottom = (1, h.depth) if h.face == "front" else (-1, thickness - h.depth)
        start = 0.0 if h.face == "front" else bottom
        limits.append(("bottom of the hole", 2, sign, bottom))
    wedges = tuple(
        Wedges(("hole", r, 0.0, 0.0, height), su, sv, (h.u, h.v, start), "hole")
        for su in (-1, 1)
        for sv in (-1, 1)
    )
    return Feature((h.u - r, h.v - r), (h.u + r, h.v + r), tuple(limits), wedges=wedges)
