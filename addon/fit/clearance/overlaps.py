"""Parts that overlap where they stand."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from ...model.tolerances import CONTACT
from .broad import crossing_boxes, facet_bound, turned
from .separation import Separation, signed_distance

if TYPE_CHECKING:
    from collections.abc import Collection

    from numpy.typing import NDArray

    from .kernel import StaticScene

    Floats = NDArray[np.float64]
    Ints = NDArray[np.intp]
    Bools = NDArray[np.bool_]


class Overlap(NamedTuple):
    """Two parts that overlap.

    Parameters
    ----------
    a, b : numbers of the parts, a < b
    depth : mm; the shortest move that takes their deepest pair of pieces apart
    place : (3,) float, mm; where that pair would part last
    axis : (3,) float, unit; the way out for `b`
    """

    a: int
    b: int
    depth: float
    place: Floats
    axis: Floats


def static_overlaps(scene: StaticScene, skip: Collection[tuple[int, int]] = ()) -> list[Overlap]:
    """All pairs of parts that overlap by more than `CONTACT`, in order of part numbers.

    The depth of two parts is that of their deepest pair of pieces.

    Parameters
    ----------
    skip : pairs of part numbers (lower first) that are not looked at
    """
    columns_a, columns_b = _crossing_pieces(scene)
    bound = _bounds(scene, columns_a, columns_b)
    deepest: dict[tuple[int, int], Separation] = {}
    for at in np.argsort(bound, kind="stable"):
        if bound[at] >= -CONTACT:
            break
        i, j = int(columns_a[at]), int(columns_b[at])
        parts = int(scene.owner[i]), int(scene.owner[j])
        if parts in skip or (parts in deepest and bound[at] >= deepest[parts].distance):
            continue
        found = signed_distance(scene.bounds.polytope(i), scene.bounds.polytope(j))
        if found.distance < (deepest[parts].distance if parts in deepest else -CONTACT):
            deepest[parts] = found
    found_of = ((parts, deepest[parts]) for parts in sorted(deepest))
    return [Overlap(*parts, -found.distance, found.place, found.axis) for parts, found in found_of]


def _bounds(scene: StaticScene, columns_a: Ints, columns_b: Ints) -> Floats:
    """Lower bounds of the signed distances of pairs of pieces; asked for by the side with fewer pieces."""
    few, many = np.unique(columns_a), columns_b
    if len(few) > len(np.unique(columns_b)):
        few, many, columns_a = np.unique(columns_b), columns_a, columns_b
    bound = np.empty(len(columns_a))
    for column in few:
        pairs = columns_a == column
        bound[pairs] = facet_bound(scene.bounds.polytope(int(column)), scene.pieces, many[pairs])
    return bound


def _crossing_pieces(scene: StaticScene) -> tuple[Ints, Ints]:
    """Pairs of pieces of different parts, lower part first, whose bounds cross on all axes and diagonals."""
    shadows, starts = scene.bounds.shadows, scene.part_starts
    across, part_box = turned(shadows), scene.part_shadows[:6]
    first, second = crossing_boxes(part_box[:3], -part_box[3:], CONTACT)
    counts = np.diff(starts)
    sides = []
    for part, other in ((first, second), (second, first)):
        number = np.repeat(np.arange(len(part)), counts[part])
        ends = np.cumsum(counts[part])
        pieces = np.arange(len(number)) + np.repeat(starts[part] - ends + counts[part], counts[part])
        near = _cross(shadows[:6], pieces, turned(part_box), other[number])
        sides.append((pieces[near], np.bincount(number[near], minlength=len(part))))
    (pieces_a, counts_a), (pieces_b, counts_b) = sides
    number = np.repeat(np.arange(len(first)), counts_a)
    rows = counts_b[number]
    i = np.repeat(pieces_a, rows)
    ends = np.cumsum(rows)
    begin_b = (np.cumsum(counts_b) - counts_b)[number]
    j = pieces_b[np.arange(len(i)) + np.repeat(begin_b - ends + rows, rows)]
    for rows in (slice(0, 6), slice(6, 18)):  # boxes, then what they leave
        near = _cross(shadows[rows], i, across[rows], j)
        i, j = i[near], j[near]
    return i, j


def _cross(shadows: Floats, which: Ints, others: Floats, of_others: Ints) -> Bools:
    """(n,) bool; which n pairs of shadows, one of them `turned`, overlap in every direction."""
    sides = shadows.take(which, axis=1, mode="clip")  # quicker, as no index is checked
    sides += others.take(of_others, axis=1, mode="clip")
    return sides.max(axis=0) < -CONTACT
