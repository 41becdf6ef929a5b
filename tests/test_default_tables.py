"""The shipped tables and the default one are worth building: clear, sound in the shop, and they guide their leaves."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from addon.check.prepared import prepare
from addon.check.progress import run_through
from addon.designs.findings import Report
from addon.designs.table import build
from addon.designs.table.design import answer_steps
from addon.designs.table.figures import room_below
from addon.designs.table.parameters import Table
from addon.files.editing import set_values
from addon.files.examples import EXAMPLES
from addon.files.table_file import parse_table, read_table
from addon.files.writer import new_table_text
from tests.large import sampled

ROOT = Path(__file__).resolve().parent.parent
TEXTS = "".join(
    (ROOT / name).read_text(encoding="utf-8") for name in ("README.md", "addon/reference/command-line.md")
)


def answered(table: Table) -> Report:
    return run_through(answer_steps(table, prepare(build(table))))


def is_worth_building(table: Table) -> None:
    """Clear, no more than a note said of it, at least 99 % of tables work and guide their leaves, hand at ±10 mm."""
    report = answered(table)
    told = report.answers.table
    assert [one.rule for one in report.findings if one.severity != "note"] == []
    assert told.as_drawn.verdict == "clear"
    assert told.by_hand.verdict == "guides-itself"
    assert told.in_shop is not None
    assert told.by_hand.guides is not None
    assert min(told.in_shop.share.value, told.by_hand.guides.value) >= 0.99
    assert all(one.by_hand.verdict == "guides-itself" for one in report.answers.leaves.values())


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_shipped_tables_are_worth_building(name: str) -> None:
    table = EXAMPLES[name].table()
    assert table.limits.hand == pytest.approx(10.0 if table.units == "mm" else 3 / 8 * 25.4)
    assert table.limits.share == 0.99
    is_worth_building(table)
    assert answered(table).findings == ()


def test_variants_that_the_texts_compare_are_worth_building() -> None:
    variants = re.findall(r"--variant (?:\"Deep\s+well: )?([^`\]\"]+)", TEXTS)
    assert [one.strip() for one in variants] == [
        "well.depth=60 [--image variants.pdf",
        "well.depth=60, legs.width=55",
    ]
    for values in ({"well.depth": 60.0}, {"well.depth": 60.0, "legs.width": 55.0}):
        is_worth_building(set_values(EXAMPLES["quilting"].table(), values))


EVERY_COUNT = [(units, count) for count in range(2, 9) for units in ("mm", "in")]


@pytest.mark.parametrize(("units", "count"), sampled(EVERY_COUNT[:-4:2] + EVERY_COUNT[1:8:2], EVERY_COUNT))
def test_a_table_that_says_nothing_of_itself_is_worth_building(units: str, count: int) -> None:
    """Whatever number of leaves it has: their positions are chosen."""
    is_worth_building(parse_table(f'format = 4\nunits = "{units}"\n[leaves]\ncount = {count}'))


def sized(units: str, sizes: tuple[int, int, int], sheet: float, count: int) -> str:
    """A table file of the sizes that come to mind: outside, the boards' sheet as it is sold, leaves."""
    board = "18 mm birch plywood" if units == "mm" else "3/4 in birch plywood"
    panel, thin = ("12 mm birch plywood", 12) if units == "mm" else ("1/2 in birch plywood", 0.5)
    outside = "\n".join(
        f"{name} = {size}" for name, size in zip(("length", "width", "height"), sizes, strict=True)
    )
    sheets = "\n".join(
        f'[[stock]]\nname = "{name}"\nnominal = {size}\nmeasured = {size}'
        for name, size in ((board, sheet), (panel, thin))
    )
    return f'format = 4\nunits = "{units}"\n[table]\n{outside}\n[leaves]\ncount = {count}\n{sheets}\n'


