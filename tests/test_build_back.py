"""A table put together from what its part sheets say: sizes are read off the PDF's text, and the table is checked."""

from __future__ import annotations

import io
from dataclasses import dataclass, replace
from fractions import Fraction
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
    """Every part cut to what the sheet of its kind says; one that is drawn turned is measured from its other end.

    Thicknesses are those of the sheets, which the file has.
    """
    found = []
    for kind in alike_parts(papers.drawn):
        for (label,) in kind.members:
            part = papers.drawn.by_label[label]
            # What is cut to fit has figures of its own beside others that are drawn alike.
            own = [first for (first,) in kind.members if (first, "length", None) in said]
            first = papers.drawn.by_label[
                min(own, key=lambda one: abs(said[one, "length", None] - fitted(papers, label)))
            ]
            for one in part.shape.dimensions:
                if one.unit == "mm" and one.tolerance != "thickness":
                    value = value_of(one, part, first, said)
                    found.append(AsCut(label, name_of(part, one), value=value, leaf=one.leaf))
    return found


def fitted(papers: Papers, label: str) -> float:
    """Length of a part as printed, mm, by the sheet that serves it."""
    for page in papers.document["pages"]:
        lengths = {one["part"]: one for one in page["figures"] if one["dimension"] == "length"}
        if label in page["parts"] and label in lengths:
            return read(lengths[label]["printed"], papers.document["units"])
    return papers.drawn.by_label[label].shape.size[0]


def value_of(
    one: Dimension, part: Part, first: Part, said: dict[tuple[str, str, str | None], float]
) -> float:
    """A dimension of a part by the sheet of the first of its kind, mm."""
    same = [other for other in first.shape.dimensions if other.name == one.name]
    for other in same:
        if abs(other.value - one.value) < 1e-6:
            return said[key_of(first, other)]
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
    raise AssertionError(f"no sheet says {one.name} of {part.label}")


def test_every_dimension_of_every_kind_of_part_stands_on_its_sheet_once(papers: Papers) -> None:
    said = read_off(papers)
    for label in {label for label, _, _ in said}:
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


def test_the_document_says_how_to_enter_all_of_it(papers: Papers) -> None:
    """Sizes, and how far parts stand elsewhere by the running sums, as a table file has them."""
    told = tuple(AsCut(**one) for one in papers.document["as_cut"])
    assert check(replace(papers.table, as_cut=told)).answers.table.as_drawn.verdict == "clear"
