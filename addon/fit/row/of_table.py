"""The rows of openings of a table's leaves, from the side and from above, read off its parts.

x is the travel: 0 at the outer face of the slot, growing inward. In the side view z is the table's; in the plan view it
grows to the left of a nose that looks inward.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal

import numpy as np

from ...model.ragged import ragged_rows, reduce_ragged
from ...model.tolerances import CONTACT, WELD
from .profile import SQUARE, Chamfer, Row, RowOpening, stations

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from ...model.assembly import StowPath
    from ...model.convex import Pieces
    from ...model.part import Opening, Part
    from ..prepared import Prepared

    Floats = NDArray[np.float64]
    Bools = NDArray[np.bool_]

View = Literal["side", "plan"]

VIEWS: Final[tuple[View, ...]] = ("side", "plan")

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

    Ways are taken to be straight, as the recipe makes them: the last move counts.
    """
    return [_row(prepared, path, view) for path in prepared.assembly.stow_paths for view in VIEWS]


def _row(prepared: Prepared, path: StowPath, view: View) -> LeafRow:
    inward = -path.outward
    up = np.array([0.0, 0.0, 1.0])
    left = np.cross(up, inward)
    frame = np.array([inward, up, left] if view == "side" else [inward, left, up])
    part = prepared.assembly.by_label[path.side]
    mouth = float((part.placement.to_table(_faces(part)) @ inward).min())
    low, high = _along(frame, *prepared.bounds(path.leaf))
    low[0], high[0] = low[0] - mouth, high[0] - mouth
    leaf = prepared.assembly.by_label[path.leaf]
    openings = [*_own(prepared, path, frame, mouth), *_others(prepared, path, frame, mouth, low, high)]
    row = Row(
        length=float(high[0] - low[0]),
        thickness=float(high[1] - low[1]),
        openings=tuple(sorted(_exposed(openings), key=lambda one: one.face)),
        travel=float(high[0]),
        lead=_lead(leaf, inward) if view == "side" else SQUARE,
        level=float(low[1]),
        wide=view == "plan",
    )
    origin = mouth * frame[0] + (low[2] + high[2]) / 2 * frame[2]
    return LeafRow(path.leaf, view, row, frame, origin)


def _faces(part: Part) -> Floats:
    return np.array([[0.0, 0.0, 0.0], [0.0, 0.0, part.shape.thickness]])


def _along(frame: Floats, low: Floats, high: Floats) -> tuple[Floats, Floats]:
    """Corners of a box, (3,) or (n, 3) float mm, in the view's directions."""
    a, b = low @ frame.T, high @ frame.T
    return np.minimum(a, b), np.maximum(a, b)


def _lead(leaf: Part, inward: Floats) -> Chamfer:
    """The chamfer of the leaf's leading end that both faces have."""
    u, v = (float(inward @ leaf.placement.axes[axis]) for axis in (0, 1))
    edge = (1 if u > 0 else 3) if abs(u) > abs(v) else (2 if v > 0 else 0)
    sizes = {one.face: one.size for one in leaf.shape.edges if one.edge == edge and one.kind == "chamfer"}
    size = min(sizes.get("front", 0.0), sizes.get("back", 0.0))
    return Chamfer(size, size)


def _own(prepared: Prepared, path: StowPath, frame: Floats, mouth: float) -> Iterator[RowOpening]:
    """The leaf's slot and windows."""
    for part in prepared.assembly.parts:
        for opening in part.shape.openings:
            if opening.leaf == path.leaf:
                yield _opening(part, opening, frame, mouth)


def _opening(part: Part, opening: Opening, frame: Floats, mouth: float) -> RowOpening:
    corners = part.placement.to_table(
        np.array([[opening.u0, opening.v0, 0.0], [opening.u1, opening.v1, part.shape.thickness]])
    )
    low, high = _along(frame, *corners)
    bottom: float | None = float(min(low[1], high[1]))
    top: float | None = float(max(low[1], high[1]))
    if opening.open_end is not None and abs(float(frame[1] @ part.placement.axes[0])) > 0.5:
        rising = float(frame[1] @ part.placement.axes[0]) > 0
        if (opening.open_end == "start") == rising:
            bottom = None
        else:
            top = None
    enters_front = float(frame[0] @ part.placement.axes[2]) > 0
    legs = (opening.front_chamfer, opening.back_chamfer)
    entry, leave = (Chamfer(leg, leg) for leg in (legs if enters_front else legs[::-1]))
    face = float(min(low[0], high[0])) - mouth
    return RowOpening(face, part.shape.thickness, bottom, top, entry, leave, part.label)


