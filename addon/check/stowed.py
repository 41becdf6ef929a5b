"""How the leaves lie stowed: what ends their travel, how far they stand out."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..sizes.tolerances import CONTACT
from .findings import Change, Finding, Remedy
from .fingers import finger_findings
from .more_room import farther_out
from .remedies import MARGIN, as_drawn, in_words

if TYPE_CHECKING:
    from collections.abc import Iterator

    from ..designs.table.parameters import Table
    from ..wood.assembly import StowPath
    from .findings import LeafResult, Point
    from .prepared import Prepared


def stowed_findings(
    prepared: Prepared, table: Table, path: StowPath, result: LeafResult
) -> Iterator[Finding]:
    """Findings on one leaf stowed."""
    yield from _end_of_travel(prepared, table, path, result)
    yield from _outer_end(prepared, table, path, result)
    yield from finger_findings(prepared, table, path, result)


def _nose(prepared: Prepared, path: StowPath, outer: bool = False) -> Point:
    """Middle of the leaf's nose stowed, or of its outer end."""
    low, high = prepared.bounds(path.leaf)
    middle = (low + high) / 2
    axis = int(np.abs(path.outward).argmax())
    middle[axis] = high[axis] if (path.outward[axis] > 0) == outer else low[axis]
    return float(middle[0]), float(middle[1]), float(middle[2])


def _end_of_travel(prepared: Prepared, table: Table, path: StowPath, result: LeafResult) -> Iterator[Finding]:
    gap, leaf = result.end_gap, path.leaf
    home = path.length - path.zero
    if gap is None or gap > table.limits.end_gap + CONTACT:
        amount = gap if gap is not None else path.length
        where = f"until {result.stops_at}" if gap is not None else "right through the table"
        yield Finding(
            "no-end-stop", "warning", (leaf,), _nose(prepared, path), amount,
            f"Nothing stops {leaf} stowed: it slides {in_words(table, amount)} farther, {where}.",
            _to_end_travel(prepared, table, path, result, amount), leaf, home,
        )  # fmt: skip
    elif gap < -CONTACT and result.stops_at == path.end_stop:
        yield Finding(
            "end-stop-near", "warning", (result.stops_at, leaf), _nose(prepared, path), -gap,
            f"End stop {result.stops_at} keeps {leaf} {in_words(table, -gap)} from home.",
            as_drawn(table, prepared.assembly, (result.stops_at, leaf)), leaf, home + gap,
        )  # fmt: skip


def _to_end_travel(
    prepared: Prepared, table: Table, path: StowPath, result: LeafResult, gap: float
) -> Remedy:
    """The drawing, an end stop, or leaves that go farther in."""
    remedy = as_drawn(table, prepared.assembly, (path.leaf, result.stops_at))
    if remedy is not None:
        return remedy
    most, stowing = table.limits.end_gap, table.stowing
    thickness = next(stock.thickness for stock in table.stock if stock.name == table.ribs.stock)
    stop_gap = min(stowing.stop_gap, most, gap - thickness - MARGIN)
    if result.stops_at == path.end_stop:
        stop_gap = most
    if stop_gap < 0:
        return farther_out(table, most - gap)
    changes = [Change("stowing.end_stops", True), Change("stowing.stop_gap", stop_gap)]
    needed = tuple(one for one in changes if getattr(stowing, one.key.partition(".")[2]) != one.value)
    return Remedy(f"Fit end stops {in_words(table, stop_gap)} from the leaves", needed)


def _outer_end(prepared: Prepared, table: Table, path: StowPath, result: LeafResult) -> Iterator[Finding]:
    excess = result.proud - table.limits.leaf_proud
    if excess > CONTACT:
        remedy = as_drawn(table, prepared.assembly, (path.leaf, path.side))
        yield Finding(
            "leaf-proud", "note", (path.leaf, path.side), _nose(prepared, path, outer=True), result.proud,
            f"{path.leaf} stands {in_words(table, result.proud)} out of {path.side} stowed.",
            remedy or farther_out(table, -excess - MARGIN), path.leaf, path.length - path.zero,
        )  # fmt: skip
