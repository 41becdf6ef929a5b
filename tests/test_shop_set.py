"""The shop set: pages in order, figures as JSON, files whole, and what its options refuse."""

from __future__ import annotations

import io
import json
from pathlib import Path

import pypdf
import pytest

from addon.check.progress import Steps, run_through
from addon.command_line.main import main
from addon.designs.table.build import build
from addon.designs.table.parameters import Table
from addon.files.examples import EXAMPLES
from addon.files.table_file import parse_table
from addon.paper.shop import shop_set
from addon.paper.shop.shop_set import MAKERS, SET, shop_set_steps
from addon.shop.job import Job
from addon.wood.assembly import Assembly
from tests.shop_jobs import checked_job

pytestmark = pytest.mark.usefixtures("jobs_once")
QUILTING = EXAMPLES["quilting"].text()


@pytest.fixture(scope="module")
def quilting_set() -> tuple[dict[str, bytes], dict]:
    table = parse_table(QUILTING, "quilting-table.toml")
    return run_through(shop_set_steps(table, build(table), date="2030-01-02"))


def test_every_page_is_in_the_one_file_and_alone(quilting_set):
    files, document = quilting_set
    pages = document["pages"]
    assert [page["number"] for page in pages] == list(range(1, len(pages) + 1))
    assert len(pypdf.PdfReader(io.BytesIO(files[SET])).pages) == len(pages)
    assert sum(name.endswith(".pdf") for name in files) == len(pages) + 1
    order = [kind for kind, _ in MAKERS]
    assert [order.index(page["kind"]) for page in pages] == sorted(
        order.index(page["kind"]) for page in pages
    )


def test_each_page_says_which_set_and_which_page_it_is(quilting_set):
    files, document = quilting_set
    reader = pypdf.PdfReader(io.BytesIO(files[SET]))
    for place, page in enumerate(reader.pages, 1):
        text = page.extract_text()
        for words in (
            "Quilting table",
            "2030-01-02",
            document["fingerprint"],
            f"{place} of {len(reader.pages)}",
        ):
            assert words in text


def test_printed_figures_stand_on_their_page(quilting_set):
    files, document = quilting_set
    reader = pypdf.PdfReader(io.BytesIO(files[SET]))
    for page, sheet in zip(document["pages"], reader.pages, strict=True):
        text = sheet.extract_text()
        assert [one["printed"] for one in page["figures"] if one["printed"] not in text] == []


def test_another_size_or_rule_has_another_fingerprint(quilting_set):
    table = parse_table(QUILTING.replace("length = 1500 ", "length = 1501 "), "table.toml")
    longer = run_through(shop_set_steps(table, build(table), date="2030-01-02", kinds=["cautions"]))[1]
    table = parse_table(QUILTING, "table.toml")
    coarser = run_through(
        shop_set_steps(table, build(table), date="2030-01-02", division=1.0, kinds=["cautions"])
    )[1]
    again = run_through(shop_set_steps(table, build(table), date="2031-01-02", kinds=["cautions"]))[1]
    told = [one["fingerprint"] for one in (quilting_set[1], longer, coarser)]
    assert len(set(told)) == 3
    assert again["fingerprint"] == told[0]


@pytest.fixture
def table_file(tmp_path: Path) -> Path:
    path = tmp_path / "table.toml"
    path.write_text(QUILTING, encoding="utf-8")
    return path


def test_the_command_writes_a_folder_and_says_the_three_lines(table_file, tmp_path, capsys):
    out = tmp_path / "papers"
    status = main(
        ["papers", str(table_file), "--out", str(out), "--json", "--pages", "cautions", "--paper", "letter"]
    )
    document = json.loads(capsys.readouterr().out)
    assert status == 0
    assert sorted(document["files"]) == sorted(one.name for one in out.iterdir())
    assert set(document["rounded_check"]) == {"as_drawn", "in_shop", "by_hand"}
    box = pypdf.PdfReader(out / SET).pages[0].mediabox
    # ASME Y14.1, size A (from memory): 11 by 8.5 in, at 72 points an inch.
    assert (float(box.width), float(box.height)) == pytest.approx((11 * 72, 8.5 * 72), abs=0.01)


@pytest.mark.parametrize(
    ("rule", "units", "division"),
    [
        ("1 mm", "mm", "1 mm"),
        ("0.5", "mm", "0.5 mm"),
        ("1/32", "in", "1/32 in"),
        ("1/16 in", "in", "1/16 in"),
    ],
)
def test_all_papers_have_the_unit_of_the_rule(table_file, capsys, monkeypatch, rule, units, division):
    """A fraction by itself is one of an inch: no metric rule shows any. Random tables are not asked."""

    def quickly(table: Table, _assembly: Assembly, _date: str, division: float) -> Steps[Job]:
        yield 1.0
        return checked_job(table, division)

    monkeypatch.setattr(shop_set, "job_steps", quickly)
    main(["papers", str(table_file), "--json", "--pages", "cautions", "--round", rule])
    document = json.loads(capsys.readouterr().out)
    assert document["units"] == units
    assert document["rounding"].startswith(f"Rounded to {division}, the table is ")


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        ([], "Name the folder for the papers with --out, or ask for --json alone."),
        (["--json", "--round", "20"], "--round 20 is no division of a rule"),
        (["--json", "--round", "3 lbs"], "--round 3 lbs is not a length"),
        (["--json", "--pages", "poster"], "--pages poster is no kind of page"),
    ],
)
def test_what_the_options_refuse(table_file, capsys, arguments, sentence):
    assert main(["papers", str(table_file), *arguments]) == 2
    assert sentence in capsys.readouterr().err


def test_a_set_takes_the_place_of_another(table_file, tmp_path):
    """Files of other programs among those of a set are its own too, of whichever parts."""
    out = tmp_path / "papers"
    out.mkdir()
    for name in ("part-R99.dxf", "part-R99.svg", "cut-list.csv", "shop-set.pdf"):
        (out / name).write_text("of a table that had more ribs", encoding="utf-8")
    assert main(["papers", str(table_file), "--out", str(out), "--pages", "cautions"]) == 0
    assert sorted(one.name for one in out.iterdir()) == ["01-cautions.pdf", "shop-set.pdf"]


def test_a_folder_with_another_drawing_is_left_alone(table_file, tmp_path, capsys):
    out = tmp_path / "papers"
    out.mkdir()
    (out / "bracket.dxf").write_text("mine", encoding="utf-8")
    assert main(["papers", str(table_file), "--out", str(out), "--pages", "cautions"]) == 2
    assert [one.name for one in out.iterdir()] == ["bracket.dxf"]


def test_a_folder_with_other_files_is_left_alone(table_file, tmp_path, capsys):
    out = tmp_path / "papers"
    out.mkdir()
    (out / "letter.txt").write_text("mine", encoding="utf-8")
    assert main(["papers", str(table_file), "--out", str(out), "--pages", "cautions"]) == 2
    assert [one.name for one in out.iterdir()] == ["letter.txt"]
