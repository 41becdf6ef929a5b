"""The exploded view of a table as a motion: where each part is when it is exploded by a factor from 0 to 1."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise
from typing import Final

import numpy as np

from ...sizes.arrays import Floats, Ints
from ...wood.assembly import Assembly
from ...wood.fasteners import Fastener
from ...wood.part import Placement
from .blocking import Blocking, blocking_of
from .clearing import Collision, Movements, clearing
from .graph import Graph, explosion_graph
from .places import ContradictionError, Needs, Places, Show, least_distances, needs_of
from .units import Units, glued_up, units_of

_ROUNDS: Final = 8
"""How often demands are added where parts run into each other."""


@dataclass(frozen=True, eq=False)
class ComingApart:
    """What comes off a table in which order, before it is decided how far."""

    assembly: Assembly
    blocking: Blocking
    units: Units
    graph: Graph

    @cached_property
    def movements(self) -> Movements:
        """For proving motions free of collisions."""
        return Movements(self.blocking)

    def needs(self, beside: bool) -> Needs:
        """What is demanded of places, whatever the gaps; worked out once. See `needs_of`."""
        if beside not in self._needs:
            self._needs[beside] = needs_of(self.units, self.graph, beside=beside)
        return self._needs[beside]

    @cached_property
    def _needs(self) -> dict[bool, Needs]:
        return {}

    def of_parts(self, offsets: Floats) -> Floats:
        """Offsets of units, (u, 3), as those of all parts by number, (n, 3); zero for parts in no unit."""
        return np.where(self._unit[:, None] < 0, 0.0, offsets[self._unit])

    @cached_property
    def _unit(self) -> Ints:
        """(n,) int; the unit of each part, -1 for parts in none."""
        found = np.full(len(self.blocking.labels), -1)
        for unit, labels in enumerate(self.units.members):
            found[self.blocking.numbers(labels)] = unit
        return found

    @property
    def together(self) -> tuple[tuple[str, ...], ...]:
        """Labels of parts that no straight moves along the axes take apart."""
        return tuple(
            tuple(label for unit in group for label in self.units.members[unit])
            for group in self.graph.together
        )


def coming_apart(
    assembly: Assembly,
    places: dict[str, Placement] | None = None,
    members: Sequence[Sequence[str]] | None = None,
    blocking: Blocking | None = None,
) -> ComingApart:
    """The order in which a table, or some of its parts, come apart.

    Parameters
    ----------
    places : label → where a part stands, other than where the assembly has it
    members : labels of the parts of each unit that goes as one; by default all parts as they are glued up. Parts in
        none are not looked at.
    blocking : of the same parts and places, where that is known

    Raises
    ------
    PartError : for features that run together
    """
    if members is None:
        members = glued_up(assembly)
    else:
        assembly = _only(assembly, {label for labels in members for label in labels})
    blocking = blocking or blocking_of(assembly.parts, places)
    units = units_of(assembly, blocking, members)
    return ComingApart(assembly, blocking, units, explosion_graph(units))


def _only(assembly: Assembly, labels: set[str]) -> Assembly:
    """Some parts of a table, with the joints between them and the fasteners that go with them."""
    parts = tuple(part for part in assembly.parts if part.label in labels)
    joints = tuple(joint for joint in assembly.joints if {joint.a, joint.b} <= labels)
    fasteners = tuple(one for one in assembly.fasteners if one.goes_with in labels)
    return replace(assembly, parts=parts, joints=joints, fasteners=fasteners)


@dataclass(frozen=True, eq=False)
class Explosion:
    """An exploded view.

    Parameters
    ----------
    distances : (p,) float, mm; how far each of the places is from where its units belong
    waves : for each departure, in the order of the graph, the stretch of the motion in which it happens; all stretches
        take as long, one after the other
    proven : whether the whole motion is free of collisions, but for parts that overlap stowed
    """

    order: ComingApart
    places: Places
    distances: Floats
    waves: Ints
    proven: bool

    @cached_property
    def offsets(self) -> Floats:
        """(u, 3) float, mm; how far each unit is from where it belongs, at the end."""
        return self.places.offsets(self.distances)

    def offset_at(self, label: str, factor: float) -> Floats:
        """How far a part is from where it belongs, (3,) float mm, when the view is exploded by a factor from 0 to 1.

        A fastener stays in the board under its head.
        """
        body = self.order.assembly.body[label]
        carrier = body.goes_with if isinstance(body, Fastener) else label
        return self.part_offsets(factor)[self.order.blocking.number[carrier]]

    def part_offsets(self, factor: float) -> Floats:
        """The same for all parts by number, (n, 3) float, mm; those that are not taken apart are stowed."""
        moved = _unit_offsets(self.order.graph, self.offsets, self.waves, factor * self.stretches)
        return self.order.of_parts(moved)

    @property
    def stretches(self) -> int:
        """How many stretches the motion has; within each, all parts move evenly along straight lines."""
        return int(self.waves.max(initial=0)) + 1

    def collisions(self) -> list[Collision]:
        """All collisions of the whole motion, exactly; none where `proven`."""
        shares = np.arange(self.stretches + 1) / self.stretches
        at = [self.part_offsets(share) for share in shares]
        return [
            collision
            for start, end in pairwise(at)
            for collision in self.order.movements.collisions(start, end)
        ]


def explode(order: ComingApart, gaps: Floats, show: Show | None = None) -> Explosion:
    """The least exploded view with these gaps.

    Parameters
    ----------
    gaps, show : as of `Needs.demands`
    """
    found = None
    for beside in (True, False):
        places = order.needs(beside).demands(gaps, show)
        with suppress(ContradictionError):
            found = _without_collisions(order, places, gaps)
            if found.proven:
                break
    assert found is not None
    return found


def roughly(order: ComingApart, gaps: Floats, show: Show | None, *, beside: bool) -> Explosion | None:
    """The same before parts make way for each other, and not proven; None where the demands contradict each other.

    Parameters
    ----------
    beside : as of `needs_of`
    """
    places = order.needs(beside).demands(gaps, show)
    with suppress(ContradictionError):
        distances = least_distances(len(places.layers), places.demands)
        return Explosion(
            order, places, distances, np.zeros(len(order.graph.departures), dtype=np.intp), False
        )
    return None


def _without_collisions(order: ComingApart, places: Places, gaps: Floats) -> Explosion:
    """The least distances, and more where parts would run into each other.

    Raises
    ------
    ContradictionError : where no distances meet the demands of the places
    """
    distances = least_distances(len(places.layers), places.demands)
    found = Explosion(order, places, distances, *_waves(order, places.offsets(distances)))
    for _ in range(_ROUNDS):
        if found.proven:
            break
        demands = clearing(order.units, order.graph, places, gaps, found.collisions())
        if demands == places.demands:
            break
        places = replace(places, demands=demands)
        distances = least_distances(len(places.layers), places.demands)
        found = Explosion(order, places, distances, *_waves(order, places.offsets(distances)))
    return found


def _unit_offsets(graph: Graph, offsets: Floats, waves: Ints, when: float) -> Floats:
    """(u, 3) float, mm; how far units are from where they belong at a time, where each wave takes 1."""
    share = np.ones(len(offsets))
    share[[one.unit for one in graph.departures]] = np.clip(when - waves, 0.0, 1.0)
    found = np.zeros_like(offsets)
    for level in graph.levels:
        units, parents = [one.unit for one in level], [one.parent for one in level]
        found[units] = found[parents] + (offsets[units] - offsets[parents]) * share[units, None]
    for group in graph.together:
        for unit in group[1:]:
            found[unit] = found[group[0]]
    return found


def _waves(order: ComingApart, offsets: Floats) -> tuple[Ints, bool]:
    """The wave in which each departure happens, and whether nothing collides in any.

    All at once, if nothing collides; else, of those that would, the one that departs last waits with all after it
    until the others have arrived.
    """
    graph = order.graph
    waves = np.zeros(len(graph.departures), dtype=np.intp)
    parents = graph.parents
    number = {one.unit: at for at, one in enumerate(graph.departures)}
    wave = 0
    while wave <= waves.max(initial=0):
        start, end = (_unit_offsets(graph, offsets, waves, when) for when in (wave, wave + 1))
        waits = len(waves)
        for collision in order.movements.collisions(order.of_parts(start), order.of_parts(end)):
            moving = set()
            for label in (collision.one, collision.other):
                unit = order.units.of[label]
                while unit in parents:
                    moving.add(number.get(unit, -1))
                    unit = parents[unit]
            waits = min(waits, max(at for at in moving if at >= 0 and waves[at] == wave))
        if waits == len(waves):
            wave += 1
        elif waits == np.flatnonzero(waves == wave)[0]:
            return waves, False
        else:
            waves[waits:] += waves[waits:] == wave
    return waves, True
