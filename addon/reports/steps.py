"""What a step says: a short title, and sentences for whoever builds."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from fractions import Fraction
from itertools import groupby
from typing import Any, Final

from ..check.apart.assembly_order import Arrival, AssemblyOrder, Step, kinds_of_units
from ..check.apart.blocking import Blocking, Direction
from ..designs.findings import Finding
from ..sizes.units import Reading, Units, format_size, rounded
from ..sizes.words import capital, code_of_unit, codes_in_row, listed, plural
from ..wood.assembly import Assembly
from ..wood.features import Hole
from ..wood.part import Part
from ..wood.roles import BOTTOM, SIDE, Pose

_BLOCKS: Final = Reading(Fraction(5), Fraction(1, 4), (0, 0), fractions=True)
"""How exactly the height of blocks under a table is said."""

PROPOSED: Final = "Proposed order; dry-fit before glue."
"""What every sheet of steps says."""

_FROM: Final[dict[Direction, str]] = {
    "+x": "from the left",
    "-x": "from the right",
    "+y": "from the front",
    "-y": "from the back",
}

_TURN: Final = (
    "Let the glue set first. Two people: lift at the sides, not by the legs, and mind fingers and feet."
)


def title_of(assembly: Assembly, step: Step) -> str:
    """What a step is about, such as "Through ribs"."""
    if step.kind == "turn-over":
        return "Turn over" if step.pose == "upright" else "Turn upside down"
    if step.kind == "glue-up":
        return f"Glue up {_many(step)}"
    return capital(listed(_kinds(assembly, step.arrivals)))


def sentences_of(
    assembly: Assembly, order: AssemblyOrder, number: int, blocking: Blocking, units: Units
) -> list[str]:
    """What is to be done at a step, counted from 0, and what to mind."""
    step = order.steps[number]
    if step.kind == "turn-over":
        upright = step.pose == "upright"
        on_feet = upright and any(part.role.stands_on_floor for part in assembly.parts)
        how = "over, onto its feet" if on_feet else "over"
        return [f"Turn the table {how if upright else 'upside down'}.", _TURN]
    if step.kind == "glue-up":
        square = "" if _in_layers(assembly, step) else " and the corner is square"
        flush = f"Check that the ends are flush{square}."
        return [*_glue_up(assembly, step), *_fastened(assembly, step.moved, ()), flush]
    found = [
        _put_in(assembly, order, number, blocking, units),
        *_notes(assembly, order, number, blocking, units),
    ]
    blocked = [_code(arrival) for arrival in step.arrivals if arrival.blocked]
    if blocked:
        found.append(
            f"No straight way in at this point for {listed(blocked)}: check the order at the dry fit."
        )
    return found


def _notes(
    assembly: Assembly, order: AssemblyOrder, number: int, blocking: Blocking, units: Units
) -> list[str]:
    """What to mind: what lies in what, and at which height."""
    step, found = order.steps[number], []
    bottoms = {part.label for part in assembly.parts if part.role == BOTTOM}
    grooved = [j.b for j in assembly.joints if j.kind == "groove" and j.a in bottoms and j.b in step.moved]
    if grooved and bottoms & set(order.before(number)):
        found.append(f"The bottom panel goes into {'their grooves' if len(grooved) > 1 else 'its groove'}.")
    pushed = [hole.leaf for label in step.moved for hole in _holes(assembly, label) if hole.leaf]
    if pushed:
        holes = f"push-up hole{'s' if len(pushed) > 1 else ''} for {codes_in_row(pushed)}"
        found.append(f"Drill the {holes} first, with a backer behind the panel, and ease the edges.")
    on_bottom = [j for j in assembly.joints if j.b in bottoms and j.a in step.moved]
    laid = {joint.a for joint in on_bottom if joint.kind == "face"}
    if laid:
        found.append(f"Mark {'their places' if len(laid) > 1 else 'its place'} on the bottom panel first.")
    standing = {joint.a for joint in on_bottom if joint.kind == "butt"}
    if standing:
        found.append(f"{'Their ends stand' if len(standing) > 1 else 'Its end stands'} on the bottom panel.")
    if _channels(assembly, step):
        found.append("The corners of the sides go into their channels, with glue on both faces.")
    found += [*_nuts(assembly, step.moved), *_fastened(assembly, step.moved, order.before(number))]
    if step.role is not None and step.role.carries_cover:
        below = {_below_side(assembly, label, blocking) for label in step.moved}
        if len(below) == 1 and not any(map(math.isnan, below)):
            found += [
                f"Their upper edges lie {format_size(one, units)} below those of the sides." for one in below
            ]
    return found


def _holes(assembly: Assembly, label: str) -> tuple[Hole, ...]:
    part = assembly.by_label.get(label)
    return () if part is None else part.shape.holes


def _channels(assembly: Assembly, step: Step) -> bool:
    """Whether boards that go in as one take one that is there between them."""
    return any(
        many > 1
        for one in step.arrivals
        for many in Counter(
            joint.b for joint in assembly.joints
            if joint.kind == "face" and joint.a in one.parts and assembly.by_label[joint.b].role == SIDE
        ).values()
    )  # fmt: skip


_FASTEN: Final[dict[str, str]] = {
    "screw": "Screw {}.",
    "pocket screw": "Screw {}.",
    "brad": "Nail {}.",
    "bolt": "Bolt {}.",
    "dry": "Without glue: {}.",
}
"""What is done to pairs of parts that are not just glued."""


def _fastened(assembly: Assembly, moved: Sequence[str], there: Sequence[str]) -> list[str]:
    """A sentence for each way other than glue alone in which parts that go in are held by others."""
    here = {*moved, *there}
    standing: dict[tuple[frozenset[str], str], int] = {}
    for one in assembly.fasteners:
        key = frozenset(one.joins), one.kind
        standing[key] = standing.get(key, 0) + 1
    found: dict[str, dict[int, list[tuple[str, str]]]] = {}
    for joint in assembly.joints:
        pair = frozenset((joint.a, joint.b))
        if not (pair <= here and pair & set(moved)):
            continue
        counts: dict[str, int] = {}
        for (joined, kind), many in standing.items():
            if pair <= joined:
                counts[kind] = counts.get(kind, 0) + many
        for way, count in (counts or {joint.fastening: 0}).items():
            found.setdefault(way, {}).setdefault(count, []).append((joint.a, joint.b))
    return [
        _FASTEN[way].format(_dry(counted[0]) if way == "dry" else _with_so_many(way, counted))
        for way, counted in found.items()
        if way in _FASTEN
    ]


def _dry(pairs: Sequence[tuple[str, str]]) -> str:
    """``LEG1 to LEG4 against S1; LEG5 to LEG8 against S2``."""
    against: dict[str, list[str]] = {}
    for label, other in pairs:
        against.setdefault(other, []).append(label)
    return "; ".join(f"{codes_in_row(labels)} against {other}" for other, labels in against.items())


def _with_so_many(way: str, counted: Mapping[int, Sequence[tuple[str, str]]]) -> str:
    """``LEG1 to BLK1 and LEG3 to BLK2 with 2 bolts each``, by how many there are in a joint."""
    groups = []
    for count, pairs in counted.items():
        each = " each" if len(pairs) > 1 else ""
        number = f" with {count} {way}{'s' if count > 1 else ''}{each}" if count else ""
        groups.append(listed([f"{one} to {other}" for one, other in pairs]) + number)
    return listed(groups)


def _nuts(assembly: Assembly, moved: Sequence[str]) -> list[str]:
    """Which parts take the nuts of bolts that come later, into holes that are shut once they stand."""
    held = Counter(one.joins[-1] for one in assembly.fasteners if one.sizes.nut_height > 0)
    by_count: dict[int, list[str]] = {}
    for label in moved:
        if held[label]:
            by_count.setdefault(held[label], []).append(label)
    return [
        f"Before {'they go' if len(own) > 1 else 'it goes'} in, tap {count} nut{'s' if count > 1 else ''} into"
        f" {'each of ' if len(own) > 1 else ''}{codes_in_row(own)}, from the wide side of the holes."
        for count, own in by_count.items()
    ]


def _below_side(assembly: Assembly, label: str, blocking: Blocking) -> float:
    """How far the upper edge of a part lies below that of the side that it is on, mm; nan where it is on none."""
    sides = [j.b for j in assembly.joints if j.a == label and assembly.by_label[j.b].role == SIDE]
    high = blocking.high[:, 2]
    return (
        round(float(high[blocking.number[sides[0]]] - high[blocking.number[label]]), 6) if sides else math.nan
    )


def _glue_up(assembly: Assembly, step: Step) -> list[str]:
    """What goes onto what in the first of each kind, and which others are made just so."""
    kinds = kinds_of_units(assembly, step)
    firsts = {label for kind in kinds for label in kind[0]}
    pairs = [f"{_code(one)} onto {listed(one.onto)}" for one in step.arrivals
             if one.onto and one.parts[0] in firsts]  # fmt: skip
    same = [f"{codes_in_row(other)} as {codes_in_row(kind[0])}" for kind in kinds for other in kind[1:]]
    found = [f"Glue up the {_many(step)}: {listed(pairs)}."]
    return [*found, f"Just so {listed(same)}."] if same else found


def _many(step: Step) -> str:
    return step.role.many if step.role else "parts"


def _in_layers(assembly: Assembly, step: Step) -> bool:
    """Whether all parts that are glued up lie flat on those that they are glued to."""
    faces = {label: assembly.by_label[label].placement.axes[2] for label in step.moved}
    return all(
        abs(float(faces[one.parts[0]] @ faces[onto])) > 0.5 for one in step.arrivals for onto in one.onto
    )


def _put_in(assembly: Assembly, order: AssemblyOrder, number: int, blocking: Blocking, units: Units) -> str:
    step, said = order.steps[number], []
    do = step.role.verb if step.role else "put in"
    base = [one for one in step.arrivals if one.way is None and not one.blocked]
    others = [one for one in step.arrivals if one not in base]
    if base:
        said.append(f"lay {_named(assembly, base)} {_on_blocks(order, number, blocking, units)}")
        do = "set on it" if len(base) == 1 else "set on them"
    groups = [list(group) for _, group in groupby(others, key=lambda one: one.way)]
    kinds = _kinds(assembly, others)
    if len(groups) > 1 and len(kinds) == 1:
        ways = [f"{codes(assembly, group)}{_way(group, step.pose)}" for group in groups]
        said.append(f"{do} the {kinds[0]}: {listed(ways)}")
    elif groups:
        ways = [f"{_named(assembly, group)}{_way(group, step.pose)}" for group in groups]
        said.append(f"{do} {listed(ways)}")
    return f"{capital(listed(said))}."


def _named(assembly: Assembly, arrivals: Sequence[Arrival]) -> str:
    return f"the {listed(_kinds(assembly, arrivals))} {codes(assembly, arrivals)}"


def _way(arrivals: Sequence[Arrival], pose: Pose) -> str:
    way = arrivals[0].way
    return " without a straight way" if way is None else f" {way_words(way, pose)}"


def _on_blocks(order: AssemblyOrder, number: int, blocking: Blocking, units: Units) -> str:
    """How the first part lies, and on how high blocks where others reach past it on the bench's side."""
    step = order.steps[number]
    labels = [label for one in _in_this_pose(order, number) for label in one.moved]
    base, others = blocking.numbers(step.arrivals[0].parts), blocking.numbers(labels)
    if step.pose == "upside-down":
        past = float(blocking.high[others, 2].max() - blocking.high[base, 2].max())
    else:
        past = float(blocking.low[base, 2].min() - blocking.low[others, 2].min())
    lies = "upside down" if step.pose == "upside-down" else "flat"
    if past <= 0:
        return f"{lies} on the bench"
    high = format_size(rounded(past, units, _BLOCKS, "up"), units)
    return f"{lies} on level blocks at least {high} high"


