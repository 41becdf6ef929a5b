"""Reserved space: the dialog that adds one, their list, and what is said of the one selected in the view."""

from __future__ import annotations

from typing import Any, Final

from bpy.types import Context, Event, Operator, UILayout

from ..designs.table import new_spaces
from ..scene import access, built, space_changes, spaces
from ..scene.state import values
from ..scene.state.properties import DRY_ASSEMBLY_PG_table as TableState
from ..scene.translation import EnumProperty, StringProperty, told
from ..sizes.errors import DryAssemblyError
from . import fields, panel
from .operator_kinds import CHANGES, TableOperator, attempt, unbuilt

_ITEMS: Final = {item.name: item for item in values.LIST_ITEMS["reserved"]}

_SIDES: Final = [
    ("front", "Front", "The long side in front"),
    ("back", "Back", "The long side at the back"),
    ("left", "Left", "The short side at the left"),
    ("right", "Right", "The short side at the right"),
]

FORMS: Final = [
    ("box", "Box", "A box, such as for a pin tray or a basket"),
    ("cylinder", "Cylinder", "An upright cylinder, such as for a lamp's foot"),
    ("hand", "Hand", "The way of the hand that draws a leaf out of its slot"),
    ("cable", "Cable", "A cable of low voltage under the bottom panel; its corners are given in the list"),
    ("wall", "Wall", "A wall or a door that the table stands beside: leaves have to come out before it"),
]

_ASKED: Final[dict[str, tuple[str, ...]]] = {
    "box": ("length", "width", "height", "where"),
    "cylinder": ("diameter", "height", "where"),
    "hand": ("leaf",),
    "cable": ("diameter", "side"),
    "wall": ("side", "distance"),
}
"""What the dialog asks about each form."""

_leaves: list[tuple[str, str, str]] = []
"""Blender does not hold the words of a menu that is made anew: they have to be kept alive."""


def _leaf_items(_self: Any, context: Context | None) -> list[tuple[str, str, str]]:
    """The menu of the table's leaves."""
    state = None if context is None else access.active_table(context)
    found = [] if state is None else [(leaf.name, leaf.name, "") for leaf in state.leaves]
    if found != _leaves:
        _leaves[:] = found
    return _leaves


