"""Build and check for any parameters at all: no error but the documented ones, results that hold water."""

from __future__ import annotations

from dataclasses import fields
from functools import lru_cache
from math import isfinite
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from addon.designs.findings import Report
from addon.designs.table import build
from addon.designs.table.design import check
from addon.designs.table.parameters import LISTS, SECTIONS, AsCut, Table
from addon.files.editing import set_values
from addon.reports.check import report_document
from addon.sizes.declare import parameters
from addon.sizes.errors import AsCutError, DryAssemblyError, ParameterError, PartError
from addon.wood.assembly import Assembly
from plain_boxes import PlainTable
from random_tables import sound_table
from tests.large import sampled
from tests.table_strategies import tables, values

pytestmark = pytest.mark.once

DOCUMENTED = (ParameterError, AsCutError, PartError)
SLOW = {"deadline": None, "derandomize": True, "suppress_health_check": list(HealthCheck)}
NUMBER_OF_SOUND = 24


@lru_cache
def sound(index: int) -> Table:
    return sound_table(f"properties/{index}")[0]


def changeable(table: Table) -> dict[str, st.SearchStrategy[Any]]:
    """Keys of a table's file with the values that are allowed; but no names of stock."""
    keys = {
        f"{section}.{parameter.name}": values(parameter)
        for section, kind in SECTIONS.items()
        for parameter in parameters(kind)
        if parameter.kind != "text"
    }
    for entries in ("stow", "stock"):
        for index in range(len(getattr(table, entries))):
            for parameter in parameters(LISTS[entries]):
                if parameter.kind != "text":
                    keys[f"{entries}[{index}].{parameter.name}"] = values(parameter)
    return keys


@st.composite
def nearly_sound(draw: st.DrawFn) -> Table:
    """Sound tables with up to four parameters changed to anything that is allowed."""
    table = sound(draw(st.integers(0, NUMBER_OF_SOUND - 1)))
    keys = changeable(table)
    chosen = draw(st.lists(st.sampled_from(sorted(keys)), min_size=1, max_size=4, unique=True))
    try:
        return set_values(table, {key: draw(keys[key]) for key in chosen})
    except DryAssemblyError:  # such as a finish that leaves nothing of the sheet
        return table


@st.composite
def cut_otherwise(draw: st.DrawFn) -> Table:
    """Sound tables with one to three boards cut otherwise than drawn."""
    table = sound(draw(st.integers(0, NUMBER_OF_SOUND - 1)))
    labels = [part.label for part in build(table).parts]
    entries: dict[str, Any] = {}
    for index in range(draw(st.integers(1, 3))):
        for parameter in parameters(AsCut):
            value = draw(values(parameter))
            if parameter.name == "part":
                value = draw(st.sampled_from(labels))
            elif parameter.name == "leaf":
                value = draw(st.none() | st.sampled_from([f"L{n + 1}" for n in range(table.leaves.count)]))
            elif parameter.name == "deviation":
                value = draw(st.floats(-30, 30))
            if parameter.name not in ("value", "degrees") and value is not None:  # a deviation says it
                entries[f"as_cut[{index}].{parameter.name}"] = value
    return set_values(table, entries)


def built(table: Table) -> tuple[Assembly, Report] | None:
    """What a table makes; None where it is refused with a sentence."""
    try:
        assembly = build(table)
        return assembly, check(table, assembly)
    except DOCUMENTED as error:
        sentence = str(error)
        assert sentence.endswith(".")
        assert "\n" not in sentence
        assert "nan" not in sentence
        return None


def numbers(thing: object) -> list[float]:
    """All numbers in a document."""
    if isinstance(thing, dict):
        return [number for value in thing.values() for number in numbers(value)]
    if isinstance(thing, (list, tuple)):
        return [number for value in thing for number in numbers(value)]
    return [thing] if isinstance(thing, (int, float)) and not isinstance(thing, bool) else []


