"""Where the arrows of a step run: along the moves, where they are seen best."""

from __future__ import annotations

from itertools import product
from typing import TYPE_CHECKING, Final

import numpy as np

from ..lines.cells import Grid
from ..lines.seen import Seen

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from ..lines.surface import Surface
    from .moves import Move, Scenery

    Floats = NDArray[np.float64]

_LONG: Final = 0.09
"""Length of an arrow behind a part, as a share of the scenery's longest side."""

_PLACES: Final = (0.5, 0.2, 0.8)
"""Across a part's box, the middle first."""

_ALONG: Final = np.linspace(0.1, 0.9, 9)
"""Where along an arrow it is looked whether it is seen."""

_PLAIN: Final = 0.5
"""Share that has to be seen of an arrow ahead of a part, for there to be none behind it."""


def arrows_of(scenery: Scenery, surface: Surface) -> tuple[Floats, ...]:
    """An arrow for each move: ahead of the part, to where it belongs, or behind it where that cannot be seen.

    Returns
    -------
    (2, 2) float each, mm at full size in the picture's plane: from where to where
    """
    moves = [move for move in scenery.moves if move.straight and move.vector.any()]
    if not moves:
        return ()
    ways = [_ways(move, scenery.span) for move in moves]
    ends = np.concatenate(ways) @ surface.axes.T
    points = ends[:, :1] + _ALONG[:, None] * (ends[:, 1:] - ends[:, :1])
    seen = Seen(
        surface, Grid.over(np.concatenate([surface.points[:, :2], points.reshape(-1, 3)[:, :2]]), 160)
    )
    right = np.broadcast_to(np.array([1.0, 0.0]), (points.shape[0] * points.shape[1], 2))
    share = 1.0 - seen.hidden(points.reshape(-1, 3), right).any(axis=1).reshape(points.shape[:2]).mean(axis=1)
    found, at = [], 0
    for way in ways:
        own, half = share[at : at + len(way)], len(way) // 2
        best = int(own[:half].argmax())
        if own[best] < _PLAIN:
            best = int(own.argmax())
        found.append(ends[at + best, :, :2])
        at += len(way)
    return tuple(found)


def _ways(move: Move, span: float) -> Floats:
    """(18, 2, 3) float, mm in the table's axes: arrows ahead of a part to where it belongs, then as many behind it."""
    axis = int(np.abs(move.vector).argmax())
    way = move.vector / np.abs(move.vector[axis])
    across = [one for one in range(3) if one != axis]
    forward = move.vector[axis] > 0
    found = []
    for behind, shares in product((False, True), product(_PLACES, _PLACES)):
        tip = np.empty(3)
        tip[across] = move.low[across] + shares * (move.high - move.low)[across]
        tip[axis] = (move.high if forward != behind else move.low)[axis]
        if behind:
            tip = tip - move.vector
            found.append((tip - _LONG * span * way, tip))
        else:
            found.append((tip - move.vector, tip))
    return np.array(found)
