"""A proposed order of assembly: which parts go in step by step, and along which straight way each really can.

The order by the parts' roles (`Role.stage`) is a stand-in, common practice without source: glue up what is joined face
to face; upside down, set the ribs on the bottom panel, over strips on it that run through them, put the sides around,
then other strips and legs; turn the table over; then ledger strips, fixed tops and leaves. It is followed as far as the
parts let each other by: the table is taken apart, each time what comes last in that order of all that can leave, and
what was taken off first goes on last. Fewer parts never take a way from another, so where any order of single moves
along the table's axes exists, this is one.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import groupby, pairwise
from typing import Final, Literal

import numpy as np

from ...sizes.arrays import Floats
from ...wood.assembly import Assembly
from ...wood.roles import Pose, Role
from ...wood.same import alike_units
from .blocking import DIRECTIONS, VECTORS, Blocking, Direction, blocking_of, opposite
from .units import glued_up

Kind = Literal["glue-up", "put-in", "turn-over"]

MOST: Final = 16
"""So many parts a picture shows at most: one with more is not read any more. No more go in at a step; of units that are
glued up of more, one of each kind is shown."""

_REST: Final = 1e-3
"""Room below which parts that arrive come to rest against another, mm."""


@dataclass(frozen=True)
class Arrival:
    """Parts that go in together."""

    parts: tuple[str, ...]
    """Labels; several were glued up before."""
    way: Direction | None
    """In which they move; None for what the others are put onto, and where there is no straight way."""
    blocked: bool = False
    """Whether no straight way along an axis of the table leads past what is there already."""
    onto: tuple[str, ...] = ()
    """Where parts are glued up: labels of those there already that it is glued to."""


@dataclass(frozen=True)
class Step:
    """What is done at a time."""

    kind: Kind
    role: Role | None
    """Of the parts that go in; None where the table is turned over."""
    pose: Pose
    """How the table stands when it is done."""
    new: tuple[str, ...]
    """Labels of the parts that are used for the first time."""
    arrivals: tuple[Arrival, ...]
    """One after the other."""

    @property
    def moved(self) -> tuple[str, ...]:
        """Labels of all parts that it is about."""
        return tuple(label for arrival in self.arrivals for label in arrival.parts)

    @property
    def units(self) -> tuple[tuple[Arrival, ...], ...]:
        """What is glued up to one each: a part that lies there, and those that are glued onto it."""
        groups: list[list[Arrival]] = []
        for one in self.arrivals:
            if one.way is None and not one.blocked:
                groups.append([])
            groups[-1].append(one)
        return tuple(tuple(group) for group in groups)


@dataclass(frozen=True)
class AssemblyOrder:
    """A proposal, tried only against straight moves along the table's axes."""

    steps: tuple[Step, ...]

    def before(self, number: int) -> tuple[str, ...]:
        """Labels of the parts that are in the table before a step, counted from 0."""
        steps = self.steps[:number]
        return tuple(label for step in steps if step.kind == "put-in" for label in step.moved)

    @property
    def blocked(self) -> tuple[str, ...]:
        """Labels of the parts without a straight way in."""
        arrivals = [arrival for step in self.steps for arrival in step.arrivals]
        return tuple(label for arrival in arrivals if arrival.blocked for label in arrival.parts)


def kinds_of_units(assembly: Assembly, step: Step) -> tuple[tuple[tuple[str, ...], ...], ...]:
    """Labels of what is glued up at a step, by kinds where a picture of all would show too many parts; else each alone.

    Mirror images are kinds of their own. Raises PartError where a part has no sound section.
    """
    labels = [tuple(label for one in unit for label in one.parts) for unit in step.units]
    if len(step.moved) <= MOST:
        return tuple((own,) for own in labels)
    return tuple(kind.members for kind in alike_units(assembly, labels))


@dataclass(frozen=True)
class _Unit:
    """Parts that go in as one, and when they should."""

    parts: tuple[str, ...]
    role: Role
    turn: tuple[int, int, int]
    """Stage of its role, that role among others of one stage, level among parts of one role: rises as they go in."""
    stow: Direction | None
    """For a leaf, the way out of its slot."""

    @property
    def pose(self) -> Pose:
        return self.role.pose


