"""Where fasteners find a place: clear of cuts, leaves' ways, other boards and fasteners, with room for a driver."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import product
from typing import Final

import numpy as np

from ...check.in_wood import EDGE_RULES, Boards, InWood, within
from ...sizes.arrays import Bools, Floats
from ...sizes.tolerances import CONTACT
from ...wood.features.base import Face
from ...wood.screw_sizes import BRADS, LENGTHS, SCREWS, longest
from .bill import Bill, Box
from .fastener_spots import Spot, length_of
from .parameters import Table

_HARD: Final = 100.0
_EDGE: Final = 10.0
"""What counts against a place: steel in a cut, a way or another body; too near an edge. A driver without room counts 1
or less."""

_STEEL: Final = 2.0
"""Half the width of the box around a fastener, mm; a head that lies in a face reaches into no other board beside."""

_STEPS: Final = (-0.15, 0.15, -0.3, 0.3, -0.6, 0.6, -0.9, 0.9)
"""How far aside places are looked for along a joint, in halves of the spacing."""

_BETWEEN: Final = 1.5
"""Least room between a fastener's head and another, or its pocket, mm (common practice, no source)."""


def placed(table: Table, bill: Bill, ways: Sequence[Box], spots: list[Spot]) -> list[Spot]:
    """All spots where they may be; those of the maker's own stay where they are, whatever is there."""
    if not spots:
        return []
    room = _Room(table, bill, ways)
    spots = room.with_diameters(spots)
    spots, faults = room.either_way(spots)
    taken = _Taken(table)
    found: dict[int, Spot] = {}
    for number, spot in enumerate(spots):
        if spot.own is not None:
            found[number] = taken.add(spot)
    amiss = [number for number, spot in enumerate(spots) if spot.own is None and faults[number] > 0]
    tries = room.aside([spots[number] for number in amiss])
    aside = dict(zip(amiss, tries, strict=True))
    for number, spot in enumerate(spots):
        if spot.own is not None:
            continue
        choices = aside.get(number, [spot])
        kept = next((one for one in choices if not taken.meets(one)), None)
        if kept is None and number not in aside:
            kept = next((one for one in room.aside([spot])[0] if not taken.meets(one)), None)
        if kept is not None:
            found[number] = taken.add(kept)
    return [found[number] for number in sorted(found)]


class _Taken:
    """Boxes around the fasteners that have their place, and around their pockets, (n, 3) mm, and their boards."""

    def __init__(self, table: Table) -> None:
        self.bore = table.fastening.pocket_bore
        self.low, self.high = np.zeros((0, 3)), np.zeros((0, 3))
        self.boards: list[set[str]] = []
        self.is_pocket = np.zeros(0, dtype=bool)

    def add(self, spot: Spot) -> Spot:
        """Take a place."""
        low, high = self._boxes(spot)
        self.low, self.high = np.concatenate([self.low, low]), np.concatenate([self.high, high])
        self.boards += [{*spot.labels}] * len(low)
        self.is_pocket = np.append(self.is_pocket, [False, True][: len(low)])
        return spot

    def meets(self, spot: Spot) -> bool:
        """Whether a fastener, or its pocket, comes too near to another of the same boards, or to its pocket."""
        if not self.boards:
            return False
        low, high = self._boxes(spot)
        near = (self.low < high[:, None] + _BETWEEN).all(axis=2) & (self.high > low[:, None] - _BETWEEN).all(
            axis=2
        )
        return any(self.boards[at] & {*spot.labels} for at in np.flatnonzero(near.any(axis=0)))

    def _boxes(self, spot: Spot) -> tuple[Floats, Floats]:
        """Of the fastener, and of the bore of its pocket."""
        one = spot.fastener()
        ends, half = np.stack([one.start, one.tip]), one.sizes.head / 2
        wide = half * np.sqrt(np.maximum(1.0 - np.asarray(one.direction) ** 2, 0.0))
        low, high = [ends.min(axis=0) - wide], [ends.max(axis=0) + wide]
        if spot.kind == "pocket screw":
            part = spot.contact.head
            hole = replace(spot.pocket(self.bore), pilot_diameter=0.0)
            corners = part.placement.to_table(np.array(hole.bounds(part.shape.blank)))
            low.append(corners.min(axis=0))
            high.append(corners.max(axis=0))
        return np.array(low), np.array(high)


