"""A part's section: its outline and the loops of its openings and holes, and how they move with the depth w.

Bevels, chamfers, round-overs and the chamfers of openings with an open end displace the outline's lines into the
wood, each by its own profile. Between two knees of any profile all vertices move straight and evenly. Loops run
clockwise, so that the wood lies on their left.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache
from math import hypot, inf, pi
from typing import TYPE_CHECKING, Final

import numpy as np

from ...sizes.errors import PartError
from ...sizes.tolerances import ANGLE, WELD
from ..profiles import corner_chain, corner_steps, edge_profile

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from ..features import Opening
    from ..part import Shape

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]
    Point = tuple[float, float]

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

    Edges move out by the chamfer and arcs keep their centers: each vertex moves on a straight line.
    """
    levels, chamfer = chamfer_profile(opening, thickness)
    return levels, land_loop(opening) + chamfer[:, None, None] * _outward(corner_steps(opening))


def land_loop(opening: Opening) -> Floats:
    """Loop of an opening between its chamfers, (4·corner_steps, 2), clockwise from its lower edge, mm."""
    o, count = opening, corner_steps(opening)
    sharp = np.array([[o.u0, o.v0], [o.u0, o.v1], [o.u1, o.v1], [o.u1, o.v0]])
    return sharp.repeat(count, axis=0) + o.corner_radius * _bends(count)


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


STOP: Final = -1
"""In place of an outline edge: the square end of a stopped edge treatment."""
NOTCH: Final = -2
"""In place of an outline edge: a side of an opening with an open end."""


@dataclass(frozen=True, eq=False)
class Lines:
    """The lines that bound the section one after the other, counter-clockwise, the wood on their left.

    Vertex i stands between line i − 1 and line i. Each line is displaced into the wood by its inset.
    """

    corners: Floats
    """(n, 2) float, mm: the vertices where no line is displaced."""
    normals: Floats
    """(n, 2) float: unit vectors into the wood."""
    profiles: tuple[Floats, ...]
    """Rows (w, inset), mm, w rising."""
    profile: Ints
    """(n,) which profile each line follows."""
    edge: Ints
    """(n,) outline edge of each line, or `STOP` or `NOTCH`."""
    knees: tuple[float, ...]
    """Rising depths from 0 to the thickness, mm; between them all insets are linear and keep their order at stops."""

    @cached_property
    def fixed(self) -> bool:
        """Whether the section is the same at all depths and no two vertices fall together."""
        return len(self.profiles) == 1 and not (self.edge == STOP).any()

    @cached_property
    def _rates(self) -> tuple[Floats, Floats]:
        """Displacement of each vertex per mm of inset of the line before and of the line after it, (n, 2) each."""
        (nu, nv), (mu, mv) = self.normals[np.arange(len(self.normals)) - 1].T, self.normals.T
        sine = nu * mv - nv * mu
        return np.stack([mv / sine, -mu / sine], axis=1), np.stack([-nv / sine, nu / sine], axis=1)

    def insets(self, levels: Floats) -> Floats:
        """(k, n) float, mm, at (k,) depths."""
        rows = [np.interp(levels, profile[:, 0], profile[:, 1]) for profile in self.profiles]
        return np.array(rows)[self.profile].T

    def vertices(self, insets: Floats) -> Floats:
        """(k, n, 2) float, mm, for the insets (k, n) of `insets`."""
        if len(self.profiles) == 1:
            return np.broadcast_to(self.corners, (len(insets), *self.corners.shape))
        before, after = self._rates
        inset_before = insets[:, np.arange(len(self.corners)) - 1]
        return self.corners + inset_before[:, :, None] * before + insets[:, :, None] * after


def outline_lines(shape: Shape) -> Lines:
    """The lines of the outline with its stopped edges and its notches (openings with an open end).

    Raises
    ------
    PartError : a notch that is open on no single edge
    """
    return _lines_of(shape.bare)


