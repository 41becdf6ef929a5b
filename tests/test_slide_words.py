"""What the hand is told: right words for the right side, against where the parts are."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from addon.check.drawn_way import opening_gaps
from addon.check.prepared import prepare
from addon.check.row.leaf_rows import leaf_rows
from addon.check.row.openings import OpeningProof
from addon.check.row.profile import Row, RowOpening
from addon.check.row.proof import Edge
from addon.designs.table import build
from addon.designs.words.slide import edge_words, hand_text, opening_text
from tests.old_tables import EXAMPLES


def steered(least: float | None, most: float | None) -> OpeningProof:
    return OpeningProof("needs-steering", -1.0, 1.0, 0.0, 2.0, -1.0, None, (least, most))


@pytest.mark.parametrize(
    ("least", "most", "view", "words"),
    [
        (-6.5, 9.5, "side", "keep the outer end between 6.5 mm low and 9.5 mm high"),
        (None, 9.5, "side", "keep the outer end no more than 9.5 mm high"),
        (None, -2.0, "side", "keep the outer end at least 2 mm low"),
        (-6.5, None, "side", "keep the outer end no more than 6.5 mm low"),
        (2.0, None, "side", "keep the outer end at least 2 mm high"),
        (None, 3.5, "plan", "keep the outer end no more than 3.5 mm to the left"),
        (-3.5, None, "plan", "keep the outer end no more than 3.5 mm to the right"),
    ],
)
def test_windows_for_the_hand(least, most, view, words):
    """A window from `least` to `most` above level, or to the left of it, in words: worked out by hand."""
    assert hand_text(steered(least, most), view, "mm") == words


def test_a_nose_that_nothing_holds_is_led_in():
    free = OpeningProof("needs-steering", None, None, 0.0, 2.0)
    assert "lead the nose in by hand" in opening_text(free, "side", "mm")
    assert "lead the nose in by hand" in hand_text(free, "side", "mm")
    assert opening_text(OpeningProof(), "side", "mm") == ""


@pytest.mark.parametrize("example", ["quilting", "seed-bench"])
def test_left_is_the_left_of_a_nose_that_looks_inward(example):
    """The check's gaps tell left from right by themselves: a window that runs out there has no wood on that side."""
    prepared = prepare(build(EXAMPLES[example].table()))
    paths = {path.leaf: path for path in prepared.assembly.stow_paths}
    found = 0
    for row in leaf_rows(prepared):
        if row.view == "plan":
            gaps = {gap.part: gap for gap in opening_gaps(prepared, paths[row.leaf])}
            for one in row.row.openings:
                if one.window:
                    gap = gaps[one.label]
                    assert (one.sill is None, one.head is None) == (gap.right is None, gap.left is None)
                    found += one.sill is None or one.head is None
    assert found >= 2


@pytest.mark.parametrize(
    ("wide", "window", "side", "words"),
    [
        (False, True, "upper", "upper edge of X1"),
        (False, True, "lower", "lower edge of X1"),
        (False, False, "upper", "underside of X1"),  # a kicker: wood above the leaf
        (False, False, "lower", "upper side of X1"),  # a runner: wood below it
        (True, True, "upper", "left edge of X1"),  # as the nose looks; see the test above
        (True, True, "lower", "right edge of X1"),
        (True, False, "lower", "face of X1"),
    ],
)
def test_what_of_a_part_holds_a_leaf(wide, window, side, words):
    opening = RowOpening(0.0, 18.0, 0.0, 20.0, label="X1", window=window)
    row = Row(900.0, 18.0, (opening,), 900.0, wide=wide)
    proof = SimpleNamespace(row=row)
    assert edge_words(proof, Edge(0, side, "land start", 3.0, 20.0)) == words
