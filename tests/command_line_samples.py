"""What tests of the command line share: a row of one opening, and how a subcommand refuses."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from addon.command_line import main

if TYPE_CHECKING:
    import pytest

ROW: Final = {
    "leaf": {"length": 900, "thickness": 18},
    "openings": [{"face": 0, "board": 18, "sill": 0, "head": 19}],
    "travel": 100,
}


def refused(capsys: pytest.CaptureFixture[str], *arguments: object) -> str:
    """The one sentence with which a subcommand refuses."""
    capsys.readouterr()
    assert main([str(word) for word in arguments]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert len(said.err.splitlines()) == 1
    assert said.err.startswith("dry_assembly: ")
    assert "The program itself" not in said.err
    return said.err.removeprefix("dry_assembly: ").strip()
