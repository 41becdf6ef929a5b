"""The three lines in words and in short, and on every page: read back from SVG and PDF.

Answers are written by hand here, and so are the words that have to come of them. Shares: 200 tables of which 174 work
are 87 %.
"""

from __future__ import annotations

import itertools
import xml.etree.ElementTree as ET
from io import BytesIO

import pypdf
import pytest

from addon.check.answer import Answer, AsDrawn, ByHand, Works
from addon.check.prepared import prepare
from addon.check.progress import run_through
from addon.check.slide.proof import prove_leaves
from addon.check.tolerance import shop
from addon.check.tolerance.analysis import analyze
from addon.check.tolerance.statistics import share
from addon.command_line.edge import answered
from addon.command_line.main import main
from addon.designs.table import build
from addon.designs.words.answer import Line, Told, three_lines
from addon.files.editing import set_values
from addon.files.examples import EXAMPLES
from addon.files.table_file import parse_table
from addon.paper.exploded_page import exploded_picture
from addon.paper.filmstrip_page import filmstrip
from addon.paper.sheet import Drawing
from addon.paper.sheet.clip import Rectangle
from addon.paper.sheet.lettering import text_box
from addon.paper.sheet.save import drawing_bytes
from addon.paper.sheet.sheet import A4, Titles, draw_title_block
from addon.paper.slide_page.page import side_picture, slide_files
from addon.paper.steps.pages import step_files
from addon.paper.table_page import line_picture
from addon.paper.tolerance_page import save_tolerance_pictures
from addon.paper.variants_page import side_by_side_picture
from addon.reports.variants import variants_of

pytestmark = pytest.mark.usefixtures("worked_out_once")

SOUND = Answer(
    AsDrawn("clear", 1.5), ByHand("guides-itself", 12.9, share(200, 200)), Works(share(200, 200), 0.7)
)
STEERED = Answer(
    AsDrawn("tight", 0.3), ByHand("needs-steering", 1.44, share(0, 200)), Works(share(174, 200), -0.25)
)
BLOCKED = Answer(
    AsDrawn("blocked", -12.5), ByHand("does-not-pass", None, share(0, 200)), Works(share(0, 200), -12.5)
)
OVERLAPS = Answer(AsDrawn("blocked", 1.5), ByHand("needs-steering", 0.0), None)


@pytest.mark.parametrize(
    ("answer", "short", "grades"),
    [
        (SOUND, ("clear, 1.5 mm", "all of 200 work", "guides itself"), ("good", "good", "good")),
        (STEERED, ("tight, 0.3 mm", "87 % of 200 work", "steer to ±1.4 mm"), ("watch", "watch", "watch")),
        (BLOCKED, ("blocked by 12.5 mm", "none of 200 work", "does not pass"), ("bad", "bad", "bad")),
        (OVERLAPS, ("blocked", "not worked out yet", "lead the nose in"), ("bad", "open", "watch")),
    ],
)
def test_short_lines_and_how_good_they_are(answer, short, grades) -> None:
    lines = three_lines(answer, "mm", 0.99)
    assert [one.name for one in lines] == ["as drawn", "in the shop", "by hand"]
    assert tuple(one.short for one in lines) == short
    assert tuple(one.grade for one in lines) == grades
    assert all(len(one.short) <= 22 for one in lines), "the sidebar has room for about as many"


def test_lines_in_full() -> None:
    assert [one.words for one in three_lines(STEERED, "mm", 0.99)] == [
        "tight, smallest clearance 0.3 mm",
        "174 of 200 tables (87 %) work, the worst of them lacks 0.25 mm",
        "needs steering to ±1.4 mm at the outer end; none of 200 tables guide their leaves",
    ]
    assert [one.words for one in three_lines(SOUND, "mm", 0.99)] == [
        "clear, smallest clearance 1.5 mm",
        "all of 200 tables work, the worst of them with 0.7 mm to spare",
        "guides itself with the outer end up to 12 mm off line; all of 200 tables guide their leaves",
    ]


def test_a_share_is_as_good_as_what_is_asked_for() -> None:
    """199 of 200 are 99.5 %: enough for 99 %, too few for 99.9 %; none is bad whatever is asked."""
    nearly = Answer(
        AsDrawn("clear", 1.5), ByHand("guides-itself", None, share(199, 200)), Works(share(199, 200), -0.1)
    )
    for wanted, grade in ((0.99, "good"), (0.999, "watch")):
        _, shop, hand = three_lines(nearly, "mm", wanted)
        assert (shop.grade, hand.grade) == (grade, grade)
    assert three_lines(nearly, "mm", 0.999)[2].short == "guides itself, 99.5 %"


