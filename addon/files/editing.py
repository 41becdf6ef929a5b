"""Changes of single values by their keys, on a Table and in the text of its file."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from typing import Any

from ..designs.table.adapting import adapted_table
from ..designs.table.parameters import LISTS, SECTIONS, Table
from ..sizes.errors import DryAssemblyError, TableFileError
from ..sizes.quantities import spell_quantity
from ..sizes.units import Units, as_units, spell_length
from .editor import TableEditor, given
from .keys import Key, Problem, by_section, parse_key
from .old_format import has_old_names, is_old
from .table_file import build_table, parse_table, parse_toml

Changes = Mapping[str, object]
"""Dotted key to new value, lengths in mm (or texts with a unit). None takes a key away, which gives its
default back, or a whole entry (``as_cut[0]``). Keys of the entry after the last add it."""

_MARK = "\ufeff"
"""Byte order mark that some editors put in front."""


def set_values(table: Table, changes: Changes) -> Table:
    """The table with some values changed, all of it checked as in a file.

    Raises
    ------
    TableFileError
        Where a key is no parameter, or the changed table is not valid.
    """
    raw = plain_values(table)
    try:
        for key, value in _ordered(changes):
            _change(raw, key, value)
        return build_table(raw, units="mm")
    except Problem as problem:
        raise TableFileError(_in_own_unit(problem, raw, table).sentence()) from None


def _in_own_unit(problem: Problem, raw: dict[str, Any], table: Table) -> Problem:
    """A problem of plain contents in mm, as the table's own file would have it."""
    units = as_units(table.units)
    if units == "mm":
        return problem
    spelled = {
        section: [_spelled(section, entry, units) for entry in values]
        if isinstance(values, list)
        else _spelled(section, values, units)
        if isinstance(values, dict)
        else values
        for section, values in raw.items()
    }
    try:
        build_table(spelled, units)
    except Problem as own:
        return own
    return problem


def _spelled(section: str, values: dict[str, Any], units: Units) -> dict[str, Any]:
    """Values of a section, their numbers (lengths in mm, other quantities metric) as a file in `units` has them."""
    found = dict(values)
    for name, item in by_section()[section].items():
        value = values.get(name)
        if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
            continue
        if item.kind == "length":
            found[name] = spell_length(float(value), units)
        elif item.kind == "number":
            found[name] = spell_quantity(float(value), item.unit, units)
    return found


def plain_values(table: Table) -> dict[str, Any]:
    """A table as plain contents of a file whose numbers are mm: dicts and lists, without what is left out."""
    raw = given(table)
    for section in SECTIONS:
        raw[section] = given(getattr(table, section))
    for section in LISTS:
        raw[section] = [given(entry) for entry in getattr(table, section)]
    return raw


def _ordered(changes: Changes) -> list[tuple[Key, object]]:
    """Changes in an order in which all can be made: by number, whole entries taken away last to first."""
    found = [(parse_key(key), value) for key, value in changes.items()]
    for key, value in found:
        if not key.name and value is not None:
            raise Problem(str(key), None, "is a whole entry", "set its keys one by one")
        if not key.name and any(other.name and _entry(other) == _entry(key) for other, _ in found):
            raise Problem(str(key), None, "is changed and taken away at once", "do one of the two")
    single = sorted((item for item in found if item[0].name), key=lambda item: _place(item[0]))
    whole = sorted((item for item in found if not item[0].name), key=lambda item: -(item[0].index or 0))
    return [*single, *whole]


def _entry(key: Key) -> tuple[str, int | None]:
    return key.section, key.index


def _place(key: Key) -> tuple[int, int]:
    """Where a key stands among those of one section."""
    return key.index or 0, list(by_section()[key.section]).index(key.name)


def _change(raw: dict[str, Any], key: Key, value: object) -> None:
    home = raw
    if key.index is not None:
        entries = raw[key.section]
        if key.index > len(entries) or (key.index == len(entries) and value is None):
            raise _no_entry(key, len(entries))
        if not key.name:
            del entries[key.index]
            return
        if key.index == len(entries):
            entries.append({})
        home = entries[key.index]
    elif key.section:
        home = raw[key.section]
    if value is None:
        home.pop(key.name, None)
    else:
        home[key.name] = value


def _no_entry(key: Key, count: int) -> Problem:
    last = f"use [0] to [{count - 1}], or [{count}] to add one" if count else "use [0] to add the first"
    return Problem(str(key), None, f"names entry {key.index} of {count} (counted from 0)", last)


def update_text(text: str, changes: Changes, name: str = "table file") -> str:
    """The text of a table file with some values changed and all else kept: comments, order, spelling.

    A text of an old format is written in today's, without changes as well: its keys in today's names, and what it
    leaves out written out where it is not today's default.

    Parameters
    ----------
    text : of a valid table file
    changes : lengths in mm; they are written in the file's unit
    name : what messages call the file

    Raises
    ------
    TableFileError
        Where the text or the changed table is not valid.
    DryAssemblyError
        Where tomlkit is not installed, or the file is laid out such that it cannot be changed in place.
    """
    before = parse_table(text, name)
    raw = parse_toml(text, name)
    old = is_old(raw)
    if not changes and not old:
        return text
    wanted = set_values(before, changes)
    mark = _MARK if text.startswith(_MARK) else ""
    end = "\r\n" if "\r\n" in text and not re.search(r"(?<!\r)\n", text) else "\n"
    plain = text.removeprefix(mark)
    if plain and not plain.endswith("\n"):
        plain += end
    editor = TableEditor(plain, as_units(before.units), as_units(wanted.units))
    if old:
        editor.renew(names=has_old_names(raw))
    editor.change(_ordered(changes), [given(entry) for entry in before.stock])
    editor.write_out(wanted)
    changed = mark + (editor.text() if end == "\n" else re.sub(r"(?<!\r)\n", end, editor.text()))
    if parse_table(changed, name) != wanted:
        message = f"{name} is laid out such that it cannot be changed in place; save the table anew."
        raise DryAssemblyError(message)
    return changed


def adapted(text: str, changes: Changes, name: str = "table file") -> tuple[str, tuple[str, ...]]:
    """`update_text`, and what else has to change with it: stow positions, ribs' lines, entries of parts as cut.

    What was set by hand is kept where the table can be built with it. A table that cannot be built whatever else
    changes is as the changes alone make it.

    Returns
    -------
    The new text, and what else changed in words, a sentence each without its period; () where nothing did.

    Raises
    ------
    TableFileError, DryAssemblyError : as `update_text` does
    """
    before = parse_table(text, name)
    wanted = set_values(before, changes)
    after, notes = adapted_table(before, wanted)
    return update_text(text, {**changes, **_further_changes(wanted, after)}, name), notes


def _further_changes(wanted: Table, after: Table) -> dict[str, object]:
    """Changes by key that make a table of another; entries of a list that are fewer go."""
    found: dict[str, object] = {}
    for section in SECTIONS:
        old, new = given(getattr(wanted, section)), given(getattr(after, section))
        found |= {f"{section}.{key}": new.get(key) for key in {**old, **new} if old.get(key) != new.get(key)}
    for section in LISTS:
        was, now = getattr(wanted, section), getattr(after, section)
        for index, entry in enumerate(now):
            old = given(was[index]) if index < len(was) else {}
            new = given(entry)
            found |= {
                f"{section}[{index}].{key}": new.get(key)
                for key in {**old, **new}
                if old.get(key) != new.get(key)
            }
        found |= {f"{section}[{index}]": None for index in range(len(now), len(was))}
    return found
