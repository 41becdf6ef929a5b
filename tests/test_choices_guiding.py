"""Choices of remedies with strips: what comes first to make leaves guide themselves, and what is left out first.

Common practice, no source; the reasons stand beside the expected values, which are written by hand.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import count
from types import SimpleNamespace
from typing import Any

import pytest

from addon.check.progress import Steps
from addon.designs.findings import Change, Option
from addon.designs.table import build
from addon.designs.table.advice import guiding
from addon.designs.table.design import check
from addon.designs.table.parameters import Table
from addon.files.editing import set_values
from addon.files.examples import EXAMPLES

QUILTING = set_values(
    EXAMPLES["quilting"].table(),
    {
        "stowing.runners": False,
        "stowing.kickers": False,
        "stowing.guides": False,
        "stowing.side_clearance": 2.0,
        "stowing.clearance_above": 1.5,
        "stowing.clearance_below": 1.5,
        "limits.min_clearance": 0.5,
    },
)
CHAMFER = 2.97
"""mm; what windows and leading ends are found to need, so that 3.0, which a tape reads, is offered."""


def proof(leaf: str, verdict: str) -> Any:
    return SimpleNamespace(leaf=leaf, verdict=verdict)


@pytest.fixture
def offered(monkeypatch: pytest.MonkeyPatch) -> Any:
    """What is offered for a table, in order, where each offer helps one leaf more and none helps all."""
    leaves = [f"L{number}" for number in range(1, 31)]
    tried = count(1)

    def built(_table: Table, _changes: tuple[Change, ...]) -> list[Any]:
        helped = next(tried)
        return [
            proof(leaf, "guides-itself" if number < helped else "needs-steering")
            for number, leaf in enumerate(leaves)
        ]

    def search(steered: list[Any]) -> Steps[dict[str, float]]:
        yield 1.0
        return {one.leaf: CHAMFER for one in steered}

    chamfers = tuple((key, section, words, search) for key, section, words, _ in guiding._CHAMFERS)
    monkeypatch.setattr(guiding, "_CHAMFERS", chamfers)
    monkeypatch.setattr(guiding, "_built", built)
    return lambda table: guiding.options(table, [proof(leaf, "needs-steering") for leaf in leaves])


def said(options: list[Option]) -> list[str]:
    return [option.remedy.text for option in options]


RUNNERS = "Fit runners under and kickers above the leaves' ways"
GUIDES = "Fit guides beside the leaves' ways"
ALL = "Fit runners, kickers and guides along the leaves' ways"
TIGHT = "Leave only 0.51 mm around the leaves along strips on all their sides"
WINDOWS, LEADS = "chamfer all windows by 3 mm", "chamfer the leaves' leading ends by 3 mm"


def test_the_least_work_comes_first(offered: Any) -> None:
    """A bit is set once and runs around windows that are there anyway; leading ends, which everybody sees and touches,
    come after them. Strips are boards more to cut and fit: first those that carry and hold down, on which a leaf lies
    by its weight, then guides beside it, then all. Less room around leaves, which makes every error of the saw count,
    is the last. What strips need besides is said after them: they are fitted before a leaf is tried.

    0.51 is the least that a caliper reads above the limit of 0.5.
    """
    expected = ["Chamfer all windows by 3 mm", "Chamfer the leaves' leading ends by 3 mm"]
    for strips in (RUNNERS, GUIDES, ALL, TIGHT):
        expected += [strips, f"{strips}, and {WINDOWS}", f"{strips}, and {LEADS}"]
    assert said(offered(QUILTING)) == expected


def test_it_says_what_it_sets_in_the_same_order(offered: Any) -> None:
    options = offered(QUILTING)
    (chosen,) = [one for one in options if one.remedy.text == f"{RUNNERS}, and {LEADS}"]
    assert [(change.key, change.value) for change in chosen.remedy.set] == [
        ("stowing.runners", True),
        ("stowing.kickers", True),
        ("leaves.lead_chamfer", 3.0),
    ]
    (tight,) = [one for one in options if one.remedy.text == TIGHT]
    assert [(change.key, change.value) for change in tight.remedy.set] == [
        ("stowing.runners", True),
        ("stowing.kickers", True),
        ("stowing.guides", True),
        ("stowing.side_clearance", 0.51),
        ("stowing.clearance_above", 0.51),
        ("stowing.clearance_below", 0.51),
    ]


@pytest.mark.parametrize(
    ("there", "wanted"),
    [(("guides",), RUNNERS), (("runners", "kickers"), GUIDES)],
    ids=["guides", "runners and kickers"],
)
def test_strips_that_are_there_are_not_fitted_again(
    offered: Any, there: tuple[str, ...], wanted: str
) -> None:
    """What is missing is all that is fitted then, and nothing is tried twice in other words."""
    table = set_values(QUILTING, {f"stowing.{flag}": True for flag in there})
    expected = ["Chamfer all windows by 3 mm", "Chamfer the leaves' leading ends by 3 mm"]
    for strips in (wanted, TIGHT):
        expected += [strips, f"{strips}, and {WINDOWS}", f"{strips}, and {LEADS}"]
    options = offered(table)
    assert said(options) == expected
    assert not {f"stowing.{flag}" for flag in there} & {
        change.key for one in options for change in one.remedy.set
    }


# -- which of two strips in one place is left out
# ------------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("one", "other", "left_out"),
    [
        ("runner", "kicker", "runners"),
        ("runner", "guide", "runners"),
        ("kicker", "guide", "kickers"),
        ("runner", "end_stop", "runners"),
        ("kicker", "end_stop", "kickers"),
        ("guide", "end_stop", None),
    ],
)
def test_what_a_leaf_misses_least_is_left_out_first(one: str, other: str, left_out: str | None) -> None:
    """Without runners a leaf still lies on the sills of its windows, without kickers its weight keeps it down. Without
    guides it would need steering, and without its end stop it slides on to where nobody reaches it: neither is offered.
    """
    table = set_values(
        QUILTING,
        {"stowing.runners": True, "stowing.kickers": True, "stowing.guides": True, "stowing.end_stops": True},
    )
    drawn = build(table)
    first, second = (next(part for part in drawn.parts if part.role.word == word) for word in (one, other))
    corner = second.box[0] - first.box[0] + 1.0
    moved = replace(first, placement=first.placement.moved(corner))
    assembly = replace(drawn, parts=tuple(moved if part is first else part for part in drawn.parts))
    findings = check(table, assembly, remedies=True).findings
    (overlap,) = [
        found
        for found in findings
        if found.rule == "overlap"
        and any({first.label, second.label} <= set(place.parts) for place in found.places)
    ]
    offered = [] if left_out is None else [(Change(f"stowing.{left_out}", False),)]
    assert [one.set for one in overlap.remedies[:1] if one.set] == offered
