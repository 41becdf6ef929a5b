"""Findings that are accepted with a reason: by what they are known again, and when they are open again.

Values are written by hand: which findings a table has follows from what was cut otherwise (a rib 4 mm too long, ledger
strips with little wood), and what is to become of them from the job: accepted stays accepted, facts stay facts.
"""

from __future__ import annotations

import json
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from addon.check.prepared import prepare
from addon.check.progress import run_through
from addon.designs.acceptance import Accepted
from addon.designs.accepting import accepted_words, accepting, opening
from addon.designs.findings import Change, Finding, Report
from addon.designs.table.build import build
from addon.designs.table.changes import changed
from addon.designs.table.design import TABLE, answer_steps, check, study
from addon.designs.table.parameters import Table
from addon.designs.words.answer import told_of
from addon.files.editing import set_values, update_text
from addon.files.table_file import parse_table
from addon.files.writer import new_table_text
from addon.paper.table_page import line_picture
from addon.reports.check import report_document, report_text
from addon.sizes.errors import TableFileError
from addon.wood.dimensions import AsCut

pytestmark = pytest.mark.once

ROOT = Path(__file__).parent.parent
QUILTING = (ROOT / "addon" / "examples" / "quilting-table.toml").read_text(encoding="utf-8")
WHY = "the offcut stays in"


def _thin(above: float = 5.0) -> Table:
    """A table with so little wood above the slots of S1 and S2, mm, that it is told; 6 are asked for."""
    table = parse_table(QUILTING)
    return replace(table, sides=replace(table.sides, wood_above_slots=above))


def _long(by: float, *parts: str) -> Table:
    """A table with parts that came out so much too long, mm."""
    entries = tuple(AsCut(part, "length", deviation=by, end="end") for part in parts)
    return replace(parse_table(QUILTING), as_cut=entries)


def _accepting(table: Table, finding: Finding, reason: str = WHY) -> Table:
    places = [place.parts for place in finding.places]
    changes = accepting(table.accepted, finding.rule, finding.severity, places, finding.amount, reason)
    return set_values(table, changes)


def _rules(report: Report) -> list[str]:
    return [one.rule for one in report.findings]


def test_what_is_accepted_is_told_apart_with_its_reason() -> None:
    table = _thin()
    before = check(table)
    (thin,) = [one for one in before.findings if one.rule == "thin-wood"]
    after = check(_accepting(table, thin))
    assert after.findings == tuple(one for one in before.findings if one is not thin)
    (accepted,) = after.accepted
    assert (accepted.rule, accepted.parts, accepted.places, accepted.reason) == (
        "thin-wood",
        thin.parts,
        thin.places,
        WHY,
    )
    assert accepted.accepted_at == pytest.approx(thin.amount, abs=0.005)


def test_no_line_of_the_answer_changes() -> None:
    for table in (_thin(), _long(4.0, "R3")):
        before = run_through(answer_steps(table, prepare(TABLE.build(table))))
        for finding in before.findings:
            table = _accepting(table, finding)
        after = run_through(answer_steps(table, prepare(TABLE.build(table))))
        assert after.answers == before.answers
        assert after.findings == ()
        assert len(after.accepted) == len(before.findings) > 0


def test_an_error_that_is_accepted_blocks_and_fails_all_the_same() -> None:
    table = _long(4.0, "R3")
    report = check(table)
    for finding in report.findings:
        table = _accepting(table, finding)
    after = check(table)
    assert (after.verdict, after.findings, after.gravest()) == ("blocked", (), "error")
    text = report_text(after)
    assert "blocked" in text
    assert "It blocks the table all the same" in text


@pytest.mark.parametrize(("grown", "is_open"), [(4.0, False), (4.35, False), (4.45, True), (3.0, False)])
def test_by_a_tenth_more_it_is_open_again(grown: float, is_open: bool) -> None:
    """Too long by 4 mm is accepted; a tenth more is 4.4 mm."""
    report = check(_long(4.0, "R3"))
    (found,) = [one for one in report.findings if "R3" in one.parts and one.rule.startswith("long")]
    assert found.amount == pytest.approx(4.0)
    accepted = _accepting(_long(4.0, "R3"), found).accepted
    after = check(replace(_long(grown, "R3"), accepted=accepted))
    told = [one for one in after.findings if one.rule == found.rule]
    assert bool(told) == is_open
    if told:
        assert (
            f"It was accepted at 4.0 mm (“{WHY}”), but is worse now, and so it is open again."
            in told[0].message
        )
    else:
        assert [one.reason for one in after.accepted if one.rule == found.rule] == [WHY]


