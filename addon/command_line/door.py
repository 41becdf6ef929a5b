"""The one way in and out: every subcommand reads its file here, so that all refuse alike, in the same words."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING, Any

from ..files.reading import read_text
from ..files.table_file import parse_table

if TYPE_CHECKING:
    from pathlib import Path

    from ..designs.table.parameters import Table
    from ..wood.assembly import Assembly


def open_table(path: Path, text: str | None = None) -> tuple[Table, Assembly]:
    """The table of a file and its parts, each of which can be cut.

    Parameters
    ----------
    text : the file's, where it was read already

    Raises
    ------
    DryAssemblyError : where the file cannot be read, holds no valid table, or one that cannot be built
    """
    from ..designs.table import build

    table = parse_table(read_text(path) if text is None else text, path.name)
    return table, build(table)


def open_text(path: Path) -> str:
    """The text of such a file, for those who build the table again in Blender. Raises as `open_table` does."""
    text = read_text(path)
    open_table(path, text)
    return text


@dataclass(frozen=True)
class Outcome:
    """What a subcommand has to say: a document for `--json`, a text for the screen, the exit status."""

    document: dict[str, Any] | list[dict[str, Any]]
    text: str = ""
    status: int = field(default=0)


def today() -> str:
    """The date for title blocks."""
    return date.today().isoformat()
