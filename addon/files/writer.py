"""A table as the text of its file, every key explained from its declaration."""

from __future__ import annotations

import textwrap
from typing import Any, Final

from ..designs.table.parameters import LISTS, SECTIONS, Table
from ..sizes.declare import Parameter
from ..sizes.quantities import spell_quantity
from ..sizes.units import Units, as_units, spell_length
from .keys import allowed, by_section
from .old_format import FORMAT

_PAPER: Final = 108
"""Characters on a line, so that it fits on a sheet of paper."""

_COLUMN: Final = 34
"""Column of the explanations."""

_NARROWEST: Final = 30
"""Characters that an explanation needs on a line."""

_BOUND: Final = "\u00a0"
"""A space at which no line breaks."""

_UNIT_NAMES: Final = {"mm": "millimeters", "in": "inches"}


def new_table_text(table: Table, intro: str = "") -> str:
    """The full text of a table's file: every parameter with its meaning, unit, range and default.

    Parameters
    ----------
    table : a valid table
    intro : what to say of the table at the top, plain text
    """
    units = as_units(table.units)
    lines = [
        *_head(table, intro),
        "",
        *_explained(f"format = {FORMAT}", ["Form of this file; it stays as it is"]),
    ]
    lines += _items("", table, units)
    for section, kind in SECTIONS.items():
        lines += ["", f"[{section}]", *_sentences(kind)]
        lines += _items(section, getattr(table, section), units)
    for section in LISTS:
        appended = section in _SAMPLES
        lines += _appended(section, table, units) if appended else _entries(section, table, units)
    return "\n".join(lines) + "\n"


def _head(table: Table, intro: str) -> list[str]:
    unit = _UNIT_NAMES[table.units]
    spellings = '"18 mm", "23 3/4 in", "23-3/4 in" or "23/32 in"'
    how = (
        f"Plain numbers are {unit}. Lengths may also be written as {spellings}; without a unit, the table's "
        "own counts. A parameter that is left out takes its default. Lines behind a # are comments."
    )
    return [*_comment(table.name), *(_comment(intro) if intro else []), "#", *_comment(how)]


def _comment(text: str) -> list[str]:
    return [f"# {line}" for line in _wrapped(text, _PAPER - len("# "))]


def _sentences(kind: type) -> list[str]:
    return _comment(" ".join((kind.__doc__ or "").split()))


def _items(
    section: str, values: object, units: Units, explained: bool = True, *, all_given: bool = True
) -> list[str]:
    """Lines of one section or entry. Those left out are shown only where they are explained.

    Unless `all_given`, what is as its default has it is left out too.
    """
    lines: list[str] = []
    for name, parameter in by_section()[section].items():
        value = getattr(values, name)
        if not all_given and value == parameter.default:
            continue
        if value is not None:
            line = f"{name} = {_literal(parameter, value, units)}"
        elif explained:
            line = f"# {name} = ..."
        else:
            continue
        lines += _explained(line, _meaning(parameter, units)) if explained else [line]
    return lines


def _explained(line: str, meaning: list[str], column: int = _COLUMN) -> list[str]:
    """A line with its meaning behind it, in a column of its own; below it where the line takes up the paper."""
    if len(line) + 2 > _PAPER - _NARROWEST:
        return [line, *_explained("", meaning, column)]
    column = max(column, len(line) + 2)
    room = _PAPER - column - len("# ")
    first, *rest = [wrapped for part in meaning for wrapped in _wrapped(part, room)]
    return [f"{line:<{column}}# {first}", *(" " * column + f"# {more}" for more in rest)]


def _wrapped(text: str, room: int) -> list[str]:
    """`text` in lines of at most `room` characters; lines after the first are indented like it."""
    indent = " " * (len(text) - len(text.lstrip()))
    wrapper = textwrap.TextWrapper(room, indent, indent, break_on_hyphens=False)
    lines = wrapper.wrap(text.lstrip())
    return [line.replace(_BOUND, " ") for line in lines]


