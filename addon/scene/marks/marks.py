"""Marks at overlaps and tight places: hatching on the parts, a ring and a note in words, markers in the timeline.

Hatching is geometry, not a shader, so that it shows in every shading mode; a color alone says nothing.
"""

from __future__ import annotations

from typing import Final

import bpy
import numpy as np
from bpy.types import Collection, Material, Object, Scene
from mathutils import Euler, Matrix, Quaternion, Vector
from numpy.typing import NDArray

from ...sizes.arrays import Floats
from .. import ids
from ..description import METERS
from ..materials import plain
from ..motion.animation import set_keys
from ..motion.timeline import Mark
from ..objects import fill_mesh
from .hatching import hatch, ribbon

Facing = Euler | Quaternion

VERMILION: Final = (0.665, 0.115, 0.0)
"""Okabe and Ito's vermilion (#D55E00), linear RGB: what collides."""
BLUE: Final = (0.0, 0.168, 0.445)
"""Okabe and Ito's blue (#0072B2), linear RGB: what is tight."""
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


def overlap_paint() -> Material:
    """What marks an overlap."""
    return plain("Overlap", VERMILION, glow=True)


def tight_paint() -> Material:
    """What marks a tight place."""
    return plain("Tight", BLUE, glow=True)


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
        group = _collection(scene, key)
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
    names = str(root.get(ids.MARKERS, "")).split("\n")
    for marker in [marker for marker in scene.timeline_markers if marker.name in names]:
        scene.timeline_markers.remove(marker)
    root[ids.MARKERS] = ""


def hatched(part: Object, material: Material) -> Object:
    """Stripes on the surface of a part, as an object that moves with it."""
    positions, triangles = hatch(*surface(part))
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


def _collection(scene: Scene, key: str) -> Collection:
    found = ids.table_collection(scene, key, "mark")
    if found is None:
        found = bpy.data.collections.new("Marks")
        found[ids.TABLE] = key
        found[ids.ROLE] = "mark"
        parent = ids.table_collection(scene, key) or scene.collection
        parent.children.link(found)
    return found
