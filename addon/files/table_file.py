"""The table file: TOML text to a Table, everything checked, nothing half-built.

Every file that the user named is read here, whole: a regular one, and none larger than any that makes sense.
"""

from __future__ import annotations

import codecs
import difflib
import os
import re
import stat
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from ..designs.table.leaf_parameters import Leaves
from ..designs.table.parameters import LISTS, SECTIONS, Table
from ..sizes.bounds import (
    DEEPEST_KEY,
    MOST_ACCEPTED,
    MOST_AS_CUT,
    MOST_BYTES,
    MOST_FASTENERS,
    MOST_OWN,
    MOST_OWN_CUTS,
    MOST_RESERVED,
    MOST_STOCKS,
)
from ..sizes.declare import defaults_in, parameters
from ..sizes.errors import TableFileError
from ..sizes.units import Units
from ..wood.stock import standard_stock
from .keys import Problem, allowed, by_section, read_value, spelled, unknown_key, unknown_section
from .old_format import FORMAT, contents_of_today, has_old_names, is_old, key_as_written

_QUOTED = re.compile(r"\"[^\"]*\"|'[^']*'")
_BARE = re.compile(r"(?:^|[=\[,])\s*([-+]?(?:\d+[ -]+)?\d+/\d+(?:\s*(?:mm|in)\b)?|[-+]?[\d.]+\s*(?:mm|in)\b)")
"""A fraction, or a length with its unit, that does not stand in quotes."""

_PLACE = re.compile(r"\s*\(at (line \d+, column \d+|end of document)\)$")

_ASIDE = re.compile(
    r'"""(?:[^\\]|\\.)*?(?:"""|\Z)|"(?:[^"\\\n]|\\.)*+"?' r"|'''.*?(?:'''|\Z)|'[^'\n]*+'?|(#)[^\n]*",
    re.DOTALL,
)
"""A text in quotes, or a comment, in which dots have no meaning."""

_DEEP = re.compile(rf"(?<![\w-])(?:[\w-]++[ \t]*+\.[ \t]*+){{{DEEPEST_KEY}}}")
"""A key of too many names."""

_LEAVES = next(one for one in parameters(Leaves) if one.name == "count")
_MOST_ENTRIES = {
    "stock": MOST_STOCKS,
    "own_part": MOST_OWN,
    "own_cut": MOST_OWN_CUTS,
    "as_cut": MOST_AS_CUT,
    "accepted": MOST_ACCEPTED,
    "fastener": MOST_FASTENERS,
    "reserved": MOST_RESERVED,
    "stow": int(_LEAVES.high or 0),
}


def read_table(path: Path | str) -> Table:
    """The table in a file.

    Raises
    ------
    TableFileError
        Where the file cannot be read or holds no valid table; its sentence names file, key and fix.
    """
    return parse_table(read_text(path), Path(path).name)


def parse_table(text: str, name: str = "table file") -> Table:
    """The table in a text; `name` is what messages call it.

    Raises
    ------
    TableFileError
        Where the text holds no valid table.
    """
    raw = parse_toml(text, name)
    try:
        return build_table(of_today(raw))
    except Problem as problem:
        if has_old_names(raw):
            key = key_as_written(problem.key, raw)
            problem = Problem(key, problem.shown, problem.wrong, problem.use)
        raise TableFileError(problem.sentence(name)) from None


def parse_toml(text: str, name: str) -> dict[str, Any]:
    """The plain contents of a TOML text, not yet checked.

    Raises
    ------
    TableFileError
        Where it is not TOML; line and column are named.
    """
    if _DEEP.search(_ASIDE.sub(lambda found: "" if found[1] else "x", text)):
        # each further name costs the parser more than the one before
        raise TableFileError(f"{name} has a key of more than {DEEPEST_KEY} names; no parameter has one.")
    try:
        return tomllib.loads(text.removeprefix("\ufeff"))
    except RecursionError:
        raise TableFileError(f"{name} is nested too deeply; write sections and plain values.") from None
    except tomllib.TOMLDecodeError as error:
        bare = _bare_length(text, str(error))
        if bare:
            raise TableFileError(
                f'{name}, {bare} is not a number in TOML; write "{bare.partition(": ")[2]}".'
            ) from None
        fault = _place_and_fault(str(error))
        raise TableFileError(f"{name} is not valid TOML{fault}; mend it there.") from None
    except ValueError:
        raise TableFileError(f"{name} holds a number of far too many digits; write a shorter one.") from None


def _bare_length(text: str, message: str) -> str:
    """A length that lacks its quotes on the line that tomllib complains of, with the line: ``line 2: 35 1/2``."""
    found = _PLACE.search(message)
    line = re.match(r"line (\d+)", found[1]) if found else None
    if line is None:
        return ""
    plain = _QUOTED.sub("", text.splitlines()[int(line[1]) - 1]).partition("#")[0]
    length = _BARE.search(plain)
    return f"{line[0]}: {length[1].strip()}" if length else ""


