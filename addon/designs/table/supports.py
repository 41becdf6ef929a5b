"""Center supports: boards on edge under the joints of the cover leaves, hooked on the ledgers and lifted out."""

from __future__ import annotations

from typing import Final

from ...wood.features import Opening
from ...wood.part import Part, Placement, Shape
from ...wood.roles import SUPPORT
from .bill import Bill
from .lanes import Layout
from .refusals import at_least, at_most, refuse

FIT: Final = 0.5
"""Room on either side of a hook in its notch, and at both ends of a support, mm (common practice, no source)."""
LEAST_HEIGHT: Final = 12.0
"""A lower support carries nothing worth having, mm (common practice, no source)."""


def joints_at(layout: Layout) -> tuple[float, ...]:
    """Where two cover leaves lie side by side, on the axis across them, mm; none without center supports."""
    leaves = layout.table.leaves
    if not layout.table.well.center_supports:
        return ()
    step = layout.leaf_size[1] + leaves.gap
    return tuple((number - leaves.count / 2) * step for number in range(1, leaves.count))


def hook_depth(layout: Layout) -> float:
    """Depth of the notches in the ledgers, mm: as deep as leaves as much of the ledger below it."""
    return layout.table.well.ledger_height / 2


def check_supports(layout: Layout) -> None:
    """Refuse supports too low to carry anything, or lower than their hooks."""
    well = layout.table.well
    if not joints_at(layout):
        return
    least = max(LEAST_HEIGHT, hook_depth(layout))
    if well.depth - well.work_height < least:
        most = well.depth - least
        if most >= 0:
            refuse(
                layout.table, "well.work_height", well.work_height, at_most(layout.table, most),
                "nothing of the center supports would be left above it",
            )  # fmt: skip
        refuse(
            layout.table, "well.depth", well.depth, at_least(layout.table, well.work_height + least),
            "the well is too shallow for center supports",
        )  # fmt: skip


def ledger_notches(layout: Layout) -> tuple[Opening, ...]:
    """In a ledger strip, for the hooks."""
    across = layout.table.leaves.direction == "across"
    run, height = layout.inner[0 if across else 1], layout.table.well.ledger_height
    half = _stock_thickness(layout) / 2 + FIT
    bottom = height - hook_depth(layout)
    return tuple(
        Opening(run + at - half, run + at + half, bottom, height, kind="notch", open_above=True)
        for at in joints_at(layout)
    )


def add_supports(layout: Layout, bill: Bill, ledgers: list[Part]) -> None:
    """One support under each joint, loose in the ledgers' notches, its upper edge level with theirs."""
    across = layout.table.leaves.direction == "across"
    well, wall = layout.table.well, layout.inner[1 if across else 0]
    stock, t = layout.stocks[well.ledger_stock], _stock_thickness(layout)
    height, hook = well.depth - well.work_height, hook_depth(layout)
    length, end = (
        2 * (wall - FIT),
        t,
    )  # the hook reaches over the ledger; its shoulder keeps clear of it by FIT
    outline = (
        (end, 0.0), (length - end, 0.0), (length - end, height - hook), (length, height - hook),
        (length, height), (0.0, height), (0.0, height - hook), (end, height - hook),
    )  # fmt: skip
    low = layout.cover_bottom - height
    for number, at in enumerate(joints_at(layout), 1):
        place = (
            Placement.along("+y", "+z", (at - t / 2, -wall + FIT, low))
            if across
            else Placement.along("+x", "+z", (-wall + FIT, at + t / 2, low))
        )
        shape = Shape(outline, t)
        between = f"between leaves {number} and {number + 1}"
        support = bill.add(SUPPORT, "center support", stock, shape, place, which=(between,))
        for ledger in ledgers:
            bill.join(support, ledger, "face", fastening="dry")


def _stock_thickness(layout: Layout) -> float:
    return layout.thickness(layout.table.well.ledger_stock)
