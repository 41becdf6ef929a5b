"""Where the ribs stand: beside the leaves' ways, never in them."""

from __future__ import annotations

from itertools import pairwise
from math import ceil
from typing import TYPE_CHECKING

from ..tolerances import WELD
from .refusals import refuse, size

if TYPE_CHECKING:
    from .intervals import Interval
    from .layout import Layout

KEYS = {0: "ribs.through_at", 1: "ribs.rows_at"}


def rib_positions(layout: Layout, axis: int) -> tuple[float, ...]:
    """Centre lines of the ribs that are spread along table axis `axis`: 0 the through ribs, 1 the rows, mm.

    Raises ParameterError where a position given in the file stands in a leaf's way.
    """
    given = layout.table.ribs.through_at if axis == 0 else layout.table.ribs.rows_at
    free = free_intervals(layout, axis)
    if given is not None:
        return _checked(layout, axis, tuple(sorted(given)), free)
    wall = layout.inner[axis]
    positions: list[float] = []
    for low, high in free:
        positions += _in_interval(layout, low, high, at_low_wall=low == -wall, at_high_wall=high == wall)
    return tuple(positions)


def free_intervals(layout: Layout, axis: int) -> list[Interval]:
    """What the leaves that travel across `axis` leave free of it, between the sides' inner faces, mm."""
    wall = layout.inner[axis]
    passages = sorted(lane.passage for lane in layout.lanes if lane.axis != axis)
    free: list[Interval] = []
    start = -wall
    for low, high in passages:
        if low > start:
            free.append((start, low))
        start = max(start, high)
    if start < wall:
        free.append((start, wall))
    return free


def _in_interval(
    layout: Layout, low: float, high: float, *, at_low_wall: bool, at_high_wall: bool
) -> list[float]:
    """Ribs for one free interval.

    Between a side and a leaf's way one rib stands right beside the way and guides the leaf's edge. Between two ways
    stand two ribs, a post away from either, or one in the middle where there is no room for two.
    """
    ribs, t = layout.table.ribs, layout.rib_thickness
    width = high - low
    if at_low_wall and at_high_wall:
        bays = max(2, ceil(width / ribs.max_bay))
        return [low + width * k / bays for k in range(1, bays)]
    if width < t:
        return []
    if at_low_wall or at_high_wall:
        guide = high - t / 2 if at_low_wall else low + t / 2
        wall = low if at_low_wall else high
        return sorted([guide, *_between(wall, guide, ribs.max_bay)])
    if width < 2 * t + 2 * ribs.post + ribs.least_post:
        return [(low + high) / 2]
    first, second = low + ribs.post + t / 2, high - ribs.post - t / 2
    return sorted([first, second, *_between(first, second, ribs.max_bay)])


def _between(start: float, end: float, max_bay: float) -> list[float]:
    """Ribs that divide the room between two others into equal bays no wider than `max_bay`."""
    bays = ceil(abs(end - start) / max_bay)
    return [start + (end - start) * k / bays for k in range(1, bays)]


def _checked(layout: Layout, axis: int, given: tuple[float, ...], free: list[Interval]) -> tuple[float, ...]:
    table, t = layout.table, layout.rib_thickness
    rooms = [(low + t / 2, high - t / 2) for low, high in free if high - low >= t]
    words = ", ".join(f"{size(table, low)} to {size(table, high)}" for low, high in rooms) or "no rib at all"
    for position in given:
        if not any(low - WELD <= position <= high + WELD for low, high in rooms):
            refuse(
                table,
                KEYS[axis],
                position,
                words,
                "a rib elsewhere would stand in a leaf's way or outside the body",
            )
    for first, second in pairwise(given):
        if second - first < 2 * t:
            apart = f"at least {size(table, 2 * t)} from the rib at {size(table, first)}"
            refuse(table, KEYS[axis], second, apart, "ribs need room between them")
    return given
