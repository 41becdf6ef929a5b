"""Where parts end up that were cut otherwise than drawn: each follows the face by which it is glued or seated.

Heights count from the bottom panel. Sides hold it by their grooves, ribs are glued to it by their upper edges, legs
stand up against it; what is glued face to face, or with an edge against a face, keeps to that face, and goes up and
down with it:

    as drawn            rib narrow at its upper edge: it is still glued to the panel, so its windows sit higher

    ══════ panel        ══════
    ██████ rib          ██████
    ██  ██ window       ██  ██
    ██████              ██████
    ██████

Ends that butt on other parts stay where they are; sums of lengths along a row are another matter. Nothing turns: a
board that two others would tilt lies on the higher one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from ..sizes.arrays import Floats
from ..sizes.tolerances import CONTACT, WELD
from .assembly import Assembly
from .features import Groove
from .joints import BoardFace, Joint
from .part import Part

UP = 2
"""The table axis along which heights count."""


class TableFace(NamedTuple):
    """A face of a blank that looks along an axis of the table."""

    axis: int
    sign: int
    """+1 if it looks toward the greater coordinate."""
    at: float
    """Where on that axis it is, mm."""


def as_drawn(part: Part) -> Part:
    """The part before it was cut otherwise, where it was drawn."""
    if part.drawn is None or part.drawn_placement is None:
        return part
    return replace(part, shape=part.drawn, placement=part.drawn_placement, drawn=None, drawn_placement=None)


def table_face(part: Part, face: BoardFace) -> TableFace:
    """Where a face of a part's blank is in the table. The part stands square to the table's axes."""
    own = {"start": 0, "end": 0, "lower edge": 1, "upper edge": 1, "front": 2, "back": 2}[face]
    outward = part.placement.axes[own] * (1.0 if face in ("end", "upper edge", "back") else -1.0)
    axis = int(np.abs(outward).argmax())
    sign = 1 if outward[axis] > 0 else -1
    return TableFace(axis, sign, float(part.box[(1 + sign) // 2][axis]))


def groove_box(part: Part, groove: Groove) -> tuple[Floats, Floats]:
    """Low and high corner of a groove in the table, (3,) float each, mm."""
    ends = part.placement.to_table(np.array(groove.bounds(part.shape.blank)))
    return ends.min(axis=0), ends.max(axis=0)


def groove_that_holds(board: Part, panel: Part) -> int | None:
    """Which of a board's features, as drawn, is the groove that the panel's edge is in; None for none."""
    low, high = panel.box
    for number, feature in enumerate(board.shape.features):
        if isinstance(feature, Groove) and feature.holds and not feature.leaf:
            groove_low, groove_high = groove_box(board, feature)
            if (np.minimum(high, groove_high) - np.maximum(low, groove_low) > CONTACT).all():
                return number
    return None


class Seat(NamedTuple):
    """How one part is held by another along one axis of the table: both faces, as drawn and as cut, unmoved, mm."""

    axis: int
    sign: int
    """+1 if the held part lies on the greater side of the holder's face; 0 where it is caught between two."""
    own: float
    """How far the held part's face is from where it was drawn."""
    holder: float
    """How far the holder's is."""


