"""The quilting table grown to the limits of its parameters, with hundreds of parts: what the software must still bear.

Ribs stand as close together as is asked for, wherever no leaf passes, and strips go into every bay.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from addon.designs.table.layout import lay_out
from addon.designs.table.ribs import free_intervals
from addon.files.editing import set_values
from addon.files.examples import EXAMPLES

if TYPE_CHECKING:
    from addon.designs.table.lanes import Layout
    from addon.designs.table.parameters import Table


_PLAIN = {
    "ribs.upper_windows": "closed", "ribs.window_chamfer": 2.0, "ribs.stand_off": 0.0, "leaves.lead_chamfer": 0.0,
    "sides.wood_above_slots": 8.0,
}  # fmt: skip
"""Sizes that stay, whatever the shipped table's are, so that times compare."""


def large_table(through: int, rows: int, *, strips: bool = True) -> Table:
    """A table of 4 m by 3 m whose leaves pass.

    Parameters
    ----------
    through : through ribs, about
    rows : rows of rib segments, about; one segment in each of the bays between through ribs
    strips : whether the leaves have runners, kickers and guides
    """
    table = set_values(
        EXAMPLES["quilting"].table(),
        {
            "table.length": 4000.0,
            "table.width": 3000.0,
            "leaves.cover_length": 2000.0,
            "stow[0].offset": -1300.0,
            "stow[1].offset": 1300.0,
            "stow[2].offset": 900.0,
            "stow[3].offset": -900.0,
            **_PLAIN,
            "stowing.runners": strips,
            "stowing.kickers": strips,
            "stowing.guides": strips,
        },
    )
    layout = lay_out(table)
    return set_values(
        table,
        {
            "ribs.through_at": _spread(layout, 0, through),
            "ribs.rows_at": _spread(layout, 1, rows),
        },
    )


def _spread(layout: Layout, axis: int, count: int) -> list[float]:
    """Center lines of about `count` ribs, spread over what leaves and legs leave free of an axis, mm."""
    t, end = layout.rib_thickness, layout.inner[axis] - layout.table.legs.width
    free = [(max(low, -end) + t, min(high, end) - t) for low, high in free_intervals(layout, axis)]
    rooms = [(low, high) for low, high in free if high - low > 2 * t]
    total = sum(high - low for low, high in rooms)
    found: list[float] = []
    for low, high in rooms:
        number = round(count * (high - low) / total)
        found += [low + (high - low) * (k + 0.5) / number for k in range(number)]
    return found
