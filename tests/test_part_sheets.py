"""Part sheets: every dimension once and as the model has it, nothing over anything, and what a maker reads off them."""

from __future__ import annotations

import re
from collections import Counter
from itertools import product

import numpy as np
import pytest

from addon.designs.table.build import build
from addon.files.examples import EXAMPLES
from addon.files.table_file import parse_table
from addon.paper.sheet import Drawing
from addon.paper.sheet.items import Stroke
from addon.paper.shop import part_sheet
from addon.paper.shop.page import ShopPage, area_of, finished, sheet_of
from addon.paper.shop.part_sheet.views import SCALES, along, section
from addon.shop.job import Job
from addon.shop.part_sheets import PartSheet, part_sheets
from addon.sizes.errors import DryAssemblyError
from addon.wood.features import Groove, Hole, Opening
from addon.wood.part import Shape, rectangle
from tests.large import sampled
from tests.page_checks import outside, overlaps, too_small
from tests.shop_jobs import unchecked_job

pytestmark = pytest.mark.once

QUILTING = EXAMPLES["quilting"].text()


def _changed(text: str, **values: str) -> str:
    for key, value in values.items():
        text, count = re.subn(rf"(?m)^{key} = \S+", f"{key} = {value}", text, count=1)
        assert count, key
    return text


OTHERS = {
    "quilting": QUILTING,
    "bench": EXAMPLES["seed-bench"].text(),
    "mitered": _changed(QUILTING, corner_joint='"mitered"'),
    "center supports": _changed(QUILTING, center_supports="true"),
    "closed windows": _changed(QUILTING, upper_windows='"closed"', wood_above_slots="12"),
    "tray and pull": _changed(
        QUILTING, tray_depth="5", tray_border="90", pull_length="100", pull_inset="60", rim_height="6"
    ),
    "no legs": _changed(QUILTING, fitted="false"),
    "eight leaves": _changed(QUILTING[: QUILTING.index("[[stow]]")], count="8"),
    "cut corners": _changed(QUILTING, corner_cut="12", groove_bit="0"),
}


def _job(text: str) -> Job:
    """Without its check, which no part sheet asks."""
    return unchecked_job(parse_table(text, "table.toml"))


@pytest.fixture(scope="module", params=OTHERS)
def drawn(request: pytest.FixtureRequest) -> tuple[Job, list[ShopPage], list[Drawing]]:
    job = _job(OTHERS[request.param])
    pages = list(part_sheet.pages(job))
    return job, pages, [finished(page, job, k, len(pages)) for k, page in enumerate(pages, 1)]


@pytest.fixture(scope="module")
def quilting() -> tuple[Job, dict[str, ShopPage], dict[str, PartSheet]]:
    job = _job(QUILTING)
    pages = {label: page for page in part_sheet.pages(job) for label in page.parts}
    sheets = {label: sheet for sheet in part_sheets(job) for label in sheet.labels}
    return job, pages, sheets


def _random_tables() -> list[str]:
    """Sizes of the quilting table at random, those that can be built."""
    random = np.random.default_rng(1502)
    found: list[str] = []
    while len(found) < sampled(3, 8):
        count = int(random.integers(2, 8))
        text = _changed(
            QUILTING[: QUILTING.index("[[stow]]")],
            count=str(count),
            length=str(random.integers(1100, 2100)),
            width=str(random.integers(700, 1100)),
            corner_joint=random.choice(['"mitered"', '"butted"']),
            upper_windows=random.choice(['"open"', '"closed"']),
            wood_above_slots=str(random.integers(13, 25)),
            guides=random.choice(["true", "false"]),
            runners=random.choice(["true", "false"]),
            kickers=random.choice(["true", "false"]),
            finger_hole=random.choice(["0", "25"]),
            fitted=random.choice(["true", "false"]),
        )
        try:
            table = parse_table(text, "table.toml")
            build(table)
        except DryAssemblyError:
            continue
        found.append(text)
    return found


# -- every dimension once, as the model has it


def _check_figures(job: Job, pages: list[ShopPage]) -> None:
    for kind in job.kinds:
        (label,) = kind.first
        part = job.assembly.by_label[label]
        figures = [
            figure for page in pages for figure in page.figures if figure.part == label and figure.dimension
        ]
        wanted = Counter(
            (one.dimension, one.leaf, one.feature) for one in job.figures_of(job.drawn.by_label[label])
        )
        assert Counter((one.dimension, one.leaf, one.feature) for one in figures) == wanted
        model = Counter(round(one.value, 3) for one in part.shape.dimensions)
        # A rule of 1/64 in, or of 0.5 mm, and what the wood decides, which is not rounded.
        for figure in figures:
            nearest = min(model, key=lambda value: abs(value - figure.value))
            assert abs(nearest - figure.value) < 0.3
    served = Counter(
        label for page in pages for label in set(page.parts) if not page.title.endswith("continued")
    )
    assert served == Counter({part.label: 1 for part in job.drawn.parts})


