"""Animation curves, alike in all versions of Blender: actions had their curves directly up to 4.x and have layers and
slots from 4.4 on."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import numpy as np

if TYPE_CHECKING:
    from bpy.types import ActionFCurves, FCurve, Object, Scene
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

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
