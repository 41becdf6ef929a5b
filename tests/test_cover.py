"""The covering leaves in the well: stacks, gaps, lifting one out, fingers, moisture."""

from __future__ import annotations

import math
from dataclasses import replace
from random import Random

import numpy as np
import pytest
import shapely

from addon.check.cover import Dimension, Stack, cover_of, lift_room
from addon.designs.table import build
from addon.designs.table.parameters import AsCut
from addon.wood.roles import Role, role_of
from tests.old_tables import EXAMPLES

# -- stacks
# ------------------------------------------------------------------------------------------------------------


def stack(count: int, **extra) -> Stack:
    return Stack(tuple(Dimension(f"B{k}", "width", 10.0, 1.0, **extra) for k in range(count)))


def test_ten_parts():
    """A tolerance article: ten parts of ±0.1 are ±1.0 in the worst case and ±0.316228 by the root of the sum of
    squares; for ±0.316 they have to be ±0.0316 or may be ±0.1."""
    ten = stack(10, tolerance=0.1)
    assert (ten.nominal, ten.worst, ten.rss) == pytest.approx((100.0, 1.0, 0.316228), abs=1e-6)
    assert stack(10, tolerance=0.0316).worst == pytest.approx(0.316)


def test_layers_of_one_sheet():
    """Three layers, all 0.3 mm off: 0.9 mm together; as independent parts the root would say 0.52 (arithmetic)."""
    assert stack(3, shared=0.3, source="sheet").rss == pytest.approx(0.9)
    assert stack(3, tolerance=0.3).rss == pytest.approx(0.52, abs=5e-4)
    apart = Stack(
        (*stack(1, shared=0.3, source="a").dimensions, *stack(1, shared=0.4, source="b").dimensions)
    )
    assert (apart.worst, apart.rss) == pytest.approx((0.7, 0.5))


def test_what_two_dimensions_share_cancels_in_their_difference():
    one = Dimension("A", "thickness", 18.0, 1.0, 0.1, 0.5, "sheet")
    both = Stack((one, replace(one, part="B", coefficient=-1.0)))
    assert (both.nominal, both.worst, both.rss) == pytest.approx((0.0, 0.2, 0.1 * math.sqrt(2)))


@pytest.mark.parametrize("seed", range(5))
def test_stack_against_its_covariance(seed):
    """Worst case by trying all corners, and variances by numpy's a·C·a with C from what the dimensions share."""
    random = Random(seed)
    dimensions = tuple(
        Dimension(str(k), "width", random.uniform(1, 9), random.choice([-2.0, -1.0, 1.0]), random.uniform(0, 1),
                  random.choice([0.0, 0.3]), random.choice("ab"))
        for k in range(5)
    )  # fmt: skip
    own = Stack(dimensions)
    factors = np.zeros((5, 7))
    for k, one in enumerate(dimensions):
        factors[k, k], factors[k, 5 + "ab".index(one.source)] = one.tolerance, one.shared
    a = np.array([one.coefficient for one in dimensions])
    corners = np.array(np.meshgrid(*[(-1, 1)] * 7)).reshape(7, -1)
    assert own.worst == pytest.approx((a @ factors @ corners).max())
    assert own.rss == pytest.approx(math.sqrt(a @ (factors @ factors.T) @ a))
    assert own.nominal == pytest.approx(a @ [one.nominal for one in dimensions])


# -- lifting
# ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("rounded", [False, True])
def test_room_to_lift_against_turned_outlines(seed, rounded):
    """Outlines turned by shapely among neighbors as high as the leaf: with the room they go through every tilt without
    touching, with a hair less some tilt does not fit, however it is shifted."""
    random = Random(seed)
    width, thickness = random.uniform(100, 450), random.uniform(9, 25)
    radius = random.uniform(1, thickness / 2.1) if rounded else 0.0
    leaf = shapely.box(radius, radius, width - radius, thickness - radius).buffer(radius, quad_segs=256)
    play = float(lift_room(width, thickness, radius))
    tilts = np.linspace(0, 4 * thickness / width, 400)
    taken = []
    for tilt in tilts:
        turned = shapely.affinity.rotate(leaf, tilt, origin=(0, 0), use_radians=True)
        lowest = turned.bounds[1]
        inside = shapely.intersection(turned, shapely.box(-1e3, lowest - 1, 1e3, lowest + thickness))
        taken.append(inside.bounds[2] - inside.bounds[0] - width)
    assert max(taken) == pytest.approx(play, abs=2e-3)
    assert max(taken) <= play + 1e-9