@lru_cache(maxsize=128)
def _lines_of(shape: Shape) -> Lines:
    return _Tracer(shape).lines()


class _Tracer:
    """Walks around the outline and notes its lines."""

    def __init__(self, shape: Shape) -> None:
        self.shape = shape
        self.corners: list[Point] = []
        self.normals: list[Point] = []
        self.profile: list[int] = []
        self.edge: list[int] = []
        self.profiles: list[Floats] = [np.array([[0.0, 0.0], [shape.thickness, 0.0]])]
        self.known: dict[object, int] = {}
        self.notches: dict[int, list[tuple[float, float, Opening]]] = {}
        for opening in shape.openings:
            if opening.open_end is not None:
                edge, start, stop = open_edge_of(shape, opening)
                self.notches.setdefault(edge, []).append((start, stop, opening))
        self.cut = {cut.edge for cut in (*shape.edge_cuts, *shape.bevels)} | self.notches.keys()

    def lines(self) -> Lines:
        """Everything noted, as arrays."""
        for edge in range(len(self.shape.outline)):
            self._trace_edge(edge)
        return Lines(
            np.array(self.corners, dtype=float),
            np.array(self.normals, dtype=float),
            tuple(self.profiles),
            np.array(self.profile),
            np.array(self.edge),
            self._knees(),
        )

    def _add(self, corner: Point, normal: Point, profile: int, edge: int) -> None:
        self.corners.append(corner)
        self.normals.append(normal)
        self.profile.append(profile)
        self.edge.append(edge)

    def _trace_edge(self, edge: int) -> None:
        outline = self.shape.outline
        (u0, v0), (u, v), (u1, v1) = outline[edge - 1], outline[edge], outline[(edge + 1) % len(outline)]
        length = hypot(u1 - u, v1 - v)
        along = du, dv = (u1 - u) / length, (v1 - v) / length
        if abs((u - u0) * dv - (v - v0) * du) <= ANGLE * hypot(u - u0, v - v0):
            self._add((u, v), along, 0, STOP)  # the outline goes straight on: the profile may change here
        if edge not in self.cut:
            self._add((u, v), (-dv, du), 0, edge)
            return
        position, corner = 0.0, (u, v)
        for start, stop, notch in self._breaks(edge, length):
            self._add(corner, (-dv, du), self._profile_at(edge, (position + start) / 2), edge)
            position, corner = stop, (u + du * stop, v + dv * stop)
            if notch is not None:
                self._trace_notch(notch, (u + du * start, v + dv * start))
            elif start < length:
                self._add(corner, along, 0, STOP)

    def _breaks(self, edge: int, length: float) -> list[tuple[float, float, Opening | None]]:
        """Where the edge's profile changes: distances along it where this begins and ends, and the notch there."""
        stops = {
            s for t in self.shape.edge_cuts if t.edge == edge for s in (t.start, t.stop) if s is not None
        }
        breaks: list[tuple[float, float, Opening | None]] = [
            (s, s, None) for s in stops if WELD < s < length - WELD
        ]
        breaks += self.notches.get(edge, ())
        breaks.append((length, length, None))
        return sorted(breaks, key=lambda item: item[0])

    def _profile_at(self, edge: int, position: float) -> int:
        cuts = tuple(
            t
            for t in self.shape.edge_cuts
            if t.edge == edge and (t.start or 0.0) <= position <= (inf if t.stop is None else t.stop)
        )
        bevel = next((b for b in self.shape.bevels if b.edge == edge), None)
        if not cuts and bevel is None:
            return 0
        key = (
            tuple((t.face, t.kind, t.reach, t.depth) for t in cuts),
            bevel and (bevel.front_inset, bevel.back_inset),
        )
        if key not in self.known:
            self.known[key] = len(self.profiles)
            self.profiles.append(edge_profile(self.shape.thickness, cuts, bevel))
        return self.known[key]

    def _trace_notch(self, notch: Opening, entry: Point) -> None:
        key = (notch.front_chamfer, notch.back_chamfer)
        if max(key) <= WELD:
            self.known[key] = 0
        elif key not in self.known:
            self.known[key] = len(self.profiles)
            self.profiles.append(np.stack(chamfer_profile(notch, self.shape.thickness), axis=1))
        count = corner_steps(notch)
        # clockwise from the lower edge around the left corners, or from the upper edge around the right ones
        half = land_loop(notch)[: 2 * count] if notch.open_end == "end" else land_loop(notch)[2 * count :]
        normals = _half_turn(count) * (-1.0 if notch.open_end == "end" else 1.0)
        for corner, normal in zip([entry, *half.tolist()], normals.tolist(), strict=True):
            self._add(corner, normal, self.known[key], NOTCH)

    def _knees(self) -> tuple[float, ...]:
        """All depths where a profile has a knee or two that meet at a stop change sides, rising."""
        levels = {0.0, self.shape.thickness}
        for profile in self.profiles[1:]:
            levels.update(profile[:, 0].tolist())
        if STOP in self.edge:
            around = zip(
                self.edge, self.profile[-1:] + self.profile, self.profile[1:] + self.profile[:1], strict=False
            )
            for a, b in {
                (min(before, after), max(before, after)) for edge, before, after in around if edge == STOP
            }:
                if a in (0, b):
                    continue  # nothing lies beyond the bare edge
                levels.update(_crossings(self.profiles[a], self.profiles[b]))
        knees = merged(levels)
        knees[-1] = self.shape.thickness
        return tuple(knees)


