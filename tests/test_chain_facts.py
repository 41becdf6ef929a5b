"""What the check says of parts that butt on each other: by hand on the examples, by plain boxes on random tables.

mm; numbers of parts and places are those of the quilting table: through ribs R1 … R4 at x ±566 and ±139, rows of
segments R5 … R9, R10 … R14 and R15 … R19 between the sides S3 and S4; 2 mm beside each leaf.
"""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from random import Random

import numpy as np
import pytest

from addon.check.causes import ChainOff, Fitted
from addon.check.chains.links import chains_of
from addon.check.chains.stops import free_shifts
from addon.check.check import check as engine_check
from addon.check.facts import Fact
from addon.check.prepared import prepare
from addon.designs.findings import Candidate, Finding, Remedy
from addon.designs.table.advice import advise
from addon.designs.table.build import build
from addon.designs.table.changes import changed
from addon.designs.table.design import check
from addon.designs.table.parameters import Table
from addon.files.examples import EXAMPLES as SHIPPED
from addon.sizes.errors import DryAssemblyError
from addon.wood.dimensions import AsCut
from defect_bench import Tally, judge
from defects import KINDS, AlongRow
from plain_boards import Deviation
from plain_boxes import PlainTable
from random_tables import sound_table
from tests.chain_samples import free_but_ends, program
from tests.large import sampled
from tests.old_tables import EXAMPLES

pytestmark = pytest.mark.once

QUILTING, SEEDS = EXAMPLES["quilting"].table(), EXAMPLES["seed-bench"].table()
Off = tuple[str, str, float, str | None]
"""Part, dimension, deviation, end."""


def cut(table: Table, *offs: Off) -> Table:
    """A table with parts cut otherwise than drawn."""
    entries = (AsCut(part, dimension, deviation=by, end=end) for part, dimension, by, end in offs)
    return replace(table, as_cut=tuple(entries))


def chain_findings(table: Table) -> list[tuple[Finding, ChainOff]]:
    """What the check finds of chains, each said by itself."""
    assembly = build(table)
    found = [fact for fact in engine_check(assembly).facts if isinstance(fact.cause, ChainOff)]
    said = (advise(table, assembly, [fact])[0] for fact in found)
    return [
        (one, fact.cause) for one, fact in zip(said, found, strict=True) if isinstance(fact.cause, ChainOff)
    ]


def only_chain(table: Table) -> tuple[Finding, ChainOff]:
    (found,) = chain_findings(table)
    return found


def way(chain: ChainOff, name: str) -> Fitted:
    return next(one for one in chain.ways if one.way == name)


def trims(chain: ChainOff) -> dict[tuple[str, str], float]:
    return {(one.part, one.neighbor): one.amount for one in chain.trims}


THREE_LONG = cut(
    QUILTING, ("R6", "length", 1.5, "end"), ("R7", "length", 1.5, "end"), ("R8", "length", 1.5, "end")
)


# -- sums by hand
# ------------------------------------------------------------------------------------------------------------------


def test_nothing_is_looked_for_where_all_is_as_drawn() -> None:
    assert list(chains_of(build(QUILTING))) == []
    assert list(chains_of(build(cut(QUILTING, ("L1", "width", 0.1, None))))) != []


def test_three_segments_too_long_are_one_finding_that_says_their_sum() -> None:
    finding, chain = only_chain(THREE_LONG)
    assert (finding.rule, finding.severity, finding.amount) == ("long-rib", "error", pytest.approx(4.5))
    assert [place.parts for place in finding.places] == [("R6", "R2"), ("R7", "R3"), ("R8", "R4")]
    assert [place.amount for place in finding.places[1:]] == [pytest.approx(1.5)] * 2
    assert finding.message.startswith(
        "R6 is 1.5 mm too long at R2, R7 is 1.5 mm too long at R3 and R8 is 1.5 mm too long at R4;"
        " together that is 4.5 mm too much between S3 and S4;"
    )
    assert trims(chain) == {(f"R{n}", f"R{n - 4}"): pytest.approx(1.5) for n in (6, 7, 8)}
    assert "its end" not in finding.message
    assert "its start" not in finding.message


