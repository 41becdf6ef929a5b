"""The solids of parts as convex pieces. All shapes of a table are worked out together, each distinct one once."""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise
from math import pi
from typing import TYPE_CHECKING

import numpy as np

from .cells import Wedges, cells_of
from .convex import Pieces, from_planes
from .errors import PartError
from .extrusion import Section, extruded
from .feature_check import check_features
from .profiles import corner_steps_of, steps

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

    from .cells import Cell
    from .part import Part, Shape

    Floats = NDArray[np.float64]

_CACHE_SIZE = 1024
_cache: dict[Shape, Pieces] = {}


def forget() -> None:
    """Drop all shapes worked out so far, so that a measurement starts cold."""
    _cache.clear()


def convex_pieces(shape: Shape) -> Pieces:
    """The convex pieces of a shape, in the part's frame, mm. Raises PartError for features that run together."""
    return shapes_as_pieces([shape])[shape]


def pieces_of(part: Part) -> Pieces:
    """The convex pieces of a part where it stands in the table, mm."""
    return convex_pieces(part.shape).transformed(part.placement.axes, part.placement.origin)


def pieces_of_parts(parts: Sequence[Part]) -> list[Pieces]:
    """The convex pieces of many parts where they stand in the table, mm; quicker than one by one."""
    try:
        shapes = shapes_as_pieces([part.shape for part in parts])
    except PartError:
        for part in parts:
            check_features(part.shape, part.label)
        raise
    return [shapes[part.shape].transformed(part.placement.axes, part.placement.origin) for part in parts]


def shapes_as_pieces(shapes: Iterable[Shape]) -> dict[Shape, Pieces]:
    """Pieces by shape. Raises PartError for features that run together."""
    wanted = dict.fromkeys(shapes)
    missing = [shape for shape in wanted if shape not in _cache]
    if len(_cache) + len(missing) > _CACHE_SIZE:
        _cache.clear()
        missing = list(wanted)
    for shape in missing:
        check_features(shape)
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
        for one in wedges:
            placed = _placed(one, shape.thickness)
            batch.sets.append(placed)
            batch.owners += [number] * len(placed)
    everything, owner = batch.pieces()
    order = np.argsort(owner, kind="stable")
    starts = np.searchsorted(owner[order], np.arange(len(shapes) + 1)).tolist()
    by_shape = everything.select(order)
    return [by_shape.run(first, last) for first, last in pairwise(starts)]


class _Batch:
    """Cells of many shapes, sorted by what they are, so that each kind is worked out in one go."""

    def __init__(self) -> None:
        self.sets: list[Pieces] = []
        self.owners: list[int] = []
        self._boxes: list[tuple[int, Cell]] = []
        self._mouths: list[tuple[int, Cell]] = []
        self._sections: list[tuple[int, Section]] = []
        self._general: list[tuple[int, str, Floats]] = []

    def add(self, number: int, cell: Cell) -> None:
        """One cell of shape `number`."""
        planes = cell.cutting_planes()
        if planes is None:
            return
        if not len(planes):
            self._boxes.append((number, cell))
        elif _is_mouth(cell, len(planes)):
            self._mouths.append((number, cell))
        elif not np.abs(planes[:, 0]).max() or not np.abs(planes[:, 1]).max():
            self._sections.append((number, Section.of(cell, planes)))
        else:
            self._general.append((number, cell.tag, np.concatenate([cell.box_planes(), planes])))

    def pieces(self) -> tuple[Pieces, NDArray[np.intp]]:
        """All pieces, and the number of the shape that each belongs to."""
        if self._boxes:
            low, high = (
                np.array([cell.low for _, cell in self._boxes]),
                np.array([cell.high for _, cell in self._boxes]),
            )
            self._take(
                Pieces.boxes(low, high, [cell.tag for _, cell in self._boxes]), [n for n, _ in self._boxes]
            )
        if self._mouths:
            self._take(_chamfered([cell for _, cell in self._mouths]), [n for n, _ in self._mouths])
        if self._sections:
            self._take(extruded([section for _, section in self._sections]), [n for n, _ in self._sections])
        for size in {len(planes) for _, _, planes in self._general}:
            alike = [item for item in self._general if len(item[2]) == size]
            solid = from_planes([planes for _, _, planes in alike], [str(i) for i in range(len(alike))])
            kept = [alike[int(tag)] for tag in solid.tags]
            self._take(solid.retagged([tag for _, tag, _ in kept]), [n for n, _, _ in kept])
        return Pieces.concatenate(self.sets), np.array(self.owners)

    def _take(self, pieces: Pieces, owners: list[int]) -> None:
        self.sets.append(pieces)
        self.owners += owners


def _is_mouth(cell: Cell, cutting: int) -> bool:
    """Whether the cell is a plain box but for one mouth with a chamfer on either face."""
    if len(cell.mouths) != 1 or cutting != 2:
        return False
    axis, sign, front, back, land = cell.mouths[0]
    depth, thickness = cell.high[axis] - cell.low[axis], cell.high[2] - cell.low[2]
    whole = thickness == cell.thickness and land == (cell.low if sign > 0 else cell.high)[axis]
    return whole and min(front, back) > 0 and max(front, back) < depth and front + back < thickness


