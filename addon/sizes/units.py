"""Lengths as people write them: millimeters, inches and fractions of an inch, read and written without loss.

One inch is exactly 25.4 mm (NIST SP 811, appendix B), so lengths are read as rational numbers and rounded
once, to the nearest float64 millimeter.
"""

from __future__ import annotations

import math
import re
import unicodedata
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Final, Literal, cast

from .tolerances import CONTACT

Units = Literal["mm", "in"]

MM_PER_INCH: Final = Fraction(127, 5)
"""Exact: NIST SP 811, appendix B."""

FINEST: Final = 64
"""Finest division of the inch that a rule carries, and in which sizes are shown where nobody chose another."""

_CHOSEN: Final = 4
"""Decimals of a millimeter to which lengths are chosen."""

_SHORT: Final = 12
"""Characters that a length somebody chose takes at most."""

_LONGEST: Final = 60
"""Characters that a length may have."""

_FOOT: Final = 12 * MM_PER_INCH
_MM_IN: Final = {"mm": Fraction(1), "cm": Fraction(10), "m": Fraction(1000), "in": MM_PER_INCH, "ft": _FOOT}
"""Exact: NIST SP 811, appendix B."""

_LENGTH = re.compile(
    r"""
    (?P<sign>[-+]?)[ ]*
    (?: (?P<decimal>\d+\.?\d*(?:e[-+]?\d{1,3})? | \.\d+(?:e[-+]?\d{1,3})?)
      | (?:(?P<whole>\d+)(?:[ ]+|-))? (?P<top>\d+)[ ]*/[ ]*(?P<bottom>\d+)
    )
    [ ]*(?:
        (?P<mm>mm|millimet(?:er|re)s?) | (?P<cm>cm|centimet(?:er|re)s?) | (?P<m>m|met(?:er|re)s?)
      | (?P<in>in\.?|inch|inches|"|'') | (?P<ft>ft\.?|foot|feet|')
    )?
    """,
    re.VERBOSE | re.ASCII,
)
_FEET = re.compile(
    r"(?P<sign>[-+]?) *(?P<feet>\d+) *(?:ft\.?|foot|feet|')(?: *|-)(?P<inches>[\d.].*)", re.ASCII
)
"""Feet and inches: ``2' 4 1/2"``, ``2'-4 1/2"``, ``2 ft 4 in``."""

_EIGHTHS: Final = "\u00bc\u00bd\u00be\u215b\u215c\u215d\u215e"
_PLAIN: Final = str.maketrans(
    {
        **dict.fromkeys("\u2212\u2010\u2011\u2013", "-"),
        **dict.fromkeys("\u2032\u2019", "'"),  # feet
        **dict.fromkeys("\u2033\u201d", '"'),  # inches
        **dict.fromkeys("\u00a0\u2009\u202f", " "),
        "\u2044": "/",
        **{sign: " " + unicodedata.normalize("NFKC", sign).replace("\u2044", "/") for sign in _EIGHTHS},
    }
)
"""Dashes, marks of feet and inches, narrow spaces, quarters and eighths in one sign (Unicode) → as any keyboard has
them."""

_HOW: Final = 'write a number, "23 3/4", "18 mm" or "23/32 in"'


class LengthError(ValueError):
    """What is no length: what is wrong with it, as a clause that follows the value, and what to write instead."""

    def __init__(self, wrong: str, how: str = _HOW) -> None:
        self.wrong, self.how = wrong, how
        super().__init__(f"{wrong}: {how}")


class _Shown(str):
    """A unit that also knows how finely sizes are shown in it; to everything else the same word."""

    finest: int


def shown_by(units: Units, finest: int) -> Units:
    """A unit in which sizes are shown to 1/`finest` in, where it is the inch.

    It goes wherever the unit goes, so that everything that is said of a table says it as its maker's tape reads.
    """
    shown = _Shown(units)
    shown.finest = finest
    return as_units(shown)


def finest_of(units: Units) -> int:
    """Into how many parts the inch is divided where sizes are shown in this unit."""
    return units.finest if isinstance(units, _Shown) else FINEST


def as_units(text: str) -> Units:
    """`text` as a unit, for texts that are known to be one."""
    return cast(Units, text)


def parse_length(value: object, units: Units) -> float:
    """A length as written in a table file or typed by a user, in mm.

    Parameters
    ----------
    value : a number in `units`, or a text such as ``23 3/4``, ``23-3/4``, ``3/4``, ``23.75``, ``18 mm``,
        ``23/32 in``, ``23 3/4"``, ``2' 4 1/2"``, ``2 ft 4 in``; a unit in the text counts before `units`; a sign may
        stand in front
    units : unit of plain numbers

    Raises
    ------
    LengthError
        Where it is no finite length.
    """
    if isinstance(value, bool):
        raise LengthError("is yes or no, not a length")
    if isinstance(value, str):
        return _to_mm(_read_text(value, units), "mm")
    if isinstance(value, float) and not math.isfinite(value):
        raise LengthError("is not a finite number")
    if isinstance(value, float | int):
        return _to_mm(_as_written(value), units)
    raise LengthError("is not a length")


