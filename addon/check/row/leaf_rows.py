"""The rows of openings of an assembly's leaves, from the side and from above, read off its parts.

x is the travel: 0 at the outer face of the slot, growing inward. In the side view z is the table's; in the plan view it
grows to the left of a nose that looks inward.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from ...sizes.arrays import Floats, Ints, ragged_rows, reduce_ragged
from ...sizes.tolerances import CONTACT, WELD
from ...wood.assembly import StowPath
from ...wood.features import Opening
from ...wood.part import Part
from ...wood.solids.pieces import Pieces
from ..prepared import Cut, Prepared, chamfers_of, cuts_for, land_of, wood_beside
from .profile import SQUARE, Chamfer, Row, RowOpening, stations

View = Literal["side", "plan"]

_ORDERS: Final[dict[View, list[int]]] = {"side": [0, 1, 2], "plan": [0, 2, 1]}
"""Which of a way's directions (along it, up, to its left) are x and z of a view, and which one it looks along."""

VIEWS: Final = tuple(_ORDERS)

_NEAR: Final = 60.0
"""mm; wood farther from a leaf than this is out of reach of a nose that its openings hold."""

ARRIS: Final = Chamfer(0.5, 0.5)
"""A strip, or a board beside a leaf's way, has its arrises broken by so much (common practice, no source)."""


@dataclass(frozen=True, eq=False)
class LeafRow:
    """A leaf among its openings in one view.

    Parameters
    ----------
    frame : (3, 3) float; rows are the directions of x (inward), of z in this view, and of what the view looks along
    origin : (3,) float, mm; table coordinates of x = 0, z = 0, in the leaf's middle along the third direction
    """

    leaf: str
    view: View
    row: Row
    frame: Floats
    origin: Floats

    def place(self, x: float, z: float) -> tuple[float, float, float]:
        """Table coordinates of a point of the view, in the leaf's middle, mm."""
        at = self.origin + x * self.frame[0] + z * self.frame[1]
        return float(at[0]), float(at[1]), float(at[2])


def leaf_rows(prepared: Prepared) -> list[LeafRow]:
    """Both views of every leaf that has a stow path, side first.

    Ways are taken to be straight, as designs make them: the last move counts.
    """
    return [row for path in prepared.assembly.stow_paths for row in _Way(prepared, path).rows()]