def _others(
    prepared: Prepared, path: StowPath, frame: Floats, mouth: float, low: Floats, high: Floats
) -> Iterator[RowOpening]:
    """Wood on one side of the leaf's way: the floor, strips, ribs beside it, leaves that lie at home.

    A piece counts where the flat of the leaf passes it; round corners meet only its eased edges.
    """
    scene, parts = prepared.scene, prepared.assembly.parts
    own = {path.leaf, path.end_stop}
    own |= {part.label for part in parts if any(one.leaf == path.leaf for one in part.shape.openings)}
    numbers = np.array([number for number, part in enumerate(parts) if part.label not in own], dtype=np.intp)
    piece_low, piece_high = _along(frame, scene.pieces.low, scene.pieces.high)
    piece_low, piece_high = piece_low - [mouth, 0, 0], piece_high - [mouth, 0, 0]
    eased = _eased(prepared.assembly.by_label[path.leaf])
    passes = np.isin(scene.owner, numbers)
    passes &= (piece_low[:, 2] < high[2] - eased - CONTACT) & (piece_high[:, 2] > low[2] + eased + CONTACT)
    passes &= (piece_low[:, 0] < high[0] - CONTACT) & (piece_high[:, 0] > CONTACT)
    middle = (low[1] + high[1]) / 2
    below = passes & (piece_high[:, 1] <= middle) & (piece_high[:, 1] > low[1] - _NEAR)
    above = passes & (piece_low[:, 1] >= middle) & (piece_low[:, 1] < high[1] + _NEAR)
    for side, sign in ((below, 1.0), (above, -1.0)):
        outlines = _outlines(scene.pieces, np.flatnonzero(side), frame, mouth, sign)
        for number in np.unique(scene.owner[side]):
            own_pieces = np.flatnonzero(side & (scene.owner == number))
            for face, end, edge, entry, leave in _merged([outlines[piece] for piece in own_pieces.tolist()]):
                bottom, top = (edge, None) if sign > 0 else (None, -edge)
                part = parts[number]
                yield RowOpening(
                    face,
                    end - face,
                    bottom,
                    top,
                    entry,
                    leave,
                    part.label,
                    holds=part.role != "leaf",
                    window=False,
                )


def _eased(leaf: Part) -> float:
    """Width of the leaf's edges that is not flat, mm."""
    return max((one.size for one in leaf.shape.edges), default=0.0)


_Outline = tuple[float, float, float, Chamfer, Chamfer]
"""Faces, edge toward the leaf, and chamfers at both ends of wood beside a leaf's way."""


def _outlines(
    pieces: Pieces, which: NDArray[np.intp], frame: Floats, mouth: float, sign: float
) -> dict[int, _Outline]:
    """The sides of convex pieces that look at the leaf, by the pieces' numbers."""
    if not len(which):
        return {}
    rows, starts = ragged_rows(pieces.starts, which)
    points = pieces.vertices[rows] @ frame[:2].T
    x, z = points[:, 0] - mouth, sign * points[:, 1]
    each = np.repeat(np.arange(len(which)), np.diff(starts))
    edge, face, end = (
        reduce_ragged(pick, values, starts)
        for pick, values in ((np.maximum, z), (np.minimum, x), (np.maximum, x))
    )
    on_land = z > edge[each] - WELD
    land_start = reduce_ragged(np.minimum, np.where(on_land, x, np.inf), starts)
    land_end = reduce_ragged(np.maximum, np.where(on_land, x, -np.inf), starts)
    at_face = reduce_ragged(np.maximum, np.where(x < face[each] + WELD, z, -np.inf), starts)
    at_end = reduce_ragged(np.maximum, np.where(x > end[each] - WELD, z, -np.inf), starts)
    entries = np.stack([land_start - face, edge - at_face], axis=1).tolist()
    exits = np.stack([end - land_end, edge - at_end], axis=1).tolist()
    return {
        piece: (*limits, _eased_by(Chamfer(*entry)), _eased_by(Chamfer(*leave)))
        for piece, limits, entry, leave in zip(
            which.tolist(), np.stack([face, end, edge], axis=1).tolist(), entries, exits, strict=True
        )
    }


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
    side, edge = (-1, front.bottom) if behind.bottom is not None else (1, front.top)
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
