"""What the README says is what there is."""

from __future__ import annotations

import re
from pathlib import Path
from typing import get_args

import pytest

import readme_table
from addon.check.facts import Rule
from addon.command_line.main import main, parser

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")


def test_parameter_table_is_up_to_date() -> None:
    assert readme_table.with_table(README) == README


def test_command_lines_parse() -> None:
    lines = re.findall(r"^    python3 scripts/dry_assembly\.py (.+)$", README, re.MULTILINE)
    assert len(lines) == 15
    for line in lines:
        words = re.sub(r"\[|\]", "", line).replace("|", " ").split()
        words = [word for word in words if word not in ("seed-bench", "warning", "error")]
        options = parser().parse_args(words)
        assert options.file in (Path("table.toml"), Path("row.json"))


def test_the_answer_shown_is_that_of_the_example(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(ROOT / "addon" / "examples" / "quilting-table.toml")]) == 0
    answer = capsys.readouterr().out.splitlines()[:4]
    shown = re.search(r"answers in three lines.*?\n\n((?:    .+\n)+)", README)
    assert shown is not None
    assert [line.removeprefix("    ") for line in shown[1].splitlines()] == answer


def test_rules_are_those_of_the_check() -> None:
    listed = re.findall(r"Rules(?: there)?: ((?:`[a-z-]+`,?\s*)+)", README)
    assert len(listed) == 2
    rules = set(re.findall(r"`([a-z-]+)`", "".join(listed)))
    assert rules == set(get_args(Rule))


def test_every_named_file_exists() -> None:
    for name in re.findall(r"(?:scripts|addon|blend_examples)/[\w./-]+\.(?:py|toml|png|blend)", README):
        assert (ROOT / name).exists(), name
