"""Marks at overlaps and tight places: hatching on the parts, a ring and a note in words, markers in the timeline.

Hatching is geometry, not a shader, so that it shows in every shading mode; a color alone says nothing.
"""

from __future__ import annotations

from typing import Final

import bpy
import numpy as np
from bpy.types import Material, Object, Scene
from mathutils import Euler, Matrix, Quaternion, Vector
from numpy.typing import NDArray

from ..paper.sheet import palette
from ..sizes.arrays import Floats
from . import ids
from .description import METERS
from .materials import linear, plain
from .motion.animation import set_keys
from .motion.timeline import Mark
from .objects import fill_mesh

Facing = Euler | Quaternion

FACING: Final = Euler((np.radians(58.0), 0.0, 0.0))
"""Rings and notes face someone who stands before the table and looks down on it; they read from both corners too."""
WHITE: Final = (0.9, 0.9, 0.88)
"""Paper, linear RGB."""
RING: Final = 0.035
"""Radius of a ring, m."""
LETTERS: Final = 0.035
"""Height of a note's letters, m."""
LINE: Final = 1 / 0.7
"""From line to line, in heights of letters."""
PITCH: Final = 0.045
"""From stripe to stripe, m."""
STRIPE: Final = 0.45
"""Share of the pitch that a stripe takes."""
SLIVER: Final = 0.002
"""Height of a triangle below which it is taken for a facet of a rounded edge, m."""
LIFT: Final = 0.0006
"""How far the stripes stand off the surface, m, so that they cover it."""

FLAT: Final = 0.999
"""Cosine of the angle between two faces from which their edge is no edge to the eye: 2.6 degrees."""
SHARP: Final = 0.9
"""The same for edges that are drawn while those of roundings are not: 26 degrees."""


def overlap_paint() -> Material:
    """What marks an overlap: it cannot stay."""
    return plain("Overlap", linear(palette.BLOCKED), glow=True)


def tight_paint() -> Material:
    """What marks a tight place or a snag: the hand has to act."""
    return plain("Tight", linear(palette.BY_HAND), glow=True)


def material_of(mark: Mark) -> Material:
    """What a mark is made of."""
    return overlap_paint() if mark.word == "overlap" else tight_paint()


def show(scene: Scene, key: str, objects: dict[str, Object], marks: list[Mark], texts: list[str]) -> None:
    """Replaces the marks of a table by these; `texts` are their notes."""
    clear(scene, key)
    root = ids.root_object(scene, key)
    if root is None:
        return
    names = []
    for mark, text in zip(marks, texts, strict=True):
        group = ids.side_collection(scene, key, "mark", "Marks")
        material = material_of(mark)
        if mark.word == "overlap":
            made = [
                hatched(objects[label], material) for label in (mark.leaf, mark.other) if label in objects
            ]
        else:
            made = []
        place = Vector(mark.at) * METERS
        made += [ring(root, place, material), *note(root, place, text, material)]
        for item in made:
            _tag(item, key, mark)
            group.objects.link(item)
            show_between(item, *mark.frames)
        names += _set_markers(scene, mark)
    root[ids.MARKERS] = "\n".join(names)


def clear(scene: Scene, key: str) -> None:
    """Takes a table's marks and timeline markers away."""
    for item in [item for item in scene.objects if item.get(ids.TABLE) == key and item.get(ids.MARK)]:
        ids.remove_object(item)
    root = ids.root_object(scene, key)
    if root is None:
        return
    for name in str(root.get(ids.MARKERS, "")).split("\n"):
        marker = scene.timeline_markers.get(name)
        if marker is not None:  # others of that name are another table's
            scene.timeline_markers.remove(marker)
    root[ids.MARKERS] = ""


def hatched(part: Object, material: Material) -> Object:
    """Stripes on the surface of a part, as an object that moves with it."""
    positions, triangles = surface(part)
    positions, triangles = hatch(positions, triangles[_broad(positions, triangles)])
    mesh = bpy.data.meshes.new(f"{part.name} Hatching")
    fill_mesh(mesh, positions, triangles)
    mesh.materials.append(material)
    item = bpy.data.objects.new(mesh.name, mesh)
    item.parent = part
    return item


def surface(part: Object) -> tuple[Floats, NDArray[np.int32]]:
    """(n, 3) float positions, m, and (m, 3) int triangles of a mesh object."""
    mesh = part.data
    assert isinstance(mesh, bpy.types.Mesh)
    positions = np.empty(3 * len(mesh.vertices), dtype=np.float32)
    mesh.attributes["position"].data.foreach_get("vector", positions)
    mesh.calc_loop_triangles()
    triangles = np.empty(3 * len(mesh.loop_triangles), dtype=np.int32)
    mesh.loop_triangles.foreach_get("vertices", triangles)
    return positions.reshape(-1, 3).astype(float), triangles.reshape(-1, 3)


