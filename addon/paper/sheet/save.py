"""A drawing, or several, into a file whose suffix says its kind."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

from ...files.writer import save_bytes
from ...sizes.errors import ExportError
from .drawing import Drawing
from .pdf import pdf_bytes

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

WRITERS: Final[dict[str, Callable[[Drawing, float], bytes]]] = {
    ".svg": lambda drawing, dpi: drawing.to_svg().encode("utf-8"),  # noqa: ARG005
    ".png": lambda drawing, dpi: drawing.to_png(dpi),
    ".pdf": lambda drawing, dpi: drawing.to_pdf(),  # noqa: ARG005
}
"""Suffix to what writes such a file, for a drawing and a number of dots an inch."""


def save(drawing: Drawing | Sequence[Drawing], path: Path | str, dpi: float = 200.0) -> None:
    """Save a drawing such that the file holds the old or the new one, whole, whatever happens.

    Parameters
    ----------
    drawing : one, or several for the pages of a PDF
    path : ends in .svg, .png or .pdf
    dpi : dots an inch of a PNG

    Raises
    ------
    ExportError
        For another suffix, for several drawings but a PDF, or where the file cannot be written; it is as it was.
    """
    save_bytes(path, drawing_bytes(drawing, path, dpi))


def save_files(files: Mapping[str, bytes], folder: Path) -> list[str]:
    """Saves files by name, each such that it is the old or the new one, whole; makes the folder if it is not there.

    Returns
    -------
    their names

    Raises
    ------
    ExportError : where the folder cannot be made, or a file not be written
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise ExportError(f"{folder} cannot be made ({error.strerror}): name another folder.") from None
    for name, content in files.items():
        save_bytes(folder / name, content)
    return list(files)


def drawing_bytes(drawing: Drawing | Sequence[Drawing], path: Path | str, dpi: float = 200.0) -> bytes:
    """What `save` writes. Raises ExportError for another suffix, and for several drawings but a PDF."""
    suffix = suffix_of(path)
    if isinstance(drawing, Drawing):
        return WRITERS[suffix](drawing, dpi)
    if suffix != ".pdf":
        raise ExportError(f"{path} cannot be saved: several sheets go into one file only as .pdf.")
    return pdf_bytes(drawing)


def both_files(drawings: Iterable[tuple[str, Drawing]]) -> dict[str, bytes]:
    """Drawings by their names, each as SVG for paper and as PNG for the screen: name of a file → what is in it."""
    return {
        name + suffix: drawing_bytes(drawing, name + suffix)
        for name, drawing in drawings
        for suffix in (".svg", ".png")
    }


def suffix_of(path: Path | str) -> str:
    """A file's suffix. Raises ExportError where there is no writer for it."""
    suffix = Path(path).suffix.lower()
    if suffix not in WRITERS:
        kinds = ", ".join(list(WRITERS)[:-1]) + f" or {list(WRITERS)[-1]}"
        raise ExportError(f"{path} cannot be saved: a drawing's name has to end in {kinds}.")
    return suffix
