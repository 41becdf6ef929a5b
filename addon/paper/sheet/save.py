"""A drawing, or several, into a file whose suffix says its kind."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from shutil import copy2
from typing import Final

from ...files.saving import save_bytes, whole_folder, write
from ...sizes.errors import ExportError
from .drawing import Drawing
from .pdf import pdf_bytes
from .raster import png_of
from .svg import svg_text

WRITERS: Final[dict[str, Callable[[Drawing, float], bytes]]] = {
    ".svg": lambda drawing, dpi: svg_text(drawing).encode("utf-8"),  # noqa: ARG005
    ".png": png_of,
    ".pdf": lambda drawing, dpi: pdf_bytes([drawing]),  # noqa: ARG005
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


def save_pictures(files: Mapping[str, bytes], folder: Path, same: str) -> list[str]:
    """Save all pictures of one job together, in the place of those of the same kinds that it made before.

    Other pictures stay.

    Parameters
    ----------
    folder : made if it is not there; it holds pictures and nothing else, so that it can be replaced whole
    same : regular expression for the names of that job's pictures, without their suffixes

    Returns
    -------
    their names

    Raises
    ------
    ExportError : where the folder cannot be written, or holds what is no picture; it is as it was
    """
    with whole_folder(folder, _pictures) as scratch:
        for name, content in files.items():
            write(scratch / name, content)
        if folder.is_dir():
            replaced = re.compile(f"({same})({'|'.join(re.escape(Path(name).suffix) for name in files)})")
            for name in _pictures(folder) - files.keys():
                if not replaced.fullmatch(name):
                    _keep(folder / name, scratch / name)
    return list(files)


def _pictures(folder: Path) -> set[str]:
    return {one.name for one in folder.iterdir() if one.suffix.lower() in WRITERS and one.is_file()}


def _keep(file: Path, beside: Path) -> None:
    try:
        beside.hardlink_to(file)
    except OSError:  # there are file systems without links
        copy2(file, beside)


def drawing_bytes(drawing: Drawing | Sequence[Drawing], path: Path | str, dpi: float = 200.0) -> bytes:
    """What `save` writes. Raises ExportError for another suffix, and for several drawings but a PDF."""
    suffix = suffix_of(path)
    if isinstance(drawing, Drawing):
        return WRITERS[suffix](drawing, dpi)
    if suffix != ".pdf":
        raise ExportError(f"{path} cannot be saved: several sheets go into one file only as .pdf.")
    return pdf_bytes(drawing)


PAPER_AND_SCREEN: Final = (".svg", ".png")
"""Kinds of file of which one is for paper and one for the screen."""


def named_files(
    drawings: Iterable[tuple[str, Drawing]], suffixes: Sequence[str] = PAPER_AND_SCREEN
) -> dict[str, bytes]:
    """Drawings by their names, each as all kinds of file that are asked for: name of a file → what is in it."""
    return {
        name + suffix: drawing_bytes(drawing, name + suffix)
        for name, drawing in drawings
        for suffix in suffixes
    }


def suffix_of(path: Path | str) -> str:
    """A file's suffix. Raises ExportError where there is no writer for it."""
    suffix = Path(path).suffix.lower()
    if suffix not in WRITERS:
        kinds = ", ".join(list(WRITERS)[:-1]) + f" or {list(WRITERS)[-1]}"
        raise ExportError(f"{path} cannot be saved: a drawing's name has to end in {kinds}.")
    return suffix
