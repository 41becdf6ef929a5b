"""Where boards of a table stand that were cut otherwise than drawn, reckoned by hand for each kind of board.

The bottom panel stays. A side holds it by the lower side of its groove, a rib is glued to its underside by the upper
edge, a leg stands up against it with the upper end. Legs and ledgers lie against the sides with the face that is
glued, the second board of a leg against the first, which is pushed into its corner with an edge; ledgers go up and down
with their side and blocks with their rib, fixed tops lie on the higher ledger.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from plain_boards import Board

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from addon.wood.assembly import Assembly
    from plain_boards import Deviation

TOUCHES = 1e-6
Z = 2


def seats(
    drawn: Assembly, boards: Mapping[str, Board], deviations: Iterable[Deviation]
) -> dict[str, list[float]]:
    """Label → how far each board that does not stand as drawn is off, mm in x, y and z."""
    changes = list(deviations)
    if not changes:
        return {}
    off = {one.part: _off(boards[one.part], changes) for one in changes if one.dimension.startswith("place")}
    found: dict[str, list[float]] = {}
    for role in (
        "side",
        "rib",
        "block",
        "ledger",
        "leg",
        "top",
        "end_stop",
        "runner",
        "kicker",
        "guide",
        "leaf",
        "bottom",
    ):
        for part in drawn.with_role(role):
            own = off.get(part.label, [0.0, 0.0, 0.0])
            shift = [a + b for a, b in zip(_seat(drawn, boards, found, part.label), own, strict=True)]
            if any(abs(one) > 1e-9 for one in shift):
                found[part.label] = shift
    return found


def _off(board: Board, changes: list[Deviation]) -> list[float]:
    """A board that was put in elsewhere."""
    shift = [0.0, 0.0, 0.0]
    u = [abs(float(one)) for one in board.part.placement.axes[0]]
    v = [abs(float(one)) for one in board.part.placement.axes[1]]
    along = (u if u[Z] < 0.5 else v).index(1.0)
    for one in changes:
        if one.part == board.part.label and one.dimension.startswith("place"):
            axis = {"along": along, "across": 1 - along, "up": Z}[one.dimension.rpartition("_")[2]]
            shift[axis] += one.by
    return shift


def _seat(
    drawn: Assembly, boards: Mapping[str, Board], found: Mapping[str, list[float]], label: str
) -> list[float]:
    board, plan = boards[label], Board.of(boards[label].part)
    role, shift = board.part.role.word, [0.0, 0.0, 0.0]
    if role == "side" and board.groove and plan.groove:
        shift[Z] = plan.groove.low[1] - board.groove.low[1]
    elif role in ("rib", "leg"):
        shift[Z] = float(plan.box()[1][0, Z] - board.box()[1][0, Z])
    if role not in ("leg", "ledger", "top", "block"):
        return shift
    first = True
    for joint in drawn.joints:
        into_corner = role == "leg" and joint.kind == "butt" and boards[joint.b].part.role.word == "side"
        if joint.a != label or not (joint.kind == "face" or into_corner):
            continue
        axis, upper = _touching(boards[label], boards[joint.b])
        holder_plan = Board.of(boards[joint.b].part)
        holder_shift = found.get(joint.b, [0.0, 0.0, 0.0])
        # boards in `boards` do not have their shifts yet
        theirs = _face(boards[joint.b], axis, upper) - _face(holder_plan, axis, upper) + holder_shift[axis]
        own = _face(board, axis, not upper) - _face(plan, axis, not upper)
        wanted = theirs - own
        shift[axis] = wanted if first or role != "top" else max(shift[axis], wanted)
        if role in ("ledger", "block"):
            shift[Z] = holder_shift[Z]
        first = False
    return shift


def _face(board: Board, axis: int, upper: bool) -> float:
    return float(board.box()[1 if upper else 0][0, axis]) - board.shift[axis]


def _touching(board: Board, holder: Board) -> tuple[int, bool]:
    """The axis along which two boards lie on each other as drawn, and whether the first is on the upper side."""
    (low, high), (there_low, there_high) = Board.of(board.part).box(), Board.of(holder.part).box()
    for axis in range(3):
        for upper in (True, False):
            apart = low[0, axis] - there_high[0, axis] if upper else there_low[0, axis] - high[0, axis]
            others = [k for k in range(3) if k != axis]
            meet = np.minimum(high, there_high)[0, others] - np.maximum(low, there_low)[0, others]
            if abs(apart) < TOUCHES and (meet > TOUCHES).all():
                return axis, upper
    raise AssertionError(f"{board.part.label} does not touch {holder.part.label}")
