"""Tables with sizes of their own, for tests of geometry that are worked out by hand, whatever the defaults are."""

from __future__ import annotations

from pathlib import Path

from addon.designs.table.parameters import Table
from addon.files.table_file import read_table

_DATA = Path(__file__).parent / "data"


def old_quilting_table() -> Table:
    """The quilting table as it was first worked out: 3 mm slot chamfers, 2 mm window chamfers, closed windows, no
    strips, square noses, 60 mm legs, 8 mm of wood above the slots."""
    return read_table(_DATA / "old-quilting-table.toml")
