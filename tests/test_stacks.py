"""Bodies that every depth cuts in a rectangle against scipy 1.17.1 (Qhull)."""

from __future__ import annotations

from math import cos, pi, sin
from random import Random

import numpy as np
import pytest
from scipy.spatial import ConvexHull, HalfspaceIntersection

from addon.wood.solids.cells import HALF, Cell
from addon.wood.solids.extrusion import stacked
from tests.convex_samples import assert_sound, same_points

SIZE = (80.0, 60.0, 18.0)


def eased(random: Random, axis: int, sizes: tuple[float, ...]) -> list[tuple[float, ...]]:
    """Chamfers and round-overs along some of the four edges that run across an axis; a common face stays."""
    planes = []
    for side in (-1, 1):
        for face in (-1, 1):
            size = random.choice(sizes)
            steps = random.choice((0, 1, 1, 2, 6)) if size else 0
            edge = (SIZE[axis] if side > 0 else 0.0), (SIZE[2] if face > 0 else 0.0)
            for step in range(steps):
                angle = pi / 4 if steps == 1 else pi / 2 * (step + 1) / (steps + 1)
                away, depth = side * cos(angle), face * sin(angle)
                if steps == 1:  # a chamfer, its leg as long as the radius
                    reach = away * edge[0] + depth * edge[1] - size * HALF
                else:
                    reach = away * (edge[0] - side * size) + depth * (edge[1] - face * size) + size
                planes.append((away, 0.0, depth, reach) if axis == 0 else (0.0, away, depth, reach))
    return planes


@pytest.mark.parametrize("sizes", [(0.0, 3.0), (2.0, 3.0, 5.5, 8.0)], ids=["alike", "mixed"])
@pytest.mark.parametrize("seed", range(3))
def test_eased_boards_are_those_of_qhull(seed: int, sizes: tuple[float, ...]) -> None:
    """Equal sizes on both axes put knots at the same depths."""
    random = Random(f"{seed}/{sizes}")
    cells, planes = [], []
    while len(cells) < 40:
        cutting = [*eased(random, 0, sizes), *eased(random, 1, sizes)]
        cells.append(Cell((0.0, 0.0, 0.0), SIZE, SIZE[2], str(len(cells)), planes=tuple(cutting)))
        planes.append(cells[-1].cutting_planes())
    ours, numbers = stacked(cells, planes)
    assert numbers == list(range(40))
    assert ours.tags == tuple(map(str, numbers))
    assert_sound(ours)
    for number in numbers:
        rows = np.array([*cells[number].box_planes(), *planes[number]])
        found = HalfspaceIntersection(
            np.column_stack([rows[:, :3], -rows[:, 3]]), np.array(SIZE) / 2
        ).intersections
        hull = ConvexHull(found)
        assert same_points(ours.piece(number), found[hull.vertices], 1e-9)
        assert ours.volume(number) == pytest.approx(hull.volume, rel=1e-12)


def test_other_bodies_are_left_alone() -> None:
    """A plane that slopes along u and v at once, and a ridge in place of the front face."""
    box = Cell((0.0, 0.0, 0.0), SIZE, SIZE[2])
    corner = [(3**-0.5, 3**-0.5, 3**-0.5, 80.0)]
    ridge = [(HALF, 0.0, -HALF, 40.0 * HALF), (-HALF, 0.0, -HALF, -40.0 * HALF)]
    along_v = [(0.0, HALF, HALF, 70.0 * HALF)]
    pieces, numbers = stacked([box, box, box], [corner, [*ridge, *along_v], along_v])
    assert numbers == [2]
    assert len(pieces) == 1
    assert stacked([box], [corner])[1] == []
