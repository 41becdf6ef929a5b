"""A table reckoned with plain boxes, as a maker does it on paper: what overlaps, what stays free, what stops a leaf.

This is the other opinion that the checker is compared with. It knows nothing of convex pieces, sweeps, meshes or
separating axes: a board is a box less the rectangles cut through it and less its groove, a leaf's way is one long
box, and a gap is a difference of two coordinates. It leaves out chamfers, finger holes, eased edges and round
corners, which change no smallest gap as long as the leaves' long edges are eased at least as far as the openings'
corners are round; miters are reckoned along their normal.
"""

from __future__ import annotations

from copy import copy
from dataclasses import replace
from itertools import combinations
from math import sqrt
from typing import TYPE_CHECKING

import numpy as np

from plain_boards import Board, Deviation
from plain_seats import seats

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from numpy.typing import NDArray

    from addon.wood.assembly import Assembly, StowPath
    from plain_boards import Rectangle

    Floats = NDArray[np.float64]

SLIVER = 1e-6
"""Boxes that share less than this on some axis only touch, mm."""


def _shared(a: tuple[Floats, Floats], b: tuple[Floats, Floats]) -> Floats:
    """(n, m, 3): how much boxes share on each axis, mm; negative: the gap."""
    return np.minimum(a[1][:, None], b[1][None]) - np.maximum(a[0][:, None], b[0][None])


