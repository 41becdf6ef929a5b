"""Checks and proofs that wait until the user pauses: one timer for all tables, and a way to run what waits at once."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import bpy

DELAY: Final = 0.03
"""Pause after the last change, s: the check takes about as long, and a drag goes on meanwhile."""

_work: list[Callable[[], None]] = []


def schedule(work: Callable[[], None], delay: float = DELAY) -> None:
    """Runs `work` once, after a pause of `delay` seconds in which nothing else is scheduled.

    It may schedule what comes after it, for a longer pause.
    """
    cancel()
    _work.append(work)
    bpy.app.timers.register(_run, first_interval=delay)


def flush() -> None:
    """Runs at once what waits, and what that schedules; for scripts, where timers do not run."""
    while _work:
        _next()


def cancel() -> None:
    """Drops what waits."""
    _work.clear()
    if bpy.app.timers.is_registered(_run):
        bpy.app.timers.unregister(_run)


def _next() -> None:
    waiting = list(_work)
    cancel()
    for work in waiting:
        work()


def _run() -> None:
    _next()
