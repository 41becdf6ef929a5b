"""Counts just work, and a size that cannot be built says the nearest that can.

Positions by hand from the drawing of the quilting table (common practice, no source); the nearest values by trying:
each builds, and the next division of the rule toward what was asked for does not.
"""

from __future__ import annotations

from dataclasses import replace
from random import Random

import pytest

from addon.designs.findings import Change
from addon.designs.table import build
from addon.designs.table.adapting import adapted_table, refusal
from addon.designs.table.changes import changed
from addon.designs.table.design import check
from addon.designs.table.nearest import nearest_to, value_of, with_nearest
from addon.designs.table.parameters import SECTIONS, Stow, Table
from addon.files.editing import adapted, set_values
from addon.files.examples import EXAMPLES
from addon.files.table_file import parse_table
from addon.sizes.declare import parameters
from addon.sizes.errors import BoundsError, DryAssemblyError, ParameterError
from scripts.random_tables import sound_tables
from tests.large import sampled

pytestmark = pytest.mark.once

QUILTING, BENCH = (EXAMPLES[name].table() for name in ("quilting", "seed-bench"))


def refused(table: Table) -> ParameterError:
    with pytest.raises(ParameterError) as caught:
        build(table)
    return caught.value


def can_be_built(table: Table) -> bool:
    try:
        build(table)
    except DryAssemblyError:
        return False
    return True


# -- counts


@pytest.mark.parametrize("name", EXAMPLES)
@pytest.mark.parametrize("count", range(2, 9))
def test_every_count_has_positions(name: str, count: int) -> None:
    """Two to eight leaves have room below both; what comes out goes together, with what was written all else kept.

    Beside the ways of eight, the end ribs stand too near behind the bolts of the quilting table's legs.
    """
    text = EXAMPLES[name].text()
    changed_text, notes = adapted(text, {"leaves.count": count})
    table = parse_table(changed_text)
    assert table.leaves.count == count
    found = check(table)
    bolts = ["no-driver"] if (name, count) == ("quilting", 8) else []
    assert [one.rule for one in found.findings] == bolts
    assert found.answers.table.as_drawn.verdict == ("tight" if bolts else "clear")
    before = EXAMPLES[name].table()
    assert replace(table, stow=before.stow, leaves=before.leaves) == before
    assert (notes == ()) == (count == len(before.stow))
    assert all(note.startswith(f"{count} leaves: positions ") for note in notes)
    comments = [line for line in text.splitlines() if line.startswith("#") and "L" not in line[:12]]
    assert [line for line in comments if line in changed_text][:8] == comments[:8]


NOTES = {
    ("quilting", 2): "2 leaves: positions chosen anew; L2 goes in through the right side (S4) now",
    ("quilting", 3): "3 leaves: positions chosen anew",
    ("quilting", 5): "5 leaves: positions kept; L5 goes in through the back (S2)",
    ("seed-bench", 3): "3 leaves: positions kept; L3 goes in through the right side (S4)",
}
"""Two leaves 730.8 wide do not go side by side through a side of 1464.6 with legs. Three take the sides that L1 to L3
had, elsewhere. Of four the middle of the long sides is free for a fifth 291.7 wide. The bench has both through its
front; its short sides are free."""


@pytest.mark.parametrize(("name", "count"), NOTES)
def test_a_note_says_what_changed(name: str, count: int) -> None:
    _, notes = adapted(EXAMPLES[name].text(), {"leaves.count": count})
    assert notes == (NOTES[name, count],)


def test_positions_set_by_hand_are_kept_where_a_leaf_more_finds_room() -> None:
    text, _ = adapted(EXAMPLES["quilting"].text(), {"leaves.count": 5})
    assert parse_table(text).stow[:4] == QUILTING.stow
    assert parse_table(text).stow[4] == Stow("back", 0.0, "upper")


def test_one_leaf_moves_where_one_is_enough() -> None:
    """Leaves 364.9 wide with 8 beside, a rib of 17.7 between their ways: 364.9 + 16 + 17.7 = 398.6 from middle to
    middle; L3 stays at 197.45, so that L4 goes to -201.15 or more: -201.5 by the rule."""
    text, notes = adapted(EXAMPLES["quilting"].text(), {"stowing.side_clearance": 8.0})
    assert notes == ("L4 moved to -201.5 mm from the middle of its side",)
    assert parse_table(text) == set_values(
        QUILTING, {"stowing.side_clearance": 8.0, "stow[3].offset": -201.5}
    )


