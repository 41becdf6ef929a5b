"""The list of a table's parts, what was chosen in a list, and a part that came out otherwise than drawn.

Selecting a line selects the part it is about in the view.
"""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any, Final

import numpy as np
from bpy.types import PropertyGroup

from ..designs.table.fastening import own_fastener
from ..designs.table.own_parts import labels_of
from ..designs.table.parameters import Table
from ..sizes.arrays import Floats
from ..sizes.errors import AsCutError, DryAssemblyError
from ..sizes.tolerances import CONTACT
from ..sizes.units import Units, format_amount, format_number, format_size, tape
from ..wood.as_cut import apply_as_cut
from ..wood.dimensions import PLACE, AsCut, chosen, names_of
from ..wood.features import Dimension
from ..wood.meshes.mesh import mesh_of
from ..wood.part import Part
from ..wood.reserved import PREFIX
from . import access, built, findings
from .description import METERS
from .state import values
from .state.properties import DRY_ASSEMBLY_PG_leaf as LeafState
from .state.properties import DRY_ASSEMBLY_PG_table as TableState
from .state.results import DRY_ASSEMBLY_PG_part as PartState

# -- the list


def store(state: TableState, table: Table) -> None:
    """Keeps label, name and sizes of every part, where they are not kept already."""
    parts, units = built.assembly_of(table).parts, values.units_of(table)
    found = [(part.label, part.name, size_words(part.board, units), part.board) for part in parts]
    if [(item.name, item.kind, item.words) for item in state.parts] == [one[:3] for one in found]:
        return
    before = chosen_in(state)
    label = before.name if before is not None else ""
    while len(state.parts) > len(found):
        state.parts.remove(len(state.parts) - 1)
    while len(state.parts) < len(found):
        state.parts.add()
    for item, (name, kind, words, size) in zip(state.parts, found, strict=True):
        item.name, item.kind, item.words = name, kind, words
        item.size = [value * METERS for value in size]
    with access.own_writing():
        state.part_index = max(state.parts.find(label), 0)


@lru_cache(maxsize=4096)
def size_words(board: tuple[float, float, float], units: Units) -> str:
    """``924.6 × 74.4 × 17.7 mm``: what a tape reads of length and width, a caliper of the thickness."""
    length, width, thickness = board
    reading = tape(None)
    sizes = [format_number(mm, units, reading) for mm in (length, width)]
    return " × ".join([*sizes, format_amount(thickness, units)])


def chosen_in(state: TableState) -> PartState | None:
    """The part selected in the list."""
    return state.parts[state.part_index] if 0 <= state.part_index < len(state.parts) else None


def in_order(items: Any, order: str) -> list[int]:
    """Numbers of parts as they are to be listed: by length, width or thickness the greatest first, or as they are."""
    if order == "label":
        return list(range(len(items)))
    axis = ("length", "width", "thickness").index(order)
    return sorted(range(len(items)), key=lambda number: -items[number].size[axis])


HEADS: Final = ("label", "name", "length", "width", "thickness", "sheet")


def rows(state: TableState) -> list[tuple[str, ...]]:
    """Heads, then one row a part in the order chosen, sizes without the unit, which the heads have.

    Raises DryAssemblyError where the table cannot be built.
    """
    table = access.table_in(state)
    units, parts = values.units_of(table), built.assembly_of(table).parts
    heads = tuple(f"{head}, {units}" if head in HEADS[2:5] else head for head in HEADS)
    found = []
    for number in in_order(state.parts, access.scene_of(state).dry_assembly.parts_order):
        part = parts[number]
        sizes = (format_number(mm, units, tape(None)) for mm in part.board[:2])
        thick = format_number(part.board[2], units)
        found.append((part.label, part.name, *sizes, thick, part.stock.name))
    return [heads, *found]


def as_csv(state: TableState) -> str:
    """The list as comma-separated values (RFC 4180, from memory). Raises DryAssemblyError."""
    file = io.StringIO()
    csv.writer(file).writerows(rows(state))
    return file.getvalue()


def as_columns(state: TableState) -> str:
    """The list with tabs between its columns, as spreadsheets take it from the clipboard. Raises DryAssemblyError."""
    return "\n".join("\t".join(row) for row in rows(state))


# -- what is chosen in a list


def part_chosen(state: TableState) -> None:
    """Called by Blender when the user selects a part in the list."""
    part = chosen_in(state)
    if part is not None:
        select(state, [part.name])


