"""Parts that are too long or too short for the room between their joints.

A part that is too long cannot be put in as drawn. Three things can happen, and each is worked out: it seats on one
end and the excess overlaps the neighbor at the other; it is forced in, seats on the end that is too long, and
carries its windows along; or the excess pushes the neighbor aside. The second and third can stop a leaf.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..sizes.tolerances import CONTACT
from .causes import LongPart, ShortPart, Stop
from .spans import point

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from ..wood.assembly import Joint, StowPath
    from ..wood.features import End
    from ..wood.part import Part
    from .causes import Point, Way
    from .clearance.kernel import Overlap
    from .prepared import Prepared

    Floats = NDArray[np.float64]


def long_parts(prepared: Prepared, overlaps: list[Overlap]) -> list[LongPart]:
    """Parts cut longer than drawn that run into the neighbor at that end."""
    parts = prepared.assembly.bodies
    deep = {(parts[found.a].label, parts[found.b].label): found for found in overlaps}
    long = []
    for joint in prepared.assembly.joints:
        found = deep.get((joint.a, joint.b)) or deep.get((joint.b, joint.a))
        if found is None or joint.part_end is None:
            continue
        part = prepared.assembly.by_label[joint.a]
        excess = _deviation_at(part, joint.part_end)
        if excess > CONTACT:
            long.append(_long_part(prepared, joint, part, excess, found))
    return long


def _long_part(prepared: Prepared, joint: Joint, part: Part, excess: float, found: Overlap) -> LongPart:
    end = joint.part_end or "end"
    toward = part.placement.axes[0] * (1.0 if end == "end" else -1.0)
    least = -CONTACT
    return LongPart(
        part=part.label,
        end=end,
        excess=excess,
        neighbor=joint.b,
        overlap=found.depth,
        trim=excess,
        at=point(found.place),
        passages=_passages(prepared, part, end, excess),
        forced=stops(prepared, part.label, -excess * toward, least, "forced in"),
        pushing=stops(prepared, joint.b, excess * toward, least, "pushing"),
    )


def _deviation_at(part: Part, end: End) -> float:
    """How far the part stands out beyond its drawn end, mm; negative where it falls short of it."""
    if part.drawn is None or part.drawn_placement is None:
        return 0.0
    now, before = part.placement, part.drawn_placement
    along = part.placement.axes[0]
    if end == "start":
        return float(along @ (before.origin - now.origin))
    reach = float(along @ now.origin) + part.shape.size[0]
    return reach - float(along @ before.origin) - part.drawn.size[0]


def _passages(prepared: Prepared, part: Part, end: End, excess: float) -> tuple[str, ...]:
    """Leaves whose way the excess stands in: its box against the space that each leaf passes through."""
    length, width, thickness = part.shape.size
    u = (0.0, excess) if end == "start" else (length - excess, length)
    corners = part.placement.to_table(np.array([[u[0], 0.0, 0.0], [u[1], width, thickness]]))
    low, high = corners.min(axis=0), corners.max(axis=0)
    return tuple(path.leaf for path in prepared.assembly.stow_paths if _passes(prepared, path, low, high))


def _passes(prepared: Prepared, path: StowPath, low: Floats, high: Floats) -> bool:
    leaf_low, leaf_high = prepared.bounds(path.leaf)
    for move in path.moves:
        ends = np.array([move.start, move.end])
        swept_low, swept_high = leaf_low + ends.min(axis=0), leaf_high + ends.max(axis=0)
        if (swept_low < high - CONTACT).all() and (swept_high > low + CONTACT).all():
            return True
    return False


def stops(prepared: Prepared, label: str, offset: Floats, least: float, way: Way) -> tuple[Stop, ...]:
    """Leaves that a part shifted by (3,) float mm stops, and where; the part alone is looked at."""
    scene = prepared.alone(label, offset)
    number = prepared.number[label]
    paths = [path for path in prepared.assembly.stow_paths if label not in (path.leaf, path.end_stop)]
    found = []
    for path, slides in zip(paths, prepared.slides(paths, 0.0, scene), strict=True):
        done = -path.zero
        for move, slide in zip(path.moves, slides, strict=True):
            if slide.clearance[number] < least:
                contact = slide.contact(number)
                travel = done + contact.fraction * move.length
                found.append(Stop(path.leaf, label, travel, -contact.clearance, point(contact.place), way))
                break
            done += move.length
    return tuple(found)


def short_parts(prepared: Prepared, allowance: float) -> list[ShortPart]:
    """Ends that stay away from their neighbor by more than drawn and more than the fit allowance.

    Only joints of parts that were cut otherwise than drawn can open: the drawing closes all others.
    """
    by_label = prepared.assembly.by_label
    short = []
    for joint in prepared.assembly.joints:
        a, b = by_label[joint.a], by_label[joint.b]
        if (
            joint.part_end is None
            or joint.kind not in ("butt", "miter")
            or (a.drawn is None and b.drawn is None)
        ):
            continue
        gap, at = _end_gap(prepared, a, joint.part_end, b)
        if joint.kind == "miter":
            gap = -_deviation_at(a, joint.part_end) - _deviation_at(b, _end_towards(prepared, b, a))
        if gap - joint.gap > allowance + CONTACT:
            short.append(ShortPart(a.label, joint.part_end, gap - joint.gap, b.label, at))
    return short


def _end_towards(prepared: Prepared, part: Part, other: Part) -> End:
    """The end of a part at which another one stands."""
    low, high = prepared.bounds(part.label)
    other_low, other_high = prepared.bounds(other.label)
    return "end" if part.placement.axes[0] @ (other_low + other_high - low - high) > 0 else "start"


def _end_gap(prepared: Prepared, a: Part, end: End, b: Part) -> tuple[float, Point]:
    """Distance along a's length from its end to the nearest face of b, mm, and the middle of that gap."""
    axis = int(np.abs(a.placement.axes[0]).argmax())
    low, high = prepared.bounds(a.label)
    other_low, other_high = prepared.bounds(b.label)
    at_low = (end == "start") == (a.placement.axes[0][axis] > 0)
    gap = float(low[axis] - other_high[axis]) if at_low else float(other_low[axis] - high[axis])
    middle = (low + high) / 2
    middle[axis] = low[axis] - gap / 2 if at_low else high[axis] + gap / 2
    return gap, point(middle)