def ring(
    root: Object, place: Vector, material: Material, facing: Facing = FACING, radius: float = RING
) -> Object:
    """A ring around a place of the table, m."""
    turns = np.linspace(0.0, 2.0 * np.pi, 48, endpoint=False)
    points = radius * np.stack([np.cos(turns), np.sin(turns)], axis=1)
    item = line("Ring", points, radius * 0.086, material, closed=True)
    item.parent = root
    item.matrix_local = Matrix.Translation(place[:]) @ facing.to_matrix().to_4x4()
    item.show_in_front = True
    return item


def note(
    root: Object,
    place: Vector,
    text: str,
    material: Material,
    facing: Facing = FACING,
    letters: float = LETTERS,
    shift: tuple[float, float] | None = None,
) -> list[Object]:
    """Words beside a place of the table, m, and the paper that they stand on.

    Parameters
    ----------
    shift : from the place to the left end of the first line's foot, m; by default to the right and up a little
    """
    lettering = words("Note", text, letters, material)
    lines = text.split("\n")
    width, step = note_width(text, letters), letters * LINE
    middle, half = np.array([width / 2, (1.5 - len(lines) / 2) * step - letters]), (len(lines) + 0.4) * step
    ends = np.array([middle - [width / 2 + letters / 2, 0.0], middle + [width / 2 + letters / 2, 0.0]])
    paper = line("Note Paper", ends, half, plain("Note Paper", WHITE, glow=True))
    right, up = shift or (letters * 1.5, letters * 1.5)
    offset = facing.to_matrix() @ Vector((right, up, 0.0))
    for item, depth in ((lettering, 0.002), (paper, 0.0)):
        item.parent = root
        turn = facing.to_matrix().to_4x4() @ Matrix.Translation((0.0, 0.0, depth))
        item.matrix_local = Matrix.Translation((place + offset)[:]) @ turn
        item.show_in_front = True
    return [lettering, paper]


def note_width(text: str, letters: float) -> float:
    """How much room a note's longest line takes at most, m."""
    return max(map(len, text.split("\n"))) * letters * 0.72


def line(name: str, points: Floats, width: float, material: Material, closed: bool = False) -> Object:
    """A flat line in the plane z = 0 through (n, 2) float points, m, its corners mitered."""
    positions, triangles = ribbon(points, width, closed)
    mesh = bpy.data.meshes.new(name)
    fill_mesh(mesh, positions, triangles)
    mesh.materials.append(material)
    return bpy.data.objects.new(name, mesh)


def words(name: str, text: str, height: float, material: Material) -> Object:
    """Lettering with capitals about `height` m high, its first line's foot at the origin."""
    curve = bpy.data.curves.new(name, "FONT")
    curve.body = text
    curve.size = height * LINE
    curve.materials.append(material)
    return bpy.data.objects.new(name, curve)


def _tag(item: Object, key: str, mark: Mark) -> None:
    item[ids.TABLE] = key
    item[ids.MARK] = mark.word
    item.hide_select = True


def show_between(item: Object, first: int, last: int) -> None:
    """Keyframes that show an object from frame `first` to `last` and hide it otherwise."""
    frames = np.array([first - 1.0, first, last + 1.0])
    hidden = np.array([[1.0], [0.0], [1.0]])
    for path in ("hide_viewport", "hide_render"):
        set_keys(item, path, frames, hidden, np.ones(3, dtype=bool), "CONSTANT")


def _set_markers(scene: Scene, mark: Mark) -> list[str]:
    names = [(mark.marker, mark.frames[0])]
    if mark.word == "overlap":
        names.append((f"{mark.marker}, end", mark.frames[1]))
    for name, frame in names:
        scene.timeline_markers.new(name, frame=frame)
    return [name for name, _ in names]


def hatch(
    positions: Floats, triangles: NDArray[np.int32], pitch: float = PITCH
) -> tuple[NDArray[np.float32], NDArray[np.int32]]:
    """Diagonal stripes on a surface: (n, 3) float32 positions, m, and (m, 3) int32 triangles.

    A stripe is what lies between two parallel planes x + y + z = constant. Each triangle is cut by each stripe that
    it meets.

    Parameters
    ----------
    positions : (n, 3) float, m
    triangles : (m, 3) int
    """
    corners = positions[triangles].astype(float)
    reach = corners.sum(axis=2)
    order = np.argsort(reach, axis=1)
    corners = np.take_along_axis(corners, order[:, :, None], axis=1)
    reach = np.take_along_axis(reach, order, axis=1)
    first = np.floor(reach[:, 0] / pitch).astype(int)
    count = np.floor(reach[:, 2] / pitch).astype(int) - first + 1
    which = np.repeat(np.arange(len(corners)), count)
    stripe = first[which] + np.arange(len(which)) - np.repeat(np.cumsum(count) - count, count)
    low = np.maximum(stripe * pitch, reach[which, 0])
    high = np.minimum((stripe + STRIPE) * pitch, reach[which, 2])
    met = high - low > 1e-9
    which, low, high = which[met], low[met], high[met]
    found = _fans(_between(corners[which], reach[which], low, high))
    normals = _normals(positions[triangles].astype(float))[which].repeat(3, axis=0)
    turned = np.einsum("ij,ij->i", _crosses(found), normals) < 0
    found[turned] = found[turned][:, ::-1]
    found = (found + LIFT * normals[:, None])[np.linalg.norm(_crosses(found), axis=1) > 1e-12]
    # Each corner once: a third of what a file would hold otherwise.
    points = np.ascontiguousarray(found.reshape(-1, 3), dtype=np.float32)
    _, first, number = np.unique(points.view("V12").ravel(), return_index=True, return_inverse=True)
    return points[first], number.reshape(-1, 3).astype(np.int32)


