"""What is drawn of a finding: two points to measure between, the room that a leaf needs, the wood that is in the way.

The room is a box from the outer face of the side that the leaf enters. The wood in the way, which a leaf on its way
or a part that stands shares with another part, is exact: the pieces of both sides are convex, and what two convex
bodies have in common is bounded by the planes of both. What several pairs of pieces share is counted once.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from ..sizes.arrays import Floats, Ints
from ..sizes.tolerances import CONTACT
from ..wood.assembly import StowPath
from ..wood.solids.pieces import Pieces, from_planes
from .causes import Point
from .clearance.kernel import Contact, Overlap, Slide
from .clearance.separation import Polytope, sweep
from .facts import Fact, Span
from .prepared import Prepared


def span_of_way(slides: list[Slide], part: int, contact: Contact) -> Span:
    """Nearest points of a leaf and a part at the moment of `contact`.

    Where the leaf's way overlaps the part: the points that would part last on the shortest move that takes them apart.

    Parameters
    ----------
    slides : those of the leaf's moves
    part : number of the part, whose clearance is exact in the slide of `contact`
    """
    if contact.clearance >= -CONTACT:
        return point(contact.on_mover), point(contact.on_part)
    found = (slide.separation(part) for slide in slides if slide.exact[part])
    deepest = min(found, key=lambda separation: separation.distance)
    return point(deepest.point_a), point(deepest.point_b)


def span_of_overlap(found: Overlap) -> Span:
    """The points of two parts that would part last on the shortest move that takes them apart."""
    half = found.depth / 2 * found.axis
    return point(found.place + half), point(found.place - half)


def point(place: Floats) -> Point:
    """(3,) float, mm, as plain numbers."""
    return float(place[0]), float(place[1]), float(place[2])


@dataclass(frozen=True)
class Passage:
    """A box that a leaf needs for itself on one of its moves; corners in table coordinates, mm."""

    leaf: str
    low: Point
    high: Point


def passages(prepared: Prepared) -> list[Passage]:
    """One box for each move of each leaf: what its bounding box sweeps, without what lies outside the table.

    The table ends at the outer face of the side with the leaf's slot, or at the leaf's own end where it stands proud.
    """
    return [one for path in prepared.assembly.stow_paths for one in _of_leaf(prepared, path)]


def _of_leaf(prepared: Prepared, path: StowPath) -> Iterator[Passage]:
    low, high = prepared.bounds(path.leaf)
    side_low, side_high = prepared.bounds(path.side)
    axis = int(np.abs(path.outward).argmax())
    for move in path.moves:
        start = low + np.minimum(move.start, move.end)
        end = high + np.maximum(move.start, move.end)
        if path.outward[axis] > 0:
            end[axis] = min(end[axis], max(side_high[axis], high[axis]))
        else:
            start[axis] = max(start[axis], min(side_low[axis], low[axis]))
        if (end - start > CONTACT).all():
            yield Passage(path.leaf, point(start), point(end))


RULES: Final = frozenset({"leaf-blocked", "overlap", "long-rib", "long-part"})
"""Facts about two parts of which one is in the other's way."""


def overlap_volume(prepared: Prepared, fact: Fact) -> Pieces:
    """The space that both parts of a fact claim, as convex pieces that share no volume, in table coordinates.

    Of a leaf on its way, all that it passes through counts, from the beginning of its way to its end.

    Returns
    -------
    No pieces for facts that are not about parts in each other's way, and for parts that only touch.
    """
    if fact.rule not in RULES:
        return Pieces.empty()
    moving = fact.parts[-1] if fact.leaf == fact.parts[-1] else ""
    standing, other = (prepared.pieces[prepared.number[label]] for label in fact.parts)
    bodies = (
        list(_passed_through(prepared, moving))
        if moving
        else [other.piece_planes(i) for i in range(len(other))]
    )
    return common(bodies, [standing.piece_planes(i) for i in range(len(standing))])


def _passed_through(prepared: Prepared, leaf: str) -> Iterator[Floats]:
    """Planes (n, 4) of each convex body that a leaf passes through."""
    pieces = prepared.movers[leaf].pieces
    for move in prepared.assembly.path_of(leaf).moves:
        begin = pieces.translated(move.start)
        yield from (sweep(Polytope.of(begin, i), move.vector).planes for i in range(len(begin)))


def common(some: Sequence[Floats], others: Sequence[Floats]) -> Pieces:
    """What any of these convex bodies has in common with any of those, as pieces that share no volume.

    Parameters
    ----------
    some, others : planes (n, 4) float of each body, mm, as in `Pieces`
    """
    shared = _solid([np.concatenate([a, b]) for a in some for b in others])
    apart: list[Floats] = []
    for i in range(len(shared)):
        rest = [shared.piece_planes(i)]
        for earlier in range(i):
            rest = [one for piece in rest for one in _without(piece, shared.piece_planes(earlier))]
        apart += rest
    return _solid(apart)


def _without(piece: Floats, other: Floats) -> list[Floats]:
    """What is left of a convex body outside another one: beyond each facet of that, within those before it."""
    if not len(_solid([np.concatenate([piece, other])])):
        return [piece]
    beyond = [np.concatenate([piece, other[:k], -other[k : k + 1]]) for k in range(len(other))]
    left = _solid(beyond)
    return [left.piece_planes(i) for i in range(len(left))]


def _solid(plane_sets: list[Floats]) -> Pieces:
    """Bodies from their planes, without those that nowhere are thicker than `CONTACT`."""
    found = from_planes(plane_sets, [""] * len(plane_sets))
    thick = [i for i in range(len(found)) if _thickness(found.piece(i), found.piece_planes(i)) > CONTACT]
    return found if len(thick) == len(found) else found.select(thick)


def _thickness(corners: Floats, planes: Floats) -> float:
    """Of a convex body, mm: the least of its extents across its facets."""
    return float((planes[:, 3] - (corners @ planes[:, :3].T).min(axis=0)).min())


def faces(pieces: Pieces) -> list[list[int]]:
    """Corners of each facet as rows of `pieces.vertices`, counter-clockwise as seen from outside."""
    return [
        (pieces.starts[i] + _around(pieces.piece(i), corners, normal)).tolist()
        for i in range(len(pieces))
        for normal, corners in zip(pieces.piece_planes(i)[:, :3], _corners(pieces, i), strict=True)
    ]


def _corners(pieces: Pieces, i: int) -> list[Ints]:
    """Corners of each facet of a piece, in any order."""
    ends, sides = pieces.edges[i]
    return [np.unique(ends[(sides == k).any(axis=1)]) for k in range(len(pieces.piece_planes(i)))]


def _around(vertices: Floats, corners: Ints, normal: Floats) -> Ints:
    off = vertices[corners] - vertices[corners].mean(axis=0)
    right = off[np.abs((off * off).sum(axis=1)).argmax()]
    turns = np.arctan2(off @ np.cross(normal, right), off @ right)
    return corners[np.argsort(turns)]
