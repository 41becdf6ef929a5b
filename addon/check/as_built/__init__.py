"""What parts that came out otherwise than drawn leave standing free, proud, open or out of plane.

One fact for each such part, with all its places in it. Whether a table stands on all its feet is asked of four at a
time: how far one is off the floor while the others stand on it.

    d = height of the fourth foot over the plane through the other three

Of four feet at the corners of a rectangle that is z1 - z2 + z3 - z4, whichever foot is asked, and the table rocks by it
about the diagonal that stands lower.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from typing import Final, NamedTuple

import numpy as np

from ...sizes.arrays import Floats
from ...sizes.tolerances import CONTACT
from ...wood.assembly import Assembly
from ..facts import Fact, Place, Rule
from ..spans import point
from .at_joints import flush_no_more, in_grooves, open_faces, open_miters
from .cover import cover_effects
from .moves import GRAVE, CutOtherwise, Effect, Kind, Missing, Moves

_RULES: Final[dict[Kind, Rule]] = {
    "falls out": "part-free",
    "cover full": "cover-full",
    "rocks": "table-rocks",
    "thin bearing": "thin-bearing",
    "open": "joint-open",
    "loose": "part-loose",
    "proud": "part-proud",
    "low": "part-proud",
    "cover proud": "cover-step",
    "cover low": "cover-step",
    "cover gap": "cover-gap",
}
"""Kind of what is left behind → id of the rule, the gravest kind first."""

_GRAVITY: Final = {kind: number for number, kind in enumerate(_RULES)}


def as_built_facts(assembly: Assembly) -> Iterator[Fact]:
    """What is off in an assembly as cut; nothing where all is as drawn."""
    if not assembly.missing and all(part.drawn is None for part in assembly.parts):
        return
    yield from _missing(assembly)
    by_part: dict[str, list[Effect]] = {}
    for effect in effects_of(assembly):
        by_part.setdefault(effect.parts[0], []).append(effect)
    for label, own in by_part.items():
        own.sort(key=lambda effect: (_GRAVITY[effect.kind], -effect.amount))
        yield _fact(label, own)


def effects_of(assembly: Assembly) -> Iterator[Effect]:
    """Every place at which something is not as drawn."""
    moves, limits = Moves(assembly), assembly.limits
    yield from flush_no_more(moves, limits.flush)
    yield from open_faces(moves, limits.fit_allowance)
    yield from open_miters(moves, limits.fit_allowance)
    yield from in_grooves(moves, limits.fit_allowance, limits.bearing)
    yield from rocking(moves, limits.flush)
    yield from cover_effects(moves, limits)


def _fact(label: str, effects: list[Effect]) -> Fact:
    first, *rest = effects
    severity = "error" if first.kind in GRAVE else "warning"
    others = tuple(Place(one.parts, one.at, one.amount, rule=_RULES[one.kind]) for one in rest)
    cause = CutOtherwise(label, tuple(effects))
    return Fact(_RULES[first.kind], severity, first.parts, first.at, first.amount, cause, others=others)


def _missing(assembly: Assembly) -> Iterator[Fact]:
    """Parts that are not there, and what they held."""
    for part in assembly.missing:
        held = [
            joint.a if joint.b == part.label else joint.b
            for joint in assembly.lost_joints
            if joint.b == part.label or (joint.a == part.label and joint.kind == "groove")
        ]
        held += assembly.cover if part.role.carries_cover else ()
        frees = tuple(dict.fromkeys(label for label in held if label in assembly.by_label))
        low, high = part.box
        at, size = point((low + high) / 2), float((high - low).max())
        yield Fact("part-missing", "error", (part.label, *frees), at, size, Missing(part.label, frees))


UP = 2
_MOST_FEET = 12


class Foot(NamedTuple):
    """What stands on the floor at one place: one board, or several that are joined."""

    lowest: str
    """Label of the board that reaches lowest."""
    at: Floats
    """(3,) float: middle of all its boards in plan, as drawn, and how high it reaches, mm."""
    off: float
    """How far that board's end is from where it was drawn, upward, mm."""


def rocking(moves: Moves, limit: float) -> Iterator[Effect]:
    """The table rocks by more than the limit, mm; said of the foot that is the farthest off."""
    feet = feet_of(moves)
    if not any(abs(foot.off) > CONTACT for foot in feet):
        return
    rock, four = max(
        ((rock_of(four), four) for four in combinations(feet, 4)), key=lambda one: one[0], default=(0, ())
    )
    if rock > limit + CONTACT:
        usual = float(np.median([foot.off for foot in feet]))
        worst = max(four, key=lambda foot: abs(foot.off - usual))
        face = moves.face(worst.lowest, UP, 0)
        yield Effect("rocks", (worst.lowest,), rock, point(worst.at), face, worst.off)


def feet_of(moves: Moves) -> list[Foot]:
    """The feet of a table as cut; none where it has more of them than anybody counts."""
    boards = [part.label for part in moves.assembly.parts if part.role.stands_on_floor]
    group = {label: {label} for label in boards}
    for joint in moves.assembly.joints:
        if joint.a in group and joint.b in group and group[joint.a] is not group[joint.b]:
            group[joint.a] |= group[joint.b]
            for label in group[joint.b]:
                group[label] = group[joint.a]
    groups = {id(one): sorted(one) for one in group.values()}.values()
    feet = [_foot(moves, labels) for labels in groups]
    return feet if len(feet) <= _MOST_FEET else []


def _foot(moves: Moves, labels: list[str]) -> Foot:
    lowest = min(labels, key=lambda label: moves.now(label, UP, 0))
    boxes = np.array([moves.drawn(label).box for label in labels])
    at = (boxes[:, 0].min(axis=0) + boxes[:, 1].max(axis=0)) / 2
    at[UP] = moves.now(lowest, UP, 0)
    planned = min(moves.before(label, UP, 0) for label in labels)
    return Foot(lowest, at, float(at[UP]) - planned)


def rock_of(feet: tuple[Foot, ...]) -> float:
    """How far one of four feet can be off the floor while the three others stand on it, mm; 0 where none can.

    Raises nothing; four feet of which three stand in a line, or one within the others' triangle, do not rock so.
    """
    best = 0.0
    for fourth, pairs in zip(range(4), ((1, 2, 3), (0, 2, 3), (0, 1, 3), (0, 1, 2)), strict=True):
        weights = _weights([feet[k].at for k in pairs], feet[fourth].at)
        if weights is None or sum(weight > 0 for weight in weights) != 2:
            return 0.0
        height = sum(weight * float(feet[k].at[UP]) for weight, k in zip(weights, pairs, strict=True))
        best = max(best, abs(float(feet[fourth].at[UP]) - height))
    return best


def _weights(three: list[Floats], other: Floats) -> list[float] | None:
    """The weights of three points that make a fourth one in plan; None where they are in a line."""
    plan = np.array([[*one[:2], 1.0] for one in three]).T
    if abs(np.linalg.det(plan)) <= CONTACT:
        return None
    return [float(weight) for weight in np.linalg.solve(plan, np.array([*other[:2], 1.0]))]
