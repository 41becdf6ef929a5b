"""A table put together from what its part sheets say: sizes are read off the PDF's text, and the table is checked."""

from __future__ import annotations

import io
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import product
from typing import Any

import pypdf
import pytest

from addon.check.progress import run_through
from addon.designs.table.build import build
from addon.designs.table.design import check
from addon.designs.table.parameters import Table
from addon.files.examples import EXAMPLES
from addon.paper.shop.shop_set import SET, shop_set_steps
from addon.wood.assembly import Assembly
from addon.wood.dimensions import AsCut, name_of
from addon.wood.features import Dimension
from addon.wood.part import Part
from addon.wood.same import alike_parts

pytestmark = [pytest.mark.once, pytest.mark.usefixtures("jobs_once")]

MM = {"mm": Fraction(1), "in": Fraction(254, 10)}
"""An inch is exactly 25.4 mm (NIST SP 811, appendix B)."""


@dataclass(frozen=True)
class Papers:
    """A table with the document of its part sheets, and the text of each."""

    table: Table
    drawn: Assembly
    document: dict[str, Any]
    texts: list[str]


@pytest.fixture(scope="module", params=["quilting", "seed-bench"])
def papers(request: pytest.FixtureRequest) -> Papers:
    table = EXAMPLES[request.param].table()
    drawn = build(table)
    files, document = run_through(shop_set_steps(table, drawn, date="2030-01-02", kinds=["part-sheet"]))
    texts = [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(files[SET])).pages]
    return Papers(table, drawn, document, texts)


def read(printed: str, units: str) -> float:
    """A size as it stands on the paper, mm: ``924.5``, ``26 9/16``, ``0.477``."""
    return float(sum(Fraction(part) for part in printed.split()) * MM[units])


def read_off(papers: Papers) -> dict[tuple[str, str, str | None], float]:
    """(label, name of the dimension, leaf) → what the sheets say, mm; each figure stands in its sheet's text."""
    found = {}
    for page, text in zip(papers.document["pages"], papers.texts, strict=True):
        lines = " ".join(text.split())
        for figure in page["figures"]:
            if figure["dimension"]:
                assert figure["printed"] in lines, (page["title"], figure)
                key = figure["part"], figure["dimension"], figure.get("leaf")
                assert key not in found, key
                found[key] = read(figure["printed"], papers.document["units"])
    return found


def key_of(part: Part, one: Dimension) -> tuple[str, str, str | None]:
    return part.label, name_of(part, one), one.leaf


def entries(papers: Papers, said: dict[tuple[str, str, str | None], float]) -> list[AsCut]:
    """Every part cut to what its sheet says; what is drawn turned there is measured from its other end.

    Thicknesses are those of the stock, which the file has.
    """
    found = []
    for kind in alike_parts(papers.drawn):
        for (label,) in kind.members:
            part = papers.drawn.by_label[label]
            for one in part.shape.dimensions:
                if one.unit == "mm" and one.tolerance != "thickness":
                    value = said.get(key_of(part, one))
                    if value is None:
                        value = turned(one, part, papers.drawn.by_label[kind.first[0]], said)
                    found.append(AsCut(label, name_of(part, one), value=value, leaf=one.leaf))
    return found


def turned(one: Dimension, part: Part, first: Part, said: dict[tuple[str, str, str | None], float]) -> float:
    """A place on a part by the sheet of the first of its kind, which is the same turned end for end, mm."""
    same = [other for other in first.shape.dimensions if other.name == one.name]
    length, new_length = first.shape.size[0], said[first.label, "length", None]
    for other in same:
        sizes = [(0.0, 0.0)] + [
            (size.value, said[key_of(first, size)])
            for size in first.shape.dimensions
            if size.number == other.number and size.name.endswith("_width")
        ]
        for size, new_size in sizes:
            if abs(length - other.value - size - one.value) < 1e-6:
                return new_length - said[key_of(first, other)] - new_size
    if one.name.startswith("angled_hole"):  # along its edge, which may be an end
        for other, axis in product(same, (0, 1)):
            whole = said[first.label, ("length", "width")[axis], None]
            if abs(other.value - one.value) < 1e-6:
                return said[key_of(first, other)]
            if abs(first.shape.size[axis] - other.value - one.value) < 1e-6:
                return whole - said[key_of(first, other)]
    raise AssertionError(f"no sheet says {one.name} of {part.label}")


def test_every_dimension_of_every_kind_of_part_stands_on_its_sheet_once(papers: Papers) -> None:
    said = read_off(papers)
    for label in {kind.first[0] for kind in alike_parts(papers.drawn)}:
        part = papers.drawn.by_label[label]
        wanted = {key_of(part, one) for one in part.shape.dimensions if one.unit == "mm"}
        assert wanted <= {key for key in said if key[0] == label}
    served = {label for page in papers.document["pages"] for label in page["parts"]}
    assert served == set(papers.drawn.by_label)


def test_every_size_is_that_of_the_model_within_its_rounding(papers: Papers) -> None:
    """Within one division, and what the running sums of a row leave to the part that is cut to fit within two."""
    division = papers.table.limits.rule_division
    for (label, name, leaf), value in read_off(papers).items():
        part = papers.drawn.by_label[label]
        (drawn,) = (
            one.value for one in part.shape.dimensions if (name_of(part, one), one.leaf) == (name, leaf)
        )
        assert abs(value - drawn) < 2 * division, (label, name)


def test_the_table_that_the_sheets_say_has_the_verdict_that_they_were_checked_with(papers: Papers) -> None:
    said = read_off(papers)
    built = replace(papers.table, as_cut=tuple(entries(papers, said)))
    found = check(built).answers.table
    checked = papers.document["rounded_check"]
    assert papers.document["passes"]
    assert found.as_drawn.verdict == checked["as_drawn"]["verdict"] == "clear"
    assert found.by_hand.verdict == checked["by_hand"]["verdict"]


@pytest.mark.parametrize("wrong", ["length", "slot_height"])
def test_a_sheet_that_says_another_size_makes_another_table(papers: Papers, wrong: str) -> None:
    """A rib 3 mm longer than printed does not go in; a slot 4 mm lower does not let its leaf through."""
    said = read_off(papers)
    label = "R1" if wrong == "length" else "S1"
    by = 3.0 if wrong == "length" else -4.0
    key = next(key for key in said if key[:2] == (label, wrong))
    built = replace(papers.table, as_cut=tuple(entries(papers, said | {key: said[key] + by})))
    assert check(built).answers.table.as_drawn.verdict == "blocked"


def test_what_the_document_says_of_each_part_is_enough_without_turning_any(papers: Papers) -> None:
    """Every part has its own figures; places that are not printed for it are off by less than half a division."""
    said = read_off(papers)
    assert {label for label, name, _ in said if name == "length"} == set(papers.drawn.by_label)
    told = [
        AsCut(label, name, degrees=value)
        if name.endswith("_angle")
        else AsCut(label, name, value=value, leaf=leaf)
        for (label, name, leaf), value in said.items()
        if name != "thickness"
    ]
    assert check(replace(papers.table, as_cut=tuple(told))).answers.table.as_drawn.verdict == "clear"


def test_the_document_says_how_to_enter_all_of_it(papers: Papers) -> None:
    """Sizes, and how far parts stand elsewhere by the running sums, as a table file has them."""
    told = tuple(AsCut(**one) for one in papers.document["as_cut"])
    assert check(replace(papers.table, as_cut=told)).answers.table.as_drawn.verdict == "clear"
