"""Where a table's parameters cannot be built: what else has to change with them, or why not and what can be."""

from __future__ import annotations

import json

from ..designs.table.adapting import refusal, runs_into_legs
from ..designs.table.nearest import in_words
from ..files.editing import adapted
from ..sizes.errors import DryAssemblyError, ParameterError
from . import built
from .access import table_in
from .state import values
from .state.properties import DRY_ASSEMBLY_PG_table as TableState


def adaptation(state: TableState) -> tuple[str, str] | None:
    """The text that a table's changed parameters ask for, and what else changed in words; None where nothing has to.

    A table that can be built stays as it is, but where leaves would run into its legs.
    """
    try:
        table = table_in(state)
        built.assembly_of(table)
    except DryAssemblyError:
        pass
    else:
        if not runs_into_legs(table):
            return None
    try:
        changed = values.changes(state.parameters, built.table_of(state.text))
        text, notes = adapted(state.text, changed, "The table")
    except (ValueError, DryAssemblyError):
        return None
    return (text, as_sentences(notes)) if notes else None


def as_sentences(notes: tuple[str, ...]) -> str:
    """What changed, as sentences."""
    return " ".join(f"{note[0].upper()}{note[1:]}." for note in notes)


def refuse(state: TableState, error: DryAssemblyError) -> None:
    """Keeps why a table cannot be built: the sentence, the values at fault, and the nearest of each that can be."""
    state.refusals.clear()
    if isinstance(error, ParameterError):
        error = _with_nearest(state, error)
        table = table_in(state)
        for key in error.keys:
            item = state.refusals.add()
            item.name = key
            if key in error.nearest:
                item.value = json.dumps(error.nearest[key])
                item.words = in_words(table, key, error.nearest[key])
    state.error = str(error)


def _with_nearest(state: TableState, error: ParameterError) -> ParameterError:
    """A refusal with the nearest values that can be built, of what was changed since the table's text was written."""
    return refusal(table_in(state), error, built.table_of(state.text))
