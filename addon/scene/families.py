"""Tables that are variants of one another, and the figures in which they differ."""

from __future__ import annotations

from bpy.types import Scene

from ..reports.variants import FEWEST, Variant, differences
from ..sizes.errors import DryAssemblyError
from . import access, built
from .state.properties import DRY_ASSEMBLY_PG_table as TableState


def family_of(state: TableState) -> list[TableState]:
    """A table and its variants in the order in which they were made; [] where it has none."""
    return _members(access.scene_of(state), state.family)


def variants_in(members: list[TableState]) -> list[Variant]:
    """Tables as variants. Raises DryAssemblyError where one cannot be built."""
    found = [(state.name, access.table_in(state)) for state in members]
    return [Variant(name, table, built.assembly_of(table), built.figures_of(table)) for name, table in found]


def refresh_figures(state: TableState) -> None:
    """After the check of a table: works out anew in what it and its variants differ."""
    refresh_family(access.scene_of(state), state.family)


def refresh_family(scene: Scene, family: str) -> None:
    """The same, by what they share; what is left alone is no variant any more.

    Where one of them cannot be built, all stays as it was.
    """
    members = _members(scene, family)
    if len(members) < FEWEST:
        for state in members:
            state.family = ""
            state.figures.clear()
        return
    try:
        rows = differences(variants_in(members))
    except DryAssemblyError:
        return
    for number, state in enumerate(members):
        state.figures.clear()
        for row in rows:
            figure = state.figures.add()
            figure.name, figure.words = row.name, row.values[number]


def _members(scene: Scene, family: str) -> list[TableState]:
    return [state for state in access.tables_in(scene) if family and state.family == family]
