"""What can be wrong with the user's input, as types. The edges (operators, command line) print `str(error)`."""

from __future__ import annotations


class DryAssemblyError(Exception):
    """Base of all errors that a user can mend; its text is one sentence: what, where, what to do."""


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
    """

    def __init__(self, key: str, value: object, allowed: str, reason: str, shown: str | None = None) -> None:
        self.key = key
        self.value = value
        self.allowed = allowed
        self.reason = reason
        shown = str(value) if shown is None else shown
        super().__init__(f"{key} = {shown} cannot be built: use {allowed}, because {reason}.")


class AsCutError(DryAssemblyError):
    """An `as_cut` entry that names no part, no dimension, or leaves a part that is none."""


class PartError(DryAssemblyError):
    """A part whose features run into each other or out of the board."""


class BoundsError(DryAssemblyError):
    """More than the program takes on: of what, how many at most."""


class ExportError(DryAssemblyError):
    """A file that cannot be written."""


class RowError(DryAssemblyError):
    """A row of openings, given as bare numbers, that no leaf and no board can have."""
