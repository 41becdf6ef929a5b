"""What holds a leaf, edge by edge: its room as a linear function of the deviations, one for every three edges.

                 k                     room = z_k - (1 - w)·z_i - w·z_j - t,   w = (x_k - x_i) / (x_j - x_i)
        _________#________
       ====================== leaf     so a deviation of i counts 1 - w, one of j counts w, one of k counts 1;
        #                  #           the worst case of these three: all of them to the worse side
        i                  j

Two edges below and one above between them, or the other way round, hold a leaf at the slope of the two; so do two
edges above each other, level. The room of a row is the least of all of these. Each is linear in heights and thickness,
so its worst case is what is drawn less the sum of |a|·T, exactly; what the slope takes, t·(sqrt(1 + s²) - 1), and what
it makes of deviations along the travel are of second order and are given as the remainder of the case itself.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from ...sizes.arrays import Bools, Floats, Ints
from .maps import Compiled, Places

_SAME_PLACE: Final = 1e-6
"""mm; edges nearer than this along the travel are above each other."""

_NEARLY: Final = 0.002
"""mm; triples are tried out until the closed form is by so much above the worst case found."""

_TRIED: Final = 32
"""So many at a time."""

_AHEAD: Final = 2048
"""Cases of so many triples are worked out together, in advance of being tried."""

_TURNS: Final = 4
"""Times that the signs of deviations along the travel are set anew at the slope of the worst case."""

_AT_ONCE: Final = 1024
"""Triples whose changes are summed up together; it bounds the memory."""


@dataclass(frozen=True, eq=False)
class Triples:
    """Edges that hold a leaf, and its margin (half its room) when they do; mm.

    How margins change with each deviation takes much memory; it is worked out where it is asked for.

    Attributes
    ----------
    which : (triples,) int; number of the set of places that they belong to
    edges : (triples, 3) int; two of one side and one of the other, or twice one of either side; numbers of places
    margin : (triples,) float, as drawn
    number : (triples,) int; triples in several sets are one: the same number for those that are
    worst : (triples,) float; by how much the margin is less at worst: the sum of |change|·T
    worst_others : (triples,) float; the same but for deviations of the leaf's own thickness
    squares, routed_squares : (triples,) float, mm²; the sum of (change·T)², of all and of routed deviations
    """

    row: Compiled
    which: Ints
    edges: Ints
    margin: Floats
    number: Ints
    worst: Floats
    worst_others: Floats
    squares: Floats
    routed_squares: Floats

    def __len__(self) -> int:
        return len(self.margin)

    def change(self, some: Ints, off: Floats | None = None) -> Floats:
        """(n, used) float: of the margin of some triples, by number, per mm of each deviation.

        Parameters
        ----------
        off : (n, used) float, mm; deviations of each; by default none
        """
        found = np.empty((len(some), len(self.row.tolerances)))
        for number, places in enumerate((*self.row.certain, *self.row.possible)):
            own = np.flatnonzero(self.which[some] == number)
            if len(own):
                found[own] = _change(
                    self.row, places, self.edges[some[own]], None if off is None else off[own]
                )
        return found


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


def triples_of(row: Compiled, routed: Bools | None = None) -> Triples:
    """All edges that can hold a row's leaf together.

    Parameters
    ----------
    routed : (deviations,) bool; which of the table's deviations the router makes; by default none
    """
    sets = (*row.certain, *row.possible)
    stations = {
        one: number for number, one in enumerate(dict.fromkeys(one for own in row.stations for one in own))
    }
    none = np.zeros(0, dtype=np.intp)
    found, which, margins, names = [none.reshape(0, 3)], [none], [np.zeros(0)], [none]
    for number, (places, own) in enumerate(zip(sets, row.stations, strict=True)):
        edges = _together(places)
        edges = edges[~_steep(row, places, edges)]
        found.append(edges)
        which.append(np.full(len(edges), number))
        margins.append(_margins(row, places, edges))
        name = np.array([stations[one] for one in own], dtype=np.intp)[edges]
        names.append((name[:, 0] * len(stations) + name[:, 1]) * len(stations) + name[:, 2])
    _, first, same = np.unique(np.concatenate(names), return_index=True, return_inverse=True)
    bare = Triples(
        row,
        np.concatenate(which),
        np.concatenate(found),
        np.concatenate(margins),
        same.reshape(-1),
        *[np.zeros(0)] * 4,
    )
    return replace(bare, **_sums(bare, first, routed))


def _sums(triples: Triples, first: Ints, routed: Bools | None) -> dict[str, Floats]:
    """What is summed up over all deviations; `first` are the triples that are not met before."""
    row = triples.row
    tolerances, others = row.tolerances, row.tolerances * (row.model.thickness == 0)
    by_router = np.zeros(len(tolerances)) if routed is None else routed[row.model.used].astype(float)
    found = np.empty((4, len(first)))
    for begin in range(0, len(first), _AT_ONCE):
        change = triples.change(first[begin : begin + _AT_ONCE])
        size, square = np.abs(change), (change * tolerances) ** 2
        own = (size @ tolerances, size @ others, square @ np.ones(len(tolerances)), square @ by_router)
        found[:, begin : begin + _AT_ONCE] = own
    names = ("worst", "worst_others", "squares", "routed_squares")
    return dict(zip(names, found[:, triples.number], strict=True))


def _together(places: Places) -> Ints:
    """(n, 3) int: edges that hold a leaf together: two of one side around one of the other, or two above each other."""
    x = places.x
    low, high = (np.flatnonzero(places.side == side) for side in (-1, 1))
    one, other = np.nonzero(np.abs(x[low][:, None] - x[high]) < _SAME_PLACE)
    found = [np.stack([low[one], low[one], high[other]], axis=1)]
    for pair, single in ((low, high), (high, low)):
        for middle in single:
            before = pair[x[pair] < x[middle] - _SAME_PLACE]
            after = pair[x[pair] > x[middle] + _SAME_PLACE]
            first, last = np.repeat(before, len(after)), np.tile(after, len(before))
            found.append(np.stack([first, last, np.full(len(first), middle)], axis=1))
    return np.concatenate(found)


def _margins(row: Compiled, places: Places, edges: Ints) -> Floats:
    """(triples,) float, mm: margins of triples as drawn."""
    x, z = places.x[edges], places.z[edges]
    weights, _ = _weights(places, edges, x, z)
    return ((weights * z).sum(axis=1) - row.model.row.thickness) / 2


def _weights(places: Places, edges: Ints, x: Floats, z: Floats) -> tuple[Floats, Floats]:
    """Weight (triples, 3) of each edge's height in the room, and the slopes (triples,); x, z : (triples, 3) float"""
    first, last, _ = edges.T
    same = first == last
    with np.errstate(all="ignore"):
        share = np.where(same, 0.0, (x[:, 2] - x[:, 0]) / (x[:, 1] - x[:, 0]))
        slope = np.where(same, 0.0, (z[:, 1] - z[:, 0]) / (x[:, 1] - x[:, 0]))
    sign = places.side[edges[:, 2]].astype(float)
    return np.stack([-sign * (1 - share), -sign * share, sign], axis=1), slope


