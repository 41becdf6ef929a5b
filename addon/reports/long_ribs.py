"""Ribs that came out too long, as a table for the screen and as data for JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from ..sizes.units import format_amount
from .check import DECIMALS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ..check.lengths import Stop
    from ..check.what_if import LongRib
    from ..sizes.units import Units

_ROW = "  {:<4} {:<5} {:<13} {:<7} {:<14} {:<36} {}"


def variants_text(ribs: Sequence[LongRib], units: Units) -> str:
    """One line a rib and end: what it overlaps, the trim, and which leaf stops in each of the three ways to fit it."""

    def amount(value: float) -> str:
        return format_amount(value, units)

    def stops(those: tuple[Stop, ...]) -> str:
        return ", ".join(f"{stop.leaf} at {amount(stop.travel)}" for stop in those) or "stops no leaf"

    excess = amount(ribs[0].long.excess) if ribs else ""
    lines = [
        f"What if one rib came out {excess} too long?",
        "  (a) Windows in place: it seats on one end, and the excess overlaps the neighbor at the other.",
        f"  (b) Forced in: it seats on the end that is too long and carries its windows along by {excess}.",
        "  (c) Pushing: the excess pushes the neighbor aside.",
        _ROW.format(
            "Rib",
            "End",
            "Overlaps",
            "Trim",
            "(a) in place",
            "(b) forced in, at travel",
            "(c) pushing, at travel",
        ),
    ]
    for rib in ribs:
        long = rib.long
        lines.append(
            _ROW.format(
                long.part,
                long.end,
                f"{long.neighbor} by {amount(long.overlap)}",
                amount(long.trim),
                ", ".join(rib.stopped) or "stops no leaf",
                stops(long.forced),
                stops(long.pushing),
            )
        )
    return "\n".join(lines)


def variants_document(ribs: Sequence[LongRib]) -> list[dict[str, Any]]:
    """The same as plain data; lengths in mm."""
    return [_variant(rib) for rib in ribs]


def _variant(rib: LongRib) -> dict[str, Any]:
    long = rib.long
    return {
        "rib": long.part,
        "end": long.end,
        "excess_mm": long.excess,
        "overlaps": long.neighbor,
        "overlap_mm": round(long.overlap, DECIMALS),
        "trim_mm": long.trim,
        "windows_in_place": {"stops": list(rib.stopped)},
        "forced_in": {"windows_move_mm": long.excess, "stops": _stops(long.forced)},
        "pushing": {"stops": _stops(long.pushing)},
    }


def _stops(those: tuple[Stop, ...]) -> list[dict[str, Any]]:
    return [
        {
            "leaf": stop.leaf,
            "travel_mm": round(stop.travel, DECIMALS),
            "depth_mm": round(stop.depth, DECIMALS),
        }
        for stop in those
    ]
