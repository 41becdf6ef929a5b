"""In which figures variants differ, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from ...model.declare import Parameter
from ...model.table_changes import plain_values
from ...model.table_keys import parameter_of
from ...model.units import format_amount, format_length, format_size

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from ...fit.figures import Figure
    from ...model.units import Units
    from .variants import Variant

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
        if len(set(texts)) > 1:
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
    section = key.partition(".")[0].replace("_", " ").replace("[", " ").replace("]", "")
    head, _, number = section.partition(" ")
    place = f"{head} {int(number) + 1}" if number.isdigit() else section
    return f"{place.capitalize()}: {parameter.label[:1].lower()}{parameter.label[1:]}"


def _shown(parameter: Parameter, value: Any, units: Units) -> str:
    if value is None:
        return NONE
    if parameter.kind == "length":
        return format_size(value, units)
    if parameter.kind == "lengths":
        return f"{', '.join(format_length(one, units) for one in value)} {units}"
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
        return format_size(round(figure.value, 3), units)
    if figure.kind == "area":
        return f"{figure.value:.2f} m²" if units == "mm" else f"{figure.value / 0.3048**2:.1f} sq ft"
    return f"{figure.value:.1f} kg" if units == "mm" else f"{figure.value / 0.45359237:.1f} lb"
