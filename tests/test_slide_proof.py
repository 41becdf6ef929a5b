"""Leaves of whole tables among their slots, windows and strips, and what makes them guide themselves."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from shapely.geometry import MultiPoint, Polygon

from addon.check.drawn_way import opening_gaps
from addon.check.prepared import Prepared, prepare
from addon.check.row.leaf_rows import LeafRow, leaf_rows
from addon.check.row.openings import least_margins
from addon.check.row.profile import Chamfer, Row, RowOpening, profiles
from addon.check.row.proof import prove
from addon.check.slide.chamfers import smallest_chamfers, smallest_leads
from addon.check.slide.proof import LeafProof, ViewProof, prove_leaves, together
from addon.check.slide.study import notes_of_proofs
from addon.designs.findings import Change
from addon.designs.table import build
from addon.designs.table.advice.guiding import options
from addon.designs.table.changes import changed
from addon.designs.table.design import TABLE, check
from addon.designs.table.parameters import Table
from addon.wood.features import Opening
from tests.old_tables import EXAMPLES

TABLES = ("quilting", "seed-bench")


def prepared_of(table: Table) -> Prepared:
    return prepare(build(table))


@pytest.fixture(scope="module", params=TABLES)
def table(request: pytest.FixtureRequest) -> Table:
    return EXAMPLES[request.param].table()


@pytest.fixture(scope="module")
def prepared(table: Table) -> Prepared:
    return prepared_of(table)


@pytest.fixture(scope="module")
def proofs(prepared: Prepared) -> list[LeafProof]:
    return prove_leaves(prepared)


def test_tightest_place_is_no_wider_than_the_straight_slide(table: Table, proofs: list[LeafProof]) -> None:
    """What is left on a straight way, from the check that meshes and polytopes are held against."""
    clearances = {leaf.leaf: leaf for leaf in check(table).leaves}
    for proof in proofs:
        rooms = [room for gaps in clearances[proof.leaf].gaps for room in (gaps.above + gaps.below,)]
        assert proof.side.proof.fit_margin == pytest.approx(min(rooms) / 2, abs=1e-6)
        assert proof.side.proof.fit_margin >= clearances[proof.leaf].clearance - 1e-6
        assert proof.plan.proof.fit_margin >= clearances[proof.leaf].clearance - 1e-6


def leaf_at(view: ViewProof, travel: float, height: float, tilt: float) -> Polygon:
    row = view.of.row
    along, up = np.array([np.cos(tilt), np.sin(tilt)]), np.array([-np.sin(tilt), np.cos(tilt)])
    nose = np.array([travel, height])
    corners = [
        nose - row.length * along,
        nose,
        nose + row.thickness * up,
        nose - row.length * along + row.thickness * up,
    ]
    return Polygon(corners)


def wood_of(prepared: Prepared, view: ViewProof, label: str) -> list[Polygon]:
    """Outlines of a part's pieces in a view, where the flat of the leaf passes them, on and on away from the leaf.

    A nose may be so far off that it would pass below the whole board.
    """
    row = view.of.row
    number = prepared.number[label]
    leaf_low, leaf_high = prepared.bounds(view.of.leaf)
    across = np.abs(view.of.frame[2]).argmax()
    found = []
    for points in map(prepared.pieces[number].piece, range(len(prepared.pieces[number]))):
        if points[:, across].max() < leaf_low[across] + 4 or points[:, across].min() > leaf_high[across] - 4:
            continue
        flat = (points - view.of.origin) @ view.of.frame[:2].T
        away = -500.0 if flat[:, 1].mean() < row.rest + row.thickness / 2 else 500.0
        found.append(MultiPoint(np.concatenate([flat, flat + [0.0, away]])).convex_hull)
    return found


def test_snags_hit_the_parts_as_they_are_built(prepared: Prepared, proofs: list[LeafProof]) -> None:
    """The outlines of the real pieces, intersected with the leaf's by shapely."""
    tried = 0
    for proof in proofs:
        for view in proof.views:
            for opening, proved in zip(view.of.row.openings, view.proof.openings, strict=True):
                if proved.snag is None:
                    continue
                pose = proved.snag
                wood = wood_of(prepared, view, opening.label)
                ahead = leaf_at(view, pose.travel + 0.5, pose.height, pose.tilt)
                # The end of the leaf leans; it meets the edge that its corner misses a little before the corner does.
                back = 1.0 + 1.1 * abs(proved.margin or 20.0) * np.tan(abs(pose.tilt))
                before = leaf_at(view, pose.travel - back, pose.height - back * np.tan(pose.tilt), pose.tilt)
                assert any(ahead.intersection(one).area > 1e-3 for one in wood), (proof.leaf, opening.label)
                assert all(before.intersection(one).area < 1e-6 for one in wood), (proof.leaf, opening.label)
                tried += 1
    assert tried >= 4


