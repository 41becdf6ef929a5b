"""A new reserved space: which of its parameters a form has, and where it stands at first.

It may stand in wood or in a leaf's way there: the check says so, and what moves it out.
"""

from __future__ import annotations

from typing import Any, Final, Literal

import numpy as np

from ...sizes.arrays import Floats
from ...sizes.units import MM_PER_INCH, Units
from ...wood.assembly import Assembly
from ...wood.roles import BOTTOM, SIDE

Where = Literal["floor", "under", "well", "top"]

_KEYS: Final[dict[str, tuple[str, ...]]] = {
    "box": ("x", "y", "z"),
    "cylinder": ("x", "y", "z", "diameter"),
    "hand": ("x", "y", "z", "width", "height"),
    "cable": ("x", "y", "z", "diameter", "bend", "hole"),
    "wall": ("side", "distance"),
}

REACH: Final = 150.0
"""How far a hand comes from outside to a leaf's outer end, mm (common practice, no source)."""
_BELOW, _BESIDE = 15.0, 30.0
"""Of a new cable's middle: below the bottom panel, and from the side that it runs along, mm."""


def keys_of(form: str) -> tuple[str, ...]:
    """The parameters that a space of a form uses, `name` and `form` first."""
    return ("name", "form", *_KEYS[form], "leaf")


def free_name(names: set[str], wanted: str) -> str:
    """A name that no other space has: the one wanted, or with a number behind it."""
    number, found = 1, wanted
    while found in names:
        number += 1
        found = f"{wanted} {number}"
    return found


def standing(assembly: Assembly, where: Where, sizes: tuple[float, float, float]) -> dict[str, Any]:
    """Corners of a box of some length, width and height in the table's middle, mm: on the room's floor, under the
    bottom panel, in the well or on the top."""
    length, width, height = sizes
    low, high = _panel(assembly)
    tops = [float(part.box[1][2]) for part in assembly.with_role(SIDE.word)]
    below = {"floor": 0.0, "under": low - height, "well": high, "top": max(tops, default=high)}[where]
    return _points([(-length / 2, -width / 2, below), (length / 2, width / 2, below + height)], _EXACT)


def upright(assembly: Assembly, where: Where, diameter: float, height: float) -> dict[str, Any]:
    """An upright cylinder in the same places."""
    box = standing(assembly, where, (diameter, diameter, height))
    return {"x": [0.0, 0.0], "y": [0.0, 0.0], "z": box["z"], "diameter": diameter}


def hand_of(assembly: Assembly, leaf: str, units: Units) -> dict[str, Any]:
    """The way of the hand that draws a leaf: from before its slot to the outer face that the slot is in."""
    path, part = assembly.path_of(leaf), assembly.by_label[leaf]
    low, high = part.box
    middle = np.asarray((low + high) / 2, dtype=float)
    axis = int(np.abs(path.outward).argmax())
    face = assembly.by_label[path.side].box[1 if path.outward[axis] > 0 else 0][axis]
    inner, outer = middle.copy(), middle.copy()
    inner[axis] = face
    outer[axis] = face + REACH * np.sign(path.outward[axis])
    return {**_points([outer, inner], _readable(units)), "leaf": leaf}


def cable_along(assembly: Assembly, side: str, units: Units) -> dict[str, Any]:
    """A cable under the bottom panel along the inside of a side: ``front``, ``back``, ``left`` or ``right``."""
    sides = np.array([part.box for part in assembly.with_role(SIDE.word)])
    low, high = sides[:, 0].min(axis=0), sides[:, 1].max(axis=0)
    thick = float((sides[:, 1] - sides[:, 0]).min())
    axis = 1 if side in ("front", "back") else 0
    ends = np.array([low + thick, high - thick])
    ends[:, axis] = ends[0, axis] + _BESIDE if side in ("front", "left") else ends[1, axis] - _BESIDE
    ends[:, 2] = _panel(assembly)[0] - _BELOW
    return _points(ends, _readable(units))


def _panel(assembly: Assembly) -> tuple[float, float]:
    """Heights of the bottom panel's two faces, mm."""
    boxes = [part.box for part in assembly.with_role(BOTTOM.word)]
    return min(float(low[2]) for low, _ in boxes), max(float(high[2]) for _, high in boxes)


_EXACT: Final = 1e-3
"""Of what touches wood, mm."""


def _readable(units: Units) -> float:
    """A division that any tape has, mm."""
    return 0.5 if units == "mm" else float(MM_PER_INCH) / 32


def _points(points: Floats | list[Any], step: float) -> dict[str, Any]:
    """Coordinates by axis, in multiples of a step, mm."""
    columns = np.asarray(points, dtype=float).T
    return {
        name: [round(float(one), 6) + 0.0 for one in np.round(column / step) * step]
        for name, column in zip("xyz", columns, strict=True)
    }
