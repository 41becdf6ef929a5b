"""Tapers on the jig against trigonometry by hand, what the blade reaches, and the page on which they stand."""

from __future__ import annotations

from math import atan, degrees

import pytest

from addon.designs.table.parameters import Table
from addon.files.editing import set_values
from addon.files.examples import EXAMPLES
from addon.paper.shop import set_ups, steps
from addon.shop.saw import SawSettings
from addon.shop.tapers import TaperCut, taper_cuts
from tests.shop_jobs import checked_job, drawn_legibly, unchecked_job

pytestmark = pytest.mark.once

QUILTING = EXAMPLES["quilting"].table()
BENCH = EXAMPLES["seed-bench"].table()


def cuts(table: Table, **legs: object) -> tuple[TaperCut, ...]:
    return taper_cuts(unchecked_job(tapered(table, **legs)))


def tapered(table: Table, **legs: object) -> Table:
    return set_values(table, {f"legs.{name}": value for name, value in {"taper": "two", **legs}.items()})


def test_a_table_without_tapers_has_no_jig() -> None:
    assert taper_cuts(unchecked_job(QUILTING)) == ()
    assert not [page for page in set_ups.pages(unchecked_job(QUILTING)) if page.number == "tapers"]


def test_where_a_board_lies_on_the_jig() -> None:
    """Boards of 700.5, tapered by 12 over 400: the line of the taper goes on 300.5 farther, 300.5 · 12 / 400 = 9.015
    past the other end; atan(12 / 400) is 1.72 degrees; 17.7 and a tooth of 5 are 22.7, up to the next half."""
    (cut,) = cuts(QUILTING)
    assert cut.labels == tuple(f"LEG{number}" for number in range(1, 9))
    assert (cut.run.printed, cut.foot.printed, cut.back.printed) == ("400", "12", "9")
    assert cut.angle.value == pytest.approx(degrees(atan(12 / 400)), abs=0.05)
    assert (cut.lying, cut.wood.printed, cut.blade.printed, cut.reached) == ("flat", "17.7", "23", True)


def test_in_inches() -> None:
    """1/2 over 16 in of 31 5/16: 15 5/16 · 1/32 = 0.479, 15/32; atan(1 / 32) is 1.8; of 29 5/32 it is 13/32."""
    found = cuts(BENCH)
    assert {(cut.foot.printed, cut.run.printed, cut.angle.printed) for cut in found} == {("1/2", "16", "1.8")}
    backs = {cut.length.printed: cut.back.printed for cut in found}
    assert backs == {"31 5/16": "15/32", "29 5/32": "13/32"}


@pytest.mark.parametrize(("reach", "reached"), [(96.9, False), (97.0, True)])
def test_thick_legs_need_a_blade_that_goes_through_in_one_pass(reach: float, reached: bool) -> None:
    """A square leg of 80: a base of 12 below it and a tooth of 5 above it make 97."""
    found = cuts(set_values(QUILTING, {"shop.blade_reach": reach}), kind="plain", width=80.0)
    assert [(cut.lying, cut.reached) for cut in found] == [("flat", reached), ("on edge", reached)]
    assert all(len(cut.labels) == 4 for cut in found)


@pytest.mark.parametrize(("reach", "told"), [(75.0, True), (120.0, False)])
def test_the_page_warns_of_half_passes_where_the_blade_does_not_reach(reach: float, told: bool) -> None:
    table = set_values(
        QUILTING, {"legs.kind": "plain", "legs.width": 80.0, "legs.taper": "four", "shop.blade_reach": reach}
    )
    job = unchecked_job(table)
    (page,) = [page for page in set_ups.pages(job) if page.number == "tapers"]
    words = " ".join(item.text for item, _ in drawn_legibly(page, job).texts())
    assert ("never in two passes of half the depth" in " ".join(words.split())) == told
    assert "tape what fell off back" in words
    assert "hands stay behind the blade's guard" in words


def test_the_saw_s_page_has_tilted_cuts_alone() -> None:
    assert SawSettings(unchecked_job(tapered(QUILTING))).angles == ()


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("bolted", "both bolts go through"),
        ("laminated", "slides up over a corner of the dry body"),
        ("corner", "stands square in a corner"),
        ("plain", "stands square in a corner"),
    ],
)
def test_one_trial_leg_is_asked_for_first_and_one_stop_for_all(kind: str, words: str) -> None:
    job = checked_job(set_values(QUILTING, {"legs.kind": kind}))
    page = next(page for page in steps.pages(job) if page.number.startswith("dry-fits"))
    said = " ".join(item.text for item, _ in drawn_legibly(page, job).texts())
    assert words in said
    saw = next(page for page in set_ups.pages(job) if page.number.startswith("saw"))
    assert "at one stop that is not moved" in " ".join(
        item.text for item, _ in drawn_legibly(saw, job).texts()
    )
