"""Faults planted in tables, each remedy offered applied to the text of the table file, and what comes of it.

A remedy that is offered has to hold when it is applied as it stands: the file is read anew, its finding is gone,
nothing as grave has come instead or grown, no smaller share of the same random tables works, and no leaf asks for more
of the hand.
"""

from __future__ import annotations

from collections.abc import Iterator
from random import Random

from addon.check.prepared import prepare
from addon.check.progress import run_through
from addon.check.row.openings import VERDICTS
from addon.designs.findings import Finding, Remedy, Report
from addon.designs.table.build import build
from addon.designs.table.design import TABLE, answer_steps
from addon.designs.table.parameters import Table
from addon.designs.trying import remedied
from addon.files.editing import set_values, update_text
from addon.files.table_file import parse_table
from addon.sizes.errors import DryAssemblyError
from addon.wood.reserved import Reserved
from plain_spaces import cable, tray

Changes = dict[str, object]

Fault = tuple[str, frozenset[str], str]
"""Kind, parts and leaf."""

GRADES = ("note", "warning", "error")

SEEN = 0.02
"""Amounts that differ by less are the same in any shop, mm."""

KINDS = {
    "leaf-tight": "way", "leaf-blocked": "way",
    "long-rib": "fit", "long-part": "fit", "overlap": "fit", "short-rib": "fit", "short-part": "fit",
    "finger-hole": "grip", "finger-reach": "grip", "finger-room": "grip",
}  # fmt: skip
"""Rules that are more and less of the same."""


def report_of(text: str, *, remedies: bool) -> Report:
    """The whole answer of a table file, with remedies that were tried or without."""
    table = parse_table(text)
    prepared = prepare(build(table))
    report = run_through(answer_steps(table, prepared))
    return remedied(TABLE, table, prepared, report) if remedies else report


def broken(text: str, report: Report) -> Iterator[str]:
    """What each remedy of a report promises and does not keep, applied to the text of the table file."""
    for finding in report.findings:
        if not finding.remedies and finding.rule != "off-line":
            yield f"{finding.rule} {'/'.join(finding.parts)} has no remedy"
        for remedy in finding.remedies:
            for complaint in _complaints(text, report, finding, remedy):
                yield f"{finding.rule} {'/'.join(finding.parts)}: {remedy.text}: {complaint}"


def _complaints(text: str, before: Report, finding: Finding, remedy: Remedy) -> Iterator[str]:
    if not remedy.set:
        return
    try:
        after = report_of(
            update_text(text, {change.key: change.value for change in remedy.set}), remedies=False
        )
    except DryAssemblyError as error:
        yield f"refused: {error}"
        return
    now, besides = _faults(after), _besides(before, finding)
    left = {
        fault
        for fault in _faults(before, finding)
        if fault in now and not _as_told(now[fault], finding, besides)
    }
    if finding.rule == "leaf-steer" and _steered(after) < _steered(before):
        left = set()  # some of its leaves guide themselves
    if left:
        yield f"still there: {sorted(map(str, left))}"
    yield from _worse(before, after, finding)


def _besides(report: Report, finding: Finding) -> list[tuple[int, str, float]]:
    """The worst of what other findings tell of leaves' ways, place by place."""
    others = [own for one in report.findings if one is not finding for own in _faults(report, one).items()]
    return [degree for (kind, _, _), degree in others if kind == "way"]


def _as_told(left: tuple[int, str, float], finding: Finding, besides: list[tuple[int, str, float]]) -> bool:
    """Whether what is left in a leaf's way is less grave than the finding, and no more than what others tell."""
    grade, rule, amount = left
    less = KINDS.get(rule) == "way" and grade < GRADES.index(finding.severity)
    return less and any(
        grade < one or (rule == name and amount <= most + SEEN) for one, name, most in besides
    )


def _steered(report: Report) -> set[str]:
    """Leaves that have to be steered."""
    return {place.leaf for one in report.findings if one.rule == "leaf-steer" for place in one.places}


