"""Variants of a table: the same with some of its parameters changed."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from ...fit.figures import figures_of
from ...model.errors import TableFileError
from ...model.recipe import build
from ...model.table_changes import set_values
from ...model.table_file import parse_toml
from ...model.table_keys import parameter_of
from ...model.units import parse_length

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ...fit.figures import Figure
    from ...model.assembly import Assembly
    from ...model.parameters import Table
    from ...model.units import Units

FEWEST: Final = 2
MOST: Final = 4
"""Variants that stand beside each other, the table itself among them."""

_BETWEEN: Final = re.compile(r",(?=\s*[\w.\[\]]+\s*=)")
"""Commas before a key, not those of a list."""

AS_IT_IS: Final = "As it is"


@dataclass(frozen=True, eq=False)
class Variant:
    """A set of sizes, and what comes of it."""

    name: str
    table: Table
    assembly: Assembly
    figures: tuple[Figure, ...]


def variant_of(name: str, table: Table) -> Variant:
    """A variant with its parts and figures.

    Raises
    ------
    ParameterError, AsCutError, PartError : for what cannot be built
    """
    assembly = build(table)
    return Variant(name, table, assembly, figures_of(table, assembly))


def variants_of(table: Table, texts: Sequence[str]) -> list[Variant]:
    """A table as it is, and one variant a text.

    Parameters
    ----------
    texts : ``name: key=value, key=value``, or without the name; values as in a table file, lengths in the table's unit

    Raises
    ------
    TableFileError : where a text says nothing, a key or a value is wrong, or there are too few or too many
    ParameterError, PartError : for what cannot be built
    """
    if not FEWEST <= 1 + len(texts) <= MOST:
        raise TableFileError(
            f"{len(texts)} variants cannot stand beside the table; give {FEWEST - 1} to {MOST - 1} of them."
        )
    found = [variant_of(AS_IT_IS, table)]
    for text in texts:
        name, changes = _read(text, table)
        found.append(variant_of(name, set_values(table, changes)))
    return found


def _read(text: str, table: Table) -> tuple[str, dict[str, object]]:
    """Name and changes that a text asks for."""
    before, colon, after = text.partition(":")
    name, body = (before.strip(), after) if colon and "=" not in before else ("", text)
    changes: dict[str, object] = {}
    for word in _BETWEEN.split(body):
        key, equals, value = (piece.strip() for piece in word.partition("="))
        if not equals or not key or not value:
            raise TableFileError(
                f"'{text}' is no variant; write it like \"Wide legs: legs.width=80, well.depth=60\"."
            )
        changes[key] = _value(key, value, table.units)
    return name or body.strip(), changes


def _value(key: str, text: str, units: Units) -> object:
    """A value as it would stand in a table file, in quotes or not; lengths in mm."""
    try:
        value = parse_toml(f"value = {text}", "the variant")["value"]
    except TableFileError:
        value = text
    if parameter_of(key).kind == "length":
        try:
            return parse_length(value, units)
        except ValueError:
            return value  # what is wrong with it is said by the reader of tables
    return value
