"""The loops of a part's section and how they move with the depth w.

Every section w = const is bounded by loops with the wood on their left: the outline counter-clockwise, openings and
holes clockwise. All their vertices move on straight lines between the levels where a profile has a knee.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache
from math import hypot, inf, pi
from typing import TYPE_CHECKING, Final

import numpy as np

from .errors import PartError
from .profiles import circle_chain, corner_chain, corner_steps, edge_profile
from .tolerances import ANGLE, WELD

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from .part import EdgeTreatment, Hole, Opening, Shape

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]

STOP: Final = -1
"""In place of an outline edge: the square end of a stopped edge treatment."""
NOTCH: Final = -2
"""In place of an outline edge: a side of an opening with an open end."""


@dataclass(frozen=True, eq=False)
class Lines:
    """The lines that bound the outline's section one after the other; each is displaced into the wood by its inset.

    Vertex i stands between line i − 1 and line i.
    """

    corners: Floats
    """(n, 2) float, mm: the vertices where no line is displaced."""
    normals: Floats
    """(n, 2) float: into the wood."""
    profiles: tuple[Floats, ...]
    """Rows (w, inset), mm, w rising."""
    profile: Ints
    """(n,) which profile each line follows."""
    edge: Ints
    """(n,) outline edge of each line, or `STOP` or `NOTCH`."""
    knees: tuple[float, ...]
    """Rising depths, from 0 to the thickness, between which all insets are linear in w and keep their order."""

    @cached_property
    def rates(self) -> tuple[Floats, Floats]:
        """Displacement of each vertex per mm of inset of the line before and of the line after it, (n, 2) each."""
        before = np.roll(self.normals, 1, axis=0)
        after = self.normals
        sine = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
        turned = np.array([1.0, -1.0])
        return after[:, ::-1] * turned / sine[:, None], before[:, ::-1] * -turned / sine[:, None]

    def insets(self, levels: Floats) -> Floats:
        """(k, n) float, mm, at (k,) depths."""
        rows = [np.interp(levels, profile[:, 0], profile[:, 1]) for profile in self.profiles]
        return np.array(rows)[self.profile].T

    def vertices(self, insets: Floats) -> Floats:
        """(k, n, 2) float, mm, for the insets (k, n) of `insets`."""
        if not insets.any():
            return np.broadcast_to(self.corners, (len(insets), *self.corners.shape))
        before, after = self.rates
        return self.corners + np.roll(insets, 1, axis=1)[:, :, None] * before + insets[:, :, None] * after


def outline_lines(shape: Shape) -> Lines:
    """The lines of the outline with its stopped edges and its notches (openings with an open end).

    Raises
    ------
    PartError : a notch whose mouth lies on no single edge
    """
    return _Tracer(shape).lines()


class _Tracer:
    """Walks around the outline and notes its lines."""

    def __init__(self, shape: Shape) -> None:
        self.shape = shape
        self.corners: list[tuple[float, float]] = []
        self.normals: list[tuple[float, float]] = []
        self.profile: list[int] = []
        self.edge: list[int] = []
        self.profiles: list[Floats] = [np.array([[0.0, 0.0], [shape.thickness, 0.0]])]
        self.known: dict[object, int] = {}
        self.stops = False

    def lines(self) -> Lines:
        """Everything noted, as arrays."""
        notches: dict[int, list[tuple[float, float, Opening]]] = {}
        for opening in self.shape.openings:
            if opening.open_end is not None:
                edge, start, stop = mouth_of(self.shape, opening)
                notches.setdefault(edge, []).append((start, stop, opening))
        for edge in range(len(self.shape.outline)):
            self._trace_edge(edge, sorted(notches.get(edge, ()), key=lambda notch: notch[0]))
        profiles = tuple(self.profiles)
        profile = np.array(self.profile)
        knees = _knees(profiles, self.shape.thickness, self._pairs() if self.stops else ())
        return Lines(
            np.array(self.corners, dtype=float), np.array(self.normals), profiles, profile, np.array(self.edge), knees
        )

    def _pairs(self) -> set[tuple[int, int]]:
        """Profiles that meet at a stop."""
        count = len(self.edge)
        return {
            (self.profile[i - 1], self.profile[(i + 1) % count]) for i in range(count) if self.edge[i] == STOP
        }

    def _add(self, corner: tuple[float, float], normal: tuple[float, float], profile: int, edge: int) -> None:
        self.corners.append(corner)
        self.normals.append(normal)
        self.profile.append(profile)
        self.edge.append(edge)

    def _trace_edge(self, edge: int, notches: list[tuple[float, float, Opening]]) -> None:
        outline = self.shape.outline
        (u, v), (u_next, v_next) = outline[edge], outline[(edge + 1) % len(outline)]
        length = hypot(u_next - u, v_next - v)
        du, dv = (u_next - u) / length, (v_next - v) / length
        treatments = [t for t in self.shape.edges if t.edge == edge]
        bevel = next((b for b in self.shape.bevels if b.edge == edge), None)
        stops = {
            s for t in treatments for s in (t.start, t.stop) if s is not None and WELD < s < length - WELD
        }
        u_last, v_last = outline[edge - 1]
        straight_on = abs((u - u_last) * dv - (v - v_last) * du) <= ANGLE * hypot(u - u_last, v - v_last)
        events: list[tuple[float, float, Opening | None]] = [(s, s, None) for s in stops]
        events += notches
        events.sort(key=lambda event: event[0])
        position, corner = 0.0, (u, v)
        if straight_on:
            self._add(corner, (du, dv), 0, STOP)
            self.stops = True
        for start, stop, notch in [*events, (length, length, None)]:
            middle = (position + start) / 2
            cuts = tuple(
                t for t in treatments if (t.start or 0.0) <= middle <= (inf if t.stop is None else t.stop)
            )
            key = (cuts, bevel and (bevel.front_inset, bevel.back_inset))
            self._add(corner, (-dv, du), self._profile(key, cuts, bevel), edge)
            position, corner = stop, (u + du * stop, v + dv * stop)
            if notch is not None:
                self._trace_notch(notch, (u + du * start, v + dv * start))
            elif start < length:
                self._add(corner, (du, dv), 0, STOP)
                self.stops = True

    def _profile(self, key: object, cuts: tuple[EdgeTreatment, ...], bevel: object) -> int:
        if not cuts and bevel is None:
            return 0
        if key not in self.known:
            self.known[key] = len(self.profiles)
            self.profiles.append(edge_profile(self.shape.thickness, cuts, bevel))  # type: ignore[arg-type]
        return self.known[key]

    def _trace_notch(self, notch: Opening, entry: tuple[float, float]) -> None:
        levels, chamfer = chamfer_profile(notch, self.shape.thickness)
        key = (notch.front_chamfer, notch.back_chamfer)
        if key not in self.known:
            self.known[key] = len(self.profiles)
            self.profiles.append(np.stack([levels, chamfer], axis=1))
        count = corner_steps(notch)
        bends = _clockwise_corners(count)
        corners = _sharp_corners(notch) + notch.corner_radius * bends.reshape(4, count, 2)
        # from the lower edge around the left corners, or from the upper edge around the right ones
        pair = (0, 1) if notch.open_end == "end" else (2, 3)
        normals = _quarter_turns(count) * (-1.0 if notch.open_end == "end" else 1.0)
        path = [entry, *map(tuple, corners[pair, :].reshape(-1, 2).tolist())]
        for corner, normal in zip(path, normals.tolist(), strict=True):
            self._add(corner, tuple(normal), self.known[key], NOTCH)


def mouth_of(shape: Shape, notch: Opening) -> tuple[int, float, float]:
    """Outline edge through which a notch opens and the distances along it where the notch begins and ends."""
    found: list[tuple[float, int, float, float]] = []
    outline = shape.outline
    upward = notch.open_end == "end"
    for edge, (u, v) in enumerate(outline):
        u_next, v_next = outline[(edge + 1) % len(outline)]
        low, high = (v, v_next) if upward else (v_next, v)
        if low < notch.v0 and notch.v1 < high:
            length, rise = hypot(u_next - u, v_next - v), v_next - v
            start, stop = sorted((x - v) / rise * length for x in (notch.v0, notch.v1))
            middle = u + (u_next - u) / length * (start + stop) / 2
            beyond = middle - notch.u0 if upward else notch.u1 - middle
            if beyond > 0.0:
                found.append((beyond, edge, start, stop))
    if not found:
        raise PartError(
            f"The {notch.kind} at v = {notch.v0:.4g} … {notch.v1:.4g} mm is open at the {notch.open_end} of the board,"
            " but no single edge there is as wide; move it or close it."
        )
    return min(found)[1:]


def _knees(
    profiles: tuple[Floats, ...], thickness: float, pairs: set[tuple[int, int]] | tuple[()]
) -> tuple[float, ...]:
    """All depths where a profile has a knee or two that meet at a stop change sides, rising."""
    levels = {0.0, thickness}
    for profile in profiles:
        levels.update(profile[:, 0].tolist())
    for a, b in pairs:
        first, second = profiles[a], profiles[b]
        common = np.union1d(first[:, 0], second[:, 0])
        gap = np.interp(common, first[:, 0], first[:, 1]) - np.interp(common, second[:, 0], second[:, 1])
        for i in np.flatnonzero(gap[:-1] * gap[1:] < -(WELD**2)):
            levels.add(float(common[i] + (common[i + 1] - common[i]) * gap[i] / (gap[i] - gap[i + 1])))
    knees: list[float] = []
    for level in sorted(levels):
        if not knees or level - knees[-1] > WELD:
            knees.append(level)
    knees[-1] = thickness
    return tuple(knees)


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
    """Depths (k,) and loops (k, n, 2), clockwise, of a closed opening, mm."""
    levels, chamfer = chamfer_profile(opening, thickness)
    count = corner_steps(opening)
    spread = np.array([[-1.0, -1.0], [-1.0, 1.0], [1.0, 1.0], [1.0, -1.0]])[:, None]
    sharp = _sharp_corners(opening) + chamfer[:, None, None, None] * spread
    radius = opening.corner_radius + chamfer
    bends = _clockwise_corners(count).reshape(4, count, 2)
    return levels, (sharp + radius[:, None, None, None] * bends).reshape(len(levels), -1, 2)


def hole_ring(hole: Hole, thickness: float) -> tuple[Floats, Floats]:
    """Depths (2,), rising, and loops (2, n, 2), clockwise, of a round hole, mm."""
    circle = circle_chain(hole.diameter)[::-1] + (hole.u, hole.v)
    if hole.depth is None:
        levels = np.array([0.0, thickness])
    elif hole.face == "front":
        levels = np.array([0.0, hole.depth])
    else:
        levels = np.array([thickness - hole.depth, thickness])
    return levels, np.broadcast_to(circle, (2, *circle.shape))


def _sharp_corners(opening: Opening) -> Floats:
    """(4, 1, 2): lower left, upper left, upper right and lower right corner of the land, as if it had no radius."""
    u0, u1, v0, v1 = opening.u0, opening.u1, opening.v0, opening.v1
    return np.array([[[u0, v0]], [[u0, v1]], [[u1, v1]], [[u1, v0]]])


@lru_cache(maxsize=64)
def _clockwise_corners(count: int) -> Floats:
    """Vertices of the four rounded corners for radius 1, each relative to its sharp corner; (4·count, 2).

    The first and last vertex of each corner lie exactly on the sides.
    """
    bend = 1.0 - corner_chain(1.0, count)
    bend[0, 0] = bend[-1, 1] = 0.0
    return np.concatenate([bend[::-1], bend * [1, -1], -bend[::-1], bend * [-1, 1]])


@lru_cache(maxsize=64)
def _quarter_turns(count: int) -> Floats:
    """Unit vectors from +v over +u to −v in equal steps, `count` a quarter; (2·count + 1, 2)."""
    angles = np.arange(count + 1) * (pi / 2 / count)
    quarter = np.stack([np.sin(angles), np.cos(angles)], axis=1)
    quarter[0] = [0.0, 1.0]
    quarter[-1] = [1.0, 0.0]
    return np.concatenate([quarter, quarter[1:, ::-1] * [1, -1]])