def test_a_square_leaf_takes_its_diagonal():
    """Pythagoras: 40 wide, 9 thick, 41 across corners."""
    assert lift_room(40.0, 9.0) == pytest.approx(1.0)


# -- tables
# ------------------------------------------------------------------------------------------------------------


def boxes(assembly, *roles):
    return {
        part.label: part.placement.to_table(np.array([(0, 0, 0), part.shape.size]))
        for part in assembly.with_role(*roles)
    }


def table_with(example="quilting", **sections):
    table = EXAMPLES[example].table()
    return replace(
        table, **{name: replace(getattr(table, name), **values) for name, values in sections.items()}
    )


def sawn(table):
    """The table sawn to 0.3 mm."""
    return replace(table, tolerances=replace(table.tolerances, sawn_size=0.3))


def square(table):
    """The table with leaves whose diagonals are alike."""
    return replace(table, tolerances=replace(table.tolerances, squareness=0.0))


TABLES = {
    "across": table_with(),
    "mitered": table_with(table={"corner_joint": "mitered"}),
    "fixed tops": table_with("seed-bench"),
    "along": replace(table_with(table={"width": 1500.0}, leaves={"direction": "along", "count": 3}), stow=()),
    "along, mitered": replace(
        table_with(
            table={"width": 1500.0, "corner_joint": "mitered"},
            leaves={"direction": "along", "count": 3, "cover_length": 1e3},
        ),
        stow=(),
    ),
}


@pytest.mark.parametrize("name", TABLES)
def test_opening_is_what_stands_around_the_leaves(name):
    """The stack of dimensions against the places of the boards' faces in the table."""
    assembly = build(TABLES[name])
    own = cover_of(assembly)
    leaves = {
        leaf: place.to_table(np.array([(0, 0, 0), assembly.by_label[leaf].shape.size]))
        for leaf, place in assembly.cover.items()
    }
    low, high = (np.array([pick(box, axis=0) for box in leaves.values()]) for pick in (np.min, np.max))
    faces = [box for box in boxes(assembly, "side", "top").values() if box[:, 2].max() > low[:, 2].min() + 1]
    along = 0 if TABLES[name].leaves.direction == "across" else 1
    for axis, stacked in ((along, own.opening), (1 - along, None)):
        middle = (low.min(axis=0) + high.max(axis=0)) / 2
        below = max(box[:, axis].max() for box in faces if box[:, axis].max() < middle[axis])
        above = min(box[:, axis].min() for box in faces if box[:, axis].min() > middle[axis])
        room = above - below
        if stacked is not None:
            assert stacked.nominal == pytest.approx(room)
            assert own.play.nominal == pytest.approx(room - (high - low)[:, axis].sum())
        else:
            for leaf, box in leaves.items():
                assert own.end_play[leaf].nominal == pytest.approx(room - np.ptp(box[:, axis]))
    assert list(own.leaves) == sorted(leaves, key=lambda leaf: leaves[leaf][:, along].min())


@pytest.mark.parametrize("name", TABLES)
def test_gaps_and_end_gaps_are_those_of_the_file(name):
    table = TABLES[name]
    own = cover_of(build(table))
    assert own.gap == pytest.approx(table.leaves.gap)
    assert own.play.nominal == pytest.approx(table.leaves.gap * (table.leaves.count + 1))
    assert all(one.nominal == pytest.approx(2 * table.leaves.end_gap) for one in own.end_play.values())


