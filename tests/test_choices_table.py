"""Choices of the table's design: where ribs are added, what an as-cut change leaves where it is.

Positions are worked out by hand from the drawing; the choices are common practice, no source. mm; origin in the middle
of the plan, z from the room's floor.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from addon.designs.table import build
from addon.designs.table.parameters import Stow
from addon.files.table_file import parse_table
from addon.wood.assembly import Assembly
from addon.wood.meshes.mesh import mesh_of
from tests.old_tables import EXAMPLES

QUILTING = EXAMPLES["quilting"]


def corners(assembly: Assembly, label: str) -> np.ndarray:
    """(n, 3) vertices of a part's mesh in the table, mm."""
    part = assembly.by_label[label]
    return part.placement.to_table(mesh_of(part.shape).vertices)


def middles(assembly: Assembly, name: str, axis: int) -> list[float]:
    """Center lines of all parts of a name on an axis, each once."""
    found = set()
    for part in assembly.parts:
        if part.name == name:
            points = corners(assembly, part.label)[:, axis]
            found.add(round(float(points.min() + points.max()) / 2, 4))
    return sorted(found)


# -- ribs
# ------------------------------------------------------------------------------------------------------------------


def wide(widest_bay: float, offset: float = 600.0) -> Assembly:
    """A table 3 m long whose four leaves all go through the long sides, one above the other.

    Inside it is 3000 - 2 · 17.7 = 2964.6 long (±1482.3), so a leaf is (2964.6 - 5 · 1.0) / 4 = 739.9 wide, and with 2
    beside it on either side its way takes 600 ± 371.95: from 228.05 to 971.95, and the same on the left.
    """
    table = QUILTING.table()
    stow = [
        Stow(side, at, tier)
        for tier in ("upper", "lower")
        for side, at in (("front", -offset), ("back", offset))
    ]
    return build(
        replace(
            table,
            table=replace(table.table, length=3000.0),
            ribs=replace(
                table.ribs, max_bay=widest_bay, wood_beside_window=40.0, least_wood_beside_window=10.0
            ),
            stowing=replace(table.stowing, tier_gap=10.0),
            stow=tuple(stow),
        )
    )


@pytest.mark.parametrize(
    ("widest_bay", "beside_the_wall", "in_the_middle"),
    [
        (600.0, [], []),
        (501.0, [1231.55], []),
        (502.0, [], []),
        (358.0, [1231.55], [0.0]),
        (240.0, [1147.9667, 1315.1333], [0.0]),
        (160.0, [1106.175, 1231.55, 1356.925], [-59.7333, 59.7333]),
    ],
)
def test_ribs_are_added_until_no_bay_is_wider(
    widest_bay: float, beside_the_wall: list[float], in_the_middle: list[float]
) -> None:
    """Bays wider than asked for are divided evenly, by as few ribs as will do.

    Beside each way stands a rib that guides the leaf's edge, its face at the way: 971.95 + 17.7 / 2 = 980.8. Between
    the two ways stand two, 40 of wood away: 228.05 - 40 - 8.85 = 179.2. From 980.8 to the wall at 1482.3 are 501.5;
    from -179.2 to 179.2 are 358.4. One rib halves the bay of 501.5 at 1231.55, two divide it into thirds of 167.1667,
    three into quarters of 125.375; two divide that of 358.4 into thirds of 119.4667.
    """
    right = [179.2, 980.8, *beside_the_wall]
    expected = sorted([*right, *(-x for x in right), *in_the_middle])
    table = wide(widest_bay)
    assert middles(table, "through rib", 0) == pytest.approx(expected, abs=1e-3)


