"""What cannot be built is refused in one sentence, and what the sentence allows can be built."""

from __future__ import annotations

import pytest

from addon.designs.table import build
from addon.designs.table.parameters import Table
from addon.files.editing import set_values
from addon.sizes.errors import AsCutError, ParameterError, PartError, TableFileError, speaking
from tests.old_tables import EXAMPLES

QUILTING = EXAMPLES["quilting"].table()
Changes = dict[str, object]

REFUSALS: list[tuple[Changes, str, str, str, str, Changes]] = [
    ({"bottom.groove_depth": 15}, "bottom.groove_depth", "15 mm", "at most 13.7 mm", "4 mm of the side must stay",
     {"bottom.groove_depth": 13.7}),
    ({"well.ledger_height": 50}, "well.ledger_height", "50 mm", "at most 40 mm", "stand below the bottom panel",
     {"well.ledger_height": 40}),
    ({"bottom.groove_slack": 6}, "bottom.groove_slack", "6 mm", "less than 6 mm", "fall out of its groove",
     {"bottom.groove_slack": 5.9}),
    ({"sides.slot_chamfer": 9, "sides.wood_above_slots": 10}, "sides.slot_chamfer", "9 mm",
     "less than 8.8 mm", "would meet",
     {"sides.slot_chamfer": 8.8}),
    ({"ribs.window_chamfer": 9, "sides.wood_above_slots": 10}, "ribs.window_chamfer", "9 mm",
     "less than 8.8 mm", "would meet",
     {"ribs.window_chamfer": 8.8}),
    ({"sides.stock": "12 mm birch plywood", "sides.lower_round_over": 12, "stowing.set_back": 13.3},
     "sides.lower_round_over", "12 mm", "less than 11.8 mm", "no thicker", {"sides.lower_round_over": 11.7}),
    ({"leaves.edge_radius": 9}, "leaves.edge_radius", "9 mm", "less than 8.8 mm", "would meet",
     {"leaves.edge_radius": 8.8}),
    ({"sides.wood_above_slots": 3}, "sides.wood_above_slots", "3 mm", "more than 3 mm",
     "meet the bottom panel's groove", {"sides.wood_above_slots": 3.1}),
    ({"sides.wood_above_slots": 2, "sides.slot_chamfer": 1}, "sides.wood_above_slots", "2 mm",
     "more than 2 mm", "run out of the ribs",
     {"sides.wood_above_slots": 2.1}),
    ({"sides.wood_below_slots": 9}, "sides.wood_below_slots", "9 mm", "more than 9 mm",
     "meet the round-over below", {"sides.wood_below_slots": 9.1}),
    ({"sides.wood_below_slots": 5, "sides.lower_round_over": 0, "ribs.window_chamfer": 6},
     "sides.wood_below_slots", "5 mm", "more than 6 mm", "run out of the ribs' lower edge",
     {"sides.wood_below_slots": 6.1}),
    ({"stow[0].offset": 600}, "stow[0].offset", "600 mm", "between -534.8 mm and 534.8 mm",
     "out of the front side",
     {"stow[0].offset": -534.85}),
    ({"stow[2].tier": "upper"}, "stow[2].tier", "upper", "'lower'", "L3 and L1 would cross on the upper tier",
     {"stow[2].tier": "lower"}),
    ({"stow[1].side": "front", "stow[1].offset": -300}, "stow[1].offset", "-300 mm",
     "a position at least 386.6 mm from that of L1", "the ways of L2 and L1 would run together",
     {"stow[1].offset": -372.7 + 386.6}),
    ({"stow[1].side": "front", "stow[1].offset": -372.7, "stow[1].tier": "lower", "leaves.count": 2, "stow[2]": None,
      "stow[3]": None, "leaves.cover_length": 700}, "stowing.tier_gap", "3 mm", "more than 6 mm",
     "pass one above the other", {"stowing.tier_gap": 6.1}),
    ({"leaves.count": 5}, "leaves.count", "5", "4, or as many [[stow]] entries", "every leaf has a stow position",
     {"leaves.count": 4}),
    ({"well.depth": 400, "table.height": 300}, "table.height", "300 mm", "at least 503.9 mm",
     "below the room's floor", {"table.height": 503.91}),
    ({"leaves.cover_length": 2000}, "leaves.cover_length", "2000 mm", "at most 1464.6 mm", "no longer than that",
     {"leaves.cover_length": 1464.6}),
    ({"leaves.cover_length": 100, "leaves.count": 8}, "leaves.count", "8", "at most 2", "only 11.4 mm wide",
     {"leaves.count": 2, "stow[2]": None, "stow[3]": None}),
    ({"leaves.count": 1, "stow[1]": None, "stow[2]": None, "stow[3]": None}, "leaves.direction", "across", "'along'",
     "wider than long",
     {"leaves.direction": "along", "leaves.cover_length": 500, "stow[0].side": "left", "stow[0].offset": 0}),
    ({"leaves.count": 1, "stow[1]": None, "stow[2]": None, "stow[3]": None, "leaves.direction": "along",
      "stow[0].side": "left", "stow[0].offset": 0}, "stow[0].offset", "0 mm", "a longer side",
     "slot would run out of the left side", {"leaves.cover_length": 500}),
    ({"leaves.direction": "along", "leaves.count": 2, "stow[2]": None, "stow[3]": None}, "stow[0].side", "front",
     "another side", "does not fit into the body through it",
     {"stow[0].side": "left", "stow[0].offset": 0, "stow[1].side": "left", "stow[1].offset": 0, "stow[1].tier": "lower",
      "stowing.tier_gap": 7}),
    ({"leaves.finger_hole": 80}, "leaves.finger_hole_inset", "35 mm", "between 41 mm and 880.6 mm",
     "the finger hole would run out of L1", {"leaves.finger_hole_inset": 41}),
    ({"leaves.finger_hole": 60, "leaves.cover_length": 210, "leaves.finger_hole_inset": 40}, "leaves.finger_hole",
     "60 mm", "at most 43.2 mm", "L1 is no wider", {"leaves.finger_hole": 43}),
    ({"ribs.through_at": [300]}, "ribs.through_at", "300 mm", "-179.4 mm and 179.4 mm or between 566 mm and 723.4 mm",
     "stand in a leaf's way", {"ribs.through_at": [566]}),
    ({"ribs.rows_at": [100]}, "ribs.rows_at", "100 mm", "between -4.1 mm and 4.1 mm", "stand in a leaf's way",
     {"ribs.rows_at": [4.15]}),
    ({"ribs.through_at": [0, 10]}, "ribs.through_at", "10 mm", "at least 35.4 mm from the rib at 0 mm",
     "room between them", {"ribs.through_at": [0, 35.4]}),
    ({"stock[2].name": "thick", "stock[2].nominal": 24, "legs.stock": "thick", "legs.width": 22}, "legs.width",
     "22 mm", "more than 24 mm and at most 462.3 mm", "make an L", {"legs.width": 25}),
]  # fmt: skip

