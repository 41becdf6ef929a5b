"""How near a part comes to others on a straight slide, and which parts overlap where they stand: exact, no sampling.

      start              end
      +--+- - - - - - - +--+
      |  |    sweep     |  |       what a convex piece passes through is one convex body
      +--+- - - - - - - +--+
                |  clearance of the whole slide
            +-------+
            | piece |              that stands still
            +-------+

A straight slide of a convex piece passes through a convex body, its sweep, and the distance from that sweep
to a standing piece is the smallest clearance of the whole slide. So one slide is a set of pairs of convex
bodies, and nearly all of them are settled by bounding boxes: exactly, where flat faces look at each other, or
by a lower bound that is more than enough. What is left goes through facets to the exact distance, nearest
first.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import NamedTuple

import numpy as np

from ...sizes.arrays import Bools, Floats, Ints
from ...sizes.tolerances import CONTACT
from ...wood.solids.pieces import Pieces
from .broad import Mover, Run, Runs, Standing, crossing_boxes, facet_bound, turned
from .contact import Contact, Slide
from .pairs import Pairs
from .separation import Separation, signed_distance


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
    if skip:
        pairs = np.array(sorted(skip), dtype=np.intp) @ [scene.part_count, 1]
        looked_at = ~np.isin(scene.owner[columns_a] * scene.part_count + scene.owner[columns_b], pairs)
        columns_a, columns_b = columns_a[looked_at], columns_b[looked_at]
    bound = _bounds(scene, columns_a, columns_b)
    deepest: dict[tuple[int, int], Separation] = {}
    for at in np.argsort(bound, kind="stable"):
        if bound[at] >= -CONTACT:
            break
        i, j = int(columns_a[at]), int(columns_b[at])
        parts = int(scene.owner[i]), int(scene.owner[j])
        if parts in deepest and bound[at] >= deepest[parts].distance:
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


__all__ = [
    "Contact",
    "Mover",
    "Overlap",
    "Run",
    "Runs",
    "Slide",
    "StaticScene",
    "part_gap",
    "slide_clearances",
    "static_overlaps",
]

_REST = np.zeros(3)


class StaticScene(Standing):
    """Pieces that stand still, and what slides past them."""

    def slides(self, runs: Sequence[Run] | Runs, threshold: float = 0.0) -> list[Slide]:
        """For each run, the smallest signed distance between each part and what the mover passes through.

        A mover with through holes may be given without them when its travel is at least as long as every hole is
        along it: then both pass through the same space.

        Parameters
        ----------
        runs : `Runs`, prepared once for this number of parts, spare some of the work
        threshold : mm; parts nearer than this, and the nearest part however far, get their exact clearance, the
            others at least a lower bound of it that is no less than this
        """
        if not len(runs):
            return []
        clearance = np.full((len(runs), self.part_count), np.inf)
        exact = np.zeros((len(runs), self.part_count), dtype=bool)
        pairs = Pairs(self, runs if isinstance(runs, Runs) else Runs(runs, self.part_count))
        if len(self.parts):
            clearance[:, self.parts], exact[:, self.parts] = pairs.decide(threshold)
        return [Slide(pairs, run, clearance[run], exact[run]) for run in range(len(runs))]

    def slide(
        self,
        mover: Mover,
        travel: Floats,
        start: Floats = _REST,
        threshold: float = 0.0,
        skip: Collection[int] = (),
    ) -> Slide:
        """One run; several are quicker together, see `slides` and `Run`."""
        return self.slides([Run(mover, travel, start, skip)], threshold)[0]


def slide_clearances(
    mover: Pieces,
    travel: Floats,
    static: Pieces,
    owner: Ints,
    threshold: float = 0.0,
    hull: Pieces | None = None,
) -> Slide:
    """One slide, all in one call; see `StaticScene.slide` for many against the same parts.

    Parameters
    ----------
    mover : pieces that move by `travel` (3,) mm
    static, owner : standing pieces and the part that each belongs to
    threshold : mm; see `StaticScene.slide`
    hull : one piece that passes through the same space as the mover, to be used in its stead
    """
    return StaticScene(static, owner).slide(
        Mover(mover if hull is None else hull), travel, threshold=threshold
    )


def part_gap(a: Pieces, b: Pieces) -> Separation:
    """Exact signed distance of two parts, where they overlap that of their deepest pair of pieces."""
    return slide_clearances(a, _REST, b, np.zeros(len(b), dtype=np.intp)).separation(0)
