"""What cannot be built is refused in one sentence: key, value, what is allowed, and why."""

from __future__ import annotations

from typing import NoReturn

from ...sizes.errors import ParameterError
from ...sizes.units import format_at_least, format_at_most, format_given, format_size
from .parameters import Table, key_in_words

MIN_LEAF_WIDTH = 40.0
"""A narrower leaf is a stick; mm (common practice, no source)."""

LEAST_STRIP = 3.0
"""A strip thinner than this, or shorter between its lead-ins, is left out, mm (common practice, no source)."""

BETWEEN_CHAMFERS = 1.0
"""Least wood between the chamfers of two openings, mm (common practice, no source)."""

BESIDE_HOLE = 1.0
"""Least wood between a finger hole and the leaf's edges, mm (common practice, no source)."""


def refuse(table: Table, key: str, value: float | str, allowed: str, reason: str) -> NoReturn:
    """Raise the ParameterError for a value that cannot be built, lengths in words of the table's unit."""
    shown = format_given(value, table.units) if isinstance(value, float) else str(value)
    raise ParameterError(key, value, allowed, reason, shown, key_in_words(key))


def size(table: Table, mm: float) -> str:
    """A size in words, in the table's unit."""
    return format_size(mm, table.units)


def at_most(table: Table, mm: float) -> str:
    """A bound in words; whoever keeps to it is not refused again."""
    return f"at most {format_at_most(mm, table.units)}"


def at_least(table: Table, mm: float) -> str:
    """A need in words; whoever meets it is not refused again."""
    return f"at least {format_at_least(mm, table.units)}"


def between(table: Table, low: float, high: float) -> str:
    """A range in words, rounded inward."""
    return f"between {format_at_least(low, table.units)} and {format_at_most(high, table.units)}"
