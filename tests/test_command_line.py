"""The command line as its users call it: a process, standard output, an exit status."""

from __future__ import annotations

import json
import math
import subprocess
import sys
from pathlib import Path

import pytest

from addon.command_line import main

pytestmark = pytest.mark.usefixtures("worked_out_once")
SCRIPT = Path(__file__).parent.parent / "scripts" / "dry_assembly.py"

LONG_RIB = '\n[[as_cut]]\npart = "R3"\ndimension = "length"\ndeviation = 4.0\nend = "end"\n'


def run(*arguments: object) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, str(SCRIPT), *map(str, arguments)], capture_output=True, text=True, check=False
    )


def status_here(*arguments: object) -> int:
    """The exit status of the same without a process of its own, where only that is asked for."""
    return main([str(one) for one in arguments])


@pytest.fixture
def table_file(tmp_path: Path) -> Path:
    path = tmp_path / "table.toml"
    assert run("new", path).returncode == 0
    return path


@pytest.mark.parametrize("example", ["quilting", "seed-bench"])
def test_examples_are_clear(tmp_path: Path, example: str) -> None:
    path = tmp_path / "table.toml"
    assert run("new", path, "--example", example).returncode == 0
    text = path.read_text(encoding="utf-8")
    assert text.endswith("\n")
    assert not [line for line in text.splitlines() if line.startswith(("as_cut", "[[as_cut]]"))]
    result = run("check", path, "--json")
    assert (result.returncode, result.stderr) == (0, "")
    document = json.loads(result.stdout)
    assert (document["verdict"], document["units"]) == ("clear", "mm")
    assert document["findings"] == []


def test_leaf_results(table_file: Path) -> None:
    leaves = json.loads(run("check", table_file, "--json").stdout)["leaves"]
    assert [(leaf["leaf"], leaf["slot"]) for leaf in leaves] == [
        ("L1", "S1"),
        ("L2", "S2"),
        ("L3", "S4"),
        ("L4", "S3"),
    ]
    for leaf in leaves:
        assert leaf["verdict"] == "clear"
        assert leaf["clearance_mm"] == 1.5  # drawn 1.5 above and below, 1.5 to the far side or end stop
        assert leaf["gaps_mm"][leaf["slot"]] == {
            "above": 1.5, "below": 1.5, "left": 2.0, "right": 2.0, "entry_chamfer": 3.0, "exit_chamfer": 3.0,
        }  # fmt: skip
        assert leaf["travel_mm"] >= 0
        assert len(leaf["at"]) == 3
        assert math.dist(*leaf["span"]) == pytest.approx(1.5, abs=1e-8)


def test_a_long_rib_fails_the_check(table_file: Path) -> None:
    with table_file.open("a", encoding="utf-8") as file:
        file.write(LONG_RIB)
    result = run("check", table_file, "--json")
    assert result.returncode == 1
    document = json.loads(result.stdout)
    assert document["verdict"] == "blocked"
    (finding,) = [one for one in document["findings"] if one["rule"] == "long-rib"]
    assert finding["parts"][0] == "R3"
    assert finding["amount_mm"] == pytest.approx(4.0, abs=1e-9)
    assert math.dist(*finding["span"]) == pytest.approx(4.0, abs=1e-8)
    assert "4.0 mm too long at S2" in finding["message"]
    assert finding["remedy"]["set"] == [{"key": "as_cut[0].deviation", "value": 0.0}]
    assert "ERROR [long-rib]" in run("check", table_file).stdout


def test_fail_on_sets_the_least_severity(table_file: Path) -> None:
    with table_file.open("a", encoding="utf-8") as file:
        file.write(LONG_RIB.replace("4.0", "-1.0"))  # a short rib is a warning
    assert status_here("check", table_file, "--json") == 1
    assert status_here("check", table_file, "--json", "--fail-on", "note") == 1
    assert status_here("check", table_file, "--json", "--fail-on", "error") == 0


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("[table]\nlenght = 1500\n", ["lenght", "length"]),
        ("[table]\nlength = -5\n", ["table.length"]),
        ("[table]\nlength = nan\n", ["table.length"]),
        ("[table\n", ["line 1"]),
        ("[sides]\nwood_above_slots = 2.5\n", ["sides.wood_above_slots", "more than", "because"]),
        ('[[as_cut]]\npart = "R99"\ndimension = "length"\ndeviation = 1\n', ["R99"]),
        ('[[as_cut]]\npart = "B1"\ndimension = "window_height"\ndeviation = 1\n', ["window_height", "B1"]),
    ],
)
def test_bad_input_is_one_sentence(tmp_path: Path, text: str, words: list[str]) -> None:
    path = tmp_path / "bad.toml"
    path.write_text(text, encoding="utf-8")
    result = run("check", path, "--json")
    assert result.returncode == 2
    assert len(result.stderr.strip().splitlines()) == 1
    assert "Traceback" not in result.stderr
    assert json.loads(result.stdout)["error"] in result.stderr
    assert [word for word in words if word not in result.stderr] == []


def test_missing_file_and_unknown_words_are_bad_input(tmp_path: Path) -> None:
    assert run("check", tmp_path / "none.toml").returncode == 2
    assert run("chekc", tmp_path / "none.toml").returncode == 2
    assert run().returncode == 2


def test_new_does_not_write_over_a_file(table_file: Path) -> None:
    before = table_file.read_bytes()
    result = run("new", table_file, "--example", "seed-bench")
    assert result.returncode == 2
    assert "there already" in result.stderr
    assert table_file.read_bytes() == before
    assert run("new", table_file, "--example", "seed-bench", "--force").returncode == 0
    assert table_file.read_bytes() != before
