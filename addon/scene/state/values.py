"""Parameters as Blender's properties hold them, and back (no bpy here).

Blender keeps lengths as float32 meters, the table file has float64 millimeters in the user's spelling. So each length
has its exact words beside it (`SPELLED`), which count as long as they give this float32: a property that nobody touched
does not disturb the file, and what is typed (`typing`) comes out as it was typed. Where something else has set the
float32, it is taken as the 64th of an inch (in inch tables) or the shortest decimal that gives it, in steps of 1e-4 mm.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any, Final

import numpy as np

from ...designs.table.parameters import LISTS, SECTIONS, Table
from ...sizes.declare import Parameter, parameters
from ...sizes.units import MM_PER_INCH, Units, as_units, nearest_fraction, parse_length, spell_length

PLACES: Final = 4
"""Decimals of a millimeter that a changed length keeps."""
GIVEN: Final = "_given"
"""What is appended to a parameter's name for the switch that tells whether it is left out."""
SPELLED: Final = "_spelled"
"""The same for a length's exact words, with their unit."""
TITLE: Final = "title"
"""The property that holds a parameter called `name`, which Blender gives a meaning of its own in property groups."""
TABLE_ITEMS: Final = parameters(Table)
SECTION_ITEMS: Final = {name: parameters(kind) for name, kind in SECTIONS.items()}
LIST_ITEMS: Final = {name: parameters(kind) for name, kind in LISTS.items()}


def attribute(parameter: Parameter) -> str:
    """Name of the property that holds a parameter."""
    return TITLE if parameter.name == "name" else parameter.name


def shown(parameter: Parameter, value: Any, units: Units) -> Any:
    """A value as its property holds it: lengths in m, lists of lengths as a text in the table's units."""
    if parameter.kind == "length":
        return value / 1000.0
    if parameter.kind == "lengths":
        return ", ".join(str(spell_length(item, units)) for item in value)
    return value


def spelled(mm: float, units: Units) -> str:
    """The exact words of a length, with their unit."""
    words = str(spell_length(mm, units))
    return words if words.endswith("mm") else f"{words} {units}"


def same(parameter: Parameter, group: Any, value: Any, units: Units) -> bool:
    """Whether the property of a parameter was given `value` and not touched since."""
    held = getattr(group, attribute(parameter))
    if parameter.kind == "length":
        exact = _exact(parameter, group)
        return _is_float32(held, value) if exact is None else exact == value
    if parameter.kind == "number":
        return np.float32(held) == np.float32(value)
    return held == shown(parameter, value, units)


def held_in(parameter: Parameter, group: Any, units: Units) -> Any:
    """The value of a property, lengths in mm. Raises LengthError where a list of lengths does not read."""
    exact = _exact(parameter, group) if parameter.kind == "length" else None
    return taken(parameter, getattr(group, attribute(parameter)), units) if exact is None else exact


def _exact(parameter: Parameter, group: Any) -> float | None:
    """A length as its words say, mm; None where these are not of what the property holds."""
    words = getattr(group, parameter.name + SPELLED, "")
    mm = _read(words) if words else None
    return mm if mm is not None and _is_float32(getattr(group, attribute(parameter)), mm) else None


@lru_cache(maxsize=1024)
def _read(words: str) -> float:
    return parse_length(words, "mm")


def _is_float32(held: float, mm: float) -> bool:
    return bool(np.float32(held) == np.float32(mm / 1000.0))


def taken(parameter: Parameter, held: Any, units: Units) -> Any:
    """The value of a property that something else than typing has set, lengths in mm.

    Raises
    ------
    ValueError
        Where a list of lengths does not read.
    """
    if parameter.kind == "length":
        mm = _shortest(held) * 1000.0
        parts = float(nearest_fraction(mm) * MM_PER_INCH) if units == "in" else mm
        return _within(parameter, parts if units == "in" and _is_float32(held, parts) else round(mm, PLACES))
    if parameter.kind == "number":
        return _within(parameter, _shortest(held))
    if parameter.kind == "lengths":
        return tuple(parse_length(word, units) for word in held.replace(";", ",").split(",") if word.strip())
    return held


def _shortest(held: float) -> float:
    return float(str(np.float32(held)))


def _within(parameter: Parameter, value: float) -> float:
    """Keeps what float32 pushed over a limit within it."""
    low = value if parameter.low is None else max(value, parameter.low)
    return low if parameter.high is None else min(low, parameter.high)


def starting_value(parameter: Parameter) -> Any:
    """What a property shows for a parameter that is left out and that somebody is about to give."""
    if parameter.default is not None:
        return parameter.default
    if parameter.kind in ("length", "number"):
        return max(parameter.low or 0.0, 0.0)
    if parameter.kind == "choice":
        return parameter.choices[0][0]
    return () if parameter.kind == "lengths" else ""


def fill(group: Any, items: tuple[Parameter, ...], section: Any, units: Units) -> None:
    """Writes a section's values into its properties."""
    for parameter in items:
        value = getattr(section, parameter.name)
        if parameter.optional:
            setattr(group, parameter.name + GIVEN, value is not None)
        if value is not None:
            put(group, parameter, value, units)


def put(group: Any, parameter: Parameter, value: Any, units: Units) -> None:
    """Writes a value (lengths in mm) into the properties of its parameter."""
    if parameter.kind == "length":
        setattr(group, parameter.name + SPELLED, spelled(value, units))
    setattr(group, attribute(parameter), shown(parameter, value, units))


def fill_all(group: Any, table: Table) -> None:
    """Writes a table's values into the whole tree of properties."""
    units = units_of(table)
    fill(group, TABLE_ITEMS, table, units)
    for name, items in SECTION_ITEMS.items():
        fill(getattr(group, name), items, getattr(table, name), units)
    for name, items in LIST_ITEMS.items():
        entries = getattr(table, name)
        collection = getattr(group, name)
        while len(collection) > len(entries):
            collection.remove(len(collection) - 1)
        while len(collection) < len(entries):
            collection.add()
        for entry, value in zip(collection, entries, strict=True):
            fill(entry, items, value, units)


def changes(group: Any, table: Table) -> dict[str, Any]:
    """What the user changed in the tree of properties since it was filled from `table`: dotted key → value.

    Raises
    ------
    ValueError
        Where a list of lengths does not read; the text is a sentence.
    """
    units = units_of(table)
    found = _changed(group, TABLE_ITEMS, table, "", units)
    for name, items in SECTION_ITEMS.items():
        found |= _changed(getattr(group, name), items, getattr(table, name), f"{name}.", units)
    for name, items in LIST_ITEMS.items():
        for index, (entry, value) in enumerate(zip(getattr(group, name), getattr(table, name), strict=False)):
            found |= _changed(entry, items, value, f"{name}[{index}].", units)
    return found


def _changed(
    group: Any, items: tuple[Parameter, ...], section: Any, start: str, units: Units
) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for parameter in items:
        value = getattr(section, parameter.name)
        if parameter.optional and not getattr(group, parameter.name + GIVEN):
            if value is not None:
                found[start + parameter.name] = None
            continue
        if value is None or not same(parameter, group, value, units):
            found[start + parameter.name] = _held(parameter, group, start, units)
    return found


def _held(parameter: Parameter, group: Any, start: str, units: Units) -> Any:
    try:
        return held_in(parameter, group, units)
    except ValueError as error:
        text = getattr(group, attribute(parameter))
        raise ValueError(f"{start}{parameter.name} = {text!r} {error}.") from None


def units_of(table: Table) -> Units:
    """Unit of a table's file."""
    return as_units(table.units)
