"""Least wood: what is left of a board between two cuts, or a cut and an edge, finished and while it is machined.

      +-----------------------------------------+  edge        a strip above a window: between two lands, chamfers
      |   ^ wood                                |              left out of account; one that is longer than ten times
      |   v____________________________         |              what a routed strip needs, needs that: until it is glued
      |   |  window, its land          |        |              to something it is held at its ends alone
      |   |____________________________|   o <------ hole

Between lands wood is as wide at all depths that both reach, so that one distance in the board's plane tells: of
rectangles with round corners, circles and straight edges, in closed form. What is beside a groove has wood behind it
all along and is no loose strip; the wood behind a groove is looked at through the board.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations
from math import hypot
from typing import Final

import numpy as np

from ..sizes.tolerances import CONTACT, WELD
from ..wood.assembly import Assembly
from ..wood.features import Groove, Opening
from ..wood.features.base import Edge, Point, Triple
from ..wood.meshes.outline import mouth_of
from ..wood.part import Part, Shape
from ..wood.profiles import inside
from ..wood.sound import Cut, cuts_of, land_gap, narrowest_gap
from .board_causes import ThinWood
from .facts import Fact, Place
from .spans import point

LONG: Final = 10.0
"""A strip is long that is longer than so many times the least width of a routed one."""

_SAME: Final = 1e-3
"""mm; widths that agree to this have one cause, where the same kinds of cuts are on either side."""


@dataclass(frozen=True)
class Thin:
    """Too little wood at one place of a shape: what `ThinWood` says of it, and the points on either side in the part's
    frame, mm."""

    one: str
    other: str
    kinds: tuple[str, str]
    leaf: str
    wood: float
    need: float
    length: float
    at_face: float
    ends: tuple[Triple, Triple]


def thin_wood(assembly: Assembly) -> list[Fact]:
    """One fact for each cause: all places where, in parts of one role, the same kinds of cuts leave as little wood."""
    limits = assembly.limits
    found: dict[tuple[object, ...], list[tuple[Part, Thin]]] = {}
    for part in assembly.parts:
        for thin in thin_places(part.shape, limits.least_wood, limits.least_wood_routed):
            key = part.role.word, thin.kinds, round(thin.wood / _SAME), thin.need, thin.at_face <= 0
            found.setdefault(key, []).append((part, thin))
    return [_fact(same) for same in found.values()]


def _fact(same: list[tuple[Part, Thin]]) -> Fact:
    part, thin = same[0]
    cause = ThinWood(
        part.label,
        thin.one,
        thin.other,
        thin.kinds,
        thin.wood,
        thin.need,
        thin.length,
        thin.at_face,
        thin.leaf,
    )
    first, *others = (_place(one, where) for one, where in same)
    return Fact(
        "thin-wood",
        "warning",
        first.parts,
        first.at,
        first.amount,
        cause,
        span=first.span,
        others=tuple(others),
    )


def _place(part: Part, thin: Thin) -> Place:
    ends = part.placement.to_table(np.array(thin.ends))
    return Place((part.label,), point(ends.mean(axis=0)), thin.wood, span=(point(ends[0]), point(ends[1])))


@lru_cache(maxsize=2048)
def thin_places(shape: Shape, least: float, routed: float) -> tuple[Thin, ...]:
    """Where a shape has too little wood; `least` and `routed` are what the limits ask for, mm."""
    board = _Board(shape, least, routed)
    found: dict[tuple[str, str], Thin] = {}
    for thin in (
        *board.between_cuts(),
        *board.beside_edges(),
        *board.behind_grooves(),
        *board.between_edges(),
    ):
        before = found.get((thin.one, thin.other))
        if before is None or thin.wood < before.wood:
            found[thin.one, thin.other] = thin
    return tuple(found.values())


class _Board:
    """A shape's cuts and edges."""

    def __init__(self, shape: Shape, least: float, routed: float) -> None:
        self.shape, self.least, self.routed = shape, least, routed
        self.cuts = [cut for cut in cuts_of(shape) if _kind(cut) != "field"]
        self.edges = [shape.blank.edge(number) for number in range(len(shape.outline))]

    def between_cuts(self) -> Iterator[Thin]:
        """Wood between two cuts that reach the same depths, or between their floors."""
        for a, b in combinations(self.cuts, 2):
            if a.source is b.source:
                continue
            wood, apart = land_gap(a, b), max(a.top, b.top) - min(a.bottom, b.bottom)
            if apart > WELD and wood < 0 and apart < self.least - CONTACT:
                yield self._thin(a, b, apart, self.least, 0.0, apart, _over(a, b))
            elif apart < -WELD and wood > WELD:
                length = _facing(a, b)
                need = self._need(length, loose=self._is_through(a) and self._is_through(b))
                at_face = narrowest_gap(a, b, self.shape.thickness)
                if wood < need - CONTACT or at_face <= WELD:
                    yield self._thin(a, b, wood, need, length, at_face, _across(a, b))

    def beside_edges(self) -> Iterator[Thin]:
        """Wood between a cut and an edge that it does not run out of."""
        for cut in self.cuts:
            opens: tuple[int, ...] = ()
            if isinstance(cut.source, Opening) and cut.source.is_notch:
                opens = mouth_of(self.shape, cut.source).edges
            for number, edge in enumerate(self.edges):
                if number not in opens:
                    yield from self._beside_edge(cut, number, edge)
            for number in self._inner_corners():
                yield from self._beside_corner(cut, number)

    def _beside_edge(self, cut: Cut, number: int, edge: Edge) -> Iterator[Thin]:
        corners = _corners(cut)
        insets = [edge.inset(corner) for corner in corners]
        wood = min(insets) - cut.radius - self._bevel(cut, number)
        if wood <= WELD or wood >= max(self.least, self.routed):
            return
        along = [edge.distance_along(corner) for corner in corners]
        start, stop = min(along), max(along)
        length = min(stop + cut.radius, edge.length) - max(start - cut.radius, 0.0)
        need = self._need(length, loose=self._is_through(cut))
        if length <= 0 or wood >= need - CONTACT:
            return
        near = [s for s, inset in zip(along, insets, strict=True) if inset <= min(insets) + WELD]
        middle = (max(min(near), 0.0) + min(max(near), edge.length)) / 2
        outer = self._bevel(cut, number)
        ends = edge.at(middle, outer + wood), edge.at(middle, outer)
        if not self._is_wood(ends):
            return
        word = f"the {self.shape.blank.edge_words(number)}"
        yield Thin(
            cut.name,
            word,
            (_kind(cut), "edge"),
            _leaf(cut),
            wood,
            need,
            length,
            self._at_face(cut, number, wood),
            _at(ends, _middle(cut)),
        )

    def _at_face(self, cut: Cut, number: int, wood: float) -> float:
        """What chamfers and what is eased along the edge leave of some wood at either face, mm."""
        left = []
        for face, own in zip(("front", "back"), cut.chamfers, strict=True):
            eased = [one.reach for one in self.shape.edges if one.edge == number and one.face == face]
            left.append(wood - own - max(eased, default=0.0))
        return min(left)

    def _inner_corners(self) -> list[int]:
        """Corners of the outline that point into the wood."""
        if self.shape.is_rectangle:
            return []
        ways = [edge.along for edge in self.edges]
        return [n for n, (du, dv) in enumerate(ways) if ways[n - 1][0] * dv - ways[n - 1][1] * du < -WELD]

    def _beside_corner(self, cut: Cut, number: int) -> Iterator[Thin]:
        u, v = self.shape.outline[number]
        foot = min(max(u, cut.low[0]), cut.high[0]), min(max(v, cut.low[1]), cut.high[1])
        apart = hypot(u - foot[0], v - foot[1])
        wood = apart - cut.radius
        if u == foot[0] or v == foot[1] or not WELD < wood < self.least - CONTACT:
            return  # straight beside it are the edges
        share = cut.radius / apart
        ends = (foot[0] + (u - foot[0]) * share, foot[1] + (v - foot[1]) * share), (u, v)
        if self._is_wood(ends):
            word = f"a corner of the {self.shape.blank.edge_words(number)}"
            at = _at(ends, _middle(cut))
            yield Thin(
                cut.name,
                word,
                (_kind(cut), "edge"),
                _leaf(cut),
                wood,
                self.least,
                0.0,
                wood - max(*cut.chamfers, *cut.cone),
                at,
            )

    def _is_wood(self, ends: tuple[Point, Point]) -> bool:
        """Whether there is wood half-way between two points."""
        if self.shape.is_rectangle:
            return True
        ring = np.array(self.shape.outline)
        middle = np.array([[(ends[0][k] + ends[1][k]) / 2 for k in (0, 1)]])
        return bool(inside(middle, ring, np.roll(ring, -1, axis=0))[0])

    def _bevel(self, cut: Cut, number: int) -> float:
        """How far an edge's bevel takes wood at the depths of a cut, at most, mm."""
        for bevel in self.shape.bevels:
            if bevel.edge == number:
                slope = (bevel.back_inset - bevel.front_inset) / self.shape.thickness
                return bevel.front_inset + max(slope * cut.top, slope * cut.bottom)
        return 0.0

    def behind_grooves(self) -> Iterator[Thin]:
        """Wood between a groove's bottom and the other face."""
        for cut in self.cuts:
            behind = self.shape.thickness - (cut.bottom - cut.top)
            if isinstance(cut.source, Groove) and behind < self.least - CONTACT:
                face, floor = (0.0, cut.top) if cut.top > 0 else (self.shape.thickness, cut.bottom)
                at = _center(cut)
                ends = (*at, floor), (*at, face)
                word = f"the {'front' if cut.top > 0 else 'back'} face"
                yield Thin(
                    cut.name, word, (_kind(cut), "face"), _leaf(cut), behind, self.least, 0.0, behind, ends
                )

    def between_edges(self) -> Iterator[Thin]:
        """Wood between two parallel edges of an outline with corners cut out; the board's own width is none of that."""
        if self.shape.is_rectangle:
            return
        words = self.shape.blank.edge_words
        for i, j in combinations(range(len(self.edges)), 2):
            (du, dv), (du1, dv1) = self.edges[i].along, self.edges[j].along
            own = not (words(i).startswith("edge") or words(j).startswith("edge"))
            if own or abs(du * dv1 - dv * du1) > WELD or du * du1 + dv * dv1 > 0:
                continue
            wood, one, other, length = _two_edges(self.edges[i], self.edges[j])
            need = self._need(length, loose=True)
            if length > 0 and WELD < wood < need - CONTACT and self._is_wood((one, other)):
                ends = _at((one, other), self.shape.thickness / 2)
                yield Thin(
                    f"the {words(i)}",
                    f"the {words(j)}",
                    ("edge", "edge"),
                    "",
                    wood,
                    need,
                    length,
                    wood,
                    ends,
                )

    def _need(self, length: float, *, loose: bool) -> float:
        return self.routed if loose and length > LONG * self.routed else self.least

    def _is_through(self, cut: Cut) -> bool:
        return cut.top <= WELD and cut.bottom >= self.shape.thickness - WELD

    def _thin(
        self,
        a: Cut,
        b: Cut,
        wood: float,
        need: float,
        length: float,
        at_face: float,
        ends: tuple[Triple, Triple],
    ) -> Thin:
        leaf = _leaf(a) or _leaf(b)
        return Thin(a.name, b.name, (_kind(a), _kind(b)), leaf, wood, need, length, at_face, ends)


