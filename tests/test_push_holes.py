"""Holes in the bottom panel through which leaves are pushed up: where they are, what is in their way, by hand and by
manifold3d.

The quilting table's leaf L1 covers x -731.3 to -366.4, y -460.8 to 460.8; rib R1 stands at x -576.4 to -558.6, rib R10
at y -8.8 to 8.8. Values of other leaves follow from what is drawn.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import manifold3d as m3
import numpy as np
import pytest

from addon.check.apart.assembly_order import assembly_order
from addon.check.apart.blocking import blocking_of
from addon.check.prepared import prepare
from addon.check.push_holes import ROOM, facts_of_push_holes, push_holes
from addon.designs.findings import Finding
from addon.designs.table.build import build
from addon.designs.table.changes import changed
from addon.designs.table.design import check, study
from addon.designs.table.parameters import Table
from addon.files.editing import Changes, set_values
from addon.files.table_file import parse_table
from addon.paper.shop import part_sheet
from addon.reports.steps import sentences_of
from addon.sizes.errors import ParameterError
from addon.wood.assembly import Assembly
from tests.oracles import Body
from tests.shop_jobs import checked_job, drawn_legibly

pytestmark = pytest.mark.once

TABLE = parse_table(
    (Path(__file__).parent.parent / "addon" / "examples" / "quilting-table.toml").read_text("utf-8")
)
ALL: Changes = {"leaves.push_hole": 40.0}


def _with(**own: float) -> Table:
    """With a hole for L1 alone."""
    return set_values(TABLE, {f"stow[0].{name}": value for name, value in own.items()})


def _centers(assembly: Assembly) -> dict[str, np.ndarray]:
    return {
        hole.leaf: panel.placement.to_table(np.array([[hole.u, hole.v, 0.0]]))[0]
        for panel, hole in push_holes(assembly)
    }


def _findings(table: Table, remedies: bool = False) -> list[Finding]:
    return [one for one in check(table, remedies=remedies).findings if one.rule == "push-hole"]


def test_without_a_place_they_are_where_nothing_stands_and_if_it_can_be_no_leaf_is_stowed() -> None:
    """One under each leaf; its cylinder by manifold3d meets neither boards nor screws."""
    assembly = build(set_values(TABLE, ALL))
    centers = _centers(assembly)
    assert set(centers) == {"L1", "L2", "L3", "L4"}
    prepared = prepare(assembly)
    (panel,) = assembly.with_role("bottom")
    under, stowed = float(panel.box[0][2]), {}
    for leaf, center in centers.items():
        low, high = replace(assembly.by_label[leaf], placement=assembly.cover[leaf]).box
        assert (low[:2] + 20 < center[:2]).all()
        assert (center[:2] < high[:2] - 20).all()
        rod = m3.Manifold.cylinder(low[2] - under + ROOM, 20.0, circular_segments=96)
        rod = rod.translate((center[0], center[1], under - ROOM))
        for number, body in enumerate(assembly.bodies):
            if body.label in (panel.label, leaf):
                continue
            for i in range(len(prepared.pieces[number])):
                met = (rod ^ Body(prepared.pieces[number].piece(i)).solid).volume()
                if met > 1e-3 and body.role.slides:
                    stowed.setdefault(leaf, set()).add(body.label)
                else:
                    assert met <= 1e-3, (leaf, body.label)
    said = {fact.cause.leaf: set() for fact in facts_of_push_holes(prepared)}
    for fact in facts_of_push_holes(prepared):
        assert fact.severity == "note"
        said[fact.cause.leaf].add(fact.cause.by)
    assert said == stowed
    assert check(set_values(TABLE, ALL)).verdict == "clear"


def test_a_given_place_is_taken_at_its_word() -> None:
    """L1 from its front end, y -460.8, and from its center line, x -548.85."""
    assembly = build(_with(push_hole=30.0, push_hole_inset=100.0, push_hole_offset=120.0))
    (center,) = _centers(assembly).values()
    assert center[:2] == pytest.approx([-548.85 + 120.0, -460.8 + 100.0], abs=0.06)
    ((_, hole),) = push_holes(assembly)
    assert (hole.diameter, hole.word) == (30.0, "push-up hole for L1")


def test_a_rib_under_a_hole_is_found_and_the_hole_drilled_elsewhere() -> None:
    """On L1's center line R1's right face, x -558.6, is 9.75 from the middle: 30 wide, the hole is over it."""
    table = _with(push_hole=30.0, push_hole_inset=100.0, push_hole_offset=0.0)
    (found,) = _findings(table, remedies=True)
    assert found.severity == "warning"
    assert found.parts[0] == "B1"
    assert "R1" in found.message
    assert "in the way of the push-up hole for L1" in found.message
    (best, *others) = found.remedies
    assert best.text.startswith("Drill it ")
    assert all(one.text.startswith(("Drill it ", "Leave it out")) for one in others)
    for remedy in found.remedies:
        assert [one for one in _findings(changed(table, remedy.set)) if one.severity != "note"] == []


def test_a_leaf_stowed_below_is_a_note_that_says_what_comes_first() -> None:
    """L3 lies stowed at x -190.8 to 730.8, y 15 to 379.9 below L4's cover, x 366.4 to 731.3: at y 250, x 650."""
    table = set_values(
        TABLE,
        {
            "stow[3].push_hole": 30.0,
            "stow[3].push_hole_inset": 460.8 + 250.0,
            "stow[3].push_hole_offset": 101.2,
        },
    )
    (found,) = _findings(table)
    assert (found.severity, found.parts) == ("note", ("B1", "L3"))
    assert found.message == "L3 stowed lies below the push-up hole for L4 in B1."
    (remedied,) = _findings(table, remedies=True)
    for remedy in remedied.remedies:
        assert _findings(changed(table, remedy.set)) == []


