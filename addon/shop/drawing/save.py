"""A drawing into a file whose suffix says its kind."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Final

from ...model.errors import ExportError
from ...model.table_writer import save_bytes

if TYPE_CHECKING:
    from collections.abc import Callable

    from .drawing import Drawing

WRITERS: Final[dict[str, Callable[[Drawing, float], bytes]]] = {
    ".svg": lambda drawing, dpi: drawing.to_svg().encode("utf-8"),  # noqa: ARG005
    ".png": lambda drawing, dpi: drawing.to_png(dpi),
}
"""Suffix to what writes such a file, for a drawing and a number of dots an inch."""


def save(drawing: Drawing, path: Path | str, dpi: float = 200.0) -> None:
    """Save a drawing such that the file holds the old or the new one, whole, whatever happens.

    Parameters
    ----------
    path : ends in .svg or .png
    dpi : dots an inch of a PNG

    Raises
    ------
    ExportError
        For another suffix, or where the file cannot be written; it is as it was.
    """
    writer = WRITERS.get(Path(path).suffix.lower())
    if writer is None:
        raise ExportError(f"{path} cannot be saved: a drawing's name has to end in {' or '.join(WRITERS)}.")
    save_bytes(path, writer(drawing, dpi))
