"""Parts as convex pieces where they stand in the table, all of them in one set.

All shapes of a table are worked out together, each distinct one once.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import chain, pairwise

import numpy as np
from numpy.typing import NDArray

from ...sizes.arrays import joined_starts
from ..part import Part, Shape
from ..sound import check_parts, check_shape
from .bases import Plane
from .carve import cells_of
from .cells import HALF, Arc, Cell, Wedges
from .extrusion import Section, extruded, prisms, stacked
from .pieces import Pieces, from_planes, solid_bodies

_CACHE_SIZE = 1024
_cache: dict[Shape, Pieces] = {}


def convex_pieces(shape: Shape) -> Pieces:
    """The convex pieces of a shape, in the part's frame, mm. Raises PartError for features that run together."""
    return shapes_as_pieces([shape])[shape]


def pieces_of(part: Part) -> Pieces:
    """The convex pieces of a part where it stands in the table, mm."""
    return convex_pieces(part.shape).transformed(part.placement.axes, part.placement.origin)


def shapes_as_pieces(shapes: Iterable[Shape]) -> dict[Shape, Pieces]:
    """Pieces by shape. Raises PartError for features that run together."""
    wanted = dict.fromkeys(shapes)
    missing = [shape for shape in wanted if shape not in _cache]
    if len(_cache) + len(missing) > _CACHE_SIZE:
        _cache.clear()
        missing = list(wanted)
    for shape in missing:
        check_shape(shape)
    if missing:
        _cache.update(zip(missing, _worked_out(missing), strict=True))
    return {shape: _cache[shape] for shape in wanted}


def _worked_out(shapes: list[Shape]) -> list[Pieces]:
    """Pieces of each shape: boxes, chamfered prisms and other prisms in closed form, the rest from planes."""
    batch = _Batch()
    for number, shape in enumerate(shapes):
        cells, wedges = cells_of(shape)
        for cell in cells:
            batch.add(number, cell)
        batch.add_wedges(number, wedges)
    everything, owner = batch.pieces()
    order = np.argsort(owner, kind="stable")
    starts = np.searchsorted(owner[order], np.arange(len(shapes) + 1)).tolist()
    by_shape = everything.select(order)
    return [by_shape.run(first, last) for first, last in pairwise(starts)]


class _Batch:
    """Cells of many shapes, sorted by what they are, so that each kind is worked out in one go."""

    def __init__(self) -> None:
        self._boxes: list[tuple[int, Cell]] = []
        self._flared: list[tuple[int, Cell]] = []
        self._sections: list[tuple[int, Section]] = []
        self._others: list[tuple[int, Cell, list[Plane]]] = []
        self._wedges: list[tuple[int, Wedges, Pieces]] = []

    def add(self, number: int, cell: Cell) -> None:
        """One cell of shape `number`."""
        planes = cell.cutting_planes()
        if planes is None:
            return
        if not planes:
            self._boxes.append((number, cell))
        elif _is_flared(cell, len(planes)):
            self._flared.append((number, cell))
        elif not (any(plane[0] for plane in planes) and any(plane[1] for plane in planes)):
            self._sections.append((number, Section.of(cell, planes)))
        else:
            self._others.append((number, cell, planes))

    def add_wedges(self, number: int, wedges: list[Wedges]) -> None:
        """Ready-made wedges of shape `number`."""
        for one in wedges:
            self._wedges.append((number, one, _turned_template(one.arc, one.sign_u, one.sign_v)))

    def pieces(self) -> tuple[Pieces, NDArray[np.intp]]:
        """All pieces, and the number of the shape that each belongs to."""
        sets: list[Pieces] = []
        owners: list[int] = []
        if self._wedges:
            sets.append(_placed([(one, template) for _, one, template in self._wedges]))
            owners += [number for number, _, template in self._wedges for _ in range(len(template))]
        if self._boxes:
            boxes = [cell for _, cell in self._boxes]
            low, high = np.array([cell.low for cell in boxes]), np.array([cell.high for cell in boxes])
            sets.append(Pieces.boxes(low, high, [cell.tag for cell in boxes]))
            owners += [number for number, _ in self._boxes]
        if self._flared:
            sets.append(_chamfered([cell for _, cell in self._flared]))
            owners += [number for number, _ in self._flared]
        if self._sections:
            solid, sections = extruded([section for _, section in self._sections])
            sets.append(solid)
            owners += [self._sections[section][0] for section in sections]
        if self._others:
            solid, others = _general([cell for _, cell, _ in self._others], [own for *_, own in self._others])
            sets.append(solid)
            owners += [self._others[other][0] for other in others]
        return Pieces.concatenate(sets), np.array(owners, dtype=np.intp)


def _is_flared(cell: Cell, cutting: int) -> bool:
    """Whether the cell is a plain box but for one flare with a chamfer on either face."""
    if len(cell.flares) != 1 or cutting != 2:
        return False
    axis, sign, front, back, land = cell.flares[0]
    depth, thickness = cell.high[axis] - cell.low[axis], cell.high[2] - cell.low[2]
    whole = thickness == cell.thickness and land == (cell.low if sign > 0 else cell.high)[axis]
    return whole and min(front, back) > 0 and max(front, back) < depth and front + back < thickness


_FLARE_NORMALS = np.array([[0.0, -1.0], [1.0, 0.0], [0.0, 1.0], [-HALF, HALF], [-1.0, 0.0], [-HALF, -HALF]])
"""Into the wood and on w: front face, far face, back face, back chamfer, land, front chamfer."""


