"""The two tables that come with the extension, as table files beside the code."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Final

from ..designs.table.parameters import Table
from .saving import save_text
from .table_file import read_table, read_text
from .writer import new_table_text


@dataclass(frozen=True)
class Example:
    """A table file that comes with the extension."""

    label: str
    intro: str
    path: Path

    def text(self) -> str:
        """Its text."""
        return read_text(self.path)

    def table(self) -> Table:
        """Its table."""
        return read_table(self.path)


_FOLDER: Final = Path(__file__).resolve().parent.parent / "examples"

EXAMPLES: Final[dict[str, Example]] = {
    "quilting": Example(
        "Quilting Table",
        "A sewing studio keeps a half-pinned quilt on the lower surface. Four leaves cover it; they stow "
        "below it, two through the long sides in the upper tier and two through the short sides in the lower "
        "tier.",
        _FOLDER / "quilting-table.toml",
    ),
    "seed-bench": Example(
        "Seed-Sorting Bench",
        "Seed lots wait in the well while others are sorted on top. Two leaves cover the middle of the bench "
        "and stow through its front; fixed boards cover the ends.",
        _FOLDER / "seed-bench.toml",
    ),
}
"""Examples by the name that `new --example` takes."""


def renew() -> None:
    """Write the examples' files again after a change of a declaration: same values, today's explanations."""
    for example in EXAMPLES.values():
        save_text(example.path, new_table_text(example.table(), example.intro))


if __name__ == "__main__":
    renew()
