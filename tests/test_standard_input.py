"""Subcommands that read their file from standard input, which "-" stands for (POSIX, utility syntax guideline 13)."""

from __future__ import annotations

import io
import json
import sys
from pathlib import Path

import pytest

from addon.command_line import main
from addon.files.examples import EXAMPLES
from tests.command_line_samples import ROW, refused


def typed(monkeypatch: pytest.MonkeyPatch, data: bytes) -> None:
    """What stands on standard input."""
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(data)))


def test_a_table_is_read_from_standard_input(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """As from a file: what is said of it is the same."""
    data = EXAMPLES["quilting"].text().encode("utf-8")
    path = tmp_path / "table.toml"
    path.write_bytes(data)
    for subcommand in ("check", "slide"):
        said = []
        for file in ("-", str(path)):
            typed(monkeypatch, data)
            assert main([subcommand, file, "--json"]) == 0
            said.append(capsys.readouterr().out)
        assert said[0] == said[1]


def test_rows_are_read_from_standard_input(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    typed(monkeypatch, json.dumps(ROW).encode("utf-8"))
    assert main(["slide", "-", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["verdict"] == "guides-itself"


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "Standard input is empty"),
        (b"\xff\xfe", "Standard input is not UTF-8 text"),
        (b"#" * 1_000_001, "Standard input is larger than 1,000,000 bytes"),
        (b"[table]\nlength = 5\n", "Standard input: table.length = 5 lies outside the allowed range"),
        (b"[table\n", "Standard input is not valid TOML at line 1"),
    ],
)
def test_what_is_wrong_with_it_is_said_of_standard_input(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], data: bytes, words: str
) -> None:
    typed(monkeypatch, data)
    assert words in refused(capsys, "check", "-")


def test_a_closed_standard_input_is_one_sentence(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys, "stdin", None)
    assert refused(capsys, "check", "-") == "Standard input cannot be read; name a file."


def test_no_file_is_written_to_standard_input(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    assert "name the file to write" in refused(capsys, "new", "-", "--force")
    assert not list(tmp_path.iterdir())
