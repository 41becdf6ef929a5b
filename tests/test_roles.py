"""One record for each kind of part, and a kind that nobody has heard of, everywhere.

Expected words and figures are written by hand; the order of assembly is common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from addon.check.apart.assembly_order import assembly_order
from addon.check.apart.blocking import blocking_of
from addon.check.prepared import prepare
from addon.check.progress import run_through
from addon.check.slide.proof import prove_leaves
from addon.check.tolerance.analysis import analyze
from addon.designs.table import build
from addon.designs.table.design import check
from addon.designs.table.figures import mass, room_below
from addon.files.editing import set_values
from addon.files.export import assembly_document, export
from addon.paper.exploded_page import exploded_page
from addon.paper.filmstrip_page import filmstrip
from addon.paper.part_labels import label_texts
from addon.paper.steps.pages import step_page, step_pictures
from addon.reports.steps import sentences_of, title_of
from addon.scene.description import describe
from addon.sizes.words import listed, plural
from addon.wood.assembly import Assembly, Joint
from addon.wood.roles import GUIDE, LEG, RIB, ROLES, role_of
from tests.line_samples import box
from tests.new_role import with_drawer_sides
from tests.old_tables import EXAMPLES

QUILTING = EXAMPLES["quilting"].table()
DRAWN = build(QUILTING)
TABLE = with_drawer_sides(DRAWN)


def test_known_roles_have_the_labels_and_places_that_they_are_known_by() -> None:
    assert {role.word: (role.prefix, role.collection) for role in ROLES.values()} == {
        "side": ("S", "Sides"),
        "bottom": ("B", "Bottom"),
        "rib": ("R", "Ribs"),
        "leaf": ("L", "Leaves"),
        "end_stop": ("STOP", "End Stops"),
        "leg": ("LEG", "Legs"),
        "foot": ("FOOT", "Foot Blocks"),
        "ledger": ("LEDG", "Ledgers"),
        "top": ("TOP", "Top Boards"),
        "runner": ("RUN", "Runners"),
        "kicker": ("KICK", "Kickers"),
        "guide": ("GUIDE", "Guides"),
        "block": ("BLK", "Corner Blocks"),
        "support": ("SUP", "Center Supports"),
    }
    assert {role.word: role.bounds_cover for role in ROLES.values() if role.bounds_cover} == {
        "side": "around",
        "top": "beside",
    }
    assert {role.word for role in ROLES.values() if role.hides_inside} == {"bottom", "top", "leg", "foot"}
    assert [role.word for role in ROLES.values() if role.slides] == ["leaf"]


def test_a_word_that_nobody_has_heard_of_is_a_role() -> None:
    one = role_of("drawer side")
    assert (one.prefix, one.one, one.many, one.collection) == (
        "DS", "drawer side", "drawer sides", "Drawer Sides"
    )  # fmt: skip
    assert one is role_of("drawer side")
    assert one != RIB
    assert role_of("rib") is RIB
    assert role_of("loose_shelf").many == "loose shelves"


@pytest.mark.parametrize(
    ("word", "prefix"),
    [
        ("stretcher", "STRE"),
        ("apron", "APRO"),
        ("legging", "LEGG"),
        ("leg", "LEG"),
        ("loose edge guard", "LOOS"),  # not LEG
        ("shelf 2", "SHEL"),  # a label S2 and a number behind it would be another's
        ("s", "SX"),
    ],
)
def test_labels_of_unknown_roles_begin_as_no_other_labels_do(word: str, prefix: str) -> None:
    assert role_of(word).prefix == prefix


def test_one_and_many() -> None:
    words = {"leg board": "leg boards", "cover leaf": "cover leaves", "bench": "benches", "body": "bodies"}
    assert {word: plural(word) for word in words} == words
    assert plural("tray") == "trays"
    assert [listed(["a"]), listed(["a", "b"]), listed(["a", "b", "c"], "or")] == ["a", "a and b", "a, b or c"]


# -- a part of an unknown role, everywhere
# ------------------------------------------------------------------------------------------------------------------


def test_the_check_takes_it_for_a_board_that_stands() -> None:
    assert check(QUILTING, TABLE).verdict == check(QUILTING, DRAWN).verdict == "clear"
    sunk = check(QUILTING, with_drawer_sides(DRAWN, sunk=2.0))
    (found,) = [one for one in sunk.findings if one.rule == "overlap"]
    assert found.message == "B1 (bottom panel) and DS1 (drawer side, front) overlap by 2.0 mm."
    assert found.amount == pytest.approx(2.0)


def test_the_figures_count_it() -> None:
    """Two boards of 300 x 30 x 12 mm at 685 kg/m³: 0.148 kg. They stand above the body's lower edge."""
    assert mass(TABLE) - mass(DRAWN) == pytest.approx(2 * 0.3 * 0.03 * 0.012 * 685)
    assert room_below(TABLE) == room_below(DRAWN)


def test_slide_goes_on_beside_it() -> None:
    """It stands above the bottom panel, where no leaf passes."""
    own, drawn = (prove_leaves(prepare(one)) for one in (TABLE, DRAWN))
    assert [one.verdict for one in own] == [one.verdict for one in drawn]


