"""Whether the leaves still make a flush top: how they lie on their ledgers, and in the opening between the boards.

A leaf lies with either end on a ledger. As built its upper face there is as high as the ledger's upper edge and the
leaf's thickness, beside the edge of the side that the ledger is glued to. Boards beside and before it bound its room.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from ...sizes.arrays import Floats
from ...sizes.tolerances import CONTACT
from ...wood.limits import Limits
from ...wood.seating import table_face
from ..spans import point
from .moves import Effect, Moves, too_thin

UP = 2


@dataclass(frozen=True, eq=False)
class _Lying:
    """A leaf, or a fixed board, as part of the top; corners in the table as drawn, and what its size has become, mm."""

    label: str
    low: Floats
    high: Floats
    grown: Floats
    """(3,) float: how much more it measures along each axis of the table than drawn."""

    @property
    def middle(self) -> Floats:
        """(3,) float"""
        return (self.low + self.high) / 2


@dataclass(frozen=True)
class _Ledger:
    """A strip that carries ends of leaves, and the side that it is glued to, which stands on `sign` along `axis`."""

    label: str
    side: str
    axis: int
    sign: int

    @property
    def outer(self) -> int:
        """The side of a box that looks toward the board that the strip is glued to: 0 lower, 1 upper."""
        return (1 + self.sign) // 2


def cover_effects(moves: Moves, limits: Limits) -> Iterator[Effect]:
    """All that is off in the top."""
    lying, ledgers = _all_lying(moves), _ledgers(moves)
    if not moves.is_off(
        *(one.label for one in lying), *(label for one in ledgers for label in (one.label, one.side))
    ):
        ends = ledgers[0].axis if ledgers else 0
        bounds = [bound for one in lying for bound in _bounds(moves, one, 1 - ends) or ()]
        if not moves.is_off(*(label for label, _ in bounds)):
            return
    for ledger in ledgers:
        for one in lying:
            yield from _step(moves, one, ledger, limits.flush)
    leaves = [one for one in lying if one.label in moves.assembly.cover]
    if not leaves or not ledgers:
        return
    ends = ledgers[0].axis
    for one in leaves:
        yield from _room(moves, [one], ends, limits.cover_gap)
        yield from _bearings(moves, one, ledgers, limits.bearing)
    yield from _room(moves, leaves, 1 - ends, limits.cover_gap)


def _all_lying(moves: Moves) -> list[_Lying]:
    found = []
    for label, place in moves.assembly.cover.items():
        drawn = replace(moves.drawn(label), placement=place)
        found.append(_lying(moves, label, *drawn.box, place.axes))
    on_ledgers = {joint.a for joint in moves.assembly.joints if moves.parts[joint.b].role.carries_cover}
    for label in sorted(on_ledgers):
        found.append(_lying(moves, label, *moves.drawn(label).box, moves.drawn(label).placement.axes))
    return found


def _lying(moves: Moves, label: str, low: Floats, high: Floats, axes: Floats) -> _Lying:
    more = np.subtract(moves.parts[label].shape.size, moves.drawn(label).shape.size)
    return _Lying(label, low, high, np.abs(axes).T @ more)


def _ledgers(moves: Moves) -> list[_Ledger]:
    found = []
    for joint in moves.assembly.joints:
        if not moves.parts[joint.a].role.carries_cover or joint.kind != "face":
            continue
        faces = joint.faces_of(moves.drawn(joint.a), moves.drawn(joint.b))
        if faces is not None:
            glued = table_face(moves.drawn(joint.a), faces[0])
            found.append(_Ledger(joint.a, joint.b, glued.axis, glued.sign))
    return found


def _step(moves: Moves, one: _Lying, ledger: _Ledger, limit: float) -> Iterator[Effect]:
    """The upper face of a leaf's end against the edge of the side beside it."""
    ledger_up, side_up = (
        moves.now(label, UP, 1) - moves.before(label, UP, 1) for label in (ledger.label, ledger.side)
    )
    step = ledger_up + float(one.grown[UP]) - side_up
    if abs(step) <= limit + CONTACT:
        return
    changes = {
        ledger.label: abs(moves.own(ledger.label, UP, 1)),
        one.label: abs(float(one.grown[UP])),
        ledger.side: abs(moves.own(ledger.side, UP, 1)),
    }
    first = max(changes, key=lambda label: changes[label])
    at = one.middle
    at[ledger.axis], at[UP] = (one.low, one.high)[ledger.outer][ledger.axis], moves.now(ledger.side, UP, 1)
    others = [label for label in (one.label, ledger.side) if label != first]
    face = moves.face(first, UP, 1) if first != one.label else None
    kind = "cover proud" if step > 0 else "cover low"
    yield Effect(kind, (first, *others), abs(step), point(at), face, between=(one.label, ledger.side))


