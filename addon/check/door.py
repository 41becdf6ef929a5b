r"""Whether the table passes a door: what is in one piece, with legs off that come off, turned any way it is carried.

 ________        One size goes through the door, the other two have to fit into its opening, turned as need be.
|    /\  |       A rectangle p high and q wide that is higher than the opening goes in leaning by t:
|   /  \ |           height p·cos t + q·sin t <= opening's height, width p·sin t + q·cos t
|  /   / |       The height falls to the opening's at t = atan2(q, p) + acos(height / hypot(p, q)), and from there
| /   /  |       on the width is least at either end of t (it is concave): there, or lying, where it is p.
|_\  /___|
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import acos, atan2, cos, hypot, inf, sin

import numpy as np

from ..sizes.tolerances import CONTACT
from ..wood.assembly import Assembly
from ..wood.part import Part
from .causes import Cause
from .facts import Fact
from .spans import point


@dataclass(frozen=True)
class NoWayOut(Cause):
    """What is in one piece is too large for the door.

    Parameters
    ----------
    size : of it, along x, y and z, mm
    width, height : of the door's opening, mm
    need : how wide the opening would have to be, mm
    off : whether legs are off
    """

    size: tuple[float, float, float]
    width: float
    height: float
    need: float
    off: bool


def least_width(high: float, wide: float, opening: float) -> float:
    """How wide an opening has to be for a rectangle, however it leans; inf where it is too low for any, mm."""
    high, wide = max(high, wide), min(high, wide)
    if high <= opening + CONTACT:
        return wide
    if wide > opening + CONTACT:
        return inf
    lean = atan2(wide, high) + acos(min(opening / hypot(high, wide), 1.0))
    return min(high * sin(lean) + wide * cos(lean), high)


def door_facts(assembly: Assembly) -> Iterator[Fact]:
    """A warning where no way of carrying it passes the door, with how much wider that would have to be."""
    width, height = assembly.limits.door_width, assembly.limits.door_height
    if width is None:
        return
    loose = {part.label for part in assembly.parts if part.role.slides or part.role.rests}
    off = _comes_off(assembly)
    whole = [part for part in assembly.parts if part.label not in loose | off]
    if not whole:
        return
    boxes = np.array([part.box for part in whole])
    low, high = boxes[:, 0].min(axis=0), boxes[:, 1].max(axis=0)
    x, y, z = (high - low).tolist()
    need = min(least_width(*pair, height) for pair in ((y, z), (x, z), (x, y)))
    if need > width + CONTACT:
        cause = NoWayOut((x, y, z), width, height, need, bool(off))
        part = max(whole, key=lambda one: float(np.ptp(np.array(one.box), axis=0).max()))
        yield Fact("no-way-out", "warning", (part.label,), point((low + high) / 2), need - width, cause)


def _comes_off(assembly: Assembly) -> set[str]:
    """Labels of what stands on the floor and is held to the rest by bolts alone."""
    standing: dict[str, Part] = {part.label: part for part in assembly.parts if part.role.stands_on_floor}
    fixed: set[str] = set()
    beside: dict[str, set[str]] = {label: set() for label in standing}
    for joint in assembly.joints:
        for own, other in ((joint.a, joint.b), (joint.b, joint.a)):
            if own in standing and other in standing:
                beside[own].add(other)
            elif own in standing and joint.fastening not in ("bolt", "dry"):
                fixed.add(own)
    left = list(fixed)
    while left:
        more = beside[left.pop()] - fixed
        fixed |= more
        left += more
    return set(standing) - fixed