def assembly_order(assembly: Assembly, blocking: Blocking | None = None) -> AssemblyOrder:
    """The order of steps for a table.

    Parameters
    ----------
    blocking : of all parts with the leaves stowed, where it is known already

    Raises
    ------
    PartError : for features that run together
    """
    blocking = blocking or blocking_of(assembly.parts)
    units = _covered_first(assembly, _units(assembly), blocking)
    steps = _glue_ups(assembly, units, blocking)
    new = {label for unit in units if len(unit.parts) == 1 for label in unit.parts}
    pose: Pose | None = None
    for group in _groups(_taken_apart(units, blocking)):
        unit = group[-1][0]
        if pose is not None and pose != unit.pose:
            steps.append(Step("turn-over", None, unit.pose, (), ()))
        pose = unit.pose
        arrivals = tuple(arrival for _, arrival in group)
        first = tuple(label for arrival in arrivals for label in arrival.parts if label in new)
        steps.append(Step("put-in", unit.role, pose, first, arrivals))
    return AssemblyOrder(tuple(steps))


def _units(assembly: Assembly) -> list[_Unit]:
    """What goes in as one, in the order of the stages."""
    outward: dict[str, Direction] = {path.leaf: _axis(path.outward) for path in assembly.stow_paths}
    roles = list(dict.fromkeys(part.role for part in assembly.parts))
    found = []
    for parts in glued_up(assembly):
        role = assembly.by_label[parts[0]].role
        turn = role.stage, roles.index(role), _level(assembly, parts, role)
        found.append(_Unit(parts, role, turn, outward.get(parts[0])))
    return sorted(found, key=lambda unit: unit.turn)


def _covered_first(assembly: Assembly, units: list[_Unit], blocking: Blocking) -> list[_Unit]:
    """What lies on the same board as parts of an earlier stage that cover it goes in right before these.

    Strips glued under the bottom panel run through windows: laid on the bare panel they are set out and pressed down at
    their whole length, where later they would have to be threaded through along their glue.
    """
    on: dict[str, set[str]] = {}
    for joint in assembly.joints:
        if joint.kind == "face":
            on.setdefault(joint.a, set()).add(joint.b)
    found = []
    for unit in units:
        above: Direction = _above(unit.pose)
        base = set().union(*(on.get(label, set()) for label in unit.parts))
        covering = [
            other.turn
            for other in units
            if other.turn < unit.turn
            and base & set().union(*(on.get(label, set()) for label in other.parts))
            and blocking.blockers(unit.parts, other.parts, above)
            and not blocking.blockers(other.parts, unit.parts, above)
        ]
        before = unit.turn if not covering else (min(covering)[0] - 1, *unit.turn[1:])
        found.append(replace(unit, turn=before))
    return sorted(found, key=lambda one: one.turn)


def _above(pose: Pose) -> Direction:
    """The direction of the table's axes that looks up while it stands so."""
    return "+z" if pose == "upright" else "-z"


def _axis(vector: Iterable[float]) -> Direction:
    """The direction along an axis that is nearest to a vector."""
    values = np.asarray(tuple(vector))
    return DIRECTIONS[int(np.concatenate([values, -values]).argmax())]


def _level(assembly: Assembly, parts: Sequence[str], role: Role) -> int:
    """Which goes first of one role: what others end on, but sides that stand between others before those.

    Long sides can then be pressed onto the short ones' ends without sliding along glue.
    """
    ends: dict[str, list[str]] = {}
    for joint in assembly.joints:
        kin = assembly.by_label[joint.a].role == assembly.by_label[joint.b].role == role
        if kin and joint.kind == "butt":
            ends.setdefault(joint.a, []).append(joint.b)

    def depth(label: str, seen: frozenset[str]) -> int:
        onto = [other for other in ends.get(label, []) if other not in seen]
        return max((1 + depth(other, seen | {other}) for other in onto), default=0)

    level = max(depth(label, frozenset({label})) for label in parts)
    return -level if role.between_first else level


