"""What holds a leaf, edge by edge: its room as a linear function of the deviations, one for every three edges.

Two edges below and one above between them, or the other way round, hold a leaf at the slope of the two; so do two
edges above each other, level. The room of a row is the least of all of these. Each is linear in heights and thickness,
so its worst case is what is drawn less the sum of |a|·T, exactly; what the slope takes, t·(sqrt(1 + s²) - 1), and what
it makes of deviations along the travel are of second order and are given as the remainder of the case itself.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from .rooms import Compiled, Places

    Floats = NDArray[np.float64]
    Ints = NDArray[np.intp]

_SAME_PLACE: Final = 1e-6
"""mm; edges nearer than this along the travel are above each other."""

_NEARLY: Final = 0.002
"""mm; triples are tried out until the closed form is by so much above the worst case found."""

_TRIED: Final = 32
"""So many at a time."""

_TURNS: Final = 4
"""Times that the signs of deviations along the travel are set anew at the slope of the worst case."""


@dataclass(frozen=True, eq=False)
class Triples:
    """Edges that hold a leaf, and its margin (half its room) when they do; mm.

    Attributes
    ----------
    which : (triples,) int; number of the set of places that they belong to
    edges : (triples, 3) int; two of one side and one of the other, or twice one of either side; numbers of places
    margin : (triples,) float, as drawn
    change : (triples, used) float; of the margin per mm of each deviation
    """

    which: Ints
    edges: Ints
    margin: Floats
    change: Floats


@dataclass(frozen=True, eq=False)
class Worst:
    """The least favorable case of a row.

    Attributes
    ----------
    margin : float, mm; as drawn less the sum of |a|·T, for the triple that governs
    case : float, mm; the margin of the row with all deviations to the worse side
    deviations : (used,) float, mm; that case
    triple : number of the triple that governs
    """

    margin: float
    case: float
    deviations: Floats
    triple: int

    @property
    def remainder(self) -> float:
        """What the closed form leaves out, mm."""
        return self.case - self.margin


def triples_of(row: Compiled) -> Triples:
    """All edges that can hold a row's leaf together."""
    found, which, margins, changes = [], [], [], []
    for number, places in enumerate((*row.certain, *row.possible)):
        edges = np.array(list(_together(places)), dtype=np.intp).reshape(-1, 3)
        edges = edges[~_steep(row, places, edges)]
        if not len(edges):
            continue
        margin, change = _at(row, places, edges, np.zeros((len(edges), len(row.tolerances))))
        found.append(edges)
        which.append(np.full(len(edges), number))
        margins.append(margin)
        changes.append(change)
    if not found:
        none = np.zeros(0)
        return Triples(none.astype(np.intp), none.reshape(0, 3).astype(np.intp), none, none.reshape(0, 0))
    return Triples(*(np.concatenate(own) for own in (which, found, margins, changes)))


def _together(places: Places) -> Iterator[tuple[int, int, int]]:
    """Edges that hold a leaf together: two of one side around one of the other, or two above each other."""
    x = places.x
    low, high = (np.flatnonzero(places.side == side).tolist() for side in (-1, 1))
    for one, other in product(low, high):
        if abs(x[one] - x[other]) < _SAME_PLACE:
            yield one, one, other
    for pair, single in ((low, high), (high, low)):
        for middle in single:
            before = [one for one in pair if x[one] < x[middle] - _SAME_PLACE]
            after = [one for one in pair if x[one] > x[middle] + _SAME_PLACE]
            for first, last in product(before, after):
                yield first, last, middle


def _weights(places: Places, edges: Ints, x: Floats, z: Floats) -> tuple[Floats, Floats]:
    """Weight (triples, 3) of each edge's height in the room, and the slopes (triples,); x, z : (triples, 3) float"""
    first, last, _ = edges.T
    same = first == last
    with np.errstate(all="ignore"):
        share = np.where(same, 0.0, (x[:, 2] - x[:, 0]) / (x[:, 1] - x[:, 0]))
        slope = np.where(same, 0.0, (z[:, 1] - z[:, 0]) / (x[:, 1] - x[:, 0]))
    sign = places.side[edges[:, 2]].astype(float)
    return np.stack([-sign * (1 - share), -sign * share, sign], axis=1), slope


