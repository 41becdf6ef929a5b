"""Layout of a bottom panel's underside: where the parts below it stand, as it lies upside down on the bench.

back ────────────────────────────┐        Seen from below with the front toward the maker: what is at the table's
│  R4            R3           R1 │        right lies at the left. Lengths run from the corner at the lower left,
│  ┃             ┃            ┃  │        x to the right and y away from the maker, to the near face of each part.
0────────────────────────── front
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import inf
from typing import Final, Literal

import numpy as np

from ..sizes.arrays import Floats
from ..sizes.tolerances import CONTACT
from ..wood.part import Part
from ..wood.roles import BOTTOM, RIB, SIDE
from .figures import Figure
from .job import Job

EDGES: Final = ("from the left edge", "from the front edge")
"""From where lengths along x and along y run, as the panel lies on the bench."""


@dataclass(frozen=True)
class Place:
    """A part on the panel as it lies, mm from its left and front edges.

    Parameters
    ----------
    low, high : corners of its box; of a side, what of it is beyond the panel counts too
    off : from the panel's underside to the part, mm; 0 where the part touches it
    """

    label: str
    name: str
    low: tuple[float, float]
    high: tuple[float, float]
    off: float
    is_rib: bool = False

    def size(self, axis: int) -> float:
        """Along x or y, mm."""
        return self.high[axis] - self.low[axis]

    @property
    def across(self) -> int:
        """The axis along which it is thin: 0 for one that runs away from the maker."""
        return 0 if self.size(0) <= self.size(1) else 1


@dataclass(frozen=True)
class Mark:
    """A line across the panel.

    Parameters
    ----------
    axis : 0 for one that is measured from the left edge, 1 from the front edge
    at : mm
    figure : as printed, of the first of its parts
    beyond, before : labels of the parts whose X stands beyond the line, and of those that end at it
    """

    axis: int
    at: float
    figure: Figure
    beyond: tuple[str, ...]
    before: tuple[str, ...]


@dataclass(frozen=True)
class Layout:
    """A bottom panel's underside.

    Parameters
    ----------
    size : of the panel along x and y, mm
    sides : those that stand around it, by where they lie: front, back, left and right on the bench
    """

    label: str
    size: tuple[float, float]
    sides: dict[Literal["front", "back", "left", "right"], Place]
    places: tuple[Place, ...]
    marks: tuple[Mark, ...]
    runs: tuple[Run, ...] = ()


@dataclass(frozen=True, eq=False)
class Run:
    """A cable below the panel as that lies, mm from its left and front edges.

    Parameters
    ----------
    label, name : of the reserved space
    corners : its ends and corners: from the left edge, from the front edge, from the panel's underside
    line : (n, 2) float, its middle with its bends
    bend : least radius inside its bends
    """

    label: str
    name: str
    diameter: float
    corners: tuple[tuple[float, float, float], ...]
    line: Floats
    bend: float


def layouts(job: Job) -> Iterator[Layout]:
    """One for each bottom panel."""
    for panel in job.assembly.with_role(BOTTOM.word):
        low, high = panel.box
        size = float(high[0] - low[0]), float(high[1] - low[1])
        sides = _sides(job, panel, size)
        floor = min((float(one.box[0][2]) for one in job.assembly.with_role(SIDE.word)), default=-inf)
        own = [one for one in job.assembly.parts if _is_below(one, panel, floor)]
        places = tuple(_place(one, panel) for one in own)
        marks = tuple(_marks(job, places, sides))
        yield Layout(panel.label, size, sides, places, marks, tuple(_runs(job, panel)))


def _is_below(part: Part, panel: Part, floor: float) -> bool:
    """Whether a part stands below a panel within the sides, whose lower edges are at `floor`, mm; what only stands
    below these is placed by other parts."""
    if part.role.slides or part.role.rests or part.role in (SIDE, BOTTOM):
        return False
    low, high = part.box
    start, stop = panel.box
    inside = all(low[axis] < stop[axis] - CONTACT and high[axis] > start[axis] + CONTACT for axis in (0, 1))
    return bool(inside and floor + CONTACT < high[2] <= start[2] + CONTACT)


def _runs(job: Job, panel: Part) -> Iterator[Run]:
    """The cables that run below a panel, or touch it."""
    low, high = panel.box
    for space in job.assembly.reserved:
        entry = space.entry
        if entry.form != "cable":
            continue
        line = space.line
        if (
            not ((line[:, :2] > low[:2]) & (line[:, :2] < high[:2]) & (line[:, 2:] <= low[2]))
            .all(axis=1)
            .any()
        ):
            continue
        corners = tuple(
            (float(high[0]) - x, y - float(low[1]), float(low[2]) - z) for x, y, z in entry.points
        )
        flat = np.stack([high[0] - line[:, 0], line[:, 1] - low[1]], axis=1)
        yield Run(space.label, entry.name, entry.diameter, corners, flat, entry.bend * entry.diameter)


def _place(part: Part, panel: Part) -> Place:
    (low, high), (start, stop) = part.box, panel.box
    off = float(start[2] - high[2])
    return Place(
        part.label,
        part.name,
        (float(stop[0] - high[0]), float(low[1] - start[1])),
        (float(stop[0] - low[0]), float(high[1] - start[1])),
        off if off > CONTACT else 0.0,
        part.role == RIB,
    )


def _sides(
    job: Job, panel: Part, size: tuple[float, float]
) -> dict[Literal["front", "back", "left", "right"], Place]:
    """The side that stands at each edge of the panel."""
    found: dict[Literal["front", "back", "left", "right"], Place] = {}
    for part in job.assembly.with_role(SIDE.word):
        one = _place(part, panel)
        middle = [(one.low[axis] + one.high[axis]) / 2 for axis in (0, 1)]
        if one.across == 0:
            found["left" if middle[0] < size[0] / 2 else "right"] = one
        else:
            found["front" if middle[1] < size[1] / 2 else "back"] = one
    return found


def _marks(job: Job, places: Sequence[Place], sides: dict) -> Iterator[Mark]:
    """Lines for all faces that no other part decides, from the left and then from the front edge."""
    for axis in (0, 1):
        around = [one for one in sides.values() if one.across == axis]
        lines: dict[float, tuple[list[str], list[str]]] = defaultdict(lambda: ([], []))
        for one in around:
            if one.high[axis] <= _middle(places, sides, axis):
                lines[_key(one.high[axis])][1].append(one.label)
            else:
                lines[_key(one.low[axis])][0].append(one.label)
        for one in places:
            for at, is_end in _faces(one, axis, places, list(sides.values())):
                lines[_key(at)][is_end].append(one.label)
        for at, (beyond, before) in sorted(lines.items()):
            own = _figure(job, axis, at)
            part = (beyond or before)[0]
            yield Mark(axis, at, Figure(own.name, own.value, own.printed, part), tuple(beyond), tuple(before))


def _middle(places: Sequence[Place], sides: dict, axis: int) -> float:
    ends = [(one.low[axis], one.high[axis]) for one in (*places, *sides.values())]
    return (min(low for low, _ in ends) + max(high for _, high in ends)) / 2


def _key(at: float) -> float:
    """Lines nearer to each other than a thousandth are one."""
    return round(at, 3) + 0.0


def _figure(job: Job, axis: int, at: float) -> Figure:
    """From an edge; halfway between two divisions it goes up, on the drawing as in the list."""
    return job.rule.figure(EDGES[axis], _key(at) + _HALFWAY)


_HALFWAY: Final = 1e-3
"""More than what lines that are one lie apart, mm."""


def _faces(
    one: Place, axis: int, places: Sequence[Place], sides: Sequence[Place]
) -> Iterator[tuple[float, bool]]:
    """The faces of a part that are marked, and whether it ends there.

    Ribs are marked by their near face. Anything else is, where neither of its faces lies on another part; along its
    length, either end is marked where none of the two stands against anything.
    """
    others = [other for other in (*places, *sides) if other is not one]
    low, high = _touches(one, axis, others)
    if one.across == axis:
        beside = [other for other in others if other.is_rib or other in sides]
        if one.is_rib or not any(_touches(one, axis, beside)):
            yield one.low[axis], False
    elif not (low or high):
        yield one.low[axis], False
        yield one.high[axis], True


def _touches(one: Place, axis: int, others: Sequence[Place]) -> tuple[bool, bool]:
    """Whether the near and the far face of a part lie on others."""
    low = high = False
    for other in others:
        if (
            other.low[1 - axis] < one.high[1 - axis] - CONTACT
            and one.low[1 - axis] < other.high[1 - axis] - CONTACT
        ):
            low |= abs(other.high[axis] - one.low[axis]) <= _JOINT
            high |= abs(other.low[axis] - one.high[axis]) <= _JOINT
    return low, high


_JOINT: Final = 0.05
"""Faces nearer to each other than this, mm, stand against each other: a size that was rounded leaves no more."""


def ends_of(job: Job, one: Place) -> tuple[tuple[Figure, Figure | None], tuple[Figure, Figure | None]]:
    """From the left and from the front edge: the near face of a part, and along its length where it ends."""
    found = []
    for axis in (0, 1):
        low, high = (_figure(job, axis, ends[axis]) for ends in (one.low, one.high))
        start = Figure(low.name, low.value, low.printed, one.label)
        stop = Figure(f"{high.name}, to", high.value, high.printed, one.label)
        found.append((start, None if one.across == axis else stop))
    return found[0], found[1]


def of_run(job: Job, run: Run) -> list[tuple[Figure, Figure, Figure]]:
    """From the left edge, from the front edge and below the panel: each end and corner of a cable."""
    found = []
    for corner in run.corners:
        x, y, off = (
            job.rule.figure(name, at) for name, at in zip((*EDGES, "below the panel"), corner, strict=True)
        )
        found.append((x, y, off))
    return found


def off_panel(job: Job, one: Place) -> Figure | None:
    """How far below the panel a part begins; None where it touches it."""
    if not one.off:
        return None
    own = job.rule.figure("below the panel", one.off)
    own = own if own.value > 0 else job.rule.measured("below the panel", one.off)
    return Figure(own.name, own.value, own.printed, one.label)
