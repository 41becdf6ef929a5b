"""The row as areas in its own plane: wood beside the openings, and the leaf in a pose."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from ...fit.row.profile import stations

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from ...fit.row.mouths import Pose
    from ...fit.row.profile import Row, RowOpening

    Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Wood:
    """The wood on one side of an opening.

    Parameters
    ----------
    number : of the opening in its row
    side : -1 below the leaf, 1 above it
    """

    number: int
    opening: RowOpening
    side: Literal[-1, 1]

    @property
    def edge(self) -> float:
        """Where it faces the leaf, mm."""
        edge = self.opening.bottom if self.side < 0 else self.opening.top
        assert edge is not None
        return edge

    def ring(self, far: float) -> Floats:
        """Its corners, (n, 2) mm, convex; `far` is where it is cut off, away from the leaf."""
        first, start, stop, last = stations(self.opening)
        away = self.side
        points = [
            (first, far),
            (first, self.edge + away * self.opening.entry.rise),
            (start, self.edge),
            (stop, self.edge),
            (last, self.edge + away * self.opening.exit.rise),
            (last, far),
        ]
        return np.array([point for at, point in enumerate(points) if at == 0 or point != points[at - 1]])


def woods(row: Row) -> list[Wood]:
    """All wood of a row, so that what is farther from the leaf comes later.

    Wood that begins farther away hides what nearer wood would have behind it: a rib ends at the floor above it.
    """
    found = []
    for number, opening in enumerate(row.openings):
        if opening.bottom is not None:
            found.append(Wood(number, opening, -1))
        if opening.top is not None:
            found.append(Wood(number, opening, 1))
    return sorted(found, key=lambda wood: (wood.side * wood.edge, wood.opening.face))


def hidden_from(wood: Wood, others: list[Wood], x: float) -> float | None:
    """Where other wood begins to hide this one at x, mm; None where none does."""
    later = [
        other.edge
        for other in others
        if other is not wood
        and other.side == wood.side
        and other.side * other.edge > wood.side * wood.edge
        and other.opening.face <= x <= other.opening.end
    ]
    return min(later, key=lambda edge: wood.side * edge) if later else None


def leaf_ring(row: Row, pose: Pose) -> Floats:
    """The leaf's corners in a pose, (n, 2) mm, convex, from the lower rear one on."""
    run, rise, t = row.lead.run, row.lead.rise, row.thickness
    lower = (
        [(-row.length, 0.0), (-run, 0.0), (0.0, rise)] if run or rise else [(-row.length, 0.0), (0.0, 0.0)]
    )
    own = np.array(lower + [(u, t - w) for u, w in reversed(lower)])
    cosine, sine = np.cos(pose.tilt), np.sin(pose.tilt)
    return own @ np.array([[cosine, sine], [-sine, cosine]]) + (pose.travel, pose.height)
