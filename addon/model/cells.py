"""A part's wood as convex cells: boxes in the part's frame, cut by a few planes or bevelled at an opening's mouth.

Wood beside an opening is what lies beyond at least one of the opening's edges. So each edge gives one cell:
everything beyond it, chamfers included (for a rectangle the four overlapping ones left, right, below and above), and
the facets of a round corner give small wedges within the corner. Cells overlap freely and their union is the part.
Features that lie apart are given a room each, bounded by their neighbours, so that cells add up instead of
multiplying.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import product
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from .convex_parts import convex_parts
from .profiles import edge_profile
from .tolerances import WELD

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from .part import EdgeTreatment, Groove, Hole, Opening, Shape

    Floats = NDArray[np.float64]

Triple = tuple[float, float, float]


class Mouth(NamedTuple):
    """The chamfered face that a cell turns to an opening: on which axis, on which side, and both chamfers' legs."""

    axis: int
    sign: int
    """+1 where the cell lies on the greater side of the opening's edge."""
    front: float
    back: float


class Wedges(NamedTuple):
    """A ready-made set of wedges around an arc: which, mirrored how, and where its centre lies."""

    key: tuple[str, float, float, float, float]
    """(kind, radius, front chamfer, back chamfer, height); see `solids.wedge_template`"""
    sign_u: int
    sign_v: int
    centre: Triple
    tag: str


@dataclass(frozen=True)
class Cell:
    """A convex region: a box, chamfers at one opening's mouth, and further planes (nx, ny, nz, offset)."""

    low: Triple
    high: Triple
    tag: str
    mouths: tuple[Mouth, ...] = ()
    planes: tuple[Floats, ...] = ()

    def within(self, axis: int, low: float = -np.inf, high: float = np.inf) -> Cell:
        """What lies between two limits on one axis."""
        lows, highs = list(self.low), list(self.high)
        lows[axis], highs[axis] = max(lows[axis], low), min(highs[axis], high)
        return replace(self, low=tuple(lows), high=tuple(highs))

    def is_empty(self) -> bool:
        """Whether the box has no inside."""
        return any(high - low <= WELD for low, high in zip(self.low, self.high, strict=True))

    def holds(self, low: tuple[float, float], high: tuple[float, float]) -> bool:
        """Whether a rectangle of the board's plane lies inside the box, and no plane or mouth comes near it."""
        inside = all(self.low[k] <= low[k] and high[k] <= self.high[k] for k in (0, 1))
        corner_low, corner_high = np.array([*low, self.low[2]]), np.array([*high, self.high[2]])
        return inside and not self.mouths and not len(_cutting(self.planes, corner_low, corner_high)[0])

    def plane_set(self) -> Floats | None:
        """(p, 4) float: the box's six planes and those others that cut it; None if one leaves nothing."""
        low, high = np.array(self.low), np.array(self.high)
        box = np.zeros((6, 4))
        box[:3, :3], box[3:, :3] = -np.eye(3), np.eye(3)
        box[:3, 3], box[3:, 3] = -low, high
        planes = (*self.planes, *(plane for mouth in self.mouths for plane in self._chamfers(mouth)))
        cutting, empty = _cutting(planes, low, high)
        return None if empty else np.concatenate([box, cutting])

    def _chamfers(self, mouth: Mouth) -> Iterator[Floats]:
        """The chamfer planes at a mouth; the land is the box's own face."""
        inward = np.zeros(2)
        inward[mouth.axis] = -mouth.sign
        land = (self.low if mouth.sign > 0 else self.high)[mouth.axis]
        offset = -mouth.sign * land
        if mouth.front > 0:
            yield _plane(inward, -1.0, offset - mouth.front - self.low[2])
        if mouth.back > 0:
            yield _plane(inward, 1.0, offset - mouth.back + self.high[2])

    def plain(self) -> Cell:
        """The same cell without planes that do not cut it."""
        if not self.planes:
            return self
        cutting, _ = _cutting(self.planes, np.array(self.low), np.array(self.high))
        return replace(self, planes=tuple(cutting))


