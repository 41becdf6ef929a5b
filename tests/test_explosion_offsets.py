"""The exploded view as a motion: against linear programs (scipy, HiGHS), all subsets, and solids (manifold3d)."""

from __future__ import annotations

from functools import cache
from itertools import combinations
from random import Random

import numpy as np
import pytest
from scipy.optimize import linprog

from addon.check.apart.blocking import DIRECTIONS, VECTORS, rooms_between
from addon.check.apart.explosion import coming_apart, explode
from addon.check.apart.graph import explosion_graph
from addon.check.apart.places import Demand, least_distances
from addon.check.apart.units import Units
from addon.designs.table import build
from addon.files.examples import EXAMPLES
from addon.wood.meshes.mesh import mesh_of
from addon.wood.solids.pieces import Pieces
from random_tables import sound_table
from tests.oracles import Body, mesh_solid

pytestmark = pytest.mark.once

GAPS = np.array([40.0, 50.0, 60.0, 45.0, 55.0, 65.0])


@cache
def example(name: str, covered: bool):
    assembly = build(EXAMPLES[name].table())
    return coming_apart(assembly, assembly.cover if covered else {})


@cache
def at_random(number: int):
    return coming_apart(sound_table(f"explosion/{number}")[1])


def layouts():
    for name in EXAMPLES:
        for covered in (True, False):
            yield pytest.param(
                lambda name=name, covered=covered: example(name, covered),
                id=f"{name}, {'covered' if covered else 'stowed'}",
            )
    for number in (0, 4, 9, 11):
        yield pytest.param(lambda number=number: at_random(number), id=f"random {number}")


def optimum(count: int, demands: list[Demand] | tuple[Demand, ...]):
    """The linear program: distances from home, none negative, home at 0, all demands met, the least sum."""
    rows = np.zeros((len(demands), count))
    for row, one in enumerate(demands):
        rows[row, one.inner] += 1.0
        rows[row, one.outer] -= 1.0
    bounds = [(0.0, 0.0)] + [(0.0, None)] * (count - 1)
    limits = [-one.least for one in demands]
    return linprog(np.ones(count), A_ub=rows, b_ub=limits, bounds=bounds, method="highs")


@pytest.mark.parametrize("layout", list(layouts()))
@pytest.mark.parametrize("shown", [False, True], ids=["", "with more to see"])
def test_no_linear_program_finds_less(layout, shown):
    random = Random(5)
    show = (lambda way, inner, outer: random.uniform(0, 200)) if shown else None
    explosion = explode(layout(), GAPS, show)
    found = optimum(len(explosion.distances), explosion.places.demands)
    assert found.status == 0
    assert found.fun > 100
    assert explosion.distances.sum() == pytest.approx(found.fun, rel=1e-9)
    for one in explosion.places.demands:
        assert explosion.distances[one.outer] - explosion.distances[one.inner] >= one.least - 1e-9


def test_random_demands():
    """Also such as contradict each other, which no linear program meets."""
    random = Random(11)
    refused = 0
    for _ in range(200):
        count = random.randint(2, 9)
        demands = []
        for _ in range(random.randint(1, 16)):
            inner, outer = random.sample(range(count), 2)
            if outer:
                demands.append(Demand(inner, outer, random.uniform(-30, 60)))
        found = optimum(count, demands) if demands else None
        if found is not None and found.status == 2:
            refused += 1
            with pytest.raises(ValueError, match="contradict"):
                least_distances(count, demands)
        elif found is not None:
            assert least_distances(count, demands).sum() == pytest.approx(found.fun, abs=1e-6)
    assert refused > 10


@pytest.mark.parametrize("layout", list(layouts()))
def test_all_leaves_in_an_order_that_blocks_nothing(layout):
    layout = layout()
    blocking, units, graph = layout.blocking, layout.units, layout.graph
    assert layout.together == ()
    assert sorted([graph.base, *(one.unit for one in graph.departures)]) == list(range(len(units)))

    def labels(some):
        return {label for unit in some for label in units.members[unit]}

    parted = np.zeros((len(units), len(units)), dtype=int)
    for rank, one in enumerate(graph.departures):
        moving = {one.unit}
        for later in graph.departures[rank + 1 :]:  # what hangs on it comes with it
            if later.parent in moving:
                moving.add(later.unit)
        assert not moving & one.standing
        assert one.direction in blocking.ways_out(labels(moving), labels(one.standing))
        for unit in moving:
            parted[unit, list(one.standing)] += 1
    assert (parted + parted.T + np.eye(len(units), dtype=int) == 1).all()


@pytest.mark.parametrize("layout", list(layouts()))
def test_all_have_the_gap_from_what_they_hang_on(layout):
    explosion = explode(layout(), GAPS)
    units, graph, offsets = explosion.order.units, explosion.order.graph, explosion.offsets
    low, high = units.low + offsets, units.high + offsets
    for one in graph.departures:
        axis, way = DIRECTIONS.index(one.direction) % 3, DIRECTIONS.index(one.direction)
        if one.direction[0] == "+":
            gap = low[one.unit, axis] - high[one.parent, axis]
        else:
            gap = low[one.parent, axis] - high[one.unit, axis]
        assert gap >= GAPS.min() - 1e-9, DIRECTIONS[way]


