"""Obstacles that a leaf meets between two frames, or that its surface never touches: found here, missed by sampling.

The sampler is what an animation would do: the leaf at 240 places along its way, its surface against that of the
obstacle (meshes in python-fcl). How often it misses an obstacle follows from the step alone: an obstacle w long in the
way, narrower than the step s, is hit in w/s of all placements.
"""

from __future__ import annotations

from math import hypot

import fcl
import numpy as np
import pytest

from addon.check.clearance.kernel import Mover, Slide, StaticScene
from addon.check.prepared import prepare
from addon.designs.table import build
from addon.wood.meshes.mesh import mesh_of
from addon.wood.solids.pieces import Pieces, from_planes
from tests.old_tables import EXAMPLES

FRAMES = 240
PREPARED = prepare(build(EXAMPLES["quilting"].table()))
PATH = PREPARED.assembly.stow_paths[0]
LEAF = PREPARED.assembly.by_label[PATH.leaf]
LOW, HIGH = PREPARED.bounds(PATH.leaf)
MOVE = PATH.moves[0]
STEP = MOVE.length / (FRAMES - 1)


def slide_past(obstacle: Pieces) -> Slide:
    """The leaf's way home past one obstacle."""
    scene = StaticScene(obstacle, np.zeros(len(obstacle), dtype=np.intp))
    return scene.slide(Mover(PREPARED.pieces[PREPARED.number[PATH.leaf]]), MOVE.vector, start=MOVE.start)


def surface(vertices: np.ndarray, triangles: np.ndarray) -> fcl.BVHModel:
    model = fcl.BVHModel()
    model.beginModel(len(vertices), len(triangles))
    model.addSubModel(vertices, triangles)
    model.endModel()
    return model


def leaf_surface() -> fcl.BVHModel:
    mesh = mesh_of(LEAF.shape)
    return surface(LEAF.placement.to_table(mesh.vertices), mesh.triangles)


SURFACE = leaf_surface()
BOX_TRIANGLES = np.array(
    [[0, 2, 1], [1, 2, 3], [4, 5, 6], [5, 7, 6], [0, 1, 4], [1, 5, 4], [2, 6, 3], [3, 6, 7], [0, 4, 2], [2, 4, 6],
     [1, 3, 5], [3, 7, 5]]
)  # fmt: skip


def box_corners(low: np.ndarray, high: np.ndarray) -> np.ndarray:
    """(8, 3); corner k has its high value on z, y, x where bits 0, 1, 2 of k are set."""
    return np.array(
        [[(low, high)[k >> 2 & 1][0], (low, high)[k >> 1 & 1][1], (low, high)[k & 1][2]] for k in range(8)]
    )


def sampled_hit(vertices: np.ndarray, triangles: np.ndarray) -> bool:
    """Whether any of the frames shows the two surfaces crossing."""
    other = fcl.CollisionObject(surface(vertices, triangles))
    for frame in range(FRAMES):
        moved = fcl.CollisionObject(SURFACE, fcl.Transform(MOVE.start + MOVE.vector * frame / (FRAMES - 1)))
        if fcl.collide(moved, other, fcl.CollisionRequest(), fcl.CollisionResult()):
            return True
    return False


def across_the_way(length: float, count: int) -> list[tuple[np.ndarray, np.ndarray]]:
    """Shims `length` mm long in the way, 4 mm wide, within the leaf's thickness but for its faces: only the leaf's
    nose ever touches them. Placed evenly over one step of the sampler, well before home."""
    middle = (LOW + HIGH) / 2
    shims = []
    for k in range(count):
        y = HIGH[1] - 300.0 + k * STEP / count
        shims.append(
            (np.array([middle[0] - 2, y, LOW[2] + 2]), np.array([middle[0] + 2, y + length, HIGH[2] - 2]))
        )
    return shims


def test_the_samplers_step_is_that_of_the_quilting_table() -> None:
    assert pytest.approx(4.2, abs=0.05) == STEP


