"""Lines as areas: dashes cut out of them, and the edges of what a pen of some width covers."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from ...sizes.arrays import Floats
from .items import MITER_LIMIT

_CAP: Final = 8
"""Sides of half a round end."""


def dashes(path: Floats, pattern: tuple[float, ...], closed: bool = False) -> list[Floats]:
    """The dashes of a line through (n, 2) points, mm, by lengths of dashes and gaps in turn, mm."""
    if closed:
        path = np.concatenate([path, path[:1]])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(path, axis=0).T))])
    total, period = along[-1], sum(pattern)
    if total == 0 or period <= 0:
        return [path]
    bounds = np.concatenate([[0.0], np.cumsum(pattern * (1 + len(pattern) % 2))])
    rounds = int(np.ceil(total / bounds[-1]))
    starts = (bounds[:-1:2] + bounds[-1] * np.arange(rounds)[:, None]).ravel()
    ends = (bounds[1::2] + bounds[-1] * np.arange(rounds)[:, None]).ravel()
    found = []
    for start, end in zip(starts, np.minimum(ends, total), strict=True):
        if start < end:
            inner = path[(along > start) & (along < end)]
            tips = [[np.interp(at, along, path[:, axis]) for axis in (0, 1)] for at in (start, end)]
            found.append(np.concatenate([tips[:1], inner, tips[1:]]))
    return found


def stroke_edges(
    paths: Sequence[Floats], width: float, closed: bool = False, round_ends: bool = False
) -> Floats:
    """Edges of what a pen covers, (m, 4) float x, y, x, y, mm, around each piece in the same sense.

    Each straight piece is an area of its own. At a corner two of them share the miter, so that together they cover
    the corner once; where the miter would be too long, or longer than a piece, the ends are round.

    Parameters
    ----------
    paths : (n, 2) float each, mm
    width : of the pen, mm
    round_ends : round instead of straight ends
    """
    start, along, length, first, last = _pieces(paths, closed)
    if not len(start):
        return np.empty((0, 4))
    half = width / 2
    normal = np.stack([-along[:, 1], along[:, 0]], axis=1)
    previous = np.arange(len(start)) - 1
    previous[first] = last if closed else first
    joined = np.ones(len(start), dtype=bool)
    if not closed:
        joined[first] = False
    # A path closed on itself with a single piece has no corner.
    joined &= previous != np.arange(len(start))
    cosine = (along * along[previous]).sum(axis=1)
    sine = np.abs(along[:, 0] * along[previous, 1] - along[:, 1] * along[previous, 0])
    with np.errstate(divide="ignore", invalid="ignore"):
        inset = half * sine / (1 + cosine)
        miter = (normal + normal[previous]) / (1 + cosine)[:, None]
    fits = (1 + cosine) / 2 * MITER_LIMIT**2 >= 1
    fits &= inset < np.minimum(length, length[previous]) / 2
    smooth = joined & fits
    following = np.zeros(len(start), dtype=np.intp)
    following[previous[joined]] = np.flatnonzero(joined)
    goes_on = np.zeros(len(start), dtype=bool)
    goes_on[previous[joined]] = True
    at_start = np.where(smooth[:, None], miter, normal) * half
    smooth_end = goes_on & smooth[following]
    at_end = np.where(smooth_end[:, None], miter[following], normal) * half
    end = start + along * length[:, None]
    bands = np.stack([start - at_start, end - at_end, end + at_end, start + at_start], axis=1)
    blunt_start = ~smooth & (joined | round_ends)
    blunt_end = ~smooth_end & (goes_on | round_ends)
    caps = np.concatenate(
        [
            _caps(start[blunt_start], -along[blunt_start], half),
            _caps(end[blunt_end], along[blunt_end], half),
        ]
    )
    return np.concatenate([ring_edges(bands), ring_edges(caps)])


def _pieces(
    paths: Sequence[Floats], closed: bool
) -> tuple[Floats, Floats, Floats, NDArray[np.intp], NDArray[np.intp]]:
    """Start, direction and length of all straight pieces, and the numbers of each path's first and last piece."""
    starts, steps, counts = [], [], []
    for path in paths:
        whole = np.concatenate([path, path[:1]]) if closed and len(path) > 2 else path
        step = np.diff(whole, axis=0)
        there = (step != 0).any(axis=1)
        starts.append(whole[:-1][there])
        steps.append(step[there])
        counts.append(int(there.sum()))
    count = np.array([each for each in counts if each], dtype=np.intp)
    if not len(count):
        return np.empty((0, 2)), np.empty((0, 2)), np.empty(0), count, count
    step = np.concatenate(steps)
    length = np.hypot(step[:, 0], step[:, 1])
    last = np.cumsum(count) - 1
    return np.concatenate(starts), step / length[:, None], length, last - count + 1, last


def _caps(at: Floats, outward: Floats, half: float) -> Floats:
    """(n, sides, 2) float: round ends at points, (n, 2) mm, that bulge outward."""
    turn = np.linspace(-np.pi / 2, np.pi / 2, _CAP + 1)
    side = np.stack([-outward[:, 1], outward[:, 0]], axis=1)
    bulge = outward[:, None] * np.cos(turn)[:, None] + side[:, None] * np.sin(turn)[:, None]
    return at[:, None] + half * bulge


def ring_edges(rings: Floats) -> Floats:
    """Edges of rings of one size, (n, k, 2) float mm, each in the sense of a positive area: (n·k, 4)."""
    edges = np.concatenate([rings, np.roll(rings, -1, axis=1)], axis=2)
    area = (edges[:, :, 0] * edges[:, :, 3] - edges[:, :, 1] * edges[:, :, 2]).sum(axis=1)
    turned = edges[area < 0]
    edges[area < 0] = turned[:, :, [2, 3, 0, 1]]
    return edges.reshape(-1, 4)


def fill_edges(rings: Sequence[Floats]) -> Floats:
    """Edges of a filled area, (m, 4) float mm; a ring inside an odd number of others is a hole."""
    found = []
    for number, ring in enumerate(rings):
        edges = ring_edges(ring[None])
        around = sum(_holds(other, ring[0]) for place, other in enumerate(rings) if place != number)
        found.append(edges[:, [2, 3, 0, 1]] if around % 2 else edges)
    return np.concatenate(found)


def _holds(ring: Floats, point: Floats) -> bool:
    """Whether a ring holds a point, by the crossings of a ray."""
    a, b = ring, np.roll(ring, -1, axis=0)
    crosses = (a[:, 1] > point[1]) != (b[:, 1] > point[1])
    a, b = a[crosses], b[crosses]
    x = a[:, 0] + (point[1] - a[:, 1]) / (b[:, 1] - a[:, 1]) * (b[:, 0] - a[:, 0])
    return bool((x > point[0]).sum() % 2)
