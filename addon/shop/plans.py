"""A part's lines, or a template's, at full size in its own frame, by what cuts them: for drawing files that machines
and others read.

u runs to the right and v up, so that the back face is seen. Arcs are arcs.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import hypot
from textwrap import wrap

from ..sizes.tolerances import WELD
from ..sizes.units import MM_PER_INCH, Units
from ..wood.features import AngledHole, Bevel, EdgeTreatment, Feature, Groove, Hole, Opening, Taper
from ..wood.features.base import Blank, Point
from .job import Job
from .part_sheets import Entry, PartSheet, part_sheets

OUTLINE = "OUTLINE"
TEXT = "TEXT"
DIMENSIONS = "DIMENSION"

WORDS = 150.0
"""What lines of words below a part take at least, mm."""

LETTER = 3.7
"""What one letter takes, mm, of those that are 5 mm high."""

Sides = tuple[bool, bool, bool, bool]
"""Whether there is wood below, right of, above and left of an opening."""


@dataclass(frozen=True)
class Line:
    """From one point to another, mm."""

    layer: str
    start: Point
    end: Point


@dataclass(frozen=True)
class Arc:
    """Counter-clockwise from one angle to another, degrees; all around from 0 to 360."""

    layer: str
    center: Point
    radius: float
    first: float = 0.0
    last: float = 360.0

    @property
    def whole(self) -> bool:
        """Whether it is a circle."""
        return self.last - self.first >= 360.0


@dataclass(frozen=True)
class Measure:
    """A dimension along u (axis 0) or v: what it measures, where its line stands, mm, and what is printed."""

    axis: int
    start: Point
    end: Point
    at: float
    printed: str


@dataclass(frozen=True, eq=False)
class Plan:
    """One kind of part, or one template.

    Parameters
    ----------
    name : of its file: of a part the label of the first
    blank : what it is cut from
    lines, arcs : by layers
    measures : its dimensions between two edges
    words : what stands below it, in lines of its length or `WORDS`
    units : of the file
    """

    name: str
    blank: Blank
    lines: tuple[Line, ...]
    arcs: tuple[Arc, ...]
    measures: tuple[Measure, ...]
    words: tuple[str, ...]
    units: Units

    @property
    def layers(self) -> tuple[str, ...]:
        """All that anything stands on, the outline first."""
        found = dict.fromkeys(one.layer for one in (*self.lines, *self.arcs))
        return (*found, DIMENSIONS, TEXT)

    @property
    def per_unit(self) -> float:
        """mm in the file's unit."""
        return float(MM_PER_INCH) if self.units == "in" else 1.0


def plans(job: Job) -> Iterator[Plan]:
    """One for each kind of part, as printed."""
    for sheet in part_sheets(job):
        yield plan_of(job, sheet)


def plan_of(job: Job, sheet: PartSheet) -> Plan:
    """The plan of one kind of part."""
    blank = sheet.shape.blank
    lines: list[Line] = []
    arcs: list[Arc] = []
    for number in range(len(blank.outline)):
        lines.append(Line(OUTLINE, blank.outline[number], blank.outline[(number + 1) % len(blank.outline)]))
    for feature in sheet.shape.features:
        for one in _drawn(feature, blank, job.units):
            if isinstance(one, Line):
                lines.append(one)
            else:
                arcs.append(one)
    stock = sheet.part.stock
    words = [f"{' '.join(sheet.labels)}: {sheet.name}, {stock.name}, seen on the back face"]
    words += [
        f"{one.letter} {one.words}: "
        + "; ".join(
            f"{entry.words} {entry.figure.printed}" for entry in sheet.entries if entry.letter == one.letter
        )
        for one in sheet.features
    ]
    letters = int(max(sheet.shape.size[0], WORDS) / LETTER)
    words = [line for one in words for line in wrap(one, letters)]
    return Plan(
        sheet.labels[0], blank, tuple(lines), tuple(arcs), tuple(_measures(sheet)), tuple(words), job.units
    )


# -- what is cut


def _drawn(feature: Feature, blank: Blank, units: Units) -> Iterator[Line | Arc]:
    if isinstance(feature, Opening):
        yield from _opening(feature, blank, units)
    elif isinstance(feature, Groove):
        yield from _groove(feature, blank, units)
    elif isinstance(feature, Hole):
        yield from _hole(feature, units)
    elif isinstance(feature, EdgeTreatment):
        name = feature.kind.replace("-", "_").upper()
        layer = f"{name}_{_size(feature.size, units)}_{feature.face.upper()}"
        yield _along(blank, feature.edge, feature.size, layer, feature.start, feature.stop)
    elif isinstance(feature, Bevel):
        layer = f"BEVEL_{round(feature.angle(blank.thickness), 1):g}"
        for inset in (feature.front_inset, feature.back_inset):
            if inset > WELD:
                yield _along(blank, feature.edge, inset, layer)
    elif isinstance(feature, Taper):
        layer = f"TAPER_{_size(feature.amount, units)}_{feature.face.upper()}"
        yield _along(blank, feature.edge, feature.length, layer)
    elif isinstance(feature, AngledHole):
        (u, v, _), (du, dv, _), *_ = feature.axis(blank)
        reach = feature.depth or feature.inset
        yield Arc("HOLE_ANGLED", (u, v), feature.diameter / 2)
        yield Line("HOLE_ANGLED", (u, v), (u + du * reach, v + dv * reach))


