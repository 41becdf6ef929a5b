"""The cut list: order of sawing, totals, edges that show, and what is cut to fit, against values written by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from addon.paper.sheet import Drawing
from addon.paper.shop import cut_list as cut_list_pages
from addon.paper.shop.page import area_of
from addon.shop.cut_list import cut_list, fits
from addon.shop.hardware import glued_area, hardware
from addon.shop.job import Job
from addon.wood.assembly import Assembly
from addon.wood.fasteners import Fastener, Sizes
from addon.wood.joints import Joint
from addon.wood.part import Part, Placement, Shape, rectangle
from addon.wood.roles import role_of
from addon.wood.stock import Stock
from random_tables import sound_table
from tests.page_checks import outside, overlaps, too_small
from tests.shop_jobs import job_of, unchecked_job

pytestmark = pytest.mark.once


@pytest.fixture(scope="module")
def quilting() -> Job:
    return job_of("quilting")


def test_widths_from_wide_to_narrow_and_lengths_from_long_to_short(quilting):
    # The order by hand: rip wide to narrow, in a strip the longest first (common practice, no source).
    boards, panel = cut_list(quilting)
    assert panel.lines[0].labels == ("B1",)
    labels = [line.labels for line in boards.lines]
    wanted = [
        ("L1", "L2", "L3", "L4"),
        ("S1", "S2"),
        ("S3", "S4"),
        ("R1", "R4"),
        ("R2", "R3"),
        ("R6", "R8", "R11", "R13", "R16", "R18"),
        ("R7", "R12", "R17"),
        ("R5", "R9", "R10", "R14", "R15", "R19"),
        ("BLK1", "BLK2", "BLK3", "BLK4"),  # as high as the ribs, 60 long
        ("LEG1", "LEG3", "LEG5", "LEG7"),
        ("STOP1", "STOP2"),  # 42.7 wide as drawn
        ("BLK5", "BLK10"),  # 33.7, their pockets bored toward the other end than in the rest
        ("BLK6", "BLK7", "BLK8", "BLK9"),
        ("LEDG1", "LEDG2"),  # 30
        ("LEG2", "LEG4", "LEG6", "LEG8"),  # 60 - 2 * 17.7 = 24.6
    ]
    assert labels[: len(wanted)] == wanted
    assert [{line.width.value for line in rip} for rip in boards.rips] == [
        {rip[0].width.value} for rip in boards.rips
    ]
    widths = [rip[0].width.value for rip in boards.rips]
    assert widths == sorted(widths, reverse=True)
    assert len(set(widths)) == len(widths)


def test_every_part_stands_on_one_line(quilting):
    listed = [label for stock in cut_list(quilting) for line in stock.lines for label in line.labels]
    assert sorted(listed) == sorted(part.label for part in quilting.drawn.parts)


def test_totals_of_a_stock(quilting):
    # By hand from the sizes of the drawing: 4 leaves, 2 and 2 sides, ribs (4 through, 6, 3 and 6 segments), 4 and 4 leg
    # boards, 2 stops, 4 blocks of legs and 6 of ribs, 2 ledger strips, 4 and 4 guides, 4 kickers.
    by_hand = (
        4 * 921.6 * 364.9
        + 2 * (1500 + 924.6) * 141.9
        + 72.4 * (4 * 924.6 + 6 * 410.8 + 3 * 260.3 + 6 * 155.95)
        + 700.5 * 4 * (60 + 24.6)
        + 4 * 60 * 72.4
        + 2 * 374.55 * 42.7
        + 6 * 60 * 33.7
        + 2 * 1464.6 * 30
        + 20.7 * 4 * (374.55 + 61.2)
        + 4 * 923.1 * 6
    ) / 1e6
    boards, panel = cut_list(quilting)
    assert boards.pieces == 61
    assert boards.area == pytest.approx(by_hand, rel=0.005)  # sizes are rounded to half a millimeter
    assert (panel.pieces, panel.area) == (1, pytest.approx(1.4756 * 0.9356, rel=0.002))
    assert panel.mass == pytest.approx(1.4756 * 0.9356 * 0.0118 * 695, rel=0.002)  # 695 kg/m³


def test_a_leaf_weighs_its_board_less_its_hole_and_edges(quilting):
    # 921.6 × 364.9 × 17.7 mm of 685 kg/m³; off go the hole (25 mm), two chamfers of 6 and four round-overs of 3.
    volume = (
        921.6 * 364.9 * 17.7 - 17.7 * 3.14159 * 12.5**2 - 2 * 18 * 364.9 - 4 * 921.6 * 9 * (1 - 3.14159 / 4)
    )
    assert cut_list(quilting)[0].lines[0].mass == pytest.approx(volume * 685 / 1e9, rel=0.003)


def test_which_edges_show(quilting):
    # Seen on the drawn table: long sides cover the ends of the short ones, all upper edges are free; ribs and blocks
    # are under the panel; ledger strips are seen from above once the leaves are stowed.
    edges = {
        label: line.edges for stock in cut_list(quilting) for line in stock.lines for label in line.labels
    }
    assert edges["S1"] == "1 long edge, 2 ends"
    assert edges["S4"] == "1 long edge"
    assert edges["L2"] == "all"
    assert edges["LEDG1"] == "1 long edge"
    assert {edges[label] for label in ("R1", "R7", "BLK3", "STOP1", "KICK2", "GUIDE4", "B1")} == {"none"}


def test_what_fits_a_gap_is_sawn_longer_and_measured_last(quilting):
    line = next(line for line in cut_list(quilting)[0].lines if "R7" in line.labels)
    assert line.labels == ("R7", "R12", "R17")
    assert line.sawn.value == pytest.approx(260.3 + 20, abs=1.0)  # 20 mm more (common practice, no source)
    fit = next(fit for fit in fits(quilting) if "R7" in fit.labels)
    assert (fit.labels, fit.between) == (("R7", "R12", "R17"), ("R2", "R3"))
    assert fit.about.value == pytest.approx(260.3, abs=1.0)
    assert fit.about.part == "R7"


def test_screws_for_corner_blocks(quilting):
    # 17.7 mm on 17.7: 17.7 + 17.7 - 3 = 32.4, so 30 mm: of 3.5 mm into six blocks of ribs, which are 33.7 high, of
    # 4 mm into four of legs. Those take two bolts each, of 35 mm: the next length sold below 2 * 17.7. Those of ribs
    # have a pocket screw each, of which 25 mm are sold: 12.39 to the seat, and (17.7 - 3) / cos 15 deg = 15.22 past it
    # (lengths sold: common practice).
    found = {(item.kind, item.size, item.length.value): item for item in hardware(quilting) if item.length}
    assert {key: item.count for key, item in found.items()} == {
        ("screw", "3.5 mm", 30.0): 6,
        ("screw", "4 mm", 30.0): 4,
        ("pocket screw", "3.5 mm", 25.0): 6,
        ("bolt", "M8", 35.0): 8,  # ISO 261: a metric thread is named by its diameter
    }
    assert "lead hole 2 mm" in found["screw", "3.5 mm", 30.0].note
    assert "lead hole 2.5 mm" in found["screw", "4 mm", 30.0].note
    assert not any("an edge" in item.note for item in found.values())


def test_what_goes_into_an_edge_is_told():
    """The bench's blocks are 15 mm high: no pocket has room, and a screw through the rib goes into their ends."""
    found = {
        (item.kind, round(item.length.value, 2), item.size): item
        for item in hardware(job_of("seed-bench"))
        if item.length
    }
    assert {key: item.count for key, item in found.items()} == {
        ("screw", 31.75, "#4"): 2,
        ("screw", 38.1, "#4"): 2,
    }
    assert "into an edge: they clamp, glue as well" in found["screw", 38.1, "#4"].note


