"""Lengths as people write them: millimeters, inches and fractions of an inch, read and written without loss.

One inch is exactly 25.4 mm (NIST SP 811, appendix B), so lengths are read as rational numbers and rounded
once, to the nearest float64 millimeter.
"""

from __future__ import annotations

import math
import re
from decimal import Decimal
from fractions import Fraction
from typing import Final, Literal, cast

Units = Literal["mm", "in"]

MM_PER_INCH: Final = Fraction(127, 5)
"""Exact: NIST SP 811, appendix B."""

FRACTION_MATCH: Final = Fraction(1, 1000)
"""A length this near to a fraction of an inch is shown as that fraction, in."""

FINEST: Final = 64
"""Finest division of the inch that a rule carries."""

_LONGEST: Final = 60
"""Characters that a length may have."""

_LENGTH = re.compile(
    r"""
    (?P<sign>[-+]?)[ ]*
    (?: (?P<decimal>\d+\.?\d*(?:[eE][-+]?\d{1,3})? | \.\d+(?:[eE][-+]?\d{1,3})?)
      | (?:(?P<whole>\d+)(?:[ ]+|-))? (?P<top>\d+)[ ]*/[ ]*(?P<bottom>\d+)
    )
    [ ]*(?P<unit>mm|in\.?|inch|inches|"|″)?
    """,
    re.VERBOSE | re.ASCII,
)
_HOW: Final = 'write a number, "23 3/4", "18 mm" or "23/32 in"'


def as_units(text: str) -> Units:
    """`text` as a unit, for texts that are known to be one."""
    return cast(Units, text)


def parse_length(value: object, units: Units) -> float:
    """A length as written in a table file or typed by a user, in mm.

    Parameters
    ----------
    value : a number in `units`, or a text such as ``23 3/4``, ``23-3/4``, ``3/4``, ``23.75``, ``18 mm``,
        ``23/32 in``, ``23 3/4"``; a unit in the text counts before `units`; a sign may stand in front
    units : unit of plain numbers

    Raises
    ------
    ValueError
        Where it is no finite length; the text is a clause that follows the value: ``is empty: write …``.
    """
    if isinstance(value, bool):
        raise ValueError(f"is yes or no, not a length: {_HOW}")
    if isinstance(value, str):
        return _to_mm(*_read_text(value, units))
    if isinstance(value, float) and not math.isfinite(value):
        raise ValueError(f"is not a finite number: {_HOW}")
    if isinstance(value, float | int):
        return _to_mm(_as_written(value), units)
    raise ValueError(f"is not a length: {_HOW}")


def _as_written(value: float | int) -> Fraction:
    """The decimal that the user wrote, rather than the binary number next to it. It knows no negative zero."""
    return Fraction(value) if isinstance(value, int) else Fraction(repr(value))


def _read_text(text: str, units: Units) -> tuple[Fraction, Units]:
    stripped = text.strip().replace("\u2212", "-")
    if not stripped:
        raise ValueError(f"is empty: {_HOW}")
    if len(stripped) > _LONGEST:
        raise ValueError(f"is too long for a length: {_HOW}")
    found = _LENGTH.fullmatch(stripped)
    if found is None:
        raise ValueError(f"is not a length: {_HOW}")
    if found["decimal"]:
        size = Fraction(found["decimal"])
    else:
        size = _fraction(found["whole"], int(found["top"]), int(found["bottom"]))
    unit: Units = units if found["unit"] is None else "mm" if found["unit"] == "mm" else "in"
    return (-size if found["sign"] == "-" else size), unit


def _fraction(whole: str | None, top: int, bottom: int) -> Fraction:
    if bottom == 0:
        raise ValueError(f"has a fraction over zero: {_HOW}")
    if whole is None:
        return Fraction(top, bottom)
    if top >= bottom:
        raise ValueError(f"has a fraction that is not less than one behind a whole number: {_HOW}")
    return int(whole) + Fraction(top, bottom)


def _to_mm(size: Fraction, units: Units) -> float:
    try:
        return float(size * MM_PER_INCH if units == "in" else size)
    except OverflowError:
        raise ValueError("is too large for a length: write a smaller one") from None


def inches(mm: float) -> Fraction:
    """`mm` in inches, exactly, the decimal that `mm` reads as."""
    return _as_written(mm) / MM_PER_INCH