def _glue_ups(assembly: Assembly, units: Sequence[_Unit], blocking: Blocking) -> list[Step]:
    """A step for each role with parts that are glued up before they go in."""
    found = []
    several = [unit for unit in units if len(unit.parts) > 1]
    gaps = {frozenset({joint.a, joint.b}): joint.gap for joint in assembly.joints}
    for _, group in groupby(several, key=lambda unit: unit.role):
        same, arrivals = list(group), []
        role, pose = same[0].role, same[0].pose
        for unit in same:
            there: tuple[str, ...] = ()
            for label, onto in _layers(assembly, unit.parts):
                gap = max((gaps.get(frozenset({label, other}), 0.0) for other in onto), default=0.0)
                face = assembly.by_label[label].placement.axes[2]
                arrivals.append(
                    replace(_arrival((label,), there, blocking, pose, None, gap, face), onto=onto)
                )
                there += (label,)
        found.append(Step("glue-up", role, pose, tuple(one.parts[0] for one in arrivals), tuple(arrivals)))
    return found


def _layers(assembly: Assembly, parts: Sequence[str]) -> list[tuple[str, tuple[str, ...]]]:
    """Parts that are glued up one after the other, each with those before it that it is glued to."""
    beside: dict[str, set[str]] = {label: set() for label in parts}
    for joint in assembly.joints:
        if joint.kind == "face" and joint.a in beside and joint.b in beside:
            beside[joint.a].add(joint.b)
            beside[joint.b].add(joint.a)
    found: list[tuple[str, tuple[str, ...]]] = []
    there: list[str] = []
    left = list(parts)
    while left:
        label = next((one for one in left if beside[one] & set(there)), left[0])
        found.append((label, tuple(one for one in there if one in beside[label])))
        there.append(label)
        left.remove(label)
    return found


def _taken_apart(units: Sequence[_Unit], blocking: Blocking) -> list[tuple[_Unit, Arrival]]:
    """All units in an order in which they can go in, if there is one."""
    left, taken = list(units), []
    while left:
        found = None
        for unit in reversed(left):
            others = tuple(label for other in left if other is not unit for label in other.parts)
            arrival = _arrival(unit.parts, others, blocking, unit.pose, unit.stow)
            if not arrival.blocked:
                found = unit, arrival
                break
        # Where nothing can leave, what should have gone in last is what cannot get in.
        taken.append(found or (left[-1], Arrival(left[-1].parts, None, blocked=True)))
        left.remove(taken[-1][0])
    return taken[::-1]


def _arrival(
    parts: tuple[str, ...],
    there: tuple[str, ...],
    blocking: Blocking,
    pose: Pose,
    stow: Direction | None,
    gap: float = 0.0,
    face: Floats | None = None,
) -> Arrival:
    """How parts get to what is there: out of a slot's way, onto what they rest on, from above rather than below.

    Parameters
    ----------
    gap : how far what they are glued onto may lie from them, mm: what their joints leave
    face : (3,) float, normal of the face that is glued onto it rather than an edge
    """
    if not there:
        return Arrival(parts, None)
    ways = blocking.ways_out(parts, there)
    if not ways:
        return Arrival(parts, None, blocked=True)
    rooms = blocking.rooms(parts, there)
    above = _above(pose)

    def worth(way: Direction) -> tuple[bool, bool, bool, bool, bool]:
        flat = face is not None and abs(float(face @ VECTORS[way])) > 0.5
        return way == stow, way != opposite(above), rooms[opposite(way)] <= _REST + gap, flat, way == above

    return Arrival(parts, opposite(max(ways, key=worth)))


def _groups(order: Sequence[tuple[_Unit, Arrival]]) -> list[list[tuple[_Unit, Arrival]]]:
    """What goes in at a time: one role, and of that one level; what all others are put onto with what comes next."""
    runs = groupby(order, key=lambda pair: pair[0].turn)
    groups = [part for _, run in runs for part in _handfuls(list(run))]
    if len(groups) > 1 and len(groups[0]) == 1 and groups[0][0][0].pose == groups[1][0][0].pose:
        groups[:2] = [groups[0] + groups[1]]
    return groups


def _handfuls(run: list[tuple[_Unit, Arrival]]) -> list[list[tuple[_Unit, Arrival]]]:
    """A run in parts of about one size, none larger than `MOST`."""
    count = -(-len(run) // MOST)
    bounds = [len(run) * number // count for number in range(count + 1)]
    return [run[low:high] for low, high in pairwise(bounds)]
