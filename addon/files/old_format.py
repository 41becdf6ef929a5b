"""Table files of older formats: their names, their values and what they leave out, put in today's terms.

A file names its format at its top: ``format = 4``. One without it, of format 1, was written before parts, keys and
defaults got their present names; one of format 2 before the default table got windows that are open to its bottom
panel, one of format 3 before leaves without stow positions lay close together, stopped grooves got round ends and
leaves might be out of square.
Each is read as it was meant, and saved in today's format with the defaults of its time written out where today's
differ, so that a table half built never changes under its maker.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, Final

from ..designs.table.parameters import LISTS
from ..sizes.declare import Parameter
from ..sizes.quantities import QUANTITIES, spell_quantity
from ..sizes.units import Units, as_units, spell_length

FORMAT: Final = 4
"""The format that is written."""

SECTION_NAMES: Final = {"floor": "bottom"}
"""Section of format 1 → of today."""

KEY_NAMES: Final = {
    ("sides", "roof"): "wood_above_slots",
    ("sides", "rail"): "wood_below_slots",
    ("ribs", "post"): "wood_beside_window",
    ("ribs", "least_post"): "least_wood_beside_window",
    ("leaves", "lie"): "direction",
    ("stowing", "recess"): "set_back",
}
"""(section of today, key of format 1) → key of today."""

VALUES: Final[dict[tuple[str, str], dict[str, str]]] = {("as_cut", "dimension"): {}}
"""(section, key) of today → word of format 1 → word of today. Other spellings of a word are `values.SPELLINGS`."""

LABELS: Final = {
    "F": "B",
    "E": "STOP",
    "P": "LEG",
    "D": "LEDG",
    "T": "TOP",
    "N": "RUN",
    "K": "KICK",
    "G": "GUIDE",
}
"""What a part's label began with in format 1 → begins with today; the others are as they were."""

ROLES: Final[dict[str, str]] = {"floor": "bottom"}
"""A part's role in format 1 → today."""

DEFAULTS: Final[dict[str, tuple[int, Any, Any]]] = {
    "sides.wood_above_slots": (2, 8.0, 5 / 16 * 25.4),
    "ribs.upper_windows": (2, "closed", "closed"),
    "ribs.window_chamfer": (2, 2.0, 3 / 32 * 25.4),
    "ribs.stand_off": (2, 0.0, 0.0),
    "leaves.lead_chamfer": (2, 0.0, 0.0),
    "stowing.guides": (2, False, False),
    "bottom.groove_bit": (3, 0.0, 0.0),
    "bottom.groove_run_on": (3, 0.0, 0.0),
    "stowing.spread": (3, "wide", "wide"),
    "stowing.set_back": (3, 19.2, 3 / 4 * 25.4),
    "tolerances.squareness": (3, 0.0, 0.0),
}
"""Key of today → the last format with another default, and that: in millimeter tables, and in inch tables of formats 2
and on; lengths in mm. Format 1 had the first in inch tables as well."""

STOCK: Final = (
    {"name": "18 mm birch plywood", "nominal": "18 mm", "measured": "17.7 mm", "density": "685 kg/m³"},
    {"name": "12 mm birch plywood", "nominal": "12 mm", "measured": "12 mm", "density": "695 kg/m³"},
)
"""The sheets of format 1 where a file named none, in inch tables as well."""

_LABEL: Final = re.compile(rf"([{''.join(LABELS)}])(\d+)", re.ASCII)

Sections = Mapping[str, Mapping[str, Parameter]]


def is_old(raw: Mapping[str, Any]) -> bool:
    """Whether the plain contents of a table file are of an older format."""
    return has_old_names(raw) or (type(raw["format"]) is int and 2 <= raw["format"] < FORMAT)


def has_old_names(raw: Mapping[str, Any]) -> bool:
    """Whether they are of format 1."""
    return "format" not in raw


def label_of_today(label: str) -> str:
    """A label of format 1 as it is today: ``F1`` → ``B1``."""
    found = _LABEL.fullmatch(label)
    return f"{LABELS[found[1]]}{found[2]}" if found else label


def value_of_today(section: str, parameter: Parameter, value: Any, units: Units) -> Any:
    """A value of format 1 as it is written today; all but lengths were metric in inch tables as well."""
    if parameter.kind == "number" and parameter.unit in QUANTITIES and units == "in":
        plain = isinstance(value, int | float) and not isinstance(value, bool)
        return f"{value} {parameter.unit}" if plain else value
    if not isinstance(value, str):
        return value
    if (section, parameter.name) == ("as_cut", "part"):
        return label_of_today(value)
    return VALUES.get((section, parameter.name), {}).get(value, value)


