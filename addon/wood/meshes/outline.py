"""A part's section: its outline and the loops of its openings and holes, and how they move with the depth w.

Bevels, chamfers, round-overs and the chamfers of openings with an open end displace the outline's lines into the
wood, each by its own profile. Between two knees of any profile all vertices move straight and evenly. Loops run
clockwise, so that the wood lies on their left.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache
from math import hypot, inf, pi
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from ...sizes.arrays import Floats
from ...sizes.errors import PartError
from ...sizes.tolerances import ANGLE, WELD
from ..features import End, Opening
from ..part import Shape
from ..profiles import corner_chain, corner_steps, edge_profile

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
        """By edge: from where to where along it, inf where a corner of the outline goes with it."""
        self.begins: dict[int, float] = {}
        """Edge whose first corner a notch takes → how far along it the outline goes on."""
        for opening in shape.openings:
            if opening.is_notch:
                mouth = mouth_of(shape, opening)
                stop = mouth.stop if mouth.first == mouth.last else inf
                self.notches.setdefault(mouth.first, []).append((mouth.start, stop, opening))
                if mouth.first != mouth.last:
                    self.begins[mouth.last] = mouth.stop
        self.cut = {cut.edge for cut in (*shape.edge_cuts, *shape.bevels)}
        self.cut |= self.notches.keys() | self.begins.keys()

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
        position = self.begins.get(edge, 0.0)
        if not position and abs((u - u0) * dv - (v - v0) * du) <= ANGLE * hypot(u - u0, v - v0):
            self._add((u, v), along, 0, STOP)  # the outline goes straight on: the profile may change here
        if edge not in self.cut:
            self._add((u, v), (-dv, du), 0, edge)
            return
        corner = (u + du * position, v + dv * position)
        for start, stop, notch in self._breaks(edge, length):
            if start < position - WELD or position == inf:
                continue
            self._add(corner, (-dv, du), self._profile_at(edge, (position + start) / 2), edge)
            position, corner = stop, (u + du * min(stop, length), v + dv * min(stop, length))
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
        first, corners = _ROUND_CORNERS[notch.open_end, notch.open_above]
        around = (first * count + np.arange(corners * count + 1)) % (4 * count)
        loop, normals = land_loop(notch)[around[:-1]], _full_turn(count)[around]
        for corner, normal in zip([entry, *loop.tolist()], normals.tolist(), strict=True):
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


_ROUND_CORNERS: Final[dict[tuple[End | None, bool], tuple[int, int]]] = {
    ("end", False): (0, 2),
    ("start", False): (2, 2),
    (None, True): (3, 2),
    ("end", True): (0, 1),
    ("start", True): (3, 1),
}
"""Where a notch is open (at an end, above) → the first of its round corners, as in `_OUTWARD`, and how many follow."""


class Mouth(NamedTuple):
    """Where the outline breaks off for a notch and where it goes on: outline edges, and distances along them, mm."""

    first: int
    start: float
    last: int
    stop: float

    @property
    def edges(self) -> tuple[int, int]:
        """The outline edges that it opens; the same twice unless it takes a corner."""
        return self.first, self.last


def mouth_of(shape: Shape, notch: Opening) -> Mouth:
    """Where a notch opens the outline.

    Raises
    ------
    PartError : no single edge is as wide as the notch, or no corner is where it takes one
    """
    n = notch
    if n.open_end is None:
        edge, (start, stop) = _edge_through(shape, n, 1, 1, (n.u0, n.u1), n.v0)
        return Mouth(edge, start, edge, stop)
    sign, inner = (1, n.u0) if n.open_end == "end" else (-1, n.u1)
    if not n.open_above:
        edge, (start, stop) = _edge_through(shape, n, 0, sign, (n.v0, n.v1), inner)
        return Mouth(edge, start, edge, stop)
    beside = _edge_through(shape, n, 0, sign, (n.v0,), inner)
    above = _edge_through(shape, n, 1, 1, (inner,), n.v0)
    (first, (start,)), (last, (stop,)) = (beside, above) if sign > 0 else (above, beside)
    if last != (first + 1) % len(shape.outline):
        raise _nowhere(n)
    return Mouth(first, start, last, stop)


def _edge_through(
    shape: Shape, notch: Opening, axis: int, sign: int, ends: tuple[float, ...], inner: float
) -> tuple[int, list[float]]:
    """The outline edge beyond a notch and the distances along it where the notch ends, rising, mm.

    Parameters
    ----------
    axis, sign : which way the notch is open
    ends : where it begins and ends on the other axis, mm
    inner : the notch's edge across from its mouth, mm
    """
    found: list[tuple[float, int, list[float]]] = []
    outline, other = shape.outline, 1 - axis
    rises = (axis == 0) == (sign > 0)
    for edge, corner in enumerate(outline):
        onward = outline[(edge + 1) % len(outline)]
        first, last = corner[other], onward[other]
        low, high = (first, last) if rises else (last, first)
        if low < min(ends) and max(ends) < high:
            length = hypot(onward[0] - corner[0], onward[1] - corner[1])
            along = sorted((end - first) / (last - first) * length for end in ends)
            middle = corner[axis] + (onward[axis] - corner[axis]) / length * (along[0] + along[-1]) / 2
            beyond = sign * (middle - inner)
            if beyond > 0.0:
                found.append((beyond, edge, along))
    if not found:
        raise _nowhere(notch)
    return min(found)[1:]


def _nowhere(notch: Opening) -> PartError:
    places = [f"at the {notch.open_end} of the board"] if notch.open_end is not None else []
    places += ["above"] if notch.open_above else []
    return PartError(
        f"The {notch.word} is open {' and '.join(places)}, but reaches past a corner there: move it or make it smaller."
    )


@lru_cache(maxsize=64)
def _full_turn(count: int) -> Floats:
    """Unit vectors from −v over −u, +v and +u, in equal steps, `count` a quarter; (4·count, 2)."""
    angles = np.arange(count) * (pi / 2 / count)
    quarter = np.stack([-np.sin(angles), -np.cos(angles)], axis=1)
    quarter[0] = (0.0, -1.0)
    turned = quarter[:, ::-1] * [1.0, -1.0]
    return np.concatenate([quarter, turned, -quarter, -turned])
