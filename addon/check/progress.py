"""Work that takes seconds, in steps: a window can go on between them, and the user can stop it."""

from __future__ import annotations

from collections.abc import Generator
from typing import TypeVar

T = TypeVar("T")

Steps = Generator[float, None, T]
"""Work that yields how much of it is done, 0 to 1, after each step of some tenths of a second at most, never less than
before; what it returns is its result. To drop it halfway leaves nothing behind."""


def run_through(steps: Steps[T]) -> T:
    """The result of some work, without a pause. Raises what the work raises."""
    while True:
        try:
            next(steps)
        except StopIteration as end:
            return end.value


def share_of(steps: Steps[T], low: float, high: float) -> Steps[T]:
    """Work that is the share from `low` to `high` of a longer one."""
    while True:
        try:
            done = next(steps)
        except StopIteration as end:
            return end.value
        yield low + (high - low) * done
