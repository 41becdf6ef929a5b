"""Two and three faults at once: every remedy that is offered holds when it is applied to the table file as it stands.

What holds is written out in `planted`, apart from the program: the finding gone, nothing as grave instead, the share of
tables that work no lower by the same random numbers, hands no steadier. Faults are picked by hand for both examples and
at random for random tables.
"""

from __future__ import annotations

from random import Random

import pytest

from addon.files.editing import update_text
from addon.files.examples import EXAMPLES
from addon.files.writer import new_table_text
from planted import Changes, broken, planted, planted_table, report_of
from random_tables import sound_table
from tests.large import sampled

pytestmark = pytest.mark.once


def cut(*entries: tuple[str, str, float, str | None]) -> Changes:
    """Part, dimension, deviation and end of `as_cut` entries."""
    found: Changes = {}
    for index, (part, dimension, deviation, end) in enumerate(entries):
        named = {"part": part, "dimension": dimension, "deviation": deviation, "end": end}
        found |= {f"as_cut[{index}].{key}": value for key, value in named.items() if value is not None}
    return found


def reserved(number: int, **values: object) -> Changes:
    return {f"reserved[{number}].{name}": value for name, value in values.items()}


CABLE = reserved(0, name="lamp cable", form="cable", x=[-762, -762], y=[-400, 0], z=[660, 660])
WALL = reserved(1, name="wall", form="wall", side="left", distance=500.0)
TRAY = reserved(0, name="pin tray", x=[-60, 60], y=[-300, -200], z=[600, 655])
"""In the way of L4."""
ACROSS: Changes = {
    "own_part[0].name": "divider", "own_part[0].length": 120.0, "own_part[0].width": 28.0,
    "own_part[0].width_along": "+z", "own_part[0].x": 60.0, "own_part[0].y": 250.0, "own_part[0].z": 672.5,
    "own_part[0].joined_to": "B1",
}  # fmt: skip
"""A board of the maker's own that rib R3, at x 130 to 148, runs across."""

PAIRS: list[tuple[str, Changes, set[str]]] = [
    # example, faults, rules that have to be found
    ("quilting", {"leaves.lead_chamfer": 0.0, "leaves.finger_hole": 0.0}, {"finger-hole"}),
    ("quilting", cut(("R2", "length", 4.0, "end"), ("R3", "width", -6.0, None)), {"long-rib", "leaf-blocked"}),
    ("quilting", cut(("L3", "thickness", 3.0, None), ("LEDG1", "width", 3.0, None)), {"cover-step"}),
    ("quilting", {"stowing.clearance_above": 0.1, **cut(("LEG3", "length", 3.0, "start"))},
     {"leaf-tight", "table-rocks"}),
    ("quilting", cut(("R6", "length", 1.5, "end"), ("R7", "length", 1.5, "end"), ("B1", "width", -6.0, None)),
     {"long-rib", "part-free"}),
    ("seed-bench", cut(("L1", "thickness", 2.0, None), ("R5", "length", 2.0, "end")), {"long-rib", "leaf-tight"}),
    ("quilting", {**TRAY, **cut(("R3", "length", 4.0, "end"))}, {"space-crossed", "long-rib"}),
    # A cable before the slot of L4, which enters from the left, and a wall too near for it.
    ("quilting", {**CABLE, **WALL}, {"space-crossed"}),
    ("quilting", ACROSS, {"overlap"}),
    ("seed-bench", {"stowing.side_clearance": 0.5, **cut(("S1", "length", 20.0, "end"))}, {"leaf-tight", "part-proud"}),
]  # fmt: skip


@pytest.mark.parametrize(
    ("example", "changes", "rules"),
    sampled(PAIRS[1::3], PAIRS),
    ids=lambda one: one if isinstance(one, str) else "",
)
def test_remedies_of_faults_at_once_hold_in_the_file(example: str, changes: Changes, rules: set[str]) -> None:
    text = update_text(EXAMPLES[example].text(), changes)
    report = report_of(text, remedies=True)
    assert rules <= {place.rule or finding.rule for finding in report.findings for place in finding.places}
    assert list(broken(text, report)) == []
    assert any(remedy.set for finding in report.findings for remedy in finding.remedies)


