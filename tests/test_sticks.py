"""Story sticks: positions written by hand from the quilting table, and strips measured on the printed page.

The quilting table is 1500 by 960, its boards 17.7; ribs stand between sides at 156 from S3's inner face, then 411,
259.8 and 411 apart. Rounded to 0.5 mm, the body is 142 high and the panel's underside 72.5 above its lower edge.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pypdfium2
import pytest

from addon.paper.sheet import Drawing
from addon.paper.sheet.items import Fill, Stroke
from addon.paper.sheet.pdf import pdf_bytes
from addon.paper.shop import sticks as stick_pages
from addon.paper.shop.page import area_of, finished
from addon.shop.job import Job
from addon.shop.sticks import Stick, sticks
from random_tables import sound_table
from tests.large import sampled
from tests.page_checks import outside, overlaps, too_small
from tests.shop_jobs import job_of, unchecked_job

pytestmark = pytest.mark.once


@pytest.fixture(scope="module")
def quilting() -> Job:
    return job_of("quilting")


@pytest.fixture(scope="module")
def by_pieces(quilting: Job) -> dict[str, Stick]:
    return {f"{one.start[:5]} {one.pieces[0]}": one for one in sticks(quilting)}


def told(stick: Stick) -> dict[str, str]:
    return {part.strip(): one.figure.printed for one in stick.positions for part in one.what.split(";")}


def test_heights_of_sides_from_their_lower_edge(by_pieces):
    stick = by_pieces["lower S1"]
    assert stick.pieces == ("S1", "S2", "S3", "S4")
    assert (stick.start, stick.end, stick.length.printed) == ("lower edge", "upper edge", "142")
    # 22 of wood below the lower slots; these and the upper ones 21 high; 2.5 between the two; then 6 of wood to the
    # groove; the ledger 752.3 − 628 − 30 above, once the body's lower edge is at 628 and the ledger at 752.5.
    assert told(stick) == {
        "sill of the slot for L3 and L4 (S3 and S4)": "22",
        "head of the slot for L3 and L4 (S3 and S4)": "43",
        "sill of the slot for L1 and L2 (S1 and S2)": "45.5",
        "head of the slot for L1 and L2 (S1 and S2)": "66.5",
        "groove for the panel, lower edge (S1 to S4)": "72.5",
        "upper end of LEG1 to LEG8 (S1 and S2)": "72.5",
        "lower edge of LEDG1 and LEDG2 (S1 and S2)": "94.5",
        "upper edge of LEDG1 and LEDG2 (S1 and S2)": "124.5",
    }


def test_windows_stand_as_high_in_ribs_as_slots_in_sides(by_pieces):
    windows, slots = told(by_pieces["lower R1"]), told(by_pieces["lower S1"])
    assert windows["sill of the window for L3 and L4 (R1 to R4)"] == "22"
    assert windows["head of the window for L3 and L4 (R1 to R4)"] == "43"
    sill = "sill of the window for L1 and L2 (R6, R8, R11, R13, R16 and R18)"
    # Both stand with their lower edges on one line, and the upper windows are open above.
    assert windows[sill] == slots["sill of the slot for L1 and L2 (S1 and S2)"]
    assert len(windows) == 3


def test_lengths_along_the_long_sides_run_from_the_left(by_pieces):
    stick = by_pieces["left  S1"]
    assert stick.pieces == ("S1", "S2")
    assert stick.start == "left end, at S3"
    found = told(stick)
    # 17.7 + 156, then each time a rib of 17.7 and the segment behind it: 173.7, 602.4, 879.9, 1308.6, 1500 − 17.7.
    assert found["near face of R1 (S1 and S2)"] == "173.5"
    assert found["near face of R2 (S1 and S2)"] == "602.5"
    assert found["near face of R3 (S1 and S2)"] == "880"
    assert found["near face of R4 (S1 and S2)"] == "1308.5"
    assert found["near face of S4 (S1 and S2)"] == "1482.5"
    # Legs reach 60 from S3: 17.7 + 60, and as far from the other end.
    assert found["LEG2 and LEG6 to here (S1 and S2)"] == "77.5"
    assert found["LEG4 and LEG8 from here (S1 and S2)"] == "1422.5"
    # The slot is 369 wide: 364.9 and 2 to either side, opened to the rule.
    assert float(found["the slot for L1 ends (S1)"]) - float(found["the slot for L1 begins (S1)"]) == 369.0


def test_lengths_along_short_sides_and_through_ribs_are_one_stick(by_pieces):
    stick = by_pieces["front S3"]
    assert stick.pieces == ("S3", "S4", "R1", "R2", "R3", "R4")
    found = told(stick)
    # 462.25 − 401.25, 462.25 − 8.85, 462.25 + 383.55.
    assert found["near face of R5 to R9 (R1 to R4, S3 and S4)"] == "61"
    assert found["near face of R10 to R14 (R1 to R4, S3 and S4)"] == "453.5"
    assert found["near face of R15 to R19 (R1 to R4, S3 and S4)"] == "846"
    assert found["the slot for L4 begins (S3)"] == found["the window for L4 begins (R1 to R3)"]


def test_the_x_stands_on_the_side_where_the_part_lies(by_pieces):
    sides = {one.what: one.sides for one in by_pieces["left  S1"].positions}
    assert sides["near face of R1 (S1 and S2)"] == {1}
    assert sides["LEG2 and LEG6 to here (S1 and S2)"] == {-1}
    assert sides["the slot for L1 begins (S1)"] == {0}


def check(job: Job) -> None:
    printed: dict[str, set[str]] = {}
    pages = list(stick_pages.pages(job))
    for place, page in enumerate(pages, 1):
        whole = finished(page, job, place, len(pages))
        assert overlaps(whole) == []
        assert set(too_small(whole)) <= {"Table", "Scale", "Date", "Rev.", "Set", "Page"}
        alone = Drawing(whole.width, whole.height)
        page.draw(alone, area_of(job))
        assert outside(alone, area_of(job)) == []
        texts = [text.text for text, _ in alone.texts()]
        assert [one.printed for one in page.figures if one.printed not in texts] == []
        assert page.full_size == any("bar is 100 mm" in text for text in texts)
        assert page.full_size == any("bar is 4 in" in text for text in texts)
        printed.setdefault(page.title.split(":")[0], set()).update(one.name for one in alone.items)
    for stick in sticks(job):
        names = printed[f"Story stick {stick.letter}"]
        assert {f"line {number}" for number in range(1, len(stick.positions) + 1)} <= names
        assert {"START", "start", "end"} <= names


@pytest.mark.parametrize("name", ["quilting", "seed-bench"])
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_pages_of_the_examples_are_sound(name, paper):
    check(job_of(name, paper=paper))


@pytest.mark.parametrize("seed", range(sampled(4, 12)))
def test_pages_of_random_tables_are_sound(seed):
    table, _ = sound_table(f"sticks/{seed}")
    table = replace(table, shop=replace(table.shop, paper=("a4", "letter")[seed % 2]))
    check(unchecked_job(table))


def dark_columns(page: np.ndarray, top: float, drawing: Drawing) -> np.ndarray:
    """Middles of upright lines by their ink, mm, in a raster of the upper half of a strip's band; some are dashed.

    The page fills a whole number of dots, which is up to one more than it has at 300 an inch.
    """
    down, across = page.shape[0] / drawing.height, page.shape[1] / drawing.width
    first, last = (round((drawing.height - top + below) * down) for below in (1.0, 4.0))
    ink = 255.0 - page[first:last].min(axis=0)
    dark = np.flatnonzero(ink > 25)
    runs = np.split(dark, np.flatnonzero(np.diff(dark) > 1) + 1)
    middles = [float((ink[run] * (run + 0.5)).sum() / ink[run].sum()) for run in runs if len(run)]
    return np.array(middles) / across


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_strips_measure_true_over_their_joins(paper):
    """Each line's distance from START, summed from join to join on a raster of 300 dots an inch, within 0.2 mm."""
    job = job_of("quilting", paper=paper)
    for stick in sticks(job):
        measured: dict[str, float] = {}
        joins = {"start": 0.0}
        for page in stick_pages.pages(job):
            if not page.full_size or not page.title.startswith(f"Story stick {stick.letter}:"):
                continue
            drawing = finished(page, job, 1, 1)
            raster = pypdfium2.PdfDocument(pdf_bytes([drawing]))[0].render(scale=300 / 72).to_numpy()
            gray = raster.mean(axis=2)
            for band in bands_of(drawing):
                seen = dark_columns(gray, band["band"], drawing)
                own = [(name, x) for name, x in band.items() if name != "band"]
                there = {name: float(seen[np.abs(seen - x).argmin()]) for name, x in own}
                known = next(name for name in there if name in joins)
                for name, x in there.items():
                    at = joins[known] + x - there[known]
                    (joins if name.startswith("join") else measured)[name] = at
        for number, one in enumerate(stick.positions, 1):
            assert measured[f"line {number}"] == pytest.approx(one.figure.value, abs=0.2)
        assert measured["end"] == pytest.approx(stick.length.value, abs=0.2)


