"""What makes a finding go away: changes to the table file that the maker can apply, and the same in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..designs.table.parameters import Legs
from ..sizes.declare import parameters
from ..sizes.units import format_amount
from ..wood.as_cut import drawn_dimension
from ..wood.roles import BOTTOM, END_STOP, GUIDE, KICKER, LEG, RUNNER
from .findings import Change, Remedy

if TYPE_CHECKING:
    from collections.abc import Iterable

    from ..designs.table.parameters import AsCut, Table
    from ..wood.assembly import Assembly
    from ..wood.part import Part
    from ..wood.roles import Role
    from .clearance.kernel import Overlap
    from .lengths import LongPart
    from .prepared import Prepared

MARGIN = 1e-3
"""A remedy aims this far past the limit, mm, so that rounding on the way does not undo it."""


def as_drawn(table: Table, assembly: Assembly, labels: Iterable[str]) -> Remedy | None:
    """Set the `as_cut` entries of these parts back to the drawing; None if there are none."""
    wanted = set(labels)
    entries = [
        (i, entry)
        for i, entry in enumerate(table.as_cut)
        if entry.part in wanted and _deviates(assembly, entry)
    ]
    if not entries:
        return None
    words = [f"the {entry.dimension.replace('_', ' ')} of {entry.part}" for _, entry in entries]
    return Remedy(
        f"Cut {' and '.join(words)} as drawn", tuple(_reset(assembly, i, entry) for i, entry in entries)
    )


def _deviates(assembly: Assembly, entry: AsCut) -> bool:
    if entry.deviation is not None:
        return entry.deviation != 0
    return entry.value != drawn_dimension(assembly.by_label[entry.part], entry)


def _reset(assembly: Assembly, index: int, entry: AsCut) -> Change:
    if entry.deviation is not None:
        return Change(f"as_cut[{index}].deviation", 0.0)
    return Change(f"as_cut[{index}].value", drawn_dimension(assembly.by_label[entry.part], entry))


def for_long_part(table: Table, assembly: Assembly, long: LongPart) -> Remedy:
    """Trim the end, or cut what took its room as drawn."""
    allowance = table.limits.fit_allowance
    trim = (
        f"Trim {in_words(table, long.trim)} off the {long.end} of {long.part}"
        f" (up to {in_words(table, long.trim + allowance)} keeps a good fit)"
    )
    reset = as_drawn(table, assembly, (long.part,)) or as_drawn(table, assembly, (long.neighbor,))
    if reset is None:
        return Remedy(trim)
    return Remedy(trim, reset.set)


def for_overlap(table: Table, prepared: Prepared, found: Overlap) -> Remedy | None:
    """For two boards in the same place: the drawing, or the size that brings them apart."""
    a, b = prepared.assembly.parts[found.a], prepared.assembly.parts[found.b]
    remedy = as_drawn(table, prepared.assembly, (a.label, b.label))
    if remedy is not None:
        return remedy
    for leg, other in ((a, b), (b, a)):
        if leg.role == LEG:
            return narrower_legs(table, _leg_past(prepared, leg, other) + MARGIN)
    if BOTTOM in (a.role, b.role):
        depth = found.depth + MARGIN
        return Remedy(
            f"Make the groove {in_words(table, depth)} wider",
            (Change("limits.fit_allowance", table.limits.fit_allowance + depth),),
        )
    for role, flag in _LEFT_OUT.items():
        if role in (a.role, b.role):
            return Remedy(f"Leave the {flag.replace('_', ' ')} out", (Change(f"stowing.{flag}", False),))
    return None


_LEFT_OUT: dict[Role, str] = {
    RUNNER: "runners",
    KICKER: "kickers",
    GUIDE: "guides",
    END_STOP: "end_stops",
}
"""Parts that a table can do without, and the parameter that leaves them out."""


def narrower_legs(table: Table, by: float) -> Remedy:
    """Legs that take less room, or none where nothing of them would be left."""
    width = table.legs.width - by
    thickness = next(stock.thickness for stock in table.stock if stock.name == table.legs.stock)
    least = next(one.low or 0.0 for one in parameters(Legs) if one.name == "width")
    if width > thickness and width >= least:
        return Remedy(f"Make the legs {in_words(table, width)} wide", (Change("legs.width", width),))
    return Remedy("Leave these legs out and fit others", (Change("legs.fitted", False),))


def _leg_past(prepared: Prepared, leg: Part, other: Part) -> float:
    """How far a leg board reaches past the far face of another part, toward the middle of the table, mm."""
    axis = int(np.abs(leg.placement.axes[1]).argmax())
    (low, high), (other_low, other_high) = prepared.bounds(leg.label), prepared.bounds(other.label)
    if low[axis] + high[axis] > 0:
        return float(other_high[axis] - low[axis])
    return float(high[axis] - other_low[axis])


def in_words(table: Table, amount: float) -> str:
    """A length in the table's unit."""
    return format_amount(amount, table.units)
