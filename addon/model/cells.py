"""A part's wood as convex cells: boxes in the part's frame, cut by a few planes or bevelled at an opening's mouth.

Wood beside an opening is what lies beyond at least one of the opening's edges. So each edge gives one cell:
everything beyond it, chamfers included (for a rectangle the four overlapping ones left, right, below and above), and
the facets of a round corner give small wedges within the corner. Cells overlap freely and their union is the part.
Features that lie apart are given a room each, bounded by their neighbours, so that cells add up instead of
multiplying.
"""

from __future__ import annotations

from dataclasses import replace
from math import cos, inf, pi, sin
from typing import TYPE_CHECKING

from .bases import bases
from .cell import HALF, Cell
from .cuts import Wedges, of_groove, of_hole, of_opening
from .feature_check import keeps_clear_of_edges
from .profiles import corner_steps_of, steps

if TYPE_CHECKING:
    from collections.abc import Iterator

    from .bases import Plane
    from .cuts import Feature
    from .part import Shape


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
        box = box.within(2, wedges.centre[2], wedges.centre[2] + height)
    if box.is_empty():
        return
    count = corner_steps_of(radius, front, back) if kind == "corner" else steps(radius)
    for k in range(1, count):
        angle = k * pi / 2 / count
        u, v = wedges.sign_u * cos(angle), wedges.sign_v * sin(angle)
        reach = u * wedges.centre[0] + v * wedges.centre[1] + radius
        planes: list[Plane] = [(-u, -v, 0.0, -reach)]
        if front > 0:
            planes.append((-u * HALF, -v * HALF, -HALF, -(reach + front) * HALF))
        if back > 0:
            planes.append((-u * HALF, -v * HALF, HALF, (cell.thickness - reach - back) * HALF))
        yield Cell(box.low, box.high, cell.thickness, wedges.tag, box.mouths, (*box.planes, *planes))
