"""The panel of sizes: the sheets as they measure first, then the leaves, then the body, then all the rest."""

from __future__ import annotations

from typing import Any, Final

from bpy.types import Context, Operator, Panel, UILayout

from ..designs.table import leg_parameters
from ..scene import tables
from ..scene.state.properties import DRY_ASSEMBLY_PG_table as TableState
from ..scene.translation import StringProperty, told
from . import fields, own_parts, panel, reserved
from .operator_kinds import CHANGES, OWN, UNLISTED, TableOperator, attempt
from .panel import TablePanel

_LEAVES: Final = ("count", "direction")
_STRIPS: Final = ("runners", "kickers", "guides", "strip_width", "strip_height")


class DRY_ASSEMBLY_OT_use_nearest(TableOperator, Operator):
    bl_idname = "dry_assembly.use_nearest"
    bl_label = "Use Nearest"
    bl_description = "Take the nearest value with which the table can be built"
    bl_options = CHANGES | UNLISTED

    key: StringProperty(options=OWN)

    @classmethod
    def description(cls, _context: Context, properties: Any) -> str:
        """Which value."""
        return told("Take the nearest value of {key} with which the table can be built", key=properties.key)

    def execute(self, context: Context) -> set[Any]:
        """Takes it."""
        return attempt(self, lambda: tables.use_nearest(self.table(context), self.key))


class DRY_ASSEMBLY_PT_sizes(TablePanel, Panel):
    """All sizes; what is asked for most stands open, everything else in sections that are closed at first."""

    bl_label = "Sizes"

    def draw_table(self, context: Context, layout: UILayout, state: TableState) -> None:
        """The first sizes, then the sections."""
        _sheets(layout, state)
        column = panel.split_column(layout)
        panel.parameter(column, state, "leaves", "count", "Leaves")
        panel.parameter(column, state, "leaves", "direction")
        column = panel.split_column(layout)
        for name in ("length", "width", "height"):
            panel.parameter(column, state, "table", name)
        panel.parameter(column, state, "well", "depth", "Well Depth")
        for name, draw in SECTIONS.items():
            body = _with_switch(layout, state) if name == "Legs" else panel.folded(layout, name)
            if body is not None:
                draw(body, state)


def _with_switch(layout: UILayout, state: TableState) -> UILayout | None:
    return panel.switched(layout, "Legs", state.parameters.legs, "fitted")


def _sheets(layout: UILayout, state: TableState) -> None:
    """How thick each sheet measures, the one size that no drawing knows; as bought where nobody measured it."""
    panel.label(layout, "Sheets, as measured:")
    column = layout.column(align=True)
    for sheet in state.parameters.stock:
        split = column.split(factor=0.55, align=True)
        panel.given(split, sheet.title)
        fields.length(split, sheet, "measured", "", state.refusals.keys())


def _stock(layout: UILayout, state: TableState) -> None:
    panel.entries(layout, state, "stock")


def _leaves(layout: UILayout, state: TableState) -> None:
    panel.parameters(layout, state, "leaves", *panel.others("leaves", *_LEAVES))


def _stow(layout: UILayout, state: TableState) -> None:
    """The list and its selected entry, or the choice to make one."""
    if not state.parameters.stow:
        panel.label(layout, "Positions are chosen for you")
        panel.button(layout, "dry_assembly.position_leaves", "Position by Hand", by_hand=True)
        return
    panel.entries(layout, state, "stow")
    panel.button(layout, "dry_assembly.position_leaves", "Choose Anew", by_hand=False)


def _clearances(layout: UILayout, state: TableState) -> None:
    panel.parameters(layout, state, "stowing", *panel.others("stowing", *_STRIPS))


def _strips(layout: UILayout, state: TableState) -> None:
    panel.parameters(layout, state, "stowing", *_STRIPS)


def _sides(layout: UILayout, state: TableState) -> None:
    panel.parameters(layout, state, "table", "corner_joint")
    panel.parameters(layout, state, "sides")


def _bottom(layout: UILayout, state: TableState) -> None:
    panel.parameters(layout, state, "bottom")
    panel.parameters(layout, state, "well", *panel.others("well", "depth"))


def _ribs(layout: UILayout, state: TableState) -> None:
    panel.parameters(layout, state, "ribs")


def _legs(layout: UILayout, state: TableState) -> None:
    """The kind, and what it uses."""
    legs = state.parameters.legs
    names = leg_parameters.used(legs.kind, legs.taper, legs.edge, leveling_feet=legs.leveling_feet)
    panel.parameters(layout, state, "legs", *(name for name in names if name != "fitted"))


def _fastening(layout: UILayout, state: TableState) -> None:
    """What holds which joints, then the screws of the maker's own."""
    panel.parameters(layout, state, "fastening")
    panel.entries(layout, state, "fastener")


def _own_parts(layout: UILayout, state: TableState) -> None:
    own_parts.draw(layout, state)


def _as_cut(layout: UILayout, state: TableState) -> None:
    panel.entries(layout, state, "as_cut")


def _reserved(layout: UILayout, state: TableState) -> None:
    reserved.draw(layout, state)


def _limits(layout: UILayout, state: TableState) -> None:
    panel.parameters(layout, state, "limits")


def _tolerances(layout: UILayout, state: TableState) -> None:
    panel.parameters(layout, state, "tolerances")


def _workshop(layout: UILayout, state: TableState) -> None:
    panel.parameters(layout, state, "shop")


def _place(layout: UILayout, state: TableState) -> None:
    """Place and turn of the empty that carries the table."""
    if state.root is not None:
        column = panel.split_column(layout)
        panel.field(column, state.root, "location", "Location")
        panel.field(column, state.root, "rotation_euler", "Rotation", index=2)


SECTIONS: Final = {
    "Stock": _stock,
    "Leaves": _leaves,
    "Stow Positions": _stow,
    "Clearances and End Stops": _clearances,
    "Runners, Kickers, Guides": _strips,
    "Sides and Slots": _sides,
    "Bottom and Ledgers": _bottom,
    "Ribs": _ribs,
    "Legs": _legs,
    "Screws and Brads": _fastening,
    "My Own Parts": _own_parts,
    "Reserved Space": _reserved,
    "As Cut": _as_cut,
    "Limits": _limits,
    "Tolerances": _tolerances,
    "Workshop": _workshop,
    "Place in the Scene": _place,
}
"""Name → what it shows, in order."""


CLASSES: Final = (DRY_ASSEMBLY_OT_use_nearest,)
