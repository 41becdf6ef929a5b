"""The defect bench: ``python3 scripts/defect_bench.py [--tables N] [--seed S] [--json]``.

Draws sound tables at random, checks each, then checks it again with one defect put in, or several. What the check says
is held against the reckoning with plain boxes: every fault must be found with its amount, and nothing else may be
reported.
Exits with 1 if a fault was missed or a false alarm raised.
"""

from __future__ import annotations

import environment

if __name__ == "__main__":
    environment.enter("light")

import argparse
import json
import sys
from collections import defaultdict
from dataclasses import asdict, dataclass, field, replace
from random import Random
from typing import TYPE_CHECKING

import plain_rows
from addon.check.as_built.moves import CutOtherwise
from addon.check.causes import ChainOff
from addon.check.check import check as engine_check
from addon.designs.table.build import build
from addon.files.writer import new_table_text
from addon.sizes.errors import DryAssemblyError
from defects import KINDS as OF_PARTS
from plain_boxes import SLIVER, PlainTable
from plain_cuts import cuts_that_meet, round_ends, thin_wood
from plain_fit import PlainFit
from plain_rows import row_faults
from plain_spaces import SPACES, space_faults
from planted import broken, planted, planted_table, report_of
from random_tables import sound_tables

if TYPE_CHECKING:
    from addon.check.as_built.moves import Effect, Kind
    from addon.check.facts import CheckResult, Fact, Rule
    from addon.designs.table.parameters import Table
    from addon.wood.assembly import Assembly
    from plain_rows import RowFaults

KINDS = (*OF_PARTS, *SPACES)
SOUND = "sound tables"
EQUAL = 1e-5
"""Amounts that differ by more are different, mm."""
PUT_UP = 2.0
"""How much too short a strip may be that is free at its other end, mm."""

Fault = tuple[str, frozenset[str], str]
"""What is wrong (``overlap``, ``blocked``, ``tight``, ``open``, ``stop``), the boards concerned, the leaf or "". """


@dataclass
class Tally:
    """How one kind of defect went."""

    tables: int = 0
    faults: int = 0
    found: int = 0
    missed: int = 0
    false_alarms: int = 0
    refused: int = 0
    """Tables that could not be built with the defect, with a sentence that says why."""
    notes: list[str] = field(default_factory=list)
    """Each miss and each false alarm in words."""


def check(table: Table, assembly: Assembly | None = None) -> CheckResult:
    """All that the check finds of a table, before the design brings together what has one cause."""
    return engine_check(assembly or build(table))


def expected_faults(table: Table, boxes: PlainTable, rows: RowFaults) -> dict[Fault, float]:
    """All faults of a table by plain boxes, with their amounts in mm."""
    faults: dict[Fault, float] = {
        ("overlap", pair, ""): depth
        for pair, depth in boxes.overlaps().items()
        if pair in rows.long or pair not in rows.even
    }
    least = table.limits.min_clearance
    for path in boxes.assembly.stow_paths:
        leaf = path.leaf
        for other, gap in boxes.gaps(leaf).items():
            if gap < least - EQUAL:
                faults["blocked" if gap < -SLIVER else "tight", frozenset((leaf, other)), leaf] = abs(gap)
        ahead, stop = boxes.ahead(leaf)
        if ahead > table.limits.end_gap + EQUAL:
            faults["stop", frozenset((leaf,)), leaf] = ahead
        elif ahead < -SLIVER and stop == path.end_stop:
            faults["stop", frozenset((leaf, stop)), leaf] = -ahead
    faults |= {("open", pair, ""): gap for pair, gap in rows.open.items() if not _put_up(pair, gap, boxes)}
    faults |= PlainFit(boxes).faults(table)
    faults |= cuts_that_meet(boxes)
    faults |= round_ends(boxes)
    faults |= space_faults(table, boxes)
    faults |= dict.fromkeys(thin_wood(boxes, table.limits.least_wood)[0], 0.0)
    return {fault: amount for fault, amount in faults.items() if not _doubtful(fault, boxes, rows)}


def _put_up(pair: frozenset[str], gap: float, boxes: PlainTable) -> bool:
    """Whether a strip that is free at its other end is so little short that it is just put up to its neighbor."""
    return gap <= PUT_UP + EQUAL and any(boxes.boards[one].part.role.word == "kicker" for one in pair)


def _doubtful(fault: Fault, boxes: PlainTable, rows: RowFaults) -> bool:
    """Whether plain sums do not decide about it; a corner that jams in a round end may be all that overlaps there."""
    kind, labels, _ = fault
    if kind == "thin-wood":
        least = boxes.assembly.limits.least_wood
        surely, perhaps = thin_wood(boxes, least)
        return fault in perhaps and fault not in surely
    if kind == "overlap" and ("round-end", labels, "") in round_ends(boxes):
        return True
    return kind in ("overlap", "open") and labels in rows.doubtful


RULES = {
    "overlap": "overlap",
    "long-rib": "overlap",
    "long-part": "overlap",
    "leaf-blocked": "blocked",
    "leaf-tight": "tight",
    "short-rib": "open",
    "short-part": "open",
    "no-end-stop": "stop",
    "end-stop-near": "stop",
}
"""Rule of a fact → kind of fault."""