def test_fasteners_of_one_size_are_counted_together(quilting):
    sizes = Sizes(25.0, 4.0, 8.0, 3.0)
    ones = tuple(
        Fastener(f"SCR{k}", "screw", np.zeros(3), np.array([0.0, 1.0, 0.0]), sizes, ("BLK1", "R6"))
        for k in (1, 2)
    )
    rounded = replace(quilting.rounded, assembly=replace(quilting.assembly, fasteners=ones))
    items = hardware(replace(quilting, rounded=rounded))
    assert [(item.name, item.count, item.size, item.length.value) for item in items if item.length] == [
        ("countersunk wood screws", 2, "4 mm", 25.0)
    ]


def test_glued_area_of_a_butt_a_groove_and_a_miter():
    # By hand: a 100 × 18 end against a face; a panel 500 long, 6 deep in a groove, glued on both walls; a miter of two
    # boards 18 thick, 120 high: 120 × 18√2.
    board = Stock("b", 18.0)

    def part(label, size, u, v, origin):
        shape = Shape(rectangle(*size[:2]), size[2])
        return Part(label, "x", role_of("side"), board, shape, Placement.along(u, v, origin))

    face = part("F", (500, 100, 18), "+x", "+z", (0.0, 0.0, 0.0))
    butted = part("E", (300, 100, 18), "+y", "+z", (50.0, 0.0, 0.0))
    panel = part("P", (500, 300, 12), "+x", "+y", (0.0, -6.0, 20.0))
    corner = part("M", (300, 120, 18), "+y", "+z", (500.0, -18.0, 0.0))
    other = part("N", (518, 120, 18), "+x", "+z", (0.0, 0.0, 0.0))
    for parts, joint, wanted in (
        ((face, butted), Joint("E", "F", "butt", "start"), 100 * 18),
        ((face, panel), Joint("P", "F", "groove"), 2 * 500 * 6),
        ((corner, other), Joint("M", "N", "miter", "start"), 120 * 18 * 2**0.5),
    ):
        assembly = Assembly("x", parts, (joint,), ())
        assert glued_area(assembly) * 1e6 == pytest.approx(wanted)
        dry = Assembly("x", parts, (replace(joint, fastening="dry"),), ())
        assert glued_area(dry) == 0


JOBS = [
    ("quilting", {}),
    ("quilting", {"paper": "letter"}),
    ("seed-bench", {}),
    ("seed-bench", {"paper": "a4"}),
]


@pytest.mark.parametrize(("name", "shop"), JOBS)
def test_pages_of_the_examples_are_sound(name, shop):
    check_pages(job_of(name, **shop))


@pytest.mark.parametrize("seed", range(6))
def test_pages_of_random_tables_are_sound(seed):
    table, _ = sound_table(f"cut list/{seed}")
    table = replace(table, shop=replace(table.shop, paper=("a4", "letter")[seed % 2]))
    check_pages(unchecked_job(table))


def check_pages(job: Job) -> None:
    listed = set()
    pages = [page for page in cut_list_pages.pages(job) if page.slip is None]
    assert pages
    for page in pages:
        drawing, area = Drawing(300.0, 220.0), area_of(job)
        page.draw(drawing, area)
        assert overlaps(drawing) == []
        assert outside(drawing, area) == []
        assert too_small(drawing) == []
        texts = [text.text for text, _ in drawing.texts()]
        assert [figure.printed for figure in page.figures if figure.printed not in texts] == []
        listed |= {label for text in texts for label in text.replace(",", "").split()}
    assert {part.label for part in job.drawn.parts} <= listed