def test_while_more_tables_are_made_the_line_says_so() -> None:
    many = Answer(AsDrawn("clear", 1.5), ByHand("guides-itself", None), Works(share(9968, 10_000), -0.3))
    assert three_lines(many, "mm", 0.99)[1].short == "99.7 % of 10,000 work"
    assert three_lines(SOUND, "mm", 0.99, so_far=True)[1].short == "all of 200 so far"
    assert three_lines(OVERLAPS, "mm", 0.99, so_far=True)[1].short == "being worked out"


# -- on paper


LINES = three_lines(BLOCKED, "mm", 0.99)
SAID = [one.words for one in LINES]
NAMES = ["As drawn", "In the shop", "By hand"]


def answer_of(drawing: Drawing) -> list[str]:
    """What the footers of a page say."""
    return [item.text for item in drawing.named("answer")]


def in_pdf(drawing: Drawing) -> str:
    """All words of a page's PDF."""
    (page,) = pypdf.PdfReader(BytesIO(drawing_bytes(drawing, "page.pdf"))).pages
    return " ".join(page.extract_text().split())


def in_svg(drawing: Drawing) -> str:
    """All words of a page's SVG."""
    root = ET.fromstring(drawing_bytes(drawing, "page.svg"))
    return " ".join(root.itertext())


@pytest.fixture(scope="module")
def seed_bench():
    return EXAMPLES["seed-bench"].table()


@pytest.fixture(scope="module")
def pages(seed_bench) -> dict[str, Drawing]:
    """Every page that has a title block, with an answer written by hand."""
    assembly = build(seed_bench)
    prepared = prepare(assembly)
    proof = prove_leaves(prepared)[0]
    return {
        "table": line_picture(assembly, date="D", answer=LINES),
        "exploded": exploded_picture(assembly, date="D", answer=LINES),
        "filmstrip": filmstrip(seed_bench, prepared, date="D", leaves=["L1"], answer=LINES),
        "slide": side_picture(
            proof.side.proof, table="T", leaf="L1", view="side", units="in", date="D", answer=LINES
        ),
    }


@pytest.mark.parametrize("name", ["table", "exploded", "filmstrip", "slide"])
def test_a_page_says_the_three_lines_in_its_title_block(pages, name) -> None:
    page = pages[name]
    assert answer_of(page) == SAID
    for words in (*SAID, *NAMES, "Measure and dry-fit before glue."):
        assert words in in_pdf(page)
        assert words in in_svg(page)


@pytest.mark.parametrize("name", ["table", "exploded", "filmstrip", "slide"])
def test_the_lines_stand_in_the_block_at_a_size_that_can_be_read(pages, name) -> None:
    """ISO 3098-1 has 1.8 mm as the smallest height of capitals (from memory)."""
    page = pages[name]
    right, bottom = page.width - 10.0, 10.0
    block = (right - 180.0, bottom, right, bottom + 32.0)
    boxes = []
    for item in page.named("answer"):
        box = text_box(item)
        assert item.size >= 1.8
        assert block[0] < box[0]
        assert box[2] < block[2]
        assert block[1] < box[1]
        assert box[3] < block[3]
        boxes.append((box[1] + item.size * 0.35, box[3] - item.size * 0.35))
    for upper, lower in itertools.pairwise(boxes):
        assert lower[1] < upper[0], "one below the other"


def test_steps_say_them_on_every_sheet(seed_bench) -> None:
    """As SVG: the sheet with all steps, and the sheet of each."""
    files = run_through(step_files(build(seed_bench), "in", "svg", date="D", answer=LINES))
    assert len(files) > 3
    for name, content in files.items():
        words = " ".join(ET.fromstring(content).itertext())
        assert all(one in words for one in SAID), name