# -- of cuts
# ------------------------------------------------------------------------------------------------------------


def _kind(cut: Cut) -> str:
    return cut.source.kind if isinstance(cut.source, Opening | Groove) else "hole"


def _leaf(cut: Cut) -> str:
    return cut.source.leaf if isinstance(cut.source, Opening | Groove) else ""


def _corners(cut: Cut) -> list[Point]:
    """Of the rectangle that is grown by the cut's radius."""
    return [(u, v) for u in (cut.low[0], cut.high[0]) for v in (cut.low[1], cut.high[1])]


def _center(cut: Cut) -> Point:
    return (cut.low[0] + cut.high[0]) / 2, (cut.low[1] + cut.high[1]) / 2


def _middle(cut: Cut) -> float:
    return (cut.top + cut.bottom) / 2


def _at(ends: tuple[Point, Point], w: float) -> tuple[Triple, Triple]:
    return (*ends[0], w), (*ends[1], w)


def _facing(a: Cut, b: Cut) -> float:
    """Over what length two cuts that are beside or above each other face each other, mm; 0 for those at an angle."""
    spans = [
        min(a.high[k] + a.radius, b.high[k] + b.radius) - max(a.low[k] - a.radius, b.low[k] - b.radius)
        for k in (0, 1)
    ]
    return max(*spans, 0.0)


