"""Templates for openings and recesses at full size, for drawing files: cut by machine, or glued up."""

from __future__ import annotations

from collections.abc import Iterator
from textwrap import wrap
from typing import Final

from ..sizes.tolerances import WELD
from ..wood.features.base import Blank, Point
from .job import Job
from .plans import LETTER, OUTLINE, WORDS, Line, Measure, Plan, Sides, line_beside, rounded_rectangle
from .set_ups import Template, cuts_of, template

OPENING: Final = "TEMPLATE"
"""Layer of what the bushing runs along."""

FRAME: Final = 70.0
"""Width of a template around its opening, mm: the router's base stands on it (common practice, no source)."""


def template_plans(job: Job) -> Iterator[Plan]:
    """One for each opening and recess that a template guides, with the bushing and bit that suit it best.

    Where the cut runs out of its board, so does the opening of the template, whose edge is flush with the board's then.
    """
    for number, cut in enumerate(cuts_of(job), 1):
        found = template(job, cut)
        if found is not None:
            yield _plan(job, found, f"{number}-{cut.name.replace(' ', '-')}-{cut.labels[0]}")


def _plan(job: Job, found: Template, name: str) -> Plan:
    cut, pair = found.cut, found.pair
    size = found.length.value, found.spacer.value
    low = tuple(FRAME if walls > 0 else 0.0 for walls in cut.walls)
    high = low[0] + size[0], low[1] + size[1]
    far = tuple(end + (FRAME if walls > 1 else 0.0) for end, walls in zip(high, cut.walls, strict=True))
    sides = cut.walls[1] > 0, cut.walls[0] > 1, cut.walls[1] > 1, cut.walls[0] > 0
    blank = Blank(((0.0, 0.0), (far[0], 0.0), (far[0], far[1]), (0.0, far[1])), 0.0)
    # Square inside corners do: those of the cut come from bushing and bit.
    inside = rounded_rectangle((low[0], low[1]), high, 0.0, sides, OPENING)
    ends: tuple[tuple[Point, Point], ...] = (
        ((low[0], 0.0), (high[0], 0.0)),
        ((0.0, low[1]), (0.0, high[1])),
    )
    printed = found.length.printed, found.spacer.printed
    bushing, bit = job.rule.exact(pair.bushing), job.rule.exact(pair.bit)
    words = (
        f"Template for the {cut.name} of {' '.join(cut.labels)}, {cut.width.printed} × {cut.height.printed}: "
        f"bushing {bushing}, bit {bit}. Measure both, and try it on scrap."
    )
    return Plan(
        name,
        blank,
        (
            *_outline(blank, (low[0], low[1]), high, sides),
            *(one for one in inside if isinstance(one, Line)),
        ),
        (),
        tuple(Measure(axis, *ends[axis], line_beside(blank, axis, 1), printed[axis]) for axis in (0, 1)),
        tuple(wrap(words, int(max(far[0], WORDS) / LETTER))),
        job.units,
    )


def _outline(blank: Blank, low: Point, high: Point, sides: Sides) -> Iterator[Line]:
    """The template's own edges, interrupted where the opening runs out of them."""
    for number, side in enumerate(sides):
        edge = blank.edge(number)
        start, end = blank.outline[number], blank.outline[(number + 1) % 4]
        if side:
            yield Line(OUTLINE, start, end)
            continue
        between = sorted(edge.distance_along(corner) for corner in (low, high))
        for first, last in ((0.0, between[0]), (between[1], edge.length)):
            if last - first > WELD:
                yield Line(OUTLINE, edge.at(first, 0.0), edge.at(last, 0.0))
