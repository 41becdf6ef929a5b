"""Sums along the rows of a table in plain boxes: how far boards that butt on each other push each other.

Nothing but differences of coordinates, added up from board to board until nothing changes any more. A board is rigid;
those that nothing butts on from one side, as the sides of the table, stand where they are drawn.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from plain_boards import Board

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from plain_boxes import PlainTable

    Floats = NDArray[np.float64]

SLIVER = 1e-6

Pair = frozenset[str]


@dataclass
class Row:
    """All boards that butt on each other along one axis.

    Parameters
    ----------
    joints : (lower board, upper board, how much the two overlap as drawn; less than 0 for a gap), mm
    loose : those of them that are not glued: a gap there does no harm
    """

    axis: int
    joints: list[tuple[str, str, float]] = field(default_factory=list)
    loose: set[tuple[str, str]] = field(default_factory=set)

    @property
    def ends(self) -> set[str]:
        """Boards that end the row."""
        lower, upper = {low for low, _, _ in self.joints}, {high for _, high, _ in self.joints}
        return lower ^ upper

    def pushed(self, *, up: bool) -> dict[str, float]:
        """How far each board is pushed when all are pressed toward the low end (`up`), or toward the high one, mm."""
        ends = self.ends
        far = {
            label: 0.0 if label in ends else -np.inf for low, high, _ in self.joints for label in (low, high)
        }
        while True:
            before = dict(far)
            for low, high, overlap in self.joints:
                near, beyond = (low, high) if up else (high, low)
                far[beyond] = max(far[beyond], far[near] + overlap)
            if before == far:
                return far

    def sums(self) -> dict[tuple[str, str], float]:
        """What the longest way from end to end through each joint is too long, mm; less than 0 for room to spare."""
        up, down, ends = self.pushed(up=True), self.pushed(up=False), self.ends
        return {
            (low, high): (0.0 if low in ends else up[low]) + overlap + (0.0 if high in ends else down[high])
            for low, high, overlap in self.joints
        }

    def stay(self) -> set[str]:
        """Boards that stand where they are drawn, whichever way the row is pressed."""
        up, down = self.pushed(up=True), self.pushed(up=False)
        return {label for label in up if abs(up[label]) < SLIVER and abs(down[label]) < SLIVER}

    def shifts(self, *, up: bool) -> dict[str, Floats]:
        """Board → by how much it is pushed, (3,) float, mm."""
        along = np.eye(3)[self.axis] * (1.0 if up else -1.0)
        return {label: far * along for label, far in self.pushed(up=up).items() if abs(far) > SLIVER}

    def around(self, label: str) -> set[str]:
        """Boards that a board pushes or is pushed by, through others that do not stay."""
        stay, found, waiting = self.stay(), {label}, [label]
        while waiting:
            one = waiting.pop()
            if one in stay and one != label:
                continue
            for low, high, _ in self.joints:
                for near, other in ((low, high), (high, low)):
                    if near == one and other not in found:
                        found.add(other)
                        waiting.append(other)
        return found


def rows(table: PlainTable) -> list[Row]:
    """The rows of a table along each axis."""
    found: dict[int, Row] = {}
    joints = [
        (joint.a, joint.part_end, joint.b, joint.kind == "miter")
        for joint in table.assembly.joints
        if joint.part_end is not None and joint.kind in ("butt", "miter")
    ]
    loose = _stands_against(table)
    for a, part_end, b, mitered in [*joints, *((a, part_end, b, False) for a, part_end, b in loose)]:
        u = table.boards[a].part.placement.axes[0]
        axis = int(np.abs(u).argmax())
        upward = (part_end == "end") == (u[axis] > 0)
        low, high = (a, b) if upward else (b, a)
        if mitered:
            overlap = table.miter_excess(a, b)
        else:
            overlap = float(table.boards[low].box()[1][0, axis] - table.boards[high].box()[0][0, axis])
        row = found.setdefault(axis, Row(axis))
        row.joints.append((low, high, overlap if abs(overlap) > SLIVER else 0.0))
        if (a, part_end, b) in loose:
            row.loose.add((low, high))
    return [found[axis] for axis in sorted(found)]


def _stands_against(table: PlainTable) -> list[tuple[str, str, str]]:
    """(board, end, other) where an end touches another board as drawn without a joint: ledgers, fixed tops."""
    plan = {part.label: Board.of(part).box() for part in table.assembly.parts if part.role.word != "leaf"}
    joined = {frozenset((one.a, one.b)) for one in table.assembly.joints if one.kind != "face"}
    found = []
    for a, (low, high) in plan.items():
        u = table.boards[a].part.placement.axes[0]
        axis = int(np.abs(u).argmax())
        others = [k for k in range(3) if k != axis]
        for b, (there_low, there_high) in plan.items():
            meet = (np.minimum(high, there_high) - np.maximum(low, there_low))[0, others]
            if a == b or (meet < SLIVER).any() or frozenset((a, b)) in joined:
                continue
            for end, gap in (("low", low - there_high), ("high", there_low - high)):
                if abs(gap[0, axis]) < SLIVER:
                    found.append((a, "end" if (end == "high") == (u[axis] > 0) else "start", b))
    return found


@dataclass
class RowFaults:
    """What is wrong with the rows of a table.

    Parameters
    ----------
    long : overlapping boards that no pressing brings apart → by how much the row through them is too long, mm
    open : boards with a gap between them that can stay → how wide it is as drawn, mm
    even : overlapping boards that go together when others move
    doubtful : boards about which plain sums do not decide
    """

    long: dict[Pair, float] = field(default_factory=dict)
    open: dict[Pair, float] = field(default_factory=dict)
    even: set[Pair] = field(default_factory=set)
    doubtful: set[Pair] = field(default_factory=set)


def row_faults(table: PlainTable, allowance: float) -> RowFaults:
    """All that is too long or too short by more than the fit allowance, in all rows."""
    found = RowFaults()
    for row in rows(table):
        sums, stay = row.sums(), row.stay()
        stops = [table.stopped_by(row.shifts(up=up)) for up in (True, False)]
        too_long = {label for pair, much in sums.items() if much > SLIVER for label in pair}
        hindered = all(stops) and any(overlap > 0 for _, _, overlap in row.joints)
        for low, high, overlap in row.joints:
            pair, much = frozenset((low, high)), sums[low, high]
            if overlap > 0:
                if much > SLIVER:
                    found.long[pair] = much
                else:
                    found.even.add(pair)
                    if hindered:
                        found.doubtful.add(pair)
            elif overlap < 0:
                moved_by_others = bool((row.around(low) | row.around(high)) & (too_long - stay))
                if moved_by_others or hindered:
                    found.doubtful.add(pair)
                elif -much > allowance + SLIVER and (low, high) not in row.loose:
                    found.open[pair] = -overlap
    return found
