"""JSON that a person wrote: objects with their keys, numbers in mm; every error says where and what to do."""

from __future__ import annotations

import json
import math
from collections.abc import Collection
from typing import Any, Final

from .errors import RowError
from .units import format_given

_NAMES: Final = ("name", "label", "comment")
"""Keys that may stand anywhere, for the reader's own use."""


def one_or_several(text: str, where: str, most: int, noun: str) -> tuple[list[tuple[Any, str]], bool]:
    """What a JSON text holds, each with where it stands, and whether it is a list.

    Parameters
    ----------
    where : name of the file, for the words of an error
    most : how many of a list are taken
    noun : what each is, as "row"

    Raises
    ------
    RowError : for what is no JSON, and for an empty or too long list
    """
    try:
        data = json.loads(text.removeprefix("\ufeff"))
    except json.JSONDecodeError as error:
        raise RowError(f"{where} is no JSON: {error}; mend it there.") from None
    except RecursionError:
        raise RowError(f"{where} is nested too deeply: write {noun}s, or a list of them.") from None
    except ValueError:
        raise RowError(f"{where} holds a number of far too many digits: write a shorter one.") from None
    if not isinstance(data, list):
        return [(data, where)], False
    if not 1 <= len(data) <= most:
        raise RowError(f"{where} has {len(data):,} {noun}s: write 1 to {most}.")
    return [(one, f"{where}, {noun} {number}") for number, one in enumerate(data, 1)], True


def object_of(data: Any, where: str, needed: Collection[str], optional: Collection[str]) -> dict[str, Any]:
    """A JSON object with these keys. Raises RowError for others and for missing ones."""
    if not isinstance(data, dict):
        raise RowError(f"{where} has to be an object with {', '.join(sorted(needed))}.")
    missing = sorted(set(needed) - data.keys())
    if missing:
        raise RowError(f"{where} lacks {missing[0]}: add it.")
    unknown = sorted(data.keys() - set(needed) - set(optional) - set(_NAMES))
    if unknown:
        allowed = ", ".join(sorted({*needed, *optional}))
        raise RowError(f'{where} has an unknown key "{unknown[0]}": use {allowed}.')
    return data


def number_of(value: Any, where: str, *, above: float | None = None, least: float | None = None) -> float:
    """A number in mm. Raises RowError for what is none, for too large ones, and for those not `above` or `least`."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise RowError(f"{where} has to be a number in mm.")
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    if not math.isfinite(number) or abs(number) > 1e6:
        raise RowError(f"{where} has to be a number in mm, less than a kilometer.")
    if (above is not None and number <= above) or (least is not None and number < least):
        raise RowError(
            f"{where} = {format_given(number, 'mm')} has to be"
            f" {'more than' if above is not None else 'at least'} 0."
        )
    return number