def test_little_more_of_little_is_no_more() -> None:
    """Too long by 0.5 mm: 0.59 is less than 0.1 mm more, though more than a tenth of it."""
    report = check(_long(0.5, "R3"))
    (found,) = [one for one in report.findings if "R3" in one.parts and one.rule.startswith("long")]
    accepted = _accepting(_long(0.5, "R3"), found).accepted
    for grown, count in ((0.59, 0), (0.65, 1)):
        after = check(replace(_long(grown, "R3"), accepted=accepted))
        assert sum(one.rule == found.rule for one in after.findings) == count


def test_less_wood_is_worse_where_wood_is_what_is_left() -> None:
    """Of 5 mm of wood, 4.6 are less than a tenth less, 4.4 are more."""
    (thin,) = [one for one in check(_thin()).findings if one.rule == "thin-wood"]
    accepted = _accepting(_thin(), thin).accepted
    for left, is_open in ((5.5, False), (4.6, False), (4.4, True)):
        after = check(replace(_thin(left), accepted=accepted))
        assert ("thin-wood" in _rules(after)) == is_open, left


def test_another_of_the_same_kind_is_open() -> None:
    report = check(_long(4.0, "R3"))
    (found,) = [one for one in report.findings if "R3" in one.parts and one.rule.startswith("long")]
    accepted = _accepting(_long(4.0, "R3"), found).accepted
    table = replace(_long(4.0, "R3", "R8"), accepted=accepted)
    after = check(table)
    told = [one for one in after.findings if one.rule == found.rule]
    assert told
    assert all("R8" in {part for place in one.places for part in place.parts} for one in told)


def test_a_new_place_of_the_same_finding_opens_it_and_is_named() -> None:
    table = _thin()
    (thin,) = [one for one in check(table).findings if one.rule == "thin-wood"]
    places = [place.parts for place in thin.places]
    assert len(set(places)) > 1, "this test needs several places"
    some = accepting((), thin.rule, thin.severity, places[:1], thin.amount, WHY)
    (after,) = [one for one in check(set_values(table, some)).findings if one.rule == "thin-wood"]
    assert f"It is accepted elsewhere (“{WHY}”), but new at " in after.message
    assert all(part in after.message.rpartition("new at ")[2] for labels in places[1:] for part in labels)
    assert after.reason == ""


def test_an_entry_that_meets_nothing_is_a_note_with_a_remedy_that_takes_it_out() -> None:
    table = replace(
        parse_table(QUILTING),
        accepted=(Accepted("overlap", "R3, S1", WHY), Accepted("thin-wood", "S1", "also gone")),
    )
    report = check(table)
    assert _rules(report) == ["accepted-gone", "accepted-gone"]
    assert report.verdict == "clear"
    assert "overlap at R3 and S1 is accepted" in report.findings[0].message
    remedy = report.findings[0].remedy
    assert remedy is not None
    assert remedy.set == (Change("accepted[0]", None),)
    after = changed(table, remedy.set)
    assert [one.rule for one in after.accepted] == ["thin-wood"]
    text = update_text(
        QUILTING, {f"accepted[0].{name}": value for name, value in _plain(table.accepted[0]).items()}
    )
    assert parse_table(update_text(text, {remedy.set[0].key: None})) == parse_table(QUILTING)


def _plain(entry: Accepted) -> dict[str, Any]:
    return {"rule": entry.rule, "parts": entry.parts, "reason": entry.reason}


def test_where_labels_are_wrong_the_note_says_which_are_right() -> None:
    table = replace(_thin(), accepted=(Accepted("thin-wood", "R1", WHY),))
    (note,) = [one for one in check(table).findings if one.rule == "accepted-gone"]
    (thin,) = [one for one in check(_thin()).findings if one.rule == "thin-wood"]
    assert "; ".join(", ".join(place.parts) for place in thin.places) in note.message


def test_graver_is_open_again() -> None:
    """A leaf that is tight is accepted, blocked it is told."""
    table = parse_table(QUILTING)
    tight = replace(table, stowing=replace(table.stowing, clearance_above=0.3))
    report = check(tight)
    ways = [one for one in report.findings if one.rule == "leaf-tight"]
    assert ways
    for one in ways:
        tight = _accepting(tight, one)
    assert "leaf-tight" not in _rules(check(tight))
    nearer = replace(tight, stowing=replace(tight.stowing, clearance_above=0.05))
    assert "leaf-tight" in _rules(check(nearer)), "less room is worse"
    with_entry = replace(tight, as_cut=(AsCut("L1", "thickness", deviation=3.0),))
    blocked = [one for one in check(with_entry).findings if one.rule == "leaf-blocked"]
    assert blocked
    assert any("open again" in one.message for one in blocked)


def test_accepting_again_replaces_what_the_file_says_and_opening_takes_it_out() -> None:
    table = _thin()
    (thin,) = [one for one in check(table).findings if one.rule == "thin-wood"]
    once = _accepting(table, thin, "first")
    twice = _accepting(once, thin, "second")
    assert [one.reason for one in twice.accepted] == ["second"]
    places = [place.parts for place in thin.places]
    assert set_values(twice, opening(twice.accepted, thin.rule, places)) == table


