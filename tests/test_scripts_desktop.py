"""The desktop check's arguments and sentences; no window is needed for that."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

import desktop_check

ROOT = Path(__file__).resolve().parent.parent
SCRIPT = ROOT / "scripts" / "desktop_check.py"


def program(folder: Path, name: str, text: str = "exit 0") -> str:
    """An executable shell script."""
    path = folder / name
    path.write_text("#!/bin/sh\n" + text + "\n")
    path.chmod(0o755)
    return str(path)


def check(*arguments: str, **environ: str) -> subprocess.CompletedProcess[str]:
    """The script in a process of its own, with this environment alone."""
    command = [sys.executable, str(SCRIPT), *arguments]
    return subprocess.run(command, env=environ, capture_output=True, text=True, check=False, timeout=60)


def test_without_a_blender_it_says_so_and_is_skipped_only_where_that_is_asked_for(tmp_path: Path) -> None:
    sentence = "there is no blender on the path, and DESKTOP_BLENDER names none"
    skipped = check("--if-there", PATH=str(tmp_path))
    assert (skipped.returncode, skipped.stdout) == (0, f"desktop check skipped: {sentence}\n")
    failed = check(PATH=str(tmp_path))
    assert (failed.returncode, failed.stderr) == (2, f"error: the desktop check cannot run: {sentence}\n")


def test_a_blender_of_several_words_is_left_as_it_is(tmp_path: Path) -> None:
    program(tmp_path, "launch")
    environ = {"PATH": str(tmp_path), "DESKTOP_BLENDER": "launch 'a b' blender"}
    assert desktop_check.launcher(None, environ) == (["launch", "a b", "blender"], "")
    assert desktop_check.launcher("launch other", environ) == (["launch", "other"], "")
    words, missing = desktop_check.launcher("nowhere/blender", environ)
    assert (words, missing) == ([], "there is no program 'nowhere/blender' to start")


@pytest.mark.skipif(sys.platform != "linux", reason="windows need no DISPLAY elsewhere")
def test_without_a_screen_one_is_made_or_asked_for(tmp_path: Path) -> None:
    blender = program(tmp_path, "blender")
    assert desktop_check.launcher(blender, {"PATH": "", "DISPLAY": ":0"}) == ([blender], "")
    words, missing = desktop_check.launcher(blender, {"PATH": str(tmp_path)})
    assert words == []
    assert missing == "there is no screen (DISPLAY is not set) and no xvfb-run to make one: install xvfb"
    frame = program(tmp_path, "xvfb-run")
    words, missing = desktop_check.launcher(None, {"PATH": str(tmp_path)})
    assert (words[0], words[-1], missing) == (frame, blender, "")


@pytest.mark.parametrize(
    ("told", "judged"),
    [
        ("Blender 4.2.0\n", ""),
        ("could not get a list\nBlender 5.2.1 LTS\n\tbuild date", ""),
        ("Blender 3.4.1", "the blender on the path is 3.4, and the extension needs 4.2"),
        ("", "the blender on the path does not say its version"),
    ],
)
def test_an_old_blender_found_by_chance_is_told(told: str, judged: str) -> None:
    assert desktop_check.judge_version(told) == judged


PASSED = "[stage] install: passed in 1 s: in\n[stage] switch off: passed in 1 s: out"


@pytest.mark.parametrize(
    ("says", "status", "sentence"),
    [
        (PASSED, 0, "desktop check passed: job, 2 stages"),
        ("[stage] install: failed: no zip", 1, "desktop check failed: job, install: failed: no zip"),
        ("[stage] install: passed in 1 s: in", 1, "Blender ended before the last stage"),
        (PASSED + "\nTraceback (most recent call last):", 1, "Python errors in Blender's messages"),
    ],
)
def test_the_exit_status_says_whether_all_stages_passed(
    tmp_path: Path, says: str, status: int, sentence: str
) -> None:
    (tmp_path / "said").write_text(says + "\n")
    program(tmp_path, "launch", f'cat "{tmp_path}/said"; echo "$@"')
    (ROOT / "out").mkdir(exist_ok=True)
    folder = f"out/desktop-test-{os.getpid()}"
    result = check(
        "--blender",
        f"{tmp_path}/launch blender",
        "--zip",
        "README.md",
        "--pictures",
        folder,
        "--course",
        "job",
        PATH=os.environ["PATH"],
    )
    log = (ROOT / folder / "blender-job.log").read_text()
    for path in (ROOT / folder).iterdir():
        path.unlink()
    (ROOT / folder).rmdir()
    assert result.returncode == status, result.stderr
    assert sentence in result.stdout
    assert log.splitlines()[-1].split()[-6:] == [
        "--python",
        "scripts/desktop_driver.py",
        "--",
        "README.md",
        folder,
        "job",
    ]


def test_without_a_course_all_are_run_each_in_a_blender_of_its_own(tmp_path: Path) -> None:
    program(tmp_path, "launch", f'echo "$@" >> "{tmp_path}/started"; echo "[stage] switch off: passed"')
    folder = f"out/desktop-courses-{os.getpid()}"
    given = ["--blender", f"{tmp_path}/launch blender", "--zip", "README.md", "--pictures", folder]
    result = check(*given, PATH=os.environ["PATH"])
    for path in (ROOT / folder).iterdir():
        path.unlink()
    (ROOT / folder).rmdir()
    started = [line.split() for line in (tmp_path / "started").read_text().splitlines()]
    assert [words[-1] for words in started] == ["job", "several", "manners", "tour"], result.stderr
    assert [words[4:8] for words in started] == [
        ["0", "0", "1600", "1000"],
        ["0", "0", "1600", "1000"],
        ["0", "0", "1366", "768"],
        ["0", "0", "1600", "1000"],
    ]


def test_one_course_that_fails_makes_all_fail(tmp_path: Path) -> None:
    program(
        tmp_path,
        "launch",
        'case "$*" in *several) echo "[stage] beside: failed: not there";;'
        ' *) echo "[stage] switch off: passed";; esac',
    )
    folder = f"out/desktop-failing-{os.getpid()}"
    given = ["--blender", f"{tmp_path}/launch blender", "--zip", "README.md", "--pictures", folder]
    result = check(*given, PATH=os.environ["PATH"])
    for path in (ROOT / folder).iterdir():
        path.unlink()
    (ROOT / folder).rmdir()
    assert result.returncode == 1
    assert "desktop check failed: several, beside: failed: not there" in result.stdout
    assert "desktop check passed: tour, 1 stages" in result.stdout


def test_what_lies_outside_the_project_is_refused(tmp_path: Path) -> None:
    program(tmp_path, "launch")
    result = check("--blender", f"{tmp_path}/launch blender", "--zip", str(tmp_path), PATH=os.environ["PATH"])
    assert result.returncode == 2
    assert "lies outside the project's folder" in result.stderr