OF_HANDS: frozenset[Rule] = frozenset({"finger-hole", "finger-reach", "finger-room"})
"""Rules about hands, which plain boxes know nothing of."""


OF_BOARDS: frozenset[Rule] = frozenset({"cuts-meet", "round-end", "thin-wood"})
"""Rules about what is cut out of a board, which name all boards in one fact."""


def reported_faults(report: CheckResult, boxes: PlainTable) -> dict[Fault, Fact]:
    """All facts that are more than a note, as faults."""
    faults: dict[Fault, Fact] = {}
    for fact in report.facts:
        if fact.rule in OF_HANDS:
            continue
        if isinstance(fact.cause, CutOtherwise):
            for effect in fact.cause.effects:
                faults[fault_of_effect(effect, boxes)] = replace(fact, amount=effect.amount)
        elif fact.rule in OF_BOARDS:
            for place in fact.places:
                fault = fact.rule, frozenset(place.parts), ""
                if fault not in faults or faults[fault].amount < place.amount:
                    faults[fault] = replace(fact, amount=place.amount)
        elif fact.severity != "note" and isinstance(fact.cause, ChainOff):
            for joint in fact.cause.joints:
                fault = RULES.get(fact.rule, fact.rule), frozenset((joint.part, joint.neighbor)), ""
                faults[fault] = replace(fact, amount=abs(joint.off))
        elif fact.severity != "note":
            kind = RULES.get(fact.rule, fact.rule)
            leaf = fact.leaf if kind in ("blocked", "tight", "stop") else ""
            faults[kind, frozenset(fact.parts), leaf] = fact
    return faults


KINDS_OF_EFFECTS: dict[Kind, str] = {
    "proud": "flush", "low": "flush", "open": "open", "loose": "loose", "thin bearing": "bearing",
    "falls out": "bearing", "rocks": "rock", "cover proud": "step", "cover low": "step", "cover gap": "room",
    "cover full": "full",
}  # fmt: skip
"""What a part cut otherwise leaves behind → kind of fault."""


def fault_of_effect(effect: Effect, boxes: PlainTable) -> Fault:
    """One thing that a part cut otherwise leaves behind, as plain boxes name it."""
    kind = KINDS_OF_EFFECTS[effect.kind]
    if kind == "rock":
        return kind, frozenset(), ""
    if kind == "flush":
        return kind, frozenset(effect.between), _side_of_table(effect, boxes)
    if kind in ("room", "full"):
        lengthwise = abs(boxes.assembly.cover[effect.between[0]].axes[0][effect.axis]) > 0.5
        return kind, frozenset(effect.between[:1] if lengthwise else ()), "ends" if lengthwise else "row"
    return kind, frozenset(effect.between), ""


def _side_of_table(effect: Effect, boxes: PlainTable) -> str:
    """Toward which side of the table the edge looks that is not flush: ``z+`` is an upper edge."""
    assert effect.face is not None
    sign = 1 if effect.face in ("end", "upper edge", "back") else -1
    own = {"start": 0, "end": 0, "lower edge": 1, "upper edge": 1}.get(effect.face, 2)
    toward = sign * boxes.boards[effect.parts[0]].part.placement.axes[own][effect.axis]
    return f"{'xyz'[effect.axis]}{'+' if toward > 0 else '-'}"


def judge(tally: Tally, what: str, table: Table, boxes: PlainTable, report: CheckResult) -> None:
    """Hold one report against the plain boxes."""
    rows = row_faults(boxes, table.limits.fit_allowance)
    expected, reported = expected_faults(table, boxes, rows), reported_faults(report, boxes)
    complaints = []
    for fault, amount in expected.items():
        fact = reported.get(fault)
        if fact is None:
            complaints.append(f"{fault[0]} {'/'.join(sorted(fault[1]))} of {amount:.4g} mm not found")
        elif _comparable(fault, boxes) and abs(fact.amount - amount) > EQUAL:
            complaints.append(f"{fact.rule} {'/'.join(fact.parts)} is {amount:.6g} mm, not {fact.amount:.6g}")
    complaints += _wrong_sums(boxes, rows, report)
    alarms = [
        fact
        for fault, fact in reported.items()
        if fault not in expected and not _doubtful(fault, boxes, rows)
    ]
    faulty = bool(expected)
    tally.faults += faulty
    tally.found += faulty and not complaints
    tally.missed += faulty and bool(complaints)
    tally.false_alarms += len(alarms)
    tally.notes += [f"{what}: {complaint}" for complaint in complaints]
    tally.notes += [
        f"{what}: false alarm: {alarm.rule} {'/'.join(alarm.parts)} of {alarm.amount:.6g} mm"
        for alarm in alarms
    ]


def _comparable(fault: Fault, boxes: PlainTable) -> bool:
    """Whether plain boxes tell the amount of a fault, and not only that it is there."""
    kind, pair, leaf = fault
    if kind == "blocked":
        return all(boxes.exact(leaf, other) for other in pair - {leaf})
    return kind not in ("overlap", "thin-wood", "space-taken")