def leaf_chosen(state: TableState) -> None:
    """Called by Blender when the user selects a leaf in a list."""
    if 0 <= state.leaf_index < len(state.leaves):
        select(state, [state.leaves[state.leaf_index].name])


def stow_chosen(parameters: PropertyGroup) -> None:
    """Called by Blender when the user selects a stow position: entry n is that of leaf Ln."""
    state, own = _list_of(parameters)
    if state is not None and 0 <= own.stow_index < len(state.leaves):
        select(state, [state.leaves[own.stow_index].name])


def as_cut_chosen(parameters: PropertyGroup) -> None:
    """Called by Blender when the user selects a part as cut."""
    state, own = _list_of(parameters)
    if state is not None and 0 <= own.as_cut_index < len(own.as_cut):
        select(state, [own.as_cut[own.as_cut_index].part])


def own_part_chosen(parameters: PropertyGroup) -> None:
    """Called by Blender when the user selects a part of their own."""
    state, own = _list_of(parameters)
    if state is None:
        return
    try:
        labels = list(labels_of(access.table_in(state)))
    except DryAssemblyError:
        return
    select(state, labels[own.own_part_index : own.own_part_index + 1])


def own_cut_chosen(parameters: PropertyGroup) -> None:
    """Called by Blender when the user selects what is cut into one."""
    state, own = _list_of(parameters)
    if state is not None and 0 <= own.own_cut_index < len(own.own_cut):
        select(state, [own.own_cut[own.own_cut_index].part])


def reserved_chosen(parameters: PropertyGroup) -> None:
    """Called by Blender when the user selects a reserved space."""
    state, own = _list_of(parameters)
    if state is not None and 0 <= own.reserved_index < len(own.reserved):
        select(state, [f"{PREFIX}{own.reserved_index + 1}"])


def accepted_chosen(parameters: PropertyGroup) -> None:
    """Called by Blender when the user selects an entry of what is accepted: the parts concerned."""
    state, own = _list_of(parameters)
    if state is not None and 0 <= own.accepted_index < len(own.accepted):
        select(state, own.accepted[own.accepted_index].parts.replace(";", ",").replace(" ", "").split(","))


def fastener_chosen(parameters: PropertyGroup) -> None:
    """Called by Blender when the user selects a fastener of the maker's own: the boards that it joins."""
    state, own = _list_of(parameters)
    if state is not None and 0 <= own.fastener_index < len(own.fastener):
        one = own.fastener[own.fastener_index]
        select(state, [one.head, one.into])


def new_fastener(state: TableState, label: str) -> dict[str, str]:
    """What a new fastener of the maker's own says first, for a part. Raises DryAssemblyError."""
    assembly = built.assembly_of(access.table_in(state))
    return own_fastener(assembly.joints, assembly.by_label, label)


def stock_chosen(parameters: PropertyGroup) -> None:
    """Called by Blender when the user selects a sheet: all that is cut from it."""
    state, own = _list_of(parameters)
    if state is None or not 0 <= own.stock_index < len(own.stock):
        return
    try:
        parts = built.assembly_of(access.table_in(state)).parts
    except DryAssemblyError:
        return
    name = own.stock[own.stock_index].title
    select(state, [part.label for part in parts if part.stock.name == name])


def _list_of(parameters: PropertyGroup) -> tuple[TableState | None, Any]:
    return (None if access.is_own_writing() else access.owner(parameters)), parameters


def select(state: TableState, labels: list[str]) -> None:
    """Selects parts of a table alone, unless our own code is writing."""
    if access.is_own_writing():
        return
    made = access.shown_objects(state)
    chosen = [made[label] for label in labels if label in made]
    if chosen:
        findings.select(access.scene_of(state), chosen)


# -- a part that came out otherwise than drawn


@dataclass(frozen=True)
class Measured:
    """A dimension of a part that may be entered as measured.

    Parameters
    ----------
    key : name of the dimension, and behind ``@`` the leaf whose slot or window it is of
    words : what it is
    drawn : as drawn, mm or degrees; 0 for how far the part sits off
    ends : whether either end may take the difference
    unit : mm or °
    """

    key: str
    words: str
    drawn: float
    ends: bool
    unit: str

    @property
    def name(self) -> str:
        """Of the dimension, as `[[as_cut]]` has it."""
        return self.key.partition("@")[0]

    @property
    def leaf(self) -> str | None:
        """Whose slot or window it is of."""
        return self.key.partition("@")[2] or None


