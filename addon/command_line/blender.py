"""`blender --command dry_assembly check FILE`: the command line, run by an installed Blender."""

from __future__ import annotations

from typing import Final

import bpy

NAME: Final = "dry_assembly"

_handle: object = None


def _run(argv: list[str]) -> int:
    from .main import main

    return main(argv)


def register() -> None:
    """Adds the command."""
    global _handle
    _handle = bpy.utils.register_cli_command(NAME, _run)


def unregister() -> None:
    """Takes the command away."""
    global _handle
    if _handle is not None:
        bpy.utils.unregister_cli_command(_handle)
        _handle = None