# -- room along and across
# ------------------------------------------------------------------------------------------------------------


def _bounds(moves: Moves, one: _Lying, axis: int) -> tuple[tuple[str, int], tuple[str, int]] | None:
    """The boards before and behind a leaf along an axis as drawn, each with the side of its box that looks at it."""
    across = [k for k in range(3) if k != axis]
    labels, low, high = moves.standing
    beside = (np.minimum(high, one.high) - np.maximum(low, one.low))[:, across] > CONTACT
    found = []
    for side, gaps in ((1, one.low[axis] - high[:, axis]), (0, low[:, axis] - one.high[axis])):
        counts = beside.all(axis=1) & (gaps > -CONTACT)
        if not counts.any():
            return None
        found.append((labels[int(np.where(counts, gaps, np.inf).argmin())], side))
    return found[0], found[1]


def _room(moves: Moves, row: list[_Lying], axis: int, limit: float) -> Iterator[Effect]:
    """More room along an axis for one leaf, or for all side by side, than drawn, or less than they take up."""
    row = sorted(row, key=lambda one: float(one.low[axis]))
    first, last = _bounds(moves, row[0], axis), _bounds(moves, row[-1], axis)
    if first is None or last is None:
        return
    before, behind = first[0], last[1]
    room = [at(*_of(behind, axis)) - at(*_of(before, axis)) for at in (moves.before, moves.now)]
    taken = [sum(float(one.high[axis] - one.low[axis]) for one in row)]
    taken.append(taken[0] + sum(float(one.grown[axis]) for one in row))
    more, play = room[1] - taken[1] - (room[0] - taken[0]), room[1] - taken[1]
    full = play < -CONTACT and more < -CONTACT
    if not full and more <= limit + CONTACT:
        return
    changes = {one.label: -float(one.grown[axis]) for one in row}
    changes[before[0]] = -moves.own(before[0], axis, before[1])
    changes[behind[0]] = moves.own(behind[0], axis, behind[1])
    worst = max(changes, key=lambda label: changes[label] * (-1 if full else 1))
    leaf = next((one for one in row if one.label == worst), row[0] if worst == before[0] else row[-1])
    parts = (worst,) if worst == leaf.label else (worst, leaf.label)
    if full:
        yield Effect("cover full", parts, -play, point(leaf.middle), between=(leaf.label, worst), axis=axis)
    else:
        yield Effect("cover gap", parts, more, point(leaf.middle), between=(leaf.label, worst), axis=axis)


def _of(bound: tuple[str, int], axis: int) -> tuple[str, int, int]:
    return bound[0], axis, bound[1]


def _bearings(moves: Moves, one: _Lying, ledgers: list[_Ledger], least: float) -> Iterator[Effect]:
    """How far a leaf's end still lies on a ledger when the leaf is pushed away from it, and whether it tips over it."""
    ends = _bounds(moves, one, ledgers[0].axis)
    if ends is None:
        return
    for ledger in ledgers:
        axis, sign, inner = ledger.axis, ledger.sign, 1 - ledger.outer
        far = ends[inner]
        planned, left = (
            float(one.high[axis] - one.low[axis])
            + grown
            - (at(ledger.label, axis, inner) - at(far[0], axis, far[1])) * sign
            for at, grown in ((moves.before, 0.0), (moves.now, float(one.grown[axis])))
        )
        past = min(
            (moves.now(ledger.label, 1 - axis, side) - float(one.middle[1 - axis])) * (1 if side else -1)
            for side in (0, 1)
        )
        if moves.is_off(ledger.label):
            left = min(left, past)
        if left >= least - CONTACT or left >= planned - CONTACT:
            continue
        changes = {
            one.label: -float(one.grown[axis]),
            ledger.label: max(moves.own(ledger.label, axis, inner) * sign, planned - past),
            far[0]: -moves.own(far[0], axis, far[1]) * sign,
        }
        at = one.middle
        at[axis], at[UP] = moves.now(ledger.label, axis, inner), moves.now(ledger.label, UP, 1)
        yield too_thin(changes, (one.label, ledger.label), least, left, at, axis)
