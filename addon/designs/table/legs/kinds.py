"""Which kind of legs a table has: one line a kind."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final, NamedTuple

from ....wood.part import Part
from ..bill import Bill
from ..lanes import Layout
from . import bolted, corner, laminated, plain
from .corners import Body, Corner, Room, corners_of


class LegKind(NamedTuple):
    """One kind of legs.

    Parameters
    ----------
    rooms : what the leg in a corner takes of the body's plan
    add : puts the leg's parts into the bill, each joined to what holds it
    """

    rooms: Callable[[Corner], tuple[Room, ...]]
    add: Callable[[Corner, Body], list[Part]]


KINDS: Final = {
    "corner": LegKind(corner.rooms, corner.add),
    "bolted": LegKind(bolted.rooms, bolted.add),
    "laminated": LegKind(laminated.rooms, laminated.add),
    "plain": LegKind(plain.rooms, plain.add),
}
"""By the word of `legs.kind`."""


def leg_rooms(layout: Layout) -> tuple[Room, ...]:
    """What all legs take of the body's plan."""
    legs = layout.table.legs
    if not legs.fitted:
        return ()
    return tuple(room for one in corners_of(layout) for room in KINDS[legs.kind].rooms(one))


def add_legs(layout: Layout, bill: Bill, sides: dict[str, Part], bottom: Part) -> list[Part]:
    """All parts of the legs. Raises ParameterError for what cannot be built."""
    legs = layout.table.legs
    if not legs.fitted:
        return []
    body = Body(bill, sides, bottom)
    return [part for one in corners_of(layout) for part in KINDS[legs.kind].add(one, body)]