def test_where_windows_end_up_and_which_leaf_is_stopped_in_each_way() -> None:
    """Toward S3, R8 seats 3 mm too far on, past the 2 beside L2, and so do R13 and R18 in line: L2 comes from the back
    and meets R18's window first, whose chamfer of 2 it passes by 1: at 480 - 399.6 + 1 of its travel. Toward S4, R6 is
    4.5 off: L1, from the front, meets its face at 480 - 399.6, 2.5 deep. Evenly each of ten joints takes 0.45."""
    _, chain = only_chain(THREE_LONG)
    low, high, evenly = (way(chain, name) for name in ("low", "high", "evenly"))
    assert (low.toward, high.toward, evenly.toward) == (("S3",), ("S4",), ())
    assert dict(low.shifts) == {
        label: pytest.approx(by)
        for label, by in {
            "R2": 1.5, "R7": 1.5, "R12": 1.5, "R17": 1.5, "R3": 3.0, "R8": 3.0, "R13": 3.0, "R18": 3.0,
            "R4": 4.5, "R9": 4.5, "R14": 4.5, "R19": 4.5, "S4": 4.5,
        }.items()
    }  # fmt: skip
    assert [(one.leaf, one.part) for one in low.stops] == [("L2", "R18")]
    assert (low.stops[0].travel, low.stops[0].depth) == (pytest.approx(81.4), pytest.approx(1.0))
    assert [(one.leaf, one.part) for one in high.stops] == [("L1", "R6")]
    assert (high.stops[0].travel, high.stops[0].depth) == (pytest.approx(80.4), pytest.approx(2.5))
    assert dict(high.shifts)["S3"] == pytest.approx(-4.5)
    assert (evenly.give, evenly.stops) == (pytest.approx(0.45), ())
    assert dict(evenly.shifts)["R6"] == pytest.approx(-1.35)
    assert dict(evenly.shifts)["R11"] == pytest.approx(
        -0.6
    )  # in the middle of the room that R1 and R2 leave it
    assert {"S3", "S4"}.isdisjoint(dict(evenly.shifts))


def test_the_finding_leads_to_the_leaf_that_is_stopped_by_the_most() -> None:
    finding, _ = only_chain(THREE_LONG)
    assert (finding.leaf, finding.travel) == ("L1", pytest.approx(80.4))


@pytest.mark.parametrize("by", [1.5, 0.3])
def test_a_segment_too_long_beside_rows_as_drawn_cannot_be_made_up_for_by_its_short_neighbor(
    by: float,
) -> None:
    """R12 and R17 hold R2 where R6 would push it: all of it is too much, and R7's joint is open on its own account."""
    table = cut(QUILTING, ("R6", "length", by, "end"), ("R7", "length", -1.0, "start"))
    (long, long_chain), (short, short_chain) = chain_findings(table)
    assert (long.rule, long.parts, long.amount) == ("long-rib", ("R6", "R2"), pytest.approx(by))
    assert trims(long_chain) == {("R6", "R2"): pytest.approx(by)}
    assert (short.rule, short.severity, short.parts) == ("short-rib", "warning", ("R7", "R2"))
    assert (short.amount, short_chain.opening) == (pytest.approx(1.0), pytest.approx(1.0))


def test_in_a_table_of_one_row_a_short_neighbor_takes_part_of_the_excess() -> None:
    """The seed bench: R5 1.5 too long at R2, R6 1.0 too short there: 0.5 too much, to be taken off R5, or 0.125 off
    each of four segments."""
    finding, chain = only_chain(cut(SEEDS, ("R5", "length", 1.5, "end"), ("R6", "length", -1.0, "start")))
    assert (finding.rule, finding.amount) == ("long-rib", pytest.approx(0.5))
    assert trims(chain) == {("R5", "R2"): pytest.approx(0.5)}
    assert {one.part: one.amount for one in chain.shared} == {
        part: pytest.approx(0.125) for part in ("R4", "R5", "R6", "R7")
    }


def test_too_long_and_too_short_that_make_up_for_each_other_are_a_note() -> None:
    """R2 of the seed bench stands 1.5 off its line, then, 42 from the nearest leaf; all joints close."""
    table = cut(SEEDS, ("R5", "length", 1.5, "end"), ("R6", "length", -1.5, "start"))
    ((finding, chain),) = chain_findings(table)
    assert (finding.rule, finding.severity, finding.amount) == ("off-line", "note", pytest.approx(1.5))
    assert {label for one in chain.ways for label, _ in one.shifts} == {"R2"}
    assert check(table).verdict == "clear"