def _as_written(value: float | int) -> Fraction:
    """The decimal that the user wrote, rather than the binary number next to it. It knows no negative zero."""
    return Fraction(value) if isinstance(value, int) else Fraction(repr(float(value)))  # numpy's too


def unit_of(text: str) -> str | None:
    """The unit that a length in words bears: ``mm``, ``cm``, ``m``, ``in``, ``ft``; None for a plain number.

    Raises LengthError where it is no length.
    """
    return _words(text)[1]


def _read_text(text: str, units: Units) -> Fraction:
    """A length in words, mm."""
    size, unit = _words(text)
    return size * _MM_IN[unit or units]


def _words(text: str) -> tuple[Fraction, str | None]:
    """A length in words: how many of which unit."""
    stripped = text.translate(_PLAIN).strip().lower()
    if not stripped:
        raise LengthError("is empty")
    if len(stripped) > _LONGEST:
        raise LengthError("is too long for a length")
    found = _LENGTH.fullmatch(stripped)
    if found is not None:
        return _size(found), _unit(found)
    both = _FEET.fullmatch(stripped)
    inches = None if both is None else _LENGTH.fullmatch(both["inches"])
    if both is None or inches is None or _unit(inches) not in (None, "in"):
        raise LengthError("is not a length")
    size = int(both["feet"]) + _size(inches) / 12
    if _size(inches) >= 12:
        raise LengthError("has 12 inches or more behind the feet")
    return (-size if both["sign"] == "-" else size), "ft"


def _size(found: re.Match[str]) -> Fraction:
    """The number in front of the unit, with its sign."""
    if found["decimal"]:
        size = Fraction(found["decimal"])
    else:
        size = _fraction(found["whole"], int(found["top"]), int(found["bottom"]))
    return -size if found["sign"] == "-" else size


def _unit(found: re.Match[str]) -> str | None:
    return next((unit for unit in _MM_IN if found[unit]), None)


def _fraction(whole: str | None, top: int, bottom: int) -> Fraction:
    if bottom == 0:
        raise LengthError("has a fraction over zero")
    if whole is None:
        return Fraction(top, bottom)
    if top >= bottom:
        raise LengthError("has a fraction that is not less than one behind a whole number")
    return int(whole) + Fraction(top, bottom)


def _to_mm(size: Fraction, units: Units) -> float:
    try:
        return float(size * MM_PER_INCH if units == "in" else size)
    except OverflowError:
        raise LengthError("is too large for a length", "write a smaller one") from None


def inches(mm: float) -> Fraction:
    """`mm` in inches, exactly, the decimal that `mm` reads as."""
    return _as_written(mm) / MM_PER_INCH


def nearest_fraction(mm: float, denominator: int = FINEST) -> Fraction:
    """The multiple of 1/`denominator` in nearest to `mm`, reduced; ties go to the even multiple.

    The rule for ties is that of NIST SP 811, B.7.1 (from memory).
    """
    return Fraction(round(inches(mm) * denominator), denominator)


@dataclass(frozen=True)
class Reading:
    """How finely a length is read, mm and inches; inches by default as the unit says (`shown_by`)."""

    mm: Fraction
    inch: Fraction | None
    decimals: tuple[int, int]
    """Least and greatest number of decimals of millimeters."""
    fractions: bool
    """Whether inches are shown as fractions; else as decimals."""

    def step(self, units: Units) -> Fraction:
        """The smallest difference that is read, in the unit."""
        if units != "in":
            return self.mm
        return Fraction(1, finest_of(units)) if self.inch is None else self.inch


def tape(finest: int | None = None) -> Reading:
    """What a tape reads: 0.1 mm; 1/`finest` in (16, 32 or 64). For sizes and positions."""
    return Reading(Fraction(1, 10), None if finest is None else Fraction(1, finest), (0, 1), fractions=True)


def division(mm: float) -> Reading:
    """What a rule reads whose finest division is `mm`: a whole number of those, millimeters or inches."""
    return Reading(_as_written(mm), inches(mm), (0, 4), fractions=True)


TAPE: Final = tape()
CALIPER: Final = Reading(Fraction(1, 100), Fraction(1, 1000), (1, 2), fractions=False)
"""What a caliper or a feeler gauge reads. For clearances, deviations, thicknesses, overlaps."""
BY_HAND: Final = Reading(Fraction(1), Fraction(1, 16), (0, 0), fractions=True)
"""How exactly a hand can be kept somewhere."""

Rounding = Literal["nearest", "down", "up"]