def _place_and_fault(message: str) -> str:
    """tomllib's words, with the place first."""
    found = _PLACE.search(message)
    fault = _PLACE.sub("", message).rstrip(".")
    fault = fault[:1].lower() + fault[1:]
    if found is None:
        return f": {fault}"
    place = "its end" if found[1].startswith("end") else found[1]
    return f" at {place}: {fault}"


def of_today(raw: dict[str, Any]) -> dict[str, Any]:
    """The plain contents of a table file, of any format, as those of a file of today's; without ``format``.

    Raises
    ------
    Problem
        Where the format is none that is known.
    """
    if is_old(raw):
        return contents_of_today(raw, by_section())
    found = {key: value for key, value in raw.items() if key != "format"}
    if type(raw["format"]) is not int or raw["format"] != FORMAT:
        what = "is the format of another program, or of a later version of this one"
        raise Problem("format", spelled(raw["format"]), what, f"use {FORMAT}")
    return found


def build_table(raw: Mapping[str, Any], units: Units | None = None) -> Table:
    """A table from plain contents as tomllib gives them.

    Parameters
    ----------
    raw : top-level keys and sections of today's format, without ``format`` itself; every value is checked
        against its declaration
    units : unit of plain numbers; by default that which `raw` names

    Raises
    ------
    Problem
        Where a key is unknown or missing, a value wrong, or two of them contradict each other.
    """
    known = by_section()[""].keys() | SECTIONS.keys() | LISTS.keys()
    for key in raw:
        if key not in known:
            raise unknown_section(key) if isinstance(raw[key], Mapping | list) else _misplaced(key)
    first = {key: raw[key] for key in by_section()[""] if key in raw}
    values = _read_items("", "", first, units or "mm")
    own = Table(**values).units
    numbers = units or own
    for section, kind in SECTIONS.items():
        given = _read_section(section, raw.get(section, {}), numbers)
        values[section] = kind(**{**defaults_in(kind, own), **given})
    for section, kind in LISTS.items():
        entries = _read_list(section, raw.get(section, []), numbers)
        if entries:
            values[section] = tuple(kind(**{**defaults_in(kind, own), **entry}) for entry in entries)
    values.setdefault("stock", standard_stock(own))
    table = Table(**values)
    _check_stock(table, raw)
    _check_as_cut(table)
    _check_reserved(table)
    _check_accepted(table)
    return table


def _misplaced(key: str) -> Problem:
    homes = [section for section, items in by_section().items() if key in items]
    if homes:
        header = f"[[{homes[0]}]]" if homes[0] in LISTS else f"[{homes[0]}]"
        return Problem(key, None, "stands outside its section", f"move it below {header}")
    return unknown_key(key)


def _read_section(section: str, raw: object, units: Units) -> dict[str, Any]:
    if not isinstance(raw, Mapping):
        shown = None if isinstance(raw, list) else spelled(raw)
        raise Problem(section, shown, "is not one section", f"write [{section}]")
    return _read_items(section, f"{section}.", raw, units)


def _read_list(section: str, raw: object, units: Units) -> list[dict[str, Any]]:
    if not isinstance(raw, list | tuple):
        shown = None if isinstance(raw, Mapping) else spelled(raw)
        raise Problem(section, shown, "is not a list of sections", f"write [[{section}]] for each entry")
    most = _MOST_ENTRIES.get(section)
    if most is not None and len(raw) > most:
        raise Problem(section, None, f"has {len(raw):,} entries", f"leave out all but {most:,}")
    entries = []
    for index, item in enumerate(raw):
        if not isinstance(item, Mapping):
            raise Problem(f"{section}[{index}]", spelled(item), "is not a section", f"write [[{section}]]")
        entries.append(_read_items(section, f"{section}[{index}].", item, units))
    return entries


def _read_items(section: str, start: str, raw: Mapping[str, Any], units: Units) -> dict[str, Any]:
    items = by_section()[section]
    for name in raw:
        if name not in items:
            raise unknown_key(start + name)
    for name, item in items.items():
        if item.required and name not in raw:
            raise Problem(start + name, None, "is missing", f"add it, {allowed(item, units)}")
    return {name: read_value(items[name], start + name, value, units) for name, value in raw.items()}


def _check_stock(table: Table, raw: Mapping[str, Any]) -> None:
    """Names of stock are unique, and every part's stock is one of them and leaves some wood to sand."""
    names = [item.name for item in table.stock]
    for index, item in enumerate(table.stock):
        if item.name in names[:index]:
            raise Problem(f"stock[{index}].name", spelled(item.name), "is given twice", "use another name")
        if item.thickness <= 0:
            wrong = "and back_sanding take off more than the sheet's thickness"
            raise Problem(f"stock[{index}].front_sanding", None, wrong, "use smaller ones")
    for section in SECTIONS:
        for name in by_section()[section]:
            if name == "stock" or name.endswith("_stock"):
                chosen = getattr(getattr(table, section), name)
                _check_reference(f"{section}.{name}", chosen, names, name in raw.get(section, {}))
    for index, entry in enumerate(table.own_part):
        given = "stock" in raw["own_part"][index]
        _check_reference(f"own_part[{index}].stock", entry.stock, names, given)