def _meaning(parameter: Parameter, units: Units) -> list[str]:
    """Meaning, range and default in one line; choices in a line each."""
    within = "" if parameter.kind in ("choice", "text") else allowed(parameter, units)
    default = "" if parameter.optional or parameter.required else f"default {_default(parameter, units)}"
    facts = ", ".join(fact for fact in (within, default) if fact)
    choices = [f'  "{word}": {meaning}' for word, meaning in parameter.choices]
    bound = facts.replace(" ", _BOUND)
    return [f"{parameter.help} ({bound})" if facts else parameter.help, *choices]


def _default(parameter: Parameter, units: Units) -> str:
    if parameter.kind == "length":
        return str(spell_length(parameter.default_in(units), units))
    if parameter.kind == "number":
        return str(spell_quantity(float(parameter.default_in(units)), parameter.unit, units))
    return _literal(parameter, parameter.default_in(units), units)


def _literal(parameter: Parameter, value: Any, units: Units) -> str:
    """A value as TOML."""
    if parameter.kind == "length":
        return _toml(spell_length(value, units))
    if parameter.kind == "lengths":
        return "[" + ", ".join(_toml(spell_length(item, units)) for item in value) + "]"
    if parameter.kind == "number":
        return _toml(spell_quantity(float(value), parameter.unit, units))
    return _toml(value)


def _toml(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'
    return repr(float(value)) if isinstance(value, float) else repr(value)  # numpy's too


def _entries(section: str, table: Table, units: Units) -> list[str]:
    entries = getattr(table, section)
    if not entries:
        return ["", *_comment(f"[[{section}]] {_about(section)} There is no entry, so it is worked out.")]
    lines: list[str] = []
    for index, entry in enumerate(entries):
        mark = f"  # L{index + 1}" if section == "stow" else ""
        lines += ["", f"[[{section}]]{mark}", *(_comment(_about(section)) if index == 0 else [])]
        lines += _items(section, entry, units, explained=index == 0)
    return lines


def _about(section: str) -> str:
    return " ".join((LISTS[section].__doc__ or "").split())


_SAMPLES: Final[dict[str, dict[str, tuple[str, str]]]] = {
    "own_part": {
        "name": ('"hook board"', '"hook board"'),
        "length": ("300", "12"),
        "width": ("80", "3"),
        "joined_to": ('"S1 screw"', '"S1 screw"'),
    },
    "own_cut": {
        "part": ('"HB1"', '"HB1"'),
        "kind": ('"hole"', '"hole"'),
        "along": ("40", '"1 1/2"'),
        "across": ("40", '"1 1/2"'),
        "diameter": ("12", '"1/2"'),
    },
    "as_cut": {
        "part": ('"R1"', '"R1"'),
        "dimension": ('"length"', '"length"'),
        "deviation": ("4", '"1/8"'),
        "end": ('"start"', '"start"'),
    },
    "fastener": {
        "kind": ('"screw"', '"screw"'),
        "head": ('"S1"', '"S1"'),
        "into": ('"R1"', '"R1"'),
    },
    "reserved": {
        "name": ('"pin tray"', '"pin tray"'),
        "form": ('"box"', '"box"'),
        "x": ("[-150, 150]", "[-6, 6]"),
        "y": ("[-40, 40]", "[-2, 2]"),
        "z": ("[560, 600]", "[22, 24]"),
    },
    "accepted": {
        "rule": ('"thin-wood"', '"thin-wood"'),
        "parts": ('"R3"', '"R3"'),
        "reason": ('"glued to the ledger"', '"glued to the ledger"'),
    },
}
"""Lists of which no table needs an entry: values of a sample, for tables in mm and in inches."""


def _appended(section: str, table: Table, units: Units) -> list[str]:
    """What entries of such a list are, as comments; then those that there are. More can be appended to the file."""
    about = _about(section) + " Entries go to the end of the file and look like this one:"
    lines = ["", *_comment(about), "#", f"#   [[{section}]]"]
    sample = {name: values[units == "in"] for name, values in _SAMPLES[section].items()}
    for name, parameter in by_section()[section].items():
        line = f"#   {name} = {sample.get(name, '...')}"
        first, *rest = _explained(line, _meaning(parameter, units))
        lines += [first, *("#" + more[1:] for more in rest)]
    for entry in getattr(table, section):
        lines += ["", f"[[{section}]]", *_items(section, entry, units, explained=False, all_given=False)]
    return lines
