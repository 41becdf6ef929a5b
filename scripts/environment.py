"""The environment a script runs in: found, or made on the spot, from any bare Python 3.8 or later.

A script's first lines are ``import environment`` and ``environment.enter("light")``. If the Python that runs
it has what is needed, the call returns at once. If not, it finds or makes an environment under ``.venv`` in
the project's root, with the packages pinned in ``scripts/requirements``, and starts the script there again
with the same arguments. Standard output stays the script's own: progress goes to standard error.

Everything here is standard library, in the syntax of Python 3.8, and imported late where it costs time.
"""

from __future__ import annotations

import os
import sys

ROOT = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))
VENV = os.path.join(ROOT, ".venv")
REQUIREMENTS = os.path.join(ROOT, "scripts", "requirements")

#: Blender series that the package index has as a module -> the one Python that each runs on.
BLENDERS = {
    "4.2": (3, 11),
    "4.5": (3, 11),
    "5.0": (3, 11),
    "5.1": (3, 13),
    "5.2": (3, 13),
    "5.3": (3, 13),
}
#: The long-term series among them, which the continuous integration runs on.
LONG_TERM = ("4.2", "4.5", "5.2")
#: The Python versions that an environment can be made with, in order of preference -> their Blender.
DEFAULT_BLENDER = {(3, 11): "4.5", (3, 13): "5.2"}
#: The oldest numpy accepted from a Python that is not of our making (Blender 4.2 carries it).
OLDEST_NUMPY = (1, 24)

NEEDS = ("light", "paper", "blender", "test", "lint")
#: The needs that do without Blender.
BARE = ("light", "paper")
UNFINISHED = "unfinished"


def enter(needs: str = "light", blender: str | None = None) -> None:
    """Return in an environment that has what is needed, with the project's root on ``sys.path``.

    needs: ``light`` (numpy), ``paper`` (also what writes PDF), ``blender`` (also ``bpy``), ``test`` (also the
    test libraries) or ``lint``.
    blender: a series such as ``"4.2"``; by default 4.5 on Python 3.11 and 5.2 on Python 3.13.
    Exits with status 2 and one sentence on standard error where that cannot be had.
    """
    if needs not in NEEDS:
        raise ValueError("needs must be one of " + ", ".join(NEEDS))
    if blender is not None and blender not in BLENDERS:
        fail("there is no Blender '%s' to install: choose one of %s" % (blender, ", ".join(BLENDERS)))
    if ROOT not in sys.path:
        sys.path.insert(0, ROOT)
    if _inside_blender(needs):
        return
    installed_blender = os.environ.get("BLENDER")
    if installed_blender and needs == "blender":
        _through_blender(installed_blender)
    if not _in_own(needs, blender) and not _runs_here(needs, blender):
        if installed_blender and needs == "light":
            _through_blender(installed_blender)
        env = find_or_make(needs, blender)
        if not env.is_running():
            replace_process([env.python, os.path.abspath(script_path()), *sys.argv[1:]])
        import importlib

        importlib.invalidate_caches()  # the packages came after this process started
    if needs == "blender":
        _load_blender()
    elif needs in BARE:
        _keep_bytecode()


def leave(code: int = 0) -> None:
    """End the process with that status.

    With Blender as a module in the process, its own tidying-up at exit crashes or hangs while operators,
    property callbacks or timers are registered (seen in 4.2 and 4.5), so the process ends without it.
    """
    for stream in (sys.stdout, sys.stderr):
        try:
            if stream is not None:
                stream.flush()
        except OSError:  # nobody listens any more
            code = code or 2
    bpy = sys.modules.get("bpy")
    if bpy is not None and not bpy.app.binary_path:
        os._exit(code)
    sys.exit(code)


def fail(message: str) -> None:
    """Say in one sentence why the script cannot go on, and exit with status 2."""
    sys.stderr.write("error: " + message + "\n")
    sys.exit(2)


def progress(message: str) -> None:
    """Say on standard error what is being done."""
    sys.stderr.write(message + "\n")
    sys.stderr.flush()


def script_path() -> str:
    """Path of the script that was started."""
    return getattr(sys.modules["__main__"], "__file__", None) or sys.argv[0]


def replace_process(command: list[str], environ: dict[str, str] | None = None) -> None:
    """Go on as another program, in the same process where the system can, and end with its status."""
    environ = dict(os.environ if environ is None else environ)
    environ.pop("__PYVENV_LAUNCHER__", None)  # macOS: would make the new Python believe it is the old one
    sys.stdout.flush()
    sys.stderr.flush()
    if os.name == "nt":  # there, exec returns to the shell before the new program is done
        import subprocess

        sys.exit(subprocess.call(command, env=environ))
    os.execve(command[0], command, environ)


