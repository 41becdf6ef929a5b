"""Which parts are the same when turned, and which are mirror images, against manifold3d and against groups by hand.

manifold3d (see `shape_bench`) says what two solids have in common after a motion.
"""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from random import Random

import numpy as np
import pytest

from addon.check.apart.units import glued_up
from addon.designs.table import build
from addon.wood.assembly import Assembly, Joint
from addon.wood.features import EdgeTreatment, Groove, Hole
from addon.wood.meshes.mesh import Mesh, mesh_of
from addon.wood.part import Part, Placement, Shape, rectangle
from addon.wood.roles import LEG, RIB
from addon.wood.same import Turn, alike_parts, alike_units, corners_of_mesh, groups, turn_between
from addon.wood.stock import Stock
from tests.convex_samples import turned
from tests.large import sampled
from tests.old_tables import EXAMPLES
from tests.shape_bench import allowed, as_manifold, difference, random_shapes

PLY = Stock("ply", 18.0, 18.0)
PLAIN = Stock("fiberboard", 18.0, 18.0, grain="none")
SHAPES = random_shapes(36, seed=5)
SHAPES += [replace(shape, features=()) for shape in SHAPES[:6]]
FLIP = np.diag([1.0, 1.0, -1.0])


def part(shape: Shape, label: str = "R1", stock: Stock = PLY, **more) -> Part:
    return Part(label, "board", RIB, stock, shape, Placement(np.zeros(3), np.eye(3)), **more)


def assembly(*parts: Part, joints: tuple[Joint, ...] = ()) -> Assembly:
    return Assembly("A", parts, joints, ())


def members(kinds) -> list[list[str]]:
    return [["+".join(labels) for labels in kind.members] for kind in kinds]


def moved(mesh: Mesh, motion: np.ndarray, offset: np.ndarray) -> Mesh:
    """The mesh after a motion; a reflection turns its triangles round."""
    triangles = mesh.triangles if np.linalg.det(motion) > 0 else mesh.triangles[:, ::-1]
    return Mesh(mesh.vertices @ motion.T + offset, triangles, mesh.patch)


def cut_up(mesh: Mesh, random: Random) -> Mesh:
    """The same surface of other triangles: each cut in three about a point within, in another order, renumbered."""
    rng = np.random.default_rng(random.randrange(10**6))
    corners = mesh.vertices[mesh.triangles]
    weights = rng.dirichlet([2.0, 2.0, 2.0], len(corners))
    inner = np.arange(len(corners)) + len(mesh.vertices)
    points = np.concatenate([mesh.vertices, np.einsum("ij,ijk->ik", weights, corners)])
    a, b, c = mesh.triangles.T
    triangles = np.concatenate(
        [np.stack(one, axis=1) for one in ((a, b, inner), (b, c, inner), (c, a, inner))]
    )
    patch = np.tile(mesh.patch, 3)
    number, order = rng.permutation(len(points)), rng.permutation(len(triangles))
    renumbered = np.empty_like(points)
    renumbered[number] = points
    return Mesh(renumbered, number[triangles][order].astype(np.int32), patch[order])


def assert_takes(turn: Turn | None, one: Mesh, other: Mesh) -> None:
    """manifold3d: the first solid, moved so, is the second one."""
    assert turn is not None
    a, b = as_manifold(moved(one, turn.rotation, turn.offset)), as_manifold(other)
    # A motion that is off by a nanometer or so sweeps that much of the surface.
    assert abs(difference(a, b)) <= allowed(b) + 2e-6 * b.surface_area()


# -- random solids, turned at random
# ------------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("number", sampled(range(0, len(SHAPES), 3), range(len(SHAPES))))
def test_a_solid_is_found_again_however_it_is_turned_and_cut_up(number: int) -> None:
    random = Random(number)
    mesh = mesh_of(SHAPES[number])
    rotation, offset = turned(random), np.array([random.uniform(-900, 900) for _ in range(3)])
    other = cut_up(moved(mesh, rotation, offset), random)
    turn = turn_between(corners_of_mesh(mesh), corners_of_mesh(other))
    assert_takes(turn, mesh, other)
    assert np.linalg.det(turn.rotation) == pytest.approx(1.0)


