"""Whether fingers can pull a stowed leaf: a hole or recessed pull large enough, near enough, and free from below."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..sizes.tolerances import CONTACT
from .findings import Change, Finding, Remedy
from .grips import Grip, grip_of, hole_inset, pull_of
from .remedies import MARGIN, in_words

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from ..designs.table.parameters import Table
    from ..wood.assembly import StowPath
    from .findings import LeafResult, Point, Rule
    from .prepared import Prepared

    Floats = NDArray[np.float64]

USUAL_HOLE = 25.0
"""Diameter of a hole for a leaf that has none, mm (common practice, no source)."""

GRIP = 25.0
"""How far a leaf without a hole has to stand out to be gripped, mm (common practice, no source)."""


def finger_findings(
    prepared: Prepared, table: Table, path: StowPath, result: LeafResult
) -> Iterator[Finding]:
    """Findings on the finger hole or pull of one leaf stowed; one that stands out is gripped there."""
    if result.proud > 0:
        return
    leaf, limits = prepared.assembly.by_label[path.leaf], table.limits

    def finding(
        rule: Rule, amount: float, at: Floats, message: str, remedy: Remedy, others: tuple[str, ...] = ()
    ) -> Finding:
        home = path.length - path.zero
        parts = (path.leaf, *others)
        return Finding(rule, "note", parts, _point(at), amount, message, remedy, path.leaf, home)

    axis = int(np.abs(path.outward).argmax())
    grip = grip_of(table, leaf, axis)
    if grip is None:
        if limits.finger_hole > 0:
            low, high = prepared.bounds(path.leaf)
            turned = pull_of(leaf) is not None
            yield finding(
                "finger-hole", limits.finger_hole, (low + high) / 2,
                f"{path.leaf} lies {in_words(table, -result.proud)} inside {path.side} and "
                + ("its pull faces up." if turned else "has no finger hole."),
                _pull_below(table) if turned else _wider_hole(table, max(limits.finger_hole, USUAL_HOLE)),
            )  # fmt: skip
        return
    if grip.least_size < limits.finger_hole - CONTACT:
        yield finding(
            "finger-hole", limits.finger_hole - grip.least_size, grip.at,
            f"The {grip.short} in {path.leaf}, {in_words(table, grip.least_size)} wide, is too small for a finger.",
            _larger(table, grip, limits.finger_hole),
        )  # fmt: skip
    low, high = prepared.bounds(path.side)
    outer = float(high[axis] if path.outward[axis] > 0 else low[axis])
    depth = abs(outer - float(grip.at[axis]))
    if depth > limits.finger_reach + CONTACT:
        yield finding(
            "finger-reach", depth - limits.finger_reach, grip.at,
            f"The {grip.name} of {path.leaf} is {in_words(table, depth)} inside {path.side}, out of reach.",
            _nearer(table, grip, depth - limits.finger_reach + MARGIN),
        )  # fmt: skip
    below = _below(prepared, path, grip)
    over_hole = below[(below[:, 0] < 0) & (below[:, 1] > 0)]
    if len(over_hole):
        label = prepared.assembly.parts[int(over_hole[0, 2])].label
        yield finding(
            "finger-room", grip.along, grip.at,
            f"{label} is in the way of fingers below the {grip.name} of {path.leaf}.",
            _free_from_below(table, grip, below, depth), (label,),
        )  # fmt: skip


def _point(at: Floats) -> Point:
    return float(at[0]), float(at[1]), float(at[2])


def _pull_below(table: Table) -> Remedy:
    """The leaves the other way up stowed."""
    over = not table.leaves.turned_over
    text = "Stow the leaves turned over" if over else "Stow the leaves with their upper face up"
    return Remedy(f"{text}, so that their pulls are below", (Change("leaves.turned_over", over),))


def _larger(table: Table, grip: Grip, least: float) -> Remedy:
    if grip.key == "leaves.finger_hole_inset":
        return _wider_hole(table, least)
    changes = [
        Change(f"leaves.{name}", least)
        for name, now in (("pull_length", grip.across), ("pull_width", grip.along))
        if now < least
    ]
    return Remedy(f"Rout pulls {in_words(table, least)} long and wide", tuple(changes))


def _wider_hole(table: Table, diameter: float) -> Remedy:
    inset = hole_inset(table, diameter)
    changes = [Change("leaves.finger_hole", diameter)]
    words = f"Drill a finger hole {in_words(table, diameter)} wide"
    if inset != table.leaves.finger_hole_inset:
        changes.append(Change("leaves.finger_hole_inset", inset))
        words += f", {in_words(table, inset)} from the leaf's outer end"
    return Remedy(words, tuple(changes))


def _nearer(table: Table, grip: Grip, by: float) -> Remedy:
    """A hole nearer to the leaf's outer end, and for the rest leaves that stay farther out."""
    inset = min(grip.inset, max(grip.inset - by, grip.least))
    rest = by - (grip.inset - inset)
    words, changes = [], []
    if inset < grip.inset:
        words.append(f"{grip.verb} it {in_words(table, inset)} from the leaf's outer end")
        changes.append(Change(grip.key, inset))
    if rest > CONTACT:
        words.append(f"stow the leaves {in_words(table, rest)} farther out")
        changes.append(Change("stowing.set_back", table.stowing.set_back - rest))
    text = " and ".join(words)
    return Remedy(text[0].upper() + text[1:], tuple(changes))


def _below(prepared: Prepared, path: StowPath, grip: Grip) -> Floats:
    """(n, 3) float: for each piece below the leaf's hole, but for its place along the travel, between which shifts
    of the hole inwards, mm, it stays covered; and the number of the piece's part."""
    scene, at, half = prepared.scene, grip.at, grip.across / 2
    axis = int(np.abs(path.outward).argmax())
    low, high = scene.pieces.low, scene.pieces.high
    beside = (low[:, 1 - axis] < at[1 - axis] + half) & (high[:, 1 - axis] > at[1 - axis] - half)
    counts = beside & (low[:, 2] < at[2] - CONTACT) & (scene.owner != prepared.number[path.leaf])
    half = grip.along / 2
    start, stop = low[counts, axis] - at[axis] - half, high[counts, axis] - at[axis] + half
    if path.outward[axis] > 0:
        start, stop = -stop, -start
    return np.stack([start, stop, scene.owner[counts].astype(float)], axis=1)


def _free_from_below(table: Table, grip: Grip, below: Floats, depth: float) -> Remedy:
    """The least shift of the hole that frees it and leaves it in reach, or leaves that stand out."""
    least = grip.least - grip.inset
    most = min(max(table.limits.finger_reach - depth, 0.0), grip.most - grip.inset)
    shifts = np.concatenate([below[:, 0] - MARGIN, below[:, 1] + MARGIN])
    covered = ((below[:, 0] < shifts[:, None]) & (below[:, 1] > shifts[:, None])).any(axis=1)
    free = shifts[~covered & (shifts >= least) & (shifts <= most)]
    if len(free):
        inset = grip.inset + float(free[np.abs(free).argmin()])
        verb = grip.verb.capitalize()
        return Remedy(
            f"{verb} it {in_words(table, inset)} from the leaf's outer end", (Change(grip.key, inset),)
        )
    return Remedy(
        f"Let the leaves stand {in_words(table, GRIP)} out, to be gripped there",
        (Change("stowing.set_back", -GRIP),),
    )
