"""What the user prefers for new tables, in Blender's own preferences; tables that are there keep what they have."""

from __future__ import annotations

from typing import Any, Final

import bpy
from bpy.types import AddonPreferences, Context

from ..designs.table.parameters import Table
from ..files.editing import update_text
from ..files.table_file import parse_table
from ..sizes.declare import parameters
from ..sizes.errors import DryAssemblyError
from ..sizes.units import as_units, parse_length
from ..wood.limits import Limits
from .translation import EnumProperty, StringProperty

PACKAGE: Final = __package__.rpartition(".")[0]
"""The extension as Blender knows it: that of its own folder."""

UNIT_ITEMS: Final = (
    ("mm", "Millimeters", "The first button adds the quilting table, in millimeters"),
    ("in", "Inches", "The first button adds the seed-sorting bench, in inches"),
)
FRACTION_ITEMS: Final = (
    ("1/16", "1/16 in", "A tape"),
    ("1/32", "1/32 in", "A fine rule"),
    ("1/64", "1/64 in", "A steel rule"),
)

FIRST: Final = {"mm": "quilting", "in": "seed-bench"}
"""Unit → the example that a first table begins with."""


class DRY_ASSEMBLY_AP_preferences(AddonPreferences):
    """What a table is given when it is added."""

    bl_idname = PACKAGE

    units: EnumProperty(name="Unit to Begin With", items=UNIT_ITEMS)
    fraction: EnumProperty(
        name="Finest Fraction",
        items=FRACTION_ITEMS,
        default="1/64",
        description="That inch sizes are shown in",
    )
    rule: StringProperty(
        name="Rule Shows",
        description="Finest division of the rule that you measure with, such as 0.5 mm or 1/32 in; empty: that of the"
        " table",
    )
    hand: StringProperty(
        name="Hand Holds Within",
        description="How far off line your hand holds a leaf's outer end, such as 10 mm; empty: that of the table",
    )
    folder: StringProperty(
        name="Folder for Output",
        subtype="DIR_PATH",
        description="Where pictures and papers of new scenes go; empty: beside the .blend file",
    )

    def draw(self, _context: Context) -> None:
        """All of them, in a column."""
        layout = self.layout
        assert layout is not None
        layout.use_property_split = True
        for name in ("units", "fraction", "rule", "hand", "folder"):
            layout.prop(self, name)


def preferred() -> DRY_ASSEMBLY_AP_preferences | None:
    """The user's preferences; None where the extension runs without being installed."""
    known: Any = bpy.context.preferences
    entry = known.addons.get(PACKAGE) if known is not None else None
    return None if entry is None else entry.preferences


def first_example() -> str:
    """Key of the example that a first table begins with."""
    chosen = preferred()
    return FIRST["mm" if chosen is None else chosen.units]


def folder() -> str:
    """Where the output of new scenes goes; "" for beside the .blend file."""
    chosen = preferred()
    return "" if chosen is None else chosen.folder


def suited(text: str) -> str:
    """The text of a table that comes with the extension, with what the user prefers.

    Raises
    ------
    DryAssemblyError
        Where a preference reads as no length, or as one out of its limits: it says which.
    """
    chosen = preferred()
    if chosen is None:
        return text
    table = parse_table(text)
    changes: dict[str, Any] = {}
    if chosen.is_property_set("fraction") and chosen.fraction != table.fraction:
        changes["fraction"] = chosen.fraction
    for key, given in (("rule_division", chosen.rule), ("hand", chosen.hand)):
        if given.strip():
            changes[f"limits.{key}"] = _length(key, given, table)
    return update_text(text, changes, "The table") if changes else text


def _length(name: str, given: str, table: Table) -> float:
    parameter = next(one for one in parameters(Limits) if one.name == name)
    try:
        return parse_length(given, as_units(table.units))
    except ValueError as error:
        raise DryAssemblyError(f"Preferences of Dry Assembly, {parameter.label}: {error}") from None


def register() -> None:
    """Adds the preferences."""
    bpy.utils.register_class(DRY_ASSEMBLY_AP_preferences)


def unregister() -> None:
    """Takes them away."""
    bpy.utils.unregister_class(DRY_ASSEMBLY_AP_preferences)