def test_leaves_make_way_for_wider_legs() -> None:
    """Inside are ±732.3 by ±462.3, ways 368.9 wide: L1 and L2, at 372.7, clear legs of 175.1, L3 and L4, at 197.45,
    legs of 80.4. Beside wider ones they would be less than 386.6 apart: all are placed anew. The bench's leaves, at 10
    in, only move inward."""
    for width, moves in ((75.0, False), (80.0, False), (81.0, True), (90.0, True)):
        text, notes = adapted(EXAMPLES["quilting"].text(), {"legs.width": width})
        table = parse_table(text)
        assert bool(notes) == moves
        assert (table.stow == QUILTING.stow) == (not moves)
        if moves:
            assert check(table).answers.table.as_drawn.verdict == "clear"
    text, notes = adapted(EXAMPLES["seed-bench"].text(), {"legs.width": 12.5 * 25.4})
    assert parse_table(text).stow != BENCH.stow
    assert "moved to" in notes[0]


def test_a_rib_that_was_set_makes_way() -> None:
    """L1's way lies from -557.2 to -188.3: a rib at -170 is clear of it, and with leaves for 1600 it is not."""
    table = set_values(QUILTING, {"ribs.through_at": [-170.0, 170.0]})
    after, notes = adapted_table(table, set_values(table, {"leaves.gap": 0.0, "stow[0].offset": -360.0}))
    assert after.ribs.through_at == (170.0,)
    assert len(notes) == 1
    assert notes[0].startswith(
        "ribs.through_at = -170 mm left out, where a rib elsewhere would stand in a leaf's way"
    )


def test_parts_as_cut_that_are_no_more_are_left_out_and_others_are_named() -> None:
    """The fixed tops are there as long as the leaves cover a part of the well."""
    table = set_values(
        QUILTING,
        {"leaves.cover_length": 1200.0, "as_cut[0].part": "TOP1", "as_cut[0].dimension": "width",
         "as_cut[0].deviation": -1.0},
    )  # fmt: skip
    build(table)
    after, notes = adapted_table(table, set_values(table, {"leaves.cover_length": None}))
    assert after.as_cut == ()
    assert notes == ("TOP1's width as cut left out: there is none any more",)


def test_what_nothing_helps_stays_as_it_was_asked_for() -> None:
    wanted = set_values(QUILTING, {"well.depth": 20.0})
    assert adapted_table(QUILTING, wanted) == (wanted, ())
    text, notes = adapted(EXAMPLES["quilting"].text(), {"well.depth": 20.0})
    assert (parse_table(text), notes) == (wanted, ())


def test_a_file_whose_entries_and_leaves_differ_says_what_to_write() -> None:
    told = refusal(five := set_values(QUILTING, {"leaves.count": 5}), refused(five))
    assert str(told) == (
        'leaves.count = 5 cannot be built: use 4, or add [[stow]] with side = "back", offset = 0 mm, tier = "upper", or'
        " leave all [[stow]] entries out, so that positions are chosen, because every leaf has a stow position."
    )
    assert (told.keys, told.nearest) == (("leaves.count",), {"leaves.count": 4})
    build(replace(five, stow=(*QUILTING.stow, Stow("back", 0.0, "upper"))))


@pytest.mark.parametrize(
    ("outside", "count", "room", "nearest"),
    [
        # Inside 964.6 by 564.6, legs of 100 and ribs of 17.7 at both ends. Eight leaves 119.4 wide: through the long
        # sides (964.6 - 235.4 - 123.4) / 141.1, five; through the short ones (564.6 - 235.4 - 123.4) / 141.1, two.
        ("length = 1000\nwidth = 600\n[legs]\nwidth = 100", 8, 7, {"leaves.count": 3}),
        # Leaves 1161.6 long, across the greater side, go in through that side's ends alone; along the other one all do.
        ("length = 700\nwidth = 1200", 8, 5, {"leaves.direction": "along"}),
    ],
)
def test_more_leaves_than_have_room_say_for_how_many_there_is(
    outside: str, count: int, room: int, nearest: dict[str, object]
) -> None:
    table = parse_table(f"format = 4\n[table]\n{outside}\n[leaves]\ncount = {count}")
    error = refused(table)
    assert (error.key, error.reason) == ("leaves.count", f"below the table is room for {room} of this size")
    told = refusal(table, error)
    assert told.nearest == nearest
    build(set_values(table, told.nearest))


# -- the nearest value

TRIED = [
    (f"{section}.{one.name}", value)
    for section, record in SECTIONS.items()
    if section not in ("limits", "tolerances")
    for one in parameters(record)
    if one.kind in ("length", "count")
    for value in (one.low or 0.0, one.high)
    if value is not None
]
"""Each parameter, as small and as great as a file may have it."""


def is_nearest(good: Table, key: str, value: float) -> bool:
    """Whether a value cannot be built; then its refusal names it, with the nearest value that can.

    That builds, and the next division of the rule toward what was asked for does not.
    """
    table = changed(good, (Change(key, int(value) if key == "leaves.count" else float(value)),))
    try:
        build(table)
    except ParameterError as error:
        told = with_nearest(table, error, good)
    except (DryAssemblyError, BoundsError):
        return False
    else:
        return False
    assert key in told.keys, str(told)
    assert told.key == key or told.nearest, str(told)
    if key not in told.nearest:
        assert not told.nearest
        return False
    near = told.nearest[key]
    cured = changed(table, tuple(Change(name, one) for name, one in told.nearest.items()))
    build(cured)
    step = 1 if key == "leaves.count" else good.limits.rule_division
    toward = near + (step if value > near else -step)
    as_it_was = near == value_of(good, key)
    if len(told.nearest) == 1 and abs(value - near) > step * 1.001 and not as_it_was:
        between = changed(cured, (Change(key, toward),))
        assert not can_be_built(between), (str(told), toward)
    assert str(told).startswith(f"{key} = ")
    assert str(told).count(". ") == 0
    return True


