"""Choices of the check: what stands first, which of several causes is named, which of several remedies comes.

All on the quilting table, by hand from its drawing; common practice, no source. mm.
"""

from __future__ import annotations

import pytest

from addon.check import check as engine
from addon.check.prepared import prepare
from addon.check.slide.proof import prove_leaves
from addon.designs.findings import Finding, Remedy, Report
from addon.designs.table import build
from addon.designs.table.advice import advise
from addon.designs.table.advice.guiding import options
from addon.designs.table.design import check
from addon.designs.table.parameters import Table
from addon.files.editing import set_values
from addon.files.table_file import parse_table
from addon.reports.check import report_text
from tests.old_tables import EXAMPLES

QUILTING = EXAMPLES["quilting"]


def changed(**values: object) -> Table:
    """The quilting table with other values; `a__b` is the key a.b."""
    return set_values(QUILTING.table(), {key.replace("__", "."): value for key, value in values.items()})


def as_cut(*entries: str) -> Table:
    """The quilting table with parts cut otherwise; each entry as in a table file."""
    text = "".join(f"\n[[as_cut]]\n{entry}\n" for entry in entries)
    return parse_table(QUILTING.text() + text)


def of_rule(report: Report, rule: str, leaf: str | None = None) -> Finding:
    return next(one for one in report.findings if one.rule == rule and leaf in (None, one.leaf))


# -- what stands first
# ------------------------------------------------------------------------------------------------------------------


def test_the_gravest_finding_stands_first() -> None:
    """Whoever reads from the top meets what stops the work before what is worth knowing: here by turning the order of
    the alphabet round, a bottom panel too thick for its grooves, 0.2 above leaves, and a sheet that nobody measured."""
    table = changed(
        stowing__clearance_above=0.2,
        **{"as_cut[0].part": "B1", "as_cut[0].dimension": "thickness", "as_cut[0].deviation": 1.0},
        **{"stock[0].measured": None},
    )
    report = check(table)
    severities = [one.severity for one in report.findings]
    assert set(severities) == {"error", "warning", "note"}
    assert severities == sorted(severities, key=["error", "warning", "note"].index)
    words = report_text(report)
    assert words.index("ERROR") < words.index("WARNING") < words.index("NOTE")


def test_findings_of_one_rule_stand_in_the_order_of_their_parts() -> None:
    """So that the same table always reads alike, and somebody who goes along it finds each once."""
    table = as_cut(
        *(f'part = "{part}"\ndimension = "window_sill"\ndeviation = 1.2' for part in ("R4", "R2", "R3"))
    )
    tight = [one for one in check(table).findings if one.rule == "leaf-tight"]
    assert [one.parts[0] for one in tight] == ["R2", "R3", "R4"]


# -- which of several places and causes
# ------------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("above", [1.5, 0.2])
def test_of_places_equally_near_the_one_reached_first_is_named(above: float) -> None:
    """Each leaf passes all its openings with as much above it: the first is its own slot, where the maker looks.

    The square nose gets near to the slot's land behind its entry chamfer of 3, so at 3.0 of its travel.
    """
    for result in check(changed(stowing__clearance_above=above)).leaves:
        assert result.clearance == pytest.approx(above)
        assert result.against == result.slot
        assert result.travel == pytest.approx(3.0)


@pytest.mark.parametrize(("roomy", "narrow"), [("L3", "L4"), ("L4", "L3")])
def test_of_leaves_that_a_long_rib_would_stop_the_one_it_stops_by_the_most_is_shown(
    roomy: str, narrow: str
) -> None:
    """R2, 4 too long, carries its windows 4 along: 2 too much for a leaf with 2 beside it, 3 for one with 1.

    Both leaves of the lower tier cross R2 (x -139); the finding leads to the one with the less room. Its nose meets the
    window's edge behind the chamfer, at R2's near face: 750 + 130.15 of travel from the right, 750 - 147.85 from the
    left.
    """
    text = QUILTING.text() + '\n[[as_cut]]\npart = "R2"\ndimension = "length"\ndeviation = 4\nend = "end"\n'
    table = set_values(parse_table(text), {f"stow[{int(narrow[1:]) - 1}].side_clearance": 1.0})
    finding = of_rule(check(table), "long-rib")
    assert (finding.parts, finding.leaf) == (("R2", "S2"), narrow)
    assert finding.travel == pytest.approx({"L3": 750 + 130.15, "L4": 750 - 147.85}[narrow])
    assert roomy in finding.message


# -- which of several remedies
# ------------------------------------------------------------------------------------------------------------------