@pytest.mark.parametrize("number", sampled(range(0, len(SHAPES), 3), range(len(SHAPES))))
def test_a_mirror_image_is_found_as_such_however_it_is_turned(number: int) -> None:
    random = Random(number)
    mesh = mesh_of(SHAPES[number])
    other = cut_up(moved(mesh, turned(random) @ FLIP, np.array([3.0, -20.0, 700.0])), random)
    solids = corners_of_mesh(mesh), corners_of_mesh(other)
    mirrored = turn_between(*solids, mirrored=True)
    assert_takes(mirrored, mesh, other)
    assert np.linalg.det(mirrored.rotation) == pytest.approx(-1.0)
    turn = turn_between(*solids)
    assert (turn is not None) == is_its_own_mirror_image(number)
    if turn is not None:
        assert_takes(turn, mesh, other)


@lru_cache
def is_its_own_mirror_image(number: int) -> bool:
    """By manifold3d: whether any motion that keeps the board's faces and its three axes takes it to its mirror image.

    These boards are no squares, so that no others come into question.
    """
    shape = SHAPES[number]
    mesh = mesh_of(shape)
    solid = as_manifold(mesh)
    middle = np.array([*np.mean([mesh.vertices.min(axis=0), mesh.vertices.max(axis=0)], axis=0)])
    found = []
    for signs in ((-1, 1, 1), (1, -1, 1), (1, 1, -1), (-1, -1, -1)):
        motion = np.diag(np.array(signs, dtype=float))
        image = as_manifold(moved(mesh, motion, middle - motion @ middle))
        found.append(abs(difference(solid, image)) < 1e-3)
    return any(found)


def test_both_outcomes_are_among_the_samples() -> None:
    own = [is_its_own_mirror_image(number) for number in range(len(SHAPES))]
    assert 6 <= sum(own) <= len(own) - 20


def test_different_solids_are_told_apart() -> None:
    """Each random shape against each other one, and against itself a hundredth of a millimeter thicker."""
    solids = [corners_of_mesh(mesh_of(shape)) for shape in SHAPES]
    for a, one in enumerate(solids):
        assert not any(turn_between(one, other) for other in solids[a + 1 :])
    for shape in SHAPES[:20]:
        plain = replace(shape, features=())
        thicker = replace(plain, thickness=plain.thickness + 0.01)
        assert turn_between(corners_of_mesh(mesh_of(plain)), corners_of_mesh(mesh_of(thicker))) is None


def test_values_that_are_alike_but_for_rounding_have_one_number() -> None:
    rng = np.random.default_rng(1)
    values = rng.uniform(-1, 1, (40, 3))
    number = rng.integers(0, 40, 500)
    found = groups(values[number] + rng.uniform(-1e-12, 1e-12, (500, 3)), 1e-7)
    assert len(set(zip(found.tolist(), number.tolist(), strict=True))) == len(set(number.tolist()))
    assert len(set(found.tolist())) == len(set(number.tolist()))


# -- descriptions that come to the same
# ------------------------------------------------------------------------------------------------------------------


def test_a_rabbet_cut_as_a_groove_is_the_same_solid() -> None:
    """A groove that runs out of the upper edge, of whatever kind it is said to be, and however far beyond."""
    one = Shape(rectangle(400, 100), 18, (Groove(-1, 401, 80, 101, 6, "front", "rabbet"),))
    two = Shape(rectangle(400, 100), 18, (Groove(-5, 405, 80, 130, 6, "front"),))
    (kind,) = alike_parts(assembly(part(one, "R1"), part(two, "R2")))
    assert kind.turns[1].rotation == pytest.approx(np.eye(3))


