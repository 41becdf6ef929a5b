"""Stow places for a table whose file gives none."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..parameters import Stow

if TYPE_CHECKING:
    from ..parameters import Table
    from .lanes import Size

AXIS_SIDES = {1: ("front", "back"), 0: ("left", "right")}


def automatic_stow(table: Table, inner: tuple[float, float], size: Size, rib: float) -> tuple[Stow, ...]:
    """Long sides above, short sides below, spread over each side.

    Parameters
    ----------
    inner : half the inner length and width, mm
    size : length, width and thickness of a leaf, mm
    rib : thickness of a rib, mm
    """
    order = [("front", "upper"), ("back", "upper"), ("right", "lower"), ("left", "lower")]
    cycle = 4 if table.leaves.count > 2 else 2
    plan = [order[index % cycle] for index in range(table.leaves.count)]
    stows = []
    for index, (side, tier) in enumerate(plan):
        axis = 1 if side in AXIS_SIDES[1] else 0
        mates = [other for other, (its, _) in enumerate(plan) if its in AXIS_SIDES[axis]]
        legs = table.legs.width if table.legs.fitted else 0.0
        taken = max(legs, table.ribs.least_post + table.sides.slot_chamfer) + rib
        farthest = inner[1 - axis] - taken - size[1] / 2 - table.stowing.side_clearance
        share = 0.5 if len(mates) == 1 else mates.index(index) / (len(mates) - 1)
        stows.append(Stow(side=side, tier=tier, offset=farthest * (2 * share - 1)))
    return tuple(stows)
