"""On which part of a straight move two convex bodies overlap: exact, for one pair or for many at once.

    +---+                              s = 0 ............ 1, share of the travel done
    | A | --- travel -->               along  n the shadows overlap from  |==========>
    +---+          +---+               along -n they overlap until   <==========|
                   | B |               along other directions       <=============|
                   +---+               along all of them                  |=====|
    ------------------------> n

Two convex bodies are apart as long as some direction n parts their shadows, and for polytopes the facet normals of
either and the cross products of their edges are directions enough (Gottschalk, Lin and Manocha, OBBTree, SIGGRAPH
1996). While A moves straight on, the gap between the two shadows along n changes evenly, so that there is one s from
which on it is gone, or until which. The bodies overlap where that is so along all directions: in an interval. A
direction square to the travel allows all of it, or nothing.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property
from typing import Final

import numpy as np

from ...sizes.arrays import Floats, Ints
from ...sizes.tolerances import ANGLE, CONTACT
from ...wood.solids.pieces import Pieces
from .separation import Polytope, every_gap

AT_ONCE: Final = 1024
"""Pairs that are worked out together; more would not fit the processor's cache."""

_MANY: Final = 12
"""Facets from which on a piece is worked out apart from the small ones, which would have to wait for it."""


def intervals(
    gaps: Floats, closing: Floats, still: Floats | float, deeper_than: float
) -> tuple[Floats, Floats]:
    """From when to when, (n,) each, all of k shadows overlap by more than `deeper_than`; may be empty.

    Parameters
    ----------
    gaps : (n, k) float, mm; between shadows before the move; negative where they overlap
    closing : (n, k) float, mm per unit of the move
    still : what closes no faster than that does not close
    """
    rest = gaps + deeper_than
    stays = np.abs(closing) <= still
    never = (stays & (rest >= 0)).any(axis=1)
    when = rest / np.where(stays, 1.0, closing)
    start = np.where(~stays & (closing > 0), when, -np.inf).max(axis=1, initial=-np.inf)
    end = np.where(~stays & (closing < 0), when, np.inf).min(axis=1, initial=np.inf)
    return np.where(never, np.inf, start), np.where(never, -np.inf, end)


def passage(
    a: Polytope, travel: Floats, b: Polytope, deeper_than: float = CONTACT
) -> tuple[float, float] | None:
    """The s from when and until when A, moving on straight for ever and come from as far, overlaps B.

    A at `s` stands for A shifted by s·travel. The answer is the open interval of s on which the signed distance of A at
    s and B is below -`deeper_than`, or None if that is nowhere so.

    Parameters
    ----------
    travel : (3,) float, mm
    deeper_than : mm; by default bodies that only touch do not overlap. Negative for "nearer than".
    """
    axes, gaps = every_gap(a, b)
    still = ANGLE * float(np.sqrt(travel @ travel))
    starts, ends = intervals(gaps[None], (axes @ travel)[None], still, deeper_than)
    start, end = float(starts[0]), float(ends[0])
    return (start, end) if start < end else None


def contact_interval(
    a: Polytope, travel: Floats, b: Polytope, deeper_than: float = CONTACT
) -> tuple[float, float] | None:
    """The part of A's straight move, within 0 … 1, on which it overlaps B; None if it nowhere does; see `passage`."""
    found = passage(a, travel, b, deeper_than)
    if found is None:
        return None
    start, end = max(0.0, found[0]), min(1.0, found[1])
    return (start, end) if start < end else None


