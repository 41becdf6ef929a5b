"""Work that waits until the user pauses, in a few lanes with a timer each, and a way to run what waits at once."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final, Literal

import bpy

DELAY: Final = 0.0
"""Pause after the last change, s: the check is quick, and is made as soon as the window has its turn."""

Lane = Literal["undo", "tidy", "check"]
"""``undo``: a step that is gone on to. ``tidy``: objects that came or went are sorted out. ``check``: findings are
brought up to date."""

_work: Final[dict[Lane, Callable[[], None]]] = {}


def schedule(work: Callable[[], None], delay: float = DELAY, lane: Lane = "check") -> None:
    """Runs `work` once, after a pause of `delay` seconds in which nothing else is scheduled in its lane.

    It may schedule what comes after it, for a longer pause.
    """
    cancel(lane)
    _work[lane] = work
    bpy.app.timers.register(_TIMERS[lane], first_interval=delay)


def flush() -> None:
    """Runs at once what waits, and what that schedules; for scripts, where timers do not run."""
    while _work:
        _run(next(lane for lane in _TIMERS if lane in _work))


def cancel(lane: Lane | None = None) -> None:
    """Drops what waits, in one lane or in all."""
    for one in _TIMERS if lane is None else (lane,):
        _work.pop(one, None)
        if bpy.app.timers.is_registered(_TIMERS[one]):
            bpy.app.timers.unregister(_TIMERS[one])


def _run(lane: Lane) -> None:
    work = _work.get(lane)
    cancel(lane)
    if work is not None:
        work()


def _undo() -> None:
    _run("undo")


def _tidy() -> None:
    _run("tidy")


def _check() -> None:
    _run("check")


_TIMERS: Final[dict[Lane, Callable[[], None]]] = {
    "undo": _undo,
    "tidy": _tidy,
    "check": _check,
}
