"""How a table of plain boxes fits together: what is not flush, open, loose, off its bearing, and whether it rocks.

Every amount is a difference of coordinates that a maker can measure. Edges count that are flush in the drawing, where
one of the two boards is off by its own doing; a board that only went along with the one that it is glued to is not
to blame. Rocking is reckoned for four feet at the corners of a rectangle.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from plain_boards import Board
from plain_boxes import SLIVER, PlainTable

if TYPE_CHECKING:
    from addon.designs.table.parameters import Table

EQUAL = 1e-5
Z = 2
Fault = tuple[str, frozenset[str], str]


class PlainFit:
    """A table with deviations beside the same as drawn, all as blanks."""

    def __init__(self, boxes: PlainTable) -> None:
        self.assembly, self.boards = boxes.assembly, boxes.boards
        self.plan = {label: Board.of(board.part) for label, board in self.boards.items()}
        self.moved = {one.part for one in boxes.deviations}
        self.covered: set[tuple[str, int, int]] = set()
        """Sides of boards that another one is joined to."""
        for joint in self.assembly.joints if self.moved else ():
            if joint.kind in ("butt", "face"):
                axis, side = self._normal(joint.a, joint.b)
                self.covered |= {(joint.a, axis, side), (joint.b, axis, 1 - side)}
        self.alone = {
            label: PlainTable(boxes.assembly, [one for one in boxes.deviations if one.part == label]).boards[
                label
            ]
            for label in self.moved
        }

    def faults(self, table: Table) -> dict[Fault, float]:
        """All that does not fit, by the table's limits; nothing where no board deviates."""
        if not self.moved:
            return {}
        limits = table.limits
        found = self.not_flush(limits.flush)
        found |= self.open_faces(limits.fit_allowance)
        found |= self.loose(limits.fit_allowance)
        found |= self.bearings(limits.bearing)
        found |= self.rocking(limits.flush)
        found |= self.cover_steps(limits.flush)
        found |= self.cover_room(limits.cover_gap)
        return found | self.leaf_bearings(limits.bearing)

    # -- coordinates
    # ----------------------------------------------------------------------------------------------------

    def at(self, label: str, axis: int, side: int) -> float:
        """Lower (0) or upper (1) side of a board now, mm."""
        return float(self.boards[label].box()[side][0, axis])

    def was(self, label: str, axis: int, side: int) -> float:
        """The same as drawn."""
        return float(self.plan[label].box()[side][0, axis])

    def by_itself(self, label: str, axis: int, side: int) -> float:
        """How far it is off if nothing else deviates."""
        if label not in self.alone:
            return 0.0
        return float(self.alone[label].box()[side][0, axis]) - self.was(label, axis, side)

    def size(self, label: str, axis: int) -> float:
        """Extent now."""
        return self.at(label, axis, 1) - self.at(label, axis, 0)

    def _normal(self, a: str, b: str) -> tuple[int, int]:
        """The axis along which two boards touch as drawn, and on which side of `a` the other is."""
        for axis in range(3):
            for side in (0, 1):
                if abs(self.was(a, axis, side) - self.was(b, axis, 1 - side)) < SLIVER:
                    others = [k for k in range(3) if k != axis]
                    if all(
                        min(self.was(a, k, 1), self.was(b, k, 1)) - max(self.was(a, k, 0), self.was(b, k, 0))
                        > SLIVER
                        for k in others
                    ):
                        return axis, side
        raise AssertionError(f"{a} and {b} do not touch")

    # -- joints
    # ----------------------------------------------------------------------------------------------------

    def not_flush(self, limit: float) -> dict[Fault, float]:
        """Edges that are flush in the drawing and not as built."""
        found: dict[Fault, float] = {}
        for joint in self.assembly.joints:
            if joint.kind == "groove" or not {joint.a, joint.b} & self.moved:
                continue
            # of a mitered corner only the edges; else all but the direction in which the boards meet
            axes = (
                [Z]
                if joint.kind == "miter"
                else [k for k in range(3) if k != self._normal(joint.a, joint.b)[0]]
            )
            for axis in axes:
                for side in (0, 1):
                    step = abs(self.at(joint.a, axis, side) - self.at(joint.b, axis, side))
                    flush = abs(self.was(joint.a, axis, side) - self.was(joint.b, axis, side)) < SLIVER
                    own = [abs(self.by_itself(label, axis, side)) for label in (joint.a, joint.b)]
                    seen = not any((label, axis, side) in self.covered for label in (joint.a, joint.b))
                    if flush and seen and step > limit + EQUAL and max(own) > SLIVER:
                        found["flush", frozenset((joint.a, joint.b)), f"{'xyz'[axis]}{'-+'[side]}"] = step
        return found

    def open_faces(self, limit: float) -> dict[Fault, float]:
        """Faces that were drawn on each other and have a gap."""
        found: dict[Fault, float] = {}
        for joint in self.assembly.joints:
            if joint.kind == "face" and not self._is(joint.b, "ledger"):
                axis, side = self._normal(joint.a, joint.b)
                gap = (self.at(joint.b, axis, 1 - side) - self.at(joint.a, axis, side)) * (1 if side else -1)
                if gap > limit + EQUAL:
                    found["open", frozenset((joint.a, joint.b)), ""] = gap
        return found

    def _is(self, label: str, *roles: str) -> bool:
        return self.boards[label].part.role.word in roles

    def _sides(self) -> list[str]:
        return [joint.b for joint in self.assembly.joints if joint.kind == "groove"]

    def loose(self, limit: float) -> dict[Fault, float]:
        """More play of the bottom panel across its grooves than drawn."""
        found: dict[Fault, float] = {}
        (bottom,) = (part.label for part in self.assembly.with_role("bottom"))
        for side in self._sides():
            plays = []
            for boards in (self.plan, self.boards):
                groove = boards[side].groove
                assert groove is not None
                panel = boards[bottom]
                plays.append(groove.high[1] - groove.low[1] - (panel.high[2] - panel.low[2]))
            if plays[1] - plays[0] > limit + EQUAL:
                found["loose", frozenset((bottom, side)), ""] = plays[1]
        return found

    def bearings(self, least: float) -> dict[Fault, float]:
        """The bottom panel at the bottom of one groove: what is left of it in the one across."""
        found: dict[Fault, float] = {}
        (bottom,) = (part.label for part in self.assembly.with_role("bottom"))
        pairs = [("front", "back"), ("left", "right")]
        names = {part.kind.partition(" ")[0]: part.label for part in self.assembly.with_role("side")}
        for axis, pair in zip((1, 0), pairs, strict=True):
            low, high = (names[word] for word in pair)
            left = []
            for boards in (self.plan, self.boards):
                panel = boards[bottom].box()
                inside = float(boards[high].box()[0][0, axis] - boards[low].box()[1][0, axis])
                length = float(panel[1][0, axis] - panel[0][0, axis])
                left.append({low: length - inside - boards[high].groove_depth,
                             high: length - inside - boards[low].groove_depth})  # fmt: skip
            for side in (low, high):
                if left[1][side] < min(least, left[0][side]) - EQUAL:
                    found["bearing", frozenset((bottom, side)), ""] = least - left[1][side]
        return found

    # -- feet
    # ----------------------------------------------------------------------------------------------------

    def rocking(self, limit: float) -> dict[Fault, float]:
        """z1 - z2 + z3 - z4, round the table; a foot of two boards stands on the longer one."""
        heights: dict[tuple[bool, bool], float] = {}
        for part in self.assembly.with_role("leg"):
            corner = (self.was(part.label, 0, 0) > 0, self.was(part.label, 1, 0) > 0)
            heights[corner] = min(heights.get(corner, np.inf), self.at(part.label, Z, 0))
        if len(heights) < 4:
            return {}
        rock = abs(sum(height * (1 if x == y else -1) for (x, y), height in heights.items()))
        return {("rock", frozenset(), ""): rock} if rock > limit + EQUAL else {}

    # -- cover
    # ----------------------------------------------------------------------------------------------------

    def _across(self) -> int:
        """The table axis that cover leaves run along, from ledger to ledger."""
        (ledger, *_) = self.assembly.with_role("ledger")
        return 1 if abs(ledger.placement.axes[0][0]) > 0.5 else 0

    def _lying(self) -> list[str]:
        return [*self.assembly.cover, *(part.label for part in self.assembly.with_role("top"))]

    def _thick(self, label: str) -> float:
        """How much thicker than drawn."""
        board, plan = self.boards[label], self.plan[label]
        return board.high[2] - board.low[2] - (plan.high[2] - plan.low[2])

    def cover_steps(self, limit: float) -> dict[Fault, float]:
        """Upper faces of leaves and fixed boards at either end, against the edge of the side there."""
        found: dict[Fault, float] = {}
        for ledger in self.assembly.with_role("ledger"):
            (side,) = (joint.b for joint in self.assembly.joints if joint.a == ledger.label)
            higher = self.at(ledger.label, Z, 1) - self.was(ledger.label, Z, 1)
            edge = self.at(side, Z, 1) - self.was(side, Z, 1)
            for label in self._lying():
                step = abs(higher + self._thick(label) - edge)
                if step > limit + EQUAL:
                    found["step", frozenset((label, side)), ""] = step
        return found

    def _grown(self, leaf: str, length: bool) -> float:
        board, plan, k = self.boards[leaf], self.plan[leaf], 0 if length else 1
        return board.high[k] - board.low[k] - (plan.high[k] - plan.low[k])

    def _inside(self, axis: int) -> float:
        """How much more room there is between the sides along an axis than drawn, less what fixed boards take more."""
        pair = ("left", "right") if axis == 0 else ("front", "back")
        names = {part.kind.partition(" ")[0]: part.label for part in self.assembly.with_role("side")}
        low, high = (names[word] for word in pair)
        more = (
            self.at(high, axis, 0)
            - self.was(high, axis, 0)
            - (self.at(low, axis, 1) - self.was(low, axis, 1))
        )
        if axis == self._across():
            return more
        tops = [part.label for part in self.assembly.with_role("top")]
        if tops:
            ends = sorted(tops, key=lambda label: self.was(label, axis, 0))
            low, high = ends
            more = (
                self.at(high, axis, 0)
                - self.was(high, axis, 0)
                - (self.at(low, axis, 1) - self.was(low, axis, 1))
            )
        return more

    def cover_room(self, limit: float) -> dict[Fault, float]:
        """Room for each leaf lengthwise and for all of them side by side, more than drawn or too little."""
        found: dict[Fault, float] = {}
        across, leaves = self._across(), list(self.assembly.cover)
        gaps = {leaf: self._ends(leaf) for leaf in leaves}
        for leaf in leaves:
            more = self._inside(across) - self._grown(leaf, length=True)
            _add_room(found, frozenset((leaf,)), "ends", more, gaps[leaf] + more, limit)
        more = self._inside(1 - across) - sum(self._grown(leaf, length=False) for leaf in leaves)
        _add_room(found, frozenset(), "row", more, self._row_gap() + more, limit)
        return found

    def _ends(self, leaf: str) -> float:
        """Room lengthwise as drawn."""
        axis, place = self._across(), self.assembly.cover[leaf]
        (low, high) = (
            place.to_table(np.array([[u, 0.0, 0.0]]))[0, axis] for u in (0.0, self.plan[leaf].high[0])
        )
        return self._drawn_inside(axis) - abs(float(high - low))

    def _row_gap(self) -> float:
        axis = 1 - self._across()
        tops = sum(self.plan[part.label].high[1] for part in self.assembly.with_role("top"))
        return self._drawn_inside(axis) - tops - sum(self.plan[leaf].high[1] for leaf in self.assembly.cover)

    def _drawn_inside(self, axis: int) -> float:
        names = {part.kind.partition(" ")[0]: part.label for part in self.assembly.with_role("side")}
        low, high = ("left", "right") if axis == 0 else ("front", "back")
        return self.was(names[high], axis, 0) - self.was(names[low], axis, 1)

    def leaf_bearings(self, least: float) -> dict[Fault, float]:
        """A leaf pushed against the far side: what is left of its end on the ledger; and whether it tips off the end
        of a ledger that does not reach past its middle."""
        found: dict[Fault, float] = {}
        axis = self._across()
        ledgers = sorted(self.assembly.with_role("ledger"), key=lambda part: self.was(part.label, axis, 0))
        for leaf, place in self.assembly.cover.items():
            length, width = self.plan[leaf].high[0], self.plan[leaf].high[1]
            middle = float(place.to_table(np.array([[length / 2, width / 2, 0.0]]))[0, 1 - axis])
            for number, ledger in enumerate(ledgers):
                (side,) = (joint.b for joint in self.assembly.joints if joint.a == ledgers[1 - number].label)
                inner, wall = 1 - number, number
                drawn = length - abs(self.was(ledger.label, axis, inner) - self.was(side, axis, wall))
                now = length + self._grown(leaf, length=True)
                now -= abs(self.at(ledger.label, axis, inner) - self.at(side, axis, wall))
                if ledger.label in self.boards and self._differs(ledger.label):
                    ends = [self.at(ledger.label, 1 - axis, k) for k in (0, 1)]
                    now = min(now, middle - ends[0], ends[1] - middle)
                if now < min(least, drawn) - EQUAL:
                    found["bearing", frozenset((leaf, ledger.label)), ""] = least - now
        return found

    def _differs(self, label: str) -> bool:
        return any(
            abs(self.at(label, k, s) - self.was(label, k, s)) > SLIVER for k in range(3) for s in (0, 1)
        )


def _add_room(
    found: dict[Fault, float], leaf: frozenset[str], where: str, more: float, play: float, limit: float
) -> None:
    if play < -EQUAL and more < -EQUAL:
        found["full", leaf, where] = -play
    elif more > limit + EQUAL:
        found["room", leaf, where] = more
