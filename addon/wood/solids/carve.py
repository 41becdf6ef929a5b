"""A part's wood cut up into convex cells and wedges, whose union it is.

Wood beside a cut is what lies beyond at least one of its faces (`beside`). Cells overlap freely. Cuts that lie apart
are given a room each, bounded by their neighbors, so that cells add up instead of multiplying.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import inf

from ..part import Shape
from ..sound.feature_check import keeps_clear_of_edges
from .bases import bases
from .beside import Beside, all_beside
from .cells import Cell, Wedges


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