def solids(layout, places):
    found = []
    for part in layout.assembly.parts:
        mesh = mesh_of(part.shape)
        place = places.get(part.label, part.placement)
        found.append(mesh_solid(place.to_table(mesh.vertices), mesh.triangles))
    return found


@pytest.mark.parametrize(
    ("name", "covered"), [("seed-bench", True), ("seed-bench", False), ("quilting", True)]
)
def test_the_whole_motion_is_free_of_collisions(name, covered):
    """Of two parts that move evenly, one sweeps past the other: hulls of both ends, no sampling."""
    layout = example(name, covered)
    explosion = explode(layout, GAPS)
    assert explosion.proven
    assert explosion.collisions() == []
    pieces = layout.blocking.pieces
    meshes = solids(layout, layout.assembly.cover if covered else {})
    low, high = layout.blocking.low, layout.blocking.high
    looked_at = 0
    for stretch in range(explosion.stretches):
        begin, end = (explosion.part_offsets((stretch + k) / explosion.stretches) for k in (0, 1))
        for a, b in combinations(range(len(pieces)), 2):
            if len(pieces[a]) > len(pieces[b]):
                a, b = b, a
            start, finish = begin[a] - begin[b], end[a] - end[b]
            if np.allclose(start, finish):
                continue
            meets = np.minimum(start, finish) + low[a] < high[b] - 1e-6
            meets &= np.maximum(start, finish) + high[a] > low[b] + 1e-6
            if meets.all():
                looked_at += 1
                sweeps = [
                    Body(pieces[a].piece(piece)).swept(start, finish).solid for piece in range(len(pieces[a]))
                ]
                assert sum((sweep ^ meshes[b]).volume() for sweep in sweeps) < 1e-2
    assert looked_at


def test_a_motion_all_at_once_would_collide():
    """In the stowed bench the leaves have to be out of the sides first: else there would be no use in waves."""
    layout = example("seed-bench", False)
    explosion = explode(layout, GAPS)
    assert explosion.stretches > 1
    start = np.zeros((len(layout.blocking.labels), 3))
    assert layout.movements.collisions(start, layout.of_parts(explosion.offsets))


Cells = frozenset[tuple[int, int, int]]


def puzzle(random: Random) -> list[Cells]:
    """The cells of a block, dealt out to parts: often such as hold each other."""
    size, count = random.choice([(3, 3, 2), (3, 3, 3), (4, 3, 2)]), random.randint(3, 7)
    owners: dict[int, set] = {}
    for cell in np.ndindex(size):
        owners.setdefault(random.randrange(count), set()).add(cell)
    return [frozenset(cells) for cells in owners.values()]


def leaves(moving: list[Cells], standing: list[Cells], way: int) -> bool:
    """Whether cells that move cell by cell along a direction never enter one that stands."""
    taken = {cell for cells in standing for cell in cells}
    step = VECTORS[DIRECTIONS[way]].astype(int)
    return not any(
        tuple((np.array(cell) + far * step).tolist()) in taken
        for cells in moving
        for cell in cells
        for far in range(1, 5)
    )


def taken_apart(parts: list[Cells], which: tuple[int, ...]) -> list[tuple[int, ...]]:
    """What is left together when every subset is tried in every direction."""
    for size in range(1, len(which)):
        for some in combinations(which, size):
            rest = tuple(one for one in which if one not in some)
            if any(leaves([parts[k] for k in some], [parts[k] for k in rest], way) for way in range(6)):
                return taken_apart(parts, some) + taken_apart(parts, rest)
    return [which]


def units_of_cells(parts: list[Cells]) -> Units:
    pieces = [Pieces.boxes(10.0 * np.array(sorted(p)), 10.0 * (np.array(sorted(p)) + 1)) for p in parts]
    room, overlapping = rooms_between(
        Pieces.concatenate(pieces), np.cumsum([0, *(len(one) for one in pieces)])
    )
    assert not overlapping.any()
    room[:, np.arange(len(parts)), np.arange(len(parts))] = np.inf
    touching = (room <= 1e-5).any(axis=0)
    low = np.array([one.low.min(axis=0) for one in pieces])
    high = np.array([one.high.max(axis=0) for one in pieces])
    names = tuple((chr(65 + k),) for k in range(len(parts)))
    none = np.zeros_like(touching)
    return Units(names, tuple("part" for _ in parts), room, touching, none, low, high)


def test_what_stays_together_is_what_no_subset_in_any_direction_leaves():
    """All subsets, up to 7 parts, on a grid of whole cells; what is left does not depend on the order."""
    random = Random(23)
    held = apart = 0
    for _ in range(60):
        parts = puzzle(random)
        graph = explosion_graph(units_of_cells(parts))
        expected = {one for one in taken_apart(parts, tuple(range(len(parts)))) if len(one) > 1}
        assert {tuple(sorted(group)) for group in graph.together} == expected
        held += bool(expected)
        apart += not expected
        for one in graph.departures:
            assert one.unit not in one.standing
    assert held > 10
    assert apart > 10