def _broad(positions: Floats, triangles: NDArray[np.int32]) -> NDArray[np.bool_]:
    """(m,) bool: triangles that are not facets of a rounded edge, on which stripes are not seen but fill files."""
    corners = positions[triangles]
    longest = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).max(axis=1)
    return np.linalg.norm(_crosses(corners), axis=1) >= SLIVER * longest


def outline_edges(
    positions: Floats, triangles: NDArray[np.int32], flat: float = FLAT
) -> NDArray[np.int32]:  # fmt: skip
    """(k, 2) int32: edges of a closed surface at which its faces meet at an angle.

    Parameters
    ----------
    positions : (n, 3) float, m
    triangles : (m, 3) int
    flat : cosine of the angle from which on an edge counts
    """
    normals = _normals(positions[triangles].astype(float))
    edges = np.sort(triangles[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1)
    order = np.lexsort(edges.T)
    edges, faces = edges[order], order // 3
    first = np.flatnonzero((edges[:-1] == edges[1:]).all(axis=1))
    level = np.einsum("ij,ij->i", normals[faces[first]], normals[faces[first + 1]])
    return edges[first[level < flat]].astype(np.int32)


def _between(corners: Floats, reach: Floats, low: Floats, high: Floats) -> Floats:
    """Triangles, corners rising by their reach, between two reaches: (k, 5, 3) pentagons, corners may coincide."""
    middle = np.clip(reach[:, 1], low, high)
    long_low, long_high = (_on_edge(corners, reach, 0, 2, at) for at in (low, high))
    return np.stack(
        [long_low, long_high, *(_on_chain(corners, reach, at) for at in (high, middle, low))], axis=1
    )


def _on_edge(corners: Floats, reach: Floats, start: int, end: int, at: Floats) -> Floats:
    span = reach[:, end] - reach[:, start]
    share = np.clip((at - reach[:, start]) / np.where(span > 0, span, 1.0), 0.0, 1.0)
    return corners[:, start] + share[:, None] * (corners[:, end] - corners[:, start])


def _on_chain(corners: Floats, reach: Floats, at: Floats) -> Floats:
    """On the way from the first corner by the second to the third."""
    lower = _on_edge(corners, reach, 0, 1, at)
    upper = _on_edge(corners, reach, 1, 2, at)
    return np.where((at <= reach[:, 1])[:, None], lower, upper)


def _fans(pentagons: Floats) -> Floats:
    """(3 k, 3, 3): three triangles for each pentagon."""
    return pentagons[:, [[0, 1, 2], [0, 2, 3], [0, 3, 4]]].reshape(-1, 3, 3)


def _crosses(triangles: Floats) -> Floats:
    return np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])


def _normals(triangles: Floats) -> Floats:
    crosses = _crosses(triangles)
    lengths = np.linalg.norm(crosses, axis=1, keepdims=True)
    return crosses / np.where(lengths > 0, lengths, 1.0)


def ribbon(points: Floats, width: float, closed: bool) -> tuple[NDArray[np.float32], NDArray[np.int32]]:
    """A line of a width in the plane z = 0: (n, 3) float32 positions and (m, 3) int32 triangles that face +z.

    Parameters
    ----------
    points : (n, 2) float; corners are mitered
    """
    before, after = np.roll(points, 1, axis=0), np.roll(points, -1, axis=0)
    if not closed:
        before[0], after[-1] = 2 * points[0] - points[1], 2 * points[-1] - points[-2]
    first, second = _unit(points - before), _unit(after - points)
    normal = _unit(np.stack([-(first + second)[:, 1], (first + second)[:, 0]], axis=1))
    share = normal[:, 0] * -first[:, 1] + normal[:, 1] * first[:, 0]
    half = width / 2 * normal / share[:, None]
    count = len(points)
    positions = np.zeros((2 * count, 3), dtype=np.float32)
    positions[:count, :2], positions[count:, :2] = points + half, points - half
    here = np.arange(count if closed else count - 1)
    there = (here + 1) % count
    triangles = np.concatenate(
        [
            np.stack([here, here + count, there], axis=1),
            np.stack([there, here + count, there + count], axis=1),
        ]
    )
    return positions, triangles.astype(np.int32)


def _unit(vectors: Floats) -> Floats:
    return vectors / np.linalg.norm(vectors, axis=1, keepdims=True)
