"""Any leaf, any slot, any way round: which leaf passes where, and how it lies there.

Each leaf is moved to each leaf's position, so that what was drawn of it lies exactly where the drawn leaf of that
position lies: same center, same height, outer end out, upper face up. From there it is turned in the four ways that a
board can be pushed into a slot. All slides are worked out at once; ways round that give the same pieces are worked out
once.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal, NamedTuple

import numpy as np

from ..sizes.arrays import Floats
from ..sizes.tolerances import CONTACT, WELD
from ..wood.assembly import StowPath
from ..wood.features import Feature, Groove, Hole
from ..wood.part import Part
from ..wood.solids.pieces import Pieces
from ..wood.solids.solids import shapes_as_pieces
from .causes import Gaps, Point
from .clearance.kernel import Contact, Mover, Run, Slide
from .drawn_way import (
    contacts_of,
    judged_clearance,
    nearest_of,
    opening_gaps,
    proud_of,
    verdict_of,
    what_is_near,
)
from .facts import Verdict
from .prepared import Prepared
from .stowed import ahead_of

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
    """Where a leaf lies stowed, as drawn."""

    center: Floats
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
        """The motion that brings a leaf from this position to another: (3, 3) axes and (3,) origin, mm.

        A leaf that goes in lengthwise here and broadside there is turned by a quarter first.
        """
        axes = self.axes
        if abs(self.along - other.along) > WELD:
            axes = axes[[1, 0, 2]] * [[1.0], [-1.0], [1.0]]
        turned = axes.T @ (np.array(TURNS[turn], dtype=float)[:, None] * other.axes)
        return turned, other.center - self.center @ turned


class Guest:
    """A leaf stowed in some position, one way round.

    Parameters
    ----------
    own, path : the leaf's own stow path, and that of the position
    pieces : the leaf stowed in its own position, by `sliding_pieces`
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
        """One run a move, without the leaf itself, the position's own leaf and its end stop."""
        number = self.prepared.number
        skip = {number[self.leaf], number[self.path.leaf]}
        if self.path.end_stop is not None:
            skip.add(number[self.path.end_stop])
        return [Run(self.mover, move.vector, move.start, skip) for move in self.path.moves]

    @property
    def box(self) -> tuple[Floats, Floats]:
        """Corners of its bounding box stowed, (3,) float each, mm."""
        return self.mover.pieces.low.min(axis=0), self.mover.pieces.high.max(axis=0)


def sliding_pieces(prepared: Prepared, path: StowPath, shortest: float) -> Pieces:
    """A leaf stowed without what every slide of at least `shortest` mm closes: its pieces.

    A through hole, or a recess with wood before and behind it, is passed over by that wood if the slide is at least
    as long as the cut is along the way; so the leaf without the cut passes through the same space.
    """
    part = prepared.assembly.by_label[path.leaf]
    shape = part.shape
    axis = int(np.abs(part.placement.axes[:2] @ path.outward).argmax())
    bare = shape.with_features(one for one in shape.features if not _closes(one, part, axis, shortest))
    if bare is shape:
        return prepared.pieces[prepared.number[path.leaf]]
    return shapes_as_pieces([bare])[bare].transformed(part.placement.axes, part.placement.origin)


def _closes(cut: Feature, part: Part, axis: int, shortest: float) -> bool:
    """Whether a slide along the part's u (axis 0) or v closes a through hole or a groove."""
    if isinstance(cut, Hole):
        return cut.depth is None and cut.widest <= shortest
    if not isinstance(cut, Groove):
        return False
    low, high = cut.spans[axis]
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


__all__ = ["TURNS", "Matrix", "MatrixCell", "Turn", "leaf_matrix"]


@dataclass(frozen=True)
class MatrixCell:
    """One leaf slid into one position, one way round. The position's own end stop is left out of the clearance."""

    leaf: str
    """Label of the leaf that moves."""
    position: str
    """Label of the leaf that the slot and its windows were cut for."""
    side: str
    """Label of the side that it goes in through."""
    turn: Turn
    verdict: Verdict
    """As in the check; see `stops_home` for how its way ends."""
    clearance: float
    """Smallest signed distance over the whole way, mm; negative is an overlap."""
    against: str
    """Label of the part it comes nearest to."""
    travel: float
    """Where that happens; 0 with the nose of the leaf as drawn at the slot's outer face, mm."""
    at: Point
    near: str
    """Which face of the other part is near, in words."""
    proud: float
    """How far its outer end stands out of the side's outer face stowed, mm; negative is inside."""
    end_gap: float | None
    """From its nose stowed to what ends its travel, mm; negative where it does not get so far."""
    stops_at: str
    """Label of that part."""
    outer_end: float
    """As `proud`, but where it comes to rest: stowed, or where it is stopped before, mm."""
    stops_home: bool
    """Whether it passes and comes to rest where it should: with something to end its way near there, and its outer end
    no prouder than allowed."""


