"""What is left of a board under a panel where a window is open to that panel: the bar below, the glue, the panel.

The load is that of the limits, at the worst place: the middle of the bar, as when somebody leans on the stowed leaf or
lifts there, and the middle of the panel over the gap, a rectangular plate that lies on all four edges. Small
deflections, no shear through its thickness; plywood has two stiffnesses and hardly any lateral contraction. Lengths in
mm, forces in N.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, NamedTuple

import numpy as np

from ...sizes.arrays import Floats
from ...sizes.tolerances import CONTACT
from ...wood.assembly import Assembly
from ...wood.features import End, Opening
from ...wood.part import Part
from ...wood.stock import Stock
from ..causes import LittleGlue, PanelOverGap, Point, WeakBar
from ..facts import Fact
from ..prepared import Prepared
from ..spans import point
from .beams import deflection
from .droop import board, moduli

SHEAR: Final = 620.0
"""Modulus of rigidity of birch plywood in its plane, N/mm²: Handbook of Finnish Plywood, from memory."""

_TERMS: Final = np.arange(1.0, 300.0, 2.0)
"""Numbers of half waves that are summed up along each edge; even ones have no deflection at the middle."""


class Plate(NamedTuple):
    """Stiffnesses per mm of width, N·mm: against bending along x and along y, and against both together (H)."""

    along_x: float
    along_y: float
    twist: float


def plywood(stock: Stock, thickness: float, *, grain_along_x: bool) -> Plate:
    """A sheet, its lateral contraction left out; where its grain is not minded, the lesser modulus counts both ways."""
    own = moduli(stock)
    if stock.grain == "none":
        own = own._replace(along=min(own), across=min(own))
    x, y = (own.along, own.across) if grain_along_x else (own.across, own.along)
    inertia = thickness**3 / 12
    return Plate(x * inertia, y * inertia, 2 * SHEAR * inertia)


def sag_in_the_middle(plate: Plate, a: float, b: float, load: float) -> float:
    """Deflection under a load at the middle of a plate a long (x) and b wide (y), simply supported, mm.

    Navier's double series for an orthotropic plate: Timoshenko and Woinowsky-Krieger, Theory of Plates and Shells,
    articles 34 and 85, from memory.
    """
    m, n = _TERMS[:, None] / a, _TERMS[None, :] / b
    terms = plate.along_x * m**4 + 2 * plate.twist * (m * n) ** 2 + plate.along_y * n**4
    return float(4 * load / (np.pi**4 * a * b) * (1 / terms).sum())


Rect = tuple[tuple[float, float], tuple[float, float]]

_Support = tuple[str, Rect]
"""Label of a board that holds a panel up, and where, along x and along y, mm."""


GLUE: Final = 1.0 / 3.0
"""What a glued edge may hold, N/mm²: a third of the least mean strength of a glue line of plywood in EN 314-2, from
memory."""

REACH: Final = 1.0
"""Boards that come so near to each other stand against each other, mm."""


def facts_of_open_ribs(prepared: Prepared) -> Iterator[Fact]:
    """One fact for the bars that bend too much, one for the glue, one for the panel, each with all its places."""
    assembly = prepared.assembly
    found: dict[str, list[Fact]] = {}
    supports: dict[str, list[_Support]] = {}
    for part, panel, opening in _open_to_a_panel(assembly):
        if panel.label not in supports:
            supports[panel.label] = list(_supports(assembly, panel))
        for fact in (
            *_bar(assembly, part, opening),
            *_glue(assembly, part, panel, opening),
            *_over_gap(assembly, part, panel, opening, supports[panel.label]),
        ):
            found.setdefault(fact.rule, []).append(fact)
    for facts in found.values():
        first, *others = sorted(facts, key=lambda fact: -fact.amount)
        yield first.with_others(others)


def _open_to_a_panel(assembly: Assembly) -> Iterator[tuple[Part, Part, Opening]]:
    """Boards with an opening that is open at the edge by which they are glued to another one, and that one."""
    for part in assembly.parts:
        openings = [one for one in part.shape.openings if one.open_above]
        if not openings:
            continue
        for joint in assembly.joints:
            if joint.a != part.label or joint.kind != "face":
                continue
            other = assembly.by_label[joint.b]
            faces = joint.faces_of(part, other)
            if faces is not None and faces[0] == "upper edge":
                yield from ((part, other, opening) for opening in openings)


def _run(part: Part, opening: Opening) -> tuple[float, float]:
    """Where an opening begins and ends along its board, as far as the board goes, mm."""
    blank = part.shape.blank
    return max(opening.u0, blank.low[0]), min(opening.u1, blank.high[0])


def _middle(part: Part, opening: Opening) -> Point:
    start, stop = _run(part, opening)
    return point(
        part.placement.to_table(np.array([[(start + stop) / 2, opening.v0, part.shape.thickness / 2]]))[0]
    )


def _bar(assembly: Assembly, part: Part, opening: Opening) -> Iterator[Fact]:
    """The bar below the opening, on two supports: its ends are glued, but how well they hold it is not known."""
    start, stop = _run(part, opening)
    below = [
        min(one.v1, opening.v0)
        for one in part.shape.openings
        if one is not opening and one.u0 < stop and one.u1 > start and one.v0 < opening.v0
    ]
    height = opening.v0 - max(below, default=part.shape.blank.low[1])
    if height <= CONTACT:
        return
    span, t, limits = stop - start, part.shape.thickness, assembly.limits
    bar = board(t, height, part.stock, along=part.grain == "u")
    shear = SHEAR * 5 / 6 * t * height
    sag = float(deflection("simple, middle", limits.load, span, bar.stiffness, shear))
    allowed = span / limits.sag
    if sag > allowed:
        cause = WeakBar(part.label, opening.leaf, span, height, sag, allowed)
        yield Fact("bar-sag", "warning", (part.label,), _middle(part, opening), sag - allowed, cause)


def _glue(assembly: Assembly, part: Part, panel: Part, opening: Opening) -> Iterator[Fact]:
    """The wood at either end of the bar that is glued to the panel: half the load hangs on it.

    An end that is screwed to the board that it butts on needs no glue above.
    """
    start, stop = _run(part, opening)
    low, high = part.shape.blank.low[0], part.shape.blank.high[0]
    gaps = [_run(part, one) for one in part.shape.openings if one.open_above]
    lengths: dict[End, float] = {
        "start": start - max((end for _, end in gaps if end <= start), default=low),
        "end": min((begin for begin, _ in gaps if begin >= stop), default=high) - stop,
    }
    need = assembly.limits.load / 2 / (part.shape.thickness * GLUE)
    for end, length in lengths.items():
        outermost = length <= CONTACT
        if length >= need - CONTACT or (outermost and _is_screwed(assembly, part, end)):
            continue
        cause = LittleGlue(part.label, panel.label, opening.leaf, end, length, need)
        at = start if end == "start" else stop
        place = part.placement.to_table(np.array([[at, part.shape.blank.high[1], part.shape.thickness / 2]]))[
            0
        ]
        yield Fact("little-glue", "warning", (part.label, panel.label), point(place), need - length, cause)


def _is_screwed(assembly: Assembly, part: Part, end: End) -> bool:
    """Whether another board is screwed to this one and to the board that this end butts on."""
    holders = {joint.b for joint in assembly.joints if (joint.a, joint.part_end) == (part.label, end)}
    screwed: dict[str, set[str]] = {}
    for joint in assembly.joints:
        if joint.fastening == "screw":
            screwed.setdefault(joint.a, set()).add(joint.b)
    return any(part.label in joined and joined & holders for joined in screwed.values())


def _over_gap(
    assembly: Assembly, part: Part, panel: Part, opening: Opening, supports: list[_Support]
) -> Iterator[Fact]:
    """The panel over the opening, as far as nothing is glued under it, on its edges there."""
    (x0, x1), (y0, y1) = spans = _unsupported(part, panel, opening, supports)
    along_x = abs(float(panel.placement.axes[0 if panel.grain == "u" else 1][0])) > 0.5
    plate = plywood(panel.stock, panel.shape.thickness, grain_along_x=along_x)
    a, b = x1 - x0, y1 - y0
    sag, allowed = sag_in_the_middle(plate, a, b, assembly.limits.load), min(a, b) / assembly.limits.sag
    if sag > allowed:
        low, _ = panel.box
        cause = PanelOverGap(panel.label, part.label, spans, sag, allowed)
        at = ((x0 + x1) / 2, (y0 + y1) / 2, float(low[2]))
        yield Fact("panel-sag", "warning", (panel.label, part.label), at, sag - allowed, cause)


def _unsupported(part: Part, panel: Part, opening: Opening, all_supports: list[_Support]) -> Rect:
    """The rectangle of a panel over an opening that no other board holds up, along x and along y, mm.

    Along the board it reaches to the next ones that stand against it or run past it, across it to the next one that
    is under more than half of that.
    """
    along = 0 if abs(float(part.placement.axes[0][0])) > 0.5 else 1
    across = 1 - along
    middle = _middle(part, opening)
    line, middle = middle[across], middle[along]
    low, high = panel.box
    bounds = [(float(low[k]), float(high[k])) for k in (0, 1)]
    supports = [spans for label, spans in all_supports if label != part.label]
    beside = [one[along] for one in supports if one[across][0] - REACH <= line <= one[across][1] + REACH]
    half = part.shape.thickness / 2 + REACH
    beside += [
        one[along] for one in supports if one[across][0] <= line + half and one[across][1] >= line - half
    ]
    run = _between(beside, middle, bounds[along])
    wide = run[1] - run[0]
    ahead = [
        one[across] for one in supports if min(one[along][1], run[1]) - max(one[along][0], run[0]) > wide / 2
    ]
    depth = _between(ahead, line, bounds[across])
    return (run, depth) if along == 0 else (depth, run)


def _between(spans: list[tuple[float, float]], at: float, bounds: tuple[float, float]) -> tuple[float, float]:
    """From the nearest span before a place to the nearest one after it."""
    low = max((end for _, end in spans if end <= at), default=bounds[0])
    high = min((start for start, _ in spans if start >= at), default=bounds[1])
    return max(low, bounds[0]), min(high, bounds[1])


def _supports(assembly: Assembly, panel: Part) -> Iterator[_Support]:
    """The boards that hold a panel in their grooves, and the glued edges of those on edge under it."""
    for joint in assembly.joints:
        other = assembly.by_label[joint.a]
        if joint.a == panel.label and joint.kind == "groove":
            yield joint.b, _spans(*assembly.by_label[joint.b].box)
        elif joint.b == panel.label and joint.kind == "face" and other.role.height == "edge":
            for corners in _glued(other):
                yield other.label, _spans(corners.min(axis=0), corners.max(axis=0))


def _spans(low: Floats, high: Floats) -> Rect:
    return (float(low[0]), float(high[0])), (float(low[1]), float(high[1]))


def _glued(part: Part) -> Iterator[Floats]:
    """(2, 3) float, mm: corners of what is left of a board's edge between its openings that are open above."""
    start, v, w = part.shape.blank.low[0], part.shape.blank.high[1], part.shape.thickness
    gaps = sorted(_run(part, one) for one in part.shape.openings if one.open_above)
    for stop, onward in [*gaps, (part.shape.blank.high[0], start)]:
        if stop - start > CONTACT:
            yield part.placement.to_table(np.array([[start, v, 0.0], [stop, v, w]]))
        start = onward
