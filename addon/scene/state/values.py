"""Parameters as Blender's properties hold them, and back (no bpy here).

Blender keeps lengths as float32 meters, the table file has float64 millimeters in the user's spelling. So each length
has its exact words beside it (`SPELLED`), which count as long as they give this float32: a property that nobody touched
does not disturb the file, and what is typed (`typed`) comes out as it was typed. Where something else has set the
float32, it is taken as the 64th of an inch (in inch tables) or the shortest decimal that gives it, in steps of 1e-4 mm.
Forces, masses and the like, which inch tables have in units of their own, go the same way.
"""

from __future__ import annotations

from functools import lru_cache
from math import isfinite
from typing import Any, Final

import numpy as np

from ...designs.table.parameters import LISTS, SECTIONS, Table
from ...sizes.declare import Parameter, parameters
from ...sizes.quantities import QUANTITIES, read_quantity, spell_quantity, unit_in
from ...sizes.units import MM_PER_INCH, Units, as_units, nearest_fraction, parse_length, spell_length

PLACES: Final = 4
"""Decimals of a millimeter that a changed length keeps."""
GIVEN: Final = "_given"
"""What is appended to a parameter's name for the switch that tells whether it is left out."""
SPELLED: Final = "_spelled"
"""The same for the exact words of a length or a quantity, with their unit."""
TYPED: Final = "_text"
"""The same for the text in which these are typed and shown."""
REFUSED: Final = "_refused"
"""The same for the words why what was typed last was not taken; empty where it was."""
READ_AS: Final = "_read_as"
"""The same for what was typed last in another unit, and what it is in the table's; empty where it was in this one."""
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


def has_words(parameter: Parameter) -> bool:
    """Whether it is a length or a quantity whose unit is another one in inch tables: its exact words are kept."""
    return parameter.kind == "length" or (parameter.kind == "number" and parameter.unit in QUANTITIES)


def is_typed(parameter: Parameter) -> bool:
    """Whether it is typed as a text, with its unit."""
    return parameter.kind == "lengths" or has_words(parameter)


def spelled(parameter: Parameter, value: float, units: Units) -> str:
    """The exact words of a length (mm) or a metric quantity, with their unit."""
    if parameter.kind == "length":
        words, unit = str(spell_length(value, units)), str(units)
    else:
        words, unit = str(spell_quantity(value, parameter.unit, units)), unit_in(parameter.unit, units)
    return words if words.endswith(parameter.unit) else f"{words} {unit}"


def same(parameter: Parameter, group: Any, value: Any, units: Units) -> bool:
    """Whether the property of a parameter was given `value` and not touched since."""
    exact = _exact(parameter, group)
    if exact is not None:
        return exact == value
    held, there = getattr(group, attribute(parameter)), shown(parameter, value, units)
    return _are_one(held, there) if parameter.kind in ("length", "number") else held == there


def held_in(parameter: Parameter, group: Any, units: Units) -> Any:
    """The value of a property, lengths in mm. Raises LengthError where a list of lengths does not read."""
    exact = _exact(parameter, group)
    return taken(parameter, getattr(group, attribute(parameter)), units) if exact is None else exact


def _exact(parameter: Parameter, group: Any) -> float | None:
    """A value as its words say; None where it has none, or they are not of what the property holds."""
    words = getattr(group, parameter.name + SPELLED, "") if has_words(parameter) else ""
    value = _read(parameter, words) if words else None
    if value is None:
        return None
    return value if _are_one(getattr(group, attribute(parameter)), shown(parameter, value, "mm")) else None


@lru_cache(maxsize=1024)
def _read(parameter: Parameter, words: str) -> float | None:
    try:
        return (
            parse_length(words, "mm")
            if parameter.kind == "length"
            else read_quantity(words, parameter.unit, "mm")
        )
    except ValueError:
        return None


def _are_one(held: float, value: float) -> bool:
    """Whether two numbers are one float32."""
    return bool(np.float32(held) == np.float32(value))


def taken(parameter: Parameter, held: Any, units: Units) -> Any:
    """The value of a property that something else than typing has set, lengths in mm.

    Raises
    ------
    ValueError
        Where a list of lengths does not read.
    """
    if parameter.kind == "length":
        mm = _shortest(held) * 1000.0
        part = float(nearest_fraction(mm) * MM_PER_INCH) if units == "in" and isfinite(mm) else mm
        is_part = units == "in" and _are_one(held, part / 1000.0)
        return _within(parameter, part if is_part else round(mm, PLACES))
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
    if parameter.kind in ("length", "number", "count"):
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
    if has_words(parameter):
        words = spelled(parameter, value, units)
        if getattr(group, parameter.name + SPELLED, "") != words:
            say(group, parameter)
        setattr(group, parameter.name + SPELLED, words)
    setattr(group, attribute(parameter), shown(parameter, value, units))


def say(group: Any, parameter: Parameter, refused: str = "", read_as: str = "") -> None:
    """Keeps what is to be said beside a field; by default nothing."""
    setattr(group, parameter.name + REFUSED, refused)
    setattr(group, parameter.name + READ_AS, read_as)


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
