"""Whether fingers can pull a stowed leaf: a hole large enough, near enough, and free from below."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..model.declare import parameters
from ..model.parameters import Leaves
from ..model.tolerances import CONTACT
from .findings import Change, Finding, Remedy
from .remedies import MARGIN, in_words

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from ..model.assembly import StowPath
    from ..model.parameters import Table
    from ..model.part import Hole
    from .findings import LeafResult, Point
    from .prepared import Prepared

    Floats = NDArray[np.float64]

USUAL_HOLE = 25.0
"""Diameter of a hole for a leaf that has none, mm (common practice, no source)."""

WOOD_BEYOND_HOLE = 5.0
"""Wood between a hole and the leaf's outer end, mm (common practice, no source)."""

GRIP = 25.0
"""How far a leaf without a hole has to stand out to be gripped, mm (common practice, no source)."""


def finger_findings(
    prepared: Prepared, table: Table, path: StowPath, result: LeafResult
) -> Iterator[Finding]:
    """Findings on the finger hole of one leaf at home; one that stands out is gripped there."""
    if result.proud > 0:
        return
    leaf, limits = prepared.assembly.by_label[path.leaf], table.limits

    def finding(
        rule: str, amount: float, at: Point, message: str, remedy: Remedy, others: tuple[str, ...] = ()
    ) -> Finding:
        home = path.length - path.zero
        return Finding(rule, "note", (path.leaf, *others), at, amount, message, remedy, path.leaf, home)

    if not leaf.shape.holes:
        if limits.finger_hole > 0:
            low, high = prepared.bounds(path.leaf)
            middle = (low + high) / 2
            yield finding(
                "finger-hole", limits.finger_hole, _point(middle),
                f"{path.leaf} lies {in_words(table, -result.proud)} inside {path.side} and has no finger hole.",
                _wider_hole(table, max(limits.finger_hole, USUAL_HOLE)),
            )  # fmt: skip
        return
    hole = leaf.shape.holes[0]
    at = leaf.placement.to_table(np.array([[hole.u, hole.v, 0.0]]))[0]
    if hole.diameter < limits.finger_hole - CONTACT:
        yield finding(
            "finger-hole", limits.finger_hole - hole.diameter, _point(at),
            f"The hole in {path.leaf}, {in_words(table, hole.diameter)} wide, is too small for a finger.",
            _wider_hole(table, limits.finger_hole),
        )  # fmt: skip
    axis = int(np.abs(path.outward).argmax())
    low, high = prepared.bounds(path.side)
    outer = float(high[axis] if path.outward[axis] > 0 else low[axis])
    depth = abs(outer - float(at[axis]))
    if depth > limits.finger_reach + CONTACT:
        yield finding(
            "finger-reach", depth - limits.finger_reach, _point(at),
            f"The finger hole of {path.leaf} is {in_words(table, depth)} inside {path.side}, out of reach.",
            _nearer_hole(table, depth - limits.finger_reach + MARGIN),
        )  # fmt: skip
    below = _below(prepared, path, at, hole)
    over_hole = below[(below[:, 0] < 0) & (below[:, 1] > 0)]
    if len(over_hole):
        label = prepared.assembly.parts[int(over_hole[0, 2])].label
        yield finding(
            "finger-room", hole.diameter, _point(at),
            f"{label} is in the way of fingers below the finger hole of {path.leaf}.",
            _free_from_below(table, below, depth), (label,),
        )  # fmt: skip


def _point(at: Floats) -> Point:
    return float(at[0]), float(at[1]), float(at[2])


def _least_inset(diameter: float) -> float:
    low = next(one.low or 0.0 for one in parameters(Leaves) if one.name == "finger_hole_inset")
    return max(diameter / 2 + WOOD_BEYOND_HOLE, low)


def _wider_hole(table: Table, diameter: float) -> Remedy:
    inset = max(table.leaves.finger_hole_inset, _least_inset(diameter))
    changes = [Change("leaves.finger_hole", diameter)]
    words = f"Drill a finger hole {in_words(table, diameter)} wide"
    if inset > table.leaves.finger_hole_inset:
        changes.append(Change("leaves.finger_hole_inset", inset))
        words += f", {in_words(table, inset)} from the leaf's outer end"
    return Remedy(words, tuple(changes))


def _nearer_hole(table: Table, by: float) -> Remedy:
    """A hole nearer to the leaf's outer end, and for the rest leaves that stay farther out."""
    now = table.leaves.finger_hole_inset
    inset = min(now, max(now - by, _least_inset(table.leaves.finger_hole)))
    rest = by - (now - inset)
    words, changes = [], []
    if inset < now:
        words.append(f"drill it {in_words(table, inset)} from the leaf's outer end")
        changes.append(Change("leaves.finger_hole_inset", inset))
    if rest > CONTACT:
        words.append(f"stow the leaves {in_words(table, rest)} farther out")
        changes.append(Change("stowing.recess", table.stowing.recess - rest))
    text = " and ".join(words)
    return Remedy(text[0].upper() + text[1:], tuple(changes))


def _below(prepared: Prepared, path: StowPath, at: Floats, hole: Hole) -> Floats:
    """(n, 3) float: for each piece below the leaf's hole, but for its place along the travel, between which shifts
    of the hole inwards, mm, it stays covered; and the number of the piece's part."""
    scene, radius = prepared.scene, hole.diameter / 2
    axis = int(np.abs(path.outward).argmax())
    low, high = scene.pieces.low, scene.pieces.high
    beside = (low[:, 1 - axis] < at[1 - axis] + radius) & (high[:, 1 - axis] > at[1 - axis] - radius)
    counts = beside & (low[:, 2] < at[2] - CONTACT) & (scene.owner != prepared.number[path.leaf])
    start, stop = low[counts, axis] - at[axis] - radius, high[counts, axis] - at[axis] + radius
    if path.outward[axis] > 0:
        start, stop = -stop, -start
    return np.stack([start, stop, scene.owner[counts].astype(float)], axis=1)


def _free_from_below(table: Table, below: Floats, depth: float) -> Remedy:
    """The least shift of the hole that frees it and leaves it in reach, or leaves that stand out."""
    leaves, limits = table.leaves, table.limits
    least = _least_inset(leaves.finger_hole) - leaves.finger_hole_inset
    most = max(limits.finger_reach - depth, 0.0)
    shifts = np.concatenate([below[:, 0] - MARGIN, below[:, 1] + MARGIN])
    covered = ((below[:, 0] < shifts[:, None]) & (below[:, 1] > shifts[:, None])).any(axis=1)
    free = shifts[~covered & (shifts >= least) & (shifts <= most)]
    if len(free):
        inset = leaves.finger_hole_inset + float(free[np.abs(free).argmin()])
        return Remedy(
            f"Drill it {in_words(table, inset)} from the leaf's outer end",
            (Change("leaves.finger_hole_inset", inset),),
        )
    return Remedy(
        f"Let the leaves stand {in_words(table, GRIP)} out, to be gripped there",
        (Change("stowing.recess", -GRIP),),
    )