@pytest.mark.parametrize(
    ("widest_bay", "expected"),
    [(3000.0, [0.0]), (600.0, [0.0]), (462.0, [-154.1, 154.1]), (300.0, [-231.15, 0.0, 231.15])],
)
def test_rows_where_no_leaf_passes_divide_the_whole_width(widest_bay: float, expected: list[float]) -> None:
    """No leaf goes through the short sides, so the rows are spread over 960 - 2 · 17.7 = 924.6, wall to wall.

    One row stands in the middle in any case: long through ribs buckle and twist without a piece between them. Two make
    thirds of 308.2, three make quarters of 231.15.
    """
    table = wide(widest_bay)
    assert middles(table, "rib segment", 1) == pytest.approx(expected, abs=1e-3)


@pytest.mark.parametrize(("apart", "expected"), [(125.0, [0.0]), (126.0, [-14.15, 14.15])])
def test_one_rib_between_two_ways_where_two_would_stand_too_close(
    apart: float, expected: list[float]
) -> None:
    """Two ribs, 40 of wood beside each way and at least 10 between the ribs: 2 · (17.7 + 40) + 10 = 125.4.

    With 126 between the ways they stand at 63 - 40 - 8.85 = 14.15; with 125 a single one stands in the middle.
    """
    table = wide(3000.0, apart / 2 + 371.95)
    assert [x for x in middles(table, "through rib", 0) if abs(x) < 200.0] == pytest.approx(expected)


# -- as-cut changes
# ------------------------------------------------------------------------------------------------------------------

RADIUS = 6.0


def square_from_and_to(assembly: Assembly, label: str) -> list[tuple[float, float]]:
    """Where along a side its inner lower edge is square: from end to stop at both ends.

    Read off the mesh: the square corner is there where the edge itself, the line at which the inner face meets the
    lower one, has vertices; where it is rounded over, it has none.
    """
    points = corners(assembly, label)
    along = int(np.argmax(np.ptp(points, axis=0)))
    across = 1 - along
    inner = min(abs(points[:, across].min()), abs(points[:, across].max()))
    on_edge = (np.abs(np.abs(points[:, across]) - inner) < 1e-6) & (points[:, 2] < points[:, 2].min() + 1e-6)
    found = sorted({round(float(x), 6) for x in points[on_edge][:, along]})
    assert len(found) == 4
    return [(found[0], found[1]), (found[2], found[3])]


def as_cut(part: str, end: str, deviation: float) -> Assembly:
    """The quilting table with one part cut longer at one end."""
    entry = f'\n[[as_cut]]\npart = "{part}"\ndimension = "length"\ndeviation = {deviation}\nend = "{end}"\n'
    return build(parse_table(QUILTING.text() + entry))


@pytest.mark.parametrize(
    ("part", "end", "deviation", "expected"),
    [
        ("S1", "start", 0.001, [(-750.001, -662.3), (662.3, 750.0)]),
        ("S1", "start", 4.0, [(-754.0, -662.3), (662.3, 750.0)]),
        ("S1", "end", 4.0, [(-750.0, -662.3), (662.3, 754.0)]),
        ("S2", "start", 4.0, [(-754.0, -662.3), (662.3, 750.0)]),
        ("S2", "end", -4.0, [(-750.0, -662.3), (662.3, 746.0)]),
        ("S3", "start", 4.0, [(-466.3, -392.3), (392.3, 462.3)]),
        ("S4", "end", -3.0, [(-462.3, -392.3), (392.3, 459.3)]),
    ],
)
def test_a_round_over_keeps_clear_of_the_legs_on_a_side_cut_longer(
    part: str, end: str, deviation: float, expected: list[tuple[float, float]]
) -> None:
    """The round-over stops 10 before the legs, and these stay where they are whatever the side's length is.

    A leg's arm is 60 wide in the corner of the inside (±732.3 by ±462.3): it ends at 672.3 along the long sides and at
    402.3 along the short ones, so the edge is square from the side's end to 662.3 or 392.3. Cut longer at its start, a
    side begins farther out by as much and nothing else moves.
    """
    found = square_from_and_to(as_cut(part, end, deviation), part)
    np.testing.assert_allclose(found, expected, atol=1e-6)