def test_where_leaves_are_stowed_everywhere_they_come_out_first() -> None:
    """Below L2 there is a leaf stowed wherever nothing stands."""
    (found,) = _findings(set_values(TABLE, ALL), remedies=True)
    assert found.message == "L1 and L4 stowed lie below the push-up hole for L2 in B1."
    assert [one.text for one in found.remedies] == ["Draw L1 and L4 out first, then push L2 up"]


def test_one_too_small_for_a_finger_is_made_wider() -> None:
    """20 mm is the least that takes a finger (`limits.finger_hole`): 12 is 8 too small."""
    table = _with(push_hole=12.0)
    found = [one for one in _findings(table, remedies=True) if "too small" in one.message]
    assert [(one.severity, one.amount) for one in found] == [("warning", pytest.approx(8.0))]
    assert found[0].remedies[0].text == "Drill it 20 mm wide"
    after = changed(table, found[0].remedies[0].set)
    assert [one for one in _findings(after) if one.severity == "warning"] == []


def _studied(table: Table) -> list[str]:
    return [one.rule for one in study(table, prepare(build(table))).findings]


def test_a_table_whose_leaves_are_pushed_up_needs_none_to_be_tilted() -> None:
    tight = set_values(TABLE, {"leaves.gap": 0.01, "leaves.end_gap": 0.02})
    assert "cover-lift" in _studied(tight)
    assert "cover-lift" not in _studied(set_values(tight, ALL))


@pytest.mark.parametrize(
    ("changes", "key", "reason"),
    [
        ({"leaves.push_hole": 40.0, "leaves.push_hole_inset": 10.0}, "leaves.push_hole_inset", "not be under L1"),
        ({"stow[2].push_hole": 40.0, "stow[2].push_hole_offset": 170.0}, "stow[2].push_hole_offset", "not be under L3"),
        ({"leaves.count": 2, "stow[3]": None, "stow[2]": None, "leaves.cover_length": 100.0, "leaves.push_hole": 60.0},
         "leaves.push_hole", "is no wider"),
    ],
)  # fmt: skip
def test_a_hole_that_is_not_under_its_leaf_is_refused(changes: Changes, key: str, reason: str) -> None:
    with pytest.raises(ParameterError) as refused:
        build(set_values(TABLE, changes))
    assert refused.value.key == key
    assert reason in refused.value.reason


def test_the_part_sheet_has_the_hole_with_its_place_and_its_width() -> None:
    table = _with(push_hole=30.0, push_hole_inset=100.0, push_hole_offset=120.0)
    job = checked_job(table)
    pages = [page for page in part_sheet.pages(job) if "B1" in page.parts]
    texts = [text.text for page in pages for text, _ in drawn_legibly(page, job).texts()]
    # The panel begins at x -737.8 and y -467.8: 308.95 and 107, to half a millimeter.
    assert {"push-up hole for L1:", "30", "309", "107"} <= set(texts)


def test_the_step_in_which_the_panel_goes_in_says_that_its_holes_are_drilled_first() -> None:
    for changes, words in (
        (
            ALL,
            "Drill the push-up holes for L1 to L4 first, with a backer behind the panel, and ease the edges.",
        ),
        (
            {"stow[1].push_hole": 40.0},
            "Drill the push-up hole for L2 first, with a backer behind the panel, and ease the",
        ),
    ):
        assembly = build(set_values(TABLE, changes))
        order, blocking = assembly_order(assembly), blocking_of(assembly.parts)
        said = [
            any(line.startswith(words) for line in sentences_of(assembly, order, number, blocking, "mm"))
            for number in range(len(order.steps))
        ]
        where = ["B1" in step.moved for step in order.steps]
        assert said == where
        assert sum(said) == 1
