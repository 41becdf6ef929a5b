"""What the README and the reference say is what there is."""

from __future__ import annotations

import re
import textwrap
from pathlib import Path
from typing import get_args

import pytest

import reference_table
from addon.check.facts import Rule
from addon.command_line.main import main, parser

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
REFERENCE = {path.stem: path.read_text(encoding="utf-8") for path in (ROOT / "addon/reference").glob("*.md")}


def arguments(line: str) -> list[str]:
    """A command as the texts write it, with all that it may take, and the first where there is a choice."""
    words = re.sub(r"\[|\]", "", line).replace("\\|", " ").replace("|", " ").split()
    return [word for word in words if word not in ("seed-bench", "warning", "error")]


def test_parameter_table_is_up_to_date() -> None:
    text = REFERENCE["table-file"]
    assert reference_table.with_table(text) == text


def test_command_lines_parse() -> None:
    rows = re.findall(r"^\| `([a-z]+ (?:table\.toml|row\.json|parts\.json).*?)` \|", README, re.MULTILINE)
    assert len(rows) == 17
    for line in rows:
        assert parser().parse_args(arguments(line)).file in (
            Path("table.toml"),
            Path("row.json"),
            Path("parts.json"),
        )


@pytest.mark.parametrize("text", [README, REFERENCE["command-line"]], ids=["README", "reference"])
def test_the_answer_shown_is_that_of_the_example(text: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(ROOT / "addon" / "examples" / "quilting-table.toml")]) == 0
    answer = capsys.readouterr().out.splitlines()
    shown = re.search(r"\n\n(    Quilting table\n(?:    .+\n|\n)+)", text)
    assert shown is not None
    lines = textwrap.dedent(shown[1]).rstrip().splitlines()
    assert lines == answer[: len(lines)]
    assert len(lines) in (4, 6)


def test_the_table_file_shown_is_a_sound_table(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shown = re.search(r"Twelve lines are enough.*?\n\n((?:    .+\n)+)", README)
    assert shown is not None
    text = textwrap.dedent(shown[1])
    assert len(text.splitlines()) == 12
    path = tmp_path / "pattern-table.toml"
    path.write_text(text, encoding="utf-8")
    assert main(["check", "--fail-on", "note", str(path)]) == 0
    assert "Findings: none" in capsys.readouterr().out


def test_rules_are_those_of_the_check() -> None:
    listed = re.findall(r"Rules(?: there)?: ((?:`[a-z-]+`,?\s*)+)", REFERENCE["json"])
    assert len(listed) == 2
    rules = set(re.findall(r"`([a-z-]+)`", "".join(listed)))
    assert rules == set(get_args(Rule))


def test_every_named_file_exists() -> None:
    for text in (README, *REFERENCE.values()):
        for name in re.findall(
            r"(?:scripts|addon|blend_examples)/[\w./-]+\.(?:py|toml|png|webp|blend|md)", text
        ):
            assert (ROOT / name).exists(), name


def test_every_heading_linked_is_there() -> None:
    """Anchors as common hosts of Markdown make them: small letters, hyphens for spaces, no other signs."""
    headings = {
        re.sub(r"[^\w -]", "", one).lower().replace(" ", "-")
        for one in re.findall(r"^#+ (.+)$", README, re.M)
    }
    linked = re.findall(r"\]\(#([\w-]+)\)", README)
    assert len(linked) == 8
    assert set(linked) <= headings


def test_pictures_are_small_enough_to_look_at() -> None:
    shown = re.findall(r"!\[[^\]]*\]\(([^)]+)\)", README)
    assert len(shown) == 17
    assert (ROOT / "blend_examples/pictures/loop.webp").stat().st_size < 2_000_000
    first_table = README.split("## Your first table")[1].split("\n## ")[0]
    steps = [ROOT / one for one in re.findall(r"!\[[^\]]*\]\(([^)]+)\)", first_table)]
    assert len(steps) == len(re.findall(r"^\d\. ", first_table, re.MULTILINE)) == 7
    assert sum(one.stat().st_size for one in steps) < 500_000
