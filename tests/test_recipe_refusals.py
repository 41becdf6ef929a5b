"""What cannot be built is refused in one sentence, and what the sentence allows can be built."""

from __future__ import annotations

import pytest

from addon.designs.table import build
from addon.designs.table.parameters import Table
from addon.files.editing import set_values
from addon.files.examples import EXAMPLES
from addon.sizes.errors import ParameterError

QUILTING = EXAMPLES["quilting"].table()
Changes = dict[str, object]

REFUSALS: list[tuple[Changes, str, str, str, str, Changes]] = [
    ({"bottom.groove_depth": 15}, "bottom.groove_depth", "15.0 mm", "at most 13.7 mm", "4.0 mm of the side must stay",
     {"bottom.groove_depth": 13.7}),
    ({"well.ledger_height": 50}, "well.ledger_height", "50.0 mm", "at most 40.0 mm", "stand below the bottom panel",
     {"well.ledger_height": 40}),
    ({"bottom.groove_slack": 6}, "bottom.groove_slack", "6.0 mm", "less than 6.0 mm", "fall out of its groove",
     {"bottom.groove_slack": 5.9}),
    ({"sides.slot_chamfer": 9, "sides.wood_above_slots": 10}, "sides.slot_chamfer", "9.0 mm",
     "less than 8.85 mm", "would meet",
     {"sides.slot_chamfer": 8.8}),
    ({"ribs.window_chamfer": 9, "sides.wood_above_slots": 10}, "ribs.window_chamfer", "9.0 mm",
     "less than 8.85 mm", "would meet",
     {"ribs.window_chamfer": 8.8}),
    ({"sides.stock": "12 mm birch plywood", "sides.lower_round_over": 12, "stowing.set_back": 13.3},
     "sides.lower_round_over", "12.0 mm", "less than 11.8 mm", "no thicker", {"sides.lower_round_over": 11.7}),
    ({"leaves.edge_radius": 9}, "leaves.edge_radius", "9.0 mm", "less than 8.85 mm", "would meet",
     {"leaves.edge_radius": 8.8}),
    ({"sides.wood_above_slots": 3}, "sides.wood_above_slots", "3.0 mm", "more than 3.0 mm",
     "meet the bottom panel's groove", {"sides.wood_above_slots": 3.1}),
    ({"sides.wood_above_slots": 2, "sides.slot_chamfer": 1}, "sides.wood_above_slots", "2.0 mm",
     "more than 2.0 mm", "run out of the ribs",
     {"sides.wood_above_slots": 2.1}),
    ({"sides.wood_below_slots": 9}, "sides.wood_below_slots", "9.0 mm", "more than 9.0 mm",
     "meet the round-over below", {"sides.wood_below_slots": 9.1}),
    ({"sides.wood_below_slots": 5, "sides.lower_round_over": 0, "ribs.window_chamfer": 6},
     "sides.wood_below_slots", "5.0 mm", "more than 6.0 mm", "run out of the ribs' lower edge",
     {"sides.wood_below_slots": 6.1}),
    ({"stow[0].offset": 600}, "stow[0].offset", "600.0 mm", "between -534.85 mm and 534.85 mm",
     "out of the front side",
     {"stow[0].offset": -534.85}),
    ({"stow[2].tier": "upper"}, "stow[2].tier", "upper", "'lower'", "L3 and L1 would cross on the upper tier",
     {"stow[2].tier": "lower"}),
    ({"stow[1].side": "front", "stow[1].offset": -300}, "stow[1].offset", "-300.0 mm",
     "a place at least 386.6 mm from that of L1", "the ways of L2 and L1 would run together",
     {"stow[1].offset": -372.7 + 386.6}),
    ({"stow[1].side": "front", "stow[1].offset": -372.7, "stow[1].tier": "lower", "leaves.count": 2, "stow[2]": None,
      "stow[3]": None, "leaves.cover_length": 700}, "stowing.tier_gap", "3.0 mm", "more than 6.0 mm",
     "pass one above the other", {"stowing.tier_gap": 6.1}),
    ({"leaves.count": 5}, "leaves.count", "5", "4, or as many [[stow]] entries", "every leaf has a stow place",
     {"leaves.count": 4}),
    ({"well.depth": 400, "table.height": 300}, "table.height", "300.0 mm", "at least 503.9 mm",
     "below the room's floor", {"table.height": 503.91}),
    ({"leaves.cover_length": 2000}, "leaves.cover_length", "2000.0 mm", "at most 1464.6 mm", "no longer than that",
     {"leaves.cover_length": 1464.6}),
    ({"leaves.cover_length": 100, "leaves.count": 8}, "leaves.count", "8", "at most 2", "only 11.38 mm wide",
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
    ({"leaves.finger_hole": 80}, "leaves.finger_hole_inset", "35.0 mm", "between 41.0 mm and 880.6 mm",
     "the finger hole would run out of L1", {"leaves.finger_hole_inset": 41}),
    ({"leaves.finger_hole": 60, "leaves.cover_length": 210, "leaves.finger_hole_inset": 40}, "leaves.finger_hole",
     "60.0 mm", "at most 43.25 mm", "L1 is no wider", {"leaves.finger_hole": 43}),
    ({"ribs.through_at": [300]}, "ribs.through_at", "300.0 mm", "-179.4 mm to 179.4 mm, 566.0 mm to 723.45 mm",
     "stand in a leaf's way", {"ribs.through_at": [566]}),
    ({"ribs.rows_at": [100]}, "ribs.rows_at", "100.0 mm", "-4.15 mm to 4.15 mm", "stand in a leaf's way",
     {"ribs.rows_at": [4.15]}),
    ({"ribs.through_at": [0, 10]}, "ribs.through_at", "10.0 mm", "at least 35.4 mm from the rib at 0 mm",
     "room between them", {"ribs.through_at": [0, 35.4]}),
    ({"stock[2].name": "thick", "stock[2].nominal": 24, "legs.stock": "thick", "legs.width": 22}, "legs.width",
     "22.0 mm", "more than 24.0 mm and at most 462.3 mm", "make an L", {"legs.width": 25}),
]  # fmt: skip


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
    assert sentence.startswith(f"{key} = {value} cannot be built: use ")
    assert allowed in error.allowed
    assert allowed in sentence
    assert why in error.reason
    assert sentence.endswith(f", because {error.reason}.")
    assert "\n" not in sentence
    build(set_values(table, cure))


def test_refusals_speak_the_units_of_the_table() -> None:
    table: Table = set_values(QUILTING, {"units": "in", "well.ledger_height": 50.8})
    with pytest.raises(ParameterError, match=r"well\.ledger_height = 2 in .*use at most 1\.575 in,"):
        build(table)
