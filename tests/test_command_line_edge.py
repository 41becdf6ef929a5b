"""The edge of the command line: whatever comes in or goes wrong, a result or one sentence, and nothing half written.

Exit statuses are those of the README; 130 is 128 and the number of SIGINT, as POSIX shells report it.
"""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

import dry_assembly
from addon.command_line import main, tasks
from addon.command_line.edge import plain
from addon.command_line.main import IN_BLENDER
from addon.files.examples import EXAMPLES
from dry_assembly import wants_pdf
from tests.command_line_samples import ROW, refused

ROOT = Path(__file__).parent.parent
SCRIPT = str(ROOT / "scripts" / "dry_assembly.py")

pipes = pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="a system without named pipes")


@pytest.fixture
def table_file(tmp_path: Path) -> Path:
    path = tmp_path / "table.toml"
    path.write_text(EXAMPLES["quilting"].text(), encoding="utf-8")
    return path


# Standard output, arguments


def script(*arguments: object, **extra: Any) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, SCRIPT, *map(str, arguments)]
    return subprocess.run(command, stderr=subprocess.PIPE, text=True, check=False, **extra)


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="a system without a full device")
def test_a_full_standard_output_is_bad_input(table_file: Path) -> None:
    with Path("/dev/full").open("w") as full:
        result = script("new", table_file, "--force", stdout=full)
    assert result.returncode == 2
    assert result.stderr.splitlines() == [
        "dry_assembly: Standard output does not take what there is to say: No space left on device."
    ]


def test_a_reader_that_has_gone_is_told_in_a_sentence(table_file: Path) -> None:
    reader, writer = os.pipe()
    os.close(reader)
    try:
        result = script("new", table_file, "--force", stdout=writer)
    finally:
        os.close(writer)
    assert result.returncode == 2
    assert result.stderr.count("\n") == 1
    assert "Broken pipe" in result.stderr


@pytest.mark.skipif(os.name == "nt", reason="a system without /bin/sh")
@pytest.mark.parametrize(
    ("closed", "status", "said"), [(">&-", 2, "standard output is closed"), ("2>&-", 0, "")]
)
def test_closed_streams(table_file: Path, closed: str, status: int, said: str) -> None:
    line = f'exec "$0" "$1" new "$2" --force {closed}'
    command = ["/bin/sh", "-c", line, sys.executable, SCRIPT, str(table_file)]
    result = subprocess.run(command, capture_output=True, text=True, check=False)
    assert result.returncode == status
    assert said in result.stderr
    assert len(result.stderr.splitlines()) == (1 if said else 0)


def test_help_says_what_slide_reads(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["slide", "--help"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "the table file (TOML), or rows of openings (JSON)" in said


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ([], "SUB"),
        (["chekc", "x.toml"], "invalid choice: 'chekc'"),
        (["tolerance", "x.toml", "--seed", "-1"], "--seed: has to be a whole number from 0 to"),
        (["tolerance", "x.toml", "--count", "0"], "--count: has to be a whole number from 1 to 1000000"),
        (["tolerance", "x.toml", "--count", "9" * 5000], "--count: has to be a whole number"),
        (["tolerance", "x.toml", "--wanted", "all"], "--wanted: has to be from 0.5"),
        (
            ["draw", "x.toml", "--image", "x.png", "--dpi", "2400"],
            "--dpi: has to be a whole number from 30 to 1200",
        ),
        (["export", "x.toml", "--dir", ""], "--dir: has to be a name"),
    ],
)
def test_arguments_out_of_bounds_are_one_sentence(
    capsys: pytest.CaptureFixture[str], arguments: list[str], words: str
) -> None:
    sentence = refused(capsys, *arguments)
    assert words in sentence
    assert "--help" in sentence
    assert main([*arguments, "--json"]) == 2
    assert json.loads(capsys.readouterr().out) == {"error": sentence}


def test_letters_that_a_terminal_lacks_have_plain_ones_in_their_place() -> None:
    assert (
        plain("R1 · 3.0 × 2 ± 1 → ½ in², 45°, Bänk …", "ascii")
        == "R1 - 3.0 x 2 +/- 1 -> 1/2 in2, 45 deg, Bank ..."
    )
    assert plain("R1 · Bänk → 漢", "latin-1") == "R1 · Bänk -> ?"
    assert plain("R1 · Bänk → 漢", "utf-8") == "R1 · Bänk → 漢"
    assert plain(os.fsdecode(b"b\xffd.toml"), "utf-8") == "b\\xffd.toml"


