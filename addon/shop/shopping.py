"""The shopping list: what has to be in the shop before the first cut, and how much of it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from ..sizes.units import Units
from ..sizes.words import codes_in_row
from ..wood.features import EdgeTreatment, Groove, Hole, Opening
from ..wood.part import Part
from ..wood.roles import SIDE
from .boards import SawnStock, sawn_stocks
from .dry_fits import GlueUp, glue_ups
from .figures import Figure
from .hardware import hardware
from .job import Job
from .labels import grid_of, tags
from .set_ups import patterns

_SAME: Final = 1e-3
"""Sizes of tools that differ by less are one, mm."""


@dataclass(frozen=True, eq=False)
class Want:
    """One line of the list.

    Parameters
    ----------
    name : what it is
    count : how many, or how much with its unit
    size : in words, the printed texts of `figures` among them
    note : what it is for, what to look at in the store
    figures : numbers that are printed in it
    """

    name: str
    count: str
    size: str
    note: str
    figures: tuple[Figure, ...] = ()


def shopping_list(job: Job) -> tuple[tuple[str, tuple[Want, ...]], ...]:
    """What is wanted, under headings; those that nothing is wanted of are left out."""
    stocks = sawn_stocks(job)
    groups = (
        ("Sheets", _sheets(job, stocks)),
        ("Hardware, glue and finish", _hardware(job)),
        ("Router bits, bushings and drills", (*_straight_bits(job), *_edge_bits(job), *_drills(job))),
        ("Clamps and measuring", (*_clamps(job, glue_ups(job, job.order)), _feelers(job))),
        ("Paper", (_labels(job),)),
    )
    found = ((heading, tuple(wanted)) for heading, wanted in groups)
    return tuple(one for one in found if one[1])


def _sheets(job: Job, stocks: Iterable[SawnStock]) -> Iterator[Want]:
    """How many of each, as sold, and the thickness that this set is made for."""
    for one in stocks:
        own, rule = one.stock, job.rule
        size = rule.figure("sheet length", own.sheet_length), rule.figure("sheet width", own.sheet_width)
        thick = rule.measured("thickness of the sheet", own.sheet_thickness)
        nominal = _exact(job, "thickness as sold", own.nominal)
        sold = f"{size[0].printed} × {size[1].printed}, sold as {nominal.printed}"
        known = (
            "measure it: this set is for" if own.measured is not None else "not measured yet: this set is for"
        )
        bound = f"; at least {one.bound}" if one.bound < len(one.sheets) else ""
        large = f"; no sheet is large enough for {codes_in_row(one.too_large)}" if one.too_large else ""
        yield Want(
            own.name,
            f"{len(one.sheets)}",
            sold,
            f"{known} {thick.printed}{bound}{large}",
            (*size, nominal, thick),
        )


def _hardware(job: Job) -> Iterator[Want]:
    for one in hardware(job):
        words = [one.size, f"× {one.length.printed}" if one.size and one.length else ""]
        if one.length is not None and not one.size:
            words = [one.length.printed]
        figures = () if one.length is None else (one.length,)
        count = one.amount if one.count is None else f"{one.count}"
        yield Want(one.name, count, " ".join(word for word in words if word), one.note, figures)


# -- the router's drawer


def _by_size(parts: Iterable[tuple[float, str]]) -> dict[float, list[str]]:
    """Size, mm → labels of the parts that need it, small to large."""
    sizes: dict[float, float] = {}
    found: dict[float, list[str]] = {}
    for size, label in parts:
        found.setdefault(sizes.setdefault(round(size, 3), size), []).append(label)
    return dict(sorted(found.items()))


def _features(job: Job, kind: type) -> Iterator[tuple[Part, object]]:
    for part in job.assembly.parts:
        for feature in part.shape.features:
            if type(feature) is kind:
                yield part, feature


def _exact(job: Job, name: str, mm: float) -> Figure:
    """The size of a tool, which is never rounded."""
    return Figure(name, mm, job.rule.exact(mm))


def _straight_bits(job: Job) -> Iterator[Want]:
    """For slots and windows one no wider than their corners are round; for grooves one that leaves their ends."""
    corners = _by_size(
        (2 * one.corner_radius, part.label)
        for part, one in _features(job, Opening)
        if isinstance(one, Opening) and one.corner_radius > 0
    )
    grooves = _by_size(
        (2 * one.end_radius, part.label)
        for part, one in _features(job, Groove)
        if isinstance(one, Groove) and one.end_radius > 0
    )
    for diameter in sorted({*corners, *grooves}):
        size = _exact(job, "straight bit", diameter)
        notes = []
        if diameter in corners:
            notes.append(f"slots and windows of {codes_in_row(corners[diameter])}, or a thinner one; long enough for"
                         " template and board together")  # fmt: skip
        if diameter in grooves:
            notes.append(f"grooves and recesses in {codes_in_row(grooves[diameter])}")
        has = any(abs(one - diameter) < _SAME for one in job.tools.bits or ())
        yield Want(
            "straight bit",
            "1",
            size.printed,
            "; ".join([*(["in the drawer"] if has else []), *notes]),
            (size,),
        )
    if corners:
        own = [_exact(job, "bushing", one) for one in sorted(job.tools.bushings or ())]
        words = ", ".join(one.printed for one in own) or "wider than that bit"
        note = "over the straight bit, along a template; see the set-ups for what it adds"
        yield Want("guide bushing", "1", words, f"{'in the drawer: ' if own else ''}{note}", tuple(own))
    labels = [label for one in patterns(job) for label in (one.first, *one.others)]
    if labels:
        yield Want(
            "flush-trim bit", "1", "", f"{codes_in_row(labels)}: along the first of a kind as a pattern"
        )


def _edge_bits(job: Job) -> Iterator[Want]:
    """A chamfer bit that reaches the largest, and a round-over bit for each radius."""
    chamfers = [(part.label, one.size) for part, one in _features(job, EdgeTreatment)
                if isinstance(one, EdgeTreatment) and one.kind == "chamfer"]  # fmt: skip
    for part, one in _features(job, Opening):
        if isinstance(one, Opening) and max(one.front_chamfer, one.back_chamfer) > 0:
            chamfers.append((part.label, max(one.front_chamfer, one.back_chamfer)))
    bearing = _exact(job, "bearing", job.tools.bearing)
    if chamfers:
        most = _exact(job, "largest chamfer", max(size for _, size in chamfers))
        yield Want(
            "chamfer bit, 45°, with bearing", "1", f"bearing {bearing.printed}",
            f"cuts {most.printed} along each face: {codes_in_row(label for label, _ in chamfers)}", (bearing, most),
        )  # fmt: skip
    radii = _by_size(
        (one.size, part.label)
        for part, one in _features(job, EdgeTreatment)
        if isinstance(one, EdgeTreatment) and one.kind == "round-over"
    )
    for radius, labels in radii.items():
        size = _exact(job, "radius", radius)
        yield Want(
            "round-over bit with bearing", "1", f"radius {size.printed}", codes_in_row(labels), (size,)
        )


def _drills(job: Job) -> Iterator[Want]:
    """For holes, and for counterbores in them, whose bit needs wood for its point."""
    holes = [(part.label, one) for part, one in _features(job, Hole) if isinstance(one, Hole)]
    through = _by_size((one.diameter, label) for label, one in holes)
    bored = _by_size(
        (one.counterbore_diameter, label) for label, one in holes if one.counterbore_diameter > 0
    )
    for found, what in (
        (through, "{}; an offcut behind as a backer"),
        (bored, "counterbores of {}, before the holes through them"),
    ):
        for diameter, labels in found.items():
            size = _exact(job, "drill", diameter)
            wide = "Forstner bit" if diameter >= 12.0 else "drill bit"
            yield Want(wide, "1", size.printed, what.format(codes_in_row(labels)), (size,))


# -- clamps, gauges, labels


def _clamps(job: Job, glued: Iterable[GlueUp]) -> Iterator[Want]:
    """How many open so far that they press the sides, and how many there have to be in all."""
    found = list(glued)
    if not found:
        return
    sides = [one for one in found if one.step.role is not None and one.step.role.word == SIDE.word]
    low = np.min(
        [part.box[0] for part in job.assembly.parts if part.role.word == SIDE.word] or [[0.0] * 3], axis=0
    )
    high = np.max(
        [part.box[1] for part in job.assembly.parts if part.role.word == SIDE.word] or [[0.0] * 3], axis=0
    )
    most = max(one.clamps for one in found)
    at_hand = f"{job.tools.clamps} at hand as entered"
    yield Want("clamps", f"{min(most, job.tools.clamps)}", "", f"most at once, of {at_hand}")
    for axis, name in enumerate(("length", "width")):
        own = [
            one.clamps
            for one in sides
            if any((way.way or "+z")[1] == "xy"[axis] for way in one.step.arrivals)
        ]
        if own:
            opening = job.rule.figure(f"clamps over the body's {name}", float(high[axis] - low[axis]), "up")
            note = f"of these, over the body's {name}; or cauls and wedges"
            yield Want("long clamps", f"{max(own)}", f"open {opening.printed}", note, (opening,))


def _feelers(job: Job) -> Want:
    step = {"mm": "0.05 to 1.00", "in": "0.002 to 0.040"}[_unit(job)]
    return Want(
        "feeler gauges",
        "1 set",
        step,
        "room beside the leaves at the dry fit; two together where they are thin",
    )


def _unit(job: Job) -> Units:
    return "in" if job.units == "in" else "mm"


def _labels(job: Job) -> Want:
    """Sheets of labels: as many on each as fit between its edges."""
    grid, many = grid_of(job), len(tags(job))
    size = _exact(job, "label width", grid.width), _exact(job, "label height", grid.height)
    note = f"{many} labels, {grid.count} on a sheet; for every part and what is left over"
    return Want(
        "sheets of labels", f"{grid.sheets(many)}", f"{size[0].printed} × {size[1].printed}", note, size
    )