def _steep(row: Compiled, places: Places, edges: Ints) -> Bools:
    """(triples,) bool: the slope of the two edges is beyond what the row of any table leans."""
    first, last, _ = edges.T
    off = np.abs(places.z_off) @ row.tolerances
    apart, rise = np.abs(places.x[last] - places.x[first]), np.abs(places.z[last] - places.z[first])
    return rise - off[first] - off[last] > row.holds.slope * apart


def _change(row: Compiled, places: Places, edges: Ints, off: Floats | None) -> Floats:
    """(triples, used) float: how the margins of triples change, each with its deviations (triples, used), mm."""
    x_off, z_off = places.x_off[edges], places.z_off[edges]
    x, z = places.x[edges], places.z[edges]
    if off is not None:
        x = x + np.einsum("tkd,td->tk", x_off, off)
        z = z + np.einsum("tkd,td->tk", z_off, off)
    weights, slope = _weights(places, edges, x, z)
    heights = np.einsum("tk,tkd->td", weights, z_off)
    along = np.einsum("tk,tkd->td", weights, x_off)
    return (heights - slope[:, None] * along - row.model.thickness) / 2


def worst_of(row: Compiled, triples: Triples) -> Worst | None:
    """The least favorable case within the tolerances; None where nothing holds the leaf on both sides."""
    if not len(triples):
        return None
    least = triples.margin - triples.worst
    order = np.argsort(least, kind="stable")
    rising, cases = least[order], _Cases(row, triples, order)
    best: Worst | None = None
    for first in range(0, len(order), _TRIED):
        near = order[first : first + _TRIED]
        if best is not None and rising[first] > best.case + _NEARLY:
            break
        last = first if best is None else int(np.searchsorted(rising, best.case + _NEARLY, side="right"))
        margins = cases.margins(first, last - first)
        # Of cases alike, that of the triple that makes it: the first, whose closed form is least.
        lowest = int(np.flatnonzero(margins <= margins.min() + _SAME_PLACE)[0])
        if best is None or margins[lowest] < best.case - _SAME_PLACE:
            governing = int(near[lowest])
            best = Worst(
                float(least[governing]), float(margins[lowest]), cases.deviations(governing), governing
            )
    return best


