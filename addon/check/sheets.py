"""What sheets do to the parts that are cut from them: thickness that nobody measured, leaves that are bowed or twisted.

    openings        ####        ####        ####        A sheet that rises by b over its length L rises by b·(l/L)²
                 .-------------------------------.      over a part l long. What a bowed leaf needs in height, the
    sills    .--'###        ####        ####     '--.   best way it can lie in the openings that it is in, is the
                                                        least strip around the points of its curve there.

A sheet L long and W wide whose corner rises by t, the other three flat, is z = t·x·y/(L·W): between two openings l
apart a leaf w wide turns so much that its edges need t·l·w/(2·L·W).

A rib is a strip of the sheet on edge: it bows sideways, by b·(l/L)² between places l apart at which ends of other ribs
hold it. That matters where it runs along a leaf's way.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from ..sizes.arrays import Floats
from ..sizes.tolerances import CONTACT
from ..wood.assembly import Assembly, StowPath
from ..wood.part import Part
from ..wood.roles import RIB
from ..wood.stock import sanded_limits
from .board_causes import BowedLeaf, BowedRib, UnmeasuredSheet
from .facts import Fact, LeafResult, Place
from .prepared import Prepared, cuts_for, land_of
from .spans import point


def unmeasured_sheets(assembly: Assembly) -> Iterator[Fact]:
    """A note for each sheet known only as what it is sold as; its amount is how much thinner it may be, mm."""
    found: dict[str, list[Part]] = {}
    for part in assembly.parts:
        if part.stock.measured is None:
            found.setdefault(part.stock.name, []).append(part)
    for name, parts in found.items():
        nominal = parts[0].stock.nominal
        limits = sanded_limits(nominal)
        first, *others = (
            Place((part.label,), point((part.box[0] + part.box[1]) / 2), nominal - limits.low)
            for part in parts
        )
        cause = UnmeasuredSheet(name, nominal, limits.low, limits.high)
        yield Fact(
            "sheet-unmeasured", "note", first.parts, first.at, first.amount, cause, others=tuple(others)
        )


def bowed_leaf(prepared: Prepared, path: StowPath, result: LeafResult) -> Iterator[Fact]:
    """A warning where a leaf's sheet is bowed or twisted by more than the room above and below it allows."""
    leaf = prepared.assembly.by_label[path.leaf]
    stock, inward = leaf.stock, -path.outward
    if stock.bow <= 0 and stock.twist <= 0:
        return
    if not any(gap.above is not None for gap in result.gaps):
        return
    places = _stations(prepared, leaf, path)
    along_u = abs(float(leaf.placement.axes[0] @ inward)) > 0.5
    across = leaf.shape.size[1] if along_u else leaf.shape.size[0]
    curve = 4 * stock.bow / stock.sheet_length**2
    bow = curve * across**2 / 4 if along_u != (leaf.grain == "u") else least_strip(places, curve)
    apart = float(np.ptp(places)) if len(places) else 0.0
    twist = stock.twist * apart * across / (2 * stock.sheet_length * stock.sheet_width)
    lack = bow + twist - result.vertical_play
    if lack > CONTACT:
        low, high = prepared.bounds(path.leaf)
        stowed = path.length - path.zero
        cause = BowedLeaf(stock.name, bow, twist, result.vertical_play)
        yield Fact(
            "leaf-bowed", "warning", (path.leaf,), point((low + high) / 2), lack, cause, path.leaf, stowed
        )


def _stations(prepared: Prepared, leaf: Part, path: StowPath) -> Floats:
    """(n,) float, mm: both faces of every opening that the leaf lies in stowed, along its way."""
    inward = -path.outward
    low, high = np.sort(np.array(leaf.box) @ inward)
    found = []
    for part, cut in cuts_for(path.leaf, prepared.assembly.parts):
        ends = part.placement.to_table(np.array(land_of(part, cut))) @ inward
        found += [float(np.clip(end, low, high)) for end in ends if ends.min() < high and ends.max() > low]
    return np.unique(found)


def bowed_ribs(prepared: Prepared) -> Iterator[Fact]:
    """A warning for each sheet of which ribs bow by more than the room between them and a leaf on its way."""
    found: dict[str, list[tuple[Place, BowedRib]]] = {}
    for rib in prepared.assembly.with_role(RIB.word):
        if rib.stock.bow > 0 and rib.grain == "u":
            for start, stop in pairwise(held_at(prepared.assembly, rib)):
                worst = _nearest_way(prepared, rib, start, stop)
                bow = rib.stock.bow * ((stop - start) / rib.stock.sheet_length) ** 2
                if worst is not None and bow - worst[0] > CONTACT:
                    room, leaf, at = worst
                    place = Place((rib.label, leaf), at, bow - room, leaf)
                    cause = BowedRib(rib.stock.name, rib.label, leaf, stop - start, bow, room)
                    found.setdefault(rib.stock.name, []).append((place, cause))
    for own in found.values():
        (first, cause), *others = sorted(own, key=lambda one: -one[0].amount)
        more = tuple(place for place, _ in others)
        yield Fact(
            "rib-bowed", "warning", first.parts, first.at, first.amount, cause, first.leaf, others=more
        )


def held_at(assembly: Assembly, rib: Part) -> list[float]:
    """Where a rib's ends are, and the ends of others that butt on it: places along its axis of the table, mm."""
    axis = int(np.abs(rib.placement.axes[0]).argmax())
    held = {float(rib.box[0][axis]), float(rib.box[1][axis])}
    for joint in assembly.joints:
        other = assembly.by_label.get(joint.a)
        if joint.b == rib.label and joint.part_end is not None and other is not None:
            held.add(float(other.box[0][axis] + other.box[1][axis]) / 2)
    return sorted(held)


def _nearest_way(
    prepared: Prepared, rib: Part, start: float, stop: float
) -> tuple[float, str, tuple[float, float, float]] | None:
    """The least room beside a stretch of a rib to a leaf that passes along it, mm, the leaf, and where."""
    axis = int(np.abs(rib.placement.axes[0]).argmax())
    low, high = rib.box[0].copy(), rib.box[1].copy()
    low[axis], high[axis] = start, stop
    found = []
    for path in prepared.assembly.stow_paths:
        if abs(float(path.outward[axis])) < 0.5:
            continue
        leaf_low, leaf_high = prepared.bounds(path.leaf)
        ends = np.array([offset for move in path.moves for offset in (move.start, move.end)])
        leaf_low, leaf_high = leaf_low + ends.min(axis=0), leaf_high + ends.max(axis=0)
        gaps = np.maximum(low - leaf_high, leaf_low - high)
        if gaps[axis] < 0 and gaps[2] < 0 <= gaps[1 - axis]:
            found.append((float(gaps[1 - axis]), path.leaf, point((low + high) / 2)))
    return min(found, default=None)


def least_strip(places: Floats, curve: float) -> float:
    """Height of the least strip, however it leans, around the points of a parabola at some places, mm.

    The vertical width of a strip around a convex chain is least along one of its sides or along its chord.

    Parameters
    ----------
    places : (n,) float, rising, mm
    curve : how much the parabola falls per mm² from its top
    """
    if len(places) < 3:
        return 0.0
    x, y = places, -curve * (places - places.mean()) ** 2
    slopes = np.append(np.diff(y) / np.diff(x), (y[-1] - y[0]) / (x[-1] - x[0]))
    rest = y[None] - slopes[:, None] * x[None]
    return float(np.ptp(rest, axis=1).min())