def _check_reference(key: str, name: str, names: list[str], given: bool) -> None:
    if name not in names:
        wrong = "names no entry of [[stock]]" if given else "is its default, but no entry of [[stock]]"
        raise Problem(key, spelled(name), wrong, "use " + " or ".join(f'"{known}"' for known in names))


def _check_as_cut(table: Table) -> None:
    """Each entry names a dimension and gives one size of it, or says that its part is missing."""
    for index, item in enumerate(table.as_cut):
        key = f"as_cut[{index}]"
        sizes = (("value", item.value), ("deviation", item.deviation), ("degrees", item.degrees))
        given = [name for name, size in sizes if size is not None]
        if item.missing:
            continue
        if not item.dimension:
            raise Problem(f"{key}.dimension", None, "is missing", "add it, or missing = true")
        if not given:
            raise Problem(key, None, "has neither value nor deviation", "give one of the two")
        if len(given) > 1:
            raise Problem(key, None, f"has both {given[0]} and {given[1]}", "give one of the two")


def _check_reserved(table: Table) -> None:
    """Each entry has the points of its form, and a name of its own."""
    for index, item in enumerate(table.reserved):
        if item.wrong is not None:
            name, wrong, use = item.wrong
            raise Problem(f"reserved[{index}].{name}", None, wrong, use)
        if item.name in [other.name for other in table.reserved[:index]]:
            raise Problem(f"reserved[{index}].name", spelled(item.name), "is given twice", "use another name")


def _check_accepted(table: Table) -> None:
    """Each entry names a rule that there is, and parts."""
    if not table.accepted:
        return
    from ..check.facts import RULES  # takes longer to load than a table to read

    for index, item in enumerate(table.accepted):
        if item.rule not in RULES:
            nearest = difflib.get_close_matches(item.rule, sorted(RULES), 3, 0.3) or ["thin-wood"]
            use = "use " + " or ".join(f'"{one}"' for one in nearest)
            raise Problem(
                f"accepted[{index}].rule", spelled(item.rule), "is nothing that the check finds", use
            )
        if not item.places:
            raise Problem(
                f"accepted[{index}].parts", spelled(item.parts), "names no part", "write their labels"
            )


# -- a file that the user named
# ----------------------------------------------------------------------------------------------------


_FLAGS: Final = os.O_RDONLY | getattr(os, "O_BINARY", 0) | getattr(os, "O_NONBLOCK", 0)
"""A pipe into which nobody writes is opened at once, to be told from a file; reading it would wait forever."""

_SAYS: Final = re.compile(rb"^[ \t]*[^#\s]", re.MULTILINE)
"""What is neither blank nor a comment."""


def read_text(path: Path | str) -> str:
    """The text of a table file, or of a file of rows, with its own line ends.

    Raises
    ------
    TableFileError
        Where it cannot be read, is no regular file, is too large, empty, or not UTF-8.
    """
    return decoded(_read(path), Path(path).name)


def decoded(data: bytes, name: str) -> str:
    """The text in what was read, of which one byte more than any file may have is enough.

    Parameters
    ----------
    name : what it was read from, for messages

    Raises
    ------
    TableFileError
        Where it is too large, empty, or not UTF-8.
    """
    if len(data) > MOST_BYTES:
        raise TableFileError(f"{name} is larger than {MOST_BYTES:,} bytes; name a table file.")
    if not _SAYS.search(data.removeprefix(codecs.BOM_UTF8)):
        raise TableFileError(f"{name} is empty; write a table file with the subcommand new, or name another.")
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError:
        raise TableFileError(f"{name} is not UTF-8 text; save it as UTF-8.") from None


def _read(path: Path | str) -> bytes:
    try:
        descriptor = os.open(path, _FLAGS)
        try:
            mode = os.fstat(descriptor).st_mode
            if not stat.S_ISREG(mode):
                what = "a folder" if stat.S_ISDIR(mode) else "no regular file"
                raise TableFileError(f"{path} cannot be read: it is {what}; name a file.")
            with os.fdopen(descriptor, "rb", closefd=False) as file:
                return file.read(MOST_BYTES + 1)
        finally:
            os.close(descriptor)
    except OSError as error:
        why = error.strerror or "it cannot be opened"
        raise TableFileError(f"{path} cannot be read: {why}; check the file's name and place.") from None
    except ValueError:
        raise TableFileError(f"{str(path)!r} is not the name of a file; check it.") from None