class _Cases:
    """The margins of a row with all deviations to the worse side of each triple, triple after triple in an order."""

    def __init__(self, row: Compiled, triples: Triples, order: Ints) -> None:
        self.row, self.triples, self.order = row, triples, order
        self._signs: dict[int, NDArray[np.int8]] = {}
        """Which way all deviations go, by the number of the triple."""
        self._margins: dict[bytes, float] = {}
        """Margins by these."""

    def margins(self, first: int, ahead: int) -> Floats:
        """(n,) float, mm: of the next few triples of the order, from place `first` on.

        Parameters
        ----------
        ahead : how many triples, from there on, are to be asked for later
        """
        some = self.triples.number[self.order[first : first + _TRIED]].tolist()
        if any(one not in self._signs for one in some):
            self._work_out(self.order[first : first + min(max(ahead, _TRIED), _AHEAD)])
        return np.array([self._margins[self._signs[one].tobytes()] for one in some])

    def deviations(self, triple: int) -> Floats:
        """(used,) float, mm: the case of a triple whose margin has been asked for."""
        return 0.0 - self._signs[int(self.triples.number[triple])] * self.row.tolerances

    def _work_out(self, some: Ints) -> None:
        numbers = self.triples.number[some]
        new, at = np.unique(numbers, return_index=True)
        signs = self._signs_of(some[at])
        self._signs |= dict(zip(new.tolist(), signs, strict=True))
        different = {own.tobytes(): own for own in signs}
        open_still = [own for name, own in different.items() if name not in self._margins]
        if open_still:
            cases = 0.0 - np.array(open_still) * self.row.tolerances
            margins = self.row.margins_of(cases.T, sizes=True)
            self._margins |= zip((own.tobytes() for own in open_still), margins.tolist(), strict=True)

    def _signs_of(self, some: Ints) -> NDArray[np.int8]:
        """(n, used): which way each deviation makes triples' margins grow, at the slope of the worst case."""
        signs = np.sign(self.triples.change(some))
        for _ in range(_TURNS):
            new = np.sign(self.triples.change(some, 0.0 - signs * self.row.tolerances))
            if (new == signs).all():
                break
            signs = new
        return signs.astype(np.int8)


def worst_margin(triples: Triples) -> float:
    """Least margin within the tolerances, mm: of any three edges, as drawn less the sum of |a|·T; inf without any."""
    return float((triples.margin - triples.worst).min(initial=np.inf))


def level_worst(row: Compiled) -> float:
    """Least half of the room, mm, of a leaf that slides home level and straight: as drawn less the sum of |a|·T."""
    low, high = (np.flatnonzero(row.lands.side == side) for side in (-1, 1))
    if not len(low) or not len(high):
        return np.inf
    height, off = row.lands.height, row.lands.height_off
    room = height[high][:, None] - height[low][None, :] - row.model.row.thickness
    change = off[high][:, None] - off[low][None, :] - row.model.thickness
    return float((room - np.abs(change) @ row.tolerances).min()) / 2