def _in_this_pose(order: AssemblyOrder, number: int) -> list[Step]:
    found = []
    for step in order.steps[number:]:
        if step.kind == "turn-over":
            break
        found.append(step)
    return found


def way_words(way: Direction, pose: Pose) -> str:
    """From where a part comes that moves along a direction, such as "from above"."""
    if way[1] == "z":
        return "from above" if (way == "-z") == (pose == "upright") else "from below"
    return _FROM[way]


def _kind(assembly: Assembly, arrival: Arrival) -> str:
    """What kind of part goes in: "through rib"; of several that are glued up, what they are together."""
    part = assembly.by_label[arrival.parts[0]]
    return part.kind if len(arrival.parts) == 1 else part.role.one


def _kinds(assembly: Assembly, arrivals: Sequence[Arrival]) -> list[str]:
    """What kinds of parts there are, in words: "left side", "through ribs"."""
    found = Counter(_kind(assembly, arrival) for arrival in arrivals)
    return [plural(kind) if count > 1 else kind for kind, count in found.items()]


def _code(arrival: Arrival) -> str:
    return code_of_unit(arrival.parts)


def codes(assembly: Assembly, arrivals: Sequence[Arrival]) -> str:
    """Codes in a row; three and more that follow each other as "R5 to R19"."""
    runs: list[list[Arrival]] = []
    for arrival in arrivals:
        if runs and _follows(_single(assembly, runs[-1][-1]), _single(assembly, arrival)):
            runs[-1].append(arrival)
        else:
            runs.append([arrival])
    words = []
    for run in runs:
        own = [_code(one) for one in run]
        words += [f"{own[0]} to {own[-1]}"] if len(run) > 2 else own
    return listed(words)