class Moves:
    """Straight moves of pieces past other pieces of one set, many pairs at once.

    Pairs are given by numbers of pieces: (n,) int `i` that move and `j` that stand.
    """

    def __init__(self, pieces: Pieces) -> None:
        large = np.diff(pieces.plane_starts) > _MANY
        self._large = large
        self._row = np.where(large, np.cumsum(large), np.cumsum(~large)) - 1
        self._sizes = [_Size(pieces.select(np.flatnonzero(large == one))) for one in (False, True)]

    def by_facets(
        self, i: Ints, j: Ints, travel: Floats, start: Floats | None = None
    ) -> tuple[Floats, Floats]:
        """An interval of shares of the travel, (n,) each, outside of which the pieces do not overlap.

        Parameters
        ----------
        travel : (n, 3) float, mm
        start : (n, 3) float, mm; where the move begins, as an offset of pieces i; by default where they are
        """
        return self._in_chunks(_by_facets, i, j, travel, start)

    def by_edges(
        self, i: Ints, j: Ints, travel: Floats, start: Floats | None = None
    ) -> tuple[Floats, Floats]:
        """The same from the directions square to an edge of both; what is in both intervals is exact."""
        return self._in_chunks(_by_edges, i, j, travel, start)

    def _in_chunks(
        self, how: _How, i: Ints, j: Ints, travel: Floats, start: Floats | None
    ) -> tuple[Floats, Floats]:
        starts, ends = np.empty(len(i)), np.empty(len(i))
        for one in (False, True):
            for other in (False, True):
                which = np.flatnonzero((self._large[i] == one) & (self._large[j] == other))
                for first in range(0, len(which), AT_ONCE):
                    chunk = which[first : first + AT_ONCE]
                    axes, gaps = how(
                        self._sizes[one], self._row[i[chunk]], self._sizes[other], self._row[j[chunk]]
                    )
                    if start is not None:
                        gaps = gaps - (axes @ start[chunk, :, None])[:, :, 0]
                    along = travel[chunk]
                    still = ANGLE * np.sqrt((along * along).sum(axis=1))[:, None]
                    closing = (axes @ along[:, :, None])[:, :, 0]
                    starts[chunk], ends[chunk] = intervals(gaps, closing, still, CONTACT)
        return starts, ends


class _Size:
    """Pieces of about one size, each with as many vertices, facets and directions of edges."""

    def __init__(self, pieces: Pieces) -> None:
        self.pieces = pieces
        self.vertices = _padded(pieces.vertices, pieces.starts)
        self.planes = _padded(pieces.planes, pieces.plane_starts)

    @cached_property
    def directions(self) -> Floats:
        """(N, k, 3) float, unit."""
        each = [Polytope.of(self.pieces, piece).directions for piece in range(len(self.pieces))]
        return _padded(np.concatenate(each), np.cumsum([0, *map(len, each)]))


_How = Callable[[_Size, "Ints", _Size, "Ints"], tuple["Floats", "Floats"]]
"""Of moving and of standing pieces: (n, k, 3) float, directions, and (n, k) float mm, the gaps along them."""


def _by_facets(one: _Size, i: Ints, other: _Size, j: Ints) -> tuple[Floats, Floats]:
    planes, other_planes = one.planes[i], other.planes[j]
    ahead = planes[:, :, :3] @ other.vertices[j].transpose(0, 2, 1)
    behind = other_planes[:, :, :3] @ one.vertices[i].transpose(0, 2, 1)
    gaps = [ahead.min(axis=2) - planes[:, :, 3], behind.min(axis=2) - other_planes[:, :, 3]]
    return np.concatenate([planes[:, :, :3], -other_planes[:, :, :3]], axis=1), np.concatenate(gaps, axis=1)


def _by_edges(one: _Size, i: Ints, other: _Size, j: Ints) -> tuple[Floats, Floats]:
    along = np.cross(one.directions[i][:, :, None], other.directions[j][:, None]).reshape(len(i), -1, 3)
    length = np.sqrt((along * along).sum(axis=2))
    there = length > ANGLE
    along = np.where(there[:, :, None], along / np.where(there, length, 1.0)[:, :, None], 0.0)
    here = along @ one.vertices[i].transpose(0, 2, 1)
    beyond = along @ other.vertices[j].transpose(0, 2, 1)
    ahead = np.where(there, beyond.min(axis=2) - here.max(axis=2), -np.inf)
    behind = np.where(there, here.min(axis=2) - beyond.max(axis=2), -np.inf)
    return np.concatenate([along, -along], axis=1), np.concatenate([ahead, behind], axis=1)


def _padded(rows: Floats, starts: Ints) -> Floats:
    """(N, k, c) float: the rows of each of N runs, the last one repeated where a run has fewer than k."""
    sizes = np.diff(starts)
    which = np.minimum(np.arange(sizes.max(initial=1)), sizes[:, None] - 1)
    return rows[starts[:-1, None] + which]
