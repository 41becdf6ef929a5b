"""The defect bench on a small size, and whether it would notice a checker that misses or cries wolf."""

from __future__ import annotations

import json
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

import defect_bench
from addon.check.facts import CheckResult
from addon.designs.table.parameters import Table
from addon.wood.assembly import Assembly
from defect_bench import KINDS, SOUND, Tally, bench, check
from tests.large import sampled

pytestmark = pytest.mark.once

TABLES = sampled(1, 3) * len(KINDS)
SCRIPT = Path(defect_bench.__file__)


@pytest.fixture(scope="module")
def tallies() -> dict[str, Tally]:
    return bench(tables=TABLES, seed=1)


def test_no_fault_is_missed_and_no_alarm_is_false(tallies: dict[str, Tally]) -> None:
    assert [note for tally in tallies.values() for note in tally.notes] == []
    assert sum(tally.missed + tally.false_alarms for tally in tallies.values()) == 0


def test_every_kind_of_defect_had_its_turn_and_many_did_harm(tallies: dict[str, Tally]) -> None:
    assert set(tallies) == {SOUND, *(kind.name for kind in KINDS)}
    assert (
        tallies[SOUND].tables
        == sum(tally.tables for name, tally in tallies.items() if name != SOUND)
        == TABLES
    )
    assert tallies[SOUND].faults == 0
    faults = sum(tally.faults for tally in tallies.values())
    assert sum(tally.found for tally in tallies.values()) == faults > TABLES / 3
    assert sum(tally.refused for tally in tallies.values()) < TABLES / 9


def test_a_checker_that_misses_is_noticed(monkeypatch: pytest.MonkeyPatch) -> None:
    def blind(table: Table, assembly: Assembly | None = None) -> CheckResult:
        return replace(check(table, assembly), facts=())

    monkeypatch.setattr(defect_bench, "check", blind)
    tallies = bench(tables=12, seed=1)
    assert sum(tally.missed for tally in tallies.values()) > 3
    assert sum(tally.found for tally in tallies.values()) == 0


def test_a_checker_that_is_half_a_tenth_off_is_noticed(monkeypatch: pytest.MonkeyPatch) -> None:
    def short_sighted(table: Table, assembly: Assembly | None = None) -> CheckResult:
        report = check(table, assembly)
        shifted = tuple(replace(fact, amount=fact.amount - 0.05) for fact in report.facts)
        return replace(report, facts=shifted)

    monkeypatch.setattr(defect_bench, "check", short_sighted)
    tallies = bench(tables=12, seed=1)
    assert sum(tally.missed for tally in tallies.values()) > 3


def test_a_checker_that_cries_wolf_is_noticed(monkeypatch: pytest.MonkeyPatch) -> None:
    def anxious(table: Table, assembly: Assembly | None = None) -> CheckResult:
        return check(replace(table, limits=replace(table.limits, min_clearance=6.0)), None)

    monkeypatch.setattr(defect_bench, "check", anxious)
    assert bench(tables=5, seed=1)[SOUND].false_alarms > 3


def test_the_script_prints_one_json_document_and_says_by_its_status_how_it_went() -> None:
    command = [sys.executable, str(SCRIPT), "--tables", "4", "--seed", "2", "--json"]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    document = json.loads(done.stdout)
    assert (document["tables"], document["seed"]) == (4, 2)
    assert document["kinds"][SOUND] == {
        "tables": 4, "faults": 0, "found": 0, "missed": 0, "false_alarms": 0, "refused": 0, "notes": []
    }  # fmt: skip
