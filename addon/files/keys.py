"""Keys of a table file (`table.length`, `stow[1].offset`): which there are, and what they may say."""

from __future__ import annotations

import difflib
import math
import re
import unicodedata
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any, Final

from ..designs.table.parameters import LISTS, SECTIONS, Table, key_in_words
from ..sizes.bounds import MOST_LINES
from ..sizes.declare import Parameter, parameters
from ..sizes.errors import TableFileError
from ..sizes.quantities import quantity_range, read_quantity
from ..sizes.units import LengthError, Units, format_range, parse_length
from ..sizes.words import ordinal
from .old_format import name_of_today

_KEY = re.compile(r"(?:(?P<section>\w+)(?:\[(?P<index>\d{0,6})\])?\.)?(?P<name>\w+)", re.ASCII)
_ENTRY = re.compile(r"(?P<section>\w+)\[(?P<index>\d{1,6})\]", re.ASCII)


class Problem(ValueError):
    """What is wrong at one key, in the words of the user's file; the callers say in which file.

    Parameters
    ----------
    key : dotted key
    shown : the offending value as the user wrote it, or None where there is none
    wrong : a clause that follows the key: ``lies outside the allowed range``
    use : what to do: ``use 300 to 4000 mm``
    """

    def __init__(self, key: str, shown: str | None, wrong: str, use: str) -> None:
        self.key = key
        self.shown = shown
        self.wrong = wrong
        self.use = use
        super().__init__(self.sentence())

    def sentence(self, file: str | None = None) -> str:
        """One sentence: file, key, what is wrong, the fix."""
        subject = key_in_words(self.key) + self._which()
        if self.shown is not None:
            subject += f" = {self.shown}"
        start = "" if file is None else f"{file}: "
        return f"{start}{subject} {self.wrong}; {self.use}."

    def _which(self) -> str:
        """Which entry of a list it is, as people count them."""
        found = re.match(r"(\w+)\[(\d+)\]", self.key)
        if found is None or found[1] not in LISTS:
            return ""
        return f" ({ordinal(int(found[2]) + 1)} [[{found[1]}]])"


@dataclass(frozen=True)
class Key:
    """A key taken apart."""

    section: str
    """ "" for the table's own keys."""
    index: int | None
    """Which entry of a list, from 0."""
    name: str
    """ "" for a whole entry."""

    def __str__(self) -> str:
        index = "" if self.index is None else f"[{self.index}]"
        return ".".join(word for word in (self.section + index, self.name) if word)


def parse_key(text: str) -> Key:
    """A dotted key taken apart; ``stow[].offset`` (any entry) is taken as entry 0.

    Raises
    ------
    Problem
        Where no table file has such a key.
    """
    entry = _ENTRY.fullmatch(text)
    if entry and entry["section"] in LISTS:
        return Key(entry["section"], int(entry["index"]), "")
    found = _KEY.fullmatch(text)
    section = found["section"] or "" if found else ""
    indexed = found is not None and found["index"] is not None
    if found is None or section not in by_section() or indexed != (section in LISTS):
        raise unknown_key(text)
    if found["name"] not in by_section()[section]:
        raise unknown_key(text)
    return Key(section, int(found["index"] or 0) if indexed else None, found["name"])


@cache
def by_section() -> dict[str, dict[str, Parameter]]:
    """All parameters by section and name; the section of the table's own keys (name, units) is ""."""
    sections: dict[str, type] = {"": Table, **SECTIONS, **LISTS}
    return {section: {item.name: item for item in parameters(kind)} for section, kind in sections.items()}


def declared_parameters() -> Iterator[tuple[str, Parameter]]:
    """Every parameter with its key, in the file's order; those of lists as ``stow[].offset``."""
    for section, items in by_section().items():
        start = f"{section}[]." if section in LISTS else f"{section}." if section else ""
        for name, item in items.items():
            yield start + name, item


