"""Sheets of the shop set: what comes off them is what the table needs, in an order in which it can be sawn."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import replace

import pytest

from addon.files.examples import EXAMPLES
from addon.files.table_file import parse_table
from addon.paper.shop.page import area_of, sheet_of
from addon.paper.shop.sheets import pages
from addon.shop.boards import SawnStock, sawn_stocks
from addon.shop.job import Job
from addon.shop.pieces import Piece
from random_tables import sound_table
from tests.large import sampled
from tests.sawing_oracles import comes_apart
from tests.shop_jobs import drawn_legibly, job_of, unchecked_job

pytestmark = pytest.mark.once

NEAR = 1e-6
"""mm"""


@pytest.fixture(scope="module")
def quilting() -> Job:
    return job_of("quilting")


@pytest.fixture(scope="module")
def bench() -> Job:
    return job_of("seed-bench")


def leaves(stock: SawnStock) -> list[tuple[int, Piece]]:
    return [(sheet.number, piece) for sheet in stock.sheets for piece in sheet.whole.leaves]


def wrong_with(job: Job, stock: SawnStock) -> list[str]:
    """What is wrong with a stock's sheets, judged from the definition of a through cut alone."""
    wrong = []
    own = [part for part in job.drawn.parts if part.stock.name == stock.stock.name]
    labels = [part.label for part in own]
    labels += [label for label in stock.boards if label.startswith("RIM")]
    strips = sum(strip.count for part in own for strip in part.strips)
    if strips != len(labels) - len(own):
        wrong.append("other strips than the rims have")
    found = [piece.label for _, piece in leaves(stock) if piece.label and not piece.label.startswith("LEFT")]
    if Counter(found) != Counter(set(labels) - set(stock.too_large)):
        wrong.append("other parts than the table has")
    inner = (
        stock.trim, stock.trim,
        stock.stock.sheet_length - stock.trim, stock.stock.sheet_width - stock.trim,
    )  # fmt: skip
    for number, piece in leaves(stock):
        x, y, width, height = piece.box
        if min(x - inner[0], y - inner[1], inner[2] - x - width, inner[3] - y - height) < -NEAR:
            wrong.append(f"{piece.label} of sheet {number} lies in the trim")
        if piece.label in labels:
            length, across = size_of(job, stock, piece.label)
            if stock.stock.grain == "width":
                length, across = across, length
            long_enough = (
                width >= length - NEAR if piece.label in job.rounded.gaps else abs(width - length) < NEAR
            )
            if not long_enough or abs(height - across) > NEAR:
                wrong.append(f"{piece.label} is {width} × {height}, not {length} × {across}")
    for sheet in stock.sheets:
        if not comes_apart([piece.box for piece in sheet.whole.leaves if piece.label], stock.kerf):
            wrong.append(f"sheet {sheet.number} does not come apart")
        wrong += unsawn(sheet.cuts, sheet.whole, stock.kerf)
    return wrong


def size_of(job: Job, stock: SawnStock, label: str) -> tuple[float, float]:
    """Length and width of a part, or of a strip of its rim."""
    if label in job.assembly.by_label:
        return job.assembly.by_label[label].board[:2]
    board = stock.boards[label]
    strips = [(one.length, one.width) for one in job.assembly.by_label[board.part.label].strips]
    size = board.length.value, board.width.value
    near = min(strips, key=lambda one: abs(one[0] - size[0]) + abs(one[1] - size[1]))
    assert 0 <= near[0] - size[0] < job.rule.division
    assert 0 <= near[1] - size[1] < job.rule.division
    return size


def unsawn(cuts, whole: Piece, kerf: float) -> list[str]:
    """Replays the cuts in order from their boxes alone: each has to split a piece that is there."""
    there = [whole.box]
    wrong = []
    for cut in cuts:
        at = next((k for k, box in enumerate(there) if all(map(close, box, cut.piece.box))), None)
        if at is None:
            wrong.append(f"cut {cut.number} has no piece")
            continue
        x, y, width, height = there.pop(at)
        if cut.piece.axis == "x":
            parts = [(x, y, cut.piece.at - x, height),
                     (cut.piece.at + kerf, y, x + width - cut.piece.at - kerf, height)]  # fmt: skip
        else:
            parts = [(x, y, width, cut.piece.at - y),
                     (x, cut.piece.at + kerf, width, y + height - cut.piece.at - kerf)]  # fmt: skip
        there += [one for one in parts if min(one[2:]) > NEAR]
    named = [one.box for one in whole.leaves if one.label]
    wrong += [
        f"{box} is never sawn out" for box in named if not any(all(map(close, box, one)) for one in there)
    ]
    return wrong


