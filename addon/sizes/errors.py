"""What can be wrong with the user's input, as types. The edges (operators, command line) print `str(error)`."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Any

from .units import Units, format_amount


class DryAssemblyError(Exception):
    """Base of all errors that a user can mend; its text is one sentence: what, where, what to do.

    Parameters
    ----------
    text : the sentence; ``{name}`` stands in it for each of `lengths`
    lengths : in mm. They are said in the unit of `speaking`, by default mm: what is raised deep below knows no unit.
    """

    def __init__(self, text: str, **lengths: float) -> None:
        super().__init__(text)
        self.text = text
        self.lengths = lengths
        self.units: Units = "mm"

    def __str__(self) -> str:
        found = self.text
        for name, mm in self.lengths.items():
            found = found.replace(f"{{{name}}}", format_amount(mm, self.units))
        return found


@contextmanager
def speaking(units: Units) -> Iterator[None]:
    """While it lasts, errors say their lengths in this unit."""
    try:
        yield
    except DryAssemblyError as error:
        error.units = units
        raise


class TableFileError(DryAssemblyError):
    """A table file that cannot be read: file, key and the fix."""


class ParameterError(DryAssemblyError):
    """A parameter that cannot be built: its key, its value, what is allowed and why.

    Parameters
    ----------
    key : dotted key as in the table file, e.g. ``stow[1].offset``
    value : the offending value, in mm for lengths
    allowed : the allowed range or choice, in words
    reason : why, as a clause that follows "because"
    shown : the value in words; by default as it is
    named : the key in words, by default as it is: ``L2's offset``
    keys : of all values that the refusal is about, to be marked where they are typed; by default the one
    nearest : key → value with which it can be built, the nearest there is, lengths in mm; empty where nobody looked
    """

    def __init__(
        self,
        key: str,
        value: object,
        allowed: str,
        reason: str,
        shown: str | None = None,
        named: str | None = None,
        keys: tuple[str, ...] = (),
        nearest: Mapping[str, Any] | None = None,
    ) -> None:
        self.keys = keys or (key,)
        self.nearest: dict[str, Any] = dict(nearest or {})
        self.key = key
        self.value = value
        self.allowed = allowed
        self.reason = reason
        self.named = named or key
        self.shown = str(value) if shown is None else shown
        super().__init__(f"{self.named} = {self.shown} cannot be built: use {allowed}, because {reason}.")


class AsCutError(DryAssemblyError):
    """An `as_cut` entry that names no part, no dimension, or leaves a part that is none."""


class PartError(DryAssemblyError):
    """A part whose features run into each other or out of the board."""

    def of(self, label: str) -> PartError:
        """The same as a sentence about a part, or as a sentence of its own without a label."""
        first, rest = self.text[0], self.text[1:]
        text = f"{label}: {first.lower()}{rest}" if label else f"{first.upper()}{rest}"
        return PartError(text, **self.lengths)


class BoundsError(DryAssemblyError):
    """More than the program takes on: of what, how many at most."""


class ExportError(DryAssemblyError):
    """A file that cannot be written."""


class RowError(DryAssemblyError):
    """Bare numbers that make no sense: a row of openings that no leaf can have, parts that no sheet has."""