class Environment:
    """One folder under ``.venv``: a virtual environment and, for each set of packages, what was installed.

    A set is installed when its mark, a copy of its requirement files, equals those files. A folder that is
    being worked on holds a file ``unfinished``; one that was left so is made anew.
    """

    def __init__(self, name: str, python_version: tuple[int, int], sets: dict[str, list[str]]) -> None:
        self.name = name
        self.folder = os.path.join(VENV, name)
        self.python_version = python_version
        self.sets = sets
        parts = ("Scripts", "python.exe") if os.name == "nt" else ("bin", "python")
        self.python = os.path.join(self.folder, *parts)

    def mark(self, name: str) -> str:
        """Path of the file that says what was installed for a set."""
        return os.path.join(self.folder, "installed-%s.txt" % name)

    def wanted(self, name: str) -> str:
        """Text of the requirement files of a set, one after the other."""
        return "".join(_read(os.path.join(REQUIREMENTS, f + ".txt")) for f in self.sets[name])

    def has(self, name: str) -> bool:
        """Whether a set is installed, as it is pinned now."""
        return os.path.exists(self.python) and _read(self.mark(name)) == self.wanted(name)

    def complete(self) -> bool:
        """Whether every set is installed."""
        return all(self.has(name) for name in self.sets)

    def is_running(self) -> bool:
        """Whether this very process runs in it."""
        return os.path.realpath(sys.prefix) == os.path.realpath(self.folder)

    def sound(self) -> bool:
        """Whether it can be added to: nothing left half done, and no set from other pins."""
        marked = [name for name in self.sets if os.path.exists(self.mark(name))]
        started = os.path.exists(os.path.join(self.folder, UNFINISHED))
        return bool(marked) and not started and all(self.has(name) for name in marked)


def environment_for(needs: str, version: tuple[int, int], blender: str | None = None) -> Environment:
    """The environment that serves a need on a Python version (installed or not)."""
    if needs in BARE:
        return Environment("light-%d.%d" % version, version, {"light": ["runtime"]})
    if needs == "lint":
        return Environment("lint-%d.%d" % version, version, {"lint": ["lint"]})
    series = blender or DEFAULT_BLENDER[version]
    sets = {"blender": ["runtime", "blender-needs", "blender-" + series]}
    if needs == "test":
        sets["test"] = ["test"]
    return Environment("blender-" + series, BLENDERS[series], sets)


def find_or_make(needs: str, blender: str | None = None) -> Environment:
    """A complete environment for a need: one that is there already, or a new one."""
    versions = _versions(blender)
    for env in _choices(needs, versions, blender):
        if env.complete():
            return env
    import make_environment

    return make_environment.make_first([environment_for(needs, v, blender) for v in versions])


def _in_own(needs: str, blender: str | None) -> bool:
    """Whether this process runs in an environment of ours that serves the need."""
    choices = _choices(needs, _versions(blender), blender)
    return any(env.is_running() and env.complete() for env in choices)


def _versions(blender: str | None) -> list[tuple[int, int]]:
    """The Python versions that may be used; the one that runs, which the user chose, decides which Blender is meant."""
    versions = [v for v in DEFAULT_BLENDER if blender is None or v == BLENDERS[blender]]
    return sorted(versions, key=lambda v: v != sys.version_info[:2])


def _choices(needs: str, versions: list[tuple[int, int]], blender: str | None) -> list[Environment]:
    """The environments that serve a need, if they are there, in order of preference."""
    choices = [environment_for(needs, v, blender) for v in versions]
    if needs in BARE:
        return choices + [environment_for("blender", v) for v in versions]
    return choices[:1] if sys.version_info[:2] in versions else choices


def _runs_here(needs: str, blender: str | None) -> bool:
    """Whether the running Python has what is needed."""
    if sys.version_info < (3, 11):
        return False
    if needs in BARE:
        try:
            import numpy

            if needs == "paper":
                import pydyf  # noqa: F401
        except ImportError:
            return False
        return tuple(int(n) for n in numpy.__version__.split(".")[:2]) >= OLDEST_NUMPY
    from importlib import metadata

    def version(package: str) -> str | None:
        try:
            return metadata.version(package)
        except metadata.PackageNotFoundError:
            return None

    if needs != "lint":
        bpy_version = version("bpy")
        if bpy_version is None or blender not in (None, ".".join(bpy_version.split(".")[:2])):
            return False
    return needs == "blender" or all(version(name) for name in pins(needs))


def pins(*files: str) -> dict[str, str]:
    """Package name -> pinned version, from requirement files (names without the ending)."""
    found = {}
    for name in files:
        for line in _read(os.path.join(REQUIREMENTS, name + ".txt")).splitlines():
            requirement = line.split("#")[0].split(";")[0].split("--")[0].strip()
            if requirement:
                package, _, version = requirement.partition("==")
                found[package.split("[")[0]] = version
    return found


def _inside_blender(needs: str) -> bool:
    """Whether the script runs in an installed Blender, which then has to do."""
    bpy = sys.modules.get("bpy")
    if bpy is None or not bpy.app.binary_path:
        return False
    if bpy.app.version < (4, 2, 0):
        fail("Dry Assembly needs Blender 4.2 or later; this is %s" % bpy.app.version_string)
    if needs in ("test", "lint"):
        fail("the tests and linters need pinned packages beside Blender: run this with BLENDER unset")
    return True


def _through_blender(program: str) -> None:
    import installed_blender

    installed_blender.run_script(program, os.path.abspath(script_path()), sys.argv[1:])


def _load_blender() -> None:
    """Import Blender as a module, or say which system library is missing."""
    import standard_output
    import system_libraries

    standard_output.keep_pure()
    try:
        import bpy  # noqa: F401
    except ImportError as error:
        fail(system_libraries.explain(error))
    missing = system_libraries.missing_for_drawing()
    if missing:  # Blender would abort at the first picture
        fail(system_libraries.advice(missing))


def _keep_bytecode() -> None:
    """Keep compiled modules beside the environments where the user wants none beside the sources.

    Compiling the modules that a check needs takes longer than the check.
    """
    if sys.dont_write_bytecode and os.path.isdir(VENV):
        sys.pycache_prefix = os.path.join(VENV, "bytecode")
        sys.dont_write_bytecode = False


def _read(path: str) -> str:
    try:
        with open(path, encoding="utf-8") as file:
            return file.read()
    except FileNotFoundError:
        return ""
