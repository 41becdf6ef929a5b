"""The nearest value with which a table can be built, found by trying, in divisions of the maker's rule."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from math import ceil, floor
from typing import Any, Final

from ...sizes.declare import Parameter, parameters
from ...sizes.errors import DryAssemblyError, ParameterError
from ...sizes.tolerances import CONTACT
from ...sizes.units import division, format_given, rounded
from ..findings import Change
from .build import build
from .changes import changed, parameter_of
from .parameters import LISTS, SECTIONS, Table, key_in_words

MOST_AT_ONCE: Final = 4
"""How many values are changed at once at most, one after the other, until the table can be built."""

GROWS: Final = 1.3
"""How much farther each value that is tried lies from the one that cannot be built than the one before."""

PLACES_APART: Final = 8
"""Divisions of the rule between two places along a side that are tried: room between two leaves may be narrow."""

UNKNOWN: Final = "?"

OF_THE_LEAVES: Final = ("leaves.count", "leaves.direction")
"""What is tried where nothing at the refused key helps: it makes other leaves."""


def with_nearest(table: Table, error: ParameterError, good: Table | None = None) -> ParameterError:
    """A refusal that says the nearest values with which the table can be built, where there are such.

    Parameters
    ----------
    table : that cannot be built
    good : the last one that could: what was changed since is what is refused
    """
    own = [] if good is None else [key for key in differing(good, table) if _steps_of(table, key) is not None]
    keys = sorted(own, key=lambda key: key != error.key) or [error.key]
    nearest: dict[str, Any] = {}
    for key in dict.fromkeys([*keys, error.key, *OF_THE_LEAVES]):
        nearest = nearest_to(table, key) or (_as_it_was(table, good, key) if key in own else {})
        if nearest:
            keys = list(dict.fromkeys([key, *nearest, *keys]))
            break
    first = keys[0]
    words = " and ".join(
        f"{'' if key == first else key_in_words(key) + ' = '}{in_words(table, key, value)}"
        for key, value in nearest.items()
    )
    if first == error.key:
        allowed = f"{error.allowed} (nearest: {words})" if nearest else error.allowed
    else:
        beside = f"with {error.named} = {error.shown}"
        allowed = f"{words} {beside}" if nearest else f"another size {beside}, or that {error.allowed}"
    value = value_of(table, first)
    shown = error.shown if first == error.key else in_words(table, first, value)
    return ParameterError(
        first, error.value if first == error.key else value, allowed, error.reason, shown,
        key_in_words(first), tuple(keys), nearest,
    )  # fmt: skip


def _as_it_was(table: Table, good: Table | None, key: str) -> dict[str, Any]:
    """The value that a key had, if the table can be built with it; {} else. It need not be what the rule shows."""
    if good is None or _outcome(table, key, value_of(good, key)) != "":
        return {}
    return {key: value_of(good, key)}


def differing(before: Table, after: Table) -> list[str]:
    """Keys of the values in which two tables differ, in the file's order; of lists of the same length."""
    found = []
    for section, kind in {**SECTIONS, **LISTS}.items():
        old, new = getattr(before, section), getattr(after, section)
        pairs = [(section, old, new)]
        if section in LISTS:
            pairs = [(f"{section}[{n}]", *pair) for n, pair in enumerate(zip(old, new, strict=False))]
        for start, one, other in pairs:
            names = (item.name for item in parameters(kind))
            found += [f"{start}.{name}" for name in names if getattr(one, name) != getattr(other, name)]
    return found


def value_of(table: Table, key: str) -> Any:
    """The value at a key, lengths in mm. Raises IndexError for an entry that is not there."""
    section, index, name, _ = parameter_of(key)
    home = getattr(table, section)
    return getattr(home if index is None else home[index], name)


def in_words(table: Table, key: str, value: object) -> str:
    """A value as people are told of it."""
    if value is None:
        return "none, left out"
    if parameter_of(key)[3].kind == "lengths" and isinstance(value, tuple):
        return "[" + ", ".join(format_given(one, table.units) for one in value) + "]"
    if parameter_of(key)[3].kind == "length" and isinstance(value, int | float):
        return format_given(float(value), table.units)
    if isinstance(value, bool):
        return "true" if value else "false"
    return str(value)


def refusal_of(table: Table) -> ParameterError | DryAssemblyError | None:
    """Why a table cannot be built; None where it can."""
    try:
        build(table)
    except DryAssemblyError as error:
        return error
    return None


def nearest_to(table: Table, key: str, known: frozenset[str] = frozenset()) -> dict[str, Any] | None:
    """Values with which the table can be built: the nearest one at a key, and others where that is not enough.

    Parameters
    ----------
    known : keys that are changed already
    """
    tried: dict[Any, str] = {}

    def outcome(value: Any) -> str:
        if value not in tried:
            tried[value] = _outcome(table, key, value)
        return tried[value]

    for enough in (
        lambda value: outcome(value) == "",
        lambda value: outcome(value) not in {key, UNKNOWN, *known},
    ):
        found = _nearest_value(table, key, enough)
        if found is None:
            continue
        if outcome(found) == "":
            return {key: found}
        if len(known) + 1 == MOST_AT_ONCE:
            return None
        more = nearest_to(_with(table, key, found), outcome(found), known | {key})
        if more is not None:
            return {key: found, **more}
    return None