def _wrong_sums(boxes: PlainTable, rows: RowFaults, report: CheckResult) -> list[str]:
    """What facts about rows that are too long say otherwise than plain sums: how much, and which leaves stop."""
    complaints = []
    for fact in report.facts:
        chain = fact.cause
        if not isinstance(chain, ChainOff) or chain.excess <= EQUAL:
            continue
        row = next(row for row in plain_rows.rows(boxes) if row.axis == chain.axis)
        pairs = [frozenset((joint.part, joint.neighbor)) for joint in chain.joints]
        most = max(rows.long.get(pair, 0.0) for pair in pairs)
        if abs(most - fact.amount) > EQUAL:
            complaints.append(f"{'/'.join(fact.parts)} adds up to {most:.6g} mm, not {fact.amount:.6g}")
        about = set().union(*(row.around(label) for pair in pairs for label in pair))
        for way, up in (("low", True), ("high", False)):
            shifts = {label: by for label, by in row.shifts(up=up).items() if label in about}
            (said,) = ({stop.leaf for stop in one.stops} for one in chain.ways if one.way == way)
            if said != boxes.stopped_by(shifts):
                complaints.append(f"{'/'.join(fact.parts)} pressed {way} stops {sorted(said)}")
    return complaints


def bench(tables: int, seed: int = 0) -> dict[str, Tally]:
    """Tallies by kind of defect; whichever kind came up least so far is next."""
    tallies: dict[str, Tally] = defaultdict(Tally)
    for index, (table, drawn) in enumerate(sound_tables(tables, seed)):
        boxes = PlainTable(drawn)
        tallies[SOUND].tables += 1
        judge(tallies[SOUND], f"table {seed}/{index}", table, boxes, check(table, drawn))
        random = Random(f"{seed}/{index}/defect")
        turn = sorted(KINDS, key=lambda kind: tallies[kind.name].tables)
        case = next(case for kind in turn if (case := kind.inject(random, table, drawn, boxes)) is not None)
        tally = tallies[case.kind]
        tally.tables += 1
        what = f"table {seed}/{index}, {case.deviations or case.kind}"
        try:
            report = check(case.table)
        except DryAssemblyError:
            tally.refused += 1
            continue
        judge(tally, what, case.table, case.boxes, report)
    return dict(tallies)


def as_text(tallies: dict[str, Tally]) -> str:
    """The tallies as a table, and below it every miss and false alarm."""
    head = ("kind", "tables", "faulty", "found", "missed", "false alarms", "refused")
    names = [SOUND, *(kind.name for kind in KINDS)]
    rows = [
        (name, one.tables, one.faults, one.found, one.missed, one.false_alarms, one.refused)
        for name in names
        if (one := tallies.get(name)) is not None
    ]
    total = ("all", *(sum(row[k] for row in rows) for k in range(1, 7)))  # type: ignore[misc]
    lines = [f"{row[0]:26}" + "".join(f"{cell:>14}" for cell in row[1:]) for row in (head, *rows, total)]
    return "\n".join([*lines, *(note for one in tallies.values() for note in one.notes)])


def remedy_bench(tables: int, seed: int) -> int:
    """Apply each remedy of faults planted in random tables; what does not hold is printed. Exit status."""
    built = offered = broken_ones = 0
    for index, (table, _) in enumerate(sound_tables(tables, seed)):
        random = Random(f"{seed}/{index}/remedies")
        faulty = planted_table(table, planted(random, table, 2 + index % 2))
        if faulty is None:
            continue
        text = new_table_text(faulty)
        report = report_of(text, remedies=True)
        complaints = list(broken(text, report))
        built += 1
        offered += sum(bool(remedy.set) for one in report.findings for remedy in one.remedies)
        broken_ones += len(complaints)
        for complaint in complaints:
            print(f"table {seed}/{index}: {complaint}", flush=True)
    print(f"{'remedies':26}{built:14} tables{offered:14} applied{broken_ones:14} broken")
    return int(broken_ones > 0)


def main() -> int:
    """Run the bench; exit status."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--tables", type=int, default=2000, metavar="N", help="sound tables to draw (2000)")
    parser.add_argument("--seed", type=int, default=0, metavar="S", help="another seed, other tables (0)")
    parser.add_argument(
        "--remedies",
        type=int,
        default=0,
        metavar="N",
        help="apply every remedy of two or three faults at once to the files of so many tables instead (0)",
    )
    parser.add_argument("--json", action="store_true", help="one JSON document on standard output")
    options = parser.parse_args()
    if options.remedies:
        return remedy_bench(options.remedies, options.seed)
    tallies = bench(options.tables, options.seed)
    if options.json:
        kinds = {name: asdict(tally) for name, tally in tallies.items()}
        print(json.dumps({"tables": options.tables, "seed": options.seed, "kinds": kinds}, indent=1))
    else:
        print(as_text(tallies))
    return int(any(tally.missed or tally.false_alarms for tally in tallies.values()))


if __name__ == "__main__":
    sys.exit(main())