def test_a_rib_as_long_as_drawn_with_its_windows_off_stops_leaves_however_it_is_put_in() -> None:
    """3 longer at one end and 3 shorter at the other: it fits, and its windows are 3 off, of which 2 are room."""
    table = cut(QUILTING, ("R2", "length", 3.0, "end"), ("R2", "length", -3.0, "start"))
    ((finding, chain),) = chain_findings(table)
    assert (finding.rule, finding.severity, check(table).verdict) == ("long-rib", "error", "blocked")
    for one in chain.ways:
        assert {stop.leaf: stop.depth for stop in one.stops} == {
            leaf: pytest.approx(1.0) for leaf in ("L3", "L4")
        }
    assert "put together" in finding.message


@pytest.mark.parametrize(("by", "severity"), [(1.4, "note"), (1.7, "warning")])
def test_a_rib_whose_windows_come_too_near_to_leaves_is_a_warning(by: float, severity: str) -> None:
    """As long as drawn, with its windows off by as much: 2 beside the leaves, of which 0.5 are asked for."""
    table = cut(QUILTING, ("R2", "length", by, "end"), ("R2", "length", -by, "start"))
    finding, chain = only_chain(table)
    assert (finding.rule, finding.severity, finding.amount) == ("off-line", severity, pytest.approx(by))
    assert not any(one.stops for one in chain.ways)
    assert bool(finding.candidates) == (severity == "warning")
    for candidate in finding.candidates:
        assert isinstance(candidate, Remedy)
        assert not candidate.set or check(changed(table, candidate.set)).findings == ()


def test_what_is_short_adds_up_although_each_joint_alone_is_within_the_allowance() -> None:
    """Three segments of the seed bench 0.15 short each, the fit allowance is 0.2: 0.45 at one joint or another."""
    assert pytest.approx(0.2, abs=0.01) == SEEDS.limits.fit_allowance
    offs = [
        ("R4", "length", -0.15, "end"),
        ("R5", "length", -0.15, "start"),
        ("R6", "length", -0.15, "start"),
    ]
    finding, chain = only_chain(cut(SEEDS, *offs))
    assert (finding.rule, finding.severity, finding.amount) == ("short-rib", "warning", pytest.approx(0.45))
    assert len(finding.places) == 3
    assert max(abs(by) for _, by in way(chain, "low").shifts) == pytest.approx(0.45)
    assert chain_findings(cut(SEEDS, offs[0])) == []
    # beside two rows as drawn nothing adds up
    beside = [
        ("R5", "length", -0.15, "end"),
        ("R6", "length", -0.15, "start"),
        ("R7", "length", -0.15, "start"),
    ]
    assert chain_findings(cut(QUILTING, *beside)) == []


def test_a_short_rib_stays_open_on_the_side_that_it_is_not_pressed_toward() -> None:
    finding, chain = only_chain(cut(QUILTING, ("R1", "length", -3.0, "start")))
    assert (finding.rule, finding.parts, finding.amount) == ("short-rib", ("R1", "S1"), pytest.approx(3.0))
    assert dict(way(chain, "low").shifts) == {"R1": pytest.approx(-3.0)}
    assert [(stop.leaf, stop.depth) for stop in way(chain, "low").stops] == [("L4", pytest.approx(1.0))]
    assert way(chain, "high").shifts == ()
    assert dict(way(chain, "evenly").shifts) == {"R1": pytest.approx(-1.5)}
    candidate, words = finding.candidates
    assert isinstance(candidate, Remedy)
    assert words == Remedy(
        "Measure R1 and S1 again, and cut anew what is not as drawn, if R1 and S1 are not glued yet"
    )
    assert candidate.text == "Cut a new R1, or pack the gap between R1 and S1 with 3.0 mm"


@pytest.mark.parametrize(
    ("side", "rows"),
    [("S3", ("R5", "R10", "R15", "LEDG1", "LEDG2")), ("S4", ("R9", "R14", "R19", "LEDG1", "LEDG2"))],
)
def test_a_side_that_is_thicker_is_one_finding_for_all_rows(side: str, rows: tuple[str, ...]) -> None:
    """1 mm more, all inward: each row is 1 too long, and so are the ledgers; 1 comes off one segment of each."""
    finding, chain = only_chain(cut(QUILTING, (side, "thickness", 1.0, None)))
    assert (finding.rule, finding.amount) == ("long-part", pytest.approx(1.0))
    assert {frozenset(place.parts) for place in finding.places} == {frozenset((side, row)) for row in rows}
    assert all(place.parts[0] == side for place in finding.places)
    assert trims(chain) == {(row, side): pytest.approx(1.0) for row in rows}
    assert finding.message.startswith(f"{side} is 1.0 mm thicker than drawn;")


