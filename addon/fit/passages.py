"""The room that a leaf takes up on its way home, from the outer face of the side that it enters."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..model.tolerances import CONTACT
from .spans import point

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from ..model.assembly import StowPath
    from .findings import Point
    from .prepared import Prepared

    Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Passage:
    """A box that a leaf needs for itself on one of its moves; corners in table coordinates, mm."""

    leaf: str
    low: Point
    high: Point


def passages(prepared: Prepared) -> list[Passage]:
    """One box for each move of each leaf: what its bounding box sweeps, without what lies outside the table.

    The table ends at the outer face of the side with the leaf's slot, or at the leaf's own end where it stands proud.
    """
    return [one for path in prepared.assembly.stow_paths for one in _of_leaf(prepared, path)]


def _of_leaf(prepared: Prepared, path: StowPath) -> Iterator[Passage]:
    low, high = prepared.bounds(path.leaf)
    side_low, side_high = prepared.bounds(path.side)
    axis = int(np.abs(path.outward).argmax())
    for move in path.moves:
        start = low + np.minimum(move.start, move.end)
        end = high + np.maximum(move.start, move.end)
        if path.outward[axis] > 0:
            end[axis] = min(end[axis], max(side_high[axis], high[axis]))
        else:
            start[axis] = max(start[axis], min(side_low[axis], low[axis]))
        if (end - start > CONTACT).all():
            yield Passage(path.leaf, point(start), point(end))
