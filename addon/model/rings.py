"""The loops of openings and holes in a part's section, clockwise, so that the wood lies on their left."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from .profiles import circle_chain, corner_chain, corner_steps
from .tolerances import WELD

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from .part import Hole, Opening

    Floats = NDArray[np.float64]

_OUTWARD = np.array([[-1.0, -1.0], [-1.0, 1.0], [1.0, 1.0], [1.0, -1.0]])
"""From the middle of a rectangle to its corners, clockwise from the lower left one."""


def chamfer_profile(opening: Opening, thickness: float) -> tuple[Floats, Floats]:
    """Depths of the knees and how far an opening's edges stand outside its land there; (k,) float each, mm."""
    front, back = opening.front_chamfer, opening.back_chamfer
    levels = [0.0, front, thickness - back, thickness]
    if front + back > thickness:
        levels[1:3] = [(front + thickness - back) / 2]
    rising = np.array([w for i, w in enumerate(levels) if i == 0 or w - levels[i - 1] > WELD])
    rising[-1] = thickness
    return rising, np.maximum(0.0, np.maximum(front - rising, rising - (thickness - back)))


def opening_ring(opening: Opening, thickness: float) -> tuple[Floats, Floats]:
    """Depths (k,) and loops (k, n, 2), clockwise, of a closed opening, mm.

    Edges move out by the chamfer and arcs keep their centres: each vertex moves on a straight line.
    """
    levels, chamfer = chamfer_profile(opening, thickness)
    return levels, land_loop(opening) + chamfer[:, None, None] * _outward(corner_steps(opening))


def land_loop(opening: Opening) -> Floats:
    """Loop of an opening between its chamfers, (4·corner_steps, 2), clockwise from its lower edge, mm."""
    o, count = opening, corner_steps(opening)
    sharp = np.array([[o.u0, o.v0], [o.u0, o.v1], [o.u1, o.v1], [o.u1, o.v0]])
    return sharp.repeat(count, axis=0) + o.corner_radius * _bends(count)


def hole_ring(hole: Hole, thickness: float) -> tuple[Floats, Floats]:
    """Depths (2,), rising, and loops (2, n, 2), clockwise, of a round hole, mm."""
    circle = circle_chain(hole.diameter)[::-1] + (hole.u, hole.v)
    levels = np.array([0.0, thickness])
    if hole.depth is not None and hole.face == "front":
        levels[1] = hole.depth
    elif hole.depth is not None:
        levels[0] = thickness - hole.depth
    return levels, np.broadcast_to(circle, (2, *circle.shape))


@lru_cache(maxsize=64)
def _outward(count: int) -> Floats:
    """How each vertex moves for a chamfer of 1; (4·count, 2)."""
    return np.repeat(_OUTWARD, count, axis=0) + _bends(count)


@lru_cache(maxsize=64)
def _bends(count: int) -> Floats:
    """Vertices of the four round corners for radius 1, each relative to its sharp corner; (4·count, 2).

    The first and last vertex of each corner lie exactly on the sides.
    """
    bend = 1.0 - corner_chain(1.0, count)
    bend[0, 0] = bend[-1, 1] = 0.0
    return np.concatenate([bend[::-1], bend * [1.0, -1.0], -bend[::-1], bend * [-1.0, 1.0]])