def _cutting(planes: tuple[Floats, ...], low: Floats, high: Floats) -> tuple[Floats, bool]:
    """Those planes that cut a box, (k, 4), and whether one of them leaves nothing of it."""
    if not planes:
        return np.zeros((0, 4)), False
    stacked = np.array(planes)
    normals, offsets = stacked[:, :3], stacked[:, 3]
    middle, spread = normals @ ((low + high) / 2), np.abs(normals) @ ((high - low) / 2)
    return stacked[middle + spread > offsets + WELD], bool((middle - spread >= offsets - WELD).any())


def _plane(direction: Floats, slope: float, offset: float) -> Floats:
    """The plane direction·(u, v) + slope·w <= offset with a unit normal; direction has unit length."""
    return np.array([*direction, slope, offset]) / np.sqrt(1 + slope * slope)


@dataclass(frozen=True)
class Feature:
    """A cut as the wood sees it: its bounds in the board's plane, a rule for the wood beyond, and its wedges."""

    low: tuple[float, float]
    high: tuple[float, float]
    limits: tuple[tuple[str, int, int, float], ...]
    """(tag, axis, sign, limit): wood beyond the limit, on the greater side for sign +1."""
    chamfers: tuple[float, float] = (0.0, 0.0)
    wedges: tuple[Wedges, ...] = ()

    def beyond(self, cell: Cell) -> Iterator[Cell]:
        """The wood of a cell beyond each face of the cut."""
        front, back = self.chamfers
        for tag, axis, sign, limit in self.limits:
            part = cell.within(axis, low=limit) if sign > 0 else cell.within(axis, high=limit)
            mouths = (*cell.mouths, Mouth(axis, sign, front, back)) if front or back else cell.mouths
            yield replace(part, mouths=mouths, tag=tag)


def cells_of(shape: Shape) -> tuple[list[Cell], list[Wedges]]:
    """The convex cells and ready-made wedges whose union is the shape."""
    features = (
        *(_of_opening(opening) for opening in shape.openings),
        *(_of_groove(groove, shape.thickness) for groove in shape.grooves),
        *(_of_hole(hole, shape.thickness) for hole in shape.holes),
    )
    cells: list[Cell] = []
    wedges: dict[Wedges, None] = {}
    for base in _bases(shape):
        for item in _carve(base, features):
            if isinstance(item, Wedges):
                wedges[item] = None
            elif not item.is_empty():
                cells.append(item.plain())
    return cells, list(wedges)


def _carve(cell: Cell, features: tuple[Feature, ...]) -> Iterator[Cell | Wedges]:
    """The wood of a cell around the features that reach into it."""
    here = tuple(
        f for f in features if all(f.low[k] < cell.high[k] and f.high[k] > cell.low[k] for k in (0, 1))
    )
    if not here:
        yield cell
        return
    if len(here) > 1:
        for axis in (0, 1):
            groups = _separated(here, axis)
            if len(groups) > 1:
                for index, group in enumerate(groups):
                    low = max((f.high[axis] for g in groups[:index] for f in g), default=-np.inf)
                    high = min((f.low[axis] for g in groups[index + 1 :] for f in g), default=np.inf)
                    yield from _carve(cell.within(axis, low, high), group)
                return
    first, rest = here[0], here[1:]
    for beyond in first.beyond(cell):
        if not beyond.is_empty():
            yield from _carve(beyond, rest)
    yield from first.wedges


def _separated(features: tuple[Feature, ...], axis: int) -> list[tuple[Feature, ...]]:
    """Groups of features that lie apart from each other on one axis, in order."""
    groups: list[list[Feature]] = []
    reach = -np.inf
    for feature in sorted(features, key=lambda f: f.low[axis]):
        if feature.low[axis] >= reach:
            groups.append([])
        groups[-1].append(feature)
        reach = max(reach, feature.high[axis])
    return [tuple(group) for group in groups]