# The hexagonal prism: (n, w) corners of its section, n counting from the land into the wood. Corners 0-5 at one end,
# 6-11 at the other. Planes: front face, far face, back face, back chamfer, land, front chamfer, the two ends.
_RING = np.stack([np.arange(6), (np.arange(6) + 1) % 6], axis=1)
_PRISM_EDGES = np.concatenate([_RING, _RING + 6, np.stack([np.arange(6), np.arange(6) + 6], axis=1)])
_PRISM_EDGE_PLANES = np.concatenate(
    [
        np.stack([np.arange(6), np.full(6, 6)], axis=1),
        np.stack([np.arange(6), np.full(6, 7)], axis=1),
        np.stack([(np.arange(6) - 1) % 6, np.arange(6)], axis=1),
    ]
)


def _chamfered(cells: list[Cell]) -> Pieces:
    """Hexagonal prisms beyond one edge of an opening, chamfered at both mouths."""
    count = len(cells)
    low, high = np.array([cell.low for cell in cells]), np.array([cell.high for cell in cells])
    axis = np.array([cell.mouths[0].axis for cell in cells])
    sign = np.array([float(cell.mouths[0].sign) for cell in cells])
    front = np.array([cell.mouths[0].front for cell in cells])
    back = np.array([cell.mouths[0].back for cell in cells])
    row = np.arange(count)
    land = np.where(sign > 0, low[row, axis], high[row, axis])
    deep = high[row, axis] - low[row, axis]
    base, top = low[:, 2], high[:, 2]
    zero = np.zeros(count)
    n = np.stack([front, deep, deep, back, zero, zero], axis=1)
    w = np.stack([base, base, top, top, top - back, base + front], axis=1)
    vertices = np.empty((count, 12, 3))
    vertices[:, :, 2] = np.concatenate([w, w], axis=1)
    vertices[row, :, axis] = np.tile(land[:, None] + sign[:, None] * n, (1, 2))
    vertices[row, :6, 1 - axis] = low[row, 1 - axis][:, None]
    vertices[row, 6:, 1 - axis] = high[row, 1 - axis][:, None]
    planes = np.zeros((count, 8, 4))
    half = np.sqrt(0.5)
    across = np.array([0.0, 1.0, 0.0, -half, -1.0, -half])
    planes[row[:, None], np.arange(6)[None, :], axis[:, None]] = sign[:, None] * across
    planes[:, :6, 2] = [-1.0, 0.0, 1.0, half, 0.0, -half]
    planes[row, 6, 1 - axis], planes[row, 7, 1 - axis] = -1.0, 1.0
    on_plane = vertices[:, [0, 1, 2, 3, 4, 5, 0, 6]]
    planes[:, :, 3] = (planes[:, :, :3] * on_plane).sum(axis=2)
    each = np.arange(count + 1)
    return Pieces(
        vertices.reshape(-1, 3),
        each * 12,
        planes.reshape(-1, 4),
        each * 8,
        np.tile(_PRISM_EDGES, (count, 1)),
        np.tile(_PRISM_EDGE_PLANES, (count, 1)),
        each * 18,
        tuple(cell.tag for cell in cells),
    )


def _placed(wedges: Wedges, thickness: float) -> Pieces:
    """A ready-made set of wedges where it belongs."""
    kind, radius, front, back, height = wedges.key
    key = (kind, radius, front, back, height or thickness)
    turned = _turned_template(key, wedges.sign_u, wedges.sign_v)
    return turned.translated(np.array(wedges.centre)).tagged(wedges.tag)


@lru_cache(maxsize=1024)
def _turned_template(key: tuple[str, float, float, float, float], sign_u: int, sign_v: int) -> Pieces:
    """A template in one of the four quarters."""
    return wedge_template(*key).transformed(np.diag([float(sign_u), float(sign_v), 1.0]), np.zeros(3))


@lru_cache(maxsize=256)
def wedge_template(kind: str, radius: float, front: float, back: float, height: float) -> Pieces:
    """Wood beyond the facets of a quarter arc about (0, 0), within the square that bounds it, for u, v >= 0.

    Parameters
    ----------
    kind : ``corner`` (of an opening, perhaps chamfered) or ``hole``
    radius, front, back, height : radius, chamfers at w = 0 and w = height, mm
    """
    count = corner_steps_of(radius, front, back) if kind == "corner" else steps(radius)
    wide = radius + max(front, back)
    box = [
        (-1.0, 0, 0, 0.0),
        (0, -1.0, 0, 0.0),
        (0, 0, -1.0, 0.0),
        (1.0, 0, 0, wide),
        (0, 1.0, 0, wide),
        (0, 0, 1.0, height),
    ]
    sets = []
    for k in range(1, count):
        angle = k * pi / 2 / count
        u, v = np.cos(angle), np.sin(angle)
        planes = [*box, (-u, -v, 0.0, -radius)]
        if front > 0:
            planes.append((-u, -v, -1.0, -(radius + front)))
        if back > 0:
            planes.append((-u, -v, 1.0, height - radius - back))
        sets.append(np.array(planes))
    return from_planes(sets, [""] * len(sets))
