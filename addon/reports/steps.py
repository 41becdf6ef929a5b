"""What a step says: a short title, and sentences for whoever builds."""

from __future__ import annotations

import math
import re
from itertools import groupby
from typing import TYPE_CHECKING, Any, Final

from ..sizes.units import MM_PER_INCH, format_size

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from ..check.apart.assembly_order import Arrival, AssemblyOrder, Pose, Step
    from ..check.apart.blocking import Blocking, Direction
    from ..sizes.units import Units
    from ..wood.assembly import Assembly
    from ..wood.part import Role

PROPOSED: Final = "Proposed order; dry-fit before glue."
"""What every sheet of steps says."""

_FROM: Final[dict[Direction, str]] = {
    "+x": "from the left",
    "-x": "from the right",
    "+y": "from the front",
    "-y": "from the back",
}

_DO: Final[dict[Role, str]] = {"side": "put on", "leg": "set in", "leaf": "slide in", "bottom": "put in"}

_TURN: Final = (
    "Let the glue set first. Two people: lift at the sides, not by the legs, and mind fingers and feet."
)


def title_of(assembly: Assembly, step: Step) -> str:
    """What a step is about, such as "Through ribs"."""
    if step.kind == "turn-over":
        return "Turn over" if step.pose == "upright" else "Turn upside down"
    if step.kind == "glue-up":
        return f"Glue up {_plural(str(step.role).replace('_', ' '))}"
    words = listed(_kinds(assembly, step.arrivals))
    return words[0].upper() + words[1:]


def sentences_of(
    assembly: Assembly, order: AssemblyOrder, number: int, blocking: Blocking, units: Units
) -> list[str]:
    """What is to be done at a step, counted from 0, and what to mind."""
    step = order.steps[number]
    if step.kind == "turn-over":
        upright = step.pose == "upright"
        how = "over, onto its feet" if upright and assembly.with_role("leg") else "over"
        return [f"Turn the table {how if upright else 'upside down'}.", _TURN]
    if step.kind == "glue-up":
        return [_glue_up(step), "Check that the ends are flush and the corner is square."]
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
    floors = [part.label for part in assembly.with_role("bottom")]
    grooved = [j.b for j in assembly.joints if j.kind == "groove" and j.a in floors and j.b in step.moved]
    if grooved and set(floors) & set(order.before(number)):
        found.append(f"The bottom panel goes into {'their grooves' if len(grooved) > 1 else 'its groove'}.")
    laid = {j.a for j in assembly.joints if j.b in floors and j.kind in ("face", "butt")}
    if step.role == "rib" and laid & set(step.moved):
        found.append("Mark their places on the bottom panel first.")
    if step.role == "leg" and laid & set(step.moved):
        found.append("Their ends stand on the bottom panel.")
    if step.role == "ledger":
        below = {_below_side(assembly, label, blocking) for label in step.moved}
        if len(below) == 1 and not any(map(math.isnan, below)):
            found += [
                f"Their upper edges lie {format_size(one, units)} below those of the sides." for one in below
            ]
    return found


def _below_side(assembly: Assembly, label: str, blocking: Blocking) -> float:
    """How far the upper edge of a part lies below that of the side that it is on, mm; nan where it is on none."""
    sides = [j.b for j in assembly.joints if j.a == label and assembly.by_label[j.b].role == "side"]
    high = blocking.high[:, 2]
    return (
        round(float(high[blocking.number[sides[0]]] - high[blocking.number[label]]), 6) if sides else math.nan
    )


def _glue_up(step: Step) -> str:
    pairs, base = [], ""
    for arrival in step.arrivals:
        if arrival.way is None and not arrival.blocked:
            base = arrival.parts[0]
        else:
            pairs.append(f"{arrival.parts[0]} onto {base}")
    return f"Glue up the {_plural(str(step.role).replace('_', ' '))}: {listed(pairs)}."


def _put_in(assembly: Assembly, order: AssemblyOrder, number: int, blocking: Blocking, units: Units) -> str:
    step, said = order.steps[number], []
    do = _DO.get(step.role or "rib", "put in")
    base = [one for one in step.arrivals if one.way is None and not one.blocked]
    others = [one for one in step.arrivals if one not in base]
    if base:
        said.append(f"lay {_named(assembly, base)} {_on_blocks(order, number, blocking, units)}")
        do = "set on it" if len(base) == 1 else "set on them"
    groups = [list(group) for _, group in groupby(others, key=lambda one: one.way)]
    kinds = _kinds(assembly, others)
    if len(groups) > 1 and len(kinds) == 1:
        ways = [f"{codes([_code(one) for one in group])}{_way(group, step.pose)}" for group in groups]
        said.append(f"{do} the {kinds[0]}: {listed(ways)}")
    elif groups:
        ways = [f"{_named(assembly, group)}{_way(group, step.pose)}" for group in groups]
        said.append(f"{do} {listed(ways)}")
    words = listed(said)
    return f"{words[0].upper()}{words[1:]}."


def _named(assembly: Assembly, arrivals: Sequence[Arrival]) -> str:
    return f"the {listed(_kinds(assembly, arrivals))} {codes([_code(one) for one in arrivals])}"


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
    fine = 5.0 if units == "mm" else float(MM_PER_INCH) / 4
    high = format_size(fine * math.ceil(past / fine + 1e-9), units)
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


def _kinds(assembly: Assembly, arrivals: Iterable[Arrival]) -> list[str]:
    """What kinds of parts there are, in words: "left side", "through ribs"."""
    found: dict[str, int] = {}
    for arrival in arrivals:
        part = assembly.by_label[arrival.parts[0]]
        kind = re.split(r",| of ", part.name)[0] if len(arrival.parts) == 1 else part.role.replace("_", " ")
        found[kind] = found.get(kind, 0) + 1
    return [_plural(kind) if count > 1 else kind for kind, count in found.items()]


def _plural(kind: str) -> str:
    return f"{kind[:-1]}ves" if kind.endswith("leaf") else f"{kind}s"


def _code(arrival: Arrival) -> str:
    return "+".join(arrival.parts)


def codes(labels: Sequence[str]) -> str:
    """Codes in a row; three and more that follow each other as "R5 to R19"."""
    runs: list[list[str]] = []
    for label in labels:
        if runs and _next(runs[-1][-1]) == label:
            runs[-1].append(label)
        else:
            runs.append([label])
    return listed([one for run in runs for one in ([f"{run[0]} to {run[-1]}"] if len(run) > 2 else run)])


def _next(label: str) -> str:
    found = re.fullmatch(r"(\D+)(\d+)", label)
    return f"{found[1]}{int(found[2]) + 1}" if found else ""


def listed(words: Sequence[str]) -> str:
    """Words in a row: "a, b and c"."""
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else list(words))


def parts_lines(assembly: Assembly, step: Step) -> list[str]:
    """How many of which parts, with their codes."""
    found: dict[str, list[str]] = {}
    for arrival in step.arrivals:
        part = assembly.by_label[arrival.parts[0]]
        kind = re.split(r",| of ", part.name)[0] if len(arrival.parts) == 1 else part.role
        found.setdefault(kind, []).append(_code(arrival))
    return [f"{len(labels)} × {kind}: {codes(labels)}" for kind, labels in found.items()]


def steps_document(
    assembly: Assembly, order: AssemblyOrder, blocking: Blocking, units: Units
) -> dict[str, Any]:
    """The steps as a JSON document."""
    return {
        "table": assembly.name,
        "note": PROPOSED,
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
    for step in document["steps"]:
        lines.append(f"{step['number']}. {step['title']}. {' '.join(step['words'])}")
    return "\n".join(lines)