def test_the_part_that_is_too_long_is_trimmed_by_all_that_it_is_too_long_there() -> None:
    """R2 is 4 mm too long at S2, which is 0.1 mm thicker than drawn: 4.1 come off R2, 0.1 off all else that ends there.

    Whichever was entered first: the words say to trim R2, so its entry is what changes.
    """
    rib = 'part = "R2"\ndimension = "length"\ndeviation = 4\nend = "end"'
    side = 'part = "S2"\ndimension = "thickness"\ndeviation = 0.1'
    for entries in ((rib, side), (side, rib)):
        finding = of_rule(check(as_cut(*entries), remedies=True), "long-rib")
        assert (finding.parts, finding.amount) == (("R2", "S2"), pytest.approx(4.1))
        remedy = finding.remedy
        assert remedy is not None
        changes = {change.key: change.value for change in remedy.set}
        assert changes[f"as_cut[{entries.index(rib)}].deviation"] == pytest.approx(-0.1)
        trimmed = {changes[f"as_cut[{n}].part"]: changes[f"as_cut[{n}].deviation"] for n in range(2, 7)}
        assert trimmed == {part: pytest.approx(-0.1) for part in ("R1", "R3", "R4", "S3", "S4")}
        assert len(changes) == 1 + 4 * 5


@pytest.mark.parametrize(
    ("radius", "key", "value"),
    [(6.0, "leaves.edge_radius", 6.0), (8.8, "leaves.edge_radius", 8.8), (8.9, "sides.corner_radius", 2.0)],
)
def test_edges_of_leaves_are_rounded_rather_than_slots_cut_again(
    radius: float, key: str, value: float
) -> None:
    """A loose leaf is quickly run along a router table; slots with square corners are work with the file. Only where
    twice the radius is more than a leaf 17.7 thick has, the corners have to be cut sharper."""
    edge = 0.0 if key == "leaves.edge_radius" else 2.0
    table = changed(sides__corner_radius=radius, leaves__edge_radius=edge)
    finding = of_rule(check(table, remedies=True), "leaf-blocked")
    assert finding.remedy is not None
    assert {change.key: change.value for change in finding.remedy.set} == {key: value}


def test_a_leaf_without_a_hole_gets_one_of_25() -> None:
    """A bit of 25 is in every set, and a finger is about 20 thick, which is the least size that the table asks for."""
    remedy = of_rule(check(changed(leaves__finger_hole=0.0), remedies=True), "finger-hole").remedy
    assert remedy is not None
    assert [(change.key, change.value) for change in remedy.set] == [("leaves.finger_hole", 25.0)]


@pytest.mark.parametrize(("inset", "wanted"), [(160.0, 143.0), (170.0, 186.5)])
def test_a_hole_over_a_rib_is_moved_to_the_nearer_side_of_it(inset: float, wanted: float) -> None:
    """The less a hole moves, the less of the drawing changes.

    L3's outer end lies at x 730.8; R4 stands from 557.15 to 574.85, the hole is 25
    wide: free of the rib its middle is at 587.35 or at 544.65, so 143.45 or 186.15 from the outer end; in halves of a
    millimeter, at 143.0 or 186.5. From 160 the first is nearer, from 170 the second.
    """
    table = changed(leaves__finger_hole_inset=inset, limits__finger_reach=300.0)
    drawn = build(table)
    (fact,) = (
        one for one in engine.check(drawn).facts if (one.rule, one.parts) == ("finger-room", ("L3", "R4"))
    )
    (finding,) = advise(table, drawn, [fact])
    first = finding.candidates[0]
    assert isinstance(first, Remedy)
    (change,) = first.set
    assert change.key == "leaves.finger_hole_inset"
    assert change.value == pytest.approx(wanted)


@pytest.mark.parametrize("needs_less", ["3", "2"])
def test_the_least_work_that_lets_leaves_guide_themselves_comes_first(needs_less: str) -> None:
    """With runners and kickers fitted, chamfers around the windows are enough for L3 and L4 of the lower tier.

    Nothing more is to be fitted, then; and all windows get the same chamfer, with one setting of the bit, by what the
    leaf that needs more asks for: the other one has 1.0 above and below instead of 1.5 and would do with less.
    """
    table = changed(
        stowing__runners=True,
        stowing__kickers=True,
        **{f"stow[{needs_less}].clearance_above": 1.0, f"stow[{needs_less}].clearance_below": 1.0},
    )
    first = options(table, prove_leaves(prepare(build(table))))[0]
    assert [change.key for change in first.remedy.set] == ["ribs.window_chamfer"]
    assert first.leaves == ("L3", "L4")