def parameter_of(key: str) -> Parameter:
    """The declaration behind a dotted key, such as ``stow[1].offset``, ``stow[].offset``, ``table.length``.

    Raises
    ------
    TableFileError
        Where there is no such parameter.
    """
    try:
        found = parse_key(key)
        if not found.name:
            raise unknown_key(key)
    except Problem as problem:
        raise TableFileError(problem.sentence()) from None
    return by_section()[found.section][found.name]


def unknown_key(key: str) -> Problem:
    """The problem of a key that no table file has, with the nearest one that it has."""
    if name_of_today(key) != key:
        return Problem(key, None, f"is called {name_of_today(key)} in this format", "use that name")
    nearest = nearest_key(key)
    if nearest:
        return Problem(key, None, "is not a parameter", f"use {key_in_words(nearest)} or leave it out")
    section = re.sub(r"\[\d*\]", "", key.rpartition(".")[0])
    siblings = ", ".join(by_section().get(section, by_section()[""]))
    return Problem(key, None, "is not a parameter", f"leave it out, or use one of its section: {siblings}")


def unknown_section(name: str) -> Problem:
    """The problem of a section that no table file has, with the nearest one that it has."""
    if name_of_today(name) != name:
        return Problem(name, None, f"is called {name_of_today(name)} in this format", "use that name")
    known = [*SECTIONS, *LISTS]
    nearest = difflib.get_close_matches(name, known, 1, 0.5)
    names = [f"[[{known}]]" if known in LISTS else f"[{known}]" for known in nearest or known]
    return Problem(name, None, "is not a section", f"use {' or '.join(names)}")


def nearest_key(key: str) -> str:
    """The key of a table file most like `key`, with its entry's number, or "" if none is at all like it.

    Keys of the same section come first.
    """
    section, _, name = re.sub(r"\[\d*\]", "", key).rpartition(".")
    own = by_section().get(section, {})
    for items, least in ((own, 0.6), (dict(declared_parameters()), 0.8)):
        names = sorted({known.rpartition(".")[2] for known in items})
        found = difflib.get_close_matches(name, names, 1, least)
        if found and items is own:
            return key[: len(key) - len(name)] + found[0]
        if found:
            return next(known for known in items if known.rpartition(".")[2] == found[0])
    return ""


# -- values
# ----------------------------------------------------------------------------------------------------


LONGEST_TEXT: Final = 120
"""Characters that a name may have."""


SPELLINGS: Final = {"mitred": "mitered"}
"""Choices that are read in another spelling as well: British → American."""


def read_value(parameter: Parameter, key: str, raw: object, units: Units) -> Any:
    """The value of a parameter as the model holds it, lengths in mm.

    Parameters
    ----------
    parameter : its declaration
    key : its dotted key, for the words of a problem
    raw : the value as it stands in the file
    units : unit of plain numbers

    Raises
    ------
    Problem
        Where the value is of the wrong kind, out of its range or none of its choices.
    """
    return _READERS[parameter.kind](parameter, key, raw, units)


def allowed(parameter: Parameter, units: Units) -> str:
    """What a parameter may be, in words: a range with its unit, the choices, the kind."""
    if parameter.kind in ("length", "lengths"):
        words = format_range(parameter.low, parameter.high, units)
        return words if parameter.kind == "length" else f"a list of lengths, each {words}"
    if parameter.kind == "choice":
        return " or ".join(f'"{word}"' for word, _ in parameter.choices)
    if parameter.kind == "flag":
        return "true or false"
    if parameter.kind == "text":
        return f"a text of 1 to {parameter.high or LONGEST_TEXT:,} characters in quotes"
    if parameter.kind == "number":
        return quantity_range(parameter.low or 0.0, parameter.high or 0.0, parameter.unit, units)
    return f"a whole number from {parameter.low:g} to {parameter.high:g}"


def spelled(raw: object) -> str:
    """A value as the user wrote it, short enough for a sentence."""
    if isinstance(raw, bool):
        return "true" if raw else "false"
    if isinstance(raw, dict):
        return "a section"
    if isinstance(raw, int) and abs(raw) > 10**60:
        return "a number of very many digits"
    text = f'"{raw}"' if isinstance(raw, str) else str(raw)
    text = "".join(letter if letter.isprintable() else "?" for letter in text)
    return text if len(text) <= 60 else text[:57] + "..."


