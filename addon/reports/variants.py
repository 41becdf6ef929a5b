"""Variants of a table: sets of its sizes to compare, and the figures in which they differ, in words and as JSON."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final, NamedTuple

from ..designs.table import build
from ..designs.table.figures import Figure, figures_of
from ..designs.table.parameters import Table
from ..files.editing import plain_values, set_values
from ..files.keys import Problem, parameter_of, parse_key, read_value
from ..files.saving import plain
from ..files.table_file import parse_toml
from ..sizes.declare import Parameter
from ..sizes.errors import TableFileError
from ..sizes.quantities import format_quantity
from ..sizes.units import Units, format_amount, format_given, format_size
from ..sizes.words import capital
from ..wood.assembly import Assembly

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
                f"'{text}' is no variant; write it like \"Deep well: well.depth=60, legs.width=55\"."
            )
        changes[key] = _value(key, value, table.units)
    return name or body.strip(), changes


def _value(key: str, text: str, units: Units) -> object:
    """A value as it would stand in a table file, in quotes or not; lengths in mm."""
    try:
        value = parse_toml(f"value = {text}", "the variant")["value"]
    except TableFileError:
        value = text
    parameter = parameter_of(key)
    if parameter.kind in ("length", "number"):
        try:
            return read_value(parameter, key, value, units)
        except Problem:  # what is wrong with it is said by the reader of tables
            plain = isinstance(value, int | float) and parameter.kind == "length"
            return f"{value} {units}" if plain else value
    return value


NONE = "–"
"""For a figure that a variant does not have."""


class Difference(NamedTuple):
    """A figure that is not the same in all variants.

    Parameters
    ----------
    name : of the figure
    values : one a variant, in words with the unit
    key : of the table file, where it is a parameter; else ""
    """

    name: str
    values: tuple[str, ...]
    key: str = ""


def differences(variants: Sequence[Variant]) -> list[Difference]:
    """The parameters that differ, then what comes of them; lengths in the unit of the first table."""
    units = variants[0].table.units
    return [*_parameters(variants, units), *_figures(variants, units)]


def _parameters(variants: Sequence[Variant], units: Units) -> Iterator[Difference]:
    flat = [dict(_flat(plain_values(variant.table))) for variant in variants]
    for key in dict.fromkeys(key for values in flat for key in values):
        if key in ("name", "units"):
            continue
        parameter = parameter_of(key)
        texts = tuple(_shown(parameter, values.get(key), units) for values in flat)
        # An entry that only one variant has says what is special about it.
        said = {values[key] for values in flat if key in values} - {parameter.default}
        if len(set(texts)) > 1 and said:
            yield Difference(_name(key, parameter), texts, key)


def _flat(raw: dict[str, Any]) -> Iterator[tuple[str, Any]]:
    """Dotted key and value of everything in a table."""
    for name, value in raw.items():
        if isinstance(value, dict):
            yield from ((f"{name}.{inner}", one) for inner, one in value.items())
        elif isinstance(value, list | tuple):
            for number, entry in enumerate(value):
                yield from ((f"{name}[{number}].{inner}", one) for inner, one in entry.items())
        else:
            yield name, value


def _name(key: str, parameter: Parameter) -> str:
    own = parse_key(key)
    entry = "" if own.index is None else f" {own.index + 1}"
    section = own.section or own.name
    return f"{capital(section.replace('_', ' '))}{entry}: {parameter.label[:1].lower()}{parameter.label[1:]}"


def _shown(parameter: Parameter, value: Any, units: Units) -> str:
    if value is None:
        return NONE
    if parameter.kind == "length":
        return format_given(value, units)
    if parameter.kind == "lengths":
        return ", ".join(format_given(one, units) for one in value) or NONE
    if parameter.kind == "number":
        return format_quantity(value, parameter.unit, units)
    if parameter.kind == "flag":
        return "yes" if value else "no"
    return f"{value} {parameter.unit}".strip()


def _figures(variants: Sequence[Variant], units: Units) -> Iterator[Difference]:
    by_name = [{figure.name: figure for figure in variant.figures} for variant in variants]
    for name in dict.fromkeys(name for figures in by_name for name in figures):
        texts = tuple(figure_text(figures[name], units) if name in figures else NONE for figures in by_name)
        if len(set(texts)) > 1:
            yield Difference(name, texts)


def figure_text(figure: Figure, units: Units) -> str:
    """A figure with its unit; areas and masses in those that go with the table's."""
    if isinstance(figure.value, str):
        return figure.value
    if figure.kind == "amount":
        return format_amount(figure.value, units)
    if figure.kind == "length":
        return format_size(figure.value, units)
    return format_quantity(figure.value, "m²" if figure.kind == "area" else "kg", units)


def comparison_text(variants: Sequence[Variant]) -> str:
    """A column a variant, a line a figure that differs."""
    rows = differences(variants)
    table = [("", *(variant.name for variant in variants)), *((row.name, *row.values) for row in rows)]
    widths = [max(len(row[column]) for row in table) for column in range(len(variants) + 1)]
    lines = [
        "  ".join(
            [row[0].ljust(widths[0]), *(word.rjust(w) for word, w in zip(row[1:], widths[1:], strict=True))]
        )
        for row in table
    ]
    lines.insert(1, "-" * len(lines[0]))
    return "\n".join([variants[0].table.name, "", *lines])


def comparison_document(variants: Sequence[Variant]) -> dict[str, Any]:
    """Plain data for JSON.

    `differences` holds what differs in words, parameters with their `key`; `variants` all figures of each: lengths in
    mm, areas in m², masses in kg.
    """
    return plain(
        {
            "table": variants[0].table.name,
            "differences": [
                {"name": row.name, "key": row.key or None, "values": list(row.values)}
                for row in differences(variants)
            ],
            "variants": [
                {
                    "name": variant.name,
                    "figures": {figure.name: figure.value for figure in variant.figures},
                }
                for variant in variants
            ],
        }
    )
