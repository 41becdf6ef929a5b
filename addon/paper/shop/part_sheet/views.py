"""Views and sections of a part to scale, with pieces left out of long ones (ISO 128 and ISO 5456-2, from memory)."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from ....sizes.arrays import Floats
from ....wood.features import Face
from ....wood.meshes.mesh import mesh_of
from ....wood.part import Part, Placement, Shape
from ...lines.chains import merged, paths_of
from ...lines.hidden import hidden_lines

SCALES: Final = (2.0, 1.0, 0.5, 0.2, 0.1, 0.05)
"""Those of ISO 5455 (from memory) that a sheet for the shop needs."""

BREAK: Final = 2.0
"""Between the two lines where a piece is left out, mm on the paper."""

LEAST_GAP: Final = 11.0
"""Of a length that is broken, what is left of it at least, mm on the paper."""

_TINY: Final = 1e-6


@dataclass(frozen=True)
class Along:
    """One axis of a view: which stretches of it are drawn, and where.

    Parameters
    ----------
    pieces : from where to where on the part, and where that begins on the paper, mm; rising
    scale : of all of them
    """

    pieces: tuple[tuple[float, float, float], ...]
    scale: float

    @property
    def broken(self) -> bool:
        """Whether anything is left out."""
        return len(self.pieces) > 1

    @property
    def low(self) -> float:
        """Where it begins on the paper."""
        return self.pieces[0][2]

    @property
    def high(self) -> float:
        """Where it ends on the paper."""
        start, stop, at = self.pieces[-1]
        return at + (stop - start) * self.scale

    @property
    def breaks(self) -> list[float]:
        """Middles of what is left out, on the paper."""
        return [
            (at + (stop - start) * self.scale + after) / 2
            for (start, stop, at), (_, _, after) in pairwise(self.pieces)
        ]

    def at(self, value: float) -> float:
        """A place of the part on the paper; what is left out lies at the break."""
        for start, stop, at in self.pieces:
            if value <= stop + _TINY:
                return at + max(value - start, -BREAK / self.scale / 2) * self.scale
        start, _, at = self.pieces[-1]
        return at + (value - start) * self.scale

    def moved(self, by: float) -> Along:
        """The same elsewhere on the paper."""
        return Along(tuple((start, stop, at + by) for start, stop, at in self.pieces), self.scale)


def along(low: float, high: float, stations: Iterable[float], scale: float, room: float) -> Along | None:
    """An axis from 0 on the paper that takes no more than some room; None where it cannot.

    Parameters
    ----------
    low, high : of the part, mm
    stations : places that have to be seen with what is around them
    """
    if (high - low) * scale <= room:
        return Along(((low, high, 0.0),), scale)
    ends = sorted({low, high, *(round(one, 6) for one in stations if low < one < high)})
    gaps = [(b - a) * scale for a, b in pairwise(ends)]
    cap = _cap(gaps, room)
    if cap < LEAST_GAP:
        return None
    pieces: list[tuple[float, float, float]] = []
    at, start, begin = 0.0, ends[0], 0.0
    for (a, b), gap in zip(pairwise(ends), gaps, strict=True):
        if gap <= cap:
            at += gap
            continue
        half = (cap - BREAK) / 2
        pieces.append((start, a + half / scale, begin))
        start, begin = b - half / scale, at + half + BREAK
        at += cap
    pieces.append((start, ends[-1], begin))
    return Along(tuple(pieces), scale)


def _cap(gaps: list[float], room: float) -> float:
    """What the longest gaps are cut down to, so that all fit."""
    left = room
    rising = sorted(gaps)
    for number, gap in enumerate(rising):
        share = left / (len(rising) - number)
        if gap > share:
            return share
        left -= gap
    return room


@dataclass(frozen=True, eq=False)
class View:
    """A view on the paper.

    Parameters
    ----------
    x, y : its axes
    sign : -1 where the part's axis runs to the left
    """

    x: Along
    y: Along
    sign: tuple[int, int] = (1, 1)

    def place(self, u: float, v: float) -> tuple[float, float]:
        """A point of the part on the paper."""
        return self.x.at(self.sign[0] * u), self.y.at(self.sign[1] * v)

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, bottom, right, top, mm on the paper."""
        return self.x.low, self.y.low, self.x.high, self.y.high

    def paths(self, segments: Floats) -> list[Floats]:
        """(n, 2, 2) float segments of the part, in the view's directions, as lines on the paper."""
        found = []
        for x0, x1, at_x in self.x.pieces:
            for y0, y1, at_y in self.y.pieces:
                kept = _clipped(segments, np.array([x0, y0]), np.array([x1, y1]))
                if len(kept):
                    found.append((kept - (x0, y0)) * (self.x.scale, self.y.scale) + (at_x, at_y))
        return paths_of(np.concatenate(found)) if found else []