def assert_holds_water(table: Table, assembly: Assembly, report: Report) -> None:
    """Everything finite, every place within the room, verdicts that follow from the results."""
    labels = {part.label for part in assembly.parts} | {
        entry.part for entry in table.as_cut
    }  # some are missing
    reach = 20_000.0
    for result in report.leaves:
        assert result.leaf in labels
        assert result.against in labels
        assert isfinite(result.clearance)
        assert np.abs(result.at).max() < reach
        path = assembly.path_of(result.leaf)
        assert -path.zero - 1e-6 <= result.travel <= path.length - path.zero + 1e-6
        blocked, tight = (
            [
                place
                for one in report.findings
                if one.rule == rule
                for place in one.places
                if place.leaf == result.leaf
            ]
            for rule in ("leaf-blocked", "leaf-tight")
        )
        assert result.verdict == ("blocked" if blocked else "tight" if tight else "clear")
        if result.clearance < -1e-6:
            assert result.verdict == "blocked"
            assert max(one.amount for one in blocked) == -result.clearance
    overlaps = any(one.rule in ("overlap", "long-rib", "long-part") for one in report.findings)
    assert all(
        one.severity == "error" for one in report.findings if one.rule in ("overlap", "long-rib", "long-part")
    )
    verdicts = {result.verdict for result in report.leaves}
    if overlaps or "blocked" in verdicts:
        assert report.verdict == "blocked"
    grades = {None: "clear", "note": "clear", "warning": "tight", "error": "blocked"}
    assert report.verdict == grades[report.gravest()]
    for finding in report.findings:
        assert set(finding.parts) <= labels
        assert finding.amount > 0 or finding.rule == "leaf-tight"
        assert finding.travel is None or isfinite(finding.travel)
        assert np.abs(finding.at).max() < reach
    assert all(isfinite(number) for number in numbers(report_document(report)))


@settings(max_examples=sampled(20, 40), **SLOW)
@given(tables())
def test_any_parameters_build_or_are_refused(table: Table) -> None:
    made = built(table)
    if made is not None:
        assert_holds_water(table, *made)


@settings(max_examples=sampled(20, 150), **SLOW)
@given(nearly_sound())
def test_a_table_that_builds_has_no_overlaps_or_a_finding_that_says_so(table: Table) -> None:
    """By plain boxes, all of them and no others."""
    made = built(table)
    if made is None:
        return
    assembly, report = made
    assert_holds_water(table, assembly, report)
    said = {frozenset(finding.parts) for finding in report.findings if finding.rule == "overlap"}
    assert said == set(PlainTable(assembly).overlaps())
    assert not [one for one in report.findings if one.rule.startswith(("long", "short", "off-line"))]


@settings(max_examples=sampled(40, 80), **SLOW)
@given(cut_otherwise())
def test_boards_cut_otherwise_are_checked_or_refused(table: Table) -> None:
    made = built(table)
    if made is not None:
        assert_holds_water(table, *made)


@settings(max_examples=sampled(20, 40), **SLOW)
@given(st.integers(0, NUMBER_OF_SOUND - 1), st.floats(0.05, 10), st.booleans())
def test_a_long_rib_is_never_missed(index: int, excess: float, at_start: bool) -> None:
    table = sound(index)
    ribs = [part.label for part in build(table).with_role("rib")]
    label, end = ribs[index % len(ribs)], "start" if at_start else "end"
    entry = {"part": label, "dimension": "length", "deviation": excess, "end": end}
    report = check(set_values(table, {f"as_cut[0].{key}": value for key, value in entry.items()}))
    (found,) = [
        finding for finding in report.findings if finding.rule == "long-rib" and finding.parts[0] == label
    ]
    assert abs(found.amount - excess) < 1e-9
    assert f"{label} is" in found.message
    assert f"too long at {found.parts[1]};" in found.message
    assert report.verdict == "blocked"


def test_every_declared_parameter_is_tried() -> None:
    """The strategies follow the declarations; a parameter without one would be left out."""
    for kind in (*SECTIONS.values(), *LISTS.values()):
        assert {parameter.name for parameter in parameters(kind)} == {field.name for field in fields(kind)}