FIRST_SIZES = [
    (units, sizes, sheet, count)
    for units, tables, sheets in (
        ("mm", ((1200, 800, 750), (1500, 900, 770), (1800, 900, 900)), (18, 15)),
        ("in", ((48, 30, 30), (60, 36, 36)), (0.75,)),
    )
    for sizes in tables
    for sheet in sheets
    for count in (3, 4, 5, 6)
]

SAID: dict[tuple[int, int], tuple[str, ...]] = {
    (1800, 3): ("leaf-steer",),
    (1800, 5): ("few-guide",),
    (1500, 4): ("few-guide",),
    (60, 4): ("few-guide",),
}
"""(Length, leaves) → what is said of tables whose lanes leave too little room before the outer ribs."""


@pytest.mark.parametrize("case", sampled(FIRST_SIZES[::7], FIRST_SIZES), ids=str)
def test_the_first_sizes_that_come_to_mind_are_sound_or_say_one_thing(
    case: tuple[str, tuple[int, int, int], float, int],
) -> None:
    """They go together, cover, go in and come out; where leaves have to be steered, that is the one thing said."""
    report = answered(parse_table(sized(*case)))
    told = report.answers.table
    assert told.as_drawn.verdict == "clear"
    assert told.in_shop is not None
    assert told.in_shop.share.value >= 0.99
    _, (length, *_), _, count = case
    assert {one.rule for one in report.findings} <= set(SAID.get((length, count), ()))


def test_knee_clearance_of_the_quilting_table() -> None:
    """By hand: it was 626.1 with 8 mm of wood above the slots; 6 are enough below a groove, so that 2 are won."""
    assert room_below(build(EXAMPLES["quilting"].table())) == pytest.approx(628.1)


def test_both_kinds_of_upper_windows_can_be_built_and_closed_ones_cost_six_millimeters() -> None:
    """A strip of rib above a window longer than 120 mm keeps 12 mm of wood; wood below a groove keeps 6."""
    quilting = EXAMPLES["quilting"].table()
    closed = set_values(quilting, {"ribs.upper_windows": "closed", "sides.wood_above_slots": 12.0})
    is_worth_building(closed)
    assert room_below(build(quilting)) - room_below(build(closed)) == pytest.approx(6.0)
    assert not [part for part in build(closed).parts if any(o.open_above for o in part.shape.openings)]


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_shipped_files_write_all_values_out(name: str) -> None:
    """What a file leaves out changes with the defaults; these say everything but what may be left out for good."""
    written = set(re.findall(r"^(\w+) = ", EXAMPLES[name].text(), re.MULTILINE))
    plain = set(re.findall(r"^(\w+) = ", new_table_text(EXAMPLES[name].table()), re.MULTILINE))
    assert plain <= written
    assert {
        "upper_windows",
        "stand_off",
        "lead_chamfer",
        "guides",
        "window_chamfer",
        "wood_above_slots",
    } <= written


def test_the_hemming_table_still_shows_fingers_in_the_way() -> None:
    """One leaf lies right below the other one's finger hole: that is what the example is for."""
    report = answered(read_table(ROOT / "addon" / "examples" / "hemming-table.toml"))
    assert report.answers.table.as_drawn.verdict == "clear"
    assert [(one.rule, one.parts) for one in report.findings] == [("finger-room", ("L1", "L2"))]


def test_the_hemming_table_has_a_board_of_its_makers_own_that_nothing_meets() -> None:
    """A hook board inside the left side, whose inner face is at x -482.3, between leg and rib segment R3."""
    assembly = build(read_table(ROOT / "addon" / "examples" / "hemming-table.toml"))
    (board,) = [part for part in assembly.parts if part.given]
    assert (board.label, board.name) == ("HB1", "hook board")
    assert board.box[0] == pytest.approx([-482.3, -250.0, 590.0])
    assert board.box[1] == pytest.approx([-464.6, -30.0, 640.0])
    (joint,) = [one for one in assembly.joints if one.a == "HB1"]
    assert (joint.b, joint.fastening) == ("S3", "glue")
