"""Labels to stick on: as many on a sheet as fit, each within its own, every part and every left-over piece once."""

from __future__ import annotations

import pytest

from addon.paper.sheet.items import Stroke
from addon.paper.shop import labels as label_pages
from addon.paper.shop.page import finished
from addon.shop import labels
from addon.shop.boards import sawn_stocks
from addon.shop.job import Job
from addon.shop.labels import Grid, grid_of, tags
from tests.page_checks import letters, overlaps, too_small
from tests.shop_jobs import job_of
from tests.test_cut_list import JOBS

pytestmark = pytest.mark.once


def test_labels_on_a_sheet():
    # By hand: A4, 210 × 297 mm (ISO 216): 7.2 + 3 × 63.5 + 2 × 2.5 = 202.7; 15.1 + 7 × 38.1 = 281.8. Letter, 8 1/2 by
    # 11 in: 3/16 + 3 × 2 5/8 + 2 × 1/8 = 8 5/16; 1/2 + 10 × 1 = 10 1/2 (ASME Y14.1, from memory).
    metric = grid_of(job_of("quilting"))
    assert (metric.across, metric.down, metric.count) == (3, 7, 21)
    inch = grid_of(job_of("seed-bench"))
    assert (inch.across, inch.down, inch.count) == (3, 10, 30)
    assert (metric.sheets(21), metric.sheets(22)) == (1, 2)


def test_where_each_label_lies():
    grid = Grid((210.0, 297.0), 7.2, 15.1, 63.5, 38.1, 2.5)
    assert grid.box(0) == pytest.approx((7.2, 297 - 15.1 - 38.1, 70.7, 297 - 15.1))
    assert grid.box(4) == pytest.approx((73.2, 297 - 15.1 - 2 * 38.1, 136.7, 297 - 15.1 - 38.1))


def test_labels_that_fill_the_sheet_to_its_edges_leave_one_for_the_title():
    # 3 × 70 mm and 8 × 37.125 mm are all of an A4 sheet.
    grid = Grid((210.0, 297.0), 0.0, 0.0, 70.0, 37.125, 0.0)
    assert (grid.across, grid.down, grid.first, grid.count) == (3, 8, 1, 23)


def test_every_part_and_every_left_over_piece_has_one():
    job = job_of("quilting")
    found = [tag.label for tag in tags(job)]
    left = [
        one.label
        for stock in sawn_stocks(job)
        for sheet in stock.sheets
        for one in sheet.whole.leaves
        if one.label
    ]
    assert sorted(found) == sorted({part.label for part in job.drawn.parts} | set(left))
    assert len(found) == len(set(found))


def test_what_stands_on_a_label():
    by_label = {tag.label: tag for tag in tags(job_of("quilting"))}
    rib = by_label["R8"]
    assert (rib.name, rib.sheet, rib.edge) == ("rib segment", "sheet R6", "lower edge")
    assert [size.printed for size in rib.sizes] == ["411", "72.5", "17.7"]
    assert by_label["R7"].sheet == "plain parts"
    assert by_label["R7"].edge == ""


@pytest.mark.parametrize(
    ("name", "shop"),
    [
        *JOBS,
        (
            "quilting",
            {
                "label_left": 0.0,
                "label_top": 0.0,
                "label_width": 70.0,
                "label_height": 37.125,
                "label_gap": 0.0,
            },
        ),
        ("quilting", {"label_width": 45.7, "label_height": 21.2, "label_left": 9.7, "label_top": 21.5}),
        ("seed-bench", {"label_width": 190.0, "label_height": 120.0}),
    ],
)
def test_sheets_of_labels_are_sound(name, shop):
    job = job_of(name, **shop)
    pages = list(label_pages.pages(job))
    shown = []
    for place, page in enumerate(pages, 1):
        drawing = finished(page, job, place, len(pages))
        paper = grid_of(job).paper
        assert (drawing.width, drawing.height) == paper
        assert overlaps(drawing) == []
        assert too_small(drawing) == []
        texts = [text for text, _ in drawing.texts()]
        words = " ".join(text.text for text in texts)
        for said in (job.table.name, job.date, job.fingerprint, f"{place} of {len(pages)}", "100 %"):
            assert said in words
        assert [one.printed for one in page.figures if one.printed not in {text.text for text in texts}] == []
        shown += check_boxes(job, [(text.text, letters(text)) for text in texts])
        for item in drawing.items:
            if isinstance(item, Stroke) and item.name.startswith("bar of"):
                assert min(path[:, 1].min() for path in item.paths) >= 0
    assert sorted(shown) == sorted(tag.label for tag in tags(job))


def check_boxes(job: Job, texts: list[tuple[str, tuple[float, float, float, float]]]) -> list[str]:
    """Labels of parts that stand on a sheet; nothing runs over the edge of a label."""
    grid = grid_of(job)
    known = {tag.label for tag in tags(job)}
    found = []
    for number in range(grid.first, grid.across * grid.down):
        left, bottom, right, top = grid.box(number)
        for text, (x0, y0, x1, y1) in texts:
            if left <= (x0 + x1) / 2 <= right and bottom <= (y0 + y1) / 2 <= top:
                assert left <= x0, text
                assert x1 <= right, text
                assert bottom <= y0, text
                assert y1 <= top, text
                found += [text] if text in known else []
    return found


def test_bars_are_as_long_as_they_say():
    job = job_of("quilting")
    page = next(label_pages.pages(job))
    drawing = finished(page, job, 1, 1)
    for name, length in (("100 mm", 100.0), ("4 in", 101.6)):
        ticks = [item.paths[0][0, 0] for item in drawing.named(f"bar of {name}") if isinstance(item, Stroke)]
        assert max(ticks) - min(ticks) == pytest.approx(length)


def test_left_over_pieces_stand_last_by_their_numbers(monkeypatch):
    sizes = tags(job_of("quilting"))[0].sizes
    mixed = [labels.Tag(label, "left over", sizes, "", "") for label in ("LEFT10", "LEFT2", "LEFT1")]
    monkeypatch.setattr(labels, "_left_over", lambda _job: mixed)
    assert [tag.label for tag in tags(job_of("quilting"))][-3:] == ["LEFT1", "LEFT2", "LEFT10"]