def bands_of(drawing: Drawing) -> list[dict]:
    """Each strip's band: its upper edge, and where on the paper its named lines are meant to be."""
    found: list[dict] = []
    strokes = [item for item in drawing.items if isinstance(item, Stroke)]
    edges = sorted({float(item.paths[0][0, 1]) for item in strokes if item.name == "band"}, reverse=True)
    for top in edges[::2]:
        found.append({"band": top})
        for item in strokes:
            if item.name.startswith(("line", "start", "end", "join")):
                x, y = item.paths[0].max(axis=0).tolist()
                if abs(y - top) < 1.5:
                    found[-1][item.name] = x
    return found


def test_bars_are_as_long_as_they_say_and_start_is_a_triangle(quilting):
    page = next(page for page in stick_pages.pages(quilting) if page.full_size)
    drawing = finished(page, quilting, 1, 1)
    for name, length in (("bar of 100 mm", 100.0), ("bar of 4 in", 101.6)):
        first, last = (float(item.paths[0][0, 0]) for item in drawing.named(name) if isinstance(item, Stroke))
        assert last - first == pytest.approx(length, abs=1e-9)
    (triangle,) = (item for item in drawing.named("START") if isinstance(item, Fill))
    assert len(triangle.rings[0]) == 3
    assert "Print at 100 %" in " ".join(text.text for text, _ in drawing.texts())
