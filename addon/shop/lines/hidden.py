"""Hidden lines taken away: every edge cut where what is seen of it may change, and each piece judged at its middle.

Each piece between two crossings is visible or hidden as a whole, so nothing is sampled. A piece is hidden where it is
covered on both of its sides: a line along the border of what covers it is that border's line too. Faces that touch
(within `CONTACT`) do not hide each other's edges, so that the joint between two flush parts is a line.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from ...model.tolerances import CONTACT
from .cells import Grid
from .crossings import contour_crossings, entries, entries_anywhere
from .seen import NOTHING, Seen
from .surface import Edges, edges_of, surface_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from ...model.part import Part, Placement
    from .surface import Surface

    Floats = NDArray[np.float64]
    Ints = NDArray[np.intp]
    Bools = NDArray[np.bool_]

_ACROSS: Final = 160
"""Cells along the longer side of the drawing."""


@dataclass(frozen=True, eq=False)
class Lines:
    """Pieces of edges, each visible or hidden from end to end."""

    ends: Floats
    """(n, 2, 3) float, mm: x to the right, y up, z toward the eye."""
    part: Ints
    """(n,) int: the number of the part whose edge it is."""
    visible: Bools
    """(n,) bool"""
    outline: Bools
    """(n,) bool: visible, and different parts, or a part and the paper, are seen on its two sides."""

    @property
    def length(self) -> Floats:
        """(n,) float: length on the paper at full size, mm."""
        along = self.ends[:, 1, :2] - self.ends[:, 0, :2]
        return np.hypot(along[:, 0], along[:, 1])


def hidden_lines(parts: Sequence[Part], axes: Floats, places: dict[str, Placement] | None = None) -> Lines:
    """The edges of parts in a view, each cut into visible and hidden pieces.

    Parameters
    ----------
    axes : (3, 3) float, orthonormal rows: to the right and up on the paper, and toward the eye
    places : label → where a part is, other than where the assembly has it

    Raises
    ------
    PartError : where a part has no sound section
    """
    return lines_of(surface_of(parts, axes, places))


def lines_of(surface: Surface) -> Lines:
    """The edges of closed surfaces, each cut into visible and hidden pieces."""
    edges = edges_of(surface)
    grid = Grid.over(surface.points[:, :2], _ACROSS)
    asked = edges.select(~edges.away)
    contours = asked.select(asked.contour)
    own, first, last = _pieces(asked, [contour_crossings(asked, contours, grid), entries(asked, surface)])
    start, along = asked.ends[:, 0], asked.ends[:, 1] - asked.ends[:, 0]
    middle = start[own] + ((first + last) / 2)[:, None] * along[own]
    left = (np.stack([-along[:, 1], along[:, 0]], axis=1) / asked.length[:, None])[own]
    seen = Seen(surface, grid)
    visible = ~seen.hidden(middle, left).all(axis=1)
    outline = np.zeros(len(own), dtype=bool)
    sides = seen.foremost(middle[visible], left[visible], asked.part[own[visible]])
    outline[visible] = sides[:, 0] != sides[:, 1]
    ends = start[own][:, None] + np.stack([first, last], axis=1)[:, :, None] * along[own][:, None]
    away = edges.select(edges.away)
    no = np.zeros(len(away.part), dtype=bool)
    return Lines(
        np.concatenate([ends, away.ends]),
        np.concatenate([asked.part[own], away.part]),
        np.concatenate([visible, no]),
        np.concatenate([outline, no]),
    )


def seen_through_air(surface: Surface, ends: Floats) -> Floats:
    """The visible pieces, (m, 2, 3) float mm, of straight lines that are no part's edges, such as ways of parts.

    Parameters
    ----------
    ends : (n, 2, 3) float, mm in the view's axes: from where to where, within the drawing
    """
    none = np.zeros(len(ends), dtype=bool)
    lines = Edges(ends, np.zeros(len(ends), dtype=np.intp), none, none)
    lines = lines.select(lines.length > CONTACT)
    grid = Grid.over(surface.points[:, :2], _ACROSS)
    edges = edges_of(surface)
    contours = edges.select(edges.contour)
    own, first, last = _pieces(
        lines, [contour_crossings(lines, contours, grid), entries_anywhere(lines, surface)]
    )
    start, along = lines.ends[:, 0][own], (lines.ends[:, 1] - lines.ends[:, 0])[own]
    left = np.stack([-along[:, 1], along[:, 0]], axis=1) / lines.length[own][:, None]
    hidden = Seen(surface, grid).hidden(start + ((first + last) / 2)[:, None] * along, left).any(axis=1)
    own, first, last = own[~hidden], first[~hidden], last[~hidden]
    goes_on = (own[1:] == own[:-1]) & (first[1:] == last[:-1])
    begins, ends_here = np.append(True, ~goes_on)[: len(own)], np.append(~goes_on, True)[: len(own)]
    shares = np.stack([first[begins], last[ends_here]], axis=1)
    start, along = start[~hidden][begins], along[~hidden][begins]
    return start[:, None] + shares[:, :, None] * along[:, None]


def _pieces(edges: Edges, found: list[tuple[Ints, Floats]]) -> tuple[Ints, Floats, Floats]:
    """Pieces of edges between neighbouring crossings: the edge's number and shares of its length from and to.

    Crossings nearer to each other than `CONTACT` are one.

    Parameters
    ----------
    found : crossings: numbers of edges and shares of their lengths
    """
    numbers = np.arange(len(edges.part))
    edge = np.concatenate([numbers, *(one for one, _ in found), numbers])
    share = np.concatenate([np.zeros(len(numbers)), *(at for _, at in found), np.ones(len(numbers))])
    order = np.lexsort((share, edge))
    edge, share = edge[order], share[order]
    # An edge's ends stay; of crossings close together, and close to its ends, the first of each run does.
    at = share * edges.length[edge]
    apart = np.diff(at, prepend=-np.inf) > CONTACT
    ends = (share == 0) | (share == 1)
    keep = ends | (apart & (edges.length[edge] - at > CONTACT))
    edge, share = edge[keep], share[keep]
    same = edge[1:] == edge[:-1]
    return edge[:-1][same], share[:-1][same], share[1:][same]


__all__ = ["NOTHING", "Lines", "hidden_lines", "lines_of"]