class _Room:
    """What stands around: boards, ways, and what a driver has to get past."""

    def __init__(self, table: Table, bill: Bill, ways: Sequence[Box]) -> None:
        self.table = table
        self.rule = EDGE_RULES[table.limits.edge_rule]
        self.boards = Boards([part for part in bill.parts if not part.role.slides])
        parts = self.boards.parts
        self.stages = np.array([float(part.role.stage) for part in parts] + [np.inf] * len(ways))
        boxes = [part.box for part in parts] + [(np.array(low), np.array(high)) for low, high in ways]
        self.low, self.high = (np.array([box[k] for box in boxes]) for k in range(2))

    def with_diameters(self, spots: list[Spot]) -> list[Spot]:
        """The thickest screw that keeps its distance from edges, else the thinnest; one for all of a joint."""
        open_ones = [one for one in spots if one.own is None and one.kind != "brad"]
        if not open_ones:
            return spots
        rows = InWood.of([one.fastener() for one in open_ones], self.boards)
        most: dict[tuple[str, str], float] = {}
        for number, room in zip(rows.number, rows.diameters_to_rim(self.rule)[2], strict=True):
            key = open_ones[number].labels
            most[key] = min(most.get(key, np.inf), float(room))
        sizes = SCREWS[self.table.units]
        chosen = {
            key: next((one.diameter for one in sizes if one.diameter <= room + CONTACT), sizes[-1].diameter)
            for key, room in most.items()
        }
        return [
            replace(one, diameter=chosen[one.labels]) if one.own is None and one.kind != "brad" else one
            for one in spots
        ]  # fmt: skip

    def faults(self, spots: Sequence[Spot]) -> Floats:
        """(n,) float; what counts against each place, 0 for nothing."""
        if not spots:
            return np.zeros(0)
        ones = [spot.fastener() for spot in spots]
        rows = InWood.of(ones, self.boards)
        limits, found = self.table.limits, np.zeros(len(ones))
        near = rows.from_cuts()
        np.maximum.at(found, rows.number[near.row[near.distance < limits.tip_margin - CONTACT]], _HARD)
        wood, need, _ = rows.ahead(limits.tip_margin)
        np.maximum.at(found, rows.number[rows.is_last & (wood < need - CONTACT)], _HARD)
        # How far faces are from what goes in between them is the same all along a joint.
        short = (rows.axis == 2) & (rows.diameters_to_rim(self.rule)[2] < 2 * rows.shank - CONTACT)
        np.add.at(found, np.unique(rows.number[short]), _EDGE)
        start = np.array([one.start for one in ones], dtype=float)
        direction = np.array([one.direction for one in ones], dtype=float)
        length = np.array([one.sizes.length for one in ones])
        own = np.zeros((len(ones), len(self.low)), dtype=bool)
        own[rows.number, rows.board] = True
        found += _HARD * self._meets(own, start, start + length[:, None] * direction)
        self._bores(spots, found)
        return found + self._without_driver(own, start, -direction)

    def either_way(self, spots: Sequence[Spot]) -> tuple[list[Spot], Floats]:
        """Each spot from the face from which least is against it, and how much that is; (n,) float."""
        ways = [_ways(self.table, spot) for spot in spots]
        faults = iter(self.faults([way for some in ways for way in some]).tolist())
        rated = [[(next(faults), number) for number in range(len(some))] for some in ways]
        best = [min(some) for some in rated]
        chosen = [some[number] for some, (_, number) in zip(ways, best, strict=True)]
        return chosen, np.array([least for least, _ in best])

    def _bores(self, spots: Sequence[Spot], found: Floats) -> None:
        """A pocket's bore, with its mouth in the face, keeps clear of all other cuts and of the board's edges."""
        pockets = [at for at, spot in enumerate(spots) if spot.kind == "pocket screw"]
        if not pockets:
            return
        bores = [spots[at].bore(self.table.fastening.pocket_bore) for at in pockets]
        rows = InWood.of(bores, self.boards)
        near = rows.from_cuts()
        ends = np.stack([rows.at(0 * rows.length), rows.at(rows.length)])
        inside = np.minimum(ends - self.boards.low[rows.board], self.boards.high[rows.board] - ends)
        low = inside[..., :2].min(axis=(0, 2)) < rows.shank + _BETWEEN
        bad = {
            *rows.number[near.row[near.distance < _BETWEEN + near.chamfer]].tolist(),
            *rows.number[low].tolist(),
        }
        for number in bad:
            found[pockets[number]] = max(found[pockets[number]], _HARD)

    def _meets(self, own: Bools, start: Floats, stop: Floats) -> Bools:
        """(n,) whether boxes around fasteners meet boards that they do not join, or ways."""
        run = stop - start
        wide = _STEEL * np.sqrt(np.maximum(1.0 - (run / np.linalg.norm(run, axis=1)[:, None]) ** 2, 0.0))
        low, high = np.minimum(start, stop) - wide, np.maximum(start, stop) + wide
        meet = (self.low < high[:, None] - CONTACT).all(axis=2) & (self.high > low[:, None] + CONTACT).all(
            axis=2
        )
        return (meet & ~own).any(axis=1)

    def _without_driver(self, own: Bools, start: Floats, back: Floats) -> Floats:
        """(n,) the share of a driver that finds no room behind each head, before boards that are there already."""
        length, radius = self.table.limits.driver_length, self.table.limits.driver_width / 2
        before = np.where(own, self.stages, -np.inf).max(axis=1)
        ends = start + length * back
        low, high = np.minimum(start, ends) - radius, np.maximum(start, ends) + radius
        meet = (self.low < high[:, None]).all(axis=2) & (self.high > low[:, None]).all(axis=2)
        which, box = np.nonzero(meet & ~own & (self.stages < before[:, None]))
        room = np.full(len(start), length)
        many = np.full(len(which), length)
        enters, leaves = within(
            start[which], back[which], self.low[box] - radius, self.high[box] + radius, many
        )
        np.minimum.at(room, which, np.where(enters < leaves - CONTACT, enters, length))
        return 1.0 - room / length

    def aside(self, spots: Sequence[Spot]) -> list[list[Spot]]:
        """For each spot the places around it without steel in a cut or a body, what is least against first; those where
        it is now, and if these have a fault, those along the joint as well."""
        near = [list(self._around(spot, (0.0,))) for spot in spots]
        ranked = self._ranked(near)
        again = [at for at, one in enumerate(ranked) if not one or one[0][0] > 0]
        far = [list(self._around(spots[at], _STEPS)) for at in again]
        for at, more in zip(again, self._ranked(far), strict=True):
            ranked[at] = sorted([*ranked[at], *more], key=lambda one: one[0])
        return [[spot for _, spot in one] for one in ranked]

    def _ranked(self, tries: list[list[Spot]]) -> list[list[tuple[float, Spot]]]:
        faults = iter(self.faults([spot for some in tries for spot in some]).tolist())
        ranked = [[(next(faults), spot) for spot in some] for some in tries]
        # What has a fault is not proposed: whoever wants a screw there all the same enters it.
        fit = [[one for one in some if one[0] < CONTACT] for some in ranked]
        return [sorted(some, key=lambda one: one[0]) for some in fit]

    def _around(self, spot: Spot, steps: Sequence[float]) -> Iterable[Spot]:
        """Places along and across, the nearest first; of a pocket both faces, of a screw through two faces either way,
        and at last a shorter one."""
        contact = spot.contact
        along, across = contact.sides(spot.kind == "pocket screw")
        reach = min(self.table.fastening.spacing / 2, float(contact.high[along] - contact.low[along]) / 2)
        wide = float(contact.high[across] - contact.low[across])
        ways = _ways(self.table, spot)
        if spot.kind != "pocket screw":
            ways += [
                replace(one, across=one.across + shift) for one in ways[:2] for shift in (-wide / 6, wide / 6)
            ]
            sold = (BRADS if spot.kind == "brad" else LENGTHS)[self.table.units]
            ways.append(replace(spot, length=longest(sold, spot.length - 1.0)))
        for step, way in product(steps, ways):
            if contact.low[along] < spot.along + step * reach < contact.high[along]:
                yield replace(way, along=spot.along + step * reach)


def _ways(table: Table, spot: Spot) -> list[Spot]:
    """A pocket screw from either face, a screw through two faces either way; the maker's own only as it is said."""
    if spot.kind == "pocket screw":
        faces: tuple[Face, ...] = ("front", "back")
        fixed = spot.own is not None and spot.face is not None
        return [spot] if fixed else [replace(spot, face=face) for face in faces]
    if spot.own is not None or not all(spot.contact.through_face):
        return [spot]
    turned = spot.contact.turned()
    return [spot, replace(spot, contact=turned, length=length_of(table, spot.kind, turned))]
