"""Choices about leaves: which one gets which stowed position, how they and the legs are numbered.

By hand from the drawing of the quilting table; common practice, no source. mm; x to the right, y to the back.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from addon.designs.table import build
from addon.designs.table.parameters import Stow
from addon.wood.assembly import Assembly
from addon.wood.meshes.mesh import mesh_of
from tests.old_tables import EXAMPLES

QUILTING = EXAMPLES["quilting"].table()


def placed_by_itself(count: int) -> Assembly:
    """The quilting table with so many leaves and no positions given in the file."""
    return build(replace(QUILTING, leaves=replace(QUILTING.leaves, count=count), stow=()))


def middle(assembly: Assembly, label: str) -> np.ndarray:
    """(3,) of a part's box where it stands, mm."""
    part = assembly.by_label[label]
    points = part.placement.to_table(mesh_of(part.shape).vertices)
    return (points.min(axis=0) + points.max(axis=0)) / 2


# Inside are ±732.3 by ±462.3; ribs are 17.7 thick and keep 40.4 beside a window; 2 are beside a leaf on either side.

LONG_4, SHORT_4 = 233.7, 193.35
"""Leaves (1464.6 - 5) / 4 = 364.9 wide. Through the long sides a rib stands between them with 40.4 on either side:
364.9 + 4 + 17.7 + 80.8 = 467.4 from middle to middle. Through the short ones a rib alone, and 0.1 more:
364.9 + 4 + 17.8 = 386.7."""

LEFT_3, RIGHT_3 = -339.607, 241.433
"""Leaves (1464.6 - 4) / 3 = 486.867 wide, ways 490.867. Before the outer ones are to be 0.4 of that, 196.347, which
leaves 1464.6 - 2 * (196.347 + 490.867) = 90.173 between them: their middles are at ±290.52. The one that crosses alone
comes from the right and shall find half of a way's width before it, 245.433: they make way by 49.087."""

LONG_5, SHORT_5 = 394.22, 156.76
"""Leaves (1464.6 - 6) / 5 = 291.72 wide: 291.72 + 4 + 98.5, and half of 291.72 + 4 + 17.8."""

AUTOMATIC = {
    3: {"L1": ("front", LEFT_3), "L2": ("back", RIGHT_3), "L3": ("right", 0.0)},
    4: {
        "L1": ("front", -LONG_4),
        "L2": ("back", LONG_4),
        "L3": ("right", SHORT_4),
        "L4": ("left", -SHORT_4),
    },
    5: {
        "L1": ("front", -LONG_5),
        "L2": ("back", 0.0),
        "L3": ("front", LONG_5),
        "L4": ("right", SHORT_5),
        "L5": ("left", -SHORT_5),
    },
}


@pytest.mark.parametrize(("count", "farthest"), [(3, 409.167), (4, 470.15), (5, 506.74)])
def test_leaves_may_be_spread_wide(count: int, farthest: float) -> None:
    """As far as the legs let them: 732.3 - 60 for the leg - 17.7 for the rib beside the way - 2 beside the leaf, and
    half of its width; so were all tables of older formats."""
    table = replace(QUILTING, leaves=replace(QUILTING.leaves, count=count), stow=())
    assembly = build(replace(table, stowing=replace(table.stowing, spread="wide")))
    last = assembly.stow_paths[1 if count < 5 else 2].leaf
    for label, place in (("L1", -farthest), (last, farthest)):
        assert middle(assembly, label)[0] == pytest.approx(place, abs=1e-3)


