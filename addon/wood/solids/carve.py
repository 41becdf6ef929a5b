"""A part's wood cut up into convex cells and wedges, whose union it is.

Wood beside a cut is what lies beyond at least one of its faces: boxes with planes, and wedges around its arcs.

Beyond each edge of an opening lies one region, chamfers included (for a rectangle the four overlapping ones left,
right, below and above), and the facets of a round corner give small wedges within the corner. Around a hole at an
angle there is one region for each facet, within the box that holds the hole.

Cells overlap freely. Cuts that lie apart
are given a room each, bounded by their neighbors, so that cells add up instead of multiplying.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import cos, inf, pi, sin, sqrt
from typing import NamedTuple

from ...sizes.tolerances import WELD
from ..features import AngledHole, Groove, Hole, Opening
from ..features.base import depths
from ..features.holes import Tier
from ..part import Shape
from ..profiles import corner_steps, hole_steps, steps
from ..sound import keeps_clear_of_edges
from .bases import Plane, Triple, bases
from .cells import Arc, Cell, Flare, Wedges
from .pieces import Tag

Limit = tuple[int, int, float]
"""Axis, sign and coordinate: beyond it on the greater side for sign +1."""


class Region(NamedTuple):
    """Wood beyond some limits and within some planes."""

    tag: Tag
    limits: tuple[Limit, ...]
    flare: Flare | None = None
    planes: tuple[Plane, ...] = ()

    def of(self, cell: Cell) -> Cell:
        """What a cell has of it."""
        lows, highs = [-inf] * 3, [inf] * 3
        for axis, sign, limit in self.limits:
            if sign > 0:
                lows[axis] = limit
            else:
                highs[axis] = limit
        flares = cell.flares if self.flare is None else (*cell.flares, self.flare)
        return cell.narrowed(lows, highs, self.tag, flares, self.planes)


@dataclass(frozen=True)
class Beside:
    """A cut as the wood sees it: its bounds in the board's plane, the wood beyond its faces, and its wedges."""

    low: tuple[float, float]
    high: tuple[float, float]
    regions: tuple[Region, ...]
    wedges: tuple[Wedges, ...] = ()
    hemmed_in: tuple[Wedges, ...] = ()
    """Wedges of which other cuts or the board's edges may take something."""

    def beyond(self, cell: Cell) -> Iterator[Cell]:
        """The wood of a cell beyond each face of the cut."""
        for region in self.regions:
            yield region.of(cell)


def all_beside(shape: Shape) -> tuple[Beside, ...]:
    """The wood beside all openings, grooves and holes of a shape."""
    thickness = shape.thickness
    return (
        *(_opening(opening, thickness) for opening in shape.openings),
        *(_groove(groove, shape) for groove in shape.grooves),
        *(_hole(hole, thickness) for hole in shape.holes),
        *(_angled_hole(hole, shape) for hole in shape.angled_holes),
    )


def _opening(o: Opening, thickness: float) -> Beside:
    r, front, back = o.corner_radius, o.front_chamfer, o.back_chamfer
    lands = ((-1, o.v0), (1, o.v1)), ((-1, o.u0), (1, o.u1))
    names = (("lower edge", "upper edge"), ("start edge", "end edge"))
    levels, ends = (
        [one for one, wood in zip(two, walls, strict=True) if wood]
        for two, walls in zip(lands, o.walls[::-1], strict=True)
    )
    sides = [(names[0][sign > 0], 1, sign, at) for sign, at in levels]
    sides += [(names[1][sign > 0], 0, sign, at) for sign, at in ends]
    chamfered = front > 0 or back > 0
    regions = tuple(
        Region(
            Tag(side, o.kind, o.leaf),
            ((axis, sign, limit),),
            Flare(axis, sign, front, back, limit) if chamfered else None,
        )
        for side, axis, sign, limit in sides
    )
    cones = [(r + front, -1.0)] if front > 0 else []
    cones += [(r + back - thickness, 1.0)] if back > 0 else []
    arc = Arc(corner_steps(o), r, thickness, tuple(cones))
    wedges = tuple(
        Wedges(arc, su, sv, (end - su * r, edge - sv * r, 0.0), Tag("corner", o.kind, o.leaf))
        for su, end in ends
        for sv, edge in levels
        if r > WELD
    )
    wide = max(front, back)
    return Beside((o.u0 - wide, o.v0 - wide), (o.u1 + wide, o.v1 + wide), regions, wedges)