class PlainTable:
    """A drawn table, some of its dimensions cut otherwise, as boxes."""

    def __init__(
        self, drawn: Assembly, deviations: Iterable[Deviation] = (), like: PlainTable | None = None
    ) -> None:
        """`like` is the same drawing reckoned before: boards that do not deviate are taken from there."""
        self.assembly = drawn
        self.deviations = list(deviations)
        kept = {} if like is None else dict(like.boards)
        wood = {} if like is None else dict(like.wood)
        changed = {one.part for one in self.deviations}
        if changed:
            wood = {label: cells for label, cells in wood.items() if label not in changed}
        self.boards = {
            part.label: kept[part.label] if part.label in wood else Board.of(part) for part in drawn.parts
        }
        for one in self.deviations:
            self.boards[one.part].change(one)
        for label, shift in seats(drawn, self.boards, self.deviations).items():
            self.boards[label] = replace(self.boards[label], shift=shift)
            wood.pop(label, None)
        self.wood = {label: wood.get(label) or board.cells() for label, board in self.boards.items()}
        """Label → wood as boxes side by side, (n, 3), (n, 3) float, mm."""
        self.mitered = any(joint.kind == "miter" for joint in drawn.joints)
        self._lay_out()

    def _lay_out(self) -> None:
        """All boxes of all boards in two arrays."""
        self.low, self.high = (np.concatenate([cells[k] for cells in self.wood.values()]) for k in (0, 1))
        self.labels = list(self.wood)
        self.first = np.cumsum([0, *[len(cells[0]) for cells in self.wood.values()]])
        """Boxes of board number i are those from first[i] to first[i + 1]."""

    # -- boards that stand
    # -------------------------------------------------------------------------------------

    def overlaps(self) -> dict[frozenset[str], float]:
        """Pairs of standing boards that overlap, and how deep at least, mm."""
        labels = [part.label for part in self.assembly.parts if part.role.word != "leaf"]
        boxes = [self.boards[label].box() for label in labels]
        blanks = np.concatenate([box[0] for box in boxes]), np.concatenate([box[1] for box in boxes])
        near = np.asarray((_shared(blanks, blanks) > SLIVER).all(axis=2))
        found = {}
        for i, j in combinations(range(len(labels)), 2):
            if not near[i][j]:
                continue
            a, b = labels[i], labels[j]
            if self.mitered and self._role(a) == self._role(b) == "side":
                depth = self._miter_depth(a, b)
            else:
                depth = float(_shared(self.wood[a], self.wood[b]).min(axis=2).max())
            if depth > SLIVER:
                found[frozenset((a, b))] = depth
        return found

    def _role(self, label: str) -> str:
        return self.boards[label].part.role.word

    def _miter_depth(self, a: str, b: str) -> float:
        """Both miter faces move along their length; their distance is measured along the normal, at 45 degrees."""
        for joint in self.assembly.joints:
            if {joint.a, joint.b} == {a, b} and joint.kind == "miter":
                return self.miter_excess(a, b) / sqrt(2)
        return 0.0

    def _excess(self, a: str, b: str) -> float:
        """How much farther than drawn side `a` reaches at its end next to side `b`, mm."""
        board, other = self.boards[a], self.boards[b]
        toward = float(board.part.placement.axes[0] @ other.part.placement.origin)
        if toward > 0:
            return board.high[0] - board.part.shape.size[0]
        return -board.low[0]

    def miter_excess(self, a: str, b: str) -> float:
        """How much farther than drawn the two boards of a mitered corner reach there together, mm."""
        return self._excess(a, b) + self._excess(b, a)

    def stopped_by(self, offsets: Mapping[str, Floats]) -> set[str]:
        """Leaves that boards stand in the way of when they are shifted as wholes by (3,) float mm each, all at once."""
        if not offsets:
            return set()
        moved = copy(self)
        moved.boards = dict(self.boards)
        for label, offset in offsets.items():
            board = moved.boards[label] = copy(self.boards[label])
            board.part = replace(board.part, placement=board.part.placement.moved(offset))
        moved.wood = {label: moved.boards[label].cells() for label in offsets}
        moved._lay_out()
        ways = [path.leaf for path in self.assembly.stow_paths]
        return {leaf for leaf in ways if min(moved.gaps(leaf).values(), default=0.0) < -SLIVER}

    # -- leaves
    # ------------------------------------------------------------------------------------------------

    def sweep(self, leaf: str) -> tuple[Floats, Floats]:
        """All that a leaf passes through: corners (1, 3), (1, 3) float, mm."""
        low, high = self.boards[leaf].box()
        moves = self.assembly.path_of(leaf).moves
        offsets = np.array([offset for move in moves for offset in (move.start, move.end)])
        return low + offsets.min(axis=0), high + offsets.max(axis=0)

    def gaps(self, leaf: str) -> dict[str, float]:
        """Smallest signed gap of a leaf on its way to every other board but its own end stop, mm."""
        shared = _shared(self.sweep(leaf), (self.low, self.high))[0]
        square = (np.maximum(-shared, 0.0) ** 2).sum(axis=1)
        apart = np.sqrt(np.minimum.reduceat(square, self.first[:-1]))
        depth = np.maximum.reduceat(shared.min(axis=1), self.first[:-1])
        skipped = (leaf, self.assembly.path_of(leaf).end_stop)
        return {
            label: float(apart[i]) if depth[i] <= 0 else self._blocked(leaf, label, float(depth[i]))
            for i, label in enumerate(self.labels)
            if label not in skipped
        }

    def _blocked(self, leaf: str, other: str, depth: float) -> float:
        """The gap where there is none: what lacks at the worst edge of the leaf's own opening, else the depth, mm."""
        own = [opening for opening in self.boards[other].openings if opening.leaf == leaf]
        if not own:
            return -depth
        return min(min(self._margins(leaf, self.boards[other], opening)) for opening in own)

    def exact(self, leaf: str, other: str) -> bool:
        """Whether the depth of an overlap is reckoned exactly: at the leaf's own opening, or in a plain board."""
        board = self.boards[other]
        cut = bool(board.openings) or board.groove is not None
        return not cut or any(opening.leaf == leaf for opening in board.openings)

    def _margins(self, leaf: str, board: Board, opening: Rectangle) -> list[float]:
        """Room from the leaf to each edge that the opening has, mm."""
        low, high = board.in_table(np.array([[*opening.low, 0.0]]), np.array([[*opening.high, 0.0]]))
        leaf_low, leaf_high = self.boards[leaf].box()
        u_axis = int(np.abs(board.part.placement.axes[0]).argmax())
        rooms = [float(leaf_low[0, 2] - low[0, 2])]
        if not opening.open_above:
            rooms.append(float(high[0, 2] - leaf_high[0, 2]))
        at_low, at_high = (
            float(leaf_low[0, u_axis] - low[0, u_axis]),
            float(high[0, u_axis] - leaf_high[0, u_axis]),
        )
        if opening.open_end != "start":
            rooms.append(at_low)
        if opening.open_end != "end":
            rooms.append(at_high)
        return rooms

    def ahead(self, leaf: str) -> tuple[float, str]:
        """Way from a leaf's nose stowed to the wood in line with it, mm, and whose; inf and "" for none."""
        axis, nose, sign = self._nose(self.assembly.path_of(leaf))
        low, high = self.boards[leaf].box()
        across = [k for k in range(3) if k != axis]
        in_line = (self.low[:, across] < high[:, across] - SLIVER) & (
            self.high[:, across] > low[:, across] + SLIVER
        )
        near, far = (
            (self.low[:, axis], self.high[:, axis]) if sign > 0 else (-self.high[:, axis], -self.low[:, axis])
        )
        counts = in_line.all(axis=1) & (far > sign * nose + SLIVER)
        own = self.labels.index(leaf)
        counts[self.first[own] : self.first[own + 1]] = False
        if not counts.any():
            return np.inf, ""
        nearest = int(np.where(counts, near, np.inf).argmin())
        return float(near[nearest]) - sign * nose, self.labels[
            int(np.searchsorted(self.first, nearest, "right")) - 1
        ]

    def _nose(self, path: StowPath) -> tuple[int, float, int]:
        low, high = self.boards[path.leaf].box()
        axis = int(np.abs(path.outward).argmax())
        sign = -1 if path.outward[axis] > 0 else 1
        return axis, float((high if sign > 0 else low)[0, axis]), sign

    def proud(self, leaf: str) -> float:
        """How far a leaf's outer end stands out of its side's outer face stowed, mm."""
        path = self.assembly.path_of(leaf)
        axis, _, sign = self._nose(path)
        (low, high), (side_low, side_high) = self.boards[leaf].box(), self.boards[path.side].box()
        return float(side_low[0, axis] - low[0, axis] if sign > 0 else high[0, axis] - side_high[0, axis])


def without_end_stops(drawn: Assembly) -> Assembly:
    """The same table with its end stops left out."""
    return replace(
        drawn,
        parts=tuple(part for part in drawn.parts if part.role.word != "end_stop"),
        stow_paths=tuple(replace(path, end_stop=None) for path in drawn.stow_paths),
    )