@pytest.mark.parametrize("good", [QUILTING, BENCH], ids=lambda table: table.name)
def test_each_parameter_beyond_what_builds_names_itself_and_the_nearest(good: Table) -> None:
    found = {(key, value): is_nearest(good, key, value) for key, value in TRIED}
    assert sum(found.values()) >= 20, found


def test_the_same_on_random_tables() -> None:
    random, found = Random(11), 0
    for table, _ in sound_tables(sampled(4, 60), seed=7):
        for key, value in random.sample(TRIED, sampled(12, 60)):
            found += is_nearest(table, key, value)
    assert found >= sampled(4, 60)


@pytest.mark.parametrize(
    ("changes", "key", "near"),
    [
        (
            {
                "legs.width": 400.0,
                "table.width": 700.0,
                "stow[2]": None,
                "stow[3]": None,
                "leaves.count": 2,
                "stow[0].offset": -367.0,
                "stow[1].offset": 367.0,
                "leaves.cover_length": 1000.0,
            },
            "legs.width",
            332.0,
        ),  # (700 - 2 * 17.7) / 2 = 332.3
        (
            {"legs.width": 20.0, "stock[0].measured": 20.0, "legs.kind": "corner"},
            "legs.width",
            20.5,
        ),  # two boards in a corner
        ({"legs.width": 20.0}, "legs.width", 50.0),  # a board of 17.7, a head of 16 and 2 bolts of 8: 49.7
        ({"well.ledger_height": 60.0}, "well.ledger_height", 40.0),  # the well's depth
        ({"stow[3].offset": 1800.0}, "stow[3].offset", -189.5),  # L3 at 197.45, and 386.6 between the two
        ({"sides.wood_above_slots": 2.0}, "sides.wood_above_slots", 3.5),  # more than slot chamfers of 3
        ({"bottom.groove_depth": 20.0}, "bottom.groove_depth", 13.5),  # 17.7 - 4 = 13.7
        ({"leaves.edge_radius": 12.0}, "leaves.edge_radius", 8.5),  # less than half of 17.7
    ],
)
def test_nearest_by_hand(changes: dict[str, float], key: str, near: float) -> None:
    table = set_values(QUILTING, changes)
    told = refusal(table, refused(table))
    assert (told.keys, told.nearest) == ((key,), {key: near})
    assert f"(nearest: {near:g} mm)" in str(told)


def test_in_inches_the_nearest_is_a_thirty_second() -> None:
    """Sheets of 23/32: less than 23/64 on each face, which is 11/32 = 22/64."""
    table = set_values(BENCH, {"leaves.edge_radius": 12.0})
    told = refusal(table, refused(table))
    assert told.nearest == {"leaves.edge_radius": pytest.approx(11 / 32 * 25.4)}
    assert "(nearest: 11/32 in)" in str(told)


def test_two_values_are_changed_where_one_is_not_enough() -> None:
    """Boards of 12 mm hold no chamfers of 6 on both faces: windows and leading edges both get 5.5."""
    thin = 'format = 4\n[[stock]]\nname = "18 mm birch plywood"\nnominal = 12\nmeasured = 12\n'
    table = parse_table(thin + '[[stock]]\nname = "12 mm birch plywood"\nnominal = 12\nmeasured = 12')
    assert nearest_to(table, "ribs.window_chamfer") == {
        "ribs.window_chamfer": 5.5,
        "leaves.lead_chamfer": 5.5,
    }
    told = refusal(table, refused(table))
    assert told.keys == ("ribs.window_chamfer", "leaves.lead_chamfer")
    assert "(nearest: 5.5 mm and leaves.lead_chamfer = 5.5 mm)" in str(told)


def test_a_choice_and_a_line_of_ribs_have_a_nearest_too() -> None:
    """A rib at 210 stands in L2's way, which begins at 188.25: 17.7 / 2 before it is 179.4, and 179 by the rule."""
    table = set_values(QUILTING, {"ribs.through_at": [0.0, 210.0]})
    assert refusal(table, refused(table)).nearest == {"ribs.through_at": (0.0, 179.0)}
    crossing = set_values(QUILTING, {"stow[2].tier": "upper"})
    assert refusal(crossing, refused(crossing)).nearest == {"stow[2].tier": "lower"}
    assert value_of(crossing, "stow[2].tier") == "upper"
