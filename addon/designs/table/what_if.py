"""What if a rib came out too long? Every rib, at either end, one at a time."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from ...check.clearance.kernel import static_overlaps
from ...check.drawn_way import slide_leaves
from ...check.lengths import long_parts
from ...check.prepared import prepare
from ...wood.dimensions import AsCut
from .build import build

if TYPE_CHECKING:
    from collections.abc import Iterator

    from ...check.causes import LongPart
    from .parameters import Table


@dataclass(frozen=True)
class LongRib:
    """One rib that is too long at one end."""

    long: LongPart
    stopped: tuple[str, ...]
    """Leaves that stop although the rib's windows are in place."""


def long_ribs(table: Table, excess: float) -> Iterator[LongRib]:
    """Every rib of a table with `excess` mm standing out at its start, then at its end.

    Raises what building the table raises.
    """
    for rib in build(table).with_role("rib"):
        for end in ("start", "end"):
            yield long_rib(table, rib.label, end, excess)


def long_rib(table: Table, label: str, end: str, excess: float) -> LongRib:
    """One rib with `excess` mm standing out at one end."""
    entry = AsCut(label, "length", deviation=excess, end=end)
    changed = replace(table, as_cut=(*table.as_cut, entry))
    prepared = prepare(build(changed))
    found = long_parts(prepared, static_overlaps(prepared.scene))
    (long,) = (one for one in found if (one.part, one.end) == (label, end))
    results = [result for result, _ in slide_leaves(prepared, 0.0)]
    return LongRib(long, tuple(result.leaf for result in results if result.verdict == "blocked"))