def merged(levels: set[float]) -> list[float]:
    """Rising levels without those within `WELD` above another."""
    kept: list[float] = []
    for level in sorted(levels):
        if not kept or level - kept[-1] > WELD:
            kept.append(level)
    return kept


def _crossings(first: Floats, second: Floats) -> list[float]:
    """Depths between the knees at which two profiles have the same inset."""
    knees = np.union1d(first[:, 0], second[:, 0])
    gap = np.interp(knees, first[:, 0], first[:, 1]) - np.interp(knees, second[:, 0], second[:, 1])
    return [
        float(knees[i] + (knees[i + 1] - knees[i]) * gap[i] / (gap[i] - gap[i + 1]))
        for i in np.flatnonzero(gap[:-1] * gap[1:] < -(WELD**2))
    ]


def open_edge_of(shape: Shape, notch: Opening) -> tuple[int, float, float]:
    """Outline edge through which a notch opens and the distances along it where the notch begins and ends, mm.

    Raises
    ------
    PartError : no single edge is as wide as the notch
    """
    found: list[tuple[float, int, float, float]] = []
    outline = shape.outline
    upward = notch.open_end == "end"
    for edge, (u, v) in enumerate(outline):
        u1, v1 = outline[(edge + 1) % len(outline)]
        low, high = (v, v1) if upward else (v1, v)
        if low < notch.v0 and notch.v1 < high:
            length = hypot(u1 - u, v1 - v)
            start, stop = sorted((x - v) / (v1 - v) * length for x in (notch.v0, notch.v1))
            middle = u + (u1 - u) / length * (start + stop) / 2
            beyond = middle - notch.u0 if upward else notch.u1 - middle
            if beyond > 0.0:
                found.append((beyond, edge, start, stop))
    if not found:
        raise PartError(
            f"The {notch.word} is open at the {notch.open_end} of the board, but no single edge there is as wide:"
            " move it or close it."
        )
    return min(found)[1:]


@lru_cache(maxsize=64)
def _half_turn(count: int) -> Floats:
    """Unit vectors from +v over +u to −v in equal steps, `count` a quarter; (2·count + 1, 2)."""
    angles = np.arange(count + 1) * (pi / 2 / count)
    quarter = np.stack([np.sin(angles), np.cos(angles)], axis=1)
    quarter[0], quarter[-1] = (0.0, 1.0), (1.0, 0.0)
    return np.concatenate([quarter, quarter[1:, ::-1] * [1.0, -1.0]])