def _groove(g: Groove, shape: Shape) -> Beside:
    thickness, along = shape.thickness, g.along == "v"
    regions = (
        Region(Tag("lower edge", g.kind, g.leaf), ((1, -1, g.v0),)),
        Region(Tag("upper edge", g.kind, g.leaf), ((1, 1, g.v1),)),
        Region(Tag("start", g.kind, g.leaf), ((0, -1, g.u0),)),
        Region(Tag("end", g.kind, g.leaf), ((0, 1, g.u1),)),
        Region(Tag("bottom", g.kind, g.leaf), (_deeper(g.face, g.depth, thickness),)),
    )
    r, ends = g.end_radius, g.round_ends(shape.blank)
    base, _ = depths(g.face, g.depth, thickness)
    arc = Arc(steps(r), r, g.depth)
    wedges = tuple(
        Wedges(arc, su, sv, (u - su * r, v - sv * r, base), Tag("corner", g.kind, g.leaf))
        for su, u in ((-1, g.u0), (1, g.u1))
        for sv, v in ((-1, g.v0), (1, g.v1))
        if ("start", "end")[(su, sv)[along] > 0] in ends
    )
    return Beside((g.u0, g.v0), (g.u1, g.v1), regions, wedges)


def _deeper(face: str, depth: float, thickness: float) -> Limit:
    """The limit that parts off all wood deeper below a face than some depth."""
    return (2, 1, depth) if face == "front" else (2, -1, thickness - depth)


def _hole(h: Hole, thickness: float) -> Beside:
    """Beyond the four flats of the faceted circle; the other facets as wedges within its square; tier by tier."""
    end = thickness if h.depth is None else h.depth
    tiers = h.tiers
    regions: list[Region] = []
    wedges: list[Wedges] = []
    for tier, bottom in zip(tiers, [*(tier.top for tier in tiers[1:]), end], strict=True):
        limits = (_deeper(h.face, tier.top, thickness),) if tier.top > 0 else ()
        for axis, sign in ((1, -1), (1, 1), (0, -1), (0, 1)):
            limit = (axis, sign, (h.u, h.v)[axis] + sign * tier.radius)
            regions.append(
                Region(Tag("", "hole"), (limit, *limits), planes=_cone(h, tier, axis, sign, thickness))
            )
        wedges += _wedges(h, tier, bottom, thickness)
    if h.depth is not None:
        regions.append(Region(Tag("bottom", "hole"), (_deeper(h.face, h.depth, thickness),)))
    r = h.widest / 2
    return Beside((h.u - r, h.v - r), (h.u + r, h.v + r), tuple(regions), tuple(wedges))


def _cone(h: Hole, tier: Tier, axis: int, sign: int, thickness: float) -> tuple[Plane, ...]:
    """The facet of a countersink beyond one of the circle's four flats."""
    if tier.sink == 0:
        return ()
    slope = (tier.flare - tier.radius) / tier.sink
    growth, top = (-slope, tier.top) if h.face == "front" else (slope, thickness - tier.top)
    unit = sqrt(1 / (1 + growth * growth))
    normal = [0.0, 0.0]
    normal[axis] = -sign * unit
    offset = (growth * top - sign * (h.u, h.v)[axis] - tier.flare) * unit
    return ((normal[0], normal[1], growth * unit, offset),)


def _wedges(h: Hole, tier: Tier, bottom: float, thickness: float) -> Iterator[Wedges]:
    height = bottom - tier.top
    cones: tuple[tuple[float, float], ...] = ()
    if tier.sink > 0:
        slope = (tier.flare - tier.radius) / tier.sink
        cones = ((tier.flare, -slope) if h.face == "front" else (tier.flare - slope * height, slope),)
    start = tier.top if h.face == "front" else thickness - bottom
    arc = Arc(steps(h.widest / 2), tier.radius, height, cones)
    for su in (-1, 1):
        for sv in (-1, 1):
            yield Wedges(arc, su, sv, (h.u, h.v, start), Tag("", "hole"))


