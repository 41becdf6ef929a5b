"""From a table file's text to parts, objects, findings and slide proof, each remembered for the last few tables.

All of it follows from its input alone, so nothing here needs to be undone or saved.
"""

from __future__ import annotations

from collections import OrderedDict
from functools import lru_cache
from typing import Any

from ..check.apart.explosion import Explosion, coming_apart
from ..check.prepared import Prepared, prepare
from ..check.progress import Steps, share_of
from ..check.slide.proof import LeafProof, prove_leaves
from ..designs.findings import Report, SlideReport
from ..designs.table import build, design
from ..designs.table.figures import Figure, figures_from
from ..designs.table.parameters import Table
from ..files.editing import set_values, update_text
from ..files.table_file import parse_table
from ..files.writer import new_table_text
from ..paper.exploded_parts import Sight, explosion_in, gaps_for
from ..paper.views import VIEWS
from ..sizes.errors import DryAssemblyError
from ..wood.assembly import Assembly
from .description import TableObjects, describe

_REMEMBERED = 12


@lru_cache(maxsize=_REMEMBERED)
def table_of(text: str) -> Table:
    """The table in a text. Raises TableFileError."""
    return parse_table(text, "The table")


@lru_cache(maxsize=_REMEMBERED)
def changed_table(text: str, changes: tuple[tuple[str, Any], ...]) -> Table:
    """The table in a text with some values changed. Raises TableFileError."""
    table = table_of(text)
    return set_values(table, dict(changes)) if changes else table


def changed_text(text: str, changes: dict[str, Any]) -> str:
    """The text of a table file with some values changed, in today's format: in place where its layout lets us, or else
    written anew, so that no value is lost. Raises DryAssemblyError."""
    try:
        return update_text(text, changes, "The table")
    except DryAssemblyError:
        return new_table_text(changed_table(text, tuple(changes.items())))


@lru_cache(maxsize=_REMEMBERED)
def assembly_of(table: Table) -> Assembly:
    """Its parts. Raises DryAssemblyError."""
    return build(table)


@lru_cache(maxsize=_REMEMBERED)
def objects_of(table: Table) -> TableObjects:
    """Its objects. Raises DryAssemblyError."""
    return describe(assembly_of(table))


@lru_cache(maxsize=_REMEMBERED)
def prepared_of(table: Table) -> Prepared:
    """Its parts ready to be checked. Raises DryAssemblyError."""
    return prepare(assembly_of(table))


@lru_cache(maxsize=_REMEMBERED)
def report_of(table: Table) -> Report:
    """Its findings. Raises DryAssemblyError."""
    return design.check_prepared(table, prepared_of(table), proofs_of(table))


@lru_cache(maxsize=_REMEMBERED)
def proofs_of(table: Table) -> tuple[LeafProof, ...]:
    """The slide proof of its leaves. Raises DryAssemblyError."""
    return tuple(prove_leaves(prepared_of(table)))


_EXPLODED_GAP = 75.0
"""Gap between the parts of an exploded table as an isometric view shows it, mm."""


@lru_cache(maxsize=_REMEMBERED)
def explosion_of(table: Table, leaves: tuple[tuple[str, str, float], ...]) -> Explosion:
    """Its exploded view, parts far enough apart to be seen from above. Raises DryAssemblyError.

    Parameters
    ----------
    leaves : label, state (``cover``, ``sliding`` or ``stowed``) and travel, mm, of each leaf
    """
    assembly = assembly_of(table)
    places = {}
    for label, where, travel in leaves:
        if where == "cover":
            places[label] = assembly.cover[label]
        elif where == "sliding":
            home = assembly.by_label[label].placement
            places[label] = home.moved(assembly.path_of(label).offset_at(travel))
    order, axes = coming_apart(assembly, places), VIEWS["isometric"].axes
    return explosion_in(order, Sight(axes, order.units), gaps_for(axes, 1.0, _EXPLODED_GAP))


@lru_cache(maxsize=_REMEMBERED)
def figures_of(table: Table) -> tuple[Figure, ...]:
    """What comes of its parameters. Raises DryAssemblyError."""
    return figures_from(assembly_of(table), report_of(table))


_studies: OrderedDict[tuple[Table, bool], SlideReport] = OrderedDict()


def study_steps(table: Table, remedies: bool) -> Steps[SlideReport]:
    """All that is known of its leaves on their way, step by step; `remedies` take seconds. Raises DryAssemblyError."""
    known = _studies.get((table, remedies))
    if known is None:
        proofs = proofs_of(table)
        yield 0.05
        steps = design.study_steps(table, prepared_of(table), proofs, remedies=remedies)
        known = yield from share_of(steps, 0.05, 1.0)
    _studies[table, remedies] = known
    _studies.move_to_end((table, remedies))
    if len(_studies) > _REMEMBERED:
        _studies.popitem(last=False)
    return known
