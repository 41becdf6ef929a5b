"""The overlap: the space that both parts of a finding claim, as an object of its own."""

from __future__ import annotations

import bpy
from bpy.types import Mesh, Object

from ..check.spans import RULES, faces, overlap_volume
from ..designs.findings import Finding
from ..sizes.quantities import format_quantity
from ..sizes.units import Units
from ..wood.solids.pieces import Pieces
from . import access, built, ids, marks
from .description import METERS
from .state.properties import DRY_ASSEMBLY_PG_finding as FindingState
from .state.properties import DRY_ASSEMBLY_PG_table as TableState


def has_volume(finding: FindingState) -> bool:
    """Whether a finding is about parts in each other's way."""
    return finding.rule in RULES


def show(state: TableState, index: int) -> Object | None:
    """Makes the overlap of finding `index`; it replaces any other.

    Returns
    -------
    None, and nothing is shown, where the parts of the finding do not overlap.

    Raises
    ------
    DryAssemblyError
        Where the parameters cannot be built.
    """
    table = access.table_in(state)
    finding = _finding(state.findings[index], built.report_of(table).findings)
    scene = access.scene_of(state)
    root = state.root
    found = None if finding is None else overlap_volume(built.prepared_of(table), finding)
    if finding is None or not found:
        return None
    hide(state)
    item = bpy.data.objects.new(f"{' '.join(finding.parts)} Overlap", _mesh(found))
    item.data.name = item.name
    item.data.materials.append(marks.overlap_paint())
    item.parent = root
    item.show_in_front = True
    item[ids.TABLE] = state.key
    item[ids.OVERLAP] = 1
    ids.side_collection(scene, state.key, ids.OVERLAP, "Overlap").objects.link(item)
    state.overlap = f"{' and '.join(finding.parts)} share {_volume(found, table.units)}"
    return item


def hide(state: TableState) -> None:
    """Takes the overlap away."""
    if not state.overlap:
        return
    ids.remove_marks(access.scene_of(state), state.key, ids.OVERLAP)
    state.overlap = ""


def register() -> None:
    """Nothing: overlaps come with a button."""


def unregister() -> None:
    """Takes all overlaps away: without the add-on there is no button for it."""
    for state in access.all_tables():
        hide(state)


def _finding(item: FindingState, findings: tuple[Finding, ...]) -> Finding | None:
    """The finding that a panel's entry shows."""
    same = (one for one in findings if (one.rule, ", ".join(one.parts)) == (item.rule, item.parts))
    return next(same, None)


def _mesh(found: Pieces) -> Mesh:
    mesh = bpy.data.meshes.new("Overlap")
    mesh.from_pydata((found.vertices * METERS).tolist(), [], faces(found))
    return mesh


def _volume(found: Pieces, units: Units) -> str:
    """In words: cubic centimeters, or cubic inches."""
    return format_quantity(float(found.volumes.sum()) / 1000, "cm³", units)
