"""The shopping list, with what is expected counted by hand from the example tables."""

from __future__ import annotations

from dataclasses import replace

import pytest

from addon.files.editing import set_values
from addon.paper.shop import shopping
from addon.shop.job import Job
from addon.shop.shopping import Want, shopping_list
from random_tables import sound_table
from tests.large import sampled
from tests.shop_jobs import drawn_legibly, job_of, unchecked_job

pytestmark = pytest.mark.once


@pytest.fixture(scope="module")
def quilting() -> Job:
    return job_of("quilting")


@pytest.fixture(scope="module")
def bench() -> Job:
    return job_of("seed-bench")


def wanted(job: Job) -> dict[str, list[Want]]:
    found: dict[str, list[Want]] = {}
    for _, group in shopping_list(job):
        for one in group:
            found.setdefault(one.name, []).append(one)
    return found


def test_sheets_with_the_thickness_that_the_set_is_for(quilting, bench):
    """18 and 12 mm as sold, 17.7 and 11.8 by the caliper; 3/4 and 1/2 in, 23/32 and 15/32 (0.719 and 0.469)."""
    found = wanted(quilting)
    (thick,), (thin,) = found["18 mm birch plywood"], found["12 mm birch plywood"]
    assert (thick.count, thin.count) == ("2", "1")
    assert thick.size == "2440 × 1220, sold as 18"
    assert thick.note == "measure it: this set is for 17.7"
    assert thin.note == "measure it: this set is for 11.8"
    (thick,), (thin,) = wanted(bench)["3/4 in plywood"], wanted(bench)["1/2 in plywood"]
    assert (thick.count, thin.count) == ("2", "1")  # legs in three layers take 24 boards
    assert thick.size == "96 × 48, sold as 3/4"
    assert thick.note == "measure it: this set is for 0.719"
    assert thin.note == "measure it: this set is for 0.469"


def test_what_was_never_measured_is_said():
    table = job_of("quilting").table
    stock = tuple(replace(one, measured=None) if one.nominal == 12 else one for one in table.stock)
    (thin,) = wanted(unchecked_job(replace(table, stock=stock)))["12 mm birch plywood"]
    assert thin.note == "not measured yet: this set is for 12.0"


def test_bits_of_the_quilting_table(quilting):
    """From its file: corners of slots 3 mm round, so a bit of 6 mm, which the grooves take too; chamfers of 3 and 6;
    leaves rounded over by 3, sides by 6; finger holes of 25; bolts of 8 with nuts 15 over their corners."""
    found = wanted(quilting)
    assert [one.size for one in found["straight bit"]] == ["6"]
    assert "grooves and recesses in S1 and S2" in found["straight bit"][0].note
    assert "cuts 6 along each face" in found["chamfer bit, 45°, with bearing"][0].note
    assert [one.size for one in found["round-over bit with bearing"]] == ["radius 3", "radius 6"]
    assert [one.note for one in found["round-over bit with bearing"]] == ["L1 to L4", "S1 to S4"]
    assert [one.size for one in found["drill bit"]] == ["8.5"]
    assert [one.size for one in found["Forstner bit"]] == ["25", "15"]
    assert found["Forstner bit"][1].note == "counterbores of BLK1 to BLK4, before the holes through them"
    (bolts,) = found["hexagon bolts, each with washer and nut"]
    assert (bolts.count, bolts.size) == ("8", "M8 × 35")


def test_bits_of_the_seed_bench_are_inches(bench):
    found = wanted(bench)
    assert [one.size for one in found["straight bit"]] == ["1/4"]
    assert [one.size for one in found["round-over bit with bearing"]] == ["radius 1/8", "radius 1/4"]
    assert [one.size for one in found["Forstner bit"]] == ["1"]


def test_what_is_in_the_drawer_is_not_bought_again():
    found = wanted(job_of("quilting", bits=(6.0, 8.0), bushings=(17.0, 24.0)))
    assert found["straight bit"][0].note.startswith("in the drawer; ")
    assert found["guide bushing"][0].size == "17, 24"
    assert found["guide bushing"][0].note.startswith("in the drawer: ")


def test_clamps_and_how_far_they_open(quilting):
    """Short sides, 935.5 along the panel: 5 clamps over the length; a long side, 1475.5: 8 over the width."""
    found = wanted(quilting)
    assert [one.count for one in found["clamps"]] == ["12"]
    assert [(one.count, one.size) for one in found["long clamps"]] == [("5", "open 1500"), ("8", "open 960")]


def test_sheets_of_labels(quilting, bench):
    """A4: 3 labels of 63.5 across and 7 of 38.1 down. Letter: 3 of 2 5/8 in across, 10 of 1 in down, 30 a sheet, as
    they are sold (from memory)."""
    for job, many in ((quilting, 21), (bench, 30)):
        (labels,) = wanted(job)["sheets of labels"]
        count = int(labels.note.split()[0])
        assert f", {many} on a sheet" in labels.note
        assert int(labels.count) == -(-count // many)
        assert count > len(job.assembly.parts)


def assert_legible(job: Job) -> None:
    for page in shopping.pages(job):
        texts = [item.text for item, _ in drawn_legibly(page, job).texts()]
        assert "[ ]" in texts


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_pages_are_legible(quilting, bench, paper):
    for job in (quilting, bench):
        assert_legible(replace(job, table=replace(job.table, shop=replace(job.table.shop, paper=paper))))


@pytest.mark.parametrize("seed", range(sampled(2, 40)))
def test_pages_of_random_tables_are_legible(seed):
    assert_legible(unchecked_job(sound_table(f"shopping {seed}")[0]))


def test_bolts_in_inches_and_their_bits_are_fractions(bench):
    """Bolts of 5/16 in: holes 1/32 wider, nuts tapped into 9/16; two boards of 23/32 take 1 1/4 of bolt."""
    found = wanted(unchecked_job(set_values(bench.table, {"legs.kind": "bolted"})))
    assert [one.size for one in found["drill bit"]] == ["11/32"]
    assert [one.size for one in found["Forstner bit"]] == ["1", "9/16"]
    assert found["hexagon bolts, each with washer and nut"][0].size == "5/16 in × 1 1/4"
