"""Layout of the bottom panel's underside: where lines fall, on which side the part lies, and what lies where.

Positions are written by hand from the quilting table's sizes: 1500 by 960 outside, boards of 17.7, ribs centered at
567.45 and 138.75 to either side once rounded, a bottom panel of 1475.5 by 935.5 in the middle.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from addon.paper.shop import layout as layout_pages
from addon.paper.shop.page import area_of, finished
from addon.shop.job import Job
from addon.shop.layout import ends_of, layouts
from addon.sizes.words import codes_in_row
from random_tables import sound_table
from tests.large import sampled
from tests.page_checks import outside, overlaps, too_small
from tests.shop_jobs import job_of, unchecked_job

pytestmark = pytest.mark.once


@pytest.fixture(scope="module")
def quilting() -> Job:
    return job_of("quilting")


def marks_of(job: Job) -> dict[tuple[int, str], tuple[float, str]]:
    """(axis, label) → how far the line is, as printed, and on which side of it the part lies."""
    (layout,) = layouts(job)
    found = {}
    for one in layout.marks:
        found |= {(one.axis, label): (one.figure.value, "beyond") for label in one.beyond}
        found |= {(one.axis, label): (one.figure.value, "before") for label in one.before}
    return found


def test_ribs_lie_mirrored_and_are_marked_at_the_face_nearer_to_the_left_edge(quilting):
    # R4 stands at the table's right, x 558.6 to 576.3, and the panel ends at 737.75: upside down it lies at the left,
    # its near face 737.75 − 576.3 = 161.45 from the edge there. R1 at −576.3 to −558.6: 737.75 + 558.6 = 1296.35.
    marks = marks_of(quilting)
    assert marks[0, "R4"] == (161.5, "beyond")
    assert marks[0, "R3"] == (590.0, "beyond")
    assert marks[0, "R2"] == (867.5, "beyond")
    assert marks[0, "R1"] == (1296.5, "beyond")


def test_sides_are_around_the_panel_and_their_lines_show_where_the_panel_is_in_the_groove(quilting):
    (layout,) = layouts(quilting)
    assert {where: one.label for where, one in layout.sides.items()} == {
        "front": "S1", "back": "S2", "left": "S4", "right": "S3"
    }  # fmt: skip
    marks = marks_of(quilting)
    # Half of 1475.5 − 1464.6 = 10.9, and of 935.5 − 924.5 = 11; the far ones that much before the far edge.
    assert marks[0, "S4"] == (5.5, "before")
    assert marks[0, "S3"] == (1470.0, "beyond")
    assert marks[1, "S1"] == (5.5, "before")
    assert marks[1, "S2"] == (930.0, "beyond")


def test_between_the_faces_of_sides_and_ribs_lie_the_segments(quilting):
    # From S3's inner face: R5 of 156, R1, R6 of 411, R2, R7 of 259.8, each rib 17.7; the panel goes 5.45 farther.
    (layout,) = layouts(quilting)
    at = 5.45
    for segment, rib in ((156.0, "R1"), (411.0, "R2"), (259.8, "R3"), (411.0, "R4")):
        at += segment
        own = next(one for one in layout.places if one.label == rib)
        assert 1475.5 - own.high[0] == pytest.approx(at, abs=1e-6)
        at += 17.7


def test_rows_of_segments_share_one_line_from_the_front(quilting):
    (layout,) = layouts(quilting)
    rows = {codes_in_row(one.beyond): one.figure.printed for one in layout.marks if one.axis == 1}
    # 467.75 − 401.25, 467.75 − 8.85 and 467.75 + 383.55.
    assert rows["R5 to R9"] == "66.5"
    assert rows["R10 to R14"] == "459"
    assert rows["R15 to R19"] == "851.5"


def test_strips_and_stops_are_marked_and_what_stands_against_others_is_not(quilting):
    marks = marks_of(quilting)
    # 737.75 − 205.25 and 737.75 − 555.15; the stop of L4 at 192.3 to 210.
    assert marks[0, "KICK3"] == (532.5, "beyond")
    assert marks[0, "KICK4"] == (182.5, "beyond")
    assert marks[0, "STOP2"] == (528.0, "beyond")
    # Of legs the first boards stand off from the sides, by their blocks; second boards and blocks stand in corners.
    # 5.45 + 17.7 = 23.15, and 1475.5 less that and a board.
    legs = {key: mark for key, mark in marks.items() if key[1].startswith(("LEG", "BLK"))}
    assert legs == {
        **dict.fromkeys([(0, "LEG3"), (0, "LEG7")], (23.0, "beyond")),
        **dict.fromkeys([(0, "LEG1"), (0, "LEG5")], (1434.5, "beyond")),
    }
    (layout,) = layouts(quilting)
    every = {part.label for part in quilting.assembly.parts if part.box[1][2] <= 700.5 + 1e-6}
    every -= {"L1", "L2", "L3", "L4"}
    assert {one.label for one in layout.places} == every


def test_the_list_says_where_each_part_begins_and_ends(quilting):
    pages = list(layout_pages.pages(quilting))
    told = {
        (one.part, one.name): one.printed for page in pages if "list" in page.number for one in page.figures
    }
    # R5 between S3 and R1: from 1296.35 + 17.7 to 1470.05 as it lies; KICK1 from 5.5 to 467.75 + 460.75.
    assert told["R5", "from the left edge"] == "1314"
    assert told["R5", "from the left edge, to"] == "1470"
    assert told["KICK1", "from the front edge"] == "5.5"
    assert told["KICK1", "from the front edge, to"] == "928.5"
    # Stops hang below what keeps the upper leaves: 700.5 − 670.5.
    assert told["STOP1", "below the panel"] == "30"
    assert ("KICK1", "below the panel") not in told


def test_drawing_and_list_give_one_number_for_a_face(quilting):
    """The bench's ribs stand in the middle, halfway between two divisions: 29 1/2 − 23/64 = 29 9/64 and 13 9/64."""
    for job in (quilting, job_of("seed-bench")):
        (layout,) = layouts(job)
        drawn = {(one.axis, label): one.figure.printed for one in layout.marks for label in one.beyond}
        listed = {
            (axis, one.label): ends_of(job, one)[axis][0].printed for one in layout.places for axis in (0, 1)
        }
        assert {key: listed[key] for key in drawn if key in listed} == {
            key: text for key, text in drawn.items() if key in listed
        }
    assert drawn[0, "R2"] == "29 5/32"
    assert drawn[1, "R5"] == "13 5/32"
    assert listed[1, "BLK1"] == "13 7/8"  # 13 9/64 + 23/32


