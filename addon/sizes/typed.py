"""Lengths as they are typed into a field, in the language that its labels have, and as the field shows them.

A table file is the same in all languages: its decimals have a point. Where the language has a comma, both are read, but
nothing that could be meant in two ways.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Final

from .units import LengthError, Units, format_given

_COMMA: Final = re.compile(
    r"(?:be|bg|ca|cs|da|de|el|eo|es|et|eu|fi|fr|hr|hu|id|it|ka|ky|lt|lv|nb|nl|pl|pt|ro|ru|sk|sl|sr|sv|tr|uk|vi)"
    r"(?![a-z]).*"
)
"""Languages whose decimals have a comma (Unicode CLDR, from memory; the GNU C Library says the same)."""
_BOTH: Final = re.compile(r"\d*[.,]\d+[.,]\d+|,\D*,")
_DECIMALS: Final = re.compile(r"(?<![\d.,])(\d*),(\d+)")
_THOUSANDS: Final = re.compile(r"(?<![\d.,])([1-9]\d{0,2})\.(\d{3})(?!\d)")


def has_comma(locale: str) -> bool:
    """Whether decimals have a comma in the language of a locale such as ``de_DE``."""
    return _COMMA.fullmatch(locale) is not None


def with_point(text: str, comma: bool) -> str:
    """A length as typed → as a table file has it, with a point.

    Parameters
    ----------
    comma : whether the language has commas in decimals

    Raises
    ------
    LengthError
        Where it could be meant in two ways: thousands apart, a comma where the language has points.
    """
    if not comma:
        if "," in text:
            raise LengthError("has a comma", "write decimals with a point, thousands without a comma")
        return text
    if _BOTH.search(text):
        raise LengthError("has more than one comma or point", "write 1500,5")
    two = _THOUSANDS.search(text)
    if two:
        raise LengthError("can be read in two ways", f"write {two[1]}{two[2]} or {two[1]},{two[2]}")
    return _DECIMALS.sub(lambda found: f"{found[1]}.{found[2]}", text)


def items_of(text: str, comma: bool) -> list[str]:
    """The lengths of a list as typed: apart by ``;``, or by a comma, with a blank behind it where the language has
    commas in decimals, so that ``28,5`` is one length there."""
    parts = re.split(r";|,(?=\s|$)" if comma else "[;,]", text)
    return [part.strip() for part in parts if part.strip()]


@lru_cache(maxsize=1024)
def shown_length(mm: float, units: Units, comma: bool) -> str:
    """A length that somebody chose as a field shows it: ``17.7 mm``, ``28 1/2 in``, ``18 mm`` in any unit."""
    return in_language(format_given(mm, units), comma)


def shown_lengths(found: tuple[float, ...], units: Units, comma: bool) -> str:
    """A list of them, the unit once if it is the same for all: ``-566, 566 mm``."""
    words = [shown_length(mm, units, comma) for mm in found]
    if all(word.endswith(f" {units}") for word in words):
        words = [*(word.removesuffix(f" {units}") for word in words[:-1]), *words[-1:]]
    return ("; " if comma else ", ").join(words)


def in_language(text: str, comma: bool) -> str:
    """A length or a quantity in words, with a comma in its decimals where the language has one."""
    return text.replace(".", ",") if comma else text
