"""What is no length: forces, stresses, densities, masses, areas, volumes, in metric units or in those of an inch table.

Exact conversions: NIST SP 811, appendix B: 1 in = 25.4 mm, 1 ft = 0.3048 m, 1 lb = 0.45359237 kg,
1 lbf = 4.4482216152605 N; 1 psi = 1 lbf/in².
"""

from __future__ import annotations

import math
import re
from fractions import Fraction
from typing import Final, NamedTuple

from .units import MM_PER_INCH, Units

_FOOT: Final = Fraction("0.3048")
"""m"""
_POUND: Final = Fraction("0.45359237")
"""kg"""
_POUND_FORCE: Final = Fraction("4.4482216152605")
"""N"""


class Quantity(NamedTuple):
    """A unit of millimeter tables, that of inch tables, and how many of the first make one of the second."""

    metric: str
    inch: str
    factor: Fraction


QUANTITIES: Final = {
    one.metric: one
    for one in (
        Quantity("N", "lbf", _POUND_FORCE),
        Quantity("N/mm²", "psi", _POUND_FORCE / MM_PER_INCH**2),
        Quantity("kg/m³", "lb/ft³", _POUND / _FOOT**3),
        Quantity("kg", "lb", _POUND),
        Quantity("m²", "sq ft", _FOOT**2),
        Quantity("cm³", "in³", MM_PER_INCH**3 / 1000),
    )
}
"""By their metric unit. A unit that is not among them, or none, is the same in all tables."""

_SPELLINGS: Final = {"N/mm2": "N/mm²", "kg/m3": "kg/m³", "lb/ft3": "lb/ft³", "lb": "lbf"}
"""How units may be written as well."""

_NUMBER = re.compile(
    r"(?P<number>[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d{1,3})?)\s*(?P<unit>[a-zA-Z].*|)", re.ASCII
)
_LONGEST: Final = 60
_DIGITS: Final = 3
"""Digits of a quantity in words that count."""


def unit_in(metric: str, units: Units) -> str:
    """The unit that a table of these units has for a metric one: ``N`` is ``lbf`` in an inch table."""
    found = QUANTITIES.get(metric)
    return metric if found is None or units == "mm" else found.inch


def read_quantity(value: float | str, metric: str, units: Units) -> float:
    """A quantity in its metric unit.

    Parameters
    ----------
    value : a number in the unit of the table, or a text with a unit of its own, such as ``45 lbf`` or ``200 N``

    Raises
    ------
    ValueError
        Where it is none; the text is a clause that follows the value.
    """
    unit = unit_in(metric, units)
    if unit == metric and isinstance(value, float):
        return value
    number: float | str = value
    if isinstance(value, str):
        found = _NUMBER.fullmatch(value.strip()) if len(value) <= _LONGEST else None
        if found is None:
            raise ValueError("is not a number")
        number = found["number"]
        unit = _SPELLINGS.get(found["unit"], found["unit"]) or unit
    quantity = QUANTITIES.get(metric)
    known = (metric, quantity.inch) if quantity else (metric,)
    if unit not in known:
        raise ValueError(f"has a unit that is none of {', '.join(known)}" if metric else "has a unit")
    exact = Fraction(number) if isinstance(number, int | str) else Fraction(repr(float(number)))
    if quantity is not None and unit == quantity.inch:
        exact *= quantity.factor
    if abs(exact) > Fraction(10) ** 300:
        return math.inf
    return float(exact)


def spell_quantity(value: float, metric: str, units: Units) -> int | float | str:
    """A metric quantity as it stands in a table file, such that `read_quantity` gives the very same float64 back."""
    own = _spelled(value)
    quantity = QUANTITIES.get(metric)
    if quantity is None or units == "mm":
        return own
    short = _spelled(round(float(Fraction(repr(float(value))) / quantity.factor), 6))
    return short if read_quantity(short, metric, units) == value else f"{own} {metric}"


def _spelled(value: float) -> int | float:
    return int(value) if value.is_integer() and abs(value) < 1e15 else value


def format_quantity(value: float, metric: str, units: Units, digits: int = _DIGITS) -> str:
    """A metric quantity in words: ``200 N``, ``45 lbf``."""
    quantity = QUANTITIES.get(metric)
    own = (
        value if quantity is None or units == "mm" else float(Fraction(repr(float(value))) / quantity.factor)
    )
    return f"{_significant(own, digits)} {unit_in(metric, units)}".strip()


def quantity_range(low: float, high: float, metric: str, units: Units) -> str:
    """An allowed range with its unit; limits in another unit than the metric one are rounded inward."""
    quantity = QUANTITIES.get(metric)
    if quantity is None or units == "mm":
        return f"{low:g} to {high:g} {metric}".strip()
    ends = []
    for value, rounded in ((low, math.ceil), (high, math.floor)):
        exact = Fraction(repr(float(value))) / quantity.factor
        step = Fraction(10) ** (math.floor(math.log10(exact)) - _DIGITS + 1) if exact else Fraction(1)
        ends.append(_significant(float(rounded(exact / step) * step), _DIGITS))
    return f"{ends[0]} to {ends[1]} {quantity.inch}"


def _significant(value: float, digits: int) -> str:
    """Without an exponent, and no digit before the point rounded away."""
    if not value:
        return "0"
    places = max(digits - 1 - math.floor(math.log10(abs(value))), 0)
    shown = f"{value:.{min(places, 12)}f}"
    return shown.rstrip("0").rstrip(".") if "." in shown else shown