@pytest.mark.parametrize("length", [0.5, 2.0])
def test_a_shim_in_the_way(length: float) -> None:
    """The exact slide finds every one of them; frames find the share that the step allows."""
    count = 40
    hits = 0
    for low, high in across_the_way(length, count):
        slide = slide_past(Pieces.boxes(low[None], high[None]))
        # the way out: up or down, past the 2 mm of the leaf above it and the shim's own height
        thickness = HIGH[2] - LOW[2]
        assert slide.clearance[0] == pytest.approx(-(thickness - 2), abs=1e-9)
        contact = slide.contact(0)
        nose_start = HIGH[1] + MOVE.start[1]
        assert contact.fraction * MOVE.length == pytest.approx(low[1] - nose_start, abs=1e-6)
        hits += sampled_hit(box_corners(low, high), BOX_TRIANGLES)
    assert hits / count == pytest.approx(length / STEP, abs=1.5 / count)
    assert hits < count


def screw_tip(apex: np.ndarray, radius: float, height: float, sides: int = 12) -> Pieces:
    """A cone of flat sides that points upward, its base `height` mm below the apex."""
    planes = [(0.0, 0.0, -1.0, -(apex[2] - height))]
    for k in range(sides):
        angle = 2 * np.pi * k / sides
        normal = np.array([height * np.cos(angle), height * np.sin(angle), radius]) / hypot(height, radius)
        planes.append((*normal, float(normal @ apex)))
    return from_planes([np.array(planes)], ["screw tip"])


@pytest.mark.parametrize("stands_in", [0.05, 0.5])
def test_a_screw_tip_through_a_sill(stands_in: float) -> None:
    """1 mm in radius, it comes up under the leaf by a little: exactly that is missing."""
    apex = np.array([(LOW[0] + HIGH[0]) / 2, HIGH[1] - 200.0, LOW[2] + stands_in])
    slide = slide_past(screw_tip(apex, 1.0, 3.0))
    assert slide.clearance[0] == pytest.approx(-stands_in, abs=1e-9)
    below = screw_tip(apex - [0, 0, stands_in + 0.1], 1.0, 3.0)
    assert slide_past(below).clearance[0] == pytest.approx(0.1, abs=1e-9)


def test_a_screw_tip_between_two_frames() -> None:
    """A tip wholly within the leaf's thickness is met by the nose alone, for as long as it is thick."""
    count, hits = 20, 0
    for k in range(count):
        apex = np.array([(LOW[0] + HIGH[0]) / 2, HIGH[1] - 300.0 + k * STEP / count, HIGH[2] - 5.0])
        tip = screw_tip(apex, 1.0, 3.0)
        assert slide_past(tip).clearance[0] < -1.0
        corners = tip.piece(0)
        order = np.lexsort((np.arctan2(*(corners - apex)[:, [1, 0]].T), corners[:, 2]))
        ring, top = corners[order[:-1]], corners[order[-1]]
        around = len(ring)
        triangles = [[i, (i + 1) % around, around] for i in range(around)]
        triangles += [[0, i + 1, i] for i in range(1, around - 1)]
        hits += sampled_hit(np.vstack([ring, top]), np.array(triangles))
    assert 0 < hits < count


def test_an_obstacle_wholly_inside_the_leaf_at_home() -> None:
    """Surfaces that never cross: the distance of surfaces is positive, the solids overlap."""
    middle = (LOW + HIGH) / 2 + [60.0, 0.0, 0.0]
    low, high = middle - 3.0, middle + 3.0
    leaf, other = (
        fcl.CollisionObject(SURFACE),
        fcl.CollisionObject(surface(box_corners(low, high), BOX_TRIANGLES)),
    )
    assert fcl.distance(leaf, other, fcl.DistanceRequest(), fcl.DistanceResult()) > 5.0
    scene = StaticScene(Pieces.boxes(low[None], high[None]), np.zeros(1, dtype=np.intp))
    standing = scene.slide(Mover(PREPARED.pieces[PREPARED.number[PATH.leaf]]), np.zeros(3))
    assert standing.clearance[0] == pytest.approx(-(3.0 + (HIGH[2] - LOW[2]) / 2), abs=1e-9)


def test_a_leaf_inside_a_block() -> None:
    """The leaf's whole way lies in one block of wood: nothing crosses anywhere, and all of it collides."""
    low = np.minimum(LOW, LOW + MOVE.start) - 50.0
    high = np.maximum(HIGH, HIGH + MOVE.start) + 50.0
    assert not sampled_hit(box_corners(low, high), BOX_TRIANGLES)
    slide = slide_past(Pieces.boxes(low[None], high[None]))
    assert slide.clearance[0] == pytest.approx(-(HIGH[2] - LOW[2] + 50.0), abs=1e-9)
    assert slide.contact(0).fraction == 0.0
