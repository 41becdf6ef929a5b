"""Matrices of changed quilting tables."""

from __future__ import annotations

from typing import TYPE_CHECKING

from addon.check.matrix import leaf_matrix
from addon.check.prepared import prepare
from addon.designs.table import build
from addon.files.editing import set_values
from tests.old_tables import EXAMPLES

if TYPE_CHECKING:
    from addon.check.matrix import Matrix
    from addon.check.prepared import Prepared
    from addon.designs.table.parameters import Table
    from addon.files.editing import Changes

QUILTING = EXAMPLES["quilting"].table()


def cut(number: int, part: str, dimension: str, deviation: float, end: str | None = None) -> Changes:
    """Changes that add one `as_cut` entry."""
    entry = {"part": part, "dimension": dimension, "deviation": deviation, "end": end}
    return {f"as_cut[{number}].{name}": value for name, value in entry.items() if value is not None}


def worked_out(changes: Changes, table: Table = QUILTING) -> tuple[Matrix, Prepared, Table]:
    """The matrix of a changed table."""
    table = set_values(table, changes)
    prepared = prepare(build(table))
    return leaf_matrix(prepared), prepared, table