IN_WORDS = {
    "stow[0].offset": "L1's offset",
    "stow[0].side": "L1's side",
    "stow[1].offset": "L2's offset",
    "stow[2].tier": "L3's tier",
}


@pytest.mark.parametrize(
    ("changes", "key", "value", "allowed", "why", "cure"),
    REFUSALS,
    ids=[f"{case[1]}={case[2]}" for case in REFUSALS],
)
def test_what_cannot_be_built_is_refused_in_one_sentence(
    changes: Changes, key: str, value: str, allowed: str, why: str, cure: Changes
) -> None:
    table = set_values(QUILTING, changes)
    with pytest.raises(ParameterError) as refused:
        build(table)
    error = refused.value
    assert error.key == key
    sentence = str(error)
    named = IN_WORDS.get(key, key)
    assert sentence.startswith(f"{named} = {value} cannot be built: use ")
    assert allowed in error.allowed
    assert allowed in sentence
    assert why in error.reason
    assert sentence.endswith(f", because {error.reason}.")
    assert "\n" not in sentence
    build(set_values(table, cure))


def test_parts_that_cannot_be_cut_speak_the_units_of_the_table() -> None:
    entry = {"as_cut[0].part": "R1", "as_cut[0].dimension": "thickness", "as_cut[0].deviation": -17.0}
    for units, size, least in (
        ("mm", "0.7 mm", "1.0 mm"),
        ("in", "0.028 in", "0.039 in"),
    ):  # 0.7 and 1 mm / 25.4
        table = set_values(QUILTING, {**entry, "units": units})
        with pytest.raises(AsCutError, match=rf"R1 with a thickness of {size}: use more than {least}\.$"):
            build(table)


def test_lengths_in_errors_are_said_in_the_unit_of_whoever_speaks() -> None:
    error = PartError("the groove is {depth} deep in a board of {board}.", depth=12.7, board=19.05)
    assert str(error) == "the groove is 12.7 mm deep in a board of 19.05 mm."
    assert str(error.of("S1")) == "S1: the groove is 12.7 mm deep in a board of 19.05 mm."
    assert str(error.of("")) == "The groove is 12.7 mm deep in a board of 19.05 mm."
    with (
        pytest.raises(PartError, match=r"S1: the groove is 0\.500 in deep in a board of 0\.750 in\."),
        speaking("in"),
    ):
        raise error.of("S1")


def test_a_changed_inch_table_refuses_in_inches() -> None:
    bench = EXAMPLES["seed-bench"].table()
    for changes, sentence in (
        ({"legs.width": 508}, "legs.width = 20 lies outside the allowed range; use 51/64 to 15 11/16 in."),
        (
            {"stow[1].offset": 3810},
            "L2's offset (2nd [[stow]]) = 150 lies outside the allowed range; use -78 11/16 to",
        ),
        ({"limits.load": 4000}, 'limits.load = "4000 N" lies outside the allowed range; use 0 to 449 lbf.'),
    ):
        with pytest.raises(TableFileError) as refused:
            set_values(bench, changes)
        assert str(refused.value).startswith(sentence)


def test_refusals_speak_the_units_of_the_table() -> None:
    table: Table = set_values(QUILTING, {"units": "in", "well.ledger_height": 50.8})
    with pytest.raises(ParameterError, match=r"well\.ledger_height = 2 in .*use at most 1 9/16 in,"):
        build(table)