def test_pages_of_a_leaf_say_that_of_the_leaf(seed_bench, tmp_path) -> None:
    prepared = prepare(build(seed_bench))
    own = {leaf: three_lines(one, "in", 0.99) for leaf, one in {"L1": SOUND, "L2": STEERED}.items()}
    told = Told(LINES, own)
    files = run_through(slide_files(seed_bench, prove_leaves(prepared), "D", [".svg"], told))
    report = analyze(prepared.assembly, count=100, guided=0, wanted=None)
    save_tolerance_pictures(report, "in", tmp_path, "D", [".svg"], told)
    pages = files | {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    for leaf, lines in own.items():
        mine = [content for name, content in pages.items() if name.startswith(leaf)]
        assert len(mine) == 4
        for content in mine:
            words = " ".join(ET.fromstring(content).itertext())
            assert all(one.words in words for one in lines)


def test_variants_have_their_lines_under_their_names(seed_bench) -> None:
    variants = variants_of(seed_bench, ["Deep: well.depth=2"])
    answers = [three_lines(SOUND, "in", 0.99), LINES]
    page = side_by_side_picture(variants, date="D", answers=answers)
    wanted = [f"{name}: {line.short}" for own in answers for name, line in zip(NAMES, own, strict=True)]
    assert answer_of(page) == wanted
    named = {item.text: item for item in page.named("variant")}
    for number, head in enumerate(named.values()):
        for item in page.named("answer")[3 * number : 3 * number + 3]:
            assert item.y < head.y
            assert abs(item.x - head.x) < 6.0


def test_a_block_without_an_answer_has_none(seed_bench) -> None:
    assert answer_of(line_picture(build(seed_bench), date="D")) == []
    drawing = A4.drawing("T")
    draw_title_block(drawing, A4, Titles("T", "V", "1:1", "D"))
    assert answer_of(drawing) == []


def test_a_long_line_is_made_smaller_and_stays_in_the_block() -> None:
    drawing, frame = A4.drawing("T"), A4.frame
    long = Line("by hand", "needs steering " * 30, "s", "watch")
    draw_title_block(drawing, A4, Titles("T", "V", "1:1", "D", answer=(long,) * 3))
    box: Rectangle = text_box(drawing.named("answer")[0])
    assert box[2] < frame[2]
    assert answer_of(drawing)[0].endswith("…")


# -- from the command line


LOW_WINDOW = '\n[[as_cut]]\npart = "R3"\ndimension = "length"\ndeviation = 4.0\n'


def test_a_leaf_that_is_clear_says_that_its_table_is_blocked() -> None:
    """R3 is 4 mm too long: no leaf's way is blocked by that alone, the table is."""
    table = parse_table(EXAMPLES["quilting"].text() + LOW_WINDOW, "t")
    told = answered(table, build(table))
    assert told.table[0].grade == "bad"
    assert told.table[0].words.startswith("blocked")
    clear = [lines[0] for lines in told.leaves.values() if lines[0].words.startswith("clear")]
    assert clear
    assert all(one.words.endswith("; but the table is blocked") and one.grade == "watch" for one in clear)


@pytest.mark.parametrize(
    "options", [(), ("--exploded",), ("--filmstrip",)], ids=["lines", "exploded", "filmstrip"]
)
def test_draw_says_what_check_says_of_a_blocked_table(tmp_path, capsys, options) -> None:
    file, image = tmp_path / "t.toml", tmp_path / "t.svg"
    file.write_text(EXAMPLES["quilting"].text() + LOW_WINDOW)
    assert main(["draw", str(file), "--image", str(image), *options]) == 0
    words = " ".join(ET.fromstring(image.read_bytes()).itertext())
    table = parse_table(file.read_text(), "t")
    for line in answered(table, build(table)).table:
        assert line.words in words
    assert "As drawn blocked" in " ".join(words.split())
    capsys.readouterr()


# -- the random tables behind the line in the shop


def noting(steps, said: list[float]):
    """Some work that notes what it says of its progress."""
    while True:
        try:
            done = next(steps)
        except StopIteration as end:
            return end.value
        said.append(done)
        yield done


def test_random_tables_in_small_pieces_are_the_same_tables(seed_bench, monkeypatch) -> None:
    """Where some work and some do not: 0.1 mm above and below each leaf."""
    changed = {"stowing.clearance_above": 0.1, "stowing.clearance_below": 0.1}
    prepared = prepare(build(set_values(seed_bench, changed)))
    whole = run_through(shop.Shop(500).steps(prepared, []))
    monkeypatch.setattr(shop, "_AT_ONCE", 70)
    said: list[float] = []
    assert run_through(noting(shop.Shop(500).steps(prepared, []), said)) == whole
    assert 0 < whole.works.count < 500
    assert len(said) > 4 * 8
    assert said == sorted(said)


def test_a_shop_forgets_the_rows_it_met_first(seed_bench, monkeypatch) -> None:
    monkeypatch.setattr(shop, "_MOST_ROWS", 3)
    own = shop.Shop(50)
    prepared = prepare(build(seed_bench))
    assert run_through(own.steps(prepared, [])) == run_through(shop.Shop(50).steps(prepared, []))
    assert len(own._rows) == 3
