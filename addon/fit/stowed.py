"""How the leaves lie at home: what ends their travel, how far they stand out, whether fingers reach them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..model.tolerances import CONTACT
from ..model.units import format_amount
from .findings import Change, Finding, Remedy
from .remedies import as_drawn, for_recess

if TYPE_CHECKING:
    from collections.abc import Iterator

    from ..model.assembly import StowPath
    from ..model.parameters import Table
    from ..model.part import Part
    from .findings import LeafResult, Point
    from .prepared import Prepared


def stowed_findings(
    prepared: Prepared, table: Table, path: StowPath, result: LeafResult
) -> Iterator[Finding]:
    """Findings on one leaf at home."""
    yield from _end_of_travel(prepared, table, path, result)
    yield from _outer_end(prepared, table, path, result)
    yield from _fingers(prepared, table, path, result)


def _nose(prepared: Prepared, path: StowPath, outer: bool = False) -> Point:
    """Middle of the leaf's nose at home, or of its outer end."""
    low, high = prepared.bounds(path.leaf)
    middle = (low + high) / 2
    axis = int(np.abs(path.outward).argmax())
    middle[axis] = high[axis] if (path.outward[axis] > 0) == outer else low[axis]
    return float(middle[0]), float(middle[1]), float(middle[2])


def _end_of_travel(prepared: Prepared, table: Table, path: StowPath, result: LeafResult) -> Iterator[Finding]:
    gap, leaf = result.end_gap, path.leaf
    home = path.length - path.zero
    if gap is None or gap > table.limits.end_gap:
        amount = gap if gap is not None else path.length
        where = f"until {result.stops_at}" if gap is not None else "right through the table"
        remedy = Remedy("Fit end stops", (Change("stowing.end_stops", True),))
        if table.stowing.end_stops:
            room = max(amount - table.limits.end_gap, 0.0)
            remedy = Remedy(
                f"Let leaves slide {format_amount(room, table.units)} farther in",
                (Change("stowing.recess", table.stowing.recess + room),),
            )
        yield Finding(
            "no-end-stop", "warning", (leaf,), _nose(prepared, path), amount,
            f"Nothing stops {leaf} at home: it slides {format_amount(amount, table.units)} farther, {where}.",
            remedy, leaf, home,
        )  # fmt: skip
    elif gap < -CONTACT and result.stops_at == path.end_stop:
        yield Finding(
            "end-stop-near", "warning", (result.stops_at, leaf), _nose(prepared, path), -gap,
            f"End stop {result.stops_at} keeps {leaf} {format_amount(-gap, table.units)} from home.",
            as_drawn(table, prepared.assembly, (result.stops_at, leaf)), leaf, home + gap,
        )  # fmt: skip


def _outer_end(prepared: Prepared, table: Table, path: StowPath, result: LeafResult) -> Iterator[Finding]:
    if result.proud > table.limits.leaf_proud + CONTACT:
        yield Finding(
            "leaf-proud", "note", (path.leaf, path.side), _nose(prepared, path, outer=True), result.proud,
            f"{path.leaf} stands {format_amount(result.proud, table.units)} out of {path.side} at home.",
            for_recess(table), path.leaf, path.length - path.zero,
        )  # fmt: skip


def _fingers(prepared: Prepared, table: Table, path: StowPath, result: LeafResult) -> Iterator[Finding]:
    """A leaf that lies inside is pulled by its finger hole: large enough, near enough, free from below."""
    if result.proud > 0:
        return
    leaf, limits, home = prepared.assembly.by_label[path.leaf], table.limits, path.length - path.zero

    def finding(amount: float, at: Point, message: str, remedy: Remedy | None, *others: str) -> Finding:
        return Finding(
            "finger-reach", "note", (path.leaf, *others), at, amount, message, remedy, path.leaf, home
        )

    if not leaf.shape.holes:
        yield finding(
            -result.proud, _nose(prepared, path, outer=True),
            f"{path.leaf} lies {format_amount(-result.proud, table.units)} inside {path.side} and has no finger hole.",
            Remedy("Drill a finger hole", (Change("leaves.finger_hole", max(limits.finger_hole, 25.0)),)),
        )  # fmt: skip
        return
    hole = leaf.shape.holes[0]
    at = leaf.placement.to_table(np.array([[hole.u, hole.v, 0.0]]))[0]
    place = (float(at[0]), float(at[1]), float(at[2]))
    if hole.diameter < limits.finger_hole - CONTACT:
        yield finding(
            limits.finger_hole - hole.diameter, place,
            f"The hole in {path.leaf}, {format_amount(hole.diameter, table.units)} wide, is too small for a finger.",
            Remedy(
                f"Drill it {format_amount(limits.finger_hole, table.units)} wide",
                (Change("leaves.finger_hole", limits.finger_hole),),
            ),
        )  # fmt: skip
    axis = int(np.abs(path.outward).argmax())
    low, high = prepared.bounds(path.side)
    outer = high[axis] if path.outward[axis] > 0 else low[axis]
    depth = abs(float(outer - at[axis]))
    if depth > limits.finger_reach + CONTACT:
        yield finding(
            depth - limits.finger_reach, place,
            f"The finger hole of {path.leaf} is {format_amount(depth, table.units)} inside {path.side}, out of reach.",
            _nearer_hole(table, depth - limits.finger_reach),
        )  # fmt: skip
    covers = _below(prepared, leaf, place, hole.diameter / 2)
    if covers:
        yield finding(
            hole.diameter, place,
            f"{covers} is in the way of fingers below the finger hole of {path.leaf}.",
            None, covers,
        )  # fmt: skip


def _nearer_hole(table: Table, by: float) -> Remedy:
    inset = table.leaves.finger_hole_inset - by
    least = table.leaves.finger_hole / 2 + 5.0
    if inset >= least:
        return Remedy(
            f"Drill it {format_amount(inset, table.units)} from the leaf's outer end",
            (Change("leaves.finger_hole_inset", inset),),
        )
    recess = table.stowing.recess - by
    return Remedy(
        f"Stow the leaves {format_amount(by, table.units)} farther out", (Change("stowing.recess", recess),)
    )


def _below(prepared: Prepared, leaf: Part, place: Point, radius: float) -> str:
    """Label of a part that covers the hole from below, or an empty string."""
    scene = prepared.scene
    low, high = scene.pieces.low, scene.pieces.high
    x, y, z = place
    over = (
        (low[:, 0] < x + radius)
        & (high[:, 0] > x - radius)
        & (low[:, 1] < y + radius)
        & (high[:, 1] > y - radius)
    )
    below = over & (low[:, 2] < z - CONTACT) & (scene.owner != prepared.number[leaf.label])
    if not below.any():
        return ""
    return prepared.assembly.parts[scene.owner[int(np.flatnonzero(below)[0])]].label
