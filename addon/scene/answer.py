"""The three lines of the answer, kept with each table: as drawn with the check, by hand right after it, then in the
shop step by step.

A few random tables give a first share at once; many give it for good when the hand rests. Until then the line says so.
"""

from __future__ import annotations

from typing import Final

from ..check.progress import Steps, run_through
from ..check.tolerance.shop import COUNT, FEW
from ..designs.findings import Drawn, Report
from ..designs.table.parameters import Table
from ..designs.words.answer import Lines, Told, told_as_drawn, told_of
from ..sizes.errors import DryAssemblyError
from . import access, built, findings, seeing
from .state.properties import DRY_ASSEMBLY_PG_table as TableState

REST: Final = 0.8
"""Pause after which the hand rests, and many random tables are made, s."""

_under_way: tuple[Table, int, Steps[Report]] | None = None


def store(state: TableState, report: Report, count: int) -> None:
    """Keeps the lines of a report, of the table and of its leaves.

    Parameters
    ----------
    count : of the random tables that it knows of; 0 for none
    """
    state.shop_count = count
    state.hand_waits = False
    _store_all(state, told_of(report, so_far=count < COUNT))


def store_drawn(state: TableState, drawn: Drawn) -> None:
    """Keeps the line as drawn; the other two are being worked out."""
    state.hand_waits = True
    _store_all(state, told_as_drawn(drawn))


def _store_all(state: TableState, told: Told) -> None:
    _store(state, told.table)
    for leaf in state.leaves:
        _store(leaf, told.leaves.get(leaf.name, ()))


def _store(owner: object, lines: Lines) -> None:
    kept = owner.answer  # type: ignore[attr-defined]
    while len(kept) > len(lines):
        kept.remove(len(kept) - 1)
    while len(kept) < len(lines):
        kept.add()
    for item, line in zip(kept, lines, strict=True):
        item.name, item.words, item.short, item.grade = line.name, line.words, line.short, line.grade


def outdate(state: TableState) -> None:
    """Notes that the parameters changed."""
    state.shop_count = 0


def hand_waits() -> bool:
    """Whether there are tables whose check is made, and of which it is not known yet how they go by hand."""
    return any(state.hand_waits for state in _waiting(FEW))


def hand_next() -> bool:
    """Works out how the first table that waits goes by hand, and keeps it; whether there are more."""
    for state in [one for one in _waiting(FEW) if one.hand_waits][:1]:
        try:
            hand_now(state)
        except DryAssemblyError as error:
            state.error = str(error)
    return hand_waits()


def hand_now(state: TableState) -> Report:
    """Works out how a table goes by hand, and keeps it where it waits for that. Raises DryAssemblyError."""
    report = built.report_of(access.table_in(state))
    if state.hand_waits:
        store(state, report, 0)
    return report


def answer_now(state: TableState, count: int = COUNT) -> Report:
    """Works the lines out with so many random tables, and keeps them. Raises DryAssemblyError."""
    report = run_through(built.answer_steps(access.table_in(state), count))
    _keep(state, report, count)
    return report


def _keep(state: TableState, report: Report, count: int) -> None:
    store(state, report, count)
    findings.store_answer(state, report, tried=False)
    seeing.put_back_if_gone(state)


def is_waiting(count: int) -> bool:
    """Whether there are tables whose check is made, and whose line in the shop knows of fewer random tables."""
    return bool(_waiting(count))


def answer_next(count: int) -> bool:
    """Makes one step, of less than a tenth of a second, of a line in the shop that waits; whether there are more."""
    global _under_way
    for state in _waiting(count)[:1]:
        try:
            table = access.table_in(state)
            if _under_way is None or _under_way[:2] != (table, count):
                _under_way = table, count, built.answer_steps(table, count)
            next(_under_way[2])
        except StopIteration as end:
            _under_way = None
            _keep(state, end.value, count)
        except DryAssemblyError as error:
            _under_way = None
            state.error = str(error)
    return is_waiting(count)


def few_next() -> bool:
    """A step toward a first share."""
    return answer_next(FEW)


def many_next() -> bool:
    """A step toward the share for good."""
    return answer_next(COUNT)


def _waiting(count: int) -> list[TableState]:
    return [
        state
        for state in access.all_tables()
        if state.shop_count < count and not state.out_of_date and not state.error
    ]
