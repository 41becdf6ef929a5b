"""From the planes that bound convex bodies to their corners, facets and edges, many bodies at once."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ...sizes.arrays import Bools, Floats, Ints
from ...sizes.tolerances import ANGLE, WELD


class Rows(NamedTuple):
    """Vertices, planes and edges of several pieces, each row with the number of its piece."""

    vertex_piece: Ints
    vertices: Floats
    plane_piece: Ints
    planes: Floats
    edge_piece: Ints
    edges: Ints
    edge_planes: Ints


def edges_of_planes(planes: Floats, numbers: Ints) -> Rows:
    """Bodies of P planes each, B of them: (B, P, 4) float; the numbers that their rows shall carry: (B,) int.

    Raises
    ------
    ValueError
        if planes enclose no finite body
    """
    planes = planes / np.linalg.norm(planes[:, :, :3], axis=2, keepdims=True)
    normals, offsets = planes[:, :, :3], planes[:, :, 3]
    batch, plane_count = offsets.shape
    first, second = np.triu_indices(plane_count, 1)
    twin = _twins(normals, offsets)
    nearest, along, sine = _lines(normals, offsets, first, second)
    start, end = _clipped(normals, offsets, nearest, along, sine)
    is_edge = (end - start > WELD) & ~(twin[:, first] | twin[:, second])
    owner, line = np.nonzero(is_edge)
    ends = np.stack([start[owner, line], end[owner, line]])
    if not np.isfinite(ends).all():
        raise ValueError("the planes of a piece enclose no finite body")

    # Ends of edges are the same vertex when they lie on the same planes.
    points = (nearest[:, None, owner, line] + ends * along[:, None, owner, line]).reshape(3, -1).T
    owner_of_point = np.tile(owner, 2)
    distance = (normals[owner_of_point] @ points[:, :, None])[:, :, 0] - offsets[owner_of_point]
    on_plane = np.abs(distance) <= 2 * WELD
    vertex_of_point, first_point = _same_rows(owner_of_point, on_plane)

    # A facet has three corners; a plane with fewer only touches the piece.
    vertex_owner = owner_of_point[first_point]
    vertex, plane = np.nonzero(on_plane[first_point])
    corners = np.bincount(vertex_owner[vertex] * plane_count + plane, minlength=batch * plane_count)
    facet = (corners.reshape(batch, plane_count) >= 3) & ~twin
    kept = facet[owner, first[line]] & facet[owner, second[line]]
    plane_owner, plane = np.nonzero(facet)
    plane_number = np.cumsum(facet, axis=1) - 1
    vertex_start = np.searchsorted(vertex_owner, np.arange(batch))
    edges = vertex_of_point.reshape(2, -1).T[kept]
    owner, line = owner[kept], line[kept]
    return Rows(
        numbers[vertex_owner],
        points[first_point],
        numbers[plane_owner],
        planes[plane_owner, plane],
        numbers[owner],
        edges - vertex_start[owner, None],
        np.stack([plane_number[owner, first[line]], plane_number[owner, second[line]]], axis=1),
    )


def _lines(normals: Floats, offsets: Floats, first: Ints, second: Ints) -> tuple[Floats, Floats, Floats]:
    """The lines in which L pairs of planes meet: the points nearest to the origin and the unit directions, (3, B, L).

    The third is the sine of the angle between both planes, (B, L); 0 where they do not meet.
    """
    n1, n2 = normals.transpose(2, 0, 1)[:, :, first], normals.transpose(2, 0, 1)[:, :, second]
    cross = cross_product(n1, n2)
    square = (cross * cross).sum(axis=0)
    meets = square > _PARALLEL**2
    square[~meets] = 1.0
    nearest = offsets[:, first] * cross_product(n2, cross) + offsets[:, second] * cross_product(cross, n1)
    sine = np.sqrt(square)
    return nearest / square, cross / sine, np.where(meets, sine, 0.0)


def _clipped(
    normals: Floats, offsets: Floats, nearest: Floats, along: Floats, sine: Floats
) -> tuple[Floats, Floats]:
    """What all P planes of a body leave of its lines: from, to, (B, L) mm from the nearest point; empty: to < from."""
    rate = normals @ along.transpose(1, 0, 2)
    slack = offsets[:, :, None] - normals @ nearest.transpose(1, 0, 2)
    parallel = np.abs(rate) * sine[:, None] <= ANGLE
    misses = (parallel & (slack < -WELD)).any(axis=1) | (sine == 0.0)
    slack[parallel] = np.inf
    rate[parallel] = 1.0
    limit = slack / rate
    upward = rate > 0
    end = np.where(upward, limit, np.inf).min(axis=1)
    start = np.where(upward, -np.inf, limit).max(axis=1)
    start[misses], end[misses] = 0.0, -np.inf
    return start, end


_PARALLEL = 1000 * ANGLE
"""Sine of the angle below which two planes meet too far off, and too uncertainly, to make an edge."""


def _twins(normals: Floats, offsets: Floats) -> Bools:
    """(B, P) bool: planes that a parallel one further in, or an equal one before them, makes useless."""
    cosine = normals @ normals.transpose(0, 2, 1)
    same = cosine > 0.5
    if same.sum() > same.shape[0] * same.shape[1]:
        rows, i, j = np.nonzero(same)
        sine = np.linalg.norm(cross_product(normals[rows, i].T, normals[rows, j].T), axis=0)
        same[rows, i, j] = sine <= _PARALLEL
    further_in = offsets[:, None, :] - offsets[:, :, None]
    earlier = np.tri(offsets.shape[1], k=-1, dtype=bool)
    return (same & ((further_in < 0) | ((further_in == 0) & earlier))).any(axis=2)


def _same_rows(owner: Ints, marks: Bools) -> tuple[Ints, Ints]:
    """Number the distinct (owner, marks) rows by owner: each row's number, and a row for each number."""
    columns = marks.shape[1]
    words = [
        marks[:, at : at + 60] @ (np.int64(1) << np.arange(min(60, columns - at), dtype=np.int64))
        for at in range(0, columns, 60)
    ]
    order = np.lexsort((*words, owner))
    new = np.ones(len(order), dtype=bool)
    new[1:] = False
    for key in (owner, *words):
        sorted_key = key[order]
        new[1:] |= sorted_key[1:] != sorted_key[:-1]
    number = np.empty(len(order), dtype=np.intp)
    number[order] = np.cumsum(new) - 1
    return number, order[new]


def cross_product(a: Floats, b: Floats) -> Floats:
    """Cross products of (3, ...) arrays: the component comes first, which makes whole arrays the factors."""
    return np.stack([a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]])