def test_tolerances_of_the_play():
    """Butted corners: one sawn length, four sawn widths, two thicknesses from one stock with its spreads. By hand."""
    table = TABLES["across"]
    own = cover_of(build(sawn(table)))
    names = [(one.part, one.name, one.coefficient) for one in own.play.dimensions]
    assert names == [
        ("S1", "length", 1), ("S3", "thickness", -1), ("S4", "thickness", -1),
        *((f"L{k}", "width", -1) for k in (1, 2, 3, 4)),
    ]  # fmt: skip
    stock = table.stock[0]
    within, between = stock.spread_within / 2, stock.spread_between / 2
    assert own.play.worst == pytest.approx(5 * 0.3 + 2 * within + 2 * between)
    assert own.play.rss == pytest.approx(math.sqrt(5 * 0.3**2 + 2 * within**2 + (2 * between) ** 2))
    assert own.gap_worst == pytest.approx((own.gap - own.play.worst / 5, own.gap + own.play.worst / 5))
    assert own.gap_rss[1] - own.gap_rss[0] == pytest.approx(2 * own.play.rss / 5)
    assert [(one.part, one.name) for one in own.end_play["L2"].dimensions] == [
        ("S3", "length"),
        ("L2", "length"),
        ("L2", "squareness"),
    ]


def test_leaves_as_cut_count():
    table = TABLES["across"]
    wide = replace(table, as_cut=(AsCut("L2", "width", deviation=0.7),))
    assert cover_of(build(wide)).play.nominal == pytest.approx(cover_of(build(table)).play.nominal - 0.7)


def test_lifting_a_leaf_out():
    """By its long edges, which are rounded, and by its ends, which are square; the rest of the play in every case."""
    table = TABLES["across"]
    assembly = build(table)
    own = cover_of(build(square(sawn(table))))
    length, width, thickness = assembly.by_label["L1"].shape.size
    r = table.leaves.edge_radius
    side, end = own.by_side[0], own.by_end[0]
    assert side.needed == pytest.approx(math.hypot(width - 2 * r, thickness - 2 * r) + 2 * r - width)
    assert end.needed == pytest.approx(math.hypot(length, thickness) - length)
    assert side.room == pytest.approx(5 * table.leaves.gap - side.needed)
    assert side.worst == pytest.approx(side.room - own.play.worst)
    assert end.rss == pytest.approx(3.0 - end.needed - 0.3 * math.sqrt(2))
    tight = cover_of(build(replace(table, leaves=replace(table.leaves, gap=0.02))))
    assert tight.by_side[0].room < 0 < own.by_side[0].room


# -- which boards bound the cover
# ------------------------------------------------------------------------------------------------------------------


def test_boards_of_any_role_that_says_so_stand_around_the_cover():
    """The sides are called aprons and the fixed tops flaps from now on: the opening is the same, 1464.6 less two tops
    of 82.3."""
    table = EXAMPLES["quilting"].table()
    table = replace(
        table, leaves=replace(table.leaves, cover_length=1300.0, count=3, finger_hole=0.0), stow=()
    )
    drawn = build(table)
    apron = Role("apron", "APRO", "apron", "aprons", "Aprons", bounds_cover="around")
    flap = Role("flap", "FLAP", "flap", "flaps", "Flaps", bounds_cover="beside")
    renamed = {"side": apron, "top": flap}
    parts = tuple(replace(part, role=renamed.get(part.role.word, part.role)) for part in drawn.parts)
    own, known = cover_of(replace(drawn, parts=parts)), cover_of(drawn)
    assert own is not None
    assert own == known
    assert own.opening.nominal == pytest.approx(1464.6 - 2 * 82.3)


def test_without_boards_around_them_leaves_have_no_opening():
    drawn = build(EXAMPLES["quilting"].table())
    plain = tuple(
        replace(part, role=role_of("apron")) if part.role.word == "side" else part for part in drawn.parts
    )
    assert cover_of(replace(drawn, parts=plain)) is None
