"""Leaves that slide at once: do they meet on the way?"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, pairwise

import numpy as np

from ..sizes.arrays import Floats
from ..sizes.tolerances import CONTACT
from ..wood.assembly import StowPath
from .causes import MeetAtOnce, Point
from .clearance.kernel import Mover, StaticScene
from .facts import Fact
from .prepared import Prepared
from .spans import point


def meetings_at_once(prepared: Prepared) -> Iterator[Fact]:
    """Pairs of leaves that collide when both are pushed home in the same time, each evenly."""
    for one, other in combinations(prepared.assembly.stow_paths, 2):
        if not _ways_cross(prepared, one, other):
            continue
        found = _collision(prepared, one, other)
        if found is None:
            continue
        share, depth, place = found
        travel = share * one.length - one.zero
        parts = (one.leaf, other.leaf)
        yield Fact("leaves-meet", "note", parts, place, depth, MeetAtOnce(), one.leaf, travel)


def _ways_cross(prepared: Prepared, one: StowPath, other: StowPath) -> bool:
    """Whether the bounding boxes of both whole ways meet."""
    low_a, high_a = _way_bounds(prepared, one)
    low_b, high_b = _way_bounds(prepared, other)
    return bool((low_a < high_b - CONTACT).all() and (low_b < high_a - CONTACT).all())


def _way_bounds(prepared: Prepared, path: StowPath) -> tuple[Floats, Floats]:
    low, high = prepared.bounds(path.leaf)
    ends = np.array([offset for move in path.moves for offset in (move.start, move.end)])
    return low + ends.min(axis=0), high + ends.max(axis=0)


def _collision(prepared: Prepared, one: StowPath, other: StowPath) -> tuple[float, float, Point] | None:
    """(share of the way, depth, place) of the first collision: one leaf slides past the other by their difference.

    Over any span in which both are on one straight move, their relative motion is uniform, so the slide of the
    first by the difference of both against the second standing still is exact.
    """
    shares = sorted({0.0, 1.0, *_turning_points(one), *_turning_points(other)})
    for begin, end in pairwise(shares):
        a0, a1 = (one.offset_at(share * one.length - one.zero) for share in (begin, end))
        b0, b1 = (other.offset_at(share * other.length - other.zero) for share in (begin, end))
        standing = prepared.movers[other.leaf].pieces.translated(b0)
        scene = StaticScene(standing, np.zeros(len(standing), dtype=np.intp))
        slide = scene.slide(Mover(prepared.movers[one.leaf].pieces), (a1 - a0) - (b1 - b0), start=a0)
        if slide.clearance[0] < -CONTACT:
            contact = slide.contact(0)
            place = contact.place + contact.fraction * (b1 - b0)
            share = begin + contact.fraction * (end - begin)
            return share, -contact.clearance, point(place)
    return None


def _turning_points(path: StowPath) -> list[float]:
    done = np.cumsum([move.length for move in path.moves])
    return [float(length / path.length) for length in done[:-1]]
