"""How a parameter is declared: once, as a dataclass field with its unit, range and meaning.

The table file's reader and comments, the panel's tooltips and the reference's table all come from these declarations.
"""

from __future__ import annotations

import dataclasses
from dataclasses import MISSING, dataclass
from functools import cache
from typing import Any, Literal

from .quantities import read_quantity
from .units import Units, parse_length

Kind = Literal["length", "lengths", "number", "count", "flag", "choice", "text"]


@dataclass(frozen=True)
class Parameter:
    """What is known of one parameter. Lengths are in mm; `low` and `high` are allowed values."""

    name: str
    kind: Kind
    label: str
    help: str
    default: Any
    unit: str = ""
    low: float | None = None
    high: float | None = None
    choices: tuple[tuple[str, str], ...] = ()
    """(value, meaning) for kind ``choice``."""
    optional: bool = False
    """Whether the parameter may be left out, which is None; `help` says what None means."""
    required: bool = False
    """Whether it must be given (it has no default)."""
    inch: Any = None
    """The default in a table whose unit is the inch, lengths in mm; None where it is the same."""

    def default_in(self, units: Units) -> Any:
        """The default in a table of these units, lengths in mm."""
        return self.default if units == "mm" or self.inch is None else self.inch


def _declare(kind: Kind, default: Any, label: str, help: str, **extra: Any) -> Any:
    metadata = {"parameter": {"kind": kind, "label": label, "help": help, **extra}}
    if default is MISSING:
        return dataclasses.field(metadata=metadata)
    return dataclasses.field(default=default, metadata=metadata)


def length(
    default: Any,
    label: str,
    help: str,
    low: float = 0.0,
    high: float = 10_000.0,
    inch: float | None = None,
) -> Any:
    """A length in mm; `default` may be None (left out) or MISSING (must be given).

    `inch` is the default, in inches, of a table whose unit is the inch.
    """
    own = None if inch is None else parse_length(inch, "in")
    return _declare("length", default, label, help, unit="mm", low=low, high=high, inch=own)


def lengths(label: str, help: str, low: float = -10_000.0, high: float = 10_000.0) -> Any:
    """A list of lengths in mm that may be left out (None)."""
    return _declare("lengths", None, label, help, unit="mm", low=low, high=high)


def number(
    default: Any, label: str, help: str, unit: str, low: float, high: float, inch: float | None = None
) -> Any:
    """A number with a (metric) unit of its own, or none.

    `inch` is the default of a table whose unit is the inch, in the unit that such a table has for `unit`.
    """
    own = None if inch is None else read_quantity(inch, unit, "in")
    return _declare("number", default, label, help, unit=unit, low=low, high=high, inch=own)


def count(default: int | None, label: str, help: str, low: int, high: int) -> Any:
    """A whole number; `default` may be None (left out)."""
    return _declare("count", default, label, help, low=low, high=high)


def flag(default: bool, label: str, help: str) -> Any:
    """Yes or no."""
    return _declare("flag", default, label, help)


def choice(default: Any, label: str, help: str, *, inch: str | None = None, **choices: str) -> Any:
    """One of a few words; keyword arguments are the words and their meanings.

    `inch` is the default of a table whose unit is the inch.
    """
    return _declare("choice", default, label, help, choices=tuple(choices.items()), inch=inch)


def text(default: Any, label: str, help: str, inch: str | None = None, longest: int | None = None) -> Any:
    """A short text; `inch` is the default of a table whose unit is the inch, `longest` its most characters where they
    are other than those of a name."""
    return _declare("text", default, label, help, inch=inch, high=longest)


def defaults_in(section: type, units: Units) -> dict[str, Any]:
    """Those defaults of a section (a dataclass) that a table of these units has and a millimeter table has not."""
    return {} if units == "mm" else _inch_defaults(section)


@cache
def _inch_defaults(section: type) -> dict[str, Any]:
    return {item.name: item.inch for item in parameters(section) if item.inch is not None}


@cache
def parameters(section: type) -> tuple[Parameter, ...]:
    """The declared parameters of a section (a dataclass), in order."""
    found = []
    for item in dataclasses.fields(section):
        declared = item.metadata.get("parameter")
        if declared is None:
            continue
        required = item.default is MISSING
        default = None if required else item.default
        optional = not required and default is None
        found.append(Parameter(item.name, default=default, required=required, optional=optional, **declared))
    return tuple(found)