def _chamfered(cells: list[Cell]) -> Pieces:
    """Hexagonal prisms beyond one edge of an opening, chamfered at both faces."""
    low, high = np.array([cell.low for cell in cells]), np.array([cell.high for cell in cells])
    axis = np.array([cell.flares[0].axis for cell in cells])
    sign, front, back = np.array([cell.flares[0][1:4] for cell in cells], dtype=float).T
    row, zero = np.arange(len(cells)), np.zeros(len(cells))
    land = np.where(sign > 0, low[row, axis], high[row, axis])
    deep = high[row, axis] - low[row, axis]
    base, top = low[:, 2], high[:, 2]
    into = np.stack([front, deep, deep, back, zero, zero], axis=1)
    corners = np.empty((len(cells), 6, 2))
    corners[:, :, 0] = land[:, None] + sign[:, None] * into
    corners[:, :, 1] = np.stack([base, base, top, top, top - back, base + front], axis=1)
    sides = np.empty((len(cells), 6, 3))
    sides[:, :, 0], sides[:, :, 1] = sign[:, None] * _FLARE_NORMALS[:, 0], _FLARE_NORMALS[:, 1]
    sides[:, :, 2] = (sides[:, :, :2] * corners).sum(axis=2)
    ends = low[row, 1 - axis], high[row, 1 - axis]
    return prisms(1 - axis, *ends, corners, sides, [cell.tag for cell in cells])


def _general(cells: list[Cell], planes: list[list[Plane]]) -> tuple[Pieces, list[int]]:
    """Other cells and the planes that cut them as pieces, and the number of the cell that each is of."""
    solid, numbers = stacked(cells, planes)
    rest = [number for number in range(len(cells)) if number not in numbers]
    if not rest:
        return solid, numbers
    sets = [np.array(cells[number].box_planes() + planes[number]) for number in rest]
    others, kept = solid_bodies(sets)
    more = [rest[number] for number in kept]
    return Pieces.concatenate(
        [solid, others.retagged([cells[number].tag for number in more])]
    ), numbers + more


def _placed(wedges: list[tuple[Wedges, Pieces]]) -> Pieces:
    """Ready-made sets of wedges where they belong."""
    centers = np.array([one.center for one, _ in wedges])
    joined = Pieces.concatenate([template for _, template in wedges])
    planes = joined.planes.copy()
    offsets = centers.repeat([len(template.planes) for _, template in wedges], axis=0)
    planes[:, 3] += np.einsum("ij,ij->i", planes[:, :3], offsets)
    offsets = centers.repeat([len(template.vertices) for _, template in wedges], axis=0)
    tags = [one.tag for one, template in wedges for _ in range(len(template))]
    return replace(joined, vertices=joined.vertices + offsets, planes=planes, tags=tuple(tags))


@lru_cache(maxsize=1024)
def _turned_template(arc: Arc, sign_u: int, sign_v: int) -> Pieces:
    """A template in one of the four quarters."""
    return wedge_template(arc).transformed(np.diag([float(sign_u), float(sign_v), 1.0]), np.zeros(3))


@lru_cache(maxsize=256)
def wedge_template(arc: Arc) -> Pieces:
    """Wood beyond the facets of a quarter arc about (0, 0), within the square that bounds it, for u, v >= 0."""
    wide = arc.wide
    box = [
        *((-1.0, 0.0, 0.0, 0.0), (0.0, -1.0, 0.0, 0.0), (0.0, 0.0, -1.0, 0.0)),
        *((1.0, 0.0, 0.0, wide), (0.0, 1.0, 0.0, wide), (0.0, 0.0, 1.0, arc.height)),
    ]
    sets = [
        np.array(
            [*box, (-u, -v, 0.0, -arc.radius), *((-u, -v, growth, -radius) for radius, growth in arc.cones)]
        )
        for u, v in arc.facets()
    ]
    return from_planes(sets, [""] * len(sets))


@dataclass(frozen=True, eq=False)
class Placed:
    """The pieces of several parts, part after part."""

    together: Pieces
    starts: list[int]
    """Where the pieces of each part begin; one more than there are parts."""

    def of(self, number: int) -> Pieces:
        """The pieces of one part."""
        return self.together.run(self.starts[number], self.starts[number + 1])

    def of_all(self) -> list[Pieces]:
        """The pieces of each part."""
        return [self.of(number) for number in range(len(self.starts) - 1)]


def placed(parts: Sequence[Part]) -> Placed:
    """Parts as pieces, mm. Raises PartError for features that run together."""
    check_parts(parts)
    shapes = shapes_as_pieces([part.shape for part in parts])
    sets = [shapes[part.shape] for part in parts]
    starts = np.cumsum([0] + [len(one) for one in sets]).tolist()
    vertices = np.empty((sum(len(one.vertices) for one in sets), 3))
    planes = np.empty((sum(len(one.planes) for one in sets), 4))
    vertex = plane = 0
    for one, part in zip(sets, parts, strict=True):
        axes, origin = part.placement.axes, part.placement.origin
        corners = vertices[vertex : vertex + len(one.vertices)]
        np.matmul(one.vertices, axes, out=corners)
        corners += origin
        facets = planes[plane : plane + len(one.planes)]
        np.matmul(one.planes[:, :3], axes, out=facets[:, :3])
        np.matmul(facets[:, :3], origin, out=facets[:, 3])
        facets[:, 3] += one.planes[:, 3]
        vertex, plane = vertex + len(corners), plane + len(facets)
    return Placed(
        Pieces(
            vertices,
            joined_starts([one.starts for one in sets]),
            planes,
            joined_starts([one.plane_starts for one in sets]),
            tuple(chain.from_iterable(one.edges for one in sets)),
            tuple(chain.from_iterable(one.tags for one in sets)),
        ),
        starts,
    )