@pytest.mark.parametrize("index", range(sampled(2, 40)))
def test_remedies_of_faults_at_once_hold_on_random_tables(index: int) -> None:
    table, _ = sound_table(f"planted/{index}")
    random = Random(f"planted/{index}")
    faulty = next(
        one
        for _ in range(20)
        if (one := planted_table(table, planted(random, table, 2 + index % 2))) is not None
    )
    text = new_table_text(faulty)
    assert list(broken(text, report_of(text, remedies=True))) == []


@pytest.mark.parametrize(
    ("changes", "key", "least", "most"),
    [
        # A hand of 10 mm and windows chamfered by 6 mm ask for a nose as blunt as the windows' chamfers at most.
        ({"leaves.lead_chamfer": 0.0}, "leaves.lead_chamfer", 3.0, 6.5),
    ],
)
def test_steering_gets_a_remedy_in_the_check(changes: Changes, key: str, least: float, most: float) -> None:
    """What `slide` knows the check offers too, large enough for the share that is asked for."""
    text = update_text(EXAMPLES["quilting"].text(), changes)
    report = report_of(text, remedies=True)
    (steer,) = [one for one in report.findings if one.rule == "leaf-steer"]
    assert steer.remedy is not None
    (change,) = steer.remedy.set
    assert change.key == key
    assert isinstance(change.value, float)
    assert least <= change.value <= most
    after = report_of(update_text(text, {change.key: change.value}), remedies=False)
    assert after.findings == ()
    assert after.answers.table.by_hand.verdict == "guides-itself"
    guides = after.answers.table.by_hand.guides
    assert guides is not None
    assert guides.value >= 0.99


WORKED: list[tuple[str, Changes, int]] = [
    # example, faults, first remedies that mend them all: one for each fault, and one where steering is told only then
    ("quilting", {"stowing.clearance_above": 0.1, "stowing.clearance_below": 0.1,
                  **cut(("R6", "width", -4.0, None))}, 2),
    ("quilting", {"legs.width": 330.0, **cut(("L1", "thickness", 3.5, None))}, 3),
    ("quilting", {"leaves.finger_hole": 0.0, **cut(("L2", "width", 6.0, None), ("B1", "width", -6.0, None))}, 3),
    ("quilting", {"legs.width": 300.0, **cut(("S3", "length", -3.0, "start"))}, 2),
    ("quilting", {"stowing.end_stops": False, **cut(("R9", "length", -2.0, "end"), ("R10", "length", -2.0, "end"))}, 3),
    ("quilting", {"bottom.groove_bit": 12.0, **cut(("S1", "groove_depth", -2.0, None))}, 2),
    ("seed-bench", {"stowing.clearance_above": 0.1, **cut(("L1", "width", 3.0, None))}, 3),
    ("seed-bench", {"legs.width": 300.0, "leaves.finger_hole": 0.0}, 3),
    # Two feet across from each other: another one hangs free.
    ("quilting", cut(("LEG4", "length", 3.0, None), ("LEG6", "length", 3.0, None)), 2),
    ("quilting", {"table.width": 900.0}, 3),  # fingers, legs, and then how surely leaves are guided
]  # fmt: skip


@pytest.mark.parametrize(
    ("example", "changes", "most"),
    sampled([WORKED[0], WORKED[6], WORKED[8]], WORKED),
    ids=lambda one: one if isinstance(one, str) else "",
)
def test_the_first_remedy_each_time_mends_all(example: str, changes: Changes, most: int) -> None:
    """As a maker works: what is gravest first, its first remedy, and look again; never round in a circle."""
    text = update_text(EXAMPLES[example].text(), changes)
    seen = []
    for _ in range(most + 1):
        report = report_of(text, remedies=True)
        if not report.findings:
            break
        seen.append(text)
        for finding in report.findings:
            assert any(remedy.set for remedy in finding.remedies), finding.message
        first = report.findings[0].remedies[0]
        text = update_text(text, {change.key: change.value for change in first.set})
        assert text not in seen
    assert report.findings == ()
    assert len(seen) <= most
    assert report.verdict == "clear"