def _bases(shape: Shape) -> Iterator[Cell]:
    """The board without openings: convex parts of the outline with its edges bevelled and eased.

    A treatment that stops gives three boards: treated all along, and untreated before and after its stops.
    """
    outline = np.array(shape.outline)
    stopped = [edge for edge in shape.edges if edge.start is not None or edge.stop is not None]
    bevels = {bevel.edge: bevel for bevel in shape.bevels}
    for states in product(("treated", "before", "after"), repeat=len(stopped)):
        limits = [_stop_plane(outline, edge, state) for edge, state in zip(stopped, states, strict=True)]
        if any(state != "treated" and limit is None for limit, state in zip(limits, states, strict=True)):
            continue
        skipped = [edge for edge, state in zip(stopped, states, strict=True) if state != "treated"]
        treated = [edge for edge in shape.edges if edge not in skipped]
        for part in convex_parts(shape.outline):
            planes = [limit for limit in limits if limit is not None]
            for number, direction, offset in _sides(outline, part):
                own = tuple(edge for edge in treated if edge.edge == number)
                bevel = None if number is None else bevels.get(number)
                planes += _profile_planes(direction, offset, edge_profile(shape.thickness, own, bevel))
            yield _base(outline[list(part)], shape.thickness, planes)


def _base(corners: Floats, thickness: float, planes: list[Floats]) -> Cell:
    """A board as a cell; planes along the axes narrow its box."""
    low, high = corners.min(axis=0), corners.max(axis=0)
    cell = Cell((low[0], low[1], 0.0), (high[0], high[1], thickness), "board")
    general = []
    for plane in planes:
        (axes,) = np.nonzero(np.abs(plane[:3]) > WELD)
        if len(axes) == 1:
            k, n = int(axes[0]), float(plane[axes[0]])
            cell = cell.within(k, high=plane[3] / n) if n > 0 else cell.within(k, low=plane[3] / n)
        else:
            general.append(plane)
    return replace(cell, planes=tuple(general))


def _sides(outline: Floats, part: tuple[int, ...]) -> Iterator[tuple[int | None, Floats, float]]:
    """(outline edge or None, outward direction (2,), offset) of each side of a convex part of the outline."""
    count = len(outline)
    for i, j in zip(part, (*part[1:], part[0]), strict=True):
        along = outline[j] - outline[i]
        direction = np.array([along[1], -along[0]]) / np.hypot(*along)
        yield (i if j == (i + 1) % count else None), direction, float(direction @ outline[i])


def _profile_planes(direction: Floats, offset: float, profile: Floats) -> list[Floats]:
    """A plane for each straight length of an edge's section: direction·x <= offset - inset(w)."""
    planes = []
    for (w0, inset0), (w1, inset1) in zip(profile, profile[1:], strict=False):
        if w1 - w0 > WELD:
            slope = (inset1 - inset0) / (w1 - w0)
            planes.append(_plane(direction, slope, offset - inset0 + slope * w0))
    return planes


def _stop_plane(outline: Floats, edge: EdgeTreatment, state: str) -> Floats | None:
    """Before its start or after its stop: the half-space along the edge; None where it runs out there."""
    a, b = outline[edge.edge], outline[(edge.edge + 1) % len(outline)]
    along = (b - a) / np.hypot(*(b - a))
    if state == "before" and edge.start is not None:
        return np.array([*along, 0.0, along @ a + edge.start])
    if state == "after" and edge.stop is not None:
        return np.array([*-along, 0.0, -(along @ a + edge.stop)])
    return None


def _of_opening(opening: Opening) -> Feature:
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


def _of_groove(groove: Groove, thickness: float) -> Feature:
    g = groove
    behind = (1, g.depth) if g.face == "front" else (-1, thickness - g.depth)
    limits = (
        (f"lower edge of the {g.kind}", 1, -1, g.v0),
        (f"upper edge of the {g.kind}", 1, 1, g.v1),
        (f"start of the {g.kind}", 0, -1, g.u0),
        (f"end of the {g.kind}", 0, 1, g.u1),
        (f"bottom of the {g.kind}", 2, *behind),
    )
    return Feature((g.u0, g.v0), (g.u1, g.v1), limits)


def _of_hole(hole: Hole, thickness: float) -> Feature:
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
        start = 0.0 if h.face == "front" else thickness - h.depth
        limits.append(
            ("bottom of the hole", 2, *((1, h.depth) if h.face == "front" else (-1, thickness - h.depth)))
        )
    wedges = tuple(
        Wedges(("hole", r, 0.0, 0.0, height), su, sv, (h.u, h.v, start), "hole")
        for su in (-1, 1)
        for sv in (-1, 1)
    )
    return Feature((h.u - r, h.v - r), (h.u + r, h.v + r), tuple(limits), wedges=wedges)
