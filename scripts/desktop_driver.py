"""Runs inside Blender's window, started by ``desktop_check.py``: one stage after the other, each with a picture.

``blender --enable-event-simulate --python scripts/desktop_driver.py -- ZIP FOLDER COURSE`` prints a line a stage and
ends Blender with status 0 if all passed.
"""

from __future__ import annotations

import importlib
import os
import sys
import time
import traceback
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parent))

import desktop_job
import desktop_manners
import desktop_picture
import desktop_readme
import desktop_several
import desktop_stages
from desktop_hand import Wait

bpy: Any = importlib.import_module("bpy")

MARK = "[stage] "
COURSES: dict[str, dict[str, Any]] = {
    "job": desktop_job.STAGES,
    "several": desktop_several.STAGES,
    "manners": desktop_manners.STAGES,
    "tour": desktop_stages.STAGES,
    "readme": desktop_readme.STAGES,
}
"""Name → stages in order; each course begins in Blender as it starts."""
README = "readme"
"""Course whose stages save their own pictures."""
START = 2.0
"""Until the window is there, s."""


def run(archive: str, folder: str, course: str) -> Wait:
    """All stages of a course; ends Blender."""
    yield START
    for number, (name, stage) in enumerate(COURSES[course].items(), 1):
        start = time.monotonic()
        try:
            seen = yield from stage(archive) if name == "install" else stage()
            say("%s: passed in %.0f s: %s" % (name, time.monotonic() - start, seen))
        except Exception as error:
            traceback.print_exc()
            say("%s: failed: %s" % (name, " ".join(str(error).split()) or type(error).__name__))
            desktop_picture.save(str(Path(folder, "failed-%s-%s.png" % (course, name.replace(" ", "-")))))
            leave(1)
        if course == README:
            continue
        yield 0.6
        desktop_picture.save(str(Path(folder, "%s-%02d-%s.png" % (course, number, name.replace(" ", "-")))))
    leave(0)


def say(words: str) -> None:
    """One line for the checker."""
    print(MARK + words, flush=True)


def leave(code: int) -> None:
    """End Blender, without asking whether to save."""
    sys.stdout.flush()
    sys.stderr.flush()
    os._exit(code)


def main() -> None:
    """Start when the window is there."""
    archive, folder, course = sys.argv[sys.argv.index("--") + 1 :]
    bpy.context.preferences.view.show_splash = False
    steps = run(archive, str(Path(folder).resolve()), course)

    def step() -> float | None:
        try:
            return next(steps)
        except StopIteration:
            return None
        except BaseException:
            traceback.print_exc()
            leave(2)
            return None

    bpy.app.timers.register(step, first_interval=0.5)


main()
