"""Where two boards touch, and one fastener that goes through there."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil, radians, tan

import numpy as np

from ...sizes.arrays import Floats
from ...wood.fasteners import Fastener, FastenerKind, Sizes
from ...wood.features import AngledHole
from ...wood.features.base import Face
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
        sizes = sizes_of(self.kind, self.length, self.diameter, self.head)
        labels = self.labels
        if self.kind == "pocket screw":
            axis = self.pocket(1.0).axis(self.contact.head.shape.blank)
            depth = pocket_depth(self.contact.head.shape.thickness) - sizes.head_height
            placement = self.contact.head.placement
            start = np.array(axis.entry) + depth * np.array(axis.along)
            return Fastener(
                "", self.kind, placement.to_table(start[None])[0], np.array(axis.along) @ placement.axes, sizes, labels
            )  # fmt: skip
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
        part, hole = self.contact.head, self.pocket(diameter)
        axis = hole.axis(part.shape.blank)
        mouth = diameter / 2 / tan(radians(hole.angle))
        start = np.array(axis.entry) - mouth * np.array(axis.along)
        sizes = Sizes(mouth + pocket_depth(part.shape.thickness), diameter, diameter, 0.0)
        place = part.placement.to_table(start[None])[0]
        return Fastener("", "screw", place, np.array(axis.along) @ part.placement.axes, sizes, (part.label,))

    def pocket(self, bore: float) -> AngledHole:
        """The hole that its head sits in, toward the end or edge at the joint."""
        part, contact = self.contact.head, self.contact
        along, _ = contact.sides(pocket=True)
        toward = part.placement.axes[:, contact.axis] * contact.sign
        place = np.array([(contact.low + contact.high) / 2])
        place[0, along] = self.along
        u, v, _ = part.placement.to_part(place)[0]
        blank = part.shape.blank
        edges = [blank.edge(number) for number in range(len(blank.outline))]
        facing = [edge.along[1] * toward[0] - edge.along[0] * toward[1] for edge in edges]
        number = max(range(len(edges)), key=lambda at: (round(facing[at], 6), -abs(edges[at].inset((u, v)))))
        thick = part.shape.thickness
        return AngledHole(
            number, edges[number].distance_along((u, v)), pocket_inset(thick), bore, pocket_depth(thick),
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