def _across(a: Cut, b: Cut) -> tuple[Triple, Triple]:
    """The nearest points of two cuts that reach the same depths, in the middle of what faces each other."""
    ends: list[list[float]] = [[], []]
    for k in (0, 1):
        if a.high[k] < b.low[k]:
            at = a.high[k], b.low[k]
        elif b.high[k] < a.low[k]:
            at = a.low[k], b.high[k]
        else:
            at = ((max(a.low[k], b.low[k]) + min(a.high[k], b.high[k])) / 2,) * 2
        ends[0].append(at[0])
        ends[1].append(at[1])
    (u, v), (u1, v1) = ends
    apart = hypot(u1 - u, v1 - v) or 1.0
    du, dv = (u1 - u) / apart, (v1 - v) / apart
    w = (max(a.top, b.top) + min(a.bottom, b.bottom)) / 2
    return (u + du * a.radius, v + dv * a.radius, w), (u1 - du * b.radius, v1 - dv * b.radius, w)


def _over(a: Cut, b: Cut) -> tuple[Triple, Triple]:
    """The floors of two cuts of opposite faces, where they lie over each other."""
    u, v = ((max(a.low[k], b.low[k]) + min(a.high[k], b.high[k])) / 2 for k in (0, 1))
    return ((u, v, a.bottom), (u, v, b.top)) if a.top < b.top else ((u, v, a.top), (u, v, b.bottom))