def test_margins_alone_are_those_of_the_proof(prepared: Prepared, proofs: list[LeafProof]) -> None:
    rows = tuple(row.row for row in leaf_rows(prepared))
    least = least_margins(profiles(rows))
    views = [view for proof in proofs for view in proof.views]
    for margin, view in zip(least, views, strict=True):
        judged = [proved for proved in view.proof.openings if proved.verdict is not None]
        worst = min(-np.inf if proved.margin is None else proved.margin for proved in judged)
        assert margin == pytest.approx(worst, abs=1e-7)


def test_second_and_third_windows_need_the_chamfers_of_the_closed_form(proofs: list[LeafProof]) -> None:
    """After a guided length w with clearance k, over a gap G, a nose is off by k·G/w: chamfers as large catch it.

    However the leaf is held, and to first order in the tilt, hence within a few per cent.
    """
    checked = 0
    for proof in proofs:
        row = replace(proof.side.of.row, hand=None)
        openings = prove([row])[0].openings
        windows = [number for number, one in enumerate(row.openings) if one.window]
        for before, number in pairwise(windows[1:]):
            first, last, met = row.openings[windows[0]], row.openings[before], row.openings[number]
            assert met.head is not None
            assert met.sill is not None
            clearance = met.head - met.sill - row.thickness
            guided = (last.end - last.exit.run) - (first.face + first.entry.run)
            gap = met.face - (last.end - last.exit.run)
            needed = met.entry.rise - (openings[number].margin or 0.0)
            assert needed == pytest.approx(clearance * gap / guided, rel=0.05)
            checked += 1
    if len(proofs) == 4:
        assert checked == 8


def test_every_option_does_what_it_says(table: Table, proofs: list[LeafProof]) -> None:
    found = options(table, proofs)
    assert found
    for option in found:
        after = {
            one.leaf: one.verdict for one in prove_leaves(prepared_of(changed(table, option.remedy.set)))
        }
        assert {after[leaf] for leaf in option.leaves} == {"guides-itself"}
        assert check(changed(table, option.remedy.set)).verdict in ("clear", "tight")


def test_smallest_chamfer_is_the_smallest() -> None:
    """On a table whose strips leave only windows to chamfer: just below it the leaf has to be steered."""
    strips = (Change("stowing.runners", True), Change("stowing.kickers", True))
    table = changed(EXAMPLES["quilting"].table(), strips)
    sizes = smallest_chamfers(prove_leaves(prepared_of(table)))
    assert sizes["L1"] is None
    least = sizes["L3"]
    assert least is not None
    for size, verdict in ((least + 0.001, "guides-itself"), (least - 0.05, "needs-steering")):
        tried = changed(table, [Change("ribs.window_chamfer", size)])
        assert {one.leaf: one.verdict for one in prove_leaves(prepared_of(tried))}["L3"] == verdict


def test_a_leaf_held_by_three_edges_is_told_so() -> None:
    """A middle window moved up by more than a leaf can tilt by."""
    table = EXAMPLES["quilting"].table()
    middle = prove_leaves(prepared_of(table))[2].side.of.row.openings
    label = [one.label for one in middle if one.window][2]
    entry = replace_as_cut(table, label)
    prepared = prepared_of(entry)
    proofs = prove_leaves(prepared)
    held = {one.leaf: one for one in proofs if one.verdict == "does-not-pass"}
    assert held
    found = TABLE.advise(entry, prepared.assembly, notes_of_proofs(proofs))
    notes = [one for one in found if one.rule == "leaf-held"]
    assert {note.leaf for note in notes} >= set(held)
    for note in notes:
        assert label in note.parts
        assert note.amount > 0
        assert "however it is tilted" in note.message
    assert check(entry).verdict == "blocked"


def replace_as_cut(table: Table, label: str) -> Table:
    from addon.designs.table.parameters import AsCut

    return replace(table, as_cut=(AsCut(part=label, dimension="window_sill", deviation=7.0),))