class _Way:
    """A leaf's way and what is beside it; boxes are along the travel, up, and to the left of the travel, mm."""

    def __init__(self, prepared: Prepared, path: StowPath) -> None:
        self.prepared, self.path = prepared, path
        parts = prepared.assembly.by_label
        self.leaf = parts[path.leaf]
        up = np.array([0.0, 0.0, 1.0])
        self.axes = np.array([-path.outward, up, np.cross(up, -path.outward)])
        self.outer_face = float(min(corner @ self.axes[0] for corner in prepared.bounds(path.side)))
        self.low, self.high = self._along(*prepared.bounds(path.leaf))
        self.cuts = cuts_for(path.leaf, prepared.assembly.parts)
        self.cut_low, self.cut_high = self._along(*_corners(self.cuts))
        self.near, self.piece_low, self.piece_high = self._beside()

    def rows(self) -> Iterator[LeafRow]:
        """The leaf's rows in both views."""
        for view, order in _ORDERS.items():
            low, high = self.low[order], self.high[order]
            openings = sorted(_exposed([*self._own(order), *self._others(order)]), key=lambda one: one.face)
            row = Row(
                length=float(high[0] - low[0]),
                thickness=float(high[1] - low[1]),
                openings=tuple(openings),
                travel=float(high[0]),
                lead=_lead(self.leaf, self.axes[0]) if view == "side" else SQUARE,
                level=float(low[1]),
                wide=view == "plan",
                hand=self.prepared.assembly.limits.hand,
            )
            frame = self.axes[order]
            origin = self.outer_face * frame[0] + (low[2] + high[2]) / 2 * frame[2]
            yield LeafRow(self.path.leaf, view, row, frame, origin)

    def _along(self, low: Floats, high: Floats) -> tuple[Floats, Floats]:
        """Corners of boxes in the table, (3,) or (n, 3) float mm, along the way's directions."""
        a, b = low @ self.axes.T, high @ self.axes.T
        a[..., 0] -= self.outer_face
        b[..., 0] -= self.outer_face
        return np.minimum(a, b), np.maximum(a, b)

    def _beside(self) -> tuple[Ints, Floats, Floats]:
        """Numbers and boxes, (n, 3) float mm, of the pieces of other parts that the leaf may come near to."""
        scene, parts = self.prepared.scene, self.prepared.assembly.parts
        own = {self.path.leaf, self.path.end_stop} | {part.label for part, _ in self.cuts}
        low, high = self._along(scene.pieces.low, scene.pieces.high)
        reach = np.array([-CONTACT, _NEAR, _NEAR])
        near = ((low < self.high + reach) & (high > np.array([0.0, *self.low[1:]]) - reach)).all(axis=1)
        # Fasteners are left to the check of the drawn way: no nose is led in by a screw.
        counts = [part.label not in own for part in parts] + [False] * len(self.prepared.assembly.fasteners)
        near &= np.array(counts)[scene.owner]
        numbers = np.flatnonzero(near)
        return numbers, low[numbers], high[numbers]

    def _own(self, order: list[int]) -> Iterator[RowOpening]:
        """The leaf's slot and windows, and grooves in which its edges run."""
        lows, highs = self.cut_low[:, order].tolist(), self.cut_high[:, order].tolist()
        for (part, cut), low, high in zip(self.cuts, lows, highs, strict=True):
            below, above = wood_beside(part, cut, self.axes[order[1]])
            if below or above:
                entry, leave = (Chamfer(size, size) for size in chamfers_of(part, cut, self.axes[0]))
                sill, head = low[1] if below else None, high[1] if above else None
                board = part.shape.thickness if isinstance(cut, Opening) else high[0] - low[0]
                yield RowOpening(low[0], board, sill, head, entry, leave, part.label)

    def _others(self, order: list[int]) -> Iterator[RowOpening]:
        """Wood on one side of the leaf's way: the bottom panel, strips, ribs beside it, leaves that lie stowed.

        A piece counts where the flat of the leaf passes it; round corners meet only its eased edges.
        """
        (_, low, first), (_, high, last) = self.low[order], self.high[order]
        piece_low, piece_high = self.piece_low[:, order].T, self.piece_high[:, order].T
        eased = _eased(self.leaf)
        passes = (piece_low[2] < last - eased - CONTACT) & (piece_high[2] > first + eased + CONTACT)
        middle = (low + high) / 2
        below = passes & (piece_high[1] <= middle)
        beside = np.flatnonzero(below | (passes & (piece_low[1] >= middle)))
        scene, parts = self.prepared.scene, self.prepared.assembly.parts
        sign = np.where(below[beside], 1.0, -1.0)
        pieces = self.near[beside]
        outlines = _outlines(scene.pieces, pieces, self.axes[order], self.outer_face, sign)
        groups: dict[tuple[float, int], list[_Outline]] = {}
        for key, outline in zip(
            zip((-sign).tolist(), scene.owner[pieces].tolist(), strict=True), outlines, strict=True
        ):
            groups.setdefault(key, []).append(outline)
        for side, number in sorted(groups):
            part = parts[number]
            for face, end, edge, entry, leave in _merged(groups[side, number]):
                sill, head = (edge, None) if side < 0 else (None, -edge)
                yield RowOpening(
                    face,
                    end - face,
                    sill,
                    head,
                    entry,
                    leave,
                    part.label,
                    holds=not part.role.slides,
                    window=False,
                )


def _corners(cuts: list[tuple[Part, Cut]]) -> tuple[Floats, Floats]:
    """(n, 3) float, mm: opposite corners of cuts in the table."""
    ends = np.array([land_of(part, cut) for part, cut in cuts]).reshape(-1, 2, 3)
    axes = np.array([part.placement.axes for part, _ in cuts]).reshape(-1, 3, 3)
    origins = np.array([part.placement.origin for part, _ in cuts]).reshape(-1, 1, 3)
    low, high = np.moveaxis(origins + ends @ axes, 1, 0)
    return low, high


