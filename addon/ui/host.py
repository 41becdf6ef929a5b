"""What Blender itself asks an extension for: help links, here into the reference, and files dropped into the window."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import bpy
from bpy.types import Context, FileHandler


class DRY_ASSEMBLY_FH_table(FileHandler):
    """A table file that is dropped into a 3D view is opened."""

    bl_idname = "DRY_ASSEMBLY_FH_table"
    bl_label = "Table File"
    bl_import_operator = "dry_assembly.open_table"
    bl_file_extensions = ".toml"

    @classmethod
    def poll_drop(cls, context: Context) -> bool:
        """In a 3D view."""
        return context.area is not None and context.area.type == "VIEW_3D"


REFERENCE: Final = Path(__file__).parent.parent / "reference"
"""What the help links lead to."""

_HELP: Final = (
    ("bpy.ops.dry_assembly.*tolerances*", "how-it-judges.md"),
    ("bpy.ops.dry_assembly.*slid*", "how-it-judges.md"),
    ("bpy.ops.dry_assembly.*remed*", "how-it-judges.md"),
    ("bpy.ops.dry_assembly.*", "command-line.md"),
    ("bpy.types.dry_assembly_pg_*", "table-file.md"),
)
"""What is asked about, in small letters → the page of the reference. The first that fits counts."""


def _help_links() -> tuple[str, tuple[tuple[str, str], ...]]:
    return REFERENCE.as_uri() + "/", _HELP


def register() -> None:
    """Adds both."""
    bpy.utils.register_class(DRY_ASSEMBLY_FH_table)
    bpy.utils.register_manual_map(_help_links)


def unregister() -> None:
    """Takes them away."""
    bpy.utils.unregister_manual_map(_help_links)
    bpy.utils.unregister_class(DRY_ASSEMBLY_FH_table)
