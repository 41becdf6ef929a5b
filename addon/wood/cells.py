"""A part's wood as convex cells: boxes in the part's frame, cut by a few planes or beveled at an opening's rim.

Wood beside an opening is what lies beyond at least one of the opening's edges. So each edge gives one cell:
everything beyond it, chamfers included (for a rectangle the four overlapping ones left, right, below and above), and
the facets of a round corner give small wedges within the corner. Cells overlap freely and their union is the part.
Features that lie apart are given a room each, bounded by their neighbors, so that cells add up instead of
multiplying.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import cos, inf, pi, sin, sqrt
from typing import TYPE_CHECKING, Final, NamedTuple

from ..sizes.tolerances import WELD
from .bases import bases
from .feature_check import keeps_clear_of_edges
from .pieces import Tag
from .profiles import corner_steps_of, steps

if TYPE_CHECKING:
    from collections.abc import Iterator

    from .bases import Plane, Triple
    from .features import Groove, Hole, Opening
    from .part import Shape

HALF: Final = sqrt(0.5)
"""Both components of the unit normal of a 45 degree chamfer."""


class Mouth(NamedTuple):
    """The chamfered face that a cell turns to an opening: on which axis, on which side, and both chamfers' legs."""

    axis: int
    sign: int
    """+1 where the cell lies on the greater side of the opening's edge."""
    front: float
    back: float
    land: float
    """Where the opening's edge lies between its chamfers, mm; the cell may begin beyond it."""


class Cell(NamedTuple):
    """A convex region: a box, chamfers at openings' mouths, and further planes that cut it."""

    low: Triple
    high: Triple
    thickness: float
    """Of the board, mm: where the back face lies."""
    tag: Tag = Tag()
    mouths: tuple[Mouth, ...] = ()
    planes: tuple[Plane, ...] = ()
    """(nx, ny, nz, offset) each, n·x <= offset, n of unit length"""

    def within(self, axis: int, low: float = -inf, high: float = inf) -> Cell:
        """What lies between two limits on one axis."""
        return self.beyond(axis, low, high, self.tag, self.mouths)

    def beyond(self, axis: int, low: float, high: float, tag: Tag, mouths: tuple[Mouth, ...]) -> Cell:
        """What lies between two limits on one axis, named and with the mouths that it turns there."""
        lows, highs = list(self.low), list(self.high)
        lows[axis], highs[axis] = max(lows[axis], low), min(highs[axis], high)
        limits = (lows[0], lows[1], lows[2]), (highs[0], highs[1], highs[2])
        return Cell(*limits, self.thickness, tag, mouths, self.planes)

    def is_empty(self) -> bool:
        """Whether the box has no inside."""
        low, high = self.low, self.high
        return high[0] - low[0] <= WELD or high[1] - low[1] <= WELD or high[2] - low[2] <= WELD

    def cutting_planes(self) -> list[Plane] | None:
        """Chamfers and other planes that really cut the box; None if one leaves nothing of it."""
        planes = list(self.planes)
        for mouth in self.mouths:
            planes += self._chamfers(mouth)
        if not planes:
            return planes
        (u0, v0, w0), (u1, v1, w1) = self.low, self.high
        mid_u, mid_v, mid_w = (u0 + u1) / 2, (v0 + v1) / 2, (w0 + w1) / 2
        half_u, half_v, half_w = (u1 - u0) / 2, (v1 - v0) / 2, (w1 - w0) / 2
        cutting = []
        for plane in planes:
            nu, nv, nw, offset = plane
            middle = nu * mid_u + nv * mid_v + nw * mid_w
            spread = abs(nu) * half_u + abs(nv) * half_v + abs(nw) * half_w
            if middle - spread >= offset - WELD:
                return None
            if middle + spread > offset + WELD:
                cutting.append(plane)
        return cutting

    def box_planes(self) -> list[Plane]:
        """The planes of the box."""
        (u0, v0, w0), (u1, v1, w1) = self.low, self.high
        return [
            *((-1.0, 0.0, 0.0, -u0), (0.0, -1.0, 0.0, -v0), (0.0, 0.0, -1.0, -w0)),
            *((1.0, 0.0, 0.0, u1), (0.0, 1.0, 0.0, v1), (0.0, 0.0, 1.0, w1)),
        ]

    def _chamfers(self, mouth: Mouth) -> list[Plane]:
        """The chamfer planes at a mouth."""
        offset = -mouth.sign * mouth.land
        u, v = (-mouth.sign * HALF, 0.0) if mouth.axis == 0 else (0.0, -mouth.sign * HALF)
        planes = []
        if mouth.front > 0:
            planes.append((u, v, -HALF, (offset - mouth.front) * HALF))
        if mouth.back > 0:
            planes.append((u, v, HALF, (offset - mouth.back + self.thickness) * HALF))
        return planes


