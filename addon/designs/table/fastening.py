"""Which screws and brads hold which joints: proposed by the joint, or as the maker has it, and put where they may be.

   |  spacing  |           A joint's screws stand evenly along it, in its middle across. Where one would come too
+--x-----------x--+        near to a cut, to the way of a leaf, to another board or fastener, or where no driver
|  joint          |        gets behind its head, it moves aside; where it finds no place, it is left out.
+-----------------+
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import ceil
from typing import Final

import numpy as np

from ...sizes.errors import PartError
from ...sizes.tolerances import CONTACT
from ...wood.fasteners import FastenerKind
from ...wood.features.base import Face
from ...wood.joints import Joint
from ...wood.part import Part
from ...wood.roles import BLOCK, END_STOP, GUIDE, KICKER, LEDGER, LEG, RIB, RUNNER, SIDE
from ...wood.screw_sizes import SCREWS, pocket_inset
from ...wood.sound import check_shape
from .bill import Bill, Box
from .fastener_room import placed
from .fastener_spots import Contact, Spot, contact_of, length_of
from .fastening_parameters import OwnFastener
from .parameters import Table
from .refusals import at_most, refuse

_SECTION: Final = {
    SIDE: "sides", RIB: "ribs", LEDGER: "ledgers", RUNNER: "strips", KICKER: "strips", GUIDE: "strips",
    END_STOP: "stops", LEG: "legs", BLOCK: "blocks",
}  # fmt: skip
"""Role of a joint's first part → the parameter that says what holds it."""

_KINDS: Final[dict[str, FastenerKind]] = {"brads": "brad", "screws": "screw", "pocket screws": "pocket screw"}

_ALONE: Final = 80.0
"""A joint that is no longer takes one screw, mm (common practice, no source)."""

_FROM_END: Final = 25.0
"""From the end of a joint to its first screw, mm, or a quarter of its length (common practice, no source)."""

_ROOM: Final = 2.0
"""A pocket needs a board so many times as wide as its bore (common practice, no source)."""


def add_fasteners(table: Table, bill: Bill, ways: Sequence[Box]) -> None:
    """Screws and brads for all joints, with the pockets of pocket screws cut into their boards.

    Parameters
    ----------
    ways : what leaves take on their ways, mm

    Raises ParameterError for an entry of the maker's own that names no two parts that meet.
    """
    by_label = {part.label: part for part in bill.parts}
    spots = [*_own_spots(table, by_label), *_proposed(table, bill, by_label)]
    for spot in placed(table, bill, ways, spots):
        made = spot.fastener()
        labels = [by_label[label] for label in made.joins]
        if spot.kind != "pocket screw" or _pocketed(bill, spot, table.fastening.pocket_bore):
            bill.fasten(made.kind, made.start, made.direction, made.sizes, *labels)


def _pocketed(bill: Bill, spot: Spot, bore: float) -> bool:
    """Bore a pocket; one that is only proposed is left out where the board would not be sound with it."""
    number = next(at for at, part in enumerate(bill.parts) if part.label == spot.contact.head.label)
    part = bill.parts[number]
    shape = part.shape.with_features((*part.shape.features, spot.pocket(bore)))
    if spot.own is None:
        try:
            check_shape(shape, part.label)
        except PartError:
            return False
    bill.parts[number] = replace(part, shape=shape)
    return True


def own_fastener(joints: Sequence[Joint], parts: Mapping[str, Part], label: str) -> dict[str, str]:
    """What a new entry of the maker's own says first: a screw in a joint of this part, or in any."""
    for joint in sorted(joints, key=lambda one: label not in (one.a, one.b)):
        if joint.kind in ("butt", "face") and joint.fastening != "dry":
            contact = contact_of(parts[joint.a], parts[joint.b])
            if contact is not None:
                kind, held = _way_round_faces("screw", contact)
                return {"kind": kind, "head": held.head.label, "into": held.other.label}
    return {"kind": "none", "head": label, "into": label}


# -- what is wanted


def _own_spots(table: Table, by_label: dict[str, Part]) -> list[Spot]:
    found = []
    for number, entry in enumerate(table.fastener):
        for name in ("head", "into"):
            label = getattr(entry, name)
            if label not in by_label:
                refuse(
                    table,
                    f"fastener[{number}].{name}",
                    label,
                    f"one of {', '.join(by_label)}",
                    "it names no part",
                )
        contact = contact_of(by_label[entry.head], by_label[entry.into])
        if contact is None:
            refuse(
                table, f"fastener[{number}].into", entry.into, f"a part that {entry.head} meets",
                f"{entry.head} and {entry.into} do not touch",
            )  # fmt: skip
        if entry.kind != "none":
            found.append(_own_spot(table, number, entry, contact))
    return found