def test_half_turns_by_hand() -> None:
    """A hole near the start, and the same board described from its other end: half a turn about the thickness."""
    one = Shape(rectangle(400, 100), 18, (Hole(50, 30, 20),))
    two = Shape(rectangle(400, 100), 18, (Hole(350, 70, 20),))
    (kind,) = alike_parts(assembly(part(one, "R1"), part(two, "R2")))
    assert kind.turns[1].rotation == pytest.approx(np.diag([-1.0, -1.0, 1.0]))
    assert kind.turns[1].offset == pytest.approx([400.0, 100.0, 0.0])
    assert kind.turns[1](np.array([[50.0, 30.0, 0.0]])) == pytest.approx(np.array([[350.0, 70.0, 0.0]]))


def test_a_through_hole_beside_the_middle_makes_no_mirror_pair_but_a_blind_one_does() -> None:
    """Turned over, a board with a hole is its own mirror image; with a blind hole its two faces differ."""
    for depth, expected in ((None, None), (6.0, 1)):
        one = Shape(rectangle(400, 100), 18, (Hole(50, 30, 20, depth),))
        two = Shape(rectangle(400, 100), 18, (Hole(350, 30, 20, depth),))
        kinds = alike_parts(assembly(part(one, "R1"), part(two, "R2")))
        assert kinds[0].mirror == expected
        assert len(kinds) == (1 if expected is None else 2)


def test_a_chamfer_on_one_face_makes_left_and_right_shelves() -> None:
    """Chamfered along the front edge of the upper face and grooved below near the left end, or near the right one."""
    chamfer = EdgeTreatment(0, "front", "chamfer", 3.0)
    left = Shape(rectangle(400, 200), 18, (Groove(40, 58, -1, 201, 6, "back"), chamfer))
    right = Shape(rectangle(400, 200), 18, (Groove(342, 360, -1, 201, 6, "back"), chamfer))
    kinds = alike_parts(assembly(*(part(one, f"R{at}") for at, one in enumerate((left, right, left), 1))))
    assert members(kinds) == [["R1", "R3"], ["R2"]]
    assert [kind.mirror for kind in kinds] == [1, 0]


def test_grain_has_to_run_the_same_way() -> None:
    """300 x 200 along the grain, and 200 x 300 across it: one board, a quarter turned. 300 x 200 across is another."""
    along, across = Shape(rectangle(300, 200), 18), Shape(rectangle(200, 300), 18)
    parts = part(along, "R1"), part(across, "R2", grain="v"), part(along, "R3", grain="v")
    assert members(alike_parts(assembly(*parts))) == [["R1", "R2"], ["R3"]]
    plain = [replace(one, stock=PLAIN) for one in parts]
    assert members(alike_parts(assembly(*plain))) == [["R1", "R2", "R3"]]


def test_one_board_for_two_uses_is_one_kind_to_cut_and_two_to_draw() -> None:
    shape = Shape(rectangle(300, 200), 18)
    table = assembly(part(shape, "R1"), replace(part(shape, "LEG1"), role=LEG))
    assert members(alike_parts(table)) == [["R1", "LEG1"]]
    assert members(alike_units(table, [("R1",), ("LEG1",)])) == [["R1"], ["LEG1"]]


def test_other_stock_is_another_kind() -> None:
    other = Stock("other ply", 18.0, 18.0)
    shape = Shape(rectangle(300, 200), 18)
    assert members(alike_parts(assembly(part(shape, "R1"), part(shape, "R2", other)))) == [["R1"], ["R2"]]


# -- tables, by hand
# ------------------------------------------------------------------------------------------------------------------


