"""Changes of single values by their keys, as a remedy names them, on a table."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from ...sizes.declare import Parameter, parameters
from ...sizes.errors import ParameterError
from ...sizes.units import format_range
from ..findings import Change
from .parameters import LISTS, SECTIONS, Table
from .refusals import refuse

_ENTRY = re.compile(r"(?P<section>\w+)\[(?P<index>\d+)\]", re.ASCII)
_KEY = re.compile(r"(?P<section>\w+)(?:\[(?P<index>\d+)\])?\.(?P<name>\w+)", re.ASCII)


def changed(table: Table, changes: Sequence[Change]) -> Table:
    """The table with new values for some keys, lengths in mm; None gives a default back.

    An entry after the last of a list is added to it: ``as_cut[2].part`` where there are two. A whole entry is taken
    away by None: ``accepted[0]``.

    Raises
    ------
    ParameterError
        For a value out of its range, or where a new entry lacks what it must have.
    """
    new: dict[tuple[str, int], dict[str, Any]] = {}
    gone = [found for change in changes if (found := _ENTRY.fullmatch(change.key))]
    for change in changes:
        if _ENTRY.fullmatch(change.key):
            continue
        section, index, name, declared = parameter_of(change.key)
        value = declared.default_in(table.units) if change.value is None else change.value
        _check(table, change.key, declared, value)
        if index is None:
            table = replace(table, **{section: replace(getattr(table, section), **{name: value})})
        elif index < len(getattr(table, section)):
            entries = list(getattr(table, section))
            entries[index] = replace(entries[index], **{name: value})
            table = replace(table, **{section: tuple(entries)})
        else:
            new.setdefault((section, index), {})[name] = value
    for (section, index), values in sorted(new.items()):
        entries = getattr(table, section)
        missing = [one.name for one in parameters(LISTS[section]) if one.required and one.name not in values]
        if index != len(entries) or missing:
            raise ParameterError(f"{section}[{index}]", None, f"{len(entries)} entries", "it is not whole")
        table = replace(table, **{section: (*entries, LISTS[section](**values))})
    for found in sorted(gone, key=lambda one: -int(one["index"])):
        entries = list(getattr(table, found["section"]))
        del entries[int(found["index"])]
        table = replace(table, **{found["section"]: tuple(entries)})
    return table


def parameter_of(key: str) -> tuple[str, int | None, str, Parameter]:
    """Section, number of the entry, name and declaration behind a key."""
    found = _KEY.fullmatch(key)
    assert found is not None, key
    section, index, name = found["section"], found["index"], found["name"]
    declared = next(one for one in parameters({**SECTIONS, **LISTS}[section]) if one.name == name)
    return section, None if index is None else int(index), name, declared


def _check(table: Table, key: str, declared: Parameter, value: object) -> None:
    """Refuse a number out of its range. Raises ParameterError."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return
    low, high = declared.low, declared.high
    if (low is not None and value < low) or (high is not None and value > high):
        refuse(table, key, float(value), format_range(low, high, table.units), "no file may hold it")
