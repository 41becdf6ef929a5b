"""Parts of the maker's own in the scene: added from a dialog, or read off a mesh that somebody modeled.

A mesh is taken that is a flat board square to the table: the same outline on two parallel faces, with round and
rectangular holes straight through.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from typing import Any, Final

import bpy
import numpy as np
from bpy.types import Mesh, Object

from ..designs.table.own_parameters import OwnPart, cut_key, own_key
from ..designs.table.own_parts import labels_of
from ..designs.table.parameters import Table
from ..sizes.arrays import Floats, Ints
from ..sizes.errors import DryAssemblyError
from ..sizes.units import format_amount
from ..wood.stock import Stock
from . import access, built, ids, standing, tables
from .description import METERS
from .state.properties import DRY_ASSEMBLY_PG_table as TableState

GRID: Final = 1e-3
"""What is read off a mesh is a multiple of this, mm: finer than any rule, coarser than single precision at 8 m."""
NEAR: Final = 2e-3
"""Corners of a mesh that differ by less are in one plane, on one line or on one circle, mm."""
THICK: Final = 0.2
"""By how much a mesh may be thicker or thinner than its sheet, mm: what a caliper and a tape disagree by."""
ROUND: Final = 8
"""A hole of fewer corners is not round."""


def add(state: TableState, values: dict[str, Any]) -> str:
    """Adds a part of the maker's own with some values; its label. Raises DryAssemblyError, and changes nothing."""
    index = len(state.parameters.own_part)
    return _changed(state, {own_key(index, name): value for name, value in values.items()})


def declare(state: TableState, item: Object, name: str) -> str:
    """Makes a mesh a part of the table, and hides it where its part stands now; the part's label.

    Raises
    ------
    DryAssemblyError
        Where it is no flat board, or no sheet is as thick; nothing is changed.
    """
    table = access.table_in(state)
    part, cuts = _read(state, table, item)
    index, cut = len(table.own_part), len(table.own_cut)
    label = _label_of_next(table, name)
    changes = {own_key(index, key): value for key, value in {"name": name, **part}.items()}
    for number, one in enumerate(cuts):
        changes |= {cut_key(cut + number, key): value for key, value in {"part": label, **one}.items()}
    made = _changed(state, changes)
    item.hide_render = True
    item.hide_set(True)
    return made


def _changed(state: TableState, changes: dict[str, Any]) -> str:
    """Changes the table so that one part is added; its label."""
    build_with(state, changes)
    table = access.table_in(state)
    state.parameters.own_part_index = len(table.own_part) - 1
    return list(labels_of(table))[-1]


def build_with(state: TableState, changes: dict[str, Any]) -> None:
    """Changes the table; a change that cannot be built is taken back. Raises DryAssemblyError then."""
    before = state.text
    tables.change(state, changes)
    if state.error:
        wrong = str(state.error)
        tables.set_text(state, before)
        raise DryAssemblyError(wrong)


def _label_of_next(table: Table, name: str) -> str:
    return list(labels_of(replace(table, own_part=(*table.own_part, OwnPart(name)))))[-1]


def new_cut(state: TableState) -> dict[str, Any]:
    """Values of a new cut: a hole in the middle of the part of the maker's own that is selected."""
    own = state.parameters.own_part_index
    table = access.table_in(state)
    if not 0 <= own < len(table.own_part):
        raise DryAssemblyError("There is no part of your own yet: add one first.")
    label = list(labels_of(table))[own]
    length, width, _ = built.assembly_of(table).by_label[label].shape.size
    return {"part": label, "kind": "hole", "along": length / 2, "across": width / 2, "diameter": 10.0}


def cuts_without(state: TableState, index: int) -> dict[str, Any]:
    """What becomes of cuts where a part goes: its own go too, those of others bear the labels that these get."""
    table = access.table_in(state)
    before = list(labels_of(table))
    kept = [label for number, label in enumerate(before) if number != index]
    left = tuple(one for number, one in enumerate(table.own_part) if number != index)
    after = dict(zip(kept, labels_of(replace(table, own_part=left)), strict=True))
    return {
        key: after.get(cut.part)
        for number, cut in enumerate(table.own_cut)
        if after.get(cut.part) != cut.part
        for key in [cut_key(number, "part") if cut.part in after else f"own_cut[{number}]"]
    }


