"""Cautions: every one that has to be there is, short, readable, on its own page and where the work is done."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from addon.paper.sheet import Drawing
from addon.paper.shop import cautions, steps
from addon.paper.shop.page import area_of
from addon.wood.reserved import Reserved
from tests.page_checks import outside, overlaps, too_small
from tests.shop_jobs import job_of
from tests.test_cut_list import JOBS

pytestmark = pytest.mark.once

# What a responsible shop sheet says (common practice, no source): each by words of its own sentence.
WANTED = {
    "guard and riving knife": "riving knife and guard",
    "grooves without a guard": "grooves and rabbets",
    "push stick": "push stick",
    "small parts": "small parts",
    "router direction": "feed against the rotation",
    "widening passes": "widening passes",
    "loose waste in a slot": "loose waste in a slot",
    "thin wood at the router": "thin wood",
    "dust": "wood dust",
    "its limit, its source": "osha",
    "local limit": "your local limit applies",
    "turning over": "two people turn the table over",
    "lifting": "never by a slot's lip",
    "dropping leaf": "fingers from under a leaf",
    "sitting on a leaf": "nobody sits",
    "oily rags": "oily rags",
    "protection": "eye, ear and dust protection",
    "gloves": "no gloves, no loose sleeves",
    "changing bits": "before you change a bit or a blade",
    "fence and gauge": "never fence and miter gauge together",
    "freehand": "no freehand cuts",
    "shaving cuts": "no shaving cuts on short pieces",
    "nailer": "off the nailer's line",
    "starter hole": "starter hole before the jig saw",
    "finger in the hole": "it shears at the slot",
    "manuals first": "tool manuals, local rules and licensed trades come before",
}


CABLE = Reserved("lamp cable", "cable", (-650.0, -500.0), (200.0, 200.0), (620.0, 620.0))


@pytest.mark.parametrize(("name", "shop"), JOBS)
def test_every_caution_stands_on_the_page(name, shop):
    job = job_of(name, **shop)
    text = ""
    for page in cautions.pages(job):
        drawing, area = Drawing(300.0, 220.0), area_of(job)
        page.draw(drawing, area)
        assert overlaps(drawing) == []
        assert outside(drawing, area) == []
        assert too_small(drawing) == []
        text += " ".join(item.text for item, _ in drawing.texts()) + " "
    assert [about for about, words in WANTED.items() if words not in text.lower()] == []


def test_a_table_with_a_cable_says_first_that_it_is_for_low_voltage_alone():
    """IEC 61140 (SELV: 50 V AC, 120 V DC) and NFPA 70 (Class 2), from memory; mains is a licensed trade."""
    plain = job_of("quilting")
    wired = replace(plain, table=replace(plain.table, reserved=(CABLE,)))
    text = {}
    for job in (plain, wired):
        drawing, area = Drawing(300.0, 220.0), area_of(job)
        next(iter(cautions.pages(job))).draw(drawing, area)
        assert overlaps(drawing) == []
        assert outside(drawing, area) == []
        text[job is wired] = " ".join(item.text for item, _ in drawing.texts())
    for words in (
        "50 V AC",
        "120 V DC",
        "Class 2",
        "mains only by a licensed electrician and the local code",
        "Unplug",
    ):
        assert words in text[True]
        assert words not in text[False].replace("Unplug the tool", "")
    assert text[True].index("50 V AC") < text[True].index("Table saw")


def test_limits_of_wood_dust_are_those_of_the_page_that_is_named():
    # osha.gov, wood dust, evaluation: 15 mg/m³ total, 5 mg/m³ respirable; NIOSH 1 mg/m³.
    (sentence,) = [one for _, group in cautions.texts("mm") for one in group if "OSHA" in one]
    assert re.findall(r"(\d+) mg/m³", sentence) == ["15", "5", "1"]


def test_sentences_are_short_and_in_the_table_s_unit():
    for units, other in (("mm", " in "), ("in", " mm")):
        for _, sentences in cautions.texts(units):
            for sentence in sentences:
                assert len(sentence) <= 170
                assert "{" not in sentence
                assert re.search(r"\d" + other, sentence) is None


def test_short_ones_say_what_the_long_ones_say():
    for place in ("saw", "router", "grooves", "edges"):
        words = cautions.SHORT[place].lower()
        assert "eye, ear and dust protection" in words
        assert "unplug before changing the " in words
    assert "against the rotation" in cautions.SHORT["router"].lower()


def test_the_step_that_turns_the_table_over_says_how():
    job = job_of("quilting")
    said = []
    for page in steps.pages(job):
        drawing = Drawing(300.0, 220.0)
        page.draw(drawing, area_of(job))
        text = " ".join(item.text for item, _ in drawing.texts())
        if "Two people turn it over." in text:
            said.append(page.title)
            assert overlaps(drawing) == []
            assert outside(drawing, area_of(job)) == []
    assert len(said) == 1