def close(a: float, b: float) -> bool:
    return abs(a - b) < 1e-3


# --- the quilting table, by hand ---


def test_the_quilting_table_takes_two_sheets_and_one(quilting):
    """Four leaves, 921.5 × 365 less at most 0.5, are 1.34 m²; sides 0.69, ribs and segments 0.57, legs 0.29, …: 3.09 m²
    in all, and a trimmed sheet of 2420 × 1200 has 2.90: two sheets of 18 mm, and no way to need fewer."""
    boards = [part.board for part in quilting.assembly.parts if part.stock.nominal == 18]
    area = sum(length * width for length, width, _ in boards)
    assert 2420 * 1200 < area < 2 * 2420 * 1200
    thick, thin = sawn_stocks(quilting)
    assert (len(thick.sheets), thick.bound) == (2, 2)
    assert (len(thin.sheets), thin.bound) == (1, 1)
    rough = sum(math.prod(piece.box[2:]) for _, piece in leaves(thick) if piece.label[:4] not in ("", "LEFT"))
    assert thick.used == pytest.approx(rough / (2 * 2440 * 1220))


def test_the_leaves_of_the_cover_come_from_one_sheet(quilting):
    thick, _ = sawn_stocks(quilting)
    on = {piece.label: number for number, piece in leaves(thick)}
    assert len({on[f"L{number}"] for number in range(1, 5)}) == 1
    assert on["S1"] == on["S2"]
    assert on["S3"] == on["S4"]


def test_the_bottom_panel_is_two_cuts_by_hand(quilting):
    """1475.5 × 935.5 (drawn 1475.6 × 935.6, a panel is no larger than drawn) of 2420 × 1200, with a kerf of 3: on the
    floor across at 1475.5, and 2420 - 1475.5 - 3 = 941.5 is left over; at the bench along at 935.5, and
    1200 - 935.5 - 3 = 261.5 is left over."""
    _, thin = sawn_stocks(quilting)
    first, second = thin.sheets[0].cuts
    assert (first.on_floor, first.piece.axis, first.set_at.printed, first.side) == (
        True, "x", "1475.5", "left end"
    )  # fmt: skip
    assert (second.on_floor, second.piece.axis, second.set_at.printed, second.side) == (
        False, "y", "935.5", "lower edge"
    )  # fmt: skip
    left = sorted(piece.box[2:] for _, piece in leaves(thin) if piece.label.startswith("LEFT"))
    assert [one for pair in left for one in pair] == pytest.approx([941.5, 1200, 1475.5, 261.5])


# --- whatever the table ---


@pytest.mark.parametrize("seed", range(sampled(4, 60)))
def test_random_tables_come_off_their_sheets(seed):
    table, _ = sound_table(f"sheets {seed}")
    job = unchecked_job(table)
    for stock in sawn_stocks(job):
        assert wrong_with(job, stock) == []
        laid = [label for label in stock.boards if label not in stock.too_large]
        area = sum(math.prod(size_of(job, stock, label)) for label in laid)
        whole = (stock.stock.sheet_length - 2 * stock.trim) * (stock.stock.sheet_width - 2 * stock.trim)
        assert len(stock.sheets) >= stock.bound >= math.ceil(area / whole - NEAR)
    assert_legible(job)


@pytest.mark.parametrize("name", ["quilting", "bench"])
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_pages_are_legible(name, paper, request):
    job = request.getfixturevalue(name)
    for stock in sawn_stocks(job):
        assert wrong_with(job, stock) == []
    assert_legible(replace(job, table=replace(job.table, shop=replace(job.table.shop, paper=paper))))


def assert_legible(job: Job) -> None:
    for page in pages(job):
        drawn_legibly(page, job)


def test_what_is_left_over_is_numbered_from_the_largest(quilting):
    for stock in sawn_stocks(quilting):
        left = {
            piece.label: math.prod(piece.box[2:])
            for _, piece in leaves(stock)
            if piece.label.startswith("LEFT")
        }
        numbered = sorted(left, key=lambda label: int(label[4:]))
        assert [left[label] for label in numbered] == sorted(left.values(), reverse=True)
    assert max(len(stock.sheets) for stock in sawn_stocks(quilting)) == 2