# -- of edges
# ------------------------------------------------------------------------------------------------------------


def _two_edges(one: Edge, other: Edge) -> tuple[float, Point, Point, float]:
    """Distance of two parallel edges, mm, nearest points in the middle of what faces each other, and its length, mm."""
    pairs: list[tuple[float, Point, Point]] = []
    for edge, against, turned in ((one, other, False), (other, one, True)):
        for end in (0.0, edge.length):
            corner = edge.at(end, 0.0)
            foot = against.at(min(max(against.distance_along(corner), 0.0), against.length), 0.0)
            ends = (foot, corner) if turned else (corner, foot)
            pairs.append((hypot(foot[0] - corner[0], foot[1] - corner[1]), *ends))
    least = min(pair[0] for pair in pairs)
    nearest = [pair for pair in pairs if pair[0] <= least + WELD]
    a, b = _mean([pair[1] for pair in nearest]), _mean([pair[2] for pair in nearest])
    along = [one.distance_along(other.at(end, 0.0)) for end in (0.0, other.length)]
    facing = min(max(along), one.length) - max(min(along), 0.0)
    return least, a, b, max(facing, 0.0)


def _mean(points: list[Point]) -> Point:
    return sum(u for u, _ in points) / len(points), sum(v for _, v in points) / len(points)
