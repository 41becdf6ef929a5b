"""Convex pieces of many kinds, at random, for the tests of the kernel."""

from __future__ import annotations

from itertools import product
from random import Random

import numpy as np
from numpy.typing import NDArray

from addon.check.clearance.separation import Polytope
from addon.wood.solids.pieces import Edges, Pieces, from_planes

Floats = NDArray[np.float64]


def turned(random: Random) -> Floats:
    """A random rotation, (3, 3), from a unit quaternion (Shoemake, Graphics Gems III, 1992)."""
    w, x, y, z = quaternion = [random.gauss(0, 1) for _ in range(4)]
    s = 2 / sum(q * q for q in quaternion)
    return np.array(
        [
            [1 - s * (y * y + z * z), s * (x * y - z * w), s * (x * z + y * w)],
            [s * (x * y + z * w), 1 - s * (x * x + z * z), s * (y * z - x * w)],
            [s * (x * z - y * w), s * (y * z + x * w), 1 - s * (x * x + y * y)],
        ]
    )


def quarter_turned(random: Random) -> Floats:
    """A random rotation that keeps the axes."""
    axes = (
        np.eye(3)[random.sample(range(3), 3)]
        * np.array([random.choice([-1.0, 1.0]) for _ in range(3)])[:, None]
    )
    return axes if np.linalg.det(axes) > 0 else -axes


def box_planes(low: tuple[float, ...], high: tuple[float, ...]) -> list[tuple[float, ...]]:
    """The six half-spaces of a box."""
    planes = []
    for axis, normal in enumerate(np.eye(3).tolist()):
        planes += [(*normal, high[axis]), (*(-n for n in normal), -low[axis])]
    return planes


def eased_board(length: float, width: float, thickness: float, radius: float, steps: int = 10) -> Floats:
    """Planes of a board with rounded long edges: x along, y across, z through; `steps` facets a quarter."""
    planes = [(1.0, 0, 0, length), (-1.0, 0, 0, 0)]
    for corner, (y, z) in enumerate([(1, 1), (0, 1), (0, 0), (1, 0)]):
        center = np.array([0, width - radius if y else radius, thickness - radius if z else radius])
        for step in range(steps):
            angle = np.pi / 2 * (corner + step / (steps - 1))
            normal = np.array([0, np.cos(angle), np.sin(angle)])
            planes.append((*normal, normal @ center + radius))
    return np.array(planes)


def hexagonal_prism(length: float, depth: float, thickness: float, chamfer: float) -> Floats:
    """Planes of the piece beyond one edge of an opening that is chamfered on both faces."""
    s = np.sqrt(0.5)
    planes = [*box_planes((0, 0, 0), (length, depth, thickness))]
    planes += [(0, -s, -s, -s * chamfer), (0, -s, s, s * (thickness - chamfer))]
    return np.array(planes)


def cut_box(random: Random, cuts: int) -> Floats:
    """Planes of a box with this many random cuts."""
    planes = box_planes(
        tuple(-random.uniform(4, 12) for _ in range(3)), tuple(random.uniform(4, 12) for _ in range(3))
    )
    for _ in range(cuts):
        normal = np.array([random.gauss(0, 1) for _ in range(3)])
        planes.append((*(normal / np.linalg.norm(normal)), random.uniform(3, 9)))
    return np.array(planes)


def piece(random: Random, spread: float) -> Pieces:
    """One piece of a random kind, size, attitude and place."""
    kind = random.randrange(4)
    if kind == 0:
        size = [random.uniform(1, 25) for _ in range(3)]
        one = Pieces.boxes(np.zeros(3), np.array(size))
    elif kind == 1:
        one = from_planes([eased_board(random.uniform(20, 40), 15, 8, random.uniform(1, 3.5), 4)], [""])
    elif kind == 2:
        one = from_planes(
            [hexagonal_prism(random.uniform(5, 30), random.uniform(7, 20), 9, random.uniform(1, 3))], [""]
        )
    else:
        one = from_planes([cut_box(random, random.randrange(1, 12))], [""])
    axes = turned(random) if random.random() < 0.6 else quarter_turned(random)
    place = np.array([random.uniform(-spread, spread) for _ in range(3)])
    return one.transformed(axes, np.round(place) if random.random() < 0.5 else place)


def pieces(random: Random, count: int, spread: float) -> Pieces:
    """Several of them."""
    return Pieces.concatenate([piece(random, spread) for _ in range(count)])


def body(random: Random, spread: float) -> Polytope:
    """One of them as a body of its own."""
    return Polytope.of(piece(random, spread), 0)


def travel(random: Random, length: float) -> Floats:
    """A move along an axis or askew."""
    if random.random() < 0.5:
        return np.eye(3)[random.randrange(3)] * random.uniform(-length, length)
    return np.array([random.uniform(-length, length) for _ in range(3)])


def corners(low: tuple[float, ...], high: tuple[float, ...]) -> Floats:
    """The eight corners of a box."""
    return np.array(list(product(*zip(low, high, strict=True))), dtype=float)


def as_pieces(one: Polytope) -> Pieces:
    """A body as a set of one piece."""
    starts, plane_starts = np.array([0, len(one.vertices)]), np.array([0, len(one.planes)])
    edges = Edges(one.edges, one.edge_planes)
    return Pieces(one.vertices, starts, one.planes, plane_starts, (edges,), ("",))


def same_points(a: Floats, b: Floats, within: float) -> bool:
    """Whether two sets of points are one, each point once in each."""
    distances = np.linalg.norm(np.asarray(a)[:, None] - np.asarray(b)[None], axis=2) <= within
    return bool((distances.sum(axis=0) == 1).all() and (distances.sum(axis=1) == 1).all())


def assert_sound(one: Pieces) -> None:
    """Facets, edges and vertices of each piece fit each other (Euler's formula; each edge borders two facets)."""
    for i in range(len(one)):
        vertices, planes = one.piece(i), one.piece_planes(i)
        edges, edge_planes = one.edges[i]
        assert len(vertices) - len(edges) + len(planes) == 2
        np.testing.assert_allclose(np.linalg.norm(planes[:, :3], axis=1), 1, atol=1e-14)
        heights = vertices @ planes[:, :3].T - planes[:, 3]
        assert heights.max() <= 1e-9
        on = np.abs(heights) <= 1e-9
        assert (on.sum(axis=0) >= 3).all()
        for ends, sides in zip(edges, edge_planes, strict=True):
            assert set(np.flatnonzero(on[ends].all(axis=0))) == set(sides)
        assert (np.bincount(edge_planes.ravel()) == on.sum(axis=0)).all()