@pytest.mark.parametrize(("side", "by"), [("S1", -1.0), ("S2", 1.0)])
def test_a_long_side_that_is_thicker_may_stand_farther_out(side: str, by: float) -> None:
    """All that ends on it is 1 too long then; set back by 1 it leaves nothing amiss, and the table is 1 wider."""
    table = cut(QUILTING, (side, "thickness", 1.0, None))
    ((finding, chain),) = chain_findings(table)
    assert (finding.amount, len(chain.joints)) == (pytest.approx(1.0), 6)
    first = finding.candidates[0]
    assert isinstance(first, Remedy)
    assert first.text == f"Let {side} stand 1.0 mm farther out than drawn"
    assert {change.key: change.value for change in first.set} == {
        "as_cut[1].part": side, "as_cut[1].dimension": "place_across", "as_cut[1].deviation": pytest.approx(by)
    }  # fmt: skip
    assert check(changed(table, first.set)).findings == ()


BETWEEN_LONG_SIDES = ("S3", "S4", "R1", "R2", "R3", "R4")
"""All that is glued to both long sides."""


def test_all_that_reaches_from_side_to_side_sets_these_apart() -> None:
    """All six 1 mm longer: the table is 1 wider, and every joint closes. One of them less, and they are too long."""
    longer = [(label, "length", 1.0, None) for label in BETWEEN_LONG_SIDES]
    assert not [one for one in check(cut(QUILTING, *longer)).findings if one.severity != "note"]
    rules = {finding.rule for finding, _ in chain_findings(cut(QUILTING, *longer[:-1]))}
    assert rules == {"long-part", "long-rib"}


def test_what_stands_free_at_one_end_goes_along_with_what_it_is_put_up_to() -> None:
    """R4 stands 1 mm nearer to the middle: R9, R14 and R19 are longer, R8, R13 and R18 shorter. Corner blocks end at R4
    and are screwed to the segments; nothing holds them at their other end."""
    longer = [(label, "length", 1.0, None) for label in ("R9", "R14", "R19")]
    shorter = [(label, "length", -1.0, None) for label in ("R8", "R13", "R18")]
    found = chain_findings(cut(QUILTING, *longer, *shorter))
    assert {(finding.rule, finding.severity) for finding, _ in found} <= {("off-line", "note")}


def test_mitered_sides_that_stand_farther_out_close_on_longer_ones() -> None:
    """Long sides 1 mm longer at either end, and the short ones 1 farther out: corners at 45 degrees close again. With
    one short side where it is drawn, both of its corners are open by what the long ones lack."""
    table = replace(QUILTING, table=replace(QUILTING.table, corner_joint="mitered"))
    longer = [(label, "length", 1.0, end) for label in ("S1", "S2") for end in ("start", "end")]
    out = [("S3", "place_across", -1.0, None), ("S4", "place_across", 1.0, None)]
    corners = {frozenset((short, long)) for short in ("S3", "S4") for long in ("S1", "S2")}

    def at_corners(*offs: Off) -> list[tuple[str, float]]:
        found = chain_findings(cut(table, *offs))
        return [
            (finding.rule, finding.amount)
            for finding, _ in found
            if corners & {frozenset(place.parts) for place in finding.places}
        ]

    assert at_corners(*longer, *out) == []
    assert at_corners(out[0]) == [("short-part", pytest.approx(2.0))]


def test_a_rib_that_is_thicker_makes_every_row_longer() -> None:
    """1 mm more, half to either side: 1 too much in each of three rows, half a millimeter off six ends."""
    finding, chain = only_chain(cut(QUILTING, ("R3", "thickness", 1.0, None)))
    assert (finding.rule, finding.amount, len(finding.places)) == ("long-rib", pytest.approx(1.0), 6)
    assert trims(chain) == {(f"R{n}", "R3"): pytest.approx(0.5) for n in (7, 8, 12, 13, 17, 18)}


def test_sides_of_a_mitered_corner_add_up_in_it() -> None:
    table = replace(QUILTING, table=replace(QUILTING.table, corner_joint="mitered"))
    finding, _ = only_chain(cut(table, ("S3", "length", 2.0, "start"), ("S1", "length", 1.0, "start")))
    assert (finding.rule, finding.amount) == ("long-part", pytest.approx(3.0))
    assert finding.parts == ("S3", "S1")


