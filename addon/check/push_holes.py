"""Holes in a panel through which covering leaves are pushed up: whether a finger gets in, and what stands in its way.

The way of the hand is the hole's cylinder from below the panel up to the leaf that covers. It meets what stands below
and on the panel, and leaves that are stowed there.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import cos, pi
from typing import Final

import numpy as np

from ..sizes.tolerances import CONTACT
from ..wood.assembly import Assembly
from ..wood.features import Hole
from ..wood.part import Part
from ..wood.solids.pieces import Pieces, from_planes
from .causes import Cause
from .clearance.kernel import Mover, Run, Runs
from .facts import Fact, Severity
from .prepared import Prepared
from .spans import point

ROOM: Final = 60.0
"""What a hand takes below a panel, mm (common practice, no source)."""

_SIDES: Final = 32


@dataclass(frozen=True)
class PushHoleTaken(Cause):
    """Something stands in a push-up hole's way: below the panel or on it, or a leaf while it is stowed."""

    leaf: str
    by: str
    stowed: bool


@dataclass(frozen=True)
class SmallPushHole(Cause):
    """A push-up hole that takes no finger.

    Parameters
    ----------
    least : that a finger needs, mm
    """

    leaf: str
    diameter: float
    least: float


def push_holes(assembly: Assembly) -> list[tuple[Part, Hole]]:
    """All of them, each with its panel."""
    return [(part, hole) for part in assembly.parts for hole in part.shape.holes if hole.leaf]


def facts_of_push_holes(prepared: Prepared) -> Iterator[Fact]:
    """What is amiss with push-up holes."""
    assembly = prepared.assembly
    found = push_holes(assembly)
    if not found:
        return
    bodies, number_of = assembly.bodies, prepared.number
    runs = [
        Run(
            Mover(_way(assembly, panel, hole)),
            np.zeros(3),
            skip=[number_of[label] for label in (panel.label, hole.leaf) if label in number_of],
        )
        for panel, hole in found
    ]
    slides = prepared.scene.slides(Runs(runs, len(bodies)), 0.0)
    for (panel, hole), slide in zip(found, slides, strict=True):
        middle = np.array([[hole.u, hole.v, panel.shape.thickness / 2]])
        at = point(panel.placement.to_table(middle)[0])
        least = assembly.limits.finger_hole
        if hole.diameter < least - CONTACT:
            small = SmallPushHole(hole.leaf, hole.diameter, least)
            yield Fact("push-hole", "warning", (panel.label, hole.leaf), at, least - hole.diameter, small)
        for number in np.flatnonzero(slide.exact & (slide.clearance < -CONTACT)).tolist():
            by = bodies[number]
            severity: Severity = "note" if by.role.slides else "warning"
            cause = PushHoleTaken(hole.leaf, by.label, by.role.slides)
            depth = -slide.separation(number).distance
            yield Fact("push-hole", severity, (panel.label, by.label), at, depth, cause)


def _way(assembly: Assembly, panel: Part, hole: Hole) -> Pieces:
    """The cylinder that a hand takes, with facets inside of the hole."""
    low, high = panel.box
    top, leaf = float(high[2]), assembly.by_label.get(hole.leaf)
    if leaf is not None and hole.leaf in assembly.cover:
        top = max(top, float(replace(leaf, placement=assembly.cover[hole.leaf]).box[0][2]))
    center = panel.placement.to_table(np.array([[hole.u, hole.v, 0.0]]))[0]
    turns = np.arange(_SIDES) * (2 * pi / _SIDES)
    around = np.stack([np.cos(turns), np.sin(turns), np.zeros(_SIDES)], axis=1)
    radius = hole.diameter / 2 * cos(pi / _SIDES)
    walls = np.concatenate([around, (around @ center + radius)[:, None]], axis=1)
    ends = np.array([[0.0, 0.0, -1.0, ROOM - float(low[2])], [0.0, 0.0, 1.0, top]])
    return from_planes([np.concatenate([walls, ends])], [""])