def _worse(before: Report, after: Report, finding: Finding) -> Iterator[str]:
    was, now = _faults(before), _faults(after)
    least = min(GRADES.index(finding.severity), GRADES.index("warning"))
    blocked = before.verdict == "blocked"
    for fault, (grade, rule, amount) in now.items():
        if blocked and rule in ("few-work", "few-guide", "leaf-steer"):
            continue  # of a table that is blocked these are not told
        old = was.get(fault)
        if grade >= least and (old is None or grade > old[0]):
            yield f"now {rule} {fault}"
        elif old is not None and grade == old[0] >= least and rule == old[1] and amount > old[2] + SEEN:
            yield f"{rule} {fault} has grown from {old[2]:.3g} to {amount:.3g}"
    shop, shop_after = before.answers.table.in_shop, after.answers.table.in_shop
    if shop is not None and shop_after is not None and shop.share.of == shop_after.share.of:
        lost = shop.share.count - shop_after.share.count
        yield from [f"{lost} tables of {shop.share.of} work no more"] if lost > 0 else []
    for leaf, one in after.answers.leaves.items():
        old_hand, hand = before.answers.leaves[leaf].by_hand, one.by_hand
        if VERDICTS.index(hand.verdict) > VERDICTS.index(old_hand.verdict):
            yield f"{leaf} {hand.verdict}, not {old_hand.verdict}"
        steered = hand.verdict == old_hand.verdict == "needs-steering"
        if steered and (hand.steer or 0.0) < (old_hand.steer or 0.0) - SEEN:
            yield f"{leaf} has to be led to {hand.steer} mm, not {old_hand.steer} mm"


def _lasting(label: str) -> str:
    """A label by which a part is known again: strips are counted anew where one comes or goes."""
    kind = label.rstrip("0123456789")
    return kind if kind in ("RUN", "KICK", "GUIDE") else label


def _faults(
    report: Report, only: Finding | None = None
) -> dict[tuple[str, frozenset[str], str], tuple[int, str, float]]:
    """Kind, parts and leaf of each place → the worst grade, rule and amount there."""
    found: dict[tuple[str, frozenset[str], str], tuple[int, str, float]] = {}
    for finding in (only,) if only is not None else report.findings:
        for place in finding.places:
            rule = place.rule or finding.rule
            kind = KINDS.get(rule, rule)
            leaf = "" if kind == "fit" else place.leaf
            parts = frozenset({leaf}) if kind == "grip" else frozenset(map(_lasting, place.parts))
            if rule.startswith("few-") or rule == "leaf-steer":
                parts, leaf = frozenset(), ""
            degree = (
                GRADES.index(finding.severity),
                rule,
                -place.amount if rule == "leaf-tight" else place.amount,
            )
            found[kind, parts, leaf] = max(found.get((kind, parts, leaf), degree), degree)
    return found


# -- faults to plant
# --------------------------------------------------------------------------------------------------------------------

PLANNED: tuple[Changes, ...] = (
    {"stowing.clearance_above": 0.1, "stowing.clearance_below": 0.1},
    {"stowing.side_clearance": 0.3},
    {"leaves.lead_chamfer": 0.0},
    {"leaves.finger_hole": 0.0},
    {"stowing.set_back": 45.0},
    {"stowing.set_back": -3.0},
    {"legs.fitted": True, "legs.width": 300.0},
    {"sides.wood_above_slots": 3.1},
    {"stowing.stop_gap": 40.0},
    {
        "reserved[0].name": "wall",
        "reserved[0].form": "wall",
        "reserved[0].side": "left",
        "reserved[0].distance": 200.0,
    },
)
"""Sizes that do not fit, for any table."""

ROLES = {
    "rib": (("length", 2.0), ("length", -2.0), ("width", -4.0), ("thickness", 1.0)),
    "side": (("length", 5.0), ("width", -2.0)),
    "leaf": (("thickness", 2.0), ("width", 6.0), ("length", -6.0)),
    "bottom": (("width", -6.0),),
    "ledger": (("width", 2.0),),
    "leg": (("length", 3.0),),
}
"""Dimensions of parts cut otherwise, by role, mm."""


def planted(random: Random, table: Table, number: int) -> Changes:
    """So many faults for a table, one of them perhaps in its plan, the others in parts that were cut."""
    changes: Changes = dict(random.choice(PLANNED)) if random.random() < 0.4 else {}
    drawn = build(table)
    if not changes and random.random() < 0.3:
        entry = random.choice((tray, cable))(random, table, drawn)
        changes = {} if entry is None else space_changes(entry)
    parts = [part for part in drawn.parts if part.role.word in ROLES]
    entries = random.sample(parts, min(number - bool(changes), len(parts)))
    for index, part in enumerate(entries):
        dimension, deviation = random.choice(ROLES[part.role.word])
        start = f"as_cut[{len(table.as_cut) + index}]"
        changes |= {
            f"{start}.part": part.label,
            f"{start}.dimension": dimension,
            f"{start}.deviation": deviation,
        }
    return changes


def space_changes(entry: Reserved) -> Changes:
    """Changes that reserve a space in a table that has none."""
    given = {name: value for name, value in vars(entry).items() if value is not None}
    return {
        f"reserved[0].{name}": list(value) if isinstance(value, tuple) else value
        for name, value in given.items()
    }


def planted_table(table: Table, changes: Changes) -> Table | None:
    """The table with faults; None where it cannot be built."""
    try:
        faulty = set_values(table, changes)
        build(faulty)
    except DryAssemblyError:
        return None
    return faulty
