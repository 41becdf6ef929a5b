"""Scripts that need Blender: a missing system library, and running through an installed Blender."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import system_libraries

ROOT = Path(__file__).resolve().parent.parent

#: Stands for an installed Blender: takes its command line, chats on standard output, runs the script.
BLENDER = """#!{python}
import os, runpy, sys, types
print("Blender 4.9.0 (a stand-in)", flush=True)
os.write(1, b"Read prefs\\n")
expected = ["--background", "--factory-startup", "--python-exit-code", "1", "--python"]
assert sys.argv[1:6] == expected and sys.argv[7] == "--", sys.argv
bpy = types.ModuleType("bpy")
bpy.app = types.SimpleNamespace(binary_path=sys.argv[0], version={version}, version_string="of the stand-in")
sys.modules["bpy"] = bpy
sys.path[0] = "/usr/share/blender/scripts/startup"
runpy.run_path(sys.argv[6], run_name="__main__")
"""

SCRIPT = """
import json, os, sys
import environment
environment.enter({needs!r})
import bpy
print(json.dumps({{"arguments": sys.argv[1:], "binary": bpy.app.binary_path}}))
os.write(1, b"Saved: what Blender's C code says\\n")
environment.leave(1)
"""


@pytest.fixture
def scripts(tmp_path: Path) -> Path:
    """A copy of the scripts with a small one of our own, ``probe.py``."""
    folder = tmp_path / "scripts"
    shutil.copytree(ROOT / "scripts", folder, ignore=shutil.ignore_patterns("__pycache__"))
    (folder / "probe.py").write_text(SCRIPT.format(needs="blender"))
    return folder


def stand_in(folder: Path, version: tuple[int, int, int] = (4, 9, 0)) -> Path:
    """An executable that behaves like Blender started in the background."""
    program = folder / "blender"
    program.write_text(BLENDER.format(python=sys.executable, version=version))
    program.chmod(0o755)
    return program


def run(scripts: Path, *arguments: str, **environ: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, str(scripts / "probe.py"), *arguments],
        env={**os.environ, **environ},
        capture_output=True,
        text=True,
        check=False,
    )


def test_a_script_runs_through_an_installed_blender(scripts: Path, tmp_path: Path) -> None:
    program = stand_in(tmp_path)
    result = run(scripts, "--out", "two words", BLENDER=str(program))
    assert result.returncode == 1, result.stderr  # the script's own status
    assert json.loads(result.stdout) == {"arguments": ["--out", "two words"], "binary": str(program)}
    assert "a stand-in" in result.stderr
    assert "Read prefs" in result.stderr
    assert "Saved:" in result.stderr


def test_an_installed_blender_that_is_too_old_is_refused(scripts: Path, tmp_path: Path) -> None:
    result = run(scripts, BLENDER=str(stand_in(tmp_path, (4, 1, 0))))
    assert result.returncode == 2
    assert "error: Dry Assembly needs Blender 4.2 or later" in result.stderr
    assert result.stdout == ""


def test_a_blender_that_is_not_there_is_told(scripts: Path) -> None:
    result = run(scripts, BLENDER="/nowhere/blender")
    assert result.returncode == 2
    assert result.stderr == "error: BLENDER is '/nowhere/blender', and no such program is there to run\n"


def test_the_tests_do_not_run_in_an_installed_blender(scripts: Path, tmp_path: Path) -> None:
    (scripts / "probe.py").write_text(
        "import environment\nenvironment.enter('blender')\nenvironment.enter('test')\n"
    )
    result = run(scripts, BLENDER=str(stand_in(tmp_path)))
    assert result.returncode == 2
    assert "with BLENDER unset" in result.stderr


@pytest.fixture
def bpy_without_library(tmp_path: Path) -> Path:
    """A folder with a ``bpy`` that fails as the real one does where a system library is missing."""
    folder = tmp_path / "site"
    (folder / "bpy-4.5.0.dist-info").mkdir(parents=True)
    (folder / "bpy-4.5.0.dist-info" / "METADATA").write_text(
        "Metadata-Version: 2.1\nName: bpy\nVersion: 4.5.0\n"
    )
    message = "libXi.so.6: cannot open shared object file: No such file or directory"
    (folder / "bpy.py").write_text(f"raise ImportError({message!r})\n")
    return folder


def test_a_missing_system_library_is_one_line(scripts: Path, bpy_without_library: Path) -> None:
    environ = {"PYTHONPATH": str(bpy_without_library), "BLENDER": ""}
    result = run(scripts, **environ)
    assert result.returncode == 2
    assert result.stdout == ""
    (line,) = result.stderr.splitlines()
    assert "libXi.so.6" in line
    assert "apt-get install libxi6" in line
    assert "dnf install libXi" in line


def test_all_missing_libraries_are_named_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    absent = {"libXi.so.6", "libSM.so.6", "libEGL.so.1"}
    monkeypatch.setattr(system_libraries, "_loads", lambda name: name not in absent)
    monkeypatch.setattr(system_libraries.sys, "platform", "linux")
    error = ImportError("libSM.so.6: cannot open shared object file: No such file or directory")
    told = system_libraries.explain(error)
    assert "libSM.so.6, libXi.so.6, libEGL.so.1" in told
    assert "'apt-get install libsm6 libxi6 libegl1'" in told
    assert "'dnf install libSM libXi libglvnd-egl'" in told


def test_a_library_that_only_drawing_needs_is_told_before_the_first_picture(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Without it, Blender loads and then aborts at the first picture (tried on a minimal Debian 12)."""
    monkeypatch.setattr(system_libraries.sys, "platform", "linux")
    monkeypatch.setattr(system_libraries, "_loads", lambda name: name not in {"libEGL.so.1", "libgomp.so.1"})
    assert system_libraries.missing_for_drawing() == ["libEGL.so.1", "libgomp.so.1"]
    monkeypatch.setattr(system_libraries, "_loads", lambda name: name != "libgomp.so.1")
    assert system_libraries.missing_for_drawing() == []


def test_a_library_outside_the_table_is_named() -> None:
    told = system_libraries.explain(ImportError("libodd.so.1: cannot open shared object file: No such file"))
    assert "libodd.so.1" in told
    assert system_libraries.explain(ImportError("undefined symbol: x")).endswith("undefined symbol: x")


@pytest.mark.once
@pytest.mark.skipif(shutil.which("dpkg-query") is None, reason="asks Debian's own package database")
def test_debian_names_its_packages_as_the_table_does() -> None:
    """Source: the package database of the Debian or Ubuntu system that runs the test."""
    search = [f"*/{name}" for name in system_libraries.PACKAGES]
    found = subprocess.run(
        ["dpkg-query", "--search", *search], capture_output=True, text=True, check=False
    ).stdout
    checked = 0
    for line in found.splitlines():
        packages, path = line.rsplit(": ", 1)
        wanted, _ = system_libraries.PACKAGES[Path(path).name]
        if path.startswith(("/usr/lib/x86_64", "/lib/x86_64", "/usr/lib/aarch64")):
            assert wanted in {name.split(":")[0] for name in packages.split(", ")}, line
            checked += 1
    assert checked >= len(system_libraries.missing()) + 1