def test_every_dimension_of_every_part_stands_on_one_sheet(drawn):
    job, pages, _ = drawn
    _check_figures(job, pages)


def test_printed_figures_are_items_of_their_own(drawn):
    _, pages, drawings = drawn
    for page, drawing in zip(pages, drawings, strict=True):
        there = Counter(item.text for item, _ in drawing.texts())
        wanted = Counter(figure.printed for figure in page.figures)
        assert {text: count for text, count in wanted.items() if there[text] < count} == {}


def test_nothing_stands_over_anything(drawn):
    """D-11 (ISO 129-1): what is read is not crossed; D-07 (ISO 5457): all inside the frame."""
    job, pages, drawings = drawn
    for page, drawing in zip(pages, drawings, strict=True):
        assert (page.title, overlaps(drawing)) == (page.title, [])
        assert outside(drawing, sheet_of(job).frame) == []


def test_random_tables_come_out_sound():
    for text in _random_tables():
        job = _job(text)
        pages = list(part_sheet.pages(job))
        _check_figures(job, pages)
        for k, page in enumerate(pages, 1):
            drawing = finished(page, job, k, len(pages))
            assert (page.title, overlaps(drawing)) == (page.title, [])
            assert outside(drawing, sheet_of(job).frame) == []


# -- the rules of drawing


def test_lettering_is_as_high_as_a_copy_shows(drawn):
    """D-10 (ISO 3098): sizes of 2.5 mm and more."""
    _, _, drawings = drawn
    for drawing in drawings:
        assert too_small(drawing) == []


def test_scales_are_those_of_the_standard(drawn):
    """D-01 (ISO 5455): 1:2, 1:5, 1:10, 1:20 …; D-03: no 1:2.5. D-02: named in the title block."""
    _, pages, drawings = drawn
    allowed = {f"{a}:{b}" for a, b in ((2, 1), (1, 1), (1, 2), (1, 5), (1, 10), (1, 20))}
    for page, drawing in zip(pages, drawings, strict=True):
        assert page.scale in allowed | {"as named"}
        texts = [item.text for item, _ in drawing.texts()]
        assert page.scale in texts
        ratios = {found for text in texts for found in re.findall(r"\b\d+:[\d.]+", text)}
        assert ratios <= allowed


def test_paper_and_projection_are_named(drawn):
    """D-04 (ISO 216) and D-05 (ASME Y14.1): A4 or Letter; D-12 (ISO 5456-2): the projection in words."""
    job, _, drawings = drawn
    size = (drawings[0].width, drawings[0].height)
    assert size == ((297.0, 210.0) if job.paper == "a4" else (279.4, 215.9))
    for drawing in drawings:
        assert "First angle projection." in " ".join(item.text for item, _ in drawing.texts())


def test_wide_lines_are_twice_as_wide_as_narrow_ones(drawn):
    """D-09 (ISO 128-2): 2 to 1, visible edges wide, hidden ones dashed and narrow, axes long-dashed dotted narrow."""
    _, pages, drawings = drawn
    pens = {
        item.pen
        for page, drawing in zip(pages, drawings, strict=True)
        if page.number != "x"
        for item in drawing.items
        if isinstance(item, Stroke)
    }
    widths = {pen.width for pen in pens if not pen.dash}
    assert {0.5, 0.25} <= widths
    assert widths <= {0.5, 0.25, 0.18}
    assert all(pen.width == 0.25 for pen in pens if pen.dash)


def test_figures_read_from_below_or_from_the_right(drawn):
    """D-11 (ISO 129-1)."""
    _, _, drawings = drawn
    for drawing in drawings:
        assert {item.angle for item, _ in drawing.texts()} <= {0.0, 90.0}


def test_no_chain_of_dimensions_is_closed(quilting):
    """D-11 (ISO 129-1): of a notch at an end what is beside it and its own size do not both stand on the drawing."""
    _, _, sheets = quilting
    for sheet in sheets.values():
        for one in sheet.entries:
            feature = next((own.feature for own in sheet.features if own.letter == one.letter), None)
            if isinstance(feature, Opening) and feature.open_end and one.figure.dimension.endswith("_width"):
                assert one.span is None
    assert sum(sheet.labels[0] == "R6" for sheet in sheets.values()) == 6