@dataclass
class _Seating:
    """Shifts of all parts of an assembly as cut, each worked out once."""

    assembly: Assembly
    placed: Mapping[str, Floats]
    """Label → (3,) float mm: how far a part itself sits off."""

    def __post_init__(self) -> None:
        self.parts = self.assembly.by_label
        self.drawn: dict[str, Part] = {}
        self.holders: dict[str, list[tuple[str, Joint]]] = {}
        for joint in self.assembly.joints:
            found = _held_and_holder(joint, self.parts)
            if found is not None:
                self.holders.setdefault(found[0], []).append((found[1], joint))
        self.shifts: dict[str, tuple[Floats, Floats] | None] = {}
        """Label → the whole shift and what of it came from the holders, (3,) float mm each; None for none."""

    def of(self, label: str) -> tuple[Floats, Floats] | None:
        """The shift of one part."""
        if label not in self.shifts:
            self.shifts[label] = None  # two parts that hold each other: the one asked first stays
            self.shifts[label] = self._worked_out(label)
        return self.shifts[label]

    def _worked_out(self, label: str) -> tuple[Floats, Floats] | None:
        holders = self.holders.get(label, [])
        moved = [self.of(holder) for holder, _ in holders]
        cut = self._is_cut(label) or any(self._is_cut(holder) for holder, _ in holders)
        own = self.placed.get(label)
        if own is None and not cut and all(one is None for one in moved):
            return None
        whole, carried = np.zeros(3), np.zeros(3)
        taken: dict[int, int] = {}
        for (holder, joint), shift in zip(holders, moved, strict=True):
            seat = self._seat(label, holder, joint)
            if seat is None:
                continue
            inherited = seat.holder + (0.0 if shift is None else float(shift[0][seat.axis]))
            wanted, before = inherited - seat.own, whole[seat.axis]
            if seat.axis in taken and not (
                seat.sign == taken[seat.axis] != 0 and (wanted - before) * seat.sign > 0
            ):
                continue
            taken[seat.axis] = seat.sign
            whole[seat.axis], carried[seat.axis] = wanted, inherited
        if UP not in taken:
            lifted = next((float(shift[0][UP]) for shift in moved if shift is not None), 0.0)
            whole[UP] = carried[UP] = lifted
        if own is not None:
            whole = whole + own
        return (whole, carried) if max(np.abs(whole).max(), np.abs(carried).max()) > WELD else None

    def _is_cut(self, label: str) -> bool:
        return self.parts[label].drawn is not None

    def _drawn(self, label: str) -> Part:
        if label not in self.drawn:
            self.drawn[label] = as_drawn(self.parts[label])
        return self.drawn[label]

    def _seat(self, held: str, holder: str, joint: Joint) -> Seat | None:
        if joint.kind == "groove":
            return self._groove_seat(held, holder)
        a, b = self._drawn(held), self._drawn(holder)
        faces = joint.faces_of(a, b)
        if faces is None:
            return None
        own, other = table_face(a, faces[0]), table_face(b, faces[1])
        now, there = table_face(self.parts[held], faces[0]), table_face(self.parts[holder], faces[1])
        return Seat(own.axis, other.sign, now.at - own.at, there.at - other.at)

    def _groove_seat(self, board: str, panel: str) -> Seat | None:
        """The lower side of the groove holds the panel's underside."""
        drawn, cut = self._drawn(board), self.parts[board]
        number = groove_that_holds(drawn, self._drawn(panel))
        if number is None:
            return None
        before, now = (groove_box(one, groove_of(one, number))[0] for one in (drawn, cut))
        below = float(self.parts[panel].box[0][UP] - self._drawn(panel).box[0][UP])
        return Seat(UP, 0, float(now[UP] - before[UP]), below)


def groove_of(part: Part, number: int) -> Groove:
    """The groove that is feature `number` of a part."""
    feature = part.shape.features[number]
    if not isinstance(feature, Groove):
        raise TypeError(f"feature {number} of {part.label} is no groove")
    return feature


def _held_and_holder(joint: Joint, parts: Mapping[str, Part]) -> tuple[str, str] | None:
    """Which of two joined parts takes its place from the other; None where neither does."""
    a, b = parts.get(joint.a), parts.get(joint.b)
    if a is None or b is None or a.role.slides or b.role.slides:
        return None
    if a.role.height == "datum":
        return (joint.b, joint.a) if joint.kind == "groove" and b.role.height == "groove" else None
    by_edge = joint.kind == "butt" and (joint.part_end is None or b.role.height == "datum")
    if joint.kind == "face" or by_edge:
        return joint.a, joint.b
    return None


def seated(assembly: Assembly, placed: Mapping[str, Floats]) -> Assembly:
    """The assembly with every part where it is seated; those that stand elsewhere than drawn keep that beside.

    Parameters
    ----------
    assembly : parts as cut, unmoved
    placed : label → (3,) float mm in the table, for parts that themselves sit off
    """
    seating = _Seating(assembly, placed)
    parts = []
    for part in assembly.parts:
        shift = seating.of(part.label)
        parts.append(part if shift is None else _moved(part, *shift))
    return replace(assembly, parts=tuple(parts))


def _moved(part: Part, shift: Floats, carried: Floats) -> Part:
    return replace(
        part,
        placement=part.placement.moved(shift),
        drawn=part.drawn or part.shape,
        drawn_placement=part.drawn_placement or part.placement,
        carried=carried,
    )
