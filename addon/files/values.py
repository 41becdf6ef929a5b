"""Values of a table file against their declarations: kind, range, choice."""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Callable
from typing import Any, Final

from ..sizes.bounds import MOST_LINES
from ..sizes.declare import Parameter
from ..sizes.quantities import quantity_range, read_quantity
from ..sizes.units import LengthError, Units, format_range, parse_length
from .keys import Problem

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
        return f"a text of 1 to {LONGEST_TEXT} characters in quotes"
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
    if not raw.strip() or len(raw) > LONGEST_TEXT:
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
