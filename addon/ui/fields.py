"""Fields for parameters: lengths are typed as a table file has them, and dragged in steps of the maker's rule.

What was typed and not taken stands below its field in words, and so does what was read in another unit.
"""

from __future__ import annotations

from collections.abc import Container
from typing import Any, Final

import bpy
from bpy.types import Context, PropertyGroup, UILayout

from ..scene.state import typed
from ..scene.state.parameters import comma_in_labels
from ..scene.state.values import GIVEN, READ_AS, REFUSED, TYPED, attribute, is_typed
from ..scene.translation import CONTEXT, shown
from ..sizes.declare import Parameter
from ..sizes.errors import DryAssemblyError
from ..sizes.units import Units
from ..sizes.words import lines_of
from .dragging import DRAG, declared, home_of, path_of

LEFT_OUT: Final = "not given"
"""Shown in the empty field of what is left out."""
NARROWEST: Final = 24
"""Letters on a line at least."""
LETTER: Final = 6.6
"""Room for a letter of a sentence, in pixels at a resolution scale of 1."""
MARGIN: Final = 64.0
"""What tabs, margins and an icon take of the sidebar's width, pixels."""


def length(
    layout: UILayout, group: PropertyGroup, name: str, label: str | None = None, refused: Container[str] = ()
) -> None:
    """The field of a length, or of another parameter, by its name in the table file; see `parameter`."""
    parameter(layout, group, declared(group, name), label, refused)


def parameter(
    layout: UILayout,
    group: PropertyGroup,
    item: Parameter,
    label: str | None = None,
    refused: Container[str] = (),
) -> None:
    """The field of a parameter of any kind. Where it is empty, the parameter is left out, if it may be; what is not
    typed has a switch for that.

    Parameters
    ----------
    layout : a column, with its labels at the left where they are to be there
    group : the section, or the entry of a list
    label : what to call it where its own label would be understood in its section alone; empty for none
    refused : keys in the table file (``table.length``, ``stow[1].offset``) whose fields are marked, because the table
        cannot be built with them
    """
    marked = bool(refused) and key_of(group, item) in refused
    text = item.label if label is None else label
    if is_typed(item):
        _typed(layout, group, item, text, marked)
        return
    if item.optional:
        row = layout.row(align=True, heading=text, heading_ctxt=CONTEXT)
        row.prop(group, item.name + GIVEN, text="")
        text, field = "", row.row(align=True)
        field.active = getattr(group, item.name + GIVEN)
    else:
        field = layout.row(align=True)
    field.alert = marked
    field.prop(group, attribute(item), text=text, text_ctxt=CONTEXT)


def cell(layout: UILayout, group: PropertyGroup, name: str) -> None:
    """The bare field of a parameter in the line of a list."""
    item = declared(group, name)
    row = layout.row()
    row.alert = is_typed(item) and bool(getattr(group, name + REFUSED))
    row.prop(group, name + TYPED if is_typed(item) else attribute(item), text="", emboss=False)


def _typed(layout: UILayout, group: PropertyGroup, item: Parameter, text: str, marked: bool) -> None:
    """The field of what is typed as a text; an empty one is left out."""
    words = getattr(group, item.name + REFUSED)
    column = layout.column(align=True)
    if item.kind == "lengths":  # takes the whole width
        column.use_property_split = False
        column.label(text=text, text_ctxt=CONTEXT)
        text = ""
    row = column.row(align=True)
    row.alert = marked or bool(words)
    hint = shown(LEFT_OUT) if item.optional else ""
    row.prop(group, item.name + TYPED, text=text, text_ctxt=CONTEXT, placeholder=hint)
    if item.kind == "length" and (not item.optional or getattr(group, item.name + GIVEN)):
        handle = row.operator(DRAG, text="", icon="ARROW_LEFTRIGHT")
        handle.data_path, handle.parameter = path_of(group), item.name  # type: ignore[attr-defined]
    read_as = getattr(group, item.name + READ_AS)
    if item.kind == "lengths" and not words:
        all_of_it = getattr(group, item.name + TYPED)
        read_as = all_of_it if len(all_of_it) > letters() else ""
    _said_below(column, words, read_as)


def read_dialog(text: str, item: Parameter, units: Units) -> Any:
    """What was typed into a length's field in a dialog, mm. Raises DryAssemblyError."""
    try:
        return typed.read_typed(item, text, units, comma_in_labels())
    except ValueError as error:
        raise DryAssemblyError(f"{error}.") from None


def key_of(group: PropertyGroup, item: Parameter) -> str:
    """Key of a parameter in the table file: ``table.length``, ``stow[1].offset``."""
    home = home_of(group)
    return f"{home}.{item.name}" if home else item.name


def _said_below(layout: UILayout, wrong: str, read_as: str) -> None:
    if not wrong and not read_as:
        return
    column = layout.column(align=True)
    column.scale_y = 0.8
    for number, line in enumerate(lines_of(wrong or read_as, letters())):
        sign = "BLANK1" if number else "ERROR" if wrong else "FORWARD"
        column.label(text=line, icon=sign, translate=False)


def letters(context: Context | None = None) -> int:
    """Letters that a line has room for in the region that is drawn."""
    drawn = context or bpy.context
    width = 0.0 if drawn.region is None else drawn.region.width / drawn.preferences.system.ui_scale
    return max(NARROWEST, int((width - MARGIN) / LETTER))
