"""Dry fits and glue-ups: what is tried before glue, what is measured then, and how much glue at once.

What a glue-up takes is reckoned from the glued joints of a step: so many clamps along each, so much time to spread the
glue and to put the parts in place. What is too much for the clamps or the glue is done in several goes.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

import numpy as np

from ..check.apart.assembly_order import Arrival, AssemblyOrder, Step
from ..check.apart.blocking import opposite
from ..sizes.units import Reading, Units, format_number, rounded
from ..wood.assembly import Assembly
from ..wood.joints import Joint
from ..wood.roles import SIDE
from .figures import Figure
from .hardware import shared_room
from .job import Job

SPREAD: Final = 2000.0
"""Length of joint that is spread with glue in a minute, mm (common practice, no source)."""

PLACED: Final = 0.5
"""Minutes to put a part in place and clamp it (common practice, no source)."""

KEPT_BACK: Final[dict[Units, float]] = {"mm": 5.0, "in": 25.4 * 3 / 16}
"""How far glue is kept back from windows and ways, mm (common practice, no source)."""

_FEELER: Final = Reading(Fraction(1, 20), Fraction(1, 1000), (2, 2), fractions=False)
"""Feeler gauges come in steps of 0.05 mm, or of a thousandth of an inch (common practice, no source)."""


# -- what is measured


@dataclass(frozen=True, eq=False)
class Feeler:
    """What goes in beside a leaf at the tightest place of its way.

    Parameters
    ----------
    thickness : the thickest feeler; None where not even the thinnest goes in
    against : label of the part it comes nearest to there
    near : which face of it, in words
    nose : from the slot's outer face to the leaf's nose then
    lift : how far the leaf can be lifted off its sills
    """

    leaf: str
    thickness: Figure | None
    against: str
    near: str
    nose: Figure
    lift: Figure


def feelers(job: Job) -> tuple[Feeler, ...]:
    """One for each leaf, from the check of the table as rounded."""
    found = []
    for one in job.report.leaves:
        least = rounded(one.clearance, job.units, _FEELER, "down")
        name = f"feeler beside {one.leaf}"
        thickness = Figure(name, least, format_number(least, job.units, _FEELER)) if least > 0 else None
        nose = job.rule.figure(f"nose of {one.leaf} at its tightest place", max(one.travel, 0.0))
        lift = job.rule.measured(f"lift of {one.leaf}", one.vertical_play)
        found.append(Feeler(one.leaf, thickness, one.against, one.near, nose, lift))
    return tuple(found)


def body_diagonal(job: Job) -> Figure | None:
    """From corner to corner of the body, over the outer faces of its sides; None where it has none."""
    sides = job.assembly.with_role(SIDE.word)
    if not sides:
        return None
    low = np.min([part.box[0] for part in sides], axis=0)
    high = np.max([part.box[1] for part in sides], axis=0)
    return job.rule.figure("diagonal of the body", float(np.hypot(*(high - low)[:2])))


def leaf_diagonals(job: Job) -> tuple[tuple[tuple[str, ...], Figure], ...]:
    """Labels of the leaves of one size, and from corner to corner of them."""
    found: dict[tuple[float, float], list[str]] = {}
    for path in job.assembly.stow_paths:
        length, width, _ = job.assembly.by_label[path.leaf].board
        found.setdefault((length, width), []).append(path.leaf)
    return tuple(
        (tuple(labels), job.rule.figure(f"diagonal of {labels[0]}", math.hypot(*size)))
        for size, labels in found.items()
    )


# -- glue-ups


@dataclass(frozen=True, eq=False)
class Go:
    """What is glued at once.

    Parameters
    ----------
    parts : labels
    length : of all joints, mm
    clamps : that they take
    minutes : to spread the glue, put the parts in place and clamp them
    """

    parts: tuple[str, ...]
    length: float
    clamps: int
    minutes: float


@dataclass(frozen=True, eq=False)
class GlueUp:
    """All that is glued at a step.

    Parameters
    ----------
    number : of the step, from 1
    goes : one after the other, each when the one before has set
    leaves : labels of the leaves whose ways the parts bound: slid home before the glue sets, and out again
    """

    number: int
    step: Step
    goes: tuple[Go, ...]
    leaves: tuple[str, ...]

    @property
    def clamps(self) -> int:
        """That the largest go takes."""
        return max(one.clamps for one in self.goes)


def glue_ups(job: Job, order: AssemblyOrder) -> tuple[GlueUp, ...]:
    """Every step at which anything is glued, in order."""
    found = []
    for number, step in enumerate(order.steps):
        there = frozenset(order.before(number)) if step.kind == "put-in" else frozenset[str]()
        goes = tuple(_goes(job, step, there))
        if goes:
            found.append(GlueUp(number + 1, step, goes, ways_beside(job.assembly, step)))
    return tuple(found)


def ways_beside(assembly: Assembly, step: Step) -> tuple[str, ...]:
    """Labels of the leaves whose ways the parts of a step bound, in order."""
    beside = set()
    for label in step.moved:
        part = assembly.by_label[label]
        beside |= {part.of} | {one.leaf for one in (*part.shape.openings, *part.shape.grooves)}
    return tuple(path.leaf for path in assembly.stow_paths if path.leaf in beside)


def _goes(job: Job, step: Step, there: frozenset[str]) -> Iterator[Go]:
    """Arrivals in goes: what is put on from both ends at once is pressed by the same clamps."""
    present, waiting = set(there), Go((), 0.0, 0, 0.0)
    for group in step.units if step.kind == "glue-up" else _together(step.arrivals):
        present |= {label for one in group for label in one.parts}
        own = _go(job, group, present, glued_before=step.kind == "put-in")
        both = Go(
            waiting.parts + own.parts,
            waiting.length + own.length,
            waiting.clamps + own.clamps,
            waiting.minutes + own.minutes,
        )
        if waiting.length and (both.clamps > job.tools.clamps or both.minutes > job.tools.open_time):
            yield waiting
            both = own
        waiting = both
    if waiting.length:
        yield waiting


def _together(arrivals: Sequence[Arrival]) -> Iterator[list[Arrival]]:
    """Arrivals one by one, but those that come from opposite sides in pairs."""
    left = list(arrivals)
    while left:
        one = left.pop(0)
        way = None if one.way is None or one.way[1] == "z" else opposite(one.way)
        other = next((each for each in left if way is not None and each.way == way), None)
        if other is not None:
            left.remove(other)
        yield [one] if other is None else [one, other]


def _go(job: Job, group: Sequence[Arrival], present: set[str], glued_before: bool) -> Go:
    parts = tuple(label for one in group for label in one.parts)
    joints = [
        joint
        for joint in job.assembly.joints
        if joint.fastening == "glue" and {joint.a, joint.b} <= present and {joint.a, joint.b} & {*parts}
        and not (glued_before and _in_one(joint, group))
    ]  # fmt: skip
    length = sum(joint_length(job.assembly, joint) for joint in joints)
    clamps = [_clamps(job, [joint for joint in joints if {joint.a, joint.b} & {*one.parts}]) for one in group]
    minutes = length / SPREAD + PLACED * len(group) if joints else 0.0
    return Go(parts, length, max(clamps), minutes)


def _in_one(joint: Joint, group: Sequence[Arrival]) -> bool:
    """Whether a joint is within what was glued up before."""
    return any({joint.a, joint.b} <= {*one.parts} for one in group)


def joint_length(assembly: Assembly, joint: Joint) -> float:
    """Along a joint, mm: the longer side of where its two boards meet."""
    shared, axis = shared_room(assembly, joint)
    return float(shared[2] if joint.kind == "miter" else np.delete(shared, axis).max())


def _clamps(job: Job, joints: Sequence[Joint]) -> int:
    """Clamps for a part: so many along the longest of its joints that are pressed the same way.

    Ends between other parts are held by these where the part is glued along a face or an edge as well.
    """
    longest: dict[int, float] = {}
    ends = 0.0
    for joint in joints:
        length, axis = joint_length(job.assembly, joint), shared_room(job.assembly, joint)[1]
        if joint.kind == "butt" and joint.part_end is not None:
            ends = max(ends, length)
        else:
            longest[axis] = max(longest.get(axis, 0.0), length)
    lengths = list(longest.values()) or ([ends] if ends else [])
    return sum(math.ceil(one / job.tools.clamp_spacing - 1e-9) for one in lengths)
