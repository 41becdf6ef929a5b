"""What a part sheet says of screws and brads: where they are marked on the board under their heads, what is drilled.

A lead hole is as wide as the screw's root and as deep as its tip goes; pockets are bored until the drill's collar, set
on scrap, meets the jig or the block that guides it (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np

from ..sizes.words import listed
from ..wood.fasteners import Fastener
from ..wood.features import AngledHole
from ..wood.part import Part
from .hardware import diameter_of, drills_of, into_edge
from .job import Job

TRIAL = "Trial on scrap first."
EDGE = "Into a plywood edge only with a lead hole and the plies clamped; the glue carries."


class Mark(NamedTuple):
    """Where a head is marked on the front or back of a board, (u, v) mm."""

    label: str
    u: float
    v: float


def marks_of(job: Job, part: Part) -> tuple[Mark, ...]:
    """The heads in the faces of a board; pockets are features and drawn as those."""
    return tuple(
        Mark(one.label, *_place(part, one))
        for one in job.assembly.fasteners
        if one.joins[0] == part.label and one.kind != "pocket screw" and _through_face(part, one)
    )


def _through_face(part: Part, one: Fastener) -> bool:
    return abs(float(part.placement.axes[2] @ np.asarray(one.direction))) > 0.5


def _place(part: Part, one: Fastener) -> tuple[float, float]:
    """Of the head, from the board's start and lower edge."""
    u, v, _ = part.placement.to_part(np.array([one.start]))[0]
    return float(u) - part.shape.blank.low[0], float(v) - part.shape.blank.low[1]


def notes_of(job: Job, labels: Sequence[str]) -> Iterator[str]:
    """Sentences of all that goes through boards that are alike, board by board; then what holds for all of it."""
    edge, then = False, dict[str, None]()
    same: dict[str, list[str]] = {}
    for label in labels:
        part = job.assembly.by_label[label]
        groups: dict[tuple[str, str, float, float], list[Fastener]] = {}
        for one in job.assembly.fasteners:
            if one.joins[0] == label:
                key = one.kind, one.joins[-1], round(one.sold_length, 6), round(one.sizes.shank, 6)
                groups.setdefault(key, []).append(one)
                edge |= into_edge(job.assembly, one)
        for ones in groups.values():
            words, drilled = (_pocketed if ones[0].kind == "pocket screw" else _through)(job, part, ones)
            into = f" into {ones[0].joins[-1]}" if len(ones[0].joins) > 1 else ""
            same.setdefault(words, []).append(f"{label}{into}")
            then[drilled] = None
    for words, where in same.items():
        yield f"{listed(where)}: {words}."
    yield from filter(None, then)
    if then:
        yield TRIAL
    if edge:
        yield EDGE


def _called(job: Job, ones: Sequence[Fastener]) -> str:
    one = ones[0]
    size = drills_of(one.sizes.shank, job.units)
    thick = size.name if size is not None else diameter_of(job, one.kind, one.sizes.shank)
    count = f"{len(ones)} {one.kind}s" if len(ones) > 1 else one.kind
    return f"{count} {thick} × {job.rule.text(one.sold_length)}"


def _through(job: Job, part: Part, ones: Sequence[Fastener]) -> tuple[str, str]:
    """From which face and where, and what is drilled."""
    one = ones[0]
    toward = float(part.placement.axes[2] @ np.asarray(one.direction))
    face = "front" if toward > 0.5 else "back" if toward < -0.5 else "edge"
    places = [_place(part, each) for each in ones]
    along = _distances(job, (u for u, _ in places), "start")
    up = _distances(job, (v for _, v in places), "lower edge")
    words = f"{_called(job, ones)} from the {face}, {along}, {up}"
    size = drills_of(one.sizes.shank, job.units)
    if size is None or one.kind != "screw":
        return words, ""
    deep = job.rule.text(one.sizes.length - part.shape.thickness)
    return words, f"Screws {size.name}: hole {size.body}, countersunk; lead hole {size.lead}, {deep} deep."


def _distances(job: Job, values: Iterator[float], datum: str) -> str:
    found = list(dict.fromkeys(job.rule.text(value) for value in values))
    return f"{listed(found)} from the {datum}"


def _pocketed(job: Job, part: Part, ones: Sequence[Fastener]) -> tuple[str, str]:
    """Which pocket, and where the collar is set."""
    one = ones[0]
    holes = [hole for hole in part.shape.features if isinstance(hole, AngledHole)]
    face = "front" if float(part.placement.axes[2] @ np.asarray(one.direction)) > 0 else "back"
    words = f"{_called(job, ones)}, pocket in the {face} face"
    if not holes or holes[0].depth is None:
        return words, ""
    stop = job.rule.text(holes[0].depth)
    return words, (f"Collar: step {stop} along the pocket from the face, and your guide's length.")