@dataclass(frozen=True)
class Matrix:
    """Every leaf in every position, in all four ways round."""

    leaves: tuple[str, ...]
    """Labels of the leaves, and so of the positions."""
    cells: tuple[MatrixCell, ...]
    """By leaf, position and turn, in this order."""

    @cached_property
    def _by_key(self) -> dict[tuple[str, str, str], MatrixCell]:
        return {(cell.leaf, cell.position, cell.turn): cell for cell in self.cells}

    def cell(self, leaf: str, position: str, turn: Turn = "as drawn") -> MatrixCell:
        """One cell. Raises KeyError for a leaf, position or turn that there is not."""
        return self._by_key[leaf, position, turn]

    def ways_round(self, leaf: str, position: str) -> tuple[MatrixCell, ...]:
        """The four cells of one leaf in one position."""
        return tuple(self.cell(leaf, position, turn) for turn in TURNS)

    @property
    def interchangeable(self) -> bool:
        """Whether every leaf passes clear into every position, whichever way round, and ends where it should."""
        return all(cell.verdict == "clear" and cell.stops_home for cell in self.cells)


def leaf_matrix(prepared: Prepared) -> Matrix:
    """Slide every leaf into every position, in all four ways round.

    While a leaf goes into the position of another, both are on their ways; the others are stowed. Parts count as they
    were cut: where a leaf is too wide, the excess stands out on the side that the turn brings it to.
    """
    paths = prepared.assembly.stow_paths
    shortest = min((move.length for path in paths for move in path.moves), default=0.0)
    pieces = {path.leaf: sliding_pieces(prepared, path, shortest) for path in paths}
    alike = {path.leaf: same_turns(prepared, path, pieces[path.leaf]) for path in paths}
    guests = [
        Guest(prepared, own, path, turn, pieces[own.leaf])
        for own in paths
        for path in paths
        for turn in TURNS
        if alike[own.leaf][turn] == turn
    ]
    runs = [run for guest in guests for run in guest.runs()]
    slides = iter(prepared.scene.slides(runs, prepared.assembly.limits.min_clearance))
    found = {
        (guest.leaf, guest.path.leaf, guest.turn): _cell(guest, [next(slides) for _ in guest.path.moves])
        for guest in guests
    }
    cells = tuple(
        replace(found[own.leaf, path.leaf, alike[own.leaf][turn]], turn=turn)
        for own in paths
        for path in paths
        for turn in TURNS
    )
    return Matrix(tuple(path.leaf for path in paths), cells)


def _cell(guest: Guest, slides: list[Slide]) -> MatrixCell:
    prepared, path, box = guest.prepared, guest.path, guest.box
    limits = prepared.assembly.limits
    contacts = contacts_of(path, slides, limits.min_clearance)
    number, contact, travel = nearest_of(contacts)
    end_gap, stops_at = ahead_of(prepared, path, guest.mover, (guest.leaf,))
    proud = proud_of(prepared, path, box)
    judged = _judged(guest, contacts, limits.min_clearance)
    verdict = verdict_of(min((clearance for clearance, _ in judged), default=np.inf), limits.min_clearance)
    stopped = min((when for clearance, when in judged if clearance < -CONTACT), default=np.inf)
    outer_end = proud + max(0.0, -(end_gap or 0.0), path.length - path.zero - stopped)
    ended = end_gap is not None and end_gap <= limits.end_gap + CONTACT
    place = contact.place
    return MatrixCell(
        leaf=guest.leaf,
        position=path.leaf,
        side=path.side,
        turn=guest.turn,
        verdict=verdict,
        clearance=contact.clearance,
        against=prepared.assembly.bodies[number].label,
        travel=travel,
        at=(float(place[0]), float(place[1]), float(place[2])),
        near=what_is_near(prepared, path.leaf, contact),
        proud=proud,
        end_gap=end_gap,
        stops_at=stops_at,
        outer_end=outer_end,
        stops_home=verdict != "blocked" and ended and outer_end <= limits.leaf_proud + CONTACT,
    )


def _judged(
    guest: Guest, contacts: list[tuple[int, Contact, float]], least: float
) -> list[tuple[float, float]]:
    """(clearance, travel) of each part nearer than `least`, as the check judges them: a sill that the leaf just rests
    on does not count."""
    near = [one for one in contacts if one[1].clearance < least]
    rooms: dict[str, Gaps] = {}
    if any(abs(contact.clearance) <= CONTACT for _, contact, _ in near):
        rooms = {gap.part: gap for gap in opening_gaps(guest.prepared, guest.path, guest.box)}
    parts = guest.prepared.assembly.bodies
    return [
        (judged_clearance(contact, rooms.get(parts[number].label)), travel)
        for number, contact, travel in near
    ]
