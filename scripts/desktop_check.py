"""Clicks through the whole job in Blender's real window: ``python3 scripts/desktop_check.py --blender COMMAND``.

The command starts Blender with a window, such as ``/usr/bin/blender`` or ``"xvfb-run blender"``; without one
DESKTOP_BLENDER counts, then a ``blender`` on the path. Everything is handed on as paths from the project's root, so
that a command may mount it somewhere else. Prints a line a stage, with its time; exit status 0 if all passed.

Each course begins in a Blender of its own: the whole job by mouse and keyboard, its actions counted; several tables,
moved, copied, appended; a small window, German and a light theme; the tour through all that the panels show. One more,
`readme`, runs only where it is asked for, and makes the README's pictures of the window.
"""

from __future__ import annotations

import argparse
import os
import re
import shlex
import shutil
import subprocess
import sys
import threading
from pathlib import Path
from typing import TYPE_CHECKING

import environment

if TYPE_CHECKING:
    from collections.abc import Mapping

MARK = "[stage] "
MINUTES = 15.0
#: Stages that have to pass, the last of them last.
LAST = "switch off"
OLDEST = (4, 2)
#: Course → width and height of Blender's window; each starts Blender anew.
COURSES = {
    "job": (1600, 1000),
    "several": (1600, 1000),
    "manners": (1366, 768),
    "tour": (1600, 1000),
    "readme": (1366, 900),
}
#: It checks nothing: it makes the README's pictures, beside whatever the folder has.
README = "readme"
SCREEN = "-screen 0 1600x1000x24"