def test_an_end_stop_that_is_too_long_pushes_the_segments_that_hold_it() -> None:
    finding, chain = only_chain(cut(QUILTING, ("STOP1", "length", 1.0, "start")))
    assert (finding.rule, finding.parts, finding.amount) == (
        "long-part",
        ("STOP1", "R11"),
        pytest.approx(1.0),
    )
    assert dict(way(chain, "low").shifts) == {"STOP1": pytest.approx(1.0), "R16": pytest.approx(1.0)}


def test_a_ledger_that_is_too_long_has_no_place_and_one_that_is_short_does_no_harm() -> None:
    """It is glued along its face; its ends only stand against the short sides."""
    finding, chain = only_chain(cut(QUILTING, ("LEDG1", "length", 1.0, "end")))
    assert (finding.rule, finding.parts, finding.amount) == ("long-part", ("LEDG1", "S4"), pytest.approx(1.0))
    assert trims(chain) == {("LEDG1", "S4"): pytest.approx(1.0)}
    assert chain_findings(cut(QUILTING, ("LEDG1", "length", -3.0, "end"))) == []


def test_how_far_a_part_may_shift_for_every_leaf_to_pass() -> None:
    """R2's windows leave 2 beside L3 and L4, of which 0.5 are asked for; R6's has one edge, at its end: toward R1 alone
    it may shift no more, and R1 itself stands 2 beside L1."""
    assert QUILTING.limits.min_clearance == 0.5
    prepared = prepare(build(cut(QUILTING, ("R2", "length", 1.0, "end"), ("R6", "length", 1.0, "end"))))
    bounds = {}
    for chain in chains_of(prepared.assembly):
        for number, room in free_shifts(prepared, chain, 5.0, 0.5).items():
            bounds[chain.labels[number], chain.axis] = room
    assert bounds["R2", 1] == pytest.approx((-1.5, 1.5), abs=1e-6)
    assert bounds["R6", 0] == pytest.approx((-1.5, 5.0), abs=1e-6)
    assert bounds["R1", 0] == pytest.approx((-5.0, 1.5), abs=1e-6)
    assert ("R7", 0) not in bounds


# -- every row and tier of both examples, by plain boxes
# ------------------------------------------------------------------------------------------------------------------


def lines(table: Table) -> list[list[str]]:
    """Labels of the ribs in line, and of strips and stops."""
    found: dict[tuple[int, float], list[str]] = {}
    for part in build(table).with_role("rib", "end_stop"):
        axis = int(np.abs(part.placement.axes[0]).argmax())
        found.setdefault((axis, round(float(part.box[0][1 - axis] + part.box[1][1 - axis]), 3)), []).append(
            part.label
        )
    return list(found.values())


EXAMPLE_LINES = [(name, line) for name in EXAMPLES for line in lines(EXAMPLES[name].table())]


@pytest.mark.parametrize(
    ("name", "line"), EXAMPLE_LINES, ids=lambda one: one if isinstance(one, str) else one[0]
)
def test_two_and_three_defects_in_every_row(name: str, line: list[str]) -> None:
    """Nothing is missed, every sum and every stopped leaf is that of plain boxes, and nothing else is reported."""
    table, random, tally = EXAMPLES[name].table(), Random(f"{name} {line}"), Tally()
    drawn = build(table)
    boxes = PlainTable(drawn)
    for _ in range(sampled(4, 40)):
        ends = [(label, end) for label in line for end in ("start", "end")]
        chosen = random.sample(ends, min(random.choice((2, 3)), len(ends)))
        offs = [Deviation(label, "length", random.uniform(-5, 5), end) for label, end in chosen]
        report = engine_check(
            build(cut(table, *[(one.part, one.dimension, one.by, one.end) for one in offs]))
        )
        judge(tally, str(offs), table, PlainTable(drawn, offs, like=boxes), report)
    assert tally.notes == []
    assert tally.faults > 0


# -- random tables
# ------------------------------------------------------------------------------------------------------------------

ALONG = [kind for kind in KINDS if isinstance(kind, AlongRow)]


NUMBER = sampled(24, 300)


@lru_cache
def case(index: int) -> tuple[Table, PlainTable]:
    """A random table with two or three defects along a row."""
    table, drawn = sound_table(f"chains/{index}")
    boxes, random = PlainTable(drawn), Random(str(index))
    kinds = ALONG[index % len(ALONG) :] + ALONG
    found = next(one for kind in kinds if (one := kind.inject(random, table, drawn, boxes)) is not None)
    return found.table, found.boxes