def test_tolerances_move_it_like_any_board_that_is_set_to_a_line() -> None:
    """Guides beside the leaves' ways that are called fences from now on: nothing else changes."""
    guided = build(set_values(QUILTING, {"stowing.guides": True}))
    fenced = replace(
        guided,
        parts=tuple(
            replace(one, role=role_of("fence")) if one.role == GUIDE else one for one in guided.parts
        ),
    )
    assert any(one.role.word == "fence" for one in fenced.parts)
    own, known = (analyze(one, count=100, guided=20, wanted=None) for one in (fenced, guided))
    assert own == known


def test_it_has_a_step_of_its_own_before_the_leaves() -> None:
    order = assembly_order(TABLE)
    titles = [title_of(TABLE, step) for step in order.steps]
    assert titles[-3:] == ["Ledger strips", "Drawer sides", "Cover leaves"]
    blocking = blocking_of(TABLE.parts)
    words = sentences_of(TABLE, order, len(titles) - 2, blocking, "mm")
    assert words == [
        "Put in the drawer sides DS1 and DS2 from above.",
        "Their ends stand on the bottom panel.",
    ]


def test_it_is_in_the_step_pictures_with_its_name() -> None:
    pictures = run_through(step_pictures(TABLE, "mm"))
    assert pictures[-2].parts == ["2 × drawer side: DS1 and DS2"]
    said = {item.text for item, _ in step_page(TABLE, pictures[-2], len(pictures), date="").texts()}
    assert {"DS1 drawer side", "DS2 drawer side"} <= said


def test_the_exploded_view_takes_it_apart() -> None:
    page = run_through(exploded_page(TABLE, labels=True))
    assert page.texts["DS1"] == "DS1 drawer side"
    offsets = {label: page.explosion.offset_at(label, 1.0) for label in ("DS1", "B1")}
    assert (offsets["DS1"] - offsets["B1"])[2] > 1.0  # upward, off the bottom panel
    assert page.explosion.proven


def test_pictures_of_the_inside_show_it() -> None:
    """The bottom panel and the legs are left out and named, it is not."""
    assert TABLE.hiding == ["bottom panel", "legs"]
    said = [item.text for item, _ in filmstrip(QUILTING, prepare(TABLE), date="").texts()]
    assert "Bottom panel, legs and leaves that come later not shown" in said


def test_it_is_exported_under_its_word(tmp_path) -> None:
    document = assembly_document(TABLE)
    (part,) = [part for part in document["parts"] if part["label"] == "DS2"]
    assert (part["role"], part["name"]) == ("drawer side", "drawer side, back")
    export(TABLE, tmp_path)
    assert (tmp_path / "DS2.stl").is_file()


def test_it_is_an_object_and_is_called_by_its_name() -> None:
    (found,) = [part for part in describe(TABLE).parts if part.label == "DS1"]
    assert (found.name, found.role.collection) == ("drawer side, front", "Drawer Sides")
    assert label_texts([TABLE.by_label["DS1"]]) == ["DS1 drawer side"]


# -- words that follow from joints
# ------------------------------------------------------------------------------------------------------------------


def test_layers_are_glued_each_onto_the_one_before() -> None:
    """A leg of three boards face to face: the third lies on the second, not on the first."""
    parts = [
        replace(box((60, 700, 18), (0, 0, 18.0 * at), f"LEG{at + 1}"), role=LEG, number=at + 1)
        for at in range(3)
    ]
    rib = box((100, 100, 18), (500, 0, 0), "R1")
    joints = (Joint("LEG2", "LEG1", "face"), Joint("LEG3", "LEG2", "face"))
    table = Assembly("A", (rib, *parts), joints, ())
    order = assembly_order(table)
    words = sentences_of(table, order, 0, blocking_of(table.parts), "mm")
    assert words == [
        "Glue up the legs: LEG2 onto LEG1 and LEG3 onto LEG2.",
        "Check that the ends are flush.",
    ]


def test_a_middle_layer_that_is_listed_last_goes_on_before_the_outer_one() -> None:
    """LEG1 and LEG2 do not touch each other: LEG3 lies between them."""
    heights = {"LEG1": 0.0, "LEG2": 36.0, "LEG3": 18.0}
    parts = tuple(
        replace(box((60, 700, 18), (0, 0, z), label), role=LEG, number=at + 1)
        for at, (label, z) in enumerate(heights.items())
    )
    joints = (Joint("LEG1", "LEG3", "face"), Joint("LEG2", "LEG3", "face"))
    table = Assembly("A", parts, joints, ())
    words = sentences_of(table, assembly_order(table), 0, blocking_of(parts), "mm")
    assert words[0] == "Glue up the legs: LEG3 onto LEG1 and LEG2 onto LEG3."


def test_an_l_of_two_boards_has_a_corner_to_be_square() -> None:
    order = assembly_order(DRAWN)
    words = sentences_of(DRAWN, order, 0, blocking_of(DRAWN.parts), "mm")
    assert words[1] == "Check that the ends are flush and the corner is square."


def test_codes_run_on_by_number_and_not_by_what_a_label_looks_like() -> None:
    """R5 to R19 stand in for fifteen; parts whose labels were given otherwise are listed one by one."""
    order = assembly_order(DRAWN)
    (number,) = [at for at, step in enumerate(order.steps) if title_of(DRAWN, step) == "Rib segments"]
    assert "R5 to R19" in sentences_of(DRAWN, order, number, blocking_of(DRAWN.parts), "mm")[0]
    parts = tuple(replace(part, number=None) for part in DRAWN.parts)
    own = replace(DRAWN, parts=parts)
    assert "R5, R6, R7, " in sentences_of(own, order, number, blocking_of(parts), "mm")[0]
