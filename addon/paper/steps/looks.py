"""From where a step is seen: from the corner of the step before, unless another shows its parts better.

Where the arrows of a step run: along the moves, where they are seen best.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING, Final

import numpy as np

from ..lines.seen import Grid, Seen
from ..lines.surface import surface_of
from .moves import FIRST, Corner
from .regions import seams_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    import numpy as np
    from numpy.typing import NDArray

    from ...check.apart.assembly_order import Pose
    from ..lines.surface import Surface
    from .moves import Move, Scenery
    from .regions import Seams

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


LEAST_SHOWN: Final = 0.1
"""Share of its own drawn area that is to be seen of all that goes in at a step."""

_AMPLE: Final = 0.2
"""Share from which the view stays as it was before."""


@dataclass(frozen=True, eq=False)
class Look:
    """A step's scenery as it is seen."""

    scenery: Scenery
    corner: Corner
    surface: Surface
    seams: Seams
    shown: dict[tuple[str, ...], float]
    """Labels of parts that go in together → share that is seen of the area that they alone would have drawn."""
    arrows: tuple[Floats, ...]
    """(2, 2) float each, mm at full size in the picture's plane: from where to where."""

    @property
    def least(self) -> float:
        """The least of these shares."""
        return min(self.shown.values(), default=1.0)


def look_at(scenery: Scenery, corner: Corner) -> Look:
    """Some scenery seen from a corner. Raises PartError where a part has no sound section."""
    axes = corner.axes
    surface = surface_of(scenery.parts, axes, scenery.places)
    seams = seams_of(surface)
    shown = {}
    for move in scenery.moves:
        numbers = [at for at, part in enumerate(scenery.parts) if part.label in move.parts]
        alone = seams_of(surface_of([scenery.parts[at] for at in numbers], axes, scenery.places))
        drawn = sum(alone.area(at) for at in range(len(numbers)))
        shown[move.parts] = sum(seams.area(at) for at in numbers) / drawn
    return Look(scenery, corner, surface, seams, shown, arrows_of(scenery, surface))


def best_look(scenery: Scenery, pose: Pose, before: Corner | None) -> Look:
    """The look from the corner before where it shows enough of all parts; else from the one that shows most.

    Raises
    ------
    PartError : where a part has no sound section
    """
    found = None
    for corner in _corners(pose, before):
        if found is not None and corner.below and found.least >= LEAST_SHOWN:
            break
        look = look_at(scenery, corner)
        if look.least >= _AMPLE:
            return look
        if found is None or look.least > found.least:
            found = look
    assert found is not None
    return found


def _corners(pose: Pose, before: Corner | None) -> Iterator[Corner]:
    first = before if before is not None and before.pose == pose else FIRST[pose]
    yield first
    for below, turn in product((False, True), ((1, 1), (-1, 1), (1, -1), (-1, -1))):
        corner = Corner(pose, first.x * turn[0], first.y * turn[1], below)
        if corner != first:
            yield corner
