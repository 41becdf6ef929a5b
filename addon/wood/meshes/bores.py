"""The walls of round holes, as rings of vertices from the front face to the back.

All rings of a hole have the same number of vertices, one behind the other, so that facets stand between them.
"""

from __future__ import annotations

from math import cos, pi, radians, sin, tan
from typing import Literal

import numpy as np

from ...sizes.arrays import Floats
from ...sizes.tolerances import WELD
from ..features import AngledHole, Blank, Hole
from ..profiles import facets_around, hole_steps


def hole_rings(hole: Hole, thickness: float, low: float, high: float) -> Floats:
    """Rings (k, n, 3), clockwise, mm, of what a hole takes between two depths w; none where that is nothing."""
    section = _section(hole, thickness)
    depth, radius = section.T
    w = depth if hole.face == "front" else thickness - depth
    if hole.face == "back":
        w, radius = w[::-1], radius[::-1]
    w, radius = _clipped(w, radius, low, high)
    count = hole_steps(hole.widest)
    corners = facets_around(count)[::-1] / cos(pi / count)
    rings = np.empty((len(w), count, 3))
    rings[:, :, :2] = radius[:, None, None] * corners + (hole.u, hole.v)
    rings[:, :, 2] = w[:, None]
    return rings


def _section(hole: Hole, thickness: float) -> Floats:
    """(k, 2): depth below its face and radius, mm, from the face down."""
    end = thickness if hole.depth is None else hole.depth
    rows: list[tuple[float, float]] = []
    tiers = hole.tiers
    for tier, bottom in zip(tiers, [*(tier.top for tier in tiers[1:]), end], strict=True):
        rows += [(tier.top, tier.flare), (tier.top + tier.sink, tier.radius), (bottom, tier.radius)]
    distinct = [
        row
        for row, before in zip(rows, [(-1.0, -1.0), *rows], strict=False)
        if abs(row[0] - before[0]) > WELD or abs(row[1] - before[1]) > WELD
    ]
    return np.array(distinct)


def _clipped(w: Floats, radius: Floats, low: float, high: float) -> tuple[Floats, Floats]:
    """The part of a section between two depths."""
    low, high = max(low, float(w[0])), min(high, float(w[-1]))
    if high - low <= WELD:
        return w[:0], radius[:0]
    first = int(np.searchsorted(w, low + WELD, side="right"))
    last = int(np.searchsorted(w, high - WELD, side="left"))
    ends = [_radius_at(w, radius, first - 1, low), _radius_at(w, radius, last - 1, high)]
    return (
        np.concatenate([[low], w[first:last], [high]]),
        np.concatenate([ends[:1], radius[first:last], ends[1:]]),
    )


def _radius_at(w: Floats, radius: Floats, row: int, at: float) -> float:
    """Radius at a depth on the line from one row to the next."""
    share = (at - w[row]) / (w[row + 1] - w[row])
    return float(radius[row] + share * (radius[row + 1] - radius[row]))


Exit = Literal["wood", "face", "edge"]
"""Where an angled hole ends: in the wood, through the other face, or through the edge that it leans to."""


def angled_rings(hole: AngledHole, blank: Blank) -> tuple[Floats, Exit]:
    """Rings (k, n, 3), mm, of an angled hole, from its open end on; and where it ends.

    Two for the bore, two more for a pilot: all but the first and one that lies in an edge or a face are square to the
    axis. Rings are clockwise seen from before the front face.
    """
    axis, lean = hole.axis(blank), radians(hole.angle)
    count = hole_steps(hole.diameter)
    corners = facets_around(count)[::-1] / cos(pi / count)
    end = _exit(hole, blank)
    rings: list[Floats] = []
    start = -hole.diameter / 2 * corners[:, 1] / tan(lean)
    for radius, depth in hole.stages:
        across, below = (radius * corners).T
        if depth is not None:
            stop = np.full(count, depth)
        elif end == "edge":
            stop = (hole.inset + below * sin(lean)) / cos(lean)
        else:
            stop = (blank.thickness - below * cos(lean)) / sin(lean)
        around = axis.entry + np.outer(across, axis.beside) + np.outer(below, axis.below)
        rings += [around + np.outer(along, axis.along) for along in (start, stop)]
        start = stop
    # What lies in a face lies in it exactly.
    faces = (0.0, blank.thickness) if hole.face == "front" else (blank.thickness, 0.0)
    rings[0][:, 2] = faces[0]
    if end == "face":
        rings[-1][:, 2] = faces[1]
    return np.array(rings), end


def _exit(hole: AngledHole, blank: Blank) -> Exit:
    if hole.stages[-1][1] is not None:
        return "wood"
    lean = radians(hole.angle)
    return "edge" if hole.inset * sin(lean) < blank.thickness * cos(lean) else "face"
