"""Set-ups: the numbers to which saw, templates, fences and bits are set for this table, with what is in the drawer.

Each distinct cut is one record, with the labels of the parts that have it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Final

from ..sizes.tolerances import CONTACT
from ..sizes.units import MM_PER_INCH, Units
from ..wood.features import EdgeTreatment, Groove, Opening
from ..wood.part import Part
from ..wood.roles import BOTTOM, SIDE
from .cut_list import exact
from .figures import Figure
from .job import Job
from .router import STRAIGHT, Pair, beside_fence, fence_settings, passes, short_in_corner

_INCH: Final = float(MM_PER_INCH)
BUSHINGS: Final[dict[Units, tuple[float, ...]]] = {
    "mm": (17.0, 24.0, 30.0),
    "in": (0.625 * _INCH, 0.75 * _INCH, _INCH),
}
"""Bushings of a drawer of which nothing is said, outer diameters (common sizes, no source)."""
BITS: Final[dict[Units, tuple[float, ...]]] = {
    "mm": (6.0, 8.0, 12.0),
    "in": (0.25 * _INCH, 0.375 * _INCH, 0.5 * _INCH),
}
"""Straight bits of a drawer of which nothing is said, diameters (common sizes, no source)."""

PATTERN: Final = 3
"""Of so many parts alike one is cut as a pattern for the others."""


def bits_of(job: Job) -> tuple[float, ...]:
    """Straight bits in the drawer, thin to thick."""
    return tuple(sorted(job.tools.bits or BITS[job.units]))


def pairs_of(job: Job) -> tuple[Pair, ...]:
    """Every bushing with every bit of the drawer."""
    bushings = sorted(job.tools.bushings or BUSHINGS[job.units])
    return tuple(Pair(bushing, bit) for bushing in bushings for bit in bits_of(job))


def straightedge(job: Job) -> tuple[tuple[float, Figure, Figure], ...]:
    """Bit → from the straightedge to the near and to the far edge of its cut."""
    found = []
    for bit in bits_of(job):
        near, far = beside_fence(job.tools.base_edge, bit)
        found.append(
            (bit, exact(job, "straightedge to near edge", near), exact(job, "straightedge to far edge", far))
        )
    return tuple(found)


# -- openings


@dataclass(frozen=True, eq=False)
class Cut:
    """An opening or recess that a template guides, and all that have its size.

    Parameters
    ----------
    kind : ``slot``, ``window``, ``notch``, ``tray recess``, ``pull recess``
    width, height, radius : as printed; None for corners that are square
    walls : along the width and along the height, how many of its two sides are wood
    depth : mm; that of the board where it goes through
    through : whether it does
    """

    kind: str
    labels: tuple[str, ...]
    width: Figure
    height: Figure
    radius: Figure | None
    walls: tuple[int, int]
    depth: float
    through: bool

    @property
    def name(self) -> str:
        """In words: ``slot``; a window that runs out of its board is a notch there."""
        return "notch" if self.through and self.walls != (2, 2) else self.kind

    @property
    def sizes(self) -> tuple[tuple[Figure, int], ...]:
        """Width and height, each with how many of its two sides are wood."""
        return (self.width, self.walls[0]), (self.height, self.walls[1])

    def lacks(self, pair: Pair) -> str:
        """Why a pair cannot cut it, in words; "" where it can."""
        if not pair.fits:
            return "the bit does not pass through the bushing"
        narrow = min((size.value for size, walls in self.sizes if walls == 2), default=pair.bit)
        if narrow < pair.bit - CONTACT:
            return f"the {self.name} is narrower than the bit"
        if self.radius is not None and pair.corner() > self.radius.value + CONTACT:
            return f"corners come out rounder than the {self.name} asks for"
        return ""


def cuts_of(job: Job) -> tuple[Cut, ...]:
    """Every distinct opening and recess, slots first."""
    found: dict[tuple[object, ...], Cut] = {}
    for part in job.assembly.parts:
        for number, feature in enumerate(part.shape.features):
            one = _cut(job, part, number, feature)
            if one is None:
                continue
            sizes = (one.width.printed, one.height.printed, one.radius and one.radius.printed)
            key = one.kind, one.name, *sizes, one.walls, round(one.depth, 6), one.through
            old = found.get(key)
            labels = (one.labels[0],) if old is None else (*old.labels, *one.labels)
            found[key] = replace(old or one, labels=tuple(dict.fromkeys(labels)))
    return tuple(
        sorted(found.values(), key=lambda one: (not one.through, one.kind != "slot", one.walls != (2, 2)))
    )


def _cut(job: Job, part: Part, number: int, feature: object) -> Cut | None:
    if isinstance(feature, Opening):
        names = {name: feature.named(name) for name in ("width", "height", "corner_radius")}
        walls = tuple(sum(both) for both in feature.walls)
        figures = _figures(job, part, number)
        return Cut(
            feature.kind, (part.label,), figures[names["width"]], figures[names["height"]],
            figures.get(names["corner_radius"]), (walls[0], walls[1]), part.shape.thickness, True,
        )  # fmt: skip
    if isinstance(feature, Groove) and feature.kind in ("tray", "pull"):
        (u0, u1), (v0, v1) = feature.spans
        blank = part.shape.blank
        inside = tuple(
            int(low > blank.low[axis] + CONTACT) + int(high < blank.high[axis] - CONTACT)
            for axis, (low, high) in enumerate(feature.spans)
        )
        rim = max((strip.height for strip in part.strips), default=0.0)
        radius = None
        if feature.end_radius > 0:
            radius = exact(job, f"{feature.kind} recess: corner radius", feature.end_radius, part.label)
        sizes = (("length", u1 - u0), ("width", v1 - v0))
        long, wide = (exact(job, f"{feature.kind} recess: {name}", mm, part.label) for name, mm in sizes)
        return Cut(
            f"{feature.kind} recess", (part.label,), long, wide, radius, (inside[0], inside[1]),
            feature.depth - rim, False,
        )  # fmt: skip
    return None


def _figures(job: Job, part: Part, number: int) -> dict[str, Figure]:
    """Name of a dimension → what is printed for it, of one feature of a part."""
    drawn = job.drawn.by_label[part.label]
    return {
        one.name: job.rounded.figure(drawn, one) for one in drawn.shape.dimensions if one.number == number
    }


@dataclass(frozen=True, eq=False)
class Template:
    """What a template for a cut is made to, with one pair.

    Parameters
    ----------
    length, spacer : the opening's sizes along the width and the height of the cut: from spacer to spacer, and the width
        of each spacer, which is sawn at one setting of the fence; of a notch from the strip to the board's edge
    """

    cut: Cut
    pair: Pair
    length: Figure
    spacer: Figure
    bit_at_hand: bool = True


def template(job: Job, cut: Cut) -> Template | None:
    """The template for a cut with the pair that suits it best; None where no bushing takes a bit that could cut it.

    The thickest bit that leaves the corners asked for, and the smallest bushing that takes it. Where no such bit is in
    the drawer, the template is for the thickest that would do.
    """
    able = [pair for pair in pairs_of(job) if not cut.lacks(pair)]
    at_hand = bool(able)
    if not able:
        widest = max(bits_of(job)) if cut.radius is None else 2 * cut.radius.value
        bit = min([widest, *(size.value for size, walls in cut.sizes if walls == 2)])
        able = [Pair(one.bushing, bit) for one in pairs_of(job) if not cut.lacks(Pair(one.bushing, bit))]
    if not able:
        return None
    pair = max(able, key=lambda one: (one.bit, -one.bushing))
    length, spacer = (
        exact(job, f"template for the {cut.name}: {name}", pair.inside(size.value, walls), size.part)
        for (size, walls), name in zip(cut.sizes, ("width", "height"), strict=True)
    )
    return Template(cut, pair, length, spacer, at_hand)


@dataclass(frozen=True)
class Pattern:
    """One of several parts that are alike, cut first, along which a bit with a bearing trims the others."""

    first: str
    others: tuple[str, ...]


def patterns(job: Job) -> tuple[Pattern, ...]:
    """Where three or more parts that are alike have openings."""
    return tuple(
        Pattern(kind.first[0], tuple(member[0] for member in kind.members[1:]))
        for kind in job.kinds
        if kind.count >= PATTERN and job.assembly.by_label[kind.first[0]].shape.openings
    )


# -- grooves


@dataclass(frozen=True, eq=False)
class GrooveCut:
    """A groove in several parts, and how fence and bit are set for it.

    Parameters
    ----------
    height : from the reference edge to the groove, as printed
    bit : diameter, mm; None where none in the drawer is thin enough
    settings : fence to the near edge of the bit, pass by pass, those that the rule tells apart
    depths : pass by pass
    ends : where it starts and stops, from the start, as printed; of each part that stops short
    """

    labels: tuple[str, ...]
    edge: str
    height: Figure
    width: Figure
    depth: Figure
    bit: float | None
    settings: tuple[Figure, ...]
    depths: tuple[Figure, ...]
    ends: tuple[Figure, ...]


def grooves_of(job: Job) -> tuple[GrooveCut, ...]:
    """Every distinct groove, dado and rabbet that another part sits in, in order."""
    found: dict[tuple[object, ...], GrooveCut] = {}
    for part in job.assembly.parts:
        for number, feature in enumerate(part.shape.features):
            if not isinstance(feature, Groove) or not feature.holds:
                continue
            figures = _figures(job, part, number)
            if "groove_width" not in figures:
                continue
            one = _groove(job, part, feature, figures)
            key = one.edge, *(size.printed for size in (one.height, one.width, one.depth, *one.ends)), one.bit
            old = found.get(key)
            found[key] = one if old is None else replace(old, labels=(*old.labels, *one.labels))
    return tuple(found.values())


def _groove(job: Job, part: Part, feature: Groove, figures: dict[str, Figure]) -> GrooveCut:
    width, depth = figures["groove_width"], figures["groove_depth"]
    edge = "lower edge" if feature.along == "u" else "start"
    height = figures.get("groove_offset") or exact(job, "rabbet: from the edge", 0.0, part.label)
    stopped = [figures[name] for name in ("groove_start", "groove_stop") if name in figures]
    bit = groove_bit(bits_of(job), width.value, feature.end_radius if stopped else 0.0)
    wanted = () if bit is None else fence_settings(height.value, width.value, bit)
    settings = {one.printed: one for one in (_fence(job, part, k, mm) for k, mm in enumerate(wanted))}
    return GrooveCut(
        (part.label,), edge, height, width, depth, bit,
        tuple(settings.values()),
        tuple(
            exact(job, f"groove depth, pass {k}", mm, part.label)
            for k, mm in enumerate(passes(depth.value, job.tools.pass_depth), 1)
        ),
        tuple(stopped),
    )  # fmt: skip


def _fence(job: Job, part: Part, number: int, mm: float) -> Figure:
    """Fence to bit: the first from the edge as printed; the others, which the test piece decides, not too far back."""
    name = f"fence to bit, pass {number + 1}"
    if number == 0:
        return exact(job, name, mm, part.label)
    return replace(job.rule.figure(name, mm, "down"), part=part.label)


def groove_bit(bits: Iterable[float], width: float, end_radius: float) -> float | None:
    """The thickest bit that a groove takes; where its ends stay round, none that leaves them rounder than drawn."""
    most = min(width, 2 * end_radius) if end_radius > 0 else width
    return max((bit for bit in bits if bit <= most + CONTACT), default=None)


def spacer(job: Job) -> Figure | None:
    """What holds the bottom panel, lying upside down, at the height of its grooves while the sides stand on the bench.

    It is set from the wood: from a side's upper edge to the upper wall of its groove.
    """
    panels = [part for part in job.assembly.parts if part.role == BOTTOM]
    sides = [part for part in job.assembly.parts if part.role == SIDE]
    if not panels or not sides:
        return None
    height = max(float(side.box[1][2]) for side in sides) - max(float(panel.box[1][2]) for panel in panels)
    return job.rule.measured("spacer block under the bottom panel", height) if height > CONTACT else None


# -- chamfers and round-overs


@dataclass(frozen=True, eq=False)
class EdgeCut:
    """A chamfer or round-over of one size on one kind of edge.

    Parameters
    ----------
    where : in words: ``slots``, ``ends of leaves``
    size : as printed
    straight : straight wood that the bearing finds when the second face is cut, mm
    corner : of the openings, what the chamfer is short of in their inside corners, mm; 0 elsewhere
    low : whether the bearing is too large for the opening
    """

    kind: str
    where: str
    labels: tuple[str, ...]
    size: Figure
    straight: Figure
    corner: Figure | None
    low: bool

    @property
    def bearing_runs(self) -> bool:
        """Whether it runs there on both faces."""
        return self.straight.value >= STRAIGHT - CONTACT and not self.low


def edge_cuts(job: Job) -> tuple[EdgeCut, ...]:
    """Every distinct chamfer and round-over, by kind and size."""
    found: dict[tuple[object, ...], EdgeCut] = {}
    for part in job.assembly.parts:
        for one in _edge_cuts(job, part):
            key = (
                one.kind,
                one.where,
                one.size.printed,
                one.straight.printed,
                one.corner and one.corner.printed,
                one.low,
            )
            old = found.get(key)
            labels = one.labels if old is None else (*old.labels, *one.labels)
            found[key] = replace(old or one, labels=tuple(dict.fromkeys(labels)))
    return tuple(sorted(found.values(), key=lambda one: (one.kind, -one.size.value, one.where)))


def _edge_cuts(job: Job, part: Part) -> Iterator[EdgeCut]:
    thickness = part.shape.thickness
    for number, feature in enumerate(part.shape.features):
        if isinstance(feature, Opening):
            straight = thickness - feature.front_chamfer - feature.back_chamfer
            sizes = [
                size
                for wall, size in zip(
                    feature.walls, (feature.u1 - feature.u0, feature.v1 - feature.v0), strict=True
                )
                if all(wall)
            ]
            low = bool(sizes) and min(sizes) < job.tools.bearing - CONTACT
            figures = _figures(job, part, number)
            for face in ("front_chamfer", "back_chamfer"):
                size = figures.get(f"{feature.kind}_{face}")
                if size is not None:
                    short = min(short_in_corner(job.tools.bearing, feature.corner_radius), size.value)
                    yield _edge(job, part, "chamfer", f"{feature.kind}s", size, straight, short, low)
        elif isinstance(feature, EdgeTreatment):
            depth = sum(cut.depth for cut in part.shape.edge_cuts if cut.edge == feature.edge)
            where = part.shape.blank.edge_words(feature.edge)
            along = "ends" if where in ("start", "end") else "long edges"
            size = _figures(job, part, number)[f"{feature.kind.replace('-', '_')}_size"]
            yield _edge(
                job, part, feature.kind, f"{along} of {part.role.many}", size, thickness - depth, None, False
            )


def _edge(
    job: Job, part: Part, kind: str, where: str, size: Figure, straight: float, short: float | None, low: bool
) -> EdgeCut:
    return EdgeCut(
        kind, where, (part.label,), size,
        job.rule.measured("straight wood for the bearing", max(straight, 0.0)),
        None if short is None or short <= CONTACT else job.rule.measured("chamfer smaller in corners", short),
        low,
    )  # fmt: skip
