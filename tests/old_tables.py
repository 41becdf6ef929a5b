"""The examples as they were first worked out: for tests of geometry by hand, whatever the defaults are today.

Closed windows, slots chamfered by 3 mm and windows by 2, square noses, no strips, 8 mm of wood above the slots, ribs
flush with the openings beside them. `EXAMPLES` has the same names as the shipped ones.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Final

from addon.files.examples import Example

if TYPE_CHECKING:
    from addon.designs.table.parameters import Table

_DATA: Final = Path(__file__).resolve().parent / "data"

EXAMPLES: Final[dict[str, Example]] = {
    "quilting": Example("Quilting Table", "", _DATA / "old-quilting-table.toml"),
    "seed-bench": Example("Seed-Sorting Bench", "", _DATA / "old-seed-bench.toml"),
}


def old_quilting_table() -> Table:
    """The quilting table of that time."""
    return EXAMPLES["quilting"].table()