def test_rims_are_sawn_alone():
    """A rim of 20 along a leaf of 921.5 × 364.5: two strips as long as the leaf and two between them, of each leaf."""
    table = parse_table(EXAMPLES["quilting"].text(), "table.toml")
    job = unchecked_job(
        replace(table, leaves=replace(table.leaves, rim_height=6.0), well=replace(table.well, depth=60.0))
    )
    thick = sawn_stocks(job)[0]
    assert wrong_with(job, thick) == []
    sizes = Counter(
        (one.length.printed, one.width.printed)
        for label, one in thick.boards.items()
        if label.startswith("RIM")
    )
    assert sizes == {("921.5", "20"): 8, ("324.5", "20"): 8}
    assert "RIM1 to RIM16: strips of the rims of L1 to L4." in " ".join(
        item.text for page in pages(job) for item, _ in drawn(page, job)
    )


# --- the order of sawing ---


def test_pieces_are_broken_down_on_the_floor_until_they_can_be_carried(quilting, bench):
    for job in (quilting, bench):
        for stock in sawn_stocks(job):
            for sheet in stock.sheets:
                floor = [max(cut.piece.box[2:]) > job.tools.carried_length for cut in sheet.cuts]
                assert floor == [cut.on_floor for cut in sheet.cuts] == sorted(floor, reverse=True)


def test_no_whole_sheet_is_sawn_for_a_strip_of_waste(quilting):
    """The first cut of a sheet gives parts, or something worth keeping, on either side."""
    for stock in sawn_stocks(quilting):
        for sheet in stock.sheets:
            sides = sheet.cuts[0].piece.pieces
            assert len(sides) == 2
            assert all(any(one.label for one in side.leaves) for side in sides)


def test_no_rip_is_made_along_a_short_piece_that_was_longer(bench):
    """Corner blocks of 2 3/8 × 9/16 in: a strip is ripped along a long piece, or cut off the end of one."""
    thick = sawn_stocks(bench)[0]
    for cut in thick.sheets[0].cuts:
        if {one.label for one in cut.piece.leaves} & {"BLK1", "BLK2"} and cut.piece.axis == "y":
            assert max(cut.piece.box[2:]) >= 300


def test_cuts_at_the_bench_are_set_by_what_comes_off(quilting):
    for stock in sawn_stocks(quilting):
        for cut in (cut for sheet in stock.sheets for cut in sheet.cuts if not cut.on_floor):
            assert cut.off.box[2 if cut.piece.axis == "x" else 3] == pytest.approx(cut.set_at.value, abs=1e-6)


def test_running_dimensions_count_from_one_edge(quilting):
    """A cut on the floor is measured from an edge that is still there: that of the piece that stays."""
    for stock in sawn_stocks(quilting):
        for cut in (cut for sheet in stock.sheets for cut in sheet.cuts if cut.on_floor):
            along = 0 if cut.piece.axis == "x" else 1
            assert cut.piece.at - cut.piece.box[along] == pytest.approx(cut.set_at.value, abs=1e-6)


# --- what the shop has ---


def test_a_wider_kerf_and_a_part_that_no_sheet_takes():
    table = parse_table(EXAMPLES["quilting"].text(), "table.toml")
    short = tuple(replace(one, sheet_length=1510.0) if one.nominal == 18 else one for one in table.stock)
    job = unchecked_job(replace(table, stock=short, shop=replace(table.shop, kerf=3.2)))
    thick = sawn_stocks(job)[0]
    assert thick.kerf == pytest.approx(3.5)  # a half millimeter is the rule's finest division
    assert set(thick.too_large) == {"S1", "S2"}  # 1500 of 1510 less twice 10
    assert wrong_with(job, thick) == []
    assert "No sheet is large enough for S1 and S2." in " ".join(
        item.text for page in pages(job) for item, _ in drawn(page, job)
    )


def drawn(page, job):
    drawing = sheet_of(job).drawing("")
    page.draw(drawing, area_of(job))
    return drawing.texts()


def test_nothing_of_the_sheet_is_told_twice_otherwise(quilting):
    """Sizes of parts are those of their part sheets."""
    for page in pages(quilting):
        for figure in page.figures:
            if figure.part and figure.dimension:
                part = quilting.drawn.by_label[figure.part]
                one = next(
                    d for d in part.shape.dimensions if d.name == figure.dimension and d.number is None
                )
                assert figure.printed == quilting.rounded.figure(part, one).printed
