"""Where two boards touch, and one fastener that goes through there."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from math import ceil, radians, tan

import numpy as np

from ...sizes.arrays import Floats
from ...wood.fasteners import Fastener, FastenerKind, Sizes
from ...wood.features import AngledHole
from ...wood.features.base import Edge, Face
from ...wood.part import Part
from ...wood.screw_sizes import (
    POCKET_ANGLE,
    brad_length,
    pocket_depth,
    pocket_inset,
    pocket_length,
    screw_length,
    sizes_of,
)
from .parameters import Table


@dataclass(frozen=True, eq=False)
class Contact:
    """Where two boards touch: the board under the head, the other, the axis from the one to the other, and the corners
    of what they share, (3,) float each, mm."""

    head: Part
    other: Part
    axis: int
    sign: float
    low: Floats
    high: Floats
    through_face: tuple[bool, bool]
    """Whether the axis is square to the face of the board under the head, and to that of the other."""

    def thickness(self, part: Part) -> float:
        """Of a part along the axis, mm."""
        low, high = part.box
        return float(high[self.axis] - low[self.axis])

    def turned(self) -> Contact:
        """The same from the other side."""
        return replace(
            self, head=self.other, other=self.head, sign=-self.sign, through_face=self.through_face[::-1]
        )

    def sides(self, pocket: bool) -> tuple[int, int]:
        """The axes along the joint and across it; a pocket lies in the middle of its board's thickness."""
        return self._sides[pocket]

    @cached_property
    def _sides(self) -> tuple[tuple[int, int], tuple[int, int]]:
        return self._sides_of(False), self._sides_of(True)

    @cached_property
    def facing(self) -> tuple[tuple[int, Edge], ...]:
        """Number and edge of those of the board under the head that look most toward the joint."""
        toward = self.head.placement.axes[:, self.axis] * self.sign
        blank = self.head.shape.blank
        edges = [blank.edge(number) for number in range(len(blank.outline))]
        faces = [round(edge.along[1] * toward[0] - edge.along[0] * toward[1], 6) for edge in edges]
        most = max(faces)
        return tuple((at, edge) for at, edge in enumerate(edges) if faces[at] == most)

    @cached_property
    def pocket_lines(self) -> dict[Face, tuple[float, Floats, Floats]]:
        """Of the first pocket from each face: where it is along the joint, where it enters, and its direction."""
        return {}

    def _sides_of(self, pocket: bool) -> tuple[int, int]:
        beside = [axis for axis in range(3) if axis != self.axis]
        if pocket:
            thick = int(np.abs(self.head.placement.axes[2]).argmax())
            return next(axis for axis in beside if axis != thick), thick
        size = self.high - self.low
        a, b = beside
        return (a, b) if size[a] >= size[b] else (b, a)