class DRY_ASSEMBLY_OT_add_reserved(TableOperator, Operator):
    bl_idname = "dry_assembly.add_reserved"
    bl_label = "Add Reserved Space"
    bl_description = (
        "Reserve space that nothing may stand in or pass: for a lamp, a tray, a hand, a cable, or a wall beside the"
        " table"
    )
    bl_options = CHANGES

    title: StringProperty(name="Name", description="What it is for, such as pin tray", default="pin tray")
    form: EnumProperty(name="Form", description="What it is", items=FORMS)
    length: StringProperty(
        name="Length", description="From left to right: 28 1/2, 723.9 mm", options={"SKIP_SAVE"}
    )
    width: StringProperty(
        name="Width", description="From front to back: 28 1/2, 723.9 mm", options={"SKIP_SAVE"}
    )
    height: StringProperty(
        name="Height", description="From below to above: 28 1/2, 723.9 mm", options={"SKIP_SAVE"}
    )
    diameter: StringProperty(
        name="Diameter", description="Of the cylinder or the cable: 1/4, 6 mm", options={"SKIP_SAVE"}
    )
    distance: StringProperty(
        name="Distance", description="From the side's outer face: 28 1/2, 723.9 mm", options={"SKIP_SAVE"}
    )
    side: EnumProperty(name="Side", description="Side that it is along, or beside", items=_SIDES)
    leaf: EnumProperty(name="Leaf", description="Leaf that the hand draws", items=_leaf_items)
    where: EnumProperty(
        name="Where",
        description="Where it stands at first; drag it in the view, or change its place in the list",
        items=[
            ("under", "Under the Bottom Panel", "Against the bottom panel's underside, in the middle"),
            ("floor", "On the Floor", "On the room's floor, below the table's middle"),
            ("well", "In the Well", "On the bottom panel, in the middle"),
            ("top", "On the Top", "On the table's top, in the middle"),
        ],
    )

    @classmethod
    def lacks(cls, state: TableState) -> str:
        """A table that can be built."""
        return unbuilt(state)

    def invoke(self, context: Context, _event: Event) -> set[Any]:
        """Asks what it is."""
        return context.window_manager.invoke_props_dialog(
            self, width=360, title=told("Add Reserved Space"), confirm_text=told("Add"), translate=False
        )

    def draw(self, _context: Context) -> None:
        """What it is, its form, and what that has."""
        if self.layout is None:
            return
        column = panel.split_column(self.layout)
        for name in ("title", "form", *_ASKED[self.form]):
            panel.field(column, self.properties, name)

    def execute(self, context: Context) -> set[Any]:
        """Adds it."""
        state = self.table(context)
        return attempt(self, lambda: space_changes.add(state, self._values(state)))

    def _values(self, state: TableState) -> dict[str, Any]:
        """Its parameters. Raises DryAssemblyError with what is missing."""
        table = access.table_in(state)
        assembly, units = built.assembly_of(table), table.units
        taken = {one.name for one in table.reserved}
        found: dict[str, Any] = {
            "name": new_spaces.free_name(taken, self.title.strip() or "space"), "form": self.form
        }  # fmt: skip
        if self.form == "box":
            sizes = self._length("length", "x", units), self._length("width", "y", units)
            height = self._length("height", "z", units)
            return found | new_spaces.standing(assembly, self.where, (*sizes, height))
        if self.form == "cylinder":
            diameter = self._length("diameter", "diameter", units)
            height = self._length("height", "z", units)
            return found | new_spaces.upright(assembly, self.where, diameter, height)
        if self.form == "hand":
            return found | new_spaces.hand_of(assembly, self.leaf, units)
        name = "diameter" if self.form == "cable" else "distance"
        if getattr(self, name).strip():
            found[name] = self._length(name, name, units)
        if self.form == "wall":
            return found | {"side": self.side}
        return found | new_spaces.cable_along(assembly, self.side, units)

    def _length(self, name: str, item: str, units: Any) -> float:
        """What was typed into a field, mm."""
        text = getattr(self, name).strip()
        if not text:
            raise DryAssemblyError(f"Give the {name}: without it there is no space.")
        declared = _ITEMS[item] if item in ("diameter", "distance") else _ITEMS["distance"]
        found: float = fields.read_dialog(text, declared, units)
        return found


def draw(layout: UILayout, state: TableState) -> None:
    """The button, the list, and what the form selected has."""
    panel.button(layout, "dry_assembly.add_reserved", "Add Reserved Space…", "ADD")
    if not state.parameters.reserved:
        return
    one = panel.selected(state.parameters.reserved, state.parameters.reserved_index)
    shown = () if one is None else new_spaces.keys_of(one.form)
    panel.entries(layout, state, "reserved", added=False, shown=shown)


def draw_chosen(column: UILayout, context: Context, state: TableState) -> bool:
    """The reserved space that is selected in the view: what it is and how large; whether one is."""
    found = spaces.chosen(context.scene, getattr(context, "active_object", None))
    if found is None or found[0].key != state.key or len(context.selected_objects) != 1:
        return False
    space = found[1]
    panel.given(column, f"{space.label}  {space.entry.name}", "MOD_WIREFRAME")
    panel.amount(column, spaces.size_words(state, space), "BLANK1")
    panel.label(column, _FORM_WORDS[space.entry.form], "BLANK1")
    return True


_FORM_WORDS: Final = {
    "box": "Reserved space, a box",
    "cylinder": "Reserved space, a cylinder",
    "hand": "Reserved space, the way of a hand",
    "cable": "Reserved space, a cable",
    "wall": "Reserved space, a wall",
}

CLASSES: Final = (DRY_ASSEMBLY_OT_add_reserved,)
