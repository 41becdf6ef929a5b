"""Intervals on one axis."""

from __future__ import annotations

Interval = tuple[float, float]


def overlap(a: Interval, b: Interval, room: float = 0.0) -> bool:
    """Whether two intervals come nearer to each other than `room`, mm."""
    return a[0] < b[1] + room and b[0] < a[1] + room
