"""Convex prisms: a section cut out by half-planes, extruded along u or v of the part."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from .convex import Pieces
from .tolerances import ANGLE, WELD

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from .cells import Cell

    Floats = NDArray[np.float64]
    Ints = NDArray[np.intp]


class Section(NamedTuple):
    """A prism: half-planes across its axis, and its two ends on it."""

    axis: int
    """0 or 1: the axis of the part that it runs along."""
    low: float
    high: float
    half_planes: Floats
    """(m, 3) float; rows (normal on the other of u and v, normal on w, offset), unit normals"""
    tag: str

    @classmethod
    def of(cls, cell: Cell, planes: Floats) -> Section:
        """A cell whose cutting planes (k, 4) all run along u or all along v."""
        axis = 0 if not np.abs(planes[:, 0]).max() else 1
        across = 1 - axis
        box = [
            (-1.0, 0.0, -cell.low[across]),
            (0.0, -1.0, -cell.low[2]),
            (1.0, 0.0, cell.high[across]),
            (0.0, 1.0, cell.high[2]),
        ]
        half_planes = np.concatenate([box, planes[:, (across, 2, 3)]])
        return cls(axis, cell.low[axis], cell.high[axis], half_planes, cell.tag)


def extruded(sections: Sequence[Section]) -> Pieces:
    """The prisms as pieces, in order; the sections must have an inside."""
    rings = polygons([section.half_planes for section in sections])
    return Pieces.concatenate([_prism(section, *ring) for section, ring in zip(sections, rings, strict=True)])


def polygons(sets: Sequence[Floats]) -> list[tuple[Floats, Ints]]:
    """What half-planes have in common: for each set the corners (k, 2), counter-clockwise, and the planes kept (k,).

    Corner i is where plane `kept[i]` begins. Each line is cut by all other half-planes; what is left of it is an
    edge. All sets are worked out together.
    """
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


def _prism(section: Section, corners: Floats, kept: Ints) -> Pieces:
    count = len(corners)
    across = 1 - section.axis
    vertices = np.empty((2 * count, 3))
    vertices[:count, across] = vertices[count:, across] = corners[:, 0]
    vertices[:, 2] = np.concatenate([corners[:, 1], corners[:, 1]])
    vertices[:count, section.axis], vertices[count:, section.axis] = section.low, section.high
    planes = np.zeros((count + 2, 4))
    planes[:count, across], planes[:count, 2], planes[:count, 3] = section.half_planes[kept].T
    planes[count, section.axis], planes[count, 3] = -1.0, -section.low
    planes[count + 1, section.axis], planes[count + 1, 3] = 1.0, section.high
    ring = np.arange(count)
    following, before = (ring + 1) % count, (ring - 1) % count
    edges = np.concatenate(
        [
            np.stack([ring, following], 1),
            np.stack([ring, following], 1) + count,
            np.stack([ring, ring + count], 1),
        ]
    )
    edge_planes = np.concatenate(
        [
            np.stack([ring, np.full(count, count)], 1),
            np.stack([ring, np.full(count, count + 1)], 1),
            np.stack([before, ring], 1),
        ]
    )
    return Pieces(
        vertices,
        np.array([0, 2 * count]),
        planes,
        np.array([0, count + 2]),
        edges,
        edge_planes,
        np.array([0, 3 * count]),
        (section.tag,),
    )