@pytest.mark.parametrize("count", [3, 4, 5])
def test_leaves_without_given_positions_are_spread_over_the_sides(count: int) -> None:
    """As the drawing of the quilting table has four: L1 through the front at the left, L2 through the back at the
    right, both in the upper tier; L3 through the right side at the back, L4 through the left side at the front, both
    in the lower tier. Of an odd number the long sides, which have more room, take the one more. Leaves of a pair go in
    from opposite sides: two people stow them at once, and their weight is balanced.
    """
    assembly = placed_by_itself(count)
    sides = {"front": "S1", "back": "S2", "left": "S3", "right": "S4"}
    for label, (side, offset) in AUTOMATIC[count].items():
        path = assembly.path_of(label)
        assert (label, path.side) == (label, sides[side])
        along = 1 if side in ("left", "right") else 0
        assert middle(assembly, label)[along] == pytest.approx(offset, abs=1e-3)
    heights = {label: middle(assembly, label)[2] for label in AUTOMATIC[count]}
    through_long = {label for label, (side, _) in AUTOMATIC[count].items() if side in ("front", "back")}
    upper = {label for label, height in heights.items() if height > max(heights.values()) - 1}
    assert upper == through_long


def test_of_five_narrow_leaves_three_go_through_the_long_sides() -> None:
    """Leaves (900 - 6) / 5 = 178.8 wide would go three beside each other through the short sides too; the long ones, on
    which they stand farther apart, take the one more."""
    leaves = replace(QUILTING.leaves, count=5, cover_length=900.0)
    paths = build(replace(QUILTING, leaves=leaves, stow=())).stow_paths
    assert [path.side for path in paths] == ["S1", "S2", "S1", "S4", "S3"]


def test_up_to_two_leaves_share_the_long_sides() -> None:
    """One or two leaves need no second tier where the long sides take both: the body is shallower by 20.7 of slot and 3
    of wood between tiers. Here fixed tops cover the ends of the well, so that two leaves are narrow enough."""
    table = replace(QUILTING, stow=(), leaves=replace(QUILTING.leaves, count=2, cover_length=900.0))
    assembly = build(table)
    assert [assembly.path_of(label).side for label in ("L1", "L2")] == ["S1", "S2"]
    assert middle(assembly, "L1")[0] < 0 < middle(assembly, "L2")[0]
    assert middle(assembly, "L1")[2] == pytest.approx(middle(assembly, "L2")[2])
    alone = build(replace(table, leaves=replace(table.leaves, count=1, cover_length=450.0)))
    assert alone.path_of("L1").side == "S1"
    assert middle(alone, "L1")[0] == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(("direction", "axis"), [("across", 0), ("along", 1)])
def test_cover_leaves_are_numbered_from_the_left_or_from_the_front(direction: str, axis: int) -> None:
    """As one reads, standing before the table: left to right; leaves along it from the one that is nearest."""
    table = QUILTING
    if direction == "along":
        table = replace(
            table,
            leaves=replace(table.leaves, direction=direction, count=2),
            stow=(Stow("right", 0.0, "upper"), Stow("left", 0.0, "lower")),
            stowing=replace(table.stowing, tier_gap=10.0),
        )
    assembly = build(table)
    places = []
    for label, placement in assembly.cover.items():
        size = np.array(assembly.by_label[label].shape.size)
        places.append((label, float(placement.to_table(size[None] / 2)[0][axis])))
    in_order = [label for label, _ in sorted(places, key=lambda one: one[1])]
    assert in_order == [f"L{number + 1}" for number in range(len(places))]


def test_leg_boards_are_numbered_corner_by_corner_the_board_on_the_long_side_first() -> None:
    """Front left, front right, back left, back right. The board on the long side is 60 wide, the one glued onto it
    42.3, so that the L measures 60 either way."""
    assembly = build(QUILTING)
    expected = {
        "LEG1": (-702.3, -453.45),
        "LEG2": (-723.45, -423.45),
        "LEG3": (702.3, -453.45),
        "LEG4": (723.45, -423.45),
        "LEG5": (-702.3, 453.45),
        "LEG6": (-723.45, 423.45),
        "LEG7": (702.3, 453.45),
        "LEG8": (723.45, 423.45),
    }
    for label, place in expected.items():
        np.testing.assert_allclose(middle(assembly, label)[:2], place, atol=1e-6)