def _steep(row: Compiled, places: Places, edges: Ints) -> NDArray[np.bool_]:
    """(triples,) bool: the slope of the two edges is beyond what the row of any table leans."""
    first, last, _ = edges.T
    off = np.abs(places.z_off) @ row.tolerances
    apart, rise = np.abs(places.x[last] - places.x[first]), np.abs(places.z[last] - places.z[first])
    return rise - off[first] - off[last] > row.holds.slope * apart


def _at(row: Compiled, places: Places, edges: Ints, off: Floats) -> tuple[Floats, Floats]:
    """Margins of triples, each with its deviations (triples, used), and how they change.

    (triples,) and (triples, used) float.
    """
    x_off, z_off = places.x_off[edges], places.z_off[edges]
    x = places.x[edges] + np.einsum("tkd,td->tk", x_off, off)
    z = places.z[edges] + np.einsum("tkd,td->tk", z_off, off)
    weights, slope = _weights(places, edges, x, z)
    room = (weights * z).sum(axis=1) - row.model.row.thickness - off @ row.model.thickness
    heights = np.einsum("tk,tkd->td", weights, z_off)
    along = np.einsum("tk,tkd->td", weights, x_off)
    change = heights - slope[:, None] * along - row.model.thickness
    return room / 2, change / 2


def worst_of(row: Compiled, triples: Triples) -> Worst | None:
    """The least favorable case within the tolerances; None where nothing holds the leaf on both sides."""
    if not len(triples.margin):
        return None
    least = triples.margin - np.abs(triples.change) @ row.tolerances
    order = np.argsort(least, kind="stable")
    best: Worst | None = None
    for first in range(0, len(order), _TRIED):
        near = order[first : first + _TRIED]
        if best is not None and least[near[0]] > best.case + _NEARLY:
            break
        cases = _cases(row, triples, near)
        different, number = np.unique(cases, axis=0, return_inverse=True)
        margins = row.margins_of(different.T, sizes=True)[number.ravel()]
        # Of cases alike, that of the triple that makes it: the first, whose closed form is least.
        lowest = int(np.flatnonzero(margins <= margins.min() + _SAME_PLACE)[0])
        if best is None or margins[lowest] < best.case - _SAME_PLACE:
            governing = int(near[lowest])
            best = Worst(float(least[governing]), float(margins[lowest]), cases[lowest], governing)
    return best


def _cases(row: Compiled, triples: Triples, which: Ints) -> Floats:
    """(n, used) float, mm: all deviations to the worse side of each of some triples."""
    cases = 0.0 - np.sign(triples.change[which]) * row.tolerances
    for number, places in enumerate((*row.certain, *row.possible)):
        own = np.flatnonzero(triples.which[which] == number)
        for _ in range(_TURNS if len(own) else 0):
            _, change = _at(row, places, triples.edges[which[own]], cases[own])
            new = 0.0 - np.sign(change) * row.tolerances
            if (new == cases[own]).all():
                break
            cases[own] = new
    return cases


def level_worst(row: Compiled) -> float:
    """Least half of the room, mm, of a leaf that slides home level and straight: as drawn less the sum of |a|·T."""
    low, high = (np.flatnonzero(row.lands.side == side) for side in (-1, 1))
    if not len(low) or not len(high):
        return np.inf
    height, off = row.lands.height, row.lands.height_off
    room = height[high][:, None] - height[low][None, :] - row.model.row.thickness
    change = off[high][:, None] - off[low][None, :] - row.model.thickness
    return float((room - np.abs(change) @ row.tolerances).min()) / 2
