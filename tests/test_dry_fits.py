"""Dry fits, glue-ups and the pages of the steps, with what is expected worked out by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from addon.check.apart.assembly_order import assembly_order
from addon.files.examples import EXAMPLES
from addon.files.table_file import parse_table
from addon.paper.sheet.items import Fill, Stroke
from addon.paper.shop import steps
from addon.paper.shop.page import area_of, sheet_of
from addon.shop.dry_fits import GlueUp, body_diagonal, feelers, glue_ups, leaf_diagonals
from addon.shop.job import Job
from random_tables import sound_table
from tests.large import sampled
from tests.shop_jobs import checked_job, drawn_legibly, job_of

pytestmark = pytest.mark.once


def with_shop(job: Job, **shop: object) -> Job:
    return replace(job, table=replace(job.table, shop=replace(job.table.shop, **shop)))


@pytest.fixture(scope="module")
def quilting() -> Job:
    return job_of("quilting")


@pytest.fixture(scope="module")
def bench() -> Job:
    return job_of("seed-bench")


def glued(job: Job) -> dict[str, GlueUp]:
    """Label → the first glue-up that the part is in."""
    found: dict[str, GlueUp] = {}
    for one in glue_ups(job, assembly_order(job.assembly)):
        for go in one.goes:
            for label in go.parts:
                found.setdefault(label, one)
    return found


# --- what is measured ---


def test_diagonals_by_pythagoras(quilting, bench):
    """1500 × 960: √(1500² + 960²) = 1780.9, on a rule with half millimeters 1781. 60 × 28 in: 66.21 in, or 66 7/32.
    Leaves of 921.5 × 364.5: 990.97, which is 991."""
    assert body_diagonal(quilting).printed == "1781"
    assert body_diagonal(bench).printed == "66 7/32"
    assert [(labels, one.printed) for labels, one in leaf_diagonals(quilting)] == [
        (("L1", "L2", "L3", "L4"), "991")
    ]


def test_a_feeler_is_the_thickest_that_goes_in(quilting):
    """Feelers come in steps of 0.05 mm: the one printed goes in, the next one does not."""
    for one, leaf in zip(feelers(quilting), quilting.report.leaves, strict=True):
        assert one.leaf == leaf.leaf
        assert one.thickness.value <= leaf.clearance + 1e-6 < one.thickness.value + 0.05 + 1e-6
        assert math.isclose(round(one.thickness.value / 0.05) * 0.05, one.thickness.value)
        assert one.thickness.printed == f"{one.thickness.value:.2f}"


def test_where_nothing_goes_in_there_is_no_feeler(quilting):
    tight = replace(quilting.report.leaves[0], clearance=0.04)
    job = replace(quilting, report=replace(quilting.report, leaves=(tight, *quilting.report.leaves[1:])))
    assert feelers(job)[0].thickness is None
    assert "mend this first" in words_of(job)


# --- glue-ups ---


def test_clamps_by_hand(quilting):
    """A clamp each 200 mm, 12 at hand. A through rib is 924.5 long on the panel: 5, so two ribs at a time. Segments of
    156, 411 and 260: 1, 3 and 2, a row 1 + 3 + 2 + 3 + 1 = 10, all three 30. The short sides, 935.5 along the panel's
    groove, face each other: 5 clamps press both. A long side is 1475.5 along the panel: 8. Leg boards: 700.5, 4 a leg.
    """
    found = glued(quilting)
    assert [[one for one in go.parts if one[0] == "R"] for go in found["R1"].goes] == [
        ["R1", "R2"],
        ["R3", "R4"],
    ]
    assert [go.clamps for go in found["R1"].goes] == [10, 10]
    assert sum(go.clamps for go in found["R5"].goes) == 30
    assert max(go.clamps for go in found["R5"].goes) <= 12
    assert [(go.parts, go.clamps) for go in found["S3"].goes] == [(("S3", "S4"), 5)]
    assert [go.clamps for go in found["S1"].goes] == [8]
    assert [go.clamps for go in found["LEG1"].goes] == [12, 4]


def test_more_clamps_need_fewer_goes(quilting):
    found = glued(with_shop(quilting, clamps=30, open_time=12.0))
    assert [len(found[label].goes) for label in ("R1", "R5", "LEG1")] == [1, 1, 1]
    found = glued(with_shop(quilting, clamps=30, clamp_spacing=400.0))
    assert found["R1"].clamps == 4 * 3  # 924.5 / 400


def test_glue_that_sets_fast_takes_more_goes(quilting):
    """Fifteen segments take half a minute each and 5.9 m of joint to spread at 2 m a minute: 10.5 minutes in all. In
    6 minutes that is two goes, in 4 three."""
    clamps = with_shop(quilting, clamps=60)
    goes = {minutes: glued(with_shop(clamps, open_time=minutes))["R5"].goes for minutes in (12.0, 6.0, 4.0)}
    assert [len(one) for one in goes.values()] == [1, 2, 3]
    total = goes[12.0][0]
    assert total.minutes == pytest.approx(15 * 0.5 + total.length / 2000)
    assert 5800 < total.length < 6000
    assert all(go.minutes <= minutes for minutes, one in goes.items() for go in one)


def test_which_leaves_go_home_before_the_glue_sets(quilting):
    found = glued(quilting)
    assert found["R1"].leaves == ("L3", "L4")  # the through ribs bear the lower tier's windows
    assert "L1" in found["S1"].leaves
    assert "L2" in found["S2"].leaves
    assert found["GUIDE1"].leaves == ("L1", "L2")
    assert found["LEDG1"].leaves == ()


def test_every_glued_part_is_in_a_go(quilting, bench):
    for job in (quilting, bench):
        order = assembly_order(job.assembly)
        put_in = {label for step in order.steps if step.kind == "put-in" for label in step.moved}
        done = {label for one in glue_ups(job, order) for go in one.goes for label in go.parts}
        joints = [one for one in job.assembly.joints if one.fastening == "glue"]
        assert {label for one in joints for label in (one.a, one.b)} <= done
        assert done <= put_in


# --- pages ---


def texts_of(job: Job) -> list[str]:
    found = []
    for page in steps.pages(job):
        drawing = sheet_of(job).drawing("")
        page.draw(drawing, area_of(job))
        found += [item.text for item, _ in drawing.texts()]
    return found


def words_of(job: Job) -> str:
    return " ".join(texts_of(job))


def is_gray(color: str) -> bool:
    return color[1:3] == color[3:5] == color[5:7]


def assert_legible(job: Job) -> None:
    for page in steps.pages(job):
        drawing = drawn_legibly(page, job)
        colors = {one.pen.color for one in drawing.items if isinstance(one, Stroke)}
        colors |= {one.color for one in drawing.items if isinstance(one, Fill)}
        assert [one for one in colors if not is_gray(one)] == []


@pytest.mark.parametrize(("name", "paper"), [("quilting", "a4"), ("quilting", "letter"), ("bench", "letter")])
def test_pages_are_legible(name, paper, request):
    assert_legible(with_shop(request.getfixturevalue(name), paper=paper))


@pytest.mark.parametrize("seed", range(sampled(2, 30)))
def test_pages_of_random_tables_are_legible(seed):
    assert_legible(checked_job(sound_table(f"steps {seed}")[0]))


def test_the_square_body_is_asked_for_when_all_sides_stand(quilting):
    asked = [page.title for page in steps.pages(quilting) for figure in page.figures
             if figure.name == "diagonal of the body"]  # fmt: skip
    assert len(asked) == 2
    assert asked[0] == "Trial pieces and dry fits"
    assert "ack side" in asked[1]  # the last of the sides


def test_what_is_wrong_with_the_table_is_said_first():
    text = (
        EXAMPLES["quilting"].text()
        + '\n[[as_cut]]\npart = "R1"\ndimension = "window_height"\ndeviation = -6\n'
    )
    job = checked_job(parse_table(text, "table.toml"))
    first = next(iter(steps.pages(job)))
    drawing = sheet_of(job).drawing("")
    first.draw(drawing, area_of(job))
    words = " ".join(item.text for item, _ in drawing.texts())
    assert "Mend this first" in words
    assert "R1" in words


def test_sizes_are_those_of_the_part_sheets(bench):
    for page in steps.pages(bench):
        for figure in page.figures:
            if figure.part and figure.dimension:
                part = bench.drawn.by_label[figure.part]
                one = next(
                    d for d in part.shape.dimensions if d.name == figure.dimension and d.number is None
                )
                assert figure.printed == bench.rounded.figure(part, one).printed