def measured_of(state: TableState, label: str) -> list[Measured]:
    """The dimensions of a part as drawn. Raises DryAssemblyError where the table cannot be built."""
    part = _drawn(state, label)
    found: dict[str, Measured] = {}
    for one in part.shape.dimensions:
        if one.leaf:
            found.setdefault(f"{one.name}@{one.leaf}", _measured(f"{one.name}@{one.leaf}", one.words, one))
    of_leaves = {one.name for one in found.values()}
    own = []
    for name, words in names_of(part).items():
        if name in PLACE:
            own.append(Measured(name, words, 0.0, False, "mm"))
        elif name not in of_leaves:
            own.append(_measured(name, words, _dimension(part, name)))
    board = [one for one in own if one.name in ("length", "width", "thickness")]
    return [*board, *found.values(), *(one for one in own if one not in board)]


def _measured(key: str, words: str, one: Dimension) -> Measured:
    return Measured(key, words, one.value, bool(one.ends), one.unit)


def _dimension(part: Part, name: str) -> Dimension:
    return chosen(part, name)[0]


def _drawn(state: TableState, label: str) -> Part:
    table = access.table_in(state)
    found = built.assembly_of(replace(table, as_cut=())).by_label.get(label)
    if found is None:
        raise AsCutError(f"The table has no part {label} any more: select another.")
    return found


def as_cut_changes(
    state: TableState, label: str, one: Measured, reading: float, end: str | None
) -> dict[str, Any]:
    """What the table file gets where a part was measured: a new entry, or the one of that dimension brought up to date.

    Parameters
    ----------
    reading : mm or degrees; of how far a part sits off, that
    end : at which end the difference stands out; None where that is not to be said
    """
    entries = access.table_in(state).as_cut
    same = [
        number
        for number, entry in enumerate(entries)
        if (entry.part, entry.dimension, entry.leaf) == (label, one.name, one.leaf)
    ]
    index = same[0] if same else len(entries)
    given = "degrees" if one.unit != "mm" else "deviation" if one.name in PLACE else "value"
    wanted: dict[str, Any] = {"part": label, "dimension": one.name, given: reading}
    if one.leaf:
        wanted["leaf"] = one.leaf
    if end is not None:
        wanted["end"] = end
    if same:
        old = entries[index]
        for name in ("value", "deviation", "degrees", "end"):
            if name not in wanted and getattr(old, name) is not None:
                wanted[name] = None
        if old.missing:
            wanted["missing"] = False
    return {f"as_cut[{index}].{name}": value for name, value in wanted.items()}


def grows_at(state: TableState, label: str, one: Measured, end: str | None) -> tuple[Floats, Floats] | None:
    """Where a part would be greater, and in which direction: (3,) float, m, in the table, and (3,) unit vector.

    None where the dimension moves nothing. Raises DryAssemblyError where the table cannot be built.
    """
    assembly = built.assembly_of(replace(access.table_in(state), as_cut=()))
    entry = AsCut(label, one.name, leaf=one.leaf, end=end)
    if one.unit == "mm":
        entry = replace(entry, deviation=1.0)
    else:
        entry = replace(entry, degrees=one.drawn + 1.0)
    try:
        cut = apply_as_cut(assembly, (entry,)).by_label[label]
    except DryAssemblyError:
        return None
    before, after = _vertices(assembly.by_label[label]), _vertices(cut)
    if before.shape != after.shape:
        return None
    moved = after - before
    far = np.linalg.norm(moved, axis=1) > 100 * CONTACT
    if not far.any():
        return None
    way = moved[far].mean(axis=0)
    length = float(np.linalg.norm(way))
    if length < CONTACT:  # it grows to all sides
        way, length = np.array([0.0, 0.0, 1.0]), 1.0
    return before[far].mean(axis=0) * METERS, way / length


def _vertices(part: Part) -> Floats:
    return part.placement.to_table(mesh_of(part.shape).vertices)


def leaf_of(state: TableState, label: str) -> LeafState | None:
    """The leaf of that label; None where the part is no leaf."""
    return next((leaf for leaf in state.leaves if leaf.name == label), None)


def drawn_words(one: Measured, units: Units) -> str:
    """A dimension as drawn, in words."""
    return format_size(one.drawn, units) if one.unit == "mm" else f"{one.drawn:g}°"