def facts_of(table: Table) -> tuple[Fact, ...]:
    return engine_check(build(table)).facts


def applied(table: Table, candidate: Candidate) -> tuple[Fact, ...] | None:
    """What the check finds with a candidate in the file; None where it cannot be built."""
    remedy = candidate if isinstance(candidate, Remedy) else candidate.of(candidate.need)
    try:
        return facts_of(changed(table, remedy.set))
    except DryAssemblyError:
        return None


@pytest.mark.parametrize("number", sampled(range(0, NUMBER, 3), range(NUMBER)))
def test_the_first_candidate_makes_its_finding_go_away_and_stops_no_leaf(number: int) -> None:
    """It goes together then, and of the sound table's leaves none is stopped in every way."""
    table, _ = case(number)
    before = {(one.rule, place.parts) for one in facts_of(table) for place in one.places}
    for finding, _ in chain_findings(table):
        if finding.severity == "note":
            assert finding.candidates == ()
            continue
        after = applied(table, finding.candidates[0])
        assert after is not None
        gone = {(finding.rule, place.parts) for place in finding.places}
        for other in after:
            if other.severity != "note":
                assert not gone & {(other.rule, place.parts) for place in other.places}
                assert {(other.rule, place.parts) for place in other.places} <= before


@pytest.mark.parametrize("number", range(0, NUMBER, 3))
def test_leaves_stopped_with_all_parts_shifted_at_once_are_those_of_plain_boxes(number: int) -> None:
    table, boxes = case(number)
    for _, chain in chain_findings(table):
        for one in chain.ways:
            along = np.eye(3)[chain.axis]
            shifts = {label: by * along for label, by in one.shifts}
            assert {stop.leaf for stop in one.stops} == boxes.stopped_by(shifts)


@pytest.mark.parametrize("number", range(NUMBER))
def test_the_least_to_take_off_a_built_table_is_that_of_a_linear_program(number: int) -> None:
    """All chains of the table at once (HiGHS): the least in all for everything to go together. What a finding says may
    be more only where a leaf would be stopped otherwise."""
    table, _ = case(number)
    expected = 0.0
    for one in chains_of(build(table)):
        count = len(one.links)
        cost = [0.0] * len(one.labels) + [1.0] * count
        expected += program(one, cost, [*free_but_ends(one), *[(0.0, None)] * count], np.eye(count).tolist())
    found = [chain for _, chain in chain_findings(table) if chain.excess > 1e-6]
    said = sum(off.amount for chain in found for off in chain.trims)
    assert said >= expected - 1e-5
    if not any(one.stops for chain in found for one in chain.ways):
        assert said == pytest.approx(expected, abs=1e-5)


@pytest.mark.parametrize("number", range(0, NUMBER, 3))
def test_trims_and_fills_leave_every_joint_closed(number: int) -> None:
    """By plain boxes: with the candidate's lengths no row is too long, and none short by more than the allowance."""
    table, _ = case(number)
    for finding, chain in chain_findings(table):
        for remedy in (one for one in finding.candidates[:1] if isinstance(one, Remedy)):
            mended = changed(table, remedy.set)
            again = [other for other, _ in chain_findings(mended) if other.severity == "error"]
            pairs = {frozenset(place.parts) for place in finding.places}
            assert not any(pairs & {frozenset(place.parts) for place in other.places} for other in again)
            assert all(one.amount > 0 for one in (*chain.trims, *chain.fills))


def test_a_leafs_own_result_is_as_placed() -> None:
    """Sums along rows say what comes of pressing; clearances of leaves are those of the parts where they are drawn."""
    assert [one.clearance for one in check(THREE_LONG).leaves] == [pytest.approx(1.5)] * 4


@pytest.mark.parametrize(("short", "said"), [(1.9, []), (2.1, ["short-part"])])
def test_a_strip_that_is_free_at_its_other_end_is_put_up_to_its_neighbor_where_it_is_a_little_short(
    short, said
):
    """A kicker stands against a side with one end (common practice, no source): 2 mm are made up for by moving it."""
    table = replace(
        SHIPPED["quilting"].table(), as_cut=(AsCut("KICK1", "length", deviation=-short, end="start"),)
    )
    assert [one.rule for one in check(table).findings] == said