def test_what_stands_below_the_sides_is_not_laid_out():
    """Of a leg that takes the sides into its channel the inner boards stand at the panel; its core ends below them."""
    (layout,) = layouts(job_of("seed-bench"))
    legs = {one.label for one in layout.places if one.label.startswith(("LEG", "FOOT"))}
    assert legs == {"LEG1", "LEG2", "LEG7", "LEG8", "LEG13", "LEG14", "LEG19", "LEG20"}
    assert min(min(one.low) for one in layout.places) > 0


def check(job: Job) -> None:
    pages = list(layout_pages.pages(job))
    listed = set()
    for place, page in enumerate(pages, 1):
        drawing = finished(page, job, place, len(pages))
        block = {"Table", "Scale", "Date", "Rev.", "Set", "Page"}
        assert overlaps(drawing) == []
        assert set(too_small(drawing)) <= block
        alone = type(drawing)(drawing.width, drawing.height)
        page.draw(alone, area_of(job))
        assert outside(alone, area_of(job)) == []
        texts = [text.text for text, _ in alone.texts()]
        assert [one.printed for one in page.figures if one.printed not in texts] == []
        if "list" in page.number:
            listed |= {*texts}
    below = {one.label for layout in layouts(job) for one in layout.places}
    assert below <= listed


@pytest.mark.parametrize("name", ["quilting", "seed-bench"])
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_pages_of_the_examples_are_sound(name, paper):
    check(job_of(name, paper=paper))


@pytest.mark.parametrize("seed", range(sampled(4, 12)))
def test_pages_of_random_tables_are_sound(seed):
    table, _ = sound_table(f"layout/{seed}")
    table = replace(table, shop=replace(table.shop, paper=("a4", "letter")[seed % 2]))
    check(unchecked_job(table))


def test_labels_in_the_drawing_stand_at_their_parts(quilting):
    page = next(layout_pages.pages(quilting))
    drawing = finished(page, quilting, 1, 1)
    found = {text.text: box for text, box in drawing.texts()}
    scale = 10
    for label in ("R1", "R2", "R3", "R4"):
        part = quilting.assembly.by_label[label]
        # The panel's lower left corner has a circle; "0" stands below it.
        zero = next(text for text, _ in drawing.texts() if text.text == "0")
        x = zero.x + (737.75 - (part.box[0][0] + part.box[1][0]) / 2) / scale
        assert min(abs(found[label][0] - x), abs(found[label][2] - x)) < 16.0