def _lead(leaf: Part, inward: Floats) -> Chamfer:
    """The chamfer of the leaf's leading end that both faces have."""
    u, v = (float(inward @ leaf.placement.axes[axis]) for axis in (0, 1))
    edge = (1 if u > 0 else 3) if abs(u) > abs(v) else (2 if v > 0 else 0)
    sizes = {one.face: one.size for one in leaf.shape.edges if one.edge == edge and one.kind == "chamfer"}
    size = min(sizes.get("front", 0.0), sizes.get("back", 0.0))
    return Chamfer(size, size)


def _eased(leaf: Part) -> float:
    """Width of the leaf's edges that is not flat, mm."""
    return max((one.size for one in leaf.shape.edges), default=0.0)


_Outline = tuple[float, float, float, Chamfer, Chamfer]
"""Faces, edge toward the leaf, and chamfers at both ends of wood beside a leaf's way."""


def _outlines(pieces: Pieces, which: Ints, frame: Floats, outer_face: float, sign: Floats) -> list[_Outline]:
    """The sides of convex pieces that look at the leaf; sign, (n,) float, is 1 for pieces below it, -1 above."""
    if not len(which):
        return []
    rows, starts = ragged_rows(pieces.starts, which)
    points = pieces.vertices[rows] @ frame[:2].T
    each = np.repeat(np.arange(len(which)), np.diff(starts))
    x, z = points[:, 0] - outer_face, sign[each] * points[:, 1]
    edge, face, end = (
        reduce_ragged(pick, values, starts)
        for pick, values in ((np.maximum, z), (np.minimum, x), (np.maximum, x))
    )
    on_land = z > edge[each] - WELD
    land_start = reduce_ragged(np.minimum, np.where(on_land, x, np.inf), starts)
    land_end = reduce_ragged(np.maximum, np.where(on_land, x, -np.inf), starts)
    at_face = reduce_ragged(np.maximum, np.where(x < face[each] + WELD, z, -np.inf), starts)
    at_end = reduce_ragged(np.maximum, np.where(x > end[each] - WELD, z, -np.inf), starts)
    found = np.array([face, end, edge, land_start - face, edge - at_face, end - land_end, edge - at_end])
    return [
        (face, end, edge, _eased_by(Chamfer(*entry)), _eased_by(Chamfer(*leave)))
        for face, end, edge, *chamfers in found.T.tolist()
        for entry, leave in [(chamfers[:2], chamfers[2:])]
    ]


def _eased_by(chamfer: Chamfer) -> Chamfer:
    return chamfer if chamfer.rise > ARRIS.rise else ARRIS


def _merged(outlines: list[_Outline]) -> Iterator[_Outline]:
    """Pieces of one part that follow each other along the travel with the same edge, as one."""
    waiting: _Outline | None = None
    for one in sorted(outlines, key=lambda one: (round(one[2], 6), one[0])):
        if waiting and abs(waiting[2] - one[2]) < CONTACT and one[0] <= waiting[1] + CONTACT:
            last = one if one[1] > waiting[1] else waiting
            waiting = (waiting[0], last[1], waiting[2], waiting[3], last[4])
            continue
        if waiting:
            yield waiting
        waiting = one
    if waiting:
        yield waiting


def _exposed(openings: list[RowOpening]) -> list[RowOpening]:
    """Without wood on one side that lies all behind other wood there; of two alike, one stays."""
    kept: list[RowOpening] = []
    for number, one in enumerate(openings):
        others = [*kept, *openings[number + 1 :]]
        if one.window or not any(_covers(other, one) for other in others):
            kept.append(one)
    return kept


def _covers(front: RowOpening, behind: RowOpening) -> bool:
    """Whether the wood of an opening with one side lies behind that of another one, which holds the leaf as well."""
    if behind.holds and not front.holds:
        return False
    side, edge = (-1, front.sill) if behind.sill is not None else (1, front.head)
    if edge is None or front.face > behind.face or front.end < behind.end:
        return False
    places = {
        place for one in (front, behind) for place in stations(one) if behind.face <= place <= behind.end
    }
    for x in places:
        edge, hidden = front.edge_at(x, side), behind.edge_at(x, side)
        if edge is None or hidden is None or side * (edge - hidden) > WELD:
            return False
    return True