def _own_spot(table: Table, number: int, entry: OwnFastener, contact: Contact) -> Spot:
    kind: FastenerKind = entry.kind  # type: ignore[assignment]
    if kind == "pocket screw" and contact.through_face[0]:
        refuse(
            table, f"fastener[{number}].kind", entry.kind, "'screw'",
            f"{entry.head} meets {entry.into} with its face, and a pocket leads to an edge or end",
        )  # fmt: skip
    along, across = contact.sides(kind == "pocket screw")
    places = []
    for name, axis in (("along", along), ("across", across)):
        size, at = float(contact.high[axis] - contact.low[axis]), getattr(entry, name)
        at = size / 2 if at is None else at
        if not 0 <= at <= size:
            refuse(table, f"fastener[{number}].{name}", at, at_most(table, size), "the joint ends there")
        places.append(float(contact.low[axis]) + at)
    if entry.diameter is not None:
        diameter = entry.diameter
    else:
        diameter = table.fastening.brad_diameter if kind == "brad" else SCREWS[table.units][0].diameter
    length = length_of(table, kind, contact) if entry.length is None else entry.length
    face: Face | None = "back" if entry.face == "back" else "front" if entry.face == "front" else None
    return Spot(kind, contact, places[0], places[1], length, diameter, entry.head_diameter, face, number)


def _proposed(table: Table, bill: Bill, by_label: dict[str, Part]) -> list[Spot]:
    """For each joint that is not held by the maker's own, or by what its parts brought along."""
    held = {frozenset((entry.head, entry.into)) for entry in table.fastener}
    held |= {frozenset(one.joins) for one in bill.fasteners}
    found: list[Spot] = []
    for number, joint in enumerate(bill.joints):
        if by_label[joint.a].role == BLOCK and table.fastening.blocks == "glue":
            bill.joints[number] = joint = replace(joint, fastening="glue")
        kind = _kind(table, joint, by_label[joint.a])
        if kind is None or frozenset((joint.a, joint.b)) in held:
            continue
        contact = contact_of(by_label[joint.a], by_label[joint.b])
        if contact is not None:
            found += _along(table, kind, contact)
    return found


def _kind(table: Table, joint: Joint, part: Part) -> FastenerKind | None:
    """What goes into a joint; None where it is glued alone, or lies dry."""
    if joint.kind in ("groove", "miter") or joint.fastening == "dry":
        return None
    section = _SECTION.get(part.role)
    kind = _KINDS.get(getattr(table.fastening, section)) if section is not None else None
    if kind is None and joint.fastening in ("screw", "brad", "pocket screw"):
        return joint.fastening
    return kind


def _along(table: Table, kind: FastenerKind, contact: Contact) -> list[Spot]:
    """A joint's fasteners where they should be if nothing is there."""
    kind, contact = _way_round(table, kind, contact)
    along, across = contact.sides(kind == "pocket screw")
    low, high = float(contact.low[along]), float(contact.high[along])
    run = high - low
    count = 1 if run < _ALONE else ceil(run / table.fastening.spacing) + 1
    end = min(_FROM_END, run / 4)
    places = [low + run / 2] if count == 1 else list(np.linspace(low + end, high - end, count))
    middle = float(contact.low[across] + contact.high[across]) / 2
    block = next((part for part in (contact.head, contact.other) if part.role == BLOCK), None)
    if block is not None and _pocket_fits(table, block):
        # A block's pocket and the screw through its face share its height.
        height = int(np.abs(block.placement.axes[1]).argmax())
        third = 1 / 3 if kind == "pocket screw" else 2 / 3
        level = float(contact.low[height]) + third * float(contact.high[height] - contact.low[height])
        if height == along:
            places = [level]
        else:
            places, middle = [low + run / 2], level
    diameter = table.fastening.brad_diameter if kind == "brad" else SCREWS[table.units][0].diameter
    length = length_of(table, kind, contact)
    return [Spot(kind, contact, float(at), middle, length, diameter) for at in places]


def _way_round(table: Table, kind: FastenerKind, contact: Contact) -> tuple[FastenerKind, Contact]:
    """Kind, and which board is under the head: a pocket is in the board that butts, all else goes through a face."""
    first, second = contact.through_face
    block = contact.head.role == BLOCK and not first
    if kind == "pocket screw" or (kind == "screw" and block):
        pocketed = contact if not first else contact.turned() if not second else None
        if pocketed is not None and _pocket_fits(table, pocketed.head):
            return "pocket screw", pocketed
        kind = "screw"
    return _way_round_faces(kind, contact)


def _way_round_faces(kind: FastenerKind, contact: Contact) -> tuple[FastenerKind, Contact]:
    """Through the face of one, or of the thinner of two."""
    first, second = contact.through_face
    if first and second:
        thinner = contact.thickness(contact.other) < contact.thickness(contact.head) - CONTACT
        return kind, contact.turned() if thinner else contact
    return kind, contact if first else contact.turned()


def _pocket_fits(table: Table, board: Part) -> bool:
    length, width, thickness = board.shape.size
    reach = pocket_inset(thickness) + 2 * table.fastening.pocket_bore
    bore = table.fastening.pocket_bore
    return min(length, width) >= _ROOM * bore and max(length, width) >= reach and bore < thickness