@dataclass(frozen=True, eq=False)
class Spot:
    """One fastener that is wanted: of which kind, in which joint, and where along and across it, mm in the table."""

    kind: FastenerKind
    contact: Contact
    along: float
    across: float
    length: float
    diameter: float
    head: float | None = None
    face: Face | None = None
    """Of a pocket."""
    own: int | None = None
    """Number of the maker's own entry, which stays where it is."""

    @property
    def labels(self) -> tuple[str, str]:
        """Of the board under its head, and of the other."""
        return self.contact.head.label, self.contact.other.label

    def fastener(self) -> Fastener:
        """Where it stands."""
        return self._fastener

    @cached_property
    def _fastener(self) -> Fastener:
        sizes = sizes_of(self.kind, self.length, self.diameter, self.head)
        labels = self.labels
        if self.kind == "pocket screw":
            entry, direction = self._pocket_line()
            depth = pocket_depth(self.contact.head.shape.thickness) - sizes.head_height
            return Fastener("", self.kind, entry + depth * direction, direction, sizes, labels)
        contact = self.contact
        along, across = contact.sides(pocket=False)
        start, direction = np.zeros(3), np.zeros(3)
        direction[contact.axis] = contact.sign
        start[along], start[across] = self.along, self.across
        start[contact.axis] = contact.head.box[0 if contact.sign > 0 else 1][contact.axis]
        if self.kind == "bolt":
            start = start - sizes.head_height * direction
        return Fastener("", self.kind, start, direction, sizes, labels)

    def bore(self, diameter: float) -> Fastener:
        """The bore of its pocket, with its mouth in the face, as a body in the board under the head."""
        part = self.contact.head
        entry, direction = self._pocket_line()
        mouth = diameter / 2 / tan(radians(POCKET_ANGLE))
        sizes = Sizes(mouth + pocket_depth(part.shape.thickness), diameter, diameter, 0.0)
        return Fastener("", "screw", entry - mouth * direction, direction, sizes, (part.label,))

    def _pocket_line(self) -> tuple[Floats, Floats]:
        """Where the axis of its pocket enters the face, and its direction, in the table's frame.

        All pockets of a joint that lead to the same edge from the same face are one another, moved along the joint.
        """
        contact, face = self.contact, self.face or "front"
        along, _ = contact.sides(pocket=True)
        if face in contact.pocket_lines:
            place, entry, direction = contact.pocket_lines[face]
            moved = entry.copy()
            moved[along] += self.along - place
            return moved, direction
        placement, axis = contact.head.placement, self.pocket(1.0).axis(contact.head.shape.blank)
        entry = placement.to_table(np.array([axis.entry]))[0]
        direction = np.array(axis.along) @ placement.axes
        if len(contact.facing) == 1:
            contact.pocket_lines[face] = self.along, entry, direction
        return entry, direction

    def pocket(self, bore: float) -> AngledHole:
        """The hole that its head sits in, toward the end or edge at the joint."""
        part, contact = self.contact.head, self.contact
        along, _ = contact.sides(pocket=True)
        place = np.array([(contact.low + contact.high) / 2])
        place[0, along] = self.along
        u, v, _ = part.placement.to_part(place)[0]
        number, edge = min(contact.facing, key=lambda one: abs(one[1].inset((u, v))))
        thick = part.shape.thickness
        return AngledHole(
            number, edge.distance_along((u, v)), pocket_inset(thick), bore, pocket_depth(thick),
            POCKET_ANGLE, self.face or "front", pilot_diameter=min(0.9 * self.diameter, bore - 1.0),
        )  # fmt: skip


def contact_of(a: Part, b: Part) -> Contact | None:
    """Where two parts touch, with the board under the head first that screws go through: the one whose face is there,
    or the thinner of two, or the first. None where they touch by less than 1 mm."""
    (low, high), (low_b, high_b) = a.box, b.box
    shared_low, shared_high = np.maximum(low, low_b), np.minimum(high, high_b)
    size = shared_high - shared_low
    axis = int(size.argmin())
    if abs(size[axis]) > 1.0 or np.delete(size, axis).min() < 1.0:
        return None
    sign = 1.0 if low[axis] + high[axis] < low_b[axis] + high_b[axis] else -1.0
    faces = tuple(bool(abs(part.placement.axes[2][axis]) > 0.5) for part in (a, b))
    return Contact(a, b, axis, sign, shared_low, shared_high, (faces[0], faces[1]))


def length_of(table: Table, kind: FastenerKind, contact: Contact) -> float:
    """The length of what goes through a joint as it is sold, by the thickness of both boards, mm."""
    units, margin = table.units, table.limits.tip_margin
    head, other = contact.thickness(contact.head), contact.thickness(contact.other)
    if kind == "brad":
        return brad_length(units, head, other, margin)
    if kind == "pocket screw":
        return pocket_length(units, contact.head.shape.thickness, other, margin)
    if kind == "bolt":
        return float(ceil((head + other + 12.0) / 5) * 5)
    return screw_length(units, head, other, margin)