def place_of(table: Table, where: str) -> dict[str, Any]:
    """Where a new part stands, and what of it is glued there: on or under the bottom panel, or outside on a side."""
    if where == "lies":
        return {"joined_to": "B1"}
    if where == "under":
        return {"against": "under", "joined_to": "B1"}
    side = where.partition("_")[0]
    label = {"front": "S1", "back": "S2", "left": "S3", "right": "S4"}[side]
    along = "+x" if side in ("front", "back") else "+y"
    middle = table.table.height - table.well.depth
    return {
        "against": where, "length_along": along, "width_along": "+z", "z": middle, "joined_to": f"{label} screw"
    }  # fmt: skip


def name_of(item: Object) -> str:
    """What a part is called that was a mesh: as the object, without the number of a copy."""
    return item.name.partition(".")[0].strip().lower() or "board"


# -- what a mesh is
# ----------------------------------------------------------------------------------------------------


def _read(state: TableState, table: Table, item: Object) -> tuple[dict[str, Any], list[dict[str, Any]]]:
    """Values of the part, and of each of its cuts, lengths in mm."""
    mesh = item.data
    if not isinstance(mesh, Mesh) or state.root is None:
        raise DryAssemblyError(f"{item.name} is no mesh: select one.")
    if mesh.is_editmode:
        raise DryAssemblyError(f"{item.name} is being edited: leave edit mode first.")
    corners = np.empty(3 * len(mesh.vertices), dtype=np.float32)
    mesh.attributes["position"].data.foreach_get("vector", corners)
    pose = np.array(standing.pose(item, state.root), dtype=float)
    points = (corners.reshape(-1, 3).astype(float) @ pose[:3, :3].T + pose[:3, 3]) / METERS
    points = np.round(points / GRID) * GRID
    faces = _faces(mesh)
    axis, stock = _thickness(table, item.name, points, faces)
    flat = [one for one in range(3) if one != axis]
    loops = _loops(item.name, points, faces, axis, flat)
    sizes = np.array([_area(loop) for loop in loops])
    outline = loops[int(np.abs(sizes).argmax())]
    holes = [loop for loop in loops if loop is not outline]
    low = outline.min(axis=0)
    span = np.ptp(outline, axis=0)
    if span[1] > span[0]:  # the longer one is the length
        flat.reverse()
        outline, holes, low = outline[:, ::-1], [one[:, ::-1] for one in holes], low[::-1]
    names = "xyz"
    part: dict[str, Any] = {"stock": stock.name}
    part |= {"length_along": f"+{names[flat[0]]}", "width_along": f"+{names[flat[1]]}"}
    part |= {names[k]: _neat(points[:, k].min()) for k in range(3)}
    at = outline - low
    if len(outline) == 4 and _is_box(at):
        part |= {"length": _neat(at[:, 0].max()), "width": _neat(at[:, 1].max())}
    else:
        part["corners"] = [_neat(one) for one in at.ravel()]
    return part, [_hole(item.name, one - low) for one in holes]


def _faces(mesh: Mesh) -> list[list[int]]:
    """Numbers of the corners of each face."""
    if not mesh.polygons:
        return []
    order = np.empty(len(mesh.loops), dtype=np.int32)
    mesh.loops.foreach_get("vertex_index", order)
    starts = np.empty(len(mesh.polygons), dtype=np.int32)
    mesh.polygons.foreach_get("loop_start", starts)
    return [one.tolist() for one in np.split(order, starts[1:])]