class Wedges(NamedTuple):
    """A ready-made set of wedges around an arc: which, mirrored how, and where its center lies."""

    key: tuple[str, float, float, float, float]
    """(kind, radius, front chamfer, back chamfer, height); see `solids.wedge_template`"""
    sign_u: int
    sign_v: int
    center: Triple
    tag: Tag

    def square(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """Lowest and highest (u, v) of the square that they lie in, mm."""
        _, radius, front, back, _ = self.key
        wide = radius + max(front, back)
        (u0, u1), (v0, v1) = (
            sorted((middle, middle + sign * wide))
            for middle, sign in zip(self.center, (self.sign_u, self.sign_v), strict=False)
        )
        return (u0, v0), (u1, v1)


@dataclass(frozen=True)
class Feature:
    """A cut as the wood sees it: its bounds in the board's plane, a rule for the wood beyond, and its wedges."""

    low: tuple[float, float]
    high: tuple[float, float]
    limits: tuple[tuple[Tag, int, int, float], ...]
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
    wide = max(o.front_chamfer, o.back_chamfer)
    limits = [
        (Tag("lower edge", o.kind, o.leaf), 1, -1, o.v0),
        (Tag("upper edge", o.kind, o.leaf), 1, 1, o.v1),
    ]
    ends = []
    if o.open_end != "start":
        ends.append((-1, o.u0))
        limits.append((Tag("start edge", o.kind, o.leaf), 0, -1, o.u0))
    if o.open_end != "end":
        ends.append((1, o.u1))
        limits.append((Tag("end edge", o.kind, o.leaf), 0, 1, o.u1))
    key = ("corner", r, o.front_chamfer, o.back_chamfer)
    wedges = tuple(
        Wedges((*key, 0.0), su, sv, (end - su * r, edge - sv * r, 0.0), Tag("corner", o.kind, o.leaf))
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
        (Tag("lower edge", g.kind, g.leaf), 1, -1, g.v0),
        (Tag("upper edge", g.kind, g.leaf), 1, 1, g.v1),
        (Tag("start", g.kind, g.leaf), 0, -1, g.u0),
        (Tag("end", g.kind, g.leaf), 0, 1, g.u1),
        (Tag("bottom", g.kind, g.leaf), 2, sign, floor),
    )
    return Feature((g.u0, g.v0), (g.u1, g.v1), limits)


def of_hole(hole: Hole, thickness: float) -> Feature:
    """Beyond the four flats of the faceted circle; the other facets as wedges within its square."""
    h, r = hole, hole.diameter / 2
    limits = [
        (Tag("", "hole"), 1, -1, h.v - r),
        (Tag("", "hole"), 1, 1, h.v + r),
        (Tag("", "hole"), 0, -1, h.u - r),
        (Tag("", "hole"), 0, 1, h.u + r),
    ]
    start, height = 0.0, thickness
    if h.depth is not None:
        height = h.depth
        sign, bottom = (1, h.depth) if h.face == "front" else (-1, thickness - h.depth)
        start = 0.0 if h.face == "front" else bottom
        limits.append((Tag("bottom", "hole"), 2, sign, bottom))
    wedges = tuple(
        Wedges(("hole", r, 0.0, 0.0, height), su, sv, (h.u, h.v, start), Tag("", "hole"))
        for su in (-1, 1)
        for sv in (-1, 1)
    )
    return Feature((h.u - r, h.v - r), (h.u + r, h.v + r), tuple(limits), wedges=wedges)


def cells_of(shape: Shape) -> tuple[list[Cell], list[Wedges]]:
    """The convex cells and ready-made wedges whose union is the shape."""
    features = (
        *(of_opening(opening) for opening in shape.openings),
        *(of_groove(groove, shape.thickness) for groove in shape.grooves),
        *(of_hole(hole, shape.thickness) for hole in shape.holes),
    )
    features = tuple(_sorted_wedges(feature, features, shape) for feature in features)
    cells: list[Cell] = []
    wedges: dict[Wedges, None] = {}
    for base in bases(shape):
        board = Cell(base.low, base.high, shape.thickness, planes=base.planes)
        for item in _carve(board, features):
            if isinstance(item, Wedges):
                wedges[item] = None
            elif not item.is_empty():
                cells.append(item)
    return cells, list(wedges)


def _sorted_wedges(feature: Feature, features: tuple[Feature, ...], shape: Shape) -> Feature:
    hemmed_in = tuple(one for one in feature.wedges if not _clear(one, feature, features, shape))
    if not hemmed_in:
        return feature
    clear = tuple(one for one in feature.wedges if one not in hemmed_in)
    return replace(feature, wedges=clear, hemmed_in=hemmed_in)


def _carve(cell: Cell, features: tuple[Feature, ...]) -> Iterator[Cell | Wedges]:
    """The wood of a cell around the features that reach into it."""
    (u0, v0, _), (u1, v1, _) = cell.low, cell.high
    here = tuple(f for f in features if f.low[0] < u1 and f.high[0] > u0 and f.low[1] < v1 and f.high[1] > v0)
    if len(here) == 0:
        yield cell
        return
    if len(here) > 1:
        for axis in (0, 1):
            groups = _separated(here, axis)
            if len(groups) > 1:
                for index, group in enumerate(groups):
                    low = max((f.high[axis] for g in groups[:index] for f in g), default=-inf)
                    high = min((f.low[axis] for g in groups[index + 1 :] for f in g), default=inf)
                    yield from _carve(cell.within(axis, low, high), group)
                return
    first, rest = here[0], here[1:]
    for beyond in first.beyond(cell):
        if not beyond.is_empty():
            yield from _carve(beyond, rest)
    yield from first.wedges
    for wedges in first.hemmed_in:
        for wedge in _spread(wedges, cell):
            yield from _carve(wedge, rest)


def _separated(features: tuple[Feature, ...], axis: int) -> list[tuple[Feature, ...]]:
    """Groups of features that lie apart from each other on one axis, in order."""
    groups: list[list[Feature]] = []
    reach = -inf
    for feature in sorted(features, key=lambda f: f.low[axis]):
        if feature.low[axis] >= reach:
            groups.append([])
        groups[-1].append(feature)
        reach = max(reach, feature.high[axis])
    return [tuple(group) for group in groups]


def _clear(wedges: Wedges, feature: Feature, features: tuple[Feature, ...], shape: Shape) -> bool:
    """Whether the square around an arc's wedges lies in plain wood but for the arc's own cut."""
    low, high = wedges.square()
    for other in features:
        if other is not feature and all(other.low[k] < high[k] and low[k] < other.high[k] for k in (0, 1)):
            return False
    return keeps_clear_of_edges(shape, low, high)


def _spread(wedges: Wedges, cell: Cell) -> Iterator[Cell]:
    """Wedges as cells, one a facet, within another cell."""
    kind, radius, front, back, height = wedges.key
    (u0, v0), (u1, v1) = wedges.square()
    box = cell.within(0, u0, u1).within(1, v0, v1)
    if height:
        box = box.within(2, wedges.center[2], wedges.center[2] + height)
    if box.is_empty():
        return
    count = corner_steps_of(radius, front, back) if kind == "corner" else steps(radius)
    for k in range(1, count):
        angle = k * pi / 2 / count
        u, v = wedges.sign_u * cos(angle), wedges.sign_v * sin(angle)
        reach = u * wedges.center[0] + v * wedges.center[1] + radius
        planes: list[Plane] = [(-u, -v, 0.0, -reach)]
        if front > 0:
            planes.append((-u * HALF, -v * HALF, -HALF, -(reach + front) * HALF))
        if back > 0:
            planes.append((-u * HALF, -v * HALF, HALF, (cell.thickness - reach - back) * HALF))
        yield Cell(box.low, box.high, cell.thickness, wedges.tag, box.mouths, (*box.planes, *planes))
