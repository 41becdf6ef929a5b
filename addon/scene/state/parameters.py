"""Parameters as Blender's properties: a group for each section of the table file, made from the declarations."""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from typing import Any, Final

import bpy
from bpy.props import CollectionProperty, PointerProperty
from bpy.types import Context, PropertyGroup

from ...sizes.declare import Parameter
from ...sizes.typed import has_comma
from ...sizes.units import Units, as_units
from ..translation import BoolProperty, EnumProperty, FloatProperty, IntProperty, StringProperty
from . import typed
from .values import (
    GIVEN,
    LIST_ITEMS,
    READ_AS,
    REFUSED,
    SECTION_ITEMS,
    SPELLED,
    TABLE_ITEMS,
    TYPED,
    attribute,
    has_words,
    is_typed,
    shown,
    starting_value,
)

HIDDEN: Final[set[Any]] = {"HIDDEN"}


def function(module: str, name: str) -> Callable[..., Any]:
    """A function of another module that reads and writes these properties: looked up when it is called for."""
    return getattr(import_module(f"..{module}", __package__), name)


def answered_by(module: str, name: str) -> Callable[[PropertyGroup, Context], None]:
    """What Blender calls when a property is changed."""

    def changed(self: PropertyGroup, _context: Context) -> None:
        function(module, name)(self)

    return changed


def _suggested_by(name: str) -> Callable[[PropertyGroup, Context, str], list[tuple[str, str]]]:
    """What Blender calls when a text is typed into a field."""

    def suggested(self: PropertyGroup, context: Context, typed: str) -> list[tuple[str, str]]:
        return function("access", name)(self, context, typed)

    return suggested


_parameter_changed: Final = answered_by("tables", "parameter_changed")

_SUGGESTED: Final = {
    (section, name): _suggested_by(function)
    for section, name, function in (
        ("as_cut", "part", "suggested_parts"),
        ("as_cut", "dimension", "suggested_dimensions"),
        ("as_cut", "leaf", "suggested_leaves"),
        ("fastener", "head", "suggested_parts"),
        ("fastener", "into", "suggested_parts"),
    )
}
"""By section and name of the parameter."""


def property_of(parameter: Parameter, section: str) -> Any:
    """The Blender property that holds a parameter of a section; a text may have suggestions."""
    start = (
        starting_value(parameter) if parameter.default is None or parameter.required else parameter.default
    )
    common: dict[str, Any] = {
        "name": parameter.label,
        "description": parameter.help.rstrip("."),
        "update": _parameter_changed,
    }
    if parameter.kind == "length":
        low, high = parameter.low or 0.0, parameter.high or 0.0
        return FloatProperty(
            **common,
            default=start / 1000.0,
            min=low / 1000.0,
            max=high / 1000.0,
            subtype="DISTANCE",
            precision=5,
            step=0.01,
        )
    if parameter.kind == "number":
        return FloatProperty(**common, default=start, min=parameter.low or 0.0, max=parameter.high or 1e9)
    if parameter.kind == "count":
        return IntProperty(
            **common, default=int(start), min=int(parameter.low or 0), max=int(parameter.high or 1000)
        )
    if parameter.kind == "flag":
        return BoolProperty(**common, default=start)
    if parameter.kind == "choice":
        return EnumProperty(**common, default=start, items=[_choice(*choice) for choice in parameter.choices])
    default = shown(parameter, start, "mm")
    suggested = _SUGGESTED.get((section, parameter.name))
    if suggested is not None:
        return StringProperty(**common, default=default, search=suggested)
    return StringProperty(**common, default=default)


def typed_properties(parameter: Parameter) -> dict[str, Any]:
    """The properties beside one that is typed as a text, by their names: that text, its exact words, and what was not
    understood, or in another unit. None for other kinds."""
    if not is_typed(parameter):
        return {}

    def shown_text(self: PropertyGroup) -> str:
        return typed.text_of(self, parameter, _units_of(self), comma_in_labels())

    def typed_text(self: PropertyGroup, text: str) -> None:
        with function("access", "own_writing")():
            changed = typed.type_in(self, parameter, text, _units_of(self), comma_in_labels())
        if changed:
            _parameter_changed(self, bpy.context)

    name = parameter.name
    field = StringProperty(
        name=parameter.label,
        description=parameter.help.rstrip("."),
        default=typed.DEFAULT,
        get=shown_text,
        set=typed_text,
        options={"SKIP_SAVE"},
    )
    words = {
        name + REFUSED: StringProperty(options=HIDDEN),
        name + READ_AS: StringProperty(options=HIDDEN),
    }
    exact = {name + SPELLED: StringProperty(options=HIDDEN)} if has_words(parameter) else {}
    return {name + TYPED: field, **words, **exact}


def _units_of(group: PropertyGroup) -> Units:
    """Units of the table that a parameter belongs to."""
    return as_units(function("access", "owner")(group).parameters.units)


def comma_in_labels() -> bool:
    """Whether decimals have a comma in the language of Blender's labels."""
    return has_comma(bpy.app.translations.locale)


def _choice(word: str, meaning: str) -> tuple[str, str, str]:
    return word, word.replace("_", " ").title() if len(word) > 2 else word, meaning[:1].upper() + meaning[1:]


def _group(name: str, items: tuple[Parameter, ...], section: str = "", **extra: Any) -> type[PropertyGroup]:
    properties: dict[str, Any] = {}
    for parameter in items:
        properties[attribute(parameter)] = property_of(parameter, section)
        properties |= typed_properties(parameter)
        if parameter.optional:
            properties[parameter.name + GIVEN] = BoolProperty(
                name=f"Give {parameter.label}",
                description=parameter.help.rstrip("."),
                update=_parameter_changed,
            )
    return type(f"DRY_ASSEMBLY_PG_{name}", (PropertyGroup,), {"__annotations__": {**properties, **extra}})


SECTION_GROUPS: Final = {name: _group(name, items) for name, items in SECTION_ITEMS.items()}
LIST_GROUPS: Final = {name: _group(f"{name}_entry", items, name) for name, items in LIST_ITEMS.items()}
PARAMETERS: Final = _group(
    "parameters",
    TABLE_ITEMS,
    "",
    **{name: PointerProperty(type=kind) for name, kind in SECTION_GROUPS.items()},
    **{name: CollectionProperty(type=kind) for name, kind in LIST_GROUPS.items()},
    **{
        f"{name}_index": IntProperty(options={"SKIP_SAVE"}, update=answered_by("parts", f"{name}_chosen"))
        for name in LIST_GROUPS
    },
)