def _thickness(table: Table, name: str, points: Floats, faces: Sequence[list[int]]) -> tuple[int, Stock]:
    """The axis along which all corners are in two planes as far apart as a sheet is thick, and that sheet."""
    flat, square = [], False
    for axis in range(3):
        along = points[:, axis]
        if len(points) and np.ptp(along) > NEAR:
            ends = np.minimum(along - along.min(), along.max() - along)
            if ends.max() <= NEAR:
                square = True
                flat += [(abs(np.ptp(along) - one.thickness), axis, one) for one in table.stock]
    if not faces or not square:
        raise DryAssemblyError(
            f"{name} is no flat board square to the table: its corners have to be in two planes; turn it, or apply its"
            " modifiers."
        )
    off, axis, stock = min(flat, key=lambda one: one[0])
    if off > THICK:
        thick = format_amount(float(np.ptp(points[:, axis])), table.units)
        raise DryAssemblyError(
            f"{name} is {thick} thick, and no sheet of the table is: scale it to a sheet, or add a sheet as thick."
        )
    return axis, stock


def _loops(
    name: str, points: Floats, faces: Sequence[list[int]], axis: int, flat: Sequence[int]
) -> list[Floats]:
    """Outlines (n, 2) of its lower face, in order; those of the upper one have to be the same."""
    along = points[:, axis]
    found = []
    for level in (along.min(), along.max()):
        own = np.abs(along - level) <= NEAR
        edges: Counter[tuple[int, int]] = Counter()
        for face in faces:
            if own[face].all():
                edges.update(zip(face, [*face[1:], face[0]], strict=True))
        after = {a: b for a, b in edges if (b, a) not in edges}
        if not after or any(count > 1 for count in edges.values()):
            raise DryAssemblyError(
                f"{name} has no closed faces: fill its holes, and recalculate its normals."
            )
        found.append([_straight(points[loop][:, flat]) for loop in _chained(name, after)])
    lower, upper = ({tuple(one) for loop in side for one in loop.tolist()} for side in found)
    if lower != upper:
        raise DryAssemblyError(
            f"{name} is not the same on both faces: only cuts straight through are read; draw the others in the list"
            " of cuts."
        )
    return found[0]


def _chained(name: str, after: dict[int, int]) -> list[Ints]:
    loops, left = [], dict(after)
    while left:
        first, at = next(iter(left.items()))
        del left[first]
        loop = [first]
        while at != first:
            loop.append(at)
            if at not in left:
                raise DryAssemblyError(f"{name} has faces that meet in one corner alone: part them there.")
            at = left.pop(at)
        loops.append(np.array(loop))
    return loops


def _straight(loop: Floats) -> Floats:
    """Without corners on a straight line between their neighbors."""
    before, after = loop - np.roll(loop, 1, axis=0), np.roll(loop, -1, axis=0) - loop
    bend = np.abs(before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0])
    return loop[bend > NEAR * np.linalg.norm(after, axis=1)]


def _area(loop: Floats) -> float:
    u, v = loop.T
    return float((u * np.roll(v, -1) - np.roll(u, -1) * v).sum() / 2)


def _is_box(loop: Floats) -> bool:
    return all(len(np.unique(np.round(loop[:, k] / NEAR))) == 2 for k in (0, 1))


def _hole(name: str, loop: Floats) -> dict[str, Any]:
    """What is cut where the board has a hole of this outline."""
    low, high = loop.min(axis=0), loop.max(axis=0)
    middle = (low + high) / 2
    radii = np.linalg.norm(loop - middle, axis=1)
    if len(loop) >= ROUND and np.ptp(radii) <= 2 * NEAR:
        along, across = (_neat(one) for one in middle)
        return {"kind": "hole", "along": along, "across": across, "diameter": _neat(2 * radii.mean())}
    if len(loop) == 4 and _is_box(loop):
        (start, lower), (stop, upper) = ([_neat(one) for one in end] for end in (low, high))
        return {"kind": "opening", "start": start, "stop": stop, "lower": lower, "upper": upper}
    raise DryAssemblyError(
        f"{name} has a hole that is neither round nor a rectangle along its edges: take it out, and cut it by hand."
    )


def _neat(mm: float) -> float:
    """On the grid, without what arithmetic left behind."""
    return round(round(float(mm) / GRID) * GRID, 6) + 0.0


def is_free_mesh(item: Object | None) -> bool:
    """Whether an object is a mesh that belongs to no table."""
    return item is not None and isinstance(item.data, bpy.types.Mesh) and item.get(ids.PART) is None
