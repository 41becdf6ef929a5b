"""Who is in whose way: against linear programs (scipy, HiGHS) and solids of the meshes (manifold3d)."""

from __future__ import annotations

from random import Random

import numpy as np
import pytest
from scipy.optimize import linprog

from addon.check.apart.blocking import DIRECTIONS, VECTORS, Blocking, blocking_of, opposite, rooms_between
from addon.designs.table import build
from addon.wood.meshes.mesh import mesh_of
from addon.wood.solids.pieces import Pieces, from_planes
from random_tables import sound_table
from tests.convex_samples import box_planes, eased_board, turned
from tests.old_tables import EXAMPLES
from tests.oracles import Body, mesh_solid

FAR = 4000.0
"""Farther than any table is long, mm."""


def first_meeting(one: Pieces, other: Pieces, along: np.ndarray) -> float:
    """The least shift of the one body along a direction at which it has a point of the other: a linear program."""
    a, b = one.piece_planes(0), other.piece_planes(0)
    rows = np.concatenate(
        [np.column_stack([a[:, :3], -(a[:, :3] @ along)]), np.column_stack([b[:, :3], np.zeros(len(b))])]
    )
    bounds = [(None, None)] * 3 + [(0, None)]
    found = linprog([0, 0, 0, 1], A_ub=rows, b_ub=np.concatenate([a[:, 3], b[:, 3]]), bounds=bounds)
    return float(found.fun) if found.status == 0 else np.inf


def test_rooms_of_turned_pieces_are_those_of_linear_programs():
    random = Random(7)
    shapes = [np.array(box_planes((0, 0, 0), (90, 40, 12))), eased_board(120, 50, 18, 3, 5)]
    sets = []
    for number in range(14):
        piece = from_planes([shapes[number % 2]], [""])
        origin = np.array([random.uniform(-150, 150) for _ in range(3)])
        sets.append(piece.transformed(turned(random), origin))
    room, overlapping = rooms_between(Pieces.concatenate(sets), np.arange(15))
    met = 0
    for a in range(14):
        for b in range(14):
            if a == b or overlapping[min(a, b), max(a, b)]:
                continue
            for way, direction in enumerate(DIRECTIONS):
                expected = first_meeting(sets[a], sets[b], VECTORS[direction])
                assert room[way, a, b] == pytest.approx(expected, abs=1e-4)
                met += np.isfinite(expected)
    assert met > 40


def solids(assembly, places):
    found = {}
    for part in assembly.parts:
        mesh = mesh_of(part.shape)
        place = places.get(part.label, part.placement)
        found[part.label] = mesh_solid(place.to_table(mesh.vertices), mesh.triangles)
    return found


def tables():
    for name, example in EXAMPLES.items():
        yield pytest.param(build(example.table()), True, id=f"{name}, covered")
        yield pytest.param(build(example.table()), False, id=f"{name}, stowed")
    yield pytest.param(sound_table("blocking/1")[1], False, id="random, stowed")


@pytest.mark.parametrize(("assembly", "covered"), list(tables()))
def test_parts_meet_where_their_solids_do(assembly, covered):
    """A part shifted a little farther than its room overlaps the other; all that it passes before does not."""
    places = assembly.cover if covered else {}
    blocking = blocking_of(assembly.parts, places)
    assert not blocking.overlapping
    meshes = solids(assembly, places)
    finite = np.argwhere(np.isfinite(blocking.room))
    free = np.argwhere(np.isinf(blocking.room))
    free = free[free[:, 1] != free[:, 2]]
    random = Random(3)
    looked_at = 0
    for way, a, b in [*random.sample(finite.tolist(), 60), *random.sample(free.tolist(), 30)]:
        along, room = VECTORS[DIRECTIONS[way]], blocking.room[way, a, b]
        one, other = (meshes[blocking.labels[part]] for part in (a, b))
        far = min(room - 1e-3, FAR)
        if far > 0:
            sweep = [
                Body(blocking.pieces[a].piece(piece)).swept(np.zeros(3), far * along)
                for piece in range(len(blocking.pieces[a]))
            ]
            assert sum((one.solid ^ other).volume() for one in sweep) < 1e-3
        if np.isfinite(room):
            assert (one.translate((room + 0.01) * along) ^ other).volume() > 1e-3
            looked_at += 1
    assert looked_at == 60


def test_ways_out_of_the_quilting_table():
    """By reasoning from the drawing: the bottom sits in grooves on all four sides, the sides stand outside of all."""
    assembly = build(EXAMPLES["quilting"].table())
    blocking = blocking_of(assembly.parts, assembly.cover)
    rest = set(blocking.labels)
    out = {label: blocking.ways_out({label}, rest - {label}) for label in rest}
    assert out["B1"] == ()
    assert {"S1": ("-y",), "S2": ("+y",), "S3": ("-x",), "S4": ("+x",)}.items() <= out.items()
    assert all(out[path.leaf] == ("+z",) for path in assembly.stow_paths)
    assert "+z" in blocking.ways_out({"B1", "LEDG1", "LEDG2"}, {"R1", "R2"})
    assert blocking.blockers({"B1"}, rest - {"B1"}, "-y")[0] == "S1"
    stowed = blocking_of(assembly.parts)
    for path in assembly.stow_paths:
        (way,) = stowed.ways_out({path.leaf}, rest - {path.leaf})
        assert np.array_equal(VECTORS[way], path.outward)


def test_a_stated_distance_is_enough():
    """A leaf may be pushed on as far as its end stop lets it, and no farther."""
    assembly = build(EXAMPLES["quilting"].table())
    blocking = blocking_of(assembly.parts)
    path = next(path for path in assembly.stow_paths if path.end_stop)
    inward = opposite(next(way for way in DIRECTIONS if np.array_equal(VECTORS[way], path.outward)))
    assert inward in blocking.ways_out({path.leaf}, {path.end_stop}, 1.4)
    assert inward not in blocking.ways_out({path.leaf}, {path.end_stop}, 1.6)
    assert blocking.rooms({path.leaf}, {path.end_stop})[inward] == pytest.approx(1.5, abs=1e-5)


def boxes(*corners) -> Blocking:
    pieces = [Pieces.boxes(np.array(low, float), np.array(high, float)) for low, high in corners]
    room, _ = rooms_between(Pieces.concatenate(pieces), np.arange(len(pieces) + 1))
    return Blocking(tuple("ABCDE"[: len(pieces)]), tuple(pieces), room, ())


def test_touching_parts_slide_along_each_other():
    blocking = boxes(((0, 0, 0), (10, 10, 10)), ((10, 0, 0), (20, 10, 10)), ((30, 10, 0), (40, 20, 10)))
    assert blocking.ways_out("A", "BC") == ("+y", "+z", "-x", "-y", "-z")
    assert blocking.touching.tolist() == [[False, True, False], [True, False, False], [False, False, False]]
    assert blocking.rooms("C", "B")["-x"] == np.inf
    assert blocking.rooms("A", "B")["+x"] == pytest.approx(0.0, abs=2e-6)


def test_parts_that_overlap_let_each_other_go_the_shorter_way():
    blocking = boxes(((0, 0, 0), (10, 10, 10)), ((8, -40, -3), (18, 60, 9)))
    assert blocking.ways_out("A", "B") == ("+z", "-x", "-y")
    assert set(blocking.ways_out("B", "A")) == {"-z", "+x", "+y"}
