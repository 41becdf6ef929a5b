"""Makes the environments of ``environment.py``: finds a Python, makes a virtual environment, installs.

Run as a script, it prints the long-term Blender series that can be tested on this machine, the default first.
"""

from __future__ import annotations

import contextlib
import glob
import os
import re
import shutil
import subprocess
import sys

from environment import (
    BLENDERS,
    DEFAULT_BLENDER,
    LONG_TERM,
    REQUIREMENTS,
    UNFINISHED,
    VENV,
    Environment,
    fail,
    progress,
    script_path,
)

#: Run by a candidate to show that it starts, which version it is and that it can make environments.
PROBE = "import sys; print('%d.%d' % sys.version_info[:2]); sys.stdout.flush(); import venv, ensurepip"

#: Run in a new environment: unpacks the pip that comes with Python, far faster than installing it.
UNPACK_PIP = """
import ensurepip, glob, os, sysconfig, zipfile
bundled = os.path.join(os.path.dirname(ensurepip.__file__), "_bundled")
wheels = glob.glob(os.path.join(sysconfig.get_config_var("WHEEL_PKG_DIR") or bundled, "pip-*.whl"))
if wheels:
    zipfile.ZipFile(wheels[0]).extractall(sysconfig.get_path("purelib"))
else:
    ensurepip.bootstrap()
"""


def make_first(choices: list[Environment]) -> Environment:
    """Make the first of the environments for which this machine has a Python; fails with a sentence."""
    lame: list[str] = []
    for env in choices:
        python = find_python(env.python_version, lame)
        if python:
            try:
                make(env, python)
            except OSError as error:
                fail("cannot make the environment %s: %s" % (env.folder, error))
            except KeyboardInterrupt:
                sys.stderr.write("interrupted; the next run starts the set-up again\n")
                sys.exit(130)
            return env
    fail(_no_python([env.python_version for env in choices], lame))
    raise AssertionError  # not reached


def find_python(version: tuple[int, int], lame: list[str] | None = None) -> str | None:
    """A working Python of that version: the running one, one on PATH, or one under pyenv.

    Those that start but cannot make a virtual environment are added to ``lame``.
    """
    name = "python%d.%d" % version
    candidates = [sys.executable] if sys.version_info[:2] == version else []
    folders = os.environ.get("PATH", "").split(os.pathsep)
    candidates += [os.path.join(folder, name + (".exe" if os.name == "nt" else "")) for folder in folders]
    pyenvs = [os.path.dirname(folder) for folder in folders if os.path.basename(folder) == "shims"]
    pyenvs += [os.environ.get("PYENV_ROOT", ""), os.path.join(os.path.expanduser("~"), ".pyenv")]
    for pyenv in filter(None, pyenvs):
        installed = glob.glob(os.path.join(pyenv, "versions", "%d.%d.*" % version, "bin", "python"))
        candidates += sorted(installed, key=_numbers, reverse=True)
    for candidate in candidates:
        if not os.access(candidate, os.X_OK):
            continue
        with contextlib.suppress(OSError, subprocess.TimeoutExpired):
            # A shim on PATH may be there and still have no such Python behind it.
            result = subprocess.run(
                [candidate, "-c", PROBE],
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                timeout=60,
                check=False,
            )
            if result.stdout.decode("utf-8", "replace").strip() == "%d.%d" % version:
                if result.returncode == 0:
                    return candidate
                if lame is not None:
                    lame.append(candidate)
    return None


def make(env: Environment, python: str) -> None:
    """Make an environment, or add to it what is missing; safe with several processes at once."""
    os.makedirs(VENV, exist_ok=True)
    with _lock(os.path.join(VENV, "lock")):
        if env.complete():
            return
        unfinished = os.path.join(env.folder, UNFINISHED)
        if not env.sound():
            _remove(env)
            os.makedirs(env.folder)
            _write(unfinished, "")
            progress("Making %s with %s" % (env.folder, python))
            _run([python, "-m", "venv", "--without-pip", env.folder], "making the environment failed")
            _run([env.python, "-c", UNPACK_PIP], "putting pip into the environment failed")
        _write(unfinished, "")
        for name in env.sets:
            if not env.has(name):
                _install(env, name)
        os.remove(unfinished)


def _install(env: Environment, name: str) -> None:
    wanted = env.wanted(name)
    size = ", about 1 GB" if name == "blender" else ""
    progress("Installing the pinned packages for '%s' (once%s)" % (name, size))
    command = [env.python, "-m", "pip", "install", "--quiet", "--disable-pip-version-check", "--no-input"]
    command += ["--no-deps", "--only-binary=:all:"]
    for file in env.sets[name]:
        command += ["--requirement", os.path.join(REQUIREMENTS, file + ".txt")]
    _run(command, "installing the packages failed (is the package index reachable?)")
    _write(env.mark(name), wanted)


def _remove(env: Environment) -> None:
    """Remove an environment; its marks go first, so that an interruption never leaves it looking complete."""
    for mark in glob.glob(os.path.join(glob.escape(env.folder), "installed-*.txt")):
        os.remove(mark)
    if os.path.isdir(env.folder):
        progress("Removing %s, which is unfinished or out of date" % env.folder)
        shutil.rmtree(env.folder)


def _run(command: list[str], failure: str) -> None:
    environ = dict(os.environ, PIP_USER="0", PIP_REQUIRE_VIRTUALENV="0")
    environ.pop("__PYVENV_LAUNCHER__", None)
    result = subprocess.run(
        command,
        env=environ,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        check=False,
    )
    if result.returncode:
        sys.stderr.write(result.stdout.decode("utf-8", "replace"))
        fail("%s: %s" % (failure, " ".join(command[:3])))


@contextlib.contextmanager
def _lock(path: str):  # noqa: ANN202  (an iterator of None; Python 3.8 has no short name for it)
    """Hold a file lock; the system drops it if the process dies."""
    with open(path, "a", encoding="utf-8") as file:
        if sys.platform == "win32":
            import msvcrt

            file.seek(0)
            msvcrt.locking(file.fileno(), msvcrt.LK_LOCK, 1)
        else:
            import fcntl

            try:
                fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except OSError:
                progress("Waiting for another process that is setting up %s" % VENV)
                fcntl.flock(file, fcntl.LOCK_EX)
        yield


def _write(path: str, text: str) -> None:
    """Write a file whole or not at all."""
    with open(path + ".new", "w", encoding="utf-8") as file:
        file.write(text)
    os.replace(path + ".new", path)


def _numbers(path: str) -> list[int]:
    return [int(n) for n in re.findall(r"\d+", path)]


def _no_python(versions: list[tuple[int, int]], lame: list[str]) -> str:
    wanted = " or ".join("%d.%d" % v for v in versions)
    if lame:
        return "%s cannot make virtual environments: install Debian's package python3-venv" % lame[0]
    running = "%d.%d" % sys.version_info[:2]
    script = os.path.relpath(script_path())
    return (
        "Dry Assembly needs Python %s, and none was found (this is Python %s). Install one, "
        "or use an installed Blender 4.2 or later: BLENDER=/path/to/blender python3 %s"
        % (wanted, running, script)
    )


def _testable() -> list[str]:
    default = DEFAULT_BLENDER.get(sys.version_info[:2])
    ordered = sorted(LONG_TERM, key=lambda series: series != (default or DEFAULT_BLENDER[(3, 11)]))
    return [series for series in ordered if find_python(BLENDERS[series])]


if __name__ == "__main__":
    print(" ".join(_testable()))