def test_an_ascii_terminal_gets_its_result(tmp_path: Path) -> None:
    ascii_only = {**os.environ, "PYTHONIOENCODING": "ascii"}
    result = script("check", tmp_path / "nö.toml", stdout=subprocess.PIPE, env=ascii_only)
    assert result.returncode == 2
    assert "no.toml cannot be read: No such file" in result.stderr
    path = tmp_path / "bänk → x.toml"
    result = script("new", path, stdout=subprocess.PIPE, env=ascii_only)
    assert (result.returncode, result.stderr) == (0, "")
    assert result.stdout.rstrip().endswith("bank -> x.toml written.")
    assert path.is_file()


def test_an_error_of_the_program_is_one_sentence_with_its_place(
    table_file: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> None:
        [][1]

    monkeypatch.setattr(tasks, "open_table", broken)
    assert main(["check", str(table_file), "--json"]) == 2
    said = capsys.readouterr()
    assert len(said.err.splitlines()) == 1
    assert "The program itself went wrong, IndexError in command_line/tasks.py, line" in said.err
    assert "report this" in json.loads(said.out)["error"]
    monkeypatch.setenv("DRY_ASSEMBLY_TRACEBACK", "1")
    assert main(["check", str(table_file)]) == 2
    assert "Traceback (most recent call last)" in capsys.readouterr().err


def test_too_little_memory_and_whatever_the_system_says_are_sentences(
    table_file: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    for error, words in (
        (MemoryError(), "not enough memory"),
        (OSError(5, "Input/output error", "x"), "x: Input/output"),
    ):

        def broken(*_: object, error: Exception = error) -> None:
            raise error

        monkeypatch.setattr(tasks, "open_table", broken)
        assert words in refused(capsys, "check", table_file)


def test_ctrl_c_ends_with_one_sentence_and_130(table_file: Path) -> None:
    """The signal comes while a million random tables are drawn, a work of many seconds."""
    process = subprocess.Popen(
        [sys.executable, "-c", _SAYS_WHEN_AT_WORK, str(ROOT), str(table_file)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    assert process.stdout.readline() == "at work\n"
    process.send_signal(signal.SIGINT)
    out, err = process.communicate(timeout=60)
    assert process.returncode == 130
    assert (out, err.splitlines()) == ("", ["dry_assembly: Stopped; no file is half written."])


_SAYS_WHEN_AT_WORK = """
import signal, sys, time
signal.signal(signal.SIGINT, signal.default_int_handler)  # ignored by what a shell starts in the background
sys.path.insert(0, sys.argv[1])
from addon.command_line import main, tasks
def long_work(*_):
    print("at work", flush=True)
    time.sleep(60)
tasks.open_table = long_work
sys.exit(main(["check", sys.argv[2]]))
"""
"""A check that takes a minute, in place of a machine on which one does."""


def test_ctrl_c_ends_what_blender_would_go_on_with_and_leaves_nothing(tmp_path: Path) -> None:
    """Callbacks whose exceptions go no further, as Blender's do."""
    code = """
import os, signal, sys
sys.path.insert(0, sys.argv[1])
from addon.command_line.edge import stopped_at_once
from addon.files.saving import temporary_folder, written
with stopped_at_once(), temporary_folder() as folder, written(sys.argv[2]) as scratch:
    (folder / "frame.png").write_bytes(b"half")
    scratch.write_bytes(b"half")
    print(folder, flush=True)
    while True:
        try:
            os.kill(os.getpid(), signal.SIGINT)
        except BaseException:
            pass
"""
    video = tmp_path / "video.mp4"
    video.write_bytes(b"old")
    command = [sys.executable, "-c", code, str(ROOT), str(video)]
    done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=60)
    assert (done.returncode, done.stderr) == (130, "dry_assembly: Stopped; no file is half written.\n")
    assert not Path(done.stdout.strip()).exists()
    assert [path.name for path in tmp_path.iterdir()] == ["video.mp4"]
    assert video.read_bytes() == b"old"


# What is read


def test_a_file_that_says_nothing_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "table.toml"
    for content in (b"", b"\n\n", b"\xef\xbb\xbf", b"# length = 1000\r\n  # so far\n"):
        path.write_bytes(content)
        assert "table.toml is empty" in refused(capsys, "check", path)
        assert "table.toml is empty" in refused(capsys, "slide", path)
    path.write_bytes(b"# so far\nformat = 4\n\n  [table]\n")
    assert main(["check", str(path)]) == 0


@pipes
def test_a_pipe_without_a_writer_is_not_waited_for(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    pipe = tmp_path / "pipe.toml"
    os.mkfifo(pipe)
    assert "no regular file" in refused(capsys, "check", pipe)
    assert "no regular file" in refused(capsys, "new", pipe, "--force")
    assert "there already" in refused(capsys, "new", pipe)
    assert not pipe.is_file()


def test_odd_paths_are_one_sentence(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    loop = tmp_path / "loop.toml"
    loop.symlink_to(loop)
    for name in (
        loop,
        tmp_path / "no\0name.toml",
        tmp_path,
        tmp_path / "a" / "b.toml",
        tmp_path / ("x" * 300),
    ):
        refused(capsys, "check", name)
        refused(capsys, "new", name, "--force")
    assert [path.name for path in tmp_path.iterdir()] == ["loop.toml"]
    assert "is there already" in refused(capsys, "new", loop)
    assert "a folder" in refused(capsys, "new", tmp_path, "--force")


@pytest.mark.skipif(sys.platform != "linux", reason="names that are no text only exist on Linux")
def test_a_name_that_is_no_text_is_read_and_said(tmp_path: Path) -> None:
    path = Path(os.fsdecode(bytes(tmp_path) + b"/b\xffd.toml"))
    made = script("new", path, stdout=subprocess.PIPE)
    assert (made.returncode, made.stderr) == (0, "")
    assert "b\\xffd.toml written." in made.stdout
    again = script("new", path, "--json", stdout=subprocess.PIPE)
    assert again.returncode == 2
    assert json.loads(again.stdout)["error"].startswith(str(path))


def test_files_without_permission_are_one_sentence(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """As the system refuses them; whoever runs the tests may be allowed everything."""

    def forbidden(path: object, *_: object, **__: object) -> int:
        raise PermissionError(13, "Permission denied", str(path))

    monkeypatch.setattr(os, "open", forbidden)
    assert "Permission denied" in refused(capsys, "check", tmp_path / "table.toml")
    monkeypatch.undo()
    monkeypatch.setattr(Path, "stat", forbidden)
    assert "Permission denied" in refused(capsys, "new", tmp_path / "table.toml")


def test_json_may_begin_with_a_mark(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for name in ("row.json", "row.txt"):
        path = tmp_path / name
        path.write_bytes(b"\xef\xbb\xbf" + json.dumps(ROW).encode())
        assert main(["slide", str(path), "--json"]) == 0
        assert json.loads(capsys.readouterr().out)["verdict"] == "guides-itself"


# The launcher


@pytest.mark.parametrize(
    ("line", "wanted"),
    [
        ("steps t.toml --pictures out", True),
        ("steps t.toml --pic out", True),
        ("steps t.toml --pictures=out --format pdf", True),
        ("steps t.toml --pictures out --format png", False),
        ("steps t.toml --pictures out --format=svg", False),
        ("steps t.toml --pictures svg", True),
        ("steps t.toml", False),
        ("--json steps t.toml", False),
        ("slide t.toml --pictures out", False),
        ("slide t.toml --pictures out --format pdf", True),
        ("tolerance t.toml --format=pdf --pictures=out", True),
        ("slide t.toml --pictures out --format svg", False),
        ("slide t.toml --format pdf", False),
        ("draw t.toml --image OUT.PDF", True),
        ("draw t.toml --image=out.pdf", True),
        ("draw t.toml --image out.svg", False),
        ("compare t.toml --variant legs.width=70 --image out.pdf", True),
        ("render t.toml --style shaded --image out.pdf", True),
    ],
)
def test_the_launcher_knows_when_a_pdf_is_written(line: str, wanted: bool) -> None:
    """`steps --pictures` writes PDF where no format is named, as its help says."""
    assert wants_pdf(line.split()) == wanted


def test_step_pictures_need_no_format(table_file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    entered = []
    monkeypatch.setattr(dry_assembly.environment, "enter", entered.append)
    monkeypatch.setattr(dry_assembly.environment, "leave", lambda status: status)
    monkeypatch.setattr(sys, "argv", ["dry_assembly.py", "steps", str(table_file) + "x", "--pictures", "out"])
    dry_assembly.main()
    assert entered == ["paper"]


def test_launcher_and_command_line_agree_on_what_needs_blender() -> None:
    assert dry_assembly.BLENDER_SUBCOMMANDS == IN_BLENDER
