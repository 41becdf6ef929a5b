"""The text beside the property of a length or a quantity, in which it is typed and shown (no bpy here).

Blender's own number fields read ``28-1/2`` as 27.5, ``28 1/2`` not at all, and show all lengths of a scene in one
unit. What is typed here is read as in a table file of the table's unit, and in the language of the labels. What does
not read, or lies outside the limits, leaves the value as it was, and the words why stay beside it until something right
is typed.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any, Final

from ...files.keys import Problem, read_value
from ...sizes.declare import Parameter
from ...sizes.quantities import format_quantity, unit_in
from ...sizes.typed import in_language, items_of, shown_length, shown_lengths, with_point
from ...sizes.units import TAPE, LengthError, Units, format_number, unit_of
from .values import GIVEN, PLACES, attribute, held_in, put, say, spelled

DEFAULT: Final = "default"
"""Typed, it gives the default back; Blender's Reset to Default Value types it."""


_SHORT: Final = 12
"""Digits of a quantity that somebody chose, at most."""


def text_of(group: Any, parameter: Parameter, units: Units, comma: bool) -> str:
    """What the field of a parameter shows; nothing where it is left out.

    Parameters
    ----------
    units : those of the table
    comma : whether decimals have a comma in the language of the labels
    """
    if parameter.optional and not getattr(group, parameter.name + GIVEN):
        return ""
    try:
        return _in_words(parameter, held_in(parameter, group, units), units, comma)
    except ValueError:  # a script has set what is no length
        return str(getattr(group, attribute(parameter)))


def type_in(group: Any, parameter: Parameter, text: str, units: Units, comma: bool) -> bool:
    """Takes what was typed into the field; whether that changed anything but the words beside it."""
    before = text_of(group, parameter, units, comma)
    words = " ".join(text.split())
    say(group, parameter)
    if words == before:
        return False
    read_as = ""
    if not words and parameter.optional:
        value = None
    elif words.lower() == DEFAULT and not parameter.required:
        value = parameter.default_in(units)
    else:
        try:
            value = read_typed(parameter, words, units, comma)
        except ValueError as error:
            say(group, parameter, refused=f"{error}.")
            return False
        read_as = _read_as(parameter, words, value, units, comma)
    take(group, parameter, value, units, read_as)
    return True


def take(group: Any, parameter: Parameter, value: Any, units: Units, read_as: str = "") -> None:
    """Gives a parameter a value, lengths in mm, or leaves it out (None); what was said beside it goes."""
    if parameter.optional:
        setattr(group, parameter.name + GIVEN, value is not None)
    if value is not None:
        put(group, parameter, value, units)
    say(group, parameter, read_as=read_as)


def read_typed(parameter: Parameter, text: str, units: Units, comma: bool) -> Any:
    """A length, a list of lengths (mm) or a metric quantity as typed.

    Raises
    ------
    ValueError
        Where it does not read or lies outside the limits: the text is a sentence, without its full stop.
    """
    if parameter.kind != "lengths":
        return _read(parameter, text, units, comma)
    one = replace(parameter, kind="length")
    return tuple(_read(one, item, units, comma) for item in items_of(text, comma))


def _read(parameter: Parameter, text: str, units: Units, comma: bool) -> float:
    """A length (mm) or a quantity as typed. Raises ValueError as `read_typed` does."""
    other: Units = "mm" if units == "in" else "in"
    try:
        plain = with_point(text, comma)
    except LengthError as error:
        raise ValueError(f"{text} {error.wrong}: {error.how}") from None
    try:
        mm: float = read_value(parameter, "", plain, units)
    except Problem as problem:
        meant = f", or write {text} {other}" if _is_meant(parameter, plain, other) else ""
        raise ValueError(f"{text or 'The field'} {problem.wrong}: {problem.use}{meant}") from None
    return mm


def _is_meant(parameter: Parameter, plain: str, other: Units) -> bool:
    """Whether a length without a unit lies within the limits in the other one."""
    if parameter.kind != "length":
        return False
    try:
        if unit_of(plain) is not None:
            return False
        read_value(parameter, "", plain, other)
    except (LengthError, Problem):
        return False
    return True


def _read_as(parameter: Parameter, text: str, value: Any, units: Units, comma: bool) -> str:
    """What was typed in another unit, and what it is in the table's."""
    if parameter.kind == "lengths":
        return ""
    if parameter.kind == "length":
        unit, own = unit_of(with_point(text, comma)), str(units)
        about = f"{format_number(value, units, TAPE)} {units}"
    else:
        unit, own = text.lstrip("-+0123456789., ") or None, unit_in(parameter.unit, units)
        about = in_language(format_quantity(value, parameter.unit, units), comma)
    if unit in (None, own):
        return ""
    shown = _in_words(parameter, value, units, comma)
    return f"{text} is {shown}" if shown.endswith(f" {own}") else f"{text} is about {about}"


def _in_words(parameter: Parameter, value: Any, units: Units, comma: bool) -> str:
    if parameter.kind == "lengths":
        return shown_lengths(value, units, comma)
    if parameter.kind == "length":
        return shown_length(value, units, comma)
    words = spelled(parameter, value, units)
    if len(words.split()[0]) > _SHORT:  # another unit had a hand in it
        words = spelled(parameter, round(value, PLACES), units)
    return in_language(words, comma)