def _single(assembly: Assembly, arrival: Arrival) -> Part | None:
    return assembly.by_label[arrival.parts[0]] if len(arrival.parts) == 1 else None


def _follows(before: Part | None, after: Part | None) -> bool:
    """Whether the labels of two parts count on."""
    if before is None or after is None or before.number is None or after.number is None:
        return False
    return before.role.prefix == after.role.prefix and after.number == before.number + 1


def parts_lines(assembly: Assembly, step: Step) -> list[str]:
    """How many of which parts, with their codes."""
    found: dict[str, list[Arrival]] = {}
    for arrival in step.arrivals:
        found.setdefault(_kind(assembly, arrival), []).append(arrival)
    return [f"{len(own)} × {kind}: {codes(assembly, own)}" for kind, own in found.items()]


def steps_document(
    assembly: Assembly,
    order: AssemblyOrder,
    blocking: Blocking,
    units: Units,
    findings: Sequence[Finding] = (),
) -> dict[str, Any]:
    """The steps as a JSON document.

    Parameters
    ----------
    findings : of the check, the gravest first; an error is told before all steps
    """
    errors = [finding.message for finding in findings if finding.severity == "error"]
    return {
        "table": assembly.name,
        "note": PROPOSED,
        "mend_first": errors[0] if errors else None,
        "blocked": list(order.blocked),
        "steps": [
            {
                "number": number + 1,
                "kind": step.kind,
                "title": title_of(assembly, step),
                "words": sentences_of(assembly, order, number, blocking, units),
                "pose": step.pose,
                "new": list(step.new),
                "moves": [
                    {"parts": list(one.parts), "way": one.way, "blocked": one.blocked}
                    for one in step.arrivals
                ],
            }
            for number, step in enumerate(order.steps)
        ],
    }


def steps_text(document: dict[str, Any]) -> str:
    """The same to be read."""
    lines = [f"{document['table']}: {document['note']}"]
    if document["mend_first"] is not None:
        lines.insert(
            0, f"Mend this first, as it is the table cannot be built and used: {document['mend_first']}"
        )
    for step in document["steps"]:
        lines.append(f"{step['number']}. {step['title']}. {' '.join(step['words'])}")
    return "\n".join(lines)
