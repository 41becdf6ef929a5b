"""What makes a finding go away: changes to the table file that the maker can apply, and the same in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..model.as_cut import drawn_dimension
from ..model.units import format_amount
from .findings import Change, Remedy

if TYPE_CHECKING:
    from collections.abc import Iterable

    from ..model.assembly import Assembly, StowPath
    from ..model.parameters import AsCut, Table
    from .kernel import Overlap
    from .lengths import LongPart
    from .slides import Meeting

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


def for_meeting(table: Table, assembly: Assembly, path: StowPath, meeting: Meeting) -> Remedy | None:
    """For a leaf that comes too near to another part: more room on the side where it lacks."""
    remedy = as_drawn(table, assembly, (meeting.part, meeting.leaf))
    if remedy is not None:
        return remedy
    missing = table.limits.min_clearance - meeting.clearance + MARGIN
    along = int(np.abs(path.outward).argmax())
    up, ahead, beside = abs(meeting.axis[2]), abs(meeting.axis[along]), abs(meeting.axis[1 - along])
    if min(up, beside) > 0.05:
        return _round_corner(table, missing, meeting)
    if ahead >= max(up, beside):
        return _less_recess(table, missing)
    if up > beside:
        name = "clearance_above" if meeting.axis[2] > 0 else "clearance_below"
        return _more_room(table, meeting, name, missing)
    role = assembly.by_label[meeting.part].role
    if role == "leg":
        width = table.legs.width - missing
        return Remedy(f"Make the legs {_words(table, width)} wide", (Change("legs.width", width),))
    return _more_room(table, meeting, "side_clearance", missing)


def _words(table: Table, amount: float) -> str:
    return format_amount(amount, table.units)


def _round_corner(table: Table, missing: float, meeting: Meeting) -> Remedy:
    radius, thickness = table.sides.corner_radius, _leaf_thickness(table)
    if table.leaves.edge_radius < radius and 2 * radius < thickness:
        return Remedy(
            f"Round the leaves' edges to {_words(table, radius)}, the corner radius of the slots",
            (Change("leaves.edge_radius", radius),),
        )
    beside = _more_room(table, meeting, "side_clearance", missing)
    above = _more_room(
        table, meeting, "clearance_above" if meeting.axis[2] > 0 else "clearance_below", missing
    )
    return Remedy(f"{beside.text} and {above.text.lower()}", (*beside.set, *above.set))


def _leaf_thickness(table: Table) -> float:
    return next(stock.thickness for stock in table.stock if stock.name == table.leaves.stock)


def _less_recess(table: Table, missing: float) -> Remedy:
    recess = table.stowing.recess - missing
    return Remedy(
        f"Stow the leaves {_words(table, missing)} farther out", (Change("stowing.recess", recess),)
    )


def _more_room(table: Table, meeting: Meeting, name: str, missing: float) -> Remedy:
    """A greater clearance, of this leaf alone where it has its own."""
    index = int(meeting.leaf[1:]) - 1
    own = index < len(table.stow) and getattr(table.stow[index], name) is not None
    now = getattr(table.stow[index] if own else table.stowing, name)
    where = {"side_clearance": "beside", "clearance_above": "above", "clearance_below": "below"}[name]
    whose = meeting.leaf if own else "every leaf"
    key = f"stow[{index}].{name}" if own else f"stowing.{name}"
    return Remedy(f"Leave {_words(table, now + missing)} {where} {whose}", (Change(key, now + missing),))


def for_long_part(table: Table, assembly: Assembly, long: LongPart) -> Remedy:
    """Trim the end, or cut what took its room as drawn."""
    allowance = table.limits.fit_allowance
    trim = (
        f"Trim {_words(table, long.trim)} off the {long.end} of {long.part}"
        f" (up to {_words(table, long.trim + allowance)} keeps a good fit)"
    )
    reset = as_drawn(table, assembly, (long.part,)) or as_drawn(table, assembly, (long.neighbour,))
    if reset is None:
        return Remedy(trim)
    return Remedy(trim, reset.set)


def for_overlap(table: Table, assembly: Assembly, found: Overlap) -> Remedy | None:
    """For two boards in the same place: the drawing, or the size that brings them apart."""
    a, b = assembly.parts[found.a], assembly.parts[found.b]
    remedy = as_drawn(table, assembly, (a.label, b.label))
    if remedy is not None:
        return remedy
    depth = found.depth + MARGIN
    if "leg" in (a.role, b.role):
        width = table.legs.width - depth
        return Remedy(f"Make the legs {_words(table, width)} wide", (Change("legs.width", width),))
    if "floor" in (a.role, b.role):
        allowance = table.limits.fit_allowance + depth
        return Remedy(
            f"Make the groove {_words(table, depth)} wider", (Change("limits.fit_allowance", allowance),)
        )
    return None


def for_recess(table: Table) -> Remedy:
    """Stow leaves just as far out as allowed."""
    return Remedy(
        f"Let the leaves stand out no more than {_words(table, table.limits.leaf_proud)}",
        (Change("stowing.recess", -table.limits.leaf_proud),),
    )
