"""Saving: a process that is killed at any moment leaves the old or the new, whole, and nothing once another has run."""

from __future__ import annotations

import json
import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from addon.command_line import main
from addon.files import saving
from addon.files.examples import EXAMPLES
from addon.files.saving import save_bytes, whole_folder, write
from addon.paper.sheet.save import save_pictures
from addon.sizes.errors import ExportError

ROOT = Path(__file__).parent.parent

pytestmark = pytest.mark.skipif(os.name == "nt", reason="a system without SIGKILL")

OLD = {"a.svg": b"old a", "b.svg": b"old b", "gone.svg": b"old"}
NEW = {"a.svg": b"new a", "b.svg": b"new b", "c.svg": b"new c"}

KILLED = """
import os, signal, sys
sys.path.insert(0, sys.argv[1])
number = 0
def killing(name, call):
    def count(*arguments, **options):
        global number
        number += 1
        if number == int(sys.argv[2]):
            os.kill(os.getpid(), signal.SIGKILL)
        return call(*arguments, **options)
    return count
for name in ("rename", "replace", "unlink", "rmdir", "mkdir", "fsync", "chmod", "link"):
    setattr(os, name, killing(name, getattr(os, name)))
"""
"""Kills itself right before a certain call of those that change what is on the disk."""

SAVES_FOLDER = """
from pathlib import Path
from addon.files.saving import whole_folder, write
with whole_folder(sys.argv[3], lambda folder: {one.name for one in folder.iterdir()}) as scratch:
    for name in ("a", "b", "c"):
        write(scratch / f"{name}.svg", f"new {name}".encode())
"""

SAVES_FILE = """
from addon.files.saving import save_bytes
save_bytes(sys.argv[3], b"new")
"""


