"""Leaves on the cover, on their way and stowed, still and animated; keyframes alike in all versions of Blender.

Actions had their curves directly up to 4.x and have layers and slots from 4.4 on.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Final, Literal

import numpy as np
from bpy.types import FCurve, Object, Scene
from mathutils import Matrix
from numpy.typing import NDArray

from ...sizes.arrays import Floats
from ...wood.assembly import Assembly
from .. import ids
from ..description import METERS, PartObject
from ..objects import place
from .timeline import LeafTime, Order, Timeline, plan

if TYPE_CHECKING:
    from bpy.types import ActionFCurves  # not in all versions of Blender


Interpolation = Literal["BEZIER", "CONSTANT"]


def curves_of(item: Object | Scene) -> ActionFCurves | list[FCurve]:
    """The curves that animate an object."""
    data = item.animation_data
    if data is None or data.action is None:
        return []
    action = data.action
    if hasattr(action, "fcurves"):
        return action.fcurves
    for layer in action.layers:
        for strip in layer.strips:
            bag = strip.channelbag(data.action_slot)
            if bag is not None:
                return bag.fcurves
    return []


def set_keys(
    item: Object | Scene,
    path: str,
    frames: Floats,
    values: Floats,
    flat: NDArray[np.bool_],
    kind: Interpolation = "BEZIER",
) -> None:
    """Replaces the keyframes of one property of an object.

    Parameters
    ----------
    path : from the object, or whatever else is animated, to the property
    frames : (n,) float, rising
    values : (n, k) float, a column for each of the property's k components
    flat : (n,) bool, keys at which the motion rests; at the others it passes through evenly
    """
    if not hasattr(item.path_resolve(path), "__len__"):
        item.keyframe_insert(path, frame=float(frames[0]))
    else:
        item.keyframe_insert(path, index=-1, frame=float(frames[0]))
    for curve in curves_of(item):
        if curve.data_path == path:
            _fill(curve, frames, values[:, curve.array_index], flat, kind)


def _fill(
    curve: FCurve, frames: Floats, values: Floats, flat: NDArray[np.bool_], kind: Interpolation
) -> None:
    points = curve.keyframe_points
    points.clear()
    points.add(len(frames))
    points.foreach_set("co", np.stack([frames, values], axis=1).astype(np.float32).ravel())
    slope = np.where(flat, 0.0, np.gradient(values, frames)) if len(frames) > 1 else np.zeros(1)
    before = np.diff(frames, prepend=frames[0] - 1.0) / 3.0
    after = np.diff(frames, append=frames[-1] + 1.0) / 3.0
    left = np.stack([frames - before, values - slope * before], axis=1)
    right = np.stack([frames + after, values + slope * after], axis=1)
    for index, point in enumerate(points):
        point.interpolation = kind
        point.handle_left_type = point.handle_right_type = "FREE"
        point.handle_left = left[index]
        point.handle_right = right[index]
    curve.update()


def drop_keys(item: Object | Scene, *paths: str) -> None:
    """Takes away the keyframes of some properties of an object; those of others stay."""
    curves = curves_of(item)
    for curve in [curve for curve in curves if curve.data_path in paths]:
        curves.remove(curve)  # type: ignore[union-attr]
    if not curves and item.animation_data is not None and not item.animation_data.nla_tracks:
        item.animation_data_clear()


LIFT: Final = 0.16
"""How high a leaf is lifted off the cover before it is carried to its slot, m."""
LIFT_STEP: Final = 0.07
"""How much higher each leaf goes where all move together, so that they pass over each other, m."""
BACK_OFF: Final = 0.08
"""How far before the start of its stow path a leaf is let down, m."""
LIFTED: Final = 0.3
LET_DOWN: Final = 0.72
"""Shares of the carrying time at which the leaf is up, and above its place before the slot."""
LIFTED_TO_TURN: Final = 0.2
TURNED: Final = 0.55
"""Shares at which a leaf that is stowed turned over begins to turn, higher up, and has turned."""
TURN_STEPS: Final = 6
"""In so many steps it turns, each straight; its middle stays where it is."""

ANIMATED: Final = ("location", "rotation_quaternion")


def cover(item: Object, part: PartObject) -> None:
    """Lays a leaf on the cover."""
    place(item, part.matrix if part.cover is None else part.cover)


def slide(item: Object, part: PartObject, assembly: Assembly, travel: float) -> None:
    """Puts a leaf on its way, its nose `travel` mm past the slot's outer face."""
    place(item, _shifted(part.matrix, assembly.path_of(part.label).offset_at(travel)))


def stow(item: Object, part: PartObject) -> None:
    """Stows a leaf."""
    place(item, part.matrix)


