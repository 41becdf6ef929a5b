"""Facts of what parts cut otherwise than drawn leave behind: one for each such part, with all its places in it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from ...wood.assembly import Assembly
from ..facts import Fact, Place, Rule
from ..spans import point
from .at_joints import flush_no_more, in_grooves, open_faces, open_miters
from .cover import cover_effects
from .effects import GRAVE, CutOtherwise, Effect, Kind, Missing
from .feet import rocking
from .moves import Moves

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
    if not assembly.as_cut:
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