def _with(table: Table, key: str, value: Any) -> Table:
    return changed(table, (Change(key, value),))


def _outcome(table: Table, key: str, value: Any) -> str:
    """The key of what cannot be built with a value; "" where all can."""
    try:
        build(_with(table, key, value))
    except ParameterError as error:
        return error.key
    except DryAssemblyError:
        return UNKNOWN
    return ""


def _steps_of(table: Table, key: str) -> tuple[Parameter, float] | None:
    """The declaration behind a key and the step in which it is tried; None where there is nothing to try."""
    section, index, _, declared = parameter_of(key)
    if index is not None and index >= len(getattr(table, section)):
        return None
    if declared.kind == "count":
        return declared, 1.0
    if declared.kind in ("length", "lengths"):
        return declared, table.limits.rule_division
    return (declared, 0.0) if declared.kind in ("choice", "flag") else None


def _nearest_value(table: Table, key: str, enough: Callable[[Any], bool]) -> Any:
    found = _steps_of(table, key)
    if found is None:
        return None
    declared, step = found
    now = value_of(table, key)
    if declared.kind in ("choice", "flag"):
        words = [word for word, _ in declared.choices] or [True, False]
        return next((word for word in words if word != now and enough(word)), None)
    if declared.kind == "lengths":
        return _nearest_lengths(table, declared, step, now or (), enough)
    if now is None:
        return None
    if declared.name == "offset":
        return _search(float(now), step, _along(table, declared), enough, _on_the_rule(table), PLACES_APART)
    return _search(
        float(now), step, declared, enough, int if declared.kind == "count" else _on_the_rule(table)
    )


def _nearest_lengths(
    table: Table, declared: Parameter, step: float, now: tuple[float, ...], enough: Callable[[Any], bool]
) -> tuple[float, ...] | None:
    """A list in which one length is another, the one that has the shortest way to go."""
    within = _along(table, declared)
    found = []
    for index, length in enumerate(now):

        def moved(value: float, index: int = index) -> tuple[float, ...]:
            return (*now[:index], value, *now[index + 1 :])

        value = _search(
            length,
            step,
            within,
            lambda value, moved=moved: enough(moved(value)),
            _on_the_rule(table),
            PLACES_APART,
        )
        if value is not None:
            found.append((abs(value - length), moved(value)))
    return min(found)[1] if found else None


def _along(table: Table, declared: Parameter) -> Parameter:
    """A length from the middle of the table, within its longer side."""
    half = max(table.table.length, table.table.width) / 2
    return replace(declared, low=-half, high=half)


def _on_the_rule(table: Table) -> Callable[[int], float]:
    """The lengths that the maker's rule shows, by number, mm."""
    units, reading = table.units, division(table.limits.rule_division)
    step = table.limits.rule_division
    return lambda number: rounded(number * step, units, reading, "nearest")


def _search(
    now: float,
    step: float,
    declared: Parameter,
    enough: Callable[[Any], bool],
    value_at: Callable[[int], Any],
    apart: int | None = None,
) -> Any:
    """The value nearest to `now` that is enough, a multiple of the step within what is declared.

    Parameters
    ----------
    apart : how many steps are left out at most between two values that are tried
    """
    low = ceil((declared.low or 0.0) / step - CONTACT)
    high = floor((declared.high if declared.high is not None else now) / step + CONTACT)

    def good(number: int) -> bool:
        return enough(value_at(number))

    best: int | None = None
    for sign in (-1, 1):
        limit = low if sign < 0 else high
        start = (ceil(now / step - CONTACT) if sign < 0 else floor(now / step + CONTACT)) + sign
        start = min(start, high) if sign < 0 else max(start, low)
        last = start - sign
        for number in _farther(start, limit, sign, apart):
            if best is not None and abs(number * step - now) >= abs(best * step - now):
                break
            if good(number):
                best = _boundary(last, number, good)
                break
            last = number
    return None if best is None else value_at(best)


def _farther(start: int, limit: int, sign: int, apart: int | None) -> Iterator[int]:
    """Numbers from the first one on to the limit, ever farther apart; none where the limit is behind."""
    reach = 0
    while sign * (start + sign * reach) < sign * limit:
        yield start + sign * reach
        farther = max(reach + 1, int(reach * GROWS))
        reach = farther if apart is None else min(farther, reach + apart)
    if sign * start <= sign * limit:
        yield limit


def _boundary(bad: int, good: int, is_good: Callable[[int], bool]) -> int:
    """The last number that is good on the way from a good to a bad one, by halves."""
    while abs(good - bad) > 1:
        middle = (good + bad) // 2
        if is_good(middle):
            good = middle
        else:
            bad = middle
    return good