def test_advice_of_the_study_is_accepted_too() -> None:
    table = parse_table(QUILTING)
    table = replace(table, limits=replace(table.limits, sag=2000.0))
    found = study(table, prepare(TABLE.build(table)), remedies=False)
    (first,) = [one for one in found.findings if one.rule == "leaf-sag"]
    after = _accepting(table, first)
    told = study(after, prepare(TABLE.build(after)), remedies=False)
    assert [one.rule for one in told.accepted] == [first.rule]
    assert first.rule not in [one.rule for one in told.findings]
    assert "accepted-gone" not in _rules(check(after)), "the check does not know what the study finds"


@pytest.mark.parametrize(
    ("entry", "words"),
    [
        (
            'rule = "thinwood"\nparts = "R3"\nreason = "so"',
            'is nothing that the check finds; use "thin-wood"',
        ),
        ('rule = "thin-wood"\nparts = ";,"\nreason = "so"', "names no part"),
        ('rule = "thin-wood"\nparts = "R3"', "reason (1st [[accepted]]) is missing"),
        ('rule = "thin-wood"\nparts = "R3"\nreason = ""', "is empty"),
        (f'rule = "thin-wood"\nparts = "R3"\nreason = "{"long " * 100}"', "is too long"),
    ],
)
def test_entries_refused(entry: str, words: str) -> None:
    with pytest.raises(TableFileError) as refused:
        parse_table(f"{QUILTING}\n[[accepted]]\n{entry}\n")
    assert words in str(refused.value)


def test_json_and_words_have_both_apart() -> None:
    table = _thin()
    (thin,) = [one for one in check(table).findings if one.rule == "thin-wood"]
    report = check(_accepting(table, thin))
    document = report_document(report)
    assert [one["reason"] for one in document["accepted"]] == [WHY]
    assert document["accepted"][0]["rule"] == "thin-wood"
    assert document["accepted"][0]["accepted_mm"] == pytest.approx(thin.amount, abs=0.005)
    assert "thin-wood" not in [one["rule"] for one in document["findings"]]
    lines = report_text(report).splitlines()
    assert "Accepted: 1" in lines
    assert any(line.endswith(f": {WHY}") for line in lines)


def test_the_command_fails_for_an_accepted_error_alone(tmp_path: Path) -> None:
    """Exit status 0 with a warning accepted, 1 with an error accepted."""
    for name, table, status in (("thin", _thin(), 0), ("long", _long(4.0, "R3"), 1)):
        for finding in check(table).findings:
            table = _accepting(table, finding)
        file = tmp_path / f"{name}.toml"
        file.write_text(new_table_text(table), encoding="utf-8")
        command = [sys.executable, str(ROOT / "scripts" / "dry_assembly.py"), "check", str(file), "--json"]
        done = subprocess.run(command, capture_output=True, text=True, check=False)
        assert done.returncode == status, done.stderr
        document = json.loads(done.stdout)
        assert document["findings"] == []
        assert len(document["accepted"]) == len(table.accepted)


def test_the_line_as_drawn_says_how_many_are_accepted_on_every_page_that_has_it() -> None:
    table = _thin()
    (thin,) = [one for one in check(table).findings if one.rule == "thin-wood"]
    plain, accepted = check(table), check(_accepting(table, thin))
    drawn = told_of(plain).table[0]
    assert told_of(accepted).table[0].words == f"{drawn.words}; accepted: 1"
    assert [line.grade for line in told_of(accepted).table] == [line.grade for line in told_of(plain).table]
    assert told_of(accepted).leaves == told_of(plain).leaves
    assembly = build(table)
    page = line_picture(assembly, date="D", answer=told_of(accepted).table)
    assert [text.text for text, _ in page.texts() if text.text.endswith("; accepted: 1")]
    page = line_picture(assembly, date="D", answer=told_of(plain).table)
    assert not [text.text for text, _ in page.texts() if "accepted" in text.text]


def test_papers_name_what_is_accepted_and_that_an_error_blocks() -> None:
    table = _thin()
    (thin,) = [one for one in check(table).findings if one.rule == "thin-wood"]
    (accepted,) = check(_accepting(table, thin)).accepted
    assert accepted_words(accepted, "mm") == f"Accepted: thin wood, 5.0 mm, S1; S2 ({WHY})."
    table = _long(4.0, "R3")
    (long,) = check(table).findings
    (accepted,) = check(_accepting(table, long)).accepted
    words = f"Accepted: too long, 4.0 mm, L4 at R3 and S2 ({WHY}); it blocks the table all the same."
    assert accepted_words(accepted, "mm") == words
