"""The command line: `main(argv)` returns the exit status. The same for scripts and for `blender --command`."""

from __future__ import annotations

from .main import main

__all__ = ["main"]
