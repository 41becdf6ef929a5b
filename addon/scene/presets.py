"""Presets: whole sets of sizes under a name. Some come with the extension; the user's own are table files in
Blender's folder for presets, where they stay when the extension is renewed."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Final

import bpy
from bpy.types import Scene

from ..files.examples import EXAMPLES
from ..files.saving import save_text
from ..files.table_file import parse_table, read_text
from ..files.writer import new_table_text
from ..sizes.errors import ExportError
from . import access, built, tables
from .state.properties import DRY_ASSEMBLY_PG_table as TableState

_ENDING: Final = ".toml"

_NO_FILE_NAME: Final = re.compile(
    r'[<>:"/\\|?*\x00-\x1f]|^\.|\.$|^(con|prn|aux|nul|com\d|lpt\d)$', re.IGNORECASE
)
"""What file systems do not take as the name of a file."""


@dataclass(frozen=True)
class Preset:
    """A preset that comes with the extension."""

    label: str
    intro: str
    path: Path

    def text(self) -> str:
        """The text of a table file, with all explanations."""
        return _explained(self.path, self.intro)


BUILTIN: Final[dict[str, Preset]] = {
    **{name: Preset(one.label, one.intro, one.path) for name, one in EXAMPLES.items()},
    "hemming": Preset(
        "Hemming Table",
        "A small table for hems beside the sewing machine. Two leaves cover it; they stow one above the other, one"
        " from the front and one from the back.",
        EXAMPLES["quilting"].path.with_name("hemming-table.toml"),
    ),
}
"""Presets of the extension, by their keys."""


@lru_cache(maxsize=8)
def _explained(path: Path, intro: str) -> str:
    text = read_text(path)
    return text if "#" in text else new_table_text(parse_table(text, path.name), intro)


def folder() -> Path:
    """Where the user's own presets are."""
    return Path(bpy.utils.user_resource("SCRIPTS", path="presets")) / "dry_assembly"


def own() -> list[str]:
    """Names of the user's own presets."""
    return sorted((path.stem for path in folder().glob(f"*{_ENDING}")), key=str.casefold)


def own_text(name: str) -> str:
    """The text of one of them. Raises TableFileError where its file is gone or cannot be read."""
    return read_text(_path(name))


def is_taken(name: str) -> bool:
    """Whether a preset has that name, in small letters or large."""
    names = [*own(), *(preset.label for preset in BUILTIN.values())]
    return name.strip().casefold() in [one.casefold() for one in names]


def save(state: TableState, name: str) -> Path:
    """Keeps a table's sizes under a name: all that its file holds but the sizes of parts as cut.

    Raises
    ------
    DryAssemblyError
        Where the table cannot be built, the name is no name for a file or is taken, or the file cannot be written.
    """
    name = name.strip()
    if not name or _NO_FILE_NAME.search(name):
        raise ExportError(f"'{name}' cannot name a preset: use letters, figures and blanks.")
    if is_taken(name):
        raise ExportError(f"There is a preset '{name}' already: use another name, or remove your own first.")
    tables.settle(state)
    own = built.table_of(state.text)
    lists = {"as_cut": own.as_cut, "accepted": own.accepted}
    gone = {f"{name}[{number}]": None for name, entries in lists.items() for number in range(len(entries))}
    changes = {"name": name, **gone}
    path = _path(name)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise ExportError(f"The folder {path.parent} cannot be made: {error.strerror}.") from error
    save_text(path, built.changed_text(state.text, changes))
    return path


def remove(name: str) -> None:
    """Removes one of the user's own presets. Raises ExportError where it cannot be."""
    try:
        _path(name).unlink()
    except FileNotFoundError:
        raise ExportError(f"There is no preset '{name}'.") from None
    except OSError as error:
        raise ExportError(f"The preset '{name}' cannot be removed: {error.strerror}.") from error


def apply(scene: Scene, text: str, name: str) -> TableState:
    """Gives the active table the sizes of a preset; its own name stays. Without a table it makes one.

    Parameters
    ----------
    name : of the preset, for messages

    Raises
    ------
    DryAssemblyError
        Where the preset holds no table that can be built; nothing is changed.
    """
    table = parse_table(text, f"The preset '{name}'")
    state = access.active_in(scene)
    if state is None:
        return tables.create_table(scene, text)
    built.objects_of(table)
    tables.set_text(state, built.changed_text(text, {"name": state.parameters.title}))
    tables.settle(state)
    return state


def _path(name: str) -> Path:
    return folder() / f"{name}{_ENDING}"