def _length(parameter: Parameter, key: str, raw: object, units: Units) -> float:
    try:
        mm = parse_length(raw, units)
    except LengthError as error:
        raise Problem(key, spelled(raw), error.wrong, error.how) from None
    _check_range(parameter, key, raw, mm, units)
    return mm


def _lengths(parameter: Parameter, key: str, raw: object, units: Units) -> tuple[float, ...]:
    if not isinstance(raw, list | tuple):
        raise Problem(key, spelled(raw), "is not a list", "write [100, 200] or leave it out")
    if len(raw) > MOST_LINES:
        raise Problem(key, None, f"has {len(raw):,} lengths", f"leave out all but {MOST_LINES:,}")
    return tuple(_length(parameter, f"{key}[{index}]", item, units) for index, item in enumerate(raw))


def _number(parameter: Parameter, key: str, raw: object, units: Units) -> float:
    use = f"use {allowed(parameter, units)}"
    if isinstance(raw, bool) or not isinstance(raw, int | float | str):
        raise Problem(key, spelled(raw), "is not a number", use)
    if isinstance(raw, float) and not math.isfinite(raw):
        raise Problem(key, spelled(raw), "is not a finite number", use)
    try:
        value = read_quantity(raw, parameter.unit, units)
    except ValueError as error:
        raise Problem(key, spelled(raw), str(error), use) from None
    _check_range(parameter, key, raw, value, units)
    return value + 0.0


def _count(parameter: Parameter, key: str, raw: object, units: Units) -> int:
    if isinstance(raw, bool) or not isinstance(raw, int):
        raise Problem(key, spelled(raw), "is not a whole number", f"use {allowed(parameter, units)}")
    _check_range(parameter, key, raw, raw, units)
    return raw


def _check_range(parameter: Parameter, key: str, raw: object, value: float, units: Units) -> None:
    too_low = parameter.low is not None and value < parameter.low
    if too_low or (parameter.high is not None and value > parameter.high):
        wrong = "is negative" if value < 0 and parameter.low == 0 else "lies outside the allowed range"
        lengths = parameter.kind == "lengths"
        each = format_range(parameter.low, parameter.high, units) if lengths else allowed(parameter, units)
        raise Problem(key, spelled(raw), wrong, f"use {each}")


def _flag(parameter: Parameter, key: str, raw: object, units: Units) -> bool:
    if not isinstance(raw, bool):
        raise Problem(
            key, spelled(raw), "is neither yes nor no", f"use {allowed(parameter, units)}, without quotes"
        )
    return raw


def _choice(parameter: Parameter, key: str, raw: object, units: Units) -> str:
    raw = SPELLINGS.get(raw, raw) if isinstance(raw, str) else raw
    if not isinstance(raw, str) or raw not in (word for word, _ in parameter.choices):
        raise Problem(key, spelled(raw), "is none of the choices", f"use {allowed(parameter, units)}")
    return raw


def _text(parameter: Parameter, key: str, raw: object, units: Units) -> str:
    if not isinstance(raw, str):
        raise Problem(key, spelled(raw), "is not a text", f"use {allowed(parameter, units)}")
    if not raw.strip() or len(raw) > (parameter.high or LONGEST_TEXT):
        wrong = "is too long" if raw.strip() else "is empty"
        raise Problem(key, spelled(raw), wrong, f"use {allowed(parameter, units)}")
    if any(unicodedata.category(letter) in ("Cc", "Cs", "Zl", "Zp") for letter in raw):
        raise Problem(key, spelled(raw), "holds a line break or control character", "write it on one line")
    return raw


_READERS: Final[dict[str, Callable[[Parameter, str, object, Units], Any]]] = {
    "length": _length,
    "lengths": _lengths,
    "number": _number,
    "count": _count,
    "flag": _flag,
    "choice": _choice,
    "text": _text,
}