def format_number(mm: float, units: Units, reading: Reading = CALIPER, rounding: Rounding = "nearest") -> str:
    """`mm` for people to read, without the unit's name.

    Ties go to the even multiple (NIST SP 811, B.7.1, from memory). What a caliper reads is never 0 where it is more
    than a contact off zero, rounded to the nearest: it is one step then.
    """
    step = reading.step(units)
    count = _steps(mm, units, step, rounding)
    if rounding == "nearest" and reading is CALIPER and count == 0 and abs(mm) > CONTACT:
        count = 1 if mm > 0 else -1
    size = count * step
    if units == "in" and reading.fractions:
        return fraction_text(size)
    least, most = (3, 3) if units == "in" else reading.decimals
    return _decimal(size, least, most)


def _steps(mm: float, units: Units, step: Fraction, rounding: Rounding) -> int:
    """How many steps a length is. What arithmetic alone put over a step is not rounded to the next one."""
    exact = inches(mm) if units == "in" else _as_written(mm)
    count = exact / step
    nearest = round(count)
    slack = Fraction(CONTACT) / (MM_PER_INCH if units == "in" else 1)
    if rounding == "nearest" or abs(count - nearest) * step <= slack:
        return nearest
    return math.floor(count) if rounding == "down" else math.ceil(count)


def _decimal(size: Fraction, least: int, most: int) -> str:
    """A multiple of 10^-`most` with at least `least` decimals; 0 has none."""
    if not size:
        return "0"
    shown = f"{Decimal(size.numerator) / Decimal(size.denominator):.{most}f}"
    while "." in shown and (shown.endswith("0") and len(shown) - shown.index(".") - 1 > least):
        shown = shown[:-1]
    return shown.rstrip(".")


def fraction_text(size: Fraction) -> str:
    """``48 1/32``, ``-3/4``, ``5``: reduced, the whole number apart."""
    whole, rest = divmod(abs(size), 1)
    words = [str(whole)] if whole or not rest else []
    if rest:
        words.append(f"{rest.numerator}/{rest.denominator}")
    return ("-" if size < 0 else "") + " ".join(words)


def format_size(mm: float, units: Units) -> str:
    """A size or a position, as a tape reads it: ``1500 mm``, ``364.9 mm``, ``59 1/16 in``."""
    return f"{format_number(mm, units, TAPE)} {units}"


def format_amount(mm: float, units: Units) -> str:
    """A clearance, a deviation, a thickness or an overlap, as a caliper reads it: ``4.0 mm``, ``0.063 in``."""
    if mm > CONTACT and _steps(mm, units, CALIPER.step(units), "nearest") == 0:
        return f"less than {format_number(mm, units)} {units}"
    return f"{format_number(mm, units)} {units}"


def format_at_most(mm: float, units: Units, reading: Reading = TAPE) -> str:
    """An upper bound, rounded down, and so inward: whoever keeps to what is shown keeps to `mm`.

    A small bound is read more finely.
    """
    return f"{_rounded(mm, units, reading, 'down')} {units}"


def format_at_least(mm: float, units: Units, reading: Reading = TAPE) -> str:
    """A lower bound, or what is needed, rounded up, and so outward: what is shown is enough for `mm`."""
    return f"{_rounded(mm, units, reading, 'up')} {units}"


def _rounded(mm: float, units: Units, reading: Reading, rounding: Rounding) -> str:
    """A bound, read so finely that rounding takes no more than a tenth of it."""
    size = inches(abs(mm)) if units == "in" else _as_written(abs(mm))
    for one in (reading, TAPE):
        if abs(mm) <= CONTACT or one.step(units) * 10 <= size:
            return format_number(mm, units, one, rounding)
    return format_number(mm, units, CALIPER, rounding)


def rounded(mm: float, units: Units, reading: Reading, rounding: Rounding) -> float:
    """`mm` as it can be read, mm: what `format_number` shows of it."""
    step = reading.step(units)
    return _to_mm(_steps(mm, units, step, rounding) * step, units)


def format_given(mm: float, units: Units) -> str:
    """A length that somebody chose, as it stands in a table file: ``2 mm``, ``23 3/4 in``, ``17.7 mm`` in any."""
    spelled = str(spell_length(mm, units))
    if len(spelled) > _SHORT:  # arithmetic had a hand in it
        spelled = str(spell_length(round(mm, _CHOSEN), units))
    return spelled if spelled.endswith("mm") else f"{spelled} {units}"


def format_range(low: float | None, high: float | None, units: Units) -> str:
    """An allowed range (mm) with its unit: ``300 to 4000 mm``. Limits in inches are rounded inward."""
    if low is not None and high is not None:
        return f"{_limit(low, units, 'up')} to {_limit(high, units, 'down')} {units}"
    if low is not None:
        return f"{_limit(low, units, 'up')} {units} or more"
    if high is not None:
        return f"{_limit(high, units, 'down')} {units} or less"
    return f"any length in {units}"


def _limit(mm: float, units: Units, rounding: Rounding) -> str:
    if units == "mm":
        return f"{mm:.10g}"
    return format_number(mm, units, TAPE if abs(mm) < MM_PER_INCH else tape(16), rounding)


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
