"""Stow places for a table whose file gives none."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..parameters import Stow
from .lanes import along_and_across

if TYPE_CHECKING:
    from ..parameters import Table
    from .lanes import Size

SIDES = {1: ("front", "back"), 0: ("right", "left")}
"""Sides by the axis that leaves travel along through them, in the order in which they are filled."""


def automatic_stow(table: Table, inner: tuple[float, float], size: Size, rib: float) -> tuple[Stow, ...]:
    """As many leaves through the long sides as through the short ones where both have room, spread over each side.

    Parameters
    ----------
    inner : half the inner length and width, mm
    size : length, width and thickness of a leaf, mm
    rib : thickness of a rib, mm
    """
    numbers = _share_out(table.leaves.count, [_capacity(table, axis, inner, size, rib) for axis in (0, 1)])
    stows = []
    for axis in (1, 0):
        farthest = _farthest(table, axis, inner, size, rib)
        tier = "upper" if axis == 1 or not numbers[1] else "lower"
        for index in range(numbers[axis]):
            share = 0.5 if numbers[axis] == 1 else index / (numbers[axis] - 1)
            sign = 1 if axis == 1 else -1
            stows.append(
                Stow(side=SIDES[axis][index % 2], tier=tier, offset=sign * farthest * (2 * share - 1))
            )
    return tuple(stows)


def _share_out(count: int, capacity: list[int]) -> tuple[int, int]:
    """Leaves that travel along x and along y. Up to two go through the long sides, more are shared evenly."""
    wanted = count if count <= 2 else (count + 1) // 2
    through_long = min(wanted, capacity[1])
    through_short = min(count - through_long, capacity[0])
    return through_short, count - through_short


def _farthest(table: Table, axis: int, inner: tuple[float, float], size: Size, rib: float) -> float:
    """How far from the middle of a side the outermost lane may lie: clear of legs and of a rib beside it, mm."""
    _, lateral = along_and_across(table, axis, inner, size) or (0.0, size[0])
    legs = table.legs.width if table.legs.fitted else 0.0
    taken = max(legs, table.ribs.least_post + table.sides.slot_chamfer) + rib
    return inner[1 - axis] - taken - lateral / 2 - table.stowing.side_clearance


def _capacity(table: Table, axis: int, inner: tuple[float, float], size: Size, rib: float) -> int:
    """How many lanes fit side by side along an axis, with a rib between each two."""
    turned = along_and_across(table, axis, inner, size)
    farthest = _farthest(table, axis, inner, size, rib)
    if turned is None or farthest < 0:
        return 0
    chamfers = 2 * table.sides.slot_chamfer + 1
    lane = turned[1] + 2 * table.stowing.side_clearance + max(rib, chamfers)
    return 1 + int(2 * farthest / lane + 1e-9)
