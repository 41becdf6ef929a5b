"""The general drawing and the contents: sizes written by hand from the quilting table, and pages without collisions."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from addon.check.progress import run_through
from addon.designs.table.build import build
from addon.files.examples import EXAMPLES
from addon.files.table_file import parse_table
from addon.paper.sheet import Drawing
from addon.paper.sheet.items import Stroke
from addon.paper.shop import drawing as drawing_pages
from addon.paper.shop.contents import contents as contents_of
from addon.paper.shop.page import area_of, finished
from addon.paper.shop.shop_set import MAKERS, shop_set_steps
from addon.shop.figures import Rule
from addon.shop.job import Job
from addon.shop.rounding import rounded_table
from random_tables import sound_table
from tests.large import sampled
from tests.page_checks import outside, overlaps, too_small
from tests.shop_jobs import job_of

pytestmark = [pytest.mark.once, pytest.mark.usefixtures("jobs_once")]


@pytest.fixture(scope="module")
def quilting() -> Job:
    return job_of("quilting")


def test_sizes_of_the_quilting_table(quilting):
    (page,) = drawing_pages.pages(quilting)
    told = {one.name: one.printed for one in page.figures}
    # The file's outside 1500 by 960, its top at 770 and well of 40; the body's lower edge rounded to 628.
    assert (told["overall length"], told["overall width"], told["overall height"]) == ("1500", "960", "770")
    assert told["knee clearance"] == "628"
    assert told["well depth"] == "40"
    # 770 − 628; 21 high and 45.5 above the lower edge, the panel 6 above that.
    assert told["upper edge, from the lower edge"] == "142"
    assert told["sill of the slot for L1, from the lower edge"] == "45.5"
    assert told["head of the slot for L1, from the lower edge"] == "66.5"
    assert told["underside of the bottom panel, from the lower edge"] == "72.5"
    # Leaves of 921.6 by 364.9, down to the rule, and as thick as measured.
    assert (told["length"], told["width"], told["thickness"]) == ("921.5", "364.5", "17.7")


def test_views_stand_in_first_angle_at_the_scale_that_is_named(quilting):
    (page,) = drawing_pages.pages(quilting)
    drawing = finished(page, quilting, 1, 1)
    assert page.scale == "1:20"
    words = {text.text: text for text, _ in drawing.texts()}
    assert "First angle projection." in " ".join(words)
    front, left, above = words["Front"], words["From the left"], words["From above"]
    # First angle (ISO 5456-2, from memory): seen from the left at the right of the front, seen from above below it.
    assert left.x > front.x + 1500 / 20
    assert left.y == pytest.approx(front.y)
    assert above.x == pytest.approx(front.x)
    assert above.y < front.y - 770 / 20
    outlines = np.concatenate(
        [path for item in drawing.named("outlines") if isinstance(item, Stroke) for path in item.paths]
    )
    own = outlines[(outlines[:, 0] < front.x + 76) & (outlines[:, 1] > above.y)]
    assert np.ptp(own, axis=0) == pytest.approx((1500 / 20, 770 / 20), abs=0.01)
    beside = outlines[(outlines[:, 0] > left.x - 1) & (outlines[:, 1] > above.y)]
    assert np.ptp(beside, axis=0) == pytest.approx((960 / 20, 770 / 20), abs=0.01)
    below = outlines[outlines[:, 1] < above.y]
    assert np.ptp(below, axis=0) == pytest.approx((1500 / 20, 960 / 20), abs=0.01)


def test_the_section_shows_the_slot_open_and_the_leaf_in_it(quilting):
    (page,) = drawing_pages.pages(quilting)
    drawing = finished(page, quilting, 1, 1)

    def cut(label: str) -> np.ndarray:
        strokes = [item for item in drawing.named(f"section {label}") if isinstance(item, Stroke)]
        assert strokes
        return np.concatenate([path for item in strokes for path in item.paths])

    side, leaf, panel = cut("S1"), cut("L1"), cut("B1")
    assert np.ptp(side[:, 1]) == pytest.approx(142 / 5, abs=0.01)
    bottom = side[:, 1].min()
    # No wood of the side between 45.5 and 66.5; the leaf, 17.7 thick, rests 47.3 above the side's lower edge.
    assert not ((side[:, 1] > bottom + 45.6 / 5) & (side[:, 1] < bottom + 66.4 / 5)).any()
    stowed = leaf[leaf[:, 1] < bottom + 70 / 5]
    assert stowed[:, 1].min() - bottom == pytest.approx(47.3 / 5, abs=0.01)
    assert np.ptp(stowed[:, 1]) == pytest.approx(17.7 / 5, abs=0.01)
    # As the top it ends with the side's upper edge.
    assert leaf[:, 1].max() == pytest.approx(side[:, 1].max(), abs=0.01)
    # The leaf's end stands back from the side's outer face, the panel sits in the groove.
    assert stowed[:, 0].min() - side[:, 0].min() > 17.7 / 5
    assert panel[:, 0].min() - side[:, 0].min() == pytest.approx((17.7 - 5.5) / 5, abs=0.02)


def test_the_first_page_tells_old_paper_from_new_and_whether_the_rounded_table_passes(quilting):
    (page,) = drawing_pages.pages(quilting)
    drawing = finished(page, quilting, 1, 1)
    texts = [text.text for text, _ in drawing.texts()]
    words = " ".join(texts)
    assert texts.count(quilting.fingerprint) == 2
    assert "use no old paper" in words
    assert "Measure and dry-fit before glue." in words
    for line in quilting.told.table:
        assert line.words in words
    assert quilting.rounding_words in words


def test_contents_stand_second_and_name_every_page_by_its_number(quilting):
    made = [page for _, maker in MAKERS for page in maker(quilting)]
    contents = contents_of(quilting, made)
    pages = [made[0], *contents, *made[1:]]
    listed = []
    for page in contents:
        drawing = Drawing(300, 220)
        page.draw(drawing, area_of(quilting))
        texts = [text for text, _ in drawing.texts()]
        listed += list(zip(texts[::2], texts[1::2], strict=True))
    assert [number.text for number, _ in listed] == [str(place) for place in range(1, len(pages) + 1)]
    for page, (_, title) in zip(pages, listed, strict=True):
        assert page.title.startswith(title.text.rstrip("…"))


def test_the_set_begins_with_the_drawing_and_its_contents():
    table = parse_table(EXAMPLES["seed-bench"].text(), "seed-bench.toml")
    kinds = ["drawing", "cautions"]
    _, document = run_through(shop_set_steps(table, build(table), date="2030-01-02", kinds=kinds))
    titles = [page["title"] for page in document["pages"]]
    assert titles[:2] == ["General drawing: Seed-sorting bench", "Contents"]
    assert [page["kind"] for page in document["pages"][:3]] == ["drawing", "drawing", "cautions"]


def check(job: Job) -> None:
    pages = list(drawing_pages.pages(job))
    pages += contents_of(job, pages)
    for place, page in enumerate(pages, 1):
        whole = finished(page, job, place, len(pages))
        assert overlaps(whole) == []
        assert too_small(whole) == []
        alone = Drawing(whole.width, whole.height)
        page.draw(alone, area_of(job))
        assert outside(alone, area_of(job)) == []
        texts = [text.text for text, _ in alone.texts()]
        assert [one.printed for one in page.figures if one.printed not in texts] == []


@pytest.mark.parametrize("name", ["quilting", "seed-bench"])
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_pages_of_the_examples_are_sound(name, paper):
    check(job_of(name, paper=paper))


@pytest.mark.parametrize("seed", range(sampled(4, 12)))
def test_pages_of_random_tables_are_sound(quilting, seed):
    """With the quilting table's three lines, which take longest to find."""
    table, assembly = sound_table(f"general drawing/{seed}")
    table = replace(table, shop=replace(table.shop, paper=("a4", "letter")[seed % 2]))
    check(
        replace(
            quilting,
            table=table,
            rounded=rounded_table(assembly, Rule(table.units, table.limits.rule_division)),
        )
    )