# -- what is drawn


def test_a_broken_length_keeps_its_scale_beside_each_station():
    """Stations and 5 mm beside each lie as far apart on the paper as the scale says; what is long is left out."""
    axis = along(0.0, 1500.0, [193.0, 562.0], 0.5, 150.0)
    assert axis is not None
    assert axis.high - axis.low == pytest.approx(150.0)
    for station in (193.0, 562.0):
        assert axis.at(station + 5.0) - axis.at(station - 5.0) == pytest.approx(5.0)
    assert len(axis.breaks) == 3
    assert axis.at(0.0) < axis.at(193.0) < axis.at(562.0) < axis.at(1500.0)


def test_a_length_that_fits_is_not_broken():
    axis = along(0.0, 300.0, [100.0], 0.5, 150.0)
    assert axis is not None
    assert not axis.broken
    assert axis.at(100.0) == pytest.approx(50.0)


@pytest.mark.parametrize("axis", [0, 1])
def test_sections_have_the_area_of_what_is_cut(axis):
    """By hand: a board 100 by 60 by 20 with a groove 10 wide and 6 deep, a hole of 20 and a window 30 by 12."""
    shape = Shape(
        rectangle(100.0, 60.0),
        20.0,
        (
            Groove(-5.0, 105.0, 40.0, 50.0, 6.0),
            Hole(80.0, 20.0, 20.0),
            Opening(20.0, 50.0, 10.0, 22.0),
        ),
    )

    def area(at: float) -> float:
        total = 0.0
        for ring in section(shape, axis, at):
            x, y = ring.T
            total += abs(float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum())) / 2
        return total

    if axis == 0:
        assert area(60.0) == pytest.approx(60 * 20 - 60)
        assert area(30.0) == pytest.approx(60 * 20 - 60 - 12 * 20)
        assert area(80.0) == pytest.approx(60 * 20 - 60 - 20 * 20, abs=2.0)
    else:
        assert area(45.0) == pytest.approx(100 * 14)
        assert area(16.0) == pytest.approx(100 * 20 - 30 * 20 - 2 * np.sqrt(100 - 16) * 20, abs=2.0)


# -- what a maker reads, written by hand from the quilting table's own parameters


def _texts(page: ShopPage, job: Job) -> str:
    drawing = finished(page, job, 1, 1)
    return " ".join(item.text for item, _ in drawing.texts())


def test_one_sheet_serves_both_long_sides(quilting):
    _, pages, sheets = quilting
    assert sheets["S1"].labels == ("S1", "S2")
    assert pages["S1"] is pages["S2"]
    assert pages["S1"].parts == ("S1", "S2")
    assert sheets["S1"].turned == ("S2",)


def test_the_sheet_of_a_rib_segment_says_at_which_end_its_notch_is(quilting):
    """R6 is 411 long; the leaf's way takes its first 370.5 mm from the start, above 45.5 mm of wood."""
    job, pages, sheets = quilting
    found = {one.figure.dimension: one for one in sheets["R6"].entries}
    assert found["window_offset"].figure.printed == "370.5"
    assert found["window_width"].words == "width, from the start"
    assert found["window_sill"].figure.printed == "45.5"
    assert found["window_height"].words == "height, from the upper edge"
    text = _texts(pages["R6"], job)
    assert "width, from the start" in text
    for label in ("R6", "R8", "R11", "R13", "R16", "R18"):
        assert label in text
    assert "R8, R13 and R18 are the same board, turned." in text
    assert "start to R1; end to R2" in text


def test_a_sheet_says_which_face_is_drawn_and_which_is_outside(quilting):
    """The grooves of all sides open inward, so that their inside is drawn; a leaf's back face is its upper one."""
    _, _, sheets = quilting
    assert sheets["S1"].face == "front"
    assert sheets["S3"].face == "back"
    for label in ("S1", "S3"):
        assert "which is the inside of the table" in sheets[label].notes[0]
    assert "which is the upper one" in sheets["L1"].notes[0]


def test_what_is_cut_to_fit_is_said_with_its_gap(quilting):
    _, _, sheets = quilting
    assert "Cut to fit, about as long as this: measure the gap between R2 and R3." in sheets["R7"].notes
    assert not any("Cut to fit" in note for note in sheets["R6"].notes)