def main() -> None:
    """Find a Blender, build the zip, run the stages."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument(
        "--blender", help="the command that starts Blender with a window; may be several words"
    )
    parser.add_argument("--zip", help="the extension's zip; built anew without this")
    parser.add_argument("--pictures", default="out/desktop", metavar="DIR", help="folder for the screenshots")
    parser.add_argument(
        "--course", action="append", choices=list(COURSES), help="only this one, or these; all without it"
    )
    parser.add_argument(
        "--minutes", type=float, default=MINUTES, help="time limit of each course (default %(default)s)"
    )
    parser.add_argument(
        "--if-there",
        action="store_true",
        help="where there is no Blender with a window, say so and end with status 0",
    )
    options = parser.parse_args()
    os.chdir(environment.ROOT)
    command, missing = launcher(options.blender, os.environ)
    if not command:
        skip(missing, options.if_there)
    too_old = "" if options.blender or os.environ.get("DESKTOP_BLENDER") else unsuitable(command)
    if too_old:
        skip(too_old, options.if_there)
    archive = inside(options.zip) if options.zip else build()
    folder = inside(options.pictures)
    courses = options.course or [name for name in COURSES if name != README]
    Path(folder).mkdir(parents=True, exist_ok=True)
    if courses != [README]:
        clear(folder)
    wrong = [run(command, archive, folder, options.minutes, name) for name in courses]
    sys.exit(max(wrong))


def launcher(given: str | None, environ: Mapping[str, str]) -> tuple[list[str], str]:
    """The words that start Blender with a window, or none and a sentence on what is missing."""
    words = given or environ.get("DESKTOP_BLENDER") or ""
    command = shlex.split(words)
    if not command:
        found = shutil.which("blender", path=environ.get("PATH"))
        if found is None:
            return [], "there is no blender on the path, and DESKTOP_BLENDER names none"
        command = [found]
    program = shutil.which(command[0], path=environ.get("PATH"))
    if program is None:
        return [], "there is no program '%s' to start" % command[0]
    if len(command) > 1 or has_screen(environ):
        return command, ""
    frame = shutil.which("xvfb-run", path=environ.get("PATH"))
    if frame is None:
        return [], "there is no screen (DISPLAY is not set) and no xvfb-run to make one: install xvfb"
    return [frame, "-a", "-s", SCREEN, *command], ""


def has_screen(environ: Mapping[str, str]) -> bool:
    """Whether windows can be shown."""
    return (
        os.name == "nt"
        or sys.platform == "darwin"
        or bool(environ.get("DISPLAY") or environ.get("WAYLAND_DISPLAY"))
    )


def unsuitable(command: list[str]) -> str:
    """Why a Blender found by chance cannot be used; "" where it can."""
    try:
        told = subprocess.run(
            [*command, "--background", "--factory-startup", "--version"],
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            universal_newlines=True,
            timeout=120,
            check=False,
        ).stdout
    except (OSError, subprocess.TimeoutExpired):
        return "'%s' does not start" % " ".join(command)
    return judge_version(told)


def judge_version(told: str) -> str:
    """What ``blender --version`` says, judged; "" where it is new enough."""
    found = re.search(r"Blender (\d+)\.(\d+)", told)
    if found is None:
        return "the blender on the path does not say its version"
    if (int(found.group(1)), int(found.group(2))) < OLDEST:
        return "the blender on the path is %s.%s, and the extension needs %d.%d" % (*found.groups(), *OLDEST)
    return ""


def skip(why: str, allowed: bool) -> None:
    """Say why nothing is checked, and end."""
    if allowed:
        print("desktop check skipped: %s" % why)
        sys.exit(0)
    environment.fail("the desktop check cannot run: %s" % why)


def inside(path: str) -> str:
    """A path from the project's root; fails where it lies outside, where the window's command may not see it."""
    found = os.path.relpath(path, environment.ROOT)
    if found.startswith(".."):
        environment.fail("%s lies outside the project's folder: choose one in it" % path)
    return found


def build() -> str:
    """The zip, made by `build.py`."""
    environment.progress("Building the extension")
    script = str(Path("scripts", "build.py"))
    done = subprocess.run(
        [sys.executable, script], stdout=subprocess.PIPE, universal_newlines=True, check=False
    )
    if done.returncode:
        sys.exit(done.returncode)
    return inside(done.stdout.strip().splitlines()[-1])


def clear(folder: str) -> None:
    """Take away screenshots of an earlier run."""
    for old in Path(folder).glob("*.png"):
        old.unlink()


def run(command: list[str], archive: str, folder: str, minutes: float, course: str) -> int:
    """Start Blender on the stages of a course; the exit status."""
    home = Path(folder, "blender-home")
    shutil.rmtree(home, ignore_errors=True)
    environ = dict(os.environ, BLENDER_USER_RESOURCES=str(home))
    words = [
        *command,
        "--enable-event-simulate",
        "--factory-startup",
        "--window-geometry",
        "0",
        "0",
        *(str(side) for side in COURSES[course]),
    ]
    words += ["--python", "scripts/desktop_driver.py", "--", archive, folder, course]
    process = subprocess.Popen(
        words,
        env=environ,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        start_new_session=os.name != "nt",
    )
    late = threading.Event()
    timer = threading.Timer(minutes * 60, stop, (process, late))
    timer.start()
    log = Path(folder, "blender-%s.log" % course)
    said = follow(process, log)
    process.wait()
    timer.cancel()
    shutil.rmtree(home, ignore_errors=True)
    return verdict(said, log, minutes if late.is_set() else None, course)


def stop(process: subprocess.Popen[bytes], late: threading.Event) -> None:
    """End Blender and what was started with it."""
    late.set()
    if os.name == "nt":
        process.kill()
        return
    import signal

    os.killpg(process.pid, signal.SIGKILL)


def follow(process: subprocess.Popen[bytes], log: Path) -> list[str]:
    """Print the stages as they are passed, and keep the rest in a file; what was said of the stages."""
    said = []
    assert process.stdout is not None
    with log.open("w", encoding="utf-8") as file:
        for line in process.stdout:
            text = line.decode("utf-8", "replace")
            file.write(text)
            if text.startswith(MARK):
                said.append(text[len(MARK) :].strip())
                print(said[-1], flush=True)
    return said


def verdict(said: list[str], log: Path, late: float | None, course: str) -> int:
    """The exit status, with a sentence on what is wrong."""
    text = log.read_text(encoding="utf-8")
    wrong = [line for line in said if ": failed: " in line]
    if late is not None:
        problem = "it was not done after %g minutes" % late
    elif wrong:
        problem = wrong[0]
    elif not any(line.startswith(LAST + ": passed") for line in said):
        problem = "Blender ended before the last stage"
    elif "Traceback (most recent call last)" in text:
        problem = "Python errors in Blender's messages"
    else:
        print("desktop check passed: %s, %d stages, screenshots in %s" % (course, len(said), log.parent))
        return 0
    print("desktop check failed: %s, %s; Blender's messages are in %s" % (course, problem, log))
    return 1


if __name__ == "__main__":
    main()