def test_the_quilting_table_has_these_kinds() -> None:
    """Its arrangement comes to itself when the table is turned half round, so S1 is S2 turned half about the height and
    no mirror image of it, and so are S3 and S4, R1 and R4 (one window each), R2 and R3 (two each). Of the segments in
    three rows and five bays, the six in the upper leaves' ways have a window open toward the outside; those beside the
    short sides are plain, and so are those in the middle bay, which is wider. Leg boards stand 60 and 60 - 17.7 wide.
    """
    table = build(EXAMPLES["quilting"].table())
    kinds = alike_parts(table)
    assert members(kinds) == [
        ["S1", "S2"],
        ["S3", "S4"],
        ["B1"],
        ["R1", "R4"],
        ["R2", "R3"],
        ["R5", "R9", "R10", "R14", "R15", "R19"],
        ["R6", "R8", "R11", "R13", "R16", "R18"],
        ["R7", "R12", "R17"],
        ["L1", "L2", "L3", "L4"],
        ["STOP1", "STOP2"],
        ["LEG1", "LEG3", "LEG5", "LEG7"],
        ["LEG2", "LEG4", "LEG6", "LEG8"],
        ["LEDG1", "LEDG2"],
    ]
    assert {kind.mirror for kind in kinds} == {None}
    for kind in kinds:
        for (label,), turn in zip(kind.members, kind.turns, strict=True):
            assert_takes(turn, *(mesh_of(table.by_label[one].shape) for one in (kind.first[0], label)))
    assert kinds[0].turns[1].rotation == pytest.approx(np.diag([-1.0, 1.0, -1.0]))
    legs = [kind for kind in alike_units(table, glued_up(table)) if "LEG1" in kind.first]
    assert members(legs) == [["LEG1+LEG2", "LEG3+LEG4", "LEG5+LEG6", "LEG7+LEG8"]]


def leg(first: int, turned_over: bool) -> list[Part]:
    """Two boards face to face, the second with a blind hole in its outer face near its upper or its lower end."""
    bored = Shape(rectangle(60, 700), 18, (Hole(20, 50 if turned_over else 650, 8, 10, "back"),))
    low, high = np.array([100.0 * first, 0.0, 0.0]), np.array([100.0 * first, 0.0, 18.0])
    return [
        replace(
            part(Shape(rectangle(60, 700), 18), f"LEG{first}"), role=LEG, placement=Placement(low, np.eye(3))
        ),
        replace(part(bored, f"LEG{first + 1}"), role=LEG, placement=Placement(high, np.eye(3))),
    ]


def test_legs_that_are_mirror_images_are_told_apart_as_such() -> None:
    """The boards alone: the hole is 20 mm from the left edge, looked at with its end up; upside down from the right."""
    table = assembly(*leg(1, False), *leg(3, True), *leg(5, False))
    units = [("LEG1", "LEG2"), ("LEG3", "LEG4"), ("LEG5", "LEG6")]
    kinds = alike_units(table, units)
    assert members(kinds) == [["LEG1+LEG2", "LEG5+LEG6"], ["LEG3+LEG4"]]
    assert [kind.mirror for kind in kinds] == [1, 0]


def test_units_are_alike_only_where_their_parts_stand_alike() -> None:
    """Boards of 60 and 40 side by side: the narrow one left or right of the wide one comes to the same, below not."""
    wide, narrow = Shape(rectangle(700, 60), 18), Shape(rectangle(700, 40), 18)

    def two(first: int, where: tuple[float, float, float]) -> list[Part]:
        at = np.array([0.0, 0.0, 200.0 * first])
        places = Placement(at, np.eye(3)), Placement(at + where, np.eye(3))
        return [
            replace(part(shape, f"LEG{first + n}"), role=LEG, placement=place)
            for n, (shape, place) in enumerate(zip((wide, narrow), places, strict=True))
        ]

    table = assembly(*two(1, (0.0, 60.0, 0.0)), *two(3, (0.0, -40.0, 0.0)), *two(5, (0.0, 0.0, 18.0)))
    units = [("LEG1", "LEG2"), ("LEG3", "LEG4"), ("LEG5", "LEG6")]
    assert members(alike_units(table, units)) == [["LEG1+LEG2", "LEG3+LEG4"], ["LEG5+LEG6"]]