def _angled_hole(h: AngledHole, shape: Shape) -> Beside:
    """Beyond each facet of the bore; and beyond its bottom, beyond each facet of the pilot; within its box."""
    tag = Tag("", h.word)
    low, high = h.bounds(shape.blank)
    deepest = high[2] if h.face == "front" else shape.thickness - low[2]
    regions = [
        Region(tag, ((axis, sign, (low, high)[sign > 0][axis]),)) for axis in (0, 1) for sign in (-1, 1)
    ]
    if deepest < shape.thickness - WELD:
        regions.append(Region(tag, (_deeper(h.face, deepest, shape.thickness),)))
    box = tuple((axis, sign, (low, high)[sign < 0][axis]) for axis in range(3) for sign in (1, -1))
    axis = h.axis(shape.blank)
    past: tuple[Plane, ...] = ()
    for radius, depth in h.stages:
        for k in range(count := hole_steps(h.diameter)):
            angle = 2 * pi * k / count
            facet = _facet(axis.entry, _mixed(axis.beside, axis.below, cos(angle), sin(angle)), radius)
            regions.append(Region(tag, box, planes=(*past, facet)))
        if depth is None:
            break
        past = (_facet(axis.entry, axis.along, depth),)
    else:
        regions.append(Region(Tag("bottom", h.word), box, planes=past))
    return Beside(low[:2], high[:2], tuple(regions))


def _mixed(a: Triple, b: Triple, share_a: float, share_b: float) -> Triple:
    return (
        a[0] * share_a + b[0] * share_b,
        a[1] * share_a + b[1] * share_b,
        a[2] * share_a + b[2] * share_b,
    )


def _facet(start: Triple, normal: Triple, distance: float) -> Plane:
    """What lies at least some distance from a point along a direction."""
    offset = sum(a * b for a, b in zip(start, normal, strict=True))
    return -normal[0], -normal[1], -normal[2], -(offset + distance)


def cells_of(shape: Shape) -> tuple[list[Cell], list[Wedges]]:
    """The convex cells and ready-made wedges whose union is the shape."""
    cuts = all_beside(shape)
    cuts = tuple(_sorted_wedges(cut, cuts, shape) for cut in cuts)
    cells: list[Cell] = []
    wedges: dict[Wedges, None] = {}
    for base in bases(shape):
        board = Cell(base.low, base.high, shape.thickness, planes=base.planes)
        for item in _carve(board, cuts):
            if isinstance(item, Wedges):
                wedges[item] = None
            elif not item.is_empty():
                cells.append(item)
    return cells, list(wedges)


def _sorted_wedges(cut: Beside, cuts: tuple[Beside, ...], shape: Shape) -> Beside:
    hemmed_in = tuple(one for one in cut.wedges if not _clear(one, cut, cuts, shape))
    if not hemmed_in:
        return cut
    clear = tuple(one for one in cut.wedges if one not in hemmed_in)
    return replace(cut, wedges=clear, hemmed_in=hemmed_in)


def _carve(cell: Cell, cuts: tuple[Beside, ...]) -> Iterator[Cell | Wedges]:
    """The wood of a cell around the cuts that reach into it."""
    (u0, v0, _), (u1, v1, _) = cell.low, cell.high
    here = tuple(f for f in cuts if f.low[0] < u1 and f.high[0] > u0 and f.low[1] < v1 and f.high[1] > v0)
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
        for wedge in wedges.within(cell):
            yield from _carve(wedge, rest)


def _separated(cuts: tuple[Beside, ...], axis: int) -> list[tuple[Beside, ...]]:
    """Groups of cuts that lie apart from each other on one axis, in order."""
    groups: list[list[Beside]] = []
    reach = -inf
    for cut in sorted(cuts, key=lambda one: one.low[axis]):
        if cut.low[axis] >= reach:
            groups.append([])
        groups[-1].append(cut)
        reach = max(reach, cut.high[axis])
    return [tuple(group) for group in groups]


def _clear(wedges: Wedges, cut: Beside, cuts: tuple[Beside, ...], shape: Shape) -> bool:
    """Whether the square around an arc's wedges lies in plain wood but for the arc's own cut."""
    low, high = wedges.square()
    for other in cuts:
        if other is not cut and all(other.low[k] < high[k] and low[k] < other.high[k] for k in (0, 1)):
            return False
    return keeps_clear_of_edges(shape, low, high)
