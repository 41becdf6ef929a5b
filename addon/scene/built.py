"""From a table file's text to parts, objects, findings and slide proof, each remembered for the last few tables.

All of it follows from its input alone, so nothing here needs to be undone or saved.
"""

from __future__ import annotations

from collections import OrderedDict
from functools import lru_cache
from typing import Any, Final, TypeVar

from ..check.apart.explosion import Explosion, coming_apart
from ..check.prepared import Prepared, prepare
from ..check.progress import Steps, run_through, share_of
from ..check.slide.proof import LeafProof, prove_leaves
from ..check.tolerance.shop import COUNT, Shop
from ..designs import trying
from ..designs.checking import check_drawn, with_hand
from ..designs.findings import Drawn, Report, SlideReport
from ..designs.table import build, design
from ..designs.table.figures import Figure, figures_from
from ..designs.table.parameters import Table
from ..designs.words.answer import Told, told_of
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
    return with_hand(table, drawn_of(table), proofs_of(table))


@lru_cache(maxsize=_REMEMBERED)
def drawn_of(table: Table) -> Drawn:
    """What is known of it as drawn, before the slide proof. Raises DryAssemblyError."""
    return check_drawn(design.TABLE, table, prepared_of(table))


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


T = TypeVar("T")

_shops: Final[dict[int, Shop]] = {}
"""Number of random tables → what is known of the rows of leaves met until now."""

_results: Final[OrderedDict[tuple[str, Table, int], Any]] = OrderedDict()
"""What was worked out in steps: of what kind, of which table."""


def _once(kind: str, table: Table, which: int, steps: Steps[T]) -> Steps[T]:
    """What steps lead to, or what they led to when they were taken before."""
    key = kind, table, which
    known: T = _results[key] if key in _results else (yield from steps)
    _results[key] = known
    _results.move_to_end(key)
    if len(_results) > 3 * _REMEMBERED:
        _results.popitem(last=False)
    return known


def answer_steps(table: Table, count: int = COUNT) -> Steps[Report]:
    """Its whole answer, with so many random tables, step by step. Raises DryAssemblyError where it cannot be built."""
    return _once("answer", table, count, _answer_steps(table, count))


def _answer_steps(table: Table, count: int) -> Steps[Report]:
    report, proofs = report_of(table), proofs_of(table)
    yield 0.0
    shop = _shops.setdefault(count, Shop(count))
    return (
        yield from design.answer_steps(table, prepared_of(table), shop=shop, report=report, proofs=proofs)
    )


def told_steps(table: Table) -> Steps[Told]:
    """The three lines for what stands on a page, step by step. Raises DryAssemblyError where it cannot be built."""
    return told_of((yield from answer_steps(table)))


def told(table: Table) -> Told:
    """The same without a pause."""
    return run_through(told_steps(table))


def remedied_steps(table: Table) -> Steps[tuple[Report, SlideReport]]:
    """Its answer and what is known of its leaves on their way, with remedies that were tried, step by step.

    Raises DryAssemblyError where it cannot be built.
    """
    report = yield from share_of(answer_steps(table), 0.0, 0.1)
    trials = trying.remedy_steps(design.TABLE, table, prepared_of(table), report)
    report = yield from share_of(_once("remedied", table, 0, trials), 0.1, 0.6)
    study = yield from share_of(study_steps(table, remedies=True), 0.6, 1.0)
    return report, study


def study_steps(table: Table, remedies: bool) -> Steps[SlideReport]:
    """All that is known of its leaves on their way, step by step; `remedies` take seconds. Raises DryAssemblyError."""
    return _once("study", table, int(remedies), _study_steps(table, remedies))


def _study_steps(table: Table, remedies: bool) -> Steps[SlideReport]:
    proofs = proofs_of(table)
    yield 0.05
    report = report_of(table)
    steps = design.study_steps(table, prepared_of(table), proofs, remedies=remedies, report=report)
    return (yield from share_of(steps, 0.05, 1.0))