def test_plain_boards_share_pages(quilting):
    """Segments, stops, boards of legs, ledgers, kickers and guides; sides, ribs and leaves have their own."""
    _, pages, _ = quilting
    assert pages["R5"] is pages["LEG2"]
    assert len({id(pages[label]) for label in ("S1", "S3", "R1", "R2", "R6", "L1", "B1")}) == 7


def test_round_overs_say_where_they_stop(quilting):
    """The sides' lower round-over stops 10 mm before the legs, which are 60 wide and stand at 17.5 and 17.5 mm."""
    _, _, sheets = quilting
    found = {one.figure.dimension: one.figure.printed for one in sheets["S1"].entries}
    assert (found["round_over_start"], found["round_over_stop"]) == ("87.5", "1412.5")


def test_scales_of_views_are_listed_from_the_largest():
    assert list(SCALES) == sorted(SCALES, reverse=True)
    assert all(a > b for a, b in product(SCALES[:1], SCALES[1:]))


def test_pages_stay_in_their_area(quilting):
    job, pages, _ = quilting
    left, bottom, right, top = area_of(job)
    for page in {id(one): one for one in pages.values()}.values():
        drawing = Drawing(*((sheet_of(job).width, sheet_of(job).height)))
        page.draw(drawing, area_of(job))
        assert outside(drawing, (left - 0.6, bottom - 0.6, right + 0.6, top + 0.6)) == []


def test_a_list_that_is_too_long_goes_on_on_another_page(monkeypatch):
    """With a list so narrow that it has no room below the drawing, each figure still stands on one of the two pages."""
    monkeypatch.setattr(part_sheet, "_NOTES", 0.85)
    job = _job(OTHERS["eight leaves"])
    pages = [page for page in part_sheet.pages(job) if page.parts == ("S1",)]
    assert [page.title.removeprefix("Part sheet: front side ") for page in pages] == ["S1", "S1, continued"]
    assert pages[1].figures
    for page in pages:
        drawing = finished(page, job, 1, 2)
        there = Counter(item.text for item, _ in drawing.texts())
        wanted = Counter(figure.printed for figure in page.figures)
        assert {text: count for text, count in wanted.items() if there[text] < count} == {}
        assert overlaps(drawing) == []
    figures = [figure.dimension for page in pages for figure in page.figures]
    assert Counter(figures) == Counter(one.dimension for one in job.figures_of(job.drawn.by_label["S1"]))


def test_what_is_cut_to_fit_in_many_gaps_says_all_of_them():
    """Guides between all segments of the quilting table: each gap is named, wherever the board is drawn."""
    job = _job(QUILTING)
    for page in part_sheet.pages(job):
        text = " ".join(item.text for item, _ in finished(page, job, 1, 1).texts())
        for label in page.parts:
            if label in job.rounded.gaps:
                assert "between {} and {}".format(*job.rounded.gaps[label]) in text


def test_steps_of_an_outline_are_dimensioned():
    """A center support is hooked over the ledgers: two steps, from the start and from the end, 15 of its 30 high."""
    job = _job(OTHERS["center supports"])
    sheet = next(sheet for sheet in part_sheets(job) if "SUP1" in sheet.labels)
    length = sheet.shape.size[0]
    found = [one for one in sheet.entries if one.figure.name.startswith("step of the outline")]
    along = [one.figure.value for one in found if one.span is not None and one.span.axis == 0]
    # The hooks lie on both ledgers alike, half of the board's height, so that both are flush (lap joint).
    assert len(along) == 2
    assert along[0] == pytest.approx(length - along[1], abs=0.5)
    (height,) = [one.figure for one in found if one.span is not None and one.span.axis == 1]
    assert height.printed == "15"
    page = next(page for page in part_sheet.pages(job) if "SUP1" in page.parts)
    texts = [item.text for item, _ in finished(page, job, 1, 1).texts()]
    assert all(one.figure.printed in texts for one in found)


@pytest.mark.parametrize(("label", "start_first"), [("S1", False), ("R6", True)])
def test_start_and_end_are_named_where_the_running_dimensions_begin(quilting, label, start_first):
    """S1 is seen on its front face, with its start at the right; R6 on its back face, with its start at the left.

    Of the two places along each board, the one that is nearer to its start is written nearer to it.
    """
    job, pages, sheets = quilting
    drawing = finished(pages[label], job, 1, 1)
    at = {text.text: (box[0] + box[2]) / 2 for text, box in drawing.texts()}
    assert (at["start"] < at["end"]) is start_first
    if label == "S1":
        near, far = at["193"], at["1412.5"]
        assert abs(near - at["start"]) < abs(far - at["start"])
    assert sheets[label].face == ("back" if start_first else "front")
