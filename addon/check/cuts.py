"""What is cut for a leaf to pass: slots and windows right through a board, and grooves in which its edge runs."""

from __future__ import annotations

from collections.abc import Iterable

from ..sizes.arrays import Floats
from ..sizes.tolerances import WELD
from ..wood.features import Groove, Opening
from ..wood.part import Part

Cut = Opening | Groove

Box = tuple[tuple[float, float, float], tuple[float, float, float]]


def cuts_for(leaf: str, parts: Iterable[Part]) -> list[tuple[Part, Cut]]:
    """All cuts that a leaf passes, each with its part."""
    found: list[tuple[Part, Cut]] = []
    for part in parts:
        found += [(part, cut) for cut in part.shape.openings if cut.leaf == leaf]
        found += [(part, cut) for cut in part.shape.grooves if cut.leaf == leaf]
    return found


def land_of(part: Part, cut: Cut) -> Box:
    """Low and high corner of a cut between its chamfers, in the part's frame, as far as the board reaches; mm."""
    thickness = part.shape.thickness
    if isinstance(cut, Opening):
        return (cut.u0, cut.v0, 0.0), (cut.u1, cut.v1, thickness)
    (u0, v0), (u1, v1) = part.shape.blank.low, part.shape.blank.high
    top, bottom = (0.0, cut.depth) if cut.face == "front" else (thickness - cut.depth, thickness)
    return (max(cut.u0, u0), max(cut.v0, v0), top), (min(cut.u1, u1), min(cut.v1, v1), bottom)


def wood_beside(part: Part, cut: Cut, direction: Floats) -> tuple[bool, bool]:
    """Whether there is wood beyond a cut against a direction of the table, (3,) float, and along it."""
    turned = (part.placement.axes @ direction).tolist()
    axis = max(range(3), key=lambda k: abs(turned[k]))
    low, high = _walls(part, cut, axis)
    return (low, high) if turned[axis] > 0 else (high, low)


def _walls(part: Part, cut: Cut, axis: int) -> tuple[bool, bool]:
    """Whether there is wood on the lesser and on the greater side along u, v or w (axis 0, 1 or 2)."""
    if isinstance(cut, Opening):
        return cut.walls[axis] if axis < 2 else (False, False)
    if axis == 2:
        return cut.face == "back", cut.face == "front"
    blank, (low, high) = part.shape.blank, cut.spans[axis]
    return low > blank.low[axis] + WELD, high < blank.high[axis] - WELD


def chamfers_of(part: Part, cut: Cut, inward: Floats) -> tuple[float, float]:
    """Sizes of the chamfers where a nose goes in and where it comes out, mm; `inward`: (3,) float, its direction."""
    if isinstance(cut, Groove):
        return 0.0, 0.0
    enters_front = float(inward @ part.placement.axes[2]) > 0
    return (cut.front_chamfer, cut.back_chamfer) if enters_front else (cut.back_chamfer, cut.front_chamfer)