def runs(code: str, point: int, *arguments: object) -> bool:
    """Whether a process that is killed at that point came to its end before."""
    command = [sys.executable, "-c", KILLED + code, str(ROOT), str(point), *map(str, arguments)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode in (0, -9), done.stderr
    return done.returncode == 0


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def fill(folder: Path, files: dict[str, bytes]) -> None:
    folder.mkdir()
    for name, content in files.items():
        (folder / name).write_bytes(content)


@pytest.mark.parametrize("before", [OLD, None])
def test_a_folder_is_old_or_new_or_not_there_wherever_the_process_is_killed(
    tmp_path: Path, before: dict[str, bytes] | None
) -> None:
    seen, point, ended = set(), 0, False
    while not ended:
        point += 1
        folder = tmp_path / str(point) / "parts"
        folder.parent.mkdir()
        if before is not None:
            fill(folder, before)
        ended = runs(SAVES_FOLDER, point, folder)
        state = contents(folder) if folder.is_dir() else None
        assert state in (before, None, NEW), point
        seen.add("new" if state == NEW else "none" if state is None else "old")
        with whole_folder(folder, lambda there: set(contents(there))) as scratch:
            # What was on its way out is back.
            assert (contents(folder) if folder.is_dir() else None) in (before, NEW)
            for name, content in NEW.items():
                write(scratch / name, content)
        assert contents(folder) == NEW
        assert [path.name for path in folder.parent.iterdir()] == ["parts"], point
    assert seen == ({"old", "none", "new"} if before else {"none", "new"})


def test_a_file_is_old_or_new_wherever_the_process_is_killed(tmp_path: Path) -> None:
    seen, point, ended = set(), 0, False
    while not ended:
        point += 1
        file = tmp_path / str(point) / "table.toml"
        file.parent.mkdir()
        file.write_bytes(b"old")
        ended = runs(SAVES_FILE, point, file)
        seen.add(file.read_bytes())
        save_bytes(file, b"newer")
        assert contents(file.parent) == {"table.toml": b"newer"}
    assert seen == {b"old", b"new"}


def test_what_a_process_that_lives_writes_beside_is_left_alone(tmp_path: Path) -> None:
    with subprocess.Popen([sys.executable, "-c", "input()"], stdin=subprocess.PIPE) as living:
        tag = f"{saving._COMPUTER}-{living.pid}-00c0ffee"
        (tmp_path / f".parts.{tag}.new").mkdir()
        (tmp_path / f".table.toml.{tag}.toml").write_bytes(b"half")
        with whole_folder(tmp_path / "parts", lambda _: set()) as scratch:
            write(scratch / "a.svg", b"")
        save_bytes(tmp_path / "table.toml", b"")
        assert len(list(tmp_path.iterdir())) == 4
        living.communicate(b"\n")
    with whole_folder(tmp_path / "parts", lambda _: {"a.svg"}) as scratch:
        write(scratch / "a.svg", b"")
    save_bytes(tmp_path / "table.toml", b"")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["parts", "table.toml"]


EXPORTS = """
from addon.command_line import main
from addon.files import saving
saving.os.fsync = lambda descriptor: None
main(["export", sys.argv[3], "--dir", sys.argv[4]])
"""


def named(folder: Path) -> set[str]:
    """The files that an export's own `assembly.json` names, and the two that every export has."""
    document = json.loads((folder / "assembly.json").read_text(encoding="utf-8"))
    return {
        "assembly.json",
        "assembly.glb",
        *(one["mesh"] for name in ("parts", "fasteners") for one in document.get(name, ())),
    }


def test_an_export_killed_at_its_renames_is_never_mixed(tmp_path: Path) -> None:
    """The calls are: two folders made, rights set, the old folder aside, the new one in its place, the old one gone."""
    old, new = tmp_path / "old.toml", tmp_path / "new.toml"
    old.write_text(EXAMPLES["quilting"].text(), encoding="utf-8")
    new.write_text(EXAMPLES["seed-bench"].text(), encoding="utf-8")
    folder = tmp_path / "parts"
    assert main(["export", str(old), "--dir", str(folder)]) == 0
    before = contents(folder)
    for point, state in ((4, "old"), (5, "none"), (6, "new")):
        assert not runs(EXPORTS, point, new, folder)
        if state == "none":
            assert not folder.exists()
        else:
            assert set(contents(folder)) == named(folder)
            assert (contents(folder) == before) == (state == "old")
        assert main(["export", str(old), "--dir", str(folder)]) == 0
        assert contents(folder) == before
    assert sorted(path.name for path in tmp_path.iterdir()) == ["new.toml", "old.toml", "parts"]


def test_a_folder_with_other_files_is_refused_and_stays(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "parts"
    fill(folder, {**OLD, "notes.txt": b"mine", ".DS_Store": b""})
    with (
        pytest.raises(ExportError, match=r"holds other files too \(notes.txt\): name a folder"),
        whole_folder(folder, lambda _: set(OLD)),
    ):
        pass
    with pytest.raises(ExportError, match=r"\(a.svg and 3 more\)"), whole_folder(folder, lambda _: set()):
        pass
    (folder / "notes.txt").unlink()
    monkeypatch.chdir(folder)
    with pytest.raises(ExportError, match="you work in it"), whole_folder(".", lambda _: set(OLD)):
        pass
    assert contents(folder) == {**OLD, ".DS_Store": b""}
    monkeypatch.chdir(tmp_path)
    folder.chmod(0o750)
    with whole_folder("parts", lambda _: set(OLD)) as scratch:
        write(scratch / "a.svg", b"new")
    assert contents(folder) == {"a.svg": b"new"}
    assert stat.S_IMODE(folder.stat().st_mode) == 0o750
    with pytest.raises(ZeroDivisionError), whole_folder("parts", lambda _: {"a.svg"}):
        raise ZeroDivisionError
    assert contents(folder) == {"a.svg": b"new"}
    assert [path.name for path in tmp_path.iterdir()] == ["parts"]


def test_an_export_replaces_an_export_and_nothing_else(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    table, folder = tmp_path / "table.toml", tmp_path / "parts"
    table.write_text(EXAMPLES["quilting"].text(), encoding="utf-8")
    assert main(["export", str(table), "--dir", str(folder)]) == 0
    assert set(contents(folder)) == named(folder)
    table.write_text(EXAMPLES["seed-bench"].text(), encoding="utf-8")
    assert main(["export", str(table), "--dir", str(folder)]) == 0
    assert set(contents(folder)) == named(folder)
    (folder / "assembly.json").write_text("{}", encoding="utf-8")
    capsys.readouterr()
    assert main(["export", str(table), "--dir", str(folder)]) == 2
    assert "holds other files too" in capsys.readouterr().err


def test_pictures_of_one_job_are_replaced_together_and_others_stay(tmp_path: Path) -> None:
    folder = tmp_path / "pictures"
    steps = r"steps|step-\d\d"
    save_pictures({"steps.svg": b"1", "step-01.svg": b"1", "step-02.svg": b"1"}, folder, steps)
    save_pictures({"L1-side.svg": b"s", "L1-side.png": b"s"}, folder, r"\w+-side")
    save_pictures({"steps.png": b"2"}, folder, steps)
    save_pictures({"steps.svg": b"3", "step-01.svg": b"3"}, folder, steps)
    slide = {"L1-side.svg": b"s", "L1-side.png": b"s"}
    assert contents(folder) == {**slide, "steps.png": b"2", "steps.svg": b"3", "step-01.svg": b"3"}
    (folder / "clips").mkdir()
    with pytest.raises(ExportError, match=r"other files too \(clips\)"):
        save_pictures({"steps.svg": b"4"}, folder, steps)
    assert (folder / "steps.svg").read_bytes() == b"3"


def test_a_link_leads_to_the_file_that_is_replaced(tmp_path: Path) -> None:
    (tmp_path / "own").mkdir()
    link, target = tmp_path / "link.toml", tmp_path / "own" / "table.toml"
    link.symlink_to(target)
    save_bytes(link, b"new")
    assert link.is_symlink()
    assert contents(target.parent) == {"table.toml": b"new"}
    (tmp_path / "device").symlink_to("/dev/null")
    with pytest.raises(ExportError, match="no regular file"):
        save_bytes(tmp_path / "device", b"new")
    assert stat.S_ISCHR(Path("/dev/null").stat().st_mode)