def _size(mm: float, units: Units) -> str:
    """A size within the name of a layer, in the file's unit."""
    return f"{round(mm / (float(MM_PER_INCH) if units == 'in' else 1.0), 4):g}"


def _opening(feature: Opening, blank: Blank, units: Units) -> Iterator[Line | Arc]:
    (left, right), (lower, upper) = feature.walls
    sides = (lower, right, upper, left)
    yield from _frame(feature, blank, sides, 0.0, feature.kind.upper())
    for face, size in (("FRONT", feature.front_chamfer), ("BACK", feature.back_chamfer)):
        if size > 0:
            yield from _frame(feature, blank, sides, size, f"CHAMFER_{_size(size, units)}_{face}")


def _frame(feature: Opening, blank: Blank, sides: Sides, out: float, layer: str) -> Iterator[Line | Arc]:
    """An opening's edge, moved outward."""
    lower, right, upper, left = sides
    low = feature.u0 - out if left else blank.low[0], feature.v0 - out if lower else blank.low[1]
    high = feature.u1 + out if right else blank.high[0], feature.v1 + out if upper else blank.high[1]
    radius = feature.corner_radius + out if feature.corner_radius > 0 else 0.0
    yield from rounded_rectangle(low, high, radius, sides, layer)


def rounded_rectangle(
    low: Point, high: Point, radius: float, sides: Sides, layer: str
) -> Iterator[Line | Arc]:
    """A rectangle's sides that are there, with round corners where two of them meet."""
    corners = (low, (high[0], low[1]), high, (low[0], high[1]))
    round_at = [radius if sides[k - 1] and sides[k] else 0.0 for k in range(4)]
    for k, side in enumerate(sides):
        (u, v), (u1, v1) = corners[k], corners[(k + 1) % 4]
        length = hypot(u1 - u, v1 - v)
        before, after = round_at[k], round_at[(k + 1) % 4]
        du, dv = (u1 - u) / length, (v1 - v) / length
        if side and length - before - after > WELD:
            yield Line(layer, (u + du * before, v + dv * before), (u1 - du * after, v1 - dv * after))
        if before > WELD:
            center = u + before * (1 if k in (0, 3) else -1), v + before * (1 if k in (0, 1) else -1)
            first = (180.0, 270.0, 0.0, 90.0)[k]
            yield Arc(layer, center, before, first, first + 90.0)


def _groove(feature: Groove, blank: Blank, units: Units) -> Iterator[Line | Arc]:
    """Its sides, and its ends where it stops within the board."""
    layer = f"{feature.kind.upper() if not feature.holds else 'GROOVE'}_{_size(feature.depth, units)}"
    layer += "_FRONT" if feature.face == "front" else ""
    spans = feature.spans
    low = max(spans[0][0], blank.low[0]), max(spans[1][0], blank.low[1])
    high = min(spans[0][1], blank.high[0]), min(spans[1][1], blank.high[1])
    inside = (
        [spans[k][0] > blank.low[k] + WELD for k in (0, 1)],
        [spans[k][1] < blank.high[k] - WELD for k in (0, 1)],
    )
    sides = (inside[0][1], inside[1][0], inside[1][1], inside[0][0])
    yield from rounded_rectangle(low, high, feature.end_radius, sides, layer)


def _hole(feature: Hole, units: Units) -> Iterator[Arc]:
    center = feature.u, feature.v
    depth = "" if feature.depth is None else f"_{_size(feature.depth, units)}_{feature.face.upper()}"
    yield Arc(f"HOLE{depth}", center, feature.diameter / 2)
    if feature.counterbore_diameter > 0:
        layer = f"COUNTERBORE_{_size(feature.counterbore_depth, units)}_{feature.face.upper()}"
        yield Arc(layer, center, feature.counterbore_diameter / 2)
    if feature.countersink_diameter > 0:
        layer = f"COUNTERSINK_{feature.countersink_angle:g}_{feature.face.upper()}"
        yield Arc(layer, center, feature.countersink_diameter / 2)


def _along(
    blank: Blank, number: int, inset: float, layer: str, start: float | None = None, stop: float | None = None
) -> Line:
    """A line along an edge, some inset into the wood."""
    edge = blank.edge(number)
    first, last = 0.0 if start is None else start, edge.length if stop is None else stop
    return Line(layer, edge.at(first, inset), edge.at(last, inset))


# -- dimensions


def _measures(sheet: PartSheet) -> Iterator[Measure]:
    """Those along u below the part, those along v left of it, the shorter ones nearer."""
    blank = sheet.shape.blank
    for axis in (0, 1):
        mine: Sequence[Entry] = [
            one for one in sheet.entries if one.span is not None and one.span.axis == axis
        ]

        def length(one: Entry) -> float:
            assert one.span is not None
            return one.span.high - one.span.low

        for tier, one in enumerate(sorted(mine, key=length), 1):
            span = one.span
            assert span is not None
            beside = span.beside[0]
            ends = (span.low, beside), (span.high, beside)
            if axis == 1:
                ends = (beside, span.low), (beside, span.high)
            yield Measure(axis, ends[0], ends[1], line_beside(blank, axis, tier), one.figure.printed)


def line_beside(blank: Blank, axis: int, tier: int) -> float:
    """Where the line of a dimension along an axis stands on the other, the first nearest to the board, mm."""
    return blank.low[1 - axis] - 12.0 * tier - 8.0