def contents_of_today(raw: Mapping[str, Any], sections: Sections) -> dict[str, Any]:
    """The plain contents of a file of an older format as those of a file of today, without ``format``.

    In format 1 names of today are read as well. What is of no known form is handed on: whoever reads it says what is
    wrong.

    Parameters
    ----------
    raw : as tomllib gives them
    sections : parameters of today by section and name; the section of the table's own keys is ""
    """
    found: dict[str, Any] = {}
    units = as_units("in" if raw.get("units") == "in" else "mm")
    if not has_old_names(raw):
        found = {name: dict(value) if isinstance(value, Mapping) else value for name, value in raw.items()}
        _write_out_defaults(found, sections, units, found.pop("format"))
        return found
    for name, value in raw.items():
        section = SECTION_NAMES.get(name, name)
        section = name if section != name and section in raw else section
        if isinstance(value, Mapping):
            found[section] = _section(section, sections.get(section, {}), value, units)
        elif isinstance(value, list):
            found[section] = [
                _section(section, sections.get(section, {}), one, units) if isinstance(one, Mapping) else one
                for one in value
            ]
        else:
            found[section] = value
    _write_out_defaults(found, sections, units, 1)
    return found


def _section(
    section: str, items: Mapping[str, Parameter], raw: Mapping[str, Any], units: Units
) -> dict[str, Any]:
    """A section or entry, its keys and values those of today; a key given under both names stays as it is."""
    found: dict[str, Any] = {}
    for name, value in raw.items():
        today = KEY_NAMES.get((section, name), name)
        today = name if today != name and today in raw else today
        found[today] = value_of_today(section, items[today], value, units) if today in items else value
    return found


def name_of_today(key: str) -> str:
    """A dotted key, or a section, of format 1 as it is today: ``sides.roof`` → ``sides.wood_above_slots``."""
    section, dot, name = key.partition(".")
    section = SECTION_NAMES.get(section, section)
    return section + dot + KEY_NAMES.get((section, name), name)


def _written(item: Parameter, value: Any, units: Units) -> Any:
    """A value (lengths in mm, other quantities metric) as a file has it."""
    if item.kind == "length":
        return spell_length(value, units)
    return spell_quantity(value, item.unit, units) if item.kind == "number" else value


def key_as_written(key: str, raw: Mapping[str, Any]) -> str:
    """A dotted key of today as a file of format 1 has it: ``bottom.stock`` → ``floor.stock``."""
    section, dot, name = key.partition(".")
    old_section = next(
        (old for old, today in SECTION_NAMES.items() if today == section and old in raw), section
    )
    home = raw.get(old_section.partition("[")[0], {})
    entries = home if isinstance(home, list) else [home]
    olds = [
        old
        for (place, old), today in KEY_NAMES.items()
        if (place, today) == (section.partition("[")[0], name)
    ]
    written = [old for old in olds for entry in entries if isinstance(entry, Mapping) and old in entry]
    return old_section + dot + (written[0] if written else name)


def _write_out_defaults(found: dict[str, Any], sections: Sections, units: Units, of_format: int) -> None:
    """Give keys that are left out their default of that format, where today's is another."""
    if of_format == 1 and units == "in" and not found.get("stock"):
        found["stock"] = [dict(entry) for entry in STOCK]
    for section, items in sections.items():
        own = found.get(section, {})
        if isinstance(own, list):
            for entry in own:
                if isinstance(entry, dict):
                    entry |= _defaults(f"{section}[].", items, entry, units, of_format)
        elif isinstance(own, dict) and section not in LISTS:
            missing = _defaults(f"{section}.", items, own, units, of_format)
            if missing:
                found[section] = {**own, **missing}


def _defaults(
    start: str, items: Mapping[str, Parameter], given: Mapping[str, Any], units: Units, of_format: int
) -> dict[str, Any]:
    """Those of a section's defaults of that time that neither the file nor today's default gives."""
    found: dict[str, Any] = {}
    for name, item in items.items():
        today = item.default if of_format == 1 else item.default_in(units)
        last, in_mm, in_inches = DEFAULTS.get(start + name, (FORMAT, today, today))
        if last < of_format:
            continue
        default = in_inches if units == "in" and of_format > 1 else in_mm
        if name not in given and default is not None and default != item.default_in(units):
            found[name] = _written(item, default, units)
    return found