def _clipped(segments: Floats, low: Floats, high: Floats) -> Floats:
    """What lies within a box (Liang and Barsky, from memory)."""
    start, step = segments[:, 0], segments[:, 1] - segments[:, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        one, two = (low - _TINY - start) / step, (high + _TINY - start) / step
    flat = np.abs(step) < 1e-12
    inside = (start >= low - _TINY) & (start <= high + _TINY)
    enter = np.where(flat, np.where(inside, -np.inf, np.inf), np.minimum(one, two)).max(axis=1)
    leave = np.where(flat, np.where(inside, np.inf, -np.inf), np.maximum(one, two)).min(axis=1)
    first, last = np.maximum(enter, 0.0), np.minimum(leave, 1.0)
    kept = last - first > 1e-9
    first, last = first[kept, None], last[kept, None]
    return np.stack([start[kept] + first * step[kept], start[kept] + last * step[kept]], axis=1)


def axes_of(face: Face, which: str) -> Floats:
    """(3, 3) float: to the right, up and toward the eye, in the part's frame.

    Parameters
    ----------
    face : that is drawn
    which : ``front`` of the sheet, or ``edge``, seen from above, which in first angle projection lies below it
    """
    right = np.array([1.0 if face == "back" else -1.0, 0.0, 0.0])
    toward = np.array([0.0, 0.0, 1.0 if face == "back" else -1.0])
    above = np.array([0.0, 1.0, 0.0])
    return np.array([right, above, toward]) if which == "front" else np.array([right, -toward, above])


def edges_seen(part: Part, face: Face, which: str) -> tuple[Floats, Floats]:
    """(n, 2, 2) float each: the visible edges of a part in a view of its own, and the hidden ones, mm."""
    own = Part(
        part.label, part.kind, part.role, part.stock, part.shape,
        Placement(np.zeros(3), np.eye(3)), part.grain,
    )  # fmt: skip
    lines = hidden_lines([own], axes_of(face, which))
    flat = lines.ends[:, :, :2]
    seen, hidden = merged([flat[lines.visible], flat[~lines.visible]])
    return seen, hidden


def section(shape: Shape, axis: int, at: float) -> list[Floats]:
    """Rings, (n, 2) float mm, of the wood in a section square to u, v or w (axis 0, 1 or 2), in the other two."""
    mesh = mesh_of(shape)
    points = mesh.vertices[mesh.triangles.astype(np.intp)]
    height = points[:, :, axis] - at
    height = np.where(np.abs(height) < 1e-7, 1e-7, height)
    crossing = (height > 0).any(axis=1) & (height < 0).any(axis=1)
    points, height = points[crossing], height[crossing]
    segments = []
    others = [own for own in range(3) if own != axis]
    for triangle, level in zip(points, height, strict=True):
        ends = []
        for k in range(3):
            a, b = level[k], level[(k + 1) % 3]
            if (a > 0) != (b > 0):
                share = a / (a - b)
                ends.append((triangle[k] + share * (triangle[(k + 1) % 3] - triangle[k]))[others])
        segments.append(ends)
    return _rings(np.array(segments).reshape(-1, 2, 2))


def _rings(segments: Floats) -> list[Floats]:
    """Segments that close, end to end."""
    segments = segments[np.abs(segments[:, 1] - segments[:, 0]).max(axis=1) > 1e-5]
    if not len(segments):
        return []
    nodes: dict[tuple[int, int], list[int]] = {}
    keys = np.round(segments.reshape(-1, 2) / 1e-3).astype(np.int64).tolist()
    for number, (x, y) in enumerate(keys):
        nodes.setdefault((x, y), []).append(number)
    used = [False] * len(segments)
    points, rings = segments.reshape(-1, 2), []
    for first in range(len(segments)):
        if used[first]:
            continue
        ring, end = [], 2 * first
        while not used[end // 2]:
            used[end // 2] = True
            ring.append(points[end])
            x, y = keys[end ^ 1]
            near = [k for dx in (0, 1, -1) for dy in (0, 1, -1) for k in nodes.get((x + dx, y + dy), ())]
            end = next((k for k in near if not used[k // 2]), end)
        if len(ring) > 2:
            rings.append(np.array(ring))
    return rings
