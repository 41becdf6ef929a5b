"""What the fields of an `as_cut` entry suggest: the parts of its table, the dimensions and the leaves of its part."""

from __future__ import annotations

from dataclasses import replace

from bpy.types import Context, PropertyGroup

from ...sizes.errors import DryAssemblyError
from ...wood.dimensions import names_of
from ...wood.part import Part
from .. import access, built

Suggested = list[tuple[str, str]]


def parts(entry: PropertyGroup, _context: Context, _typed: str) -> Suggested:
    """Labels and names of all parts."""
    return [(part.label, part.name) for part in _parts(entry)]


def dimensions(entry: PropertyGroup, _context: Context, _typed: str) -> Suggested:
    """Names of all dimensions that the entry's part has, as drawn, and what they are."""
    own = [part for part in _parts(entry) if part.label == getattr(entry, "part", "")]
    return [named for part in own for named in names_of(part).items()]


def leaves(entry: PropertyGroup, _context: Context, _typed: str) -> Suggested:
    """Labels of the leaves whose slots or windows are in the entry's part."""
    own = [part for part in _parts(entry) if part.label == getattr(entry, "part", "")]
    return [(one.leaf, one.word) for part in own for one in part.shape.openings if one.leaf]


def _parts(entry: PropertyGroup) -> tuple[Part, ...]:
    """The parts of the entry's table as drawn; none where it cannot be built."""
    try:
        table = built.table_of(access.owner(entry).text)
        return built.assembly_of(replace(table, as_cut=())).parts
    except DryAssemblyError:
        return ()
