"""What is cut out of boards, by plain rectangles: cuts that meet, wood that is thin, corners in round ends."""

from __future__ import annotations

from itertools import combinations
from math import sqrt
from typing import TYPE_CHECKING

import numpy as np

from plain_boxes import SLIVER, PlainTable

if TYPE_CHECKING:
    from collections.abc import Iterator

    from plain_boards import Board, Rectangle

EQUAL = 1e-5
Fault = tuple[str, frozenset[str], str]


def cuts_that_meet(boxes: PlainTable) -> dict[Fault, float]:
    """Boards of which a groove and a slot or window have something in common, mm."""
    found: dict[Fault, float] = {}
    for label, board in boxes.boards.items():
        groove = board.groove
        if groove is None:
            continue
        for opening in board.openings:
            shared = min(_shared(groove, opening, axis) for axis in (0, 1))
            if shared >= 0.0:
                fault = "cuts-meet", frozenset((label,)), ""
                found[fault] = max(found.get(fault, 0.0), shared)
    return found


def round_ends(boxes: PlainTable) -> dict[Fault, float]:
    """Boards in whose stopped grooves a square corner of the panel meets the round end, and how far short of home, mm.

    With its edge e above or below the middle of an arc of radius r, it comes to √(r² - e²) from there.
    """
    found: dict[Fault, float] = {}
    for joint in boxes.assembly.joints:
        if joint.kind != "groove":
            continue
        panel, board = boxes.boards[joint.a], boxes.boards[joint.b]
        radius = next((one.end_radius for one in board.part.shape.grooves if one.holds), 0.0)
        groove = board.groove
        if groove is None or radius <= 0.0:
            continue
        ends = [board.part.placement.to_part(corner - np.array(board.shift)) for corner in panel.box()]
        low, high = np.minimum(*ends)[0], np.maximum(*ends)[0]
        off = max(high[1] - groove.high[1] + radius, groove.low[1] + radius - low[1], 0.0)
        back = radius - sqrt(max(radius * radius - off * off, 0.0))
        # An end that runs out of the board is no round one.
        shorts = [high[0] - groove.high[0] + back] if groove.high[0] < board.high[0] - SLIVER else []
        shorts += [groove.low[0] + back - low[0]] if groove.low[0] > board.low[0] + SLIVER else []
        short = max(shorts, default=0.0)
        if short > EQUAL:
            found["round-end", frozenset((joint.a, joint.b)), ""] = float(short)
    return found


def thin_wood(boxes: PlainTable, least: float) -> tuple[set[Fault], set[Fault]]:
    """Boards with less wood than `least`, mm, between two openings or one and an edge, and those that may have it.

    Chamfers that may meet, and grooves, are left to the latter.
    """
    surely: set[Fault] = set()
    perhaps: set[Fault] = set()
    for label, board in boxes.boards.items():
        fault = "thin-wood", frozenset((label,)), ""
        for wood, chamfers, sure in _strips(board):
            if sure and SLIVER < wood < least - EQUAL:
                surely.add(fault)
            if wood < max(least, chamfers) + EQUAL:
                perhaps.add(fault)
    return surely, perhaps


def _strips(board: Board) -> Iterator[tuple[float, float, bool]]:
    """Wood between what is cut out of a board, mm; chamfers on both sides of it, mm; whether these are openings and
    edges alone."""
    eased = max((one.size for one in board.part.shape.edges), default=0.0)
    sizes = [max(one.front_chamfer, one.back_chamfer) for one in board.part.shape.openings]
    cuts = list(zip(board.openings, sizes, strict=True))
    if board.groove is not None:
        cuts.append((board.groove, 0.0))
        yield board.high[2] - board.low[2] - board.groove_depth, 0.0, False
    for (one, its), (other, theirs) in combinations(cuts, 2):
        for axis in (0, 1):
            if _shared(one, other, 1 - axis) > SLIVER:
                sure = one is not board.groove and other is not board.groove
                yield -_shared(one, other, axis), its + theirs, sure
    for one, its in cuts:
        for axis in (0, 1):
            for wood in (one.low[axis] - board.low[axis], board.high[axis] - one.high[axis]):
                if wood > SLIVER:
                    yield wood, its + eased, one is not board.groove


def _shared(one: Rectangle, other: Rectangle, axis: int) -> float:
    """How much two rectangles share on an axis, mm; negative: the gap."""
    return min(one.high[axis], other.high[axis]) - max(one.low[axis], other.low[axis])
