"""Any leaf, any slot, any way round: which leaf passes where, and how it lies there.

Each leaf is moved to each leaf's place, so that what was drawn of it lies exactly where the drawn leaf of that place
lies: same centre, same height, outer end out, upper face up. From there it is turned in the four ways that a board
can be pushed into a slot. All slides are worked out at once; ways round that give the same pieces are worked out
once.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from ..model.tolerances import CONTACT
from .slides import (
    ahead_of,
    contacts_of,
    judged_clearance,
    nearest_of,
    opening_gaps,
    proud_of,
    verdict_of,
    what_is_near,
)
from .ways_round import TURNS, Guest, Turn, same_turns, sliding_pieces

if TYPE_CHECKING:
    from ..model.parameters import Table
    from ..model.units import Units
    from .clearance.kernel import Contact, Slide
    from .findings import Gaps, Point, Verdict
    from .prepared import Prepared

__all__ = ["TURNS", "Matrix", "MatrixCell", "Turn", "leaf_matrix"]


@dataclass(frozen=True)
class MatrixCell:
    """One leaf slid into one place, one way round. The place's own end stop is left out of the clearance."""

    leaf: str
    """Label of the leaf that moves."""
    place: str
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
    """How far its outer end stands out of the side's outer face at home, mm; negative is inside."""
    end_gap: float | None
    """From its nose at home to what ends its travel, mm; negative where it does not get home."""
    stops_at: str
    """Label of that part."""
    outer_end: float
    """As `proud`, but where it comes to rest: at home, or where it is stopped before, mm."""
    stops_home: bool
    """Whether it passes and comes to rest where it should: with something to end its way near home, and its outer end
    no prouder than allowed."""


@dataclass(frozen=True)
class Matrix:
    """Every leaf in every place, in all four ways round."""

    table: str
    units: Units
    leaves: tuple[str, ...]
    """Labels of the leaves, and so of the places."""
    cells: tuple[MatrixCell, ...]
    """By leaf, place and turn, in this order."""

    @cached_property
    def _by_key(self) -> dict[tuple[str, str, str], MatrixCell]:
        return {(cell.leaf, cell.place, cell.turn): cell for cell in self.cells}

    def cell(self, leaf: str, place: str, turn: Turn = "as drawn") -> MatrixCell:
        """One cell. Raises KeyError for a leaf, place or turn that there is not."""
        return self._by_key[leaf, place, turn]

    def ways_round(self, leaf: str, place: str) -> tuple[MatrixCell, ...]:
        """The four cells of one leaf in one place."""
        return tuple(self.cell(leaf, place, turn) for turn in TURNS)

    @property
    def interchangeable(self) -> bool:
        """Whether every leaf passes clear into every place, whichever way round, and ends where it should."""
        return all(cell.verdict == "clear" and cell.stops_home for cell in self.cells)


def leaf_matrix(table: Table, prepared: Prepared) -> Matrix:
    """Slide every leaf into every place, in all four ways round.

    While a leaf goes into the place of another, both are away from home; the others are at home. Parts count as they
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
    slides = iter(prepared.scene.slides(runs, table.limits.min_clearance))
    found = {
        (guest.leaf, guest.path.leaf, guest.turn): _cell(
            table, guest, [next(slides) for _ in guest.path.moves]
        )
        for guest in guests
    }
    cells = tuple(
        replace(found[own.leaf, path.leaf, alike[own.leaf][turn]], turn=turn)
        for own in paths
        for path in paths
        for turn in TURNS
    )
    return Matrix(table.name, table.units, tuple(path.leaf for path in paths), cells)


def _cell(table: Table, guest: Guest, slides: list[Slide]) -> MatrixCell:
    prepared, path, box, limits = guest.prepared, guest.path, guest.box, table.limits
    contacts = contacts_of(path, slides, limits.min_clearance)
    number, contact, travel = nearest_of(contacts)
    end_gap, stops_at = ahead_of(prepared, path, box, (guest.leaf,))
    proud = proud_of(prepared, path, box)
    judged = _judged(guest, contacts, limits.min_clearance)
    verdict = verdict_of(min((clearance for clearance, _ in judged), default=np.inf), limits.min_clearance)
    stopped = min((when for clearance, when in judged if clearance < -CONTACT), default=np.inf)
    outer_end = proud + max(0.0, -(end_gap or 0.0), path.length - path.zero - stopped)
    ended = end_gap is not None and end_gap <= limits.end_gap + CONTACT
    place = contact.place
    return MatrixCell(
        leaf=guest.leaf,
        place=path.leaf,
        side=path.side,
        turn=guest.turn,
        verdict=verdict,
        clearance=contact.clearance,
        against=prepared.assembly.parts[number].label,
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
    parts = guest.prepared.assembly.parts
    return [
        (judged_clearance(contact, rooms.get(parts[number].label)), travel)
        for number, contact, travel in near
    ]