def test_rows_proven_together_are_proven_as_each_alone() -> None:
    """Rows that differ in one number are not taken for one another."""
    row = prove_leaves(prepared_of(EXAMPLES["seed-bench"].table()))[0].side.of.row
    first = row.openings[-1]
    others = [
        replace(row, length=row.length - 50),
        replace(row, thickness=row.thickness - 1),
        replace(row, travel=row.travel - 400),
        replace(row, lead=Chamfer(4, 4)),
        replace(row, level=(row.level or 0.0) + 1),
        replace(row, wide=True),
        *(
            replace(row, openings=(*row.openings[:-1], replace(first, **change)))
            for change in (
                {"face": first.face - 9}, {"board": first.board + 9}, {"head": (first.head or 0.0) + 1},
                {"entry": Chamfer(3, 2)}, {"exit": Chamfer(1, 1)}, {"holds": False},
            )
        ),
    ]  # fmt: skip
    rows = [row, *others]
    for found, one in zip(prove([*rows, row]), [*rows, row], strict=True):
        assert found == prove([one])[0]
        assert found.row == one


def test_strips_lead_in_on_the_side_of_the_leaf() -> None:
    """Their chamfers are those of the windows, as far as a strip can hold them."""
    table = changed(
        EXAMPLES["seed-bench"].table(),
        [Change(f"stowing.{flag}", True) for flag in ("runners", "kickers", "guides")],
    )
    prepared = prepared_of(table)
    roles = {part.label: part.role.word for part in prepared.assembly.parts}
    seen = set()
    for row in leaf_rows(prepared):
        for one in row.row.openings:
            role = roles[one.label]
            if role in ("runner", "kicker", "guide") and (role == "guide") == (row.view == "plan"):
                seen.add(role)
                assert one.entry.rise == pytest.approx(one.exit.rise)
                assert one.entry.rise == pytest.approx(table.ribs.window_chamfer, rel=0.5)
                assert one.entry.rise > 1.0
    assert seen == {"runner", "kicker", "guide"}


def test_chamfers_at_an_opening_are_those_that_the_check_sees() -> None:
    """The check's gaps tell the opening that the nose meets first by themselves."""
    assembly = build(EXAMPLES["quilting"].table())
    parts = tuple(
        replace(part, shape=replace(part.shape, features=tuple(
            replace(one, front_chamfer=1.0, back_chamfer=2.5) if isinstance(one, Opening) else one
            for one in part.shape.features
        )))
        for part in assembly.parts
    )  # fmt: skip
    prepared = prepare(replace(assembly, parts=parts))
    for path in prepared.assembly.stow_paths:
        gaps = {gap.part: gap for gap in opening_gaps(prepared, path)}
        for row in (one for one in leaf_rows(prepared) if one.leaf == path.leaf):
            for one in row.row.openings:
                if one.window:
                    seen = gaps[one.label]
                    assert (one.entry.rise, one.exit.rise) == (seen.entry_chamfer, seen.exit_chamfer)
                    assert {one.entry.rise, one.exit.rise} == {1.0, 2.5}


@pytest.mark.parametrize("turned_over", [False, True])
def test_the_end_that_goes_in_first_is_the_chamfered_one(table: Table, turned_over: bool) -> None:
    """Thinner by twice the leg at its nose, whole at its outer end: the corners of the real pieces."""
    eased = replace(table, leaves=replace(table.leaves, lead_chamfer=5.0, turned_over=turned_over))
    prepared = prepared_of(eased)
    thickness = next(one.thickness for one in eased.stock if one.name == eased.leaves.stock)
    for row in leaf_rows(prepared)[::2]:
        assert row.row.lead == Chamfer(5.0, 5.0)
        points = prepared.pieces[prepared.number[row.leaf]].vertices @ row.frame.T
        for end, high in ((points[:, 0].max(), thickness - 10.0), (points[:, 0].min(), thickness)):
            assert np.ptp(points[np.abs(points[:, 0] - end) < 1e-6, 1]) == pytest.approx(high)


def test_smallest_chamfer_of_a_leading_end() -> None:
    """What the nose misses the second opening by is what its chamfer has to make up for."""

    def opening(face: float) -> RowOpening:
        return RowOpening(face, 18.0, 0.0, 20.0)

    side = Row(900.0, 18.0, (opening(0.0), opening(50.0)), 500.0)
    plan = Row(900.0, 400.0, (RowOpening(0.0, 18.0, 0.0, 404.0),), 500.0, wide=True)
    frame, origin = np.eye(3), np.zeros(3)
    (leaf,) = together(
        [LeafRow("L1", "side", side, frame, origin), LeafRow("L1", "plan", plan, frame, origin)]
    )
    margin = leaf.side.proof.openings[1].margin
    assert margin is not None
    size = smallest_leads([leaf])["L1"]
    assert size == pytest.approx(-margin, rel=0.02)
    for leg, verdict in ((size, "guides-itself"), (size - 0.1, "needs-steering")):
        assert prove([replace(side, lead=Chamfer(leg, leg))])[0].verdict == verdict
