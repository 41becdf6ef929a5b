"""Choices of what is shown first and for how long: variants beside each other, leaves on their way.

By hand; common practice, no source. mm.
"""

from __future__ import annotations

from math import floor

import pytest

from addon.designs.table import build
from addon.designs.table.design import check
from addon.designs.table.figures import figures_of
from addon.files.editing import set_values
from addon.reports.variants import differences, variants_of
from addon.scene.motion.timeline import marks, plan
from addon.scene.overlay.prepare import Item, prepare
from tests.old_tables import EXAMPLES

QUILTING = EXAMPLES["quilting"].table()


def test_the_smallest_clearance_of_a_variant_is_that_of_its_tightest_leaf() -> None:
    """All leaves have 1.5 above and below; L3 alone has 0.9 beside it."""
    table = set_values(QUILTING, {"stow[2].side_clearance": 0.9})
    figures = {figure.name: figure.value for figure in figures_of(table, build(table))}
    assert figures["Smallest clearance"] == pytest.approx(0.9)


def test_the_largest_leaf_is_the_one_that_tells_whether_it_can_be_carried() -> None:
    """All leaves are drawn 921.6 long; L2 came out 0.4 longer."""
    table = set_values(
        QUILTING, {"as_cut[0].part": "L2", "as_cut[0].dimension": "length", "as_cut[0].deviation": 0.4}
    )
    figures = {figure.name: figure.value for figure in figures_of(table, build(table))}
    assert figures["Largest leaf, length"] == pytest.approx(922.0)


def test_sizes_that_were_chosen_stand_above_what_comes_of_them() -> None:
    """A row is read as "with this, that": the causes come first."""
    rows = differences(variants_of(QUILTING, ["Low: table.height=720, legs.width=55"]))
    assert [row.key for row in rows][:2] == ["table.height", "legs.width"]
    assert {row.key for row in rows[2:]} == {""}
    assert "Knee clearance" in [row.name for row in rows[2:]]


def test_leaves_go_in_turn_in_the_order_of_their_labels() -> None:
    """So that the video, the steps and the file tell the same story."""
    line = plan(build(QUILTING), "in turn")
    assert sorted(line.leaves, key=lambda leaf: line.leaves[leaf].leaves_cover) == ["L1", "L2", "L3", "L4"]


def test_a_tight_place_is_marked_a_sixth_of_a_second_before_the_leaf_gets_there() -> None:
    """4 frames at 24 a second, so that the eye is there in time; not before the leaf is at its slot.

    L3 and L4 pass the low windows of R3 with 0.2 above them, far from their slots.
    """
    low = set_values(
        QUILTING,
        {"as_cut[0].part": "R3", "as_cut[0].dimension": "window_height", "as_cut[0].deviation": -1.3},
    )
    report = check(low)
    line = plan(build(low), "in turn")
    found = {mark.leaf: mark for mark in marks(line, report.leaves)}
    assert set(found) == {"L3", "L4"}
    for result in report.leaves[2:]:
        time = line.leaves[result.leaf]
        assert found[result.leaf].frames[0] == floor(time.frame_at(result.travel)) - 4 > time.at_slot


def test_a_tight_place_at_the_slot_is_marked_once_the_leaf_is_there() -> None:
    """Before that, the leaf is still carried from the cover and nothing can be tight."""
    tight = set_values(QUILTING, {"stowing.clearance_above": 0.2, "stowing.approach": 1.0})
    line = plan(build(tight), "in turn")
    for mark in marks(line, check(tight).leaves):
        assert mark.frames[0] == line.leaves[mark.leaf].at_slot


@pytest.mark.parametrize("chosen", ["", "note"])
def test_the_chosen_finding_keeps_its_words_over_the_view_then_the_gravest(chosen: str) -> None:
    """Where there is no room for all, the one that was clicked stays readable, then errors before warnings."""
    items = [
        Item(severity, (float(number), 0.0, 0.0), severity, "R1", chosen=severity == chosen)
        for number, severity in enumerate(("note", "warning", "error"))
    ]
    said = [text.lines[0] for text in prepare(items).texts]
    rest = [severity for severity in ("error", "warning", "note") if severity != chosen]
    assert said == [*([chosen] if chosen else []), *rest]