def animate(
    objects: dict[str, Object], parts: dict[str, PartObject], assembly: Assembly, order: Order,
    pauses: Mapping[str, Sequence[float]] | None = None,
) -> Timeline:  # fmt: skip
    """Gives every leaf that has a stow path its keyframes; they replace what keyframes its place and turn had.

    `pauses` are those of `timeline.plan`.
    """
    timeline = plan(assembly, order, pauses)
    for index, (leaf, time) in enumerate(timeline.leaves.items()):
        lift = LIFT + (LIFT_STEP * index if order == "together" else 0.0)
        _animate_leaf(objects[leaf], parts[leaf], time, lift)
    return timeline


def still(item: Object) -> None:
    """Takes the stow animation away from a leaf; keyframes of other properties stay."""
    if item.get(ids.ACTION):
        drop_keys(item, *ANIMATED)
        del item[ids.ACTION]
        forget_place(item)


def forget_place(item: Object) -> None:
    """Has a leaf put in its place even if that is the place it was given last, and the user moved it since."""
    if ids.PLACE in item:
        del item[ids.PLACE]


def is_animated(item: Object) -> bool:
    """Whether a leaf has its stow animation."""
    return bool(item.get(ids.ACTION))


def _animate_leaf(item: Object, part: PartObject, time: LeafTime, lift: float) -> None:
    keys = _keys(part, time, lift)
    places = np.array([_location_and_turn(matrix) for _, matrix, _ in keys])
    for row in range(1, len(places)):
        if places[row, 3:] @ places[row - 1, 3:] < 0:
            places[row, 3:] *= -1.0  # the same turn, the short way round
    frames = np.array([frame for frame, _, _ in keys], dtype=float)
    rests = np.array([rest for _, _, rest in keys])
    item.rotation_mode = "QUATERNION"
    set_keys(item, "location", frames, places[:, :3], rests)
    set_keys(item, "rotation_quaternion", frames, places[:, 3:], rests)
    item[ids.ACTION] = 1


def _keys(part: PartObject, time: LeafTime, lift: float) -> list[tuple[float, Floats, bool]]:
    """Frame, (4, 4) matrix in m and whether the leaf rests there, for each key of a leaf."""
    lies = part.matrix if part.cover is None else part.cover
    path, carry = time.path, time.at_slot - time.leaves_cover
    start = _shifted(part.matrix, path.moves[0].start)
    above = start.copy()
    above[:3, 3] += path.outward * BACK_OFF
    above[2, 3] = lies[2, 3] + lift
    up = lies.copy()
    up[2, 3] += lift
    keys = [(float(time.leaves_cover), lies, True)]
    if lies[2, 2] * start[2, 2] < 0:
        turning = _turned_over(part, up, path.outward)
        shares = np.linspace(LIFTED_TO_TURN, TURNED, len(turning))
        for number, (share, one) in enumerate(zip(shares, turning, strict=True)):
            # It rests before it turns: a leaf that tilts while it is lifted would dig into its neighbor.
            keys.append((time.leaves_cover + share * carry, one, number in (0, TURN_STEPS)))
    else:
        keys.append((time.leaves_cover + LIFTED * carry, up, False))
    keys += [(time.leaves_cover + LET_DOWN * carry, above, False), (float(time.at_slot), start, True)]
    for move, frame in zip(path.moves, time.move_ends, strict=True):
        keys.append((float(frame), _shifted(part.matrix, move.end), True))
    return keys


def _turned_over(part: PartObject, up: Floats, axis: Floats) -> list[Floats]:
    """(4, 4) float, m, each: a leaf that turns over about a level axis through its middle, clear of what is below.

    Parameters
    ----------
    up : where it would be lifted to if it did not turn
    axis : (3,) float, unit
    """
    points = part.mesh.positions @ up[:3, :3].T + up[:3, 3]
    middle = (points.min(axis=0) + points.max(axis=0)) / 2
    reach = float(np.ptp((points - middle) @ np.cross(axis, [0.0, 0.0, 1.0]))) / 2
    raised = up.copy()
    raised[2, 3] += reach
    middle[2] += reach
    found = []
    for angle in np.linspace(0.0, np.pi, TURN_STEPS + 1):
        turn = np.array(Matrix.Rotation(float(angle), 3, axis.tolist()))
        one = raised.copy()
        one[:3, :3] = turn @ raised[:3, :3]
        one[:3, 3] = middle + turn @ (raised[:3, 3] - middle)
        found.append(one)
    return found


def _shifted(matrix: Floats, offset: Floats) -> Floats:
    moved = matrix.copy()
    moved[:3, 3] += np.asarray(offset) * METERS
    return moved


def _location_and_turn(matrix: Floats) -> list[float]:
    """(7,) location in m and unit quaternion."""
    location, turn, _ = Matrix(matrix.tolist()).decompose()
    return [*location, *turn]
