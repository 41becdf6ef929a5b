"""Convex prisms: a section cut out by half-planes, extruded along u or v of the part."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from .convex import Edges, Pieces
from .tolerances import ANGLE, WELD

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from .bases import Plane
    from .cell import Cell

    Floats = NDArray[np.float64]
    Ints = NDArray[np.intp]
    HalfPlane = tuple[float, float, float]


def half_planes_of(cell: Cell, planes: Sequence[Plane], axis: int) -> list[HalfPlane]:
    """What bounds a cell in the plane of w and one of u (axis 0) and v: its box and the planes cutting it there.

    Normal on that axis, normal on w, offset; the box comes first: least on the axis, least w, greatest on the axis,
    greatest w.
    """
    return [
        *((-1.0, 0.0, -cell.low[axis]), (0.0, -1.0, -cell.low[2])),
        *((1.0, 0.0, cell.high[axis]), (0.0, 1.0, cell.high[2])),
        *((plane[axis], plane[2], plane[3]) for plane in planes if plane[axis]),
    ]


class Section(NamedTuple):
    """A prism: half-planes across its axis, and its two ends on it."""

    axis: int
    """0 or 1: the axis of the part that it runs along."""
    low: float
    high: float
    half_planes: list[HalfPlane]
    """Normal on the other of u and v, normal on w, offset; unit normals"""
    tag: str

    @classmethod
    def of(cls, cell: Cell, planes: Sequence[Plane]) -> Section:
        """A cell whose cutting planes all run along u or all along v."""
        axis = 0 if not any(plane[0] for plane in planes) else 1
        half_planes = half_planes_of(cell, planes, 1 - axis)
        return cls(axis, cell.low[axis], cell.high[axis], half_planes, cell.tag)


def extruded(sections: Sequence[Section]) -> tuple[Pieces, list[int]]:
    """The prisms as pieces, and the number of the section that each is of; the sections must have an inside."""
    by_size: dict[int, list[int]] = {}
    rings = polygons([section.half_planes for section in sections])
    for number, (_, kept) in enumerate(rings):
        by_size.setdefault(len(kept), []).append(number)
    sets = []
    for numbers in by_size.values():
        chosen = [sections[number] for number in numbers]
        sets.append(
            prisms(
                np.array([section.axis for section in chosen]),
                np.array([section.low for section in chosen]),
                np.array([section.high for section in chosen]),
                np.array([rings[number][0] for number in numbers]),
                np.array([np.array(sections[number].half_planes)[rings[number][1]] for number in numbers]),
                [section.tag for section in chosen],
            )
        )
    return Pieces.concatenate(sets), [number for numbers in by_size.values() for number in numbers]


def prisms(
    axis: Ints, low: Floats, high: Floats, corners: Floats, half_planes: Floats, tags: Sequence[str]
) -> Pieces:
    """N prisms over sections with k corners.

    Parameters
    ----------
    axis : (N,) int; the axis, 0 or 1, that each runs along
    low, high : (N,) float, mm; its ends
    corners : (N, k, 2) float, mm; on the other of u and v, and on w
    half_planes : (N, k, 3) float; normal and offset of the side that begins at each corner
    tags : N strings
    """
    row, count, across = np.arange(len(axis)), corners.shape[1], 1 - axis
    vertices = np.empty((len(axis), 2 * count, 3))
    vertices[row, :, across] = np.concatenate([corners[:, :, 0], corners[:, :, 0]], axis=1)
    vertices[:, :count, 2] = vertices[:, count:, 2] = corners[:, :, 1]
    vertices[row, :count, axis], vertices[row, count:, axis] = low[:, None], high[:, None]
    planes = np.zeros((len(axis), count + 2, 4))
    planes[row, :count, across] = half_planes[:, :, 0]
    planes[:, :count, 2:] = half_planes[:, :, 1:]
    planes[row, count, axis], planes[row, count + 1, axis] = -1.0, 1.0
    planes[:, count, 3], planes[:, count + 1, 3] = -low, high
    return Pieces.alike(vertices, planes, _edges_of_prism(count), tags)


@lru_cache(maxsize=64)
def _edges_of_prism(count: int) -> Edges:
    """Edges and their planes: corners 0 … k − 1 at one end, the rest at the other; planes: sides, then both ends."""
    ring = np.arange(count)
    following, before = (ring + 1) % count, (ring - 1) % count
    ends = [[ring, ring + count, ring], [following, following + count, ring + count]]
    first_end, second_end = np.full(count, count), np.full(count, count + 1)
    planes = [[ring, ring, before], [first_end, second_end, ring]]
    return Edges(np.reshape(ends, (2, -1)).T, np.reshape(planes, (2, -1)).T)


def polygons(sets: Sequence[Sequence[HalfPlane]]) -> list[tuple[Floats, Ints]]:
    """What half-planes have in common: for each set the corners (k, 2), counter-clockwise, and the planes kept (k,).

    Corner i is where plane `kept[i]` begins. Each line is cut by all other half-planes; what is left of it is an
    edge. All sets are worked out together, equal ones once.
    """
    keys = [tuple(one) for one in sets]
    distinct = list(dict.fromkeys(keys))
    found = dict(zip(distinct, _polygons(distinct), strict=True))
    return [found[key] for key in keys]


def _polygons(sets: Sequence[Sequence[HalfPlane]]) -> list[tuple[Floats, Ints]]:
    width = max(len(one) for one in sets)
    planes = np.zeros((len(sets), width, 3))
    planes[:, :, 2] = 1.0  # fills up short sets: 0 <= 1 cuts nothing
    for row, one in enumerate(sets):
        planes[row, : len(one)] = one
    normals, offsets = planes[:, :, :2], planes[:, :, 2]
    along = np.stack([-normals[:, :, 1], normals[:, :, 0]], axis=2)
    foot = normals * offsets[:, :, None]
    rate = along @ normals.transpose(0, 2, 1)
    slack = offsets[:, None, :] - foot @ normals.transpose(0, 2, 1)
    parallel = np.abs(rate) <= ANGLE
    same = parallel & (normals @ normals.transpose(0, 2, 1) > 0) & (np.abs(slack) <= WELD)
    twin = (same & np.tri(width, k=-1, dtype=bool)).any(axis=2)
    misses = (parallel & (slack < -WELD)).any(axis=2)
    rate[parallel], slack[parallel] = 1.0, np.inf
    limit = slack / rate
    end = np.where(rate > 0, limit, np.inf).min(axis=2)
    start = np.where(rate > 0, -np.inf, limit).max(axis=2)
    is_edge = ~misses & ~twin & (end - start > WELD) & np.isfinite(end)
    angle = np.arctan2(normals[:, :, 1], normals[:, :, 0])
    corners = foot + np.where(is_edge, start, 0.0)[:, :, None] * along
    found = []
    for row in range(len(sets)):
        kept = np.flatnonzero(is_edge[row])
        kept = kept[np.argsort(angle[row, kept], kind="stable")]
        found.append((corners[row, kept], kept))
    return found