def nearest_fraction(mm: float, denominator: int = FINEST) -> Fraction:
    """The multiple of 1/`denominator` in nearest to `mm`, reduced; ties go to the even multiple.

    The rule for ties is that of NIST SP 811, B.7.1 (from memory).
    """
    return Fraction(round(inches(mm) * denominator), denominator)


def format_length(mm: float, units: Units, denominator: int = FINEST) -> str:
    """`mm` for people to read, without the unit's name.

    Millimeters have up to two decimals. Inches are a reduced fraction where a multiple of 1/`denominator` in
    lies within 1/1000 in, and have up to three decimals otherwise. What is not zero never reads 0: it gets
    more decimals.
    """
    if units == "mm":
        return _decimal(_as_written(mm), 2)
    fraction = nearest_fraction(mm, denominator)
    if abs(inches(mm) - fraction) <= FRACTION_MATCH and (fraction != 0 or mm == 0):
        return fraction_text(fraction)
    return _decimal(inches(mm), 3)


def _decimal(exact: Fraction, places: int) -> str:
    value = Decimal(exact.numerator) / Decimal(exact.denominator)
    if abs(value) < 1e-9:
        return f"{value:.2g}"
    shown = f"{value:.{places}f}"
    while Decimal(shown) == 0:
        places += 1
        shown = f"{value:.{places}f}"
    return shown.rstrip("0").rstrip(".") if "." in shown else shown


def fraction_text(size: Fraction) -> str:
    """``48 1/32``, ``-3/4``, ``5``: reduced, the whole number apart."""
    whole, rest = divmod(abs(size), 1)
    words = [str(whole)] if whole or not rest else []
    if rest:
        words.append(f"{rest.numerator}/{rest.denominator}")
    return ("-" if size < 0 else "") + " ".join(words)


def format_size(mm: float, units: Units) -> str:
    """`mm` for people to read, with the unit: ``1500 mm``, ``59 1/16 in``."""
    return f"{format_length(mm, units)} {units}"


def format_amount(mm: float, units: Units) -> str:
    """An excess, a gap or a trim with the unit: ``4.0 mm``, ``5/32 in``. Millimeters have a decimal."""
    shown = format_length(mm, units)
    if units == "mm" and mm != 0 and "." not in shown and "e" not in shown:
        shown += ".0"
    return f"{shown} {units}"


def format_range(low: float | None, high: float | None, units: Units) -> str:
    """An allowed range (mm) with its unit: ``300 to 4000 mm``. Limits in inches are rounded inward."""
    if low is not None and high is not None:
        return f"{_limit(low, units, up=True)} to {_limit(high, units, up=False)} {units}"
    if low is not None:
        return f"{_limit(low, units, up=True)} {units} or more"
    if high is not None:
        return f"{_limit(high, units, up=False)} {units} or less"
    return f"any length in {units}"


def _limit(mm: float, units: Units, up: bool) -> str:
    if units == "mm":
        return f"{mm:.10g}"
    exact = inches(mm) * 1000
    return format(Decimal(math.ceil(exact) if up else math.floor(exact)).scaleb(-3).normalize() + 0, "f")


def spell_length(mm: float, units: Units) -> int | float | str:
    """`mm` as it stands in a table file, such that `parse_length` gives the very same float64 back.

    Inches are a fraction of 64ths if that is exact; else a short decimal; else, for lengths that somebody
    chose in millimeters, those (``"17.7 mm"``); else a decimal of all digits.
    """
    if units == "mm":
        return int(mm) if mm.is_integer() and abs(mm) < 1e15 else mm
    fraction = nearest_fraction(mm)
    if _to_mm(fraction, "in") == mm:
        return int(fraction) if fraction.denominator == 1 else fraction_text(fraction)
    short = round(float(inches(mm)), 6)
    if parse_length(short, "in") == mm:
        return short
    if round(mm, 4) == mm:
        return f"{spell_length(mm, 'mm')} mm"
    return _all_digits(mm)


def _all_digits(mm: float) -> float | str:
    exact = inches(mm)
    nearest = float(exact)
    if parse_length(nearest, "in") == mm:
        return nearest
    quotient = Decimal(exact.numerator) / Decimal(exact.denominator)  # 28 digits, far finer than a float64
    for digits in range(17, 28):
        text = f"{quotient:.{digits - 1}e}"
        if parse_length(text, "in") == mm:
            return _plain(Decimal(text))
    raise AssertionError(f"{mm!r} mm cannot be written in inches")


def _plain(value: Decimal) -> str:
    plain = format(value, "f")
    return plain if len(plain) <= _LONGEST else str(value)
