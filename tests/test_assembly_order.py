"""The order of assembly: ways against swept solids (manifold3d), orders against all permutations."""

from __future__ import annotations

from itertools import permutations
from random import Random

import manifold3d
import numpy as np
import pytest

from addon.check.apart.assembly_order import MOST, assembly_order
from addon.check.apart.blocking import DIRECTIONS, VECTORS, Blocking, blocking_of
from addon.designs.table import build
from addon.reports.steps import sentences_of, title_of, way_words
from addon.wood.assembly import Assembly
from addon.wood.roles import LEAF, LEG
from random_tables import sound_table
from tests.line_samples import box
from tests.old_tables import EXAMPLES
from tests.oracles import Exported

FAR = 4000.0
"""Farther than any table is long, mm."""

SLIVER = 1.0
"""Volume that faces lying on each other may seem to have in common, mm³; a board 1 mm deep in another has over 100."""

TABLES = ["quilting", "seed-bench", 5, 11]


@pytest.fixture(scope="module", params=TABLES)
def table(request) -> Assembly:
    """An example, or a random table from a seed."""
    known = isinstance(request.param, str)
    return build(EXAMPLES[request.param].table()) if known else sound_table(request.param)[1]


@pytest.fixture(scope="module")
def order(table):
    return assembly_order(table)


def common(exported: Exported, moving: str, there: list[str], way: np.ndarray) -> float:
    """Volume that a part on its straight way home has in common with parts that are there, mm³."""
    sweeps = [body.swept(-FAR * way, np.zeros(3)) for body in exported.bodies[moving]]
    found = 0.0
    for label in there:
        for sweep in sweeps:
            for body in exported.bodies[label]:
                if ((sweep.low < body.high - 1e-6) & (sweep.high > body.low + 1e-6)).all():
                    found += (sweep.solid ^ body.solid).volume()
    return found


def test_each_part_is_new_once_and_goes_in_once(table, order):
    labels = sorted(part.label for part in table.parts)
    assert sorted(label for step in order.steps for label in step.new) == labels
    assert sorted(label for step in order.steps if step.kind == "put-in" for label in step.moved) == labels
    assert sorted(order.before(len(order.steps))) == labels
    assert all(len(step.arrivals) <= MOST + 1 for step in order.steps if step.kind == "put-in")


def test_each_part_goes_in_past_what_is_there(table, order):
    exported, checked = Exported(table), 0
    assert order.blocked == ()
    for number, step in enumerate(order.steps):
        there = [] if step.kind == "glue-up" else list(order.before(number))
        for arrival in step.arrivals:
            if arrival.way is None:
                assert step.kind == "glue-up" or not there
                there = [] if step.kind == "glue-up" else there
            else:
                for label in arrival.parts:
                    assert common(exported, label, there, VECTORS[arrival.way]) < SLIVER
                    checked += 1
            there += arrival.parts
    assert checked >= len(table.parts) - 1


def test_the_sweep_finds_what_is_in_the_way(table):
    """A leaf does not come home from above, through the bottom panel."""
    exported = Exported(table)
    assert common(exported, "L1", ["B1"], VECTORS["-z"]) > 1000 * SLIVER


def test_the_table_is_turned_over_once_and_leaves_come_last(table, order):
    assert [step.kind for step in order.steps].count("turn-over") == 1
    turned = [step.kind for step in order.steps].index("turn-over")
    assert {step.pose for step in order.steps[:turned]} == {"upside-down"}
    assert {step.pose for step in order.steps[turned:]} == {"upright"}
    assert order.steps[-1].role == LEAF
    # Legs before the table stands on them: common practice, no source.
    assert LEG not in {step.role for step in order.steps[turned:]}


def test_leaves_go_in_through_their_slots(table, order):
    arrivals = {label: one for step in order.steps for one in step.arrivals for label in one.parts}
    for path in table.stow_paths:
        np.testing.assert_array_equal(VECTORS[arrivals[path.leaf].way], -path.outward)


def random_blocking(random: Random, count: int) -> tuple[Assembly, Blocking]:
    parts = [box((10, 10, 10), (20.0 * number, 0, 0), f"R{number}") for number in range(count)]
    table = Assembly("A", tuple(parts), (), ())
    room = np.full((6, count, count), np.inf)
    for a in range(count):
        for b in range(count):
            if a != b:
                for way in range(3):
                    blocked = random.random() < 0.55
                    room[way, a, b] = room[way + 3, b, a] = 5.0 if blocked else np.inf
    known = blocking_of(parts)
    return table, Blocking(known.labels, known.pieces, room, ())


def test_an_order_without_a_blocked_part_is_found_where_there_is_one():
    """All permutations of up to five parts that block each other at random."""
    random, outcomes = Random(3), []
    for _ in range(120):
        count = random.randint(2, 5)
        table, blocking = random_blocking(random, count)

        def free(labels, blocking=blocking) -> bool:
            return all(blocking.ways_out([label], labels[:at]) for at, label in enumerate(labels) if at)

        possible = any(free(list(one)) for one in permutations(blocking.labels))
        order = assembly_order(table, blocking)
        assert (not order.blocked) == possible
        labels = order.before(len(order.steps))
        for at, label in enumerate(labels):
            ways = blocking.ways_out([label], labels[:at]) if at else DIRECTIONS
            assert (label in order.blocked) == (not ways)
        outcomes.append(possible)
    assert 20 < sum(outcomes) < 100


def test_a_part_without_a_way_is_said_so():
    random = Random(3)
    while True:
        table, blocking = random_blocking(random, 4)
        order = assembly_order(table, blocking)
        if order.blocked:
            break
    words = [
        sentence
        for number in range(len(order.steps))
        for sentence in sentences_of(table, order, number, blocking, "mm")
    ]
    said = [sentence for sentence in words if "No straight way in" in sentence]
    assert all(sentence.endswith("check the order at the dry fit.") for sentence in said)
    assert all(any(label in sentence for sentence in said) for label in order.blocked)


def test_words_name_directions_as_the_maker_stands_before_the_table():
    assert way_words("+y", "upright") == way_words("+y", "upside-down") == "from the front"
    assert way_words("-x", "upright") == "from the right"
    assert way_words("-z", "upright") == way_words("+z", "upside-down") == "from above"
    assert way_words("+z", "upright") == "from below"


def test_turning_over_asks_for_two_people(table, order):
    """Usual caution: lifting and turning a table is no work for one; common practice, no source."""
    blocking = blocking_of(table.parts)
    (number,) = (at for at, step in enumerate(order.steps) if step.kind == "turn-over")
    words = " ".join(sentences_of(table, order, number, blocking, "mm"))
    assert "Two people" in words
    assert title_of(table, order.steps[number]) == "Turn over"


def test_the_floor_lies_on_blocks_as_high_as_the_sides_reach_past_it():
    """The quilting table: sides from the bottom up to the cover leaves' top, 40 mm of well and 17.7 mm of leaf."""
    table = build(EXAMPLES["quilting"].table())
    order, blocking = assembly_order(table), blocking_of(table.parts)
    (number,) = (at for at, step in enumerate(order.steps) if "B1" in step.new)
    assert "at least 60 mm high" in sentences_of(table, order, number, blocking, "mm")[0]


def test_solids_that_touch_have_nothing_in_common():
    """What `SLIVER` is for: two blocks face to face."""
    one = manifold3d.Manifold.cube((10.0, 10.0, 10.0))
    assert (one ^ one.translate((10.0, 0.0, 0.0))).volume() < SLIVER
