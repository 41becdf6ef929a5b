"""A leaf laid into any place for leaves, one of the four ways round that a board can be pushed into a slot."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Literal, NamedTuple

import numpy as np

from ..model.solids import shapes_as_pieces
from ..model.tolerances import WELD
from .clearance.kernel import Mover, Run

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from ..model.assembly import StowPath
    from ..model.convex import Pieces
    from ..model.part import Groove, Part
    from .prepared import Prepared

    Floats = NDArray[np.float64]

Turn = Literal["as drawn", "turned over", "end for end", "both"]

TURNS: dict[Turn, tuple[int, int, int]] = {
    "as drawn": (1, 1, 1),
    "turned over": (1, -1, -1),
    "end for end": (-1, -1, 1),
    "both": (-1, 1, -1),
}
"""Signs of (inward, sideways, up) after each turn by 180 degrees: about the way, about the vertical, about both."""

_SORTED_BY = 6
"""Decimals of a coordinate, mm, by which corners and pieces are put into an order."""


class Frame(NamedTuple):
    """Where a leaf lies at home, as drawn."""

    centre: Floats
    """(3,) float, mm"""
    axes: Floats
    """(3, 3) float; rows: inward, sideways, up."""
    along: float
    """Size of the leaf along its way, mm."""

    @classmethod
    def of(cls, prepared: Prepared, path: StowPath) -> Frame:
        """The frame of the leaf that a stow path is for."""
        part = prepared.assembly.by_label[path.leaf]
        placement = part.drawn_placement or part.placement
        size = np.array(part.drawn_shape.size)
        inward, up = -path.outward, np.array([0.0, 0.0, 1.0])
        axes = np.stack([inward, np.cross(up, inward), up])
        along = float(np.abs(placement.axes @ inward) @ size)
        return cls(placement.to_table(size[None] / 2)[0], axes, along)

    def onto(self, other: Frame, turn: Turn) -> tuple[Floats, Floats]:
        """The motion that brings a leaf from this place to another: (3, 3) axes and (3,) origin, mm.

        A leaf that goes in lengthwise here and broadside there is turned by a quarter first.
        """
        axes = self.axes
        if abs(self.along - other.along) > WELD:
            axes = axes[[1, 0, 2]] * [[1.0], [-1.0], [1.0]]
        turned = axes.T @ (np.array(TURNS[turn], dtype=float)[:, None] * other.axes)
        return turned, other.centre - self.centre @ turned


class Guest:
    """A leaf at home in some place, one way round.

    Parameters
    ----------
    own, path : the leaf's own stow path, and that of the place
    pieces : the leaf at home in its own place, by `sliding_pieces`
    """

    def __init__(self, prepared: Prepared, own: StowPath, path: StowPath, turn: Turn, pieces: Pieces) -> None:
        self.prepared, self.leaf, self.path = prepared, own.leaf, path
        self.turn: Turn = turn
        if path is own and turn == "as drawn":
            self.mover = prepared.movers[own.leaf]
        else:
            motion = Frame.of(prepared, own).onto(Frame.of(prepared, path), turn)
            self.mover = Mover(pieces.transformed(*motion))

    def runs(self) -> list[Run]:
        """One run a move, without the leaf itself, the place's own leaf and its end stop."""
        number = self.prepared.number
        skip = {number[self.leaf], number[self.path.leaf]}
        if self.path.end_stop is not None:
            skip.add(number[self.path.end_stop])
        return [Run(self.mover, move.vector, move.start, skip) for move in self.path.moves]

    @property
    def box(self) -> tuple[Floats, Floats]:
        """Corners of its bounding box at home, (3,) float each, mm."""
        return self.mover.pieces.low.min(axis=0), self.mover.pieces.high.max(axis=0)


def sliding_pieces(prepared: Prepared, path: StowPath, shortest: float) -> Pieces:
    """A leaf at home without what every slide of at least `shortest` mm closes: its pieces.

    A through hole, or a recess with wood before and behind it, is passed over by that wood if the slide is at least
    as long as the cut is along the way; so the leaf without the cut passes through the same space.
    """
    part = prepared.assembly.by_label[path.leaf]
    shape = part.shape
    axis = int(np.abs(part.placement.axes[:2] @ path.outward).argmax())
    holes = tuple(hole for hole in shape.holes if hole.depth is not None or hole.diameter > shortest)
    grooves = tuple(one for one in shape.grooves if not _closes(one, part, axis, shortest))
    if len(holes) + len(grooves) == len(shape.holes) + len(shape.grooves):
        return prepared.pieces[prepared.number[path.leaf]]
    bare = replace(shape, holes=holes, grooves=grooves)
    return shapes_as_pieces([bare])[bare].transformed(part.placement.axes, part.placement.origin)


def _closes(groove: Groove, part: Part, axis: int, shortest: float) -> bool:
    """Whether a slide along the part's u (axis 0) or v closes a groove."""
    low, high = ((groove.u0, groove.u1), (groove.v0, groove.v1))[axis]
    return low > 0.0 and high < part.shape.size[axis] and high - low <= shortest


def same_turns(prepared: Prepared, path: StowPath, pieces: Pieces) -> dict[Turn, Turn]:
    """For each turn the first one that gives the same pieces. The four turns are a group."""
    frame = Frame.of(prepared, path)
    symmetries = [
        signs
        for turn, signs in TURNS.items()
        if turn == "as drawn" or _same(pieces, pieces.transformed(*frame.onto(frame, turn)))
    ]

    def first(turn: Turn) -> Turn:
        return next(
            other
            for other, signs in TURNS.items()
            if tuple(a * b for a, b in zip(signs, TURNS[turn], strict=True)) in symmetries
        )

    return {turn: first(turn) for turn in TURNS}


def _same(some: Pieces, others: Pieces) -> bool:
    """Whether two sets consist of the same convex bodies, by their corners; False also where that is in doubt."""
    return all(
        a.shape == b.shape and bool(np.abs(a - b).max() <= WELD)
        for a, b in zip(_sorted_bodies(some), _sorted_bodies(others), strict=True)
    )


def _sorted_bodies(pieces: Pieces) -> list[Floats]:
    bodies = []
    for i in range(len(pieces)):
        corners = pieces.piece(i)
        bodies.append(corners[np.lexsort(np.round(corners, _SORTED_BY).T)])
    return sorted(bodies, key=lambda body: np.round(body, _SORTED_BY).ravel().tolist())
