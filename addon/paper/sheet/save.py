"""A drawing, or several, into a file whose suffix says its kind; SVG 1.1 in millimeters, with real text, is here."""

from __future__ import annotations

import re
from base64 import b64encode
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from shutil import copy2
from typing import Final
from xml.sax.saxutils import escape

from ...files.saving import save_bytes, whole_folder, write
from ...sizes.arrays import Floats
from ...sizes.errors import ExportError
from .drawing import Drawing
from .helvetica import BOLD
from .items import MITER_LIMIT, WHITE, Fill, Image, Item, Stroke, Text
from .lettering import text_width
from .pdf import pdf_bytes
from .png import png_bytes
from .raster import png_of

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


FONT: Final = "sans-serif"

CAPITAL_OF_EM: Final = 0.72
"""Height of a capital in usual sans-serif fonts, as a share of their size (common practice, no source)."""


def svg_text(drawing: Drawing) -> str:
    """A drawing as the text of an SVG file."""
    width, height = _number(drawing.width), _number(drawing.height)
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" version="1.1" '
        f'width="{width}mm" height="{height}mm" '
        f'viewBox="0 0 {width} {height}" font-family="{FONT}" fill="none" stroke-miterlimit="{MITER_LIMIT:g}">',
    ]
    if drawing.title:
        lines.append(f"<title>{escape(drawing.title)}</title>")
    lines.append(f'<rect width="{width}" height="{height}" fill="{WHITE}"/>')
    lines += [_element(item, drawing.height) for item in drawing.items]
    return "\n".join([*lines, "</svg>", ""])


def _element(item: Item, height: float) -> str:
    if isinstance(item, Fill):
        data = "".join(_path(ring, height, closed=True) for ring in item.rings)
        return _tag("path", f'd="{data}" fill="{item.color}" fill-rule="evenodd"', item.name)
    if isinstance(item, Stroke):
        data = "".join(_path(path, height, item.closed) for path in item.paths)
        pen = f'stroke="{item.pen.color}" stroke-width="{_number(item.pen.width)}"'
        if item.pen.dash:
            pen += f' stroke-dasharray="{" ".join(map(_number, item.pen.dash))}"'
        return _tag("path", f'd="{data}" {pen}', item.name)
    if isinstance(item, Image):
        return _image(item, height)
    return _text(item, height)


def _text(item: Text, height: float) -> str:
    """Lettering as text of just the width that its strokes would take, whatever font there is."""
    x, y = _number(item.x), _number(height - item.y)
    size = _number(item.size / CAPITAL_OF_EM)
    width = _number(text_width(item.text, item.size))
    how = f'x="{x}" y="{y}" font-size="{size}" textLength="{width}" lengthAdjust="spacingAndGlyphs"'
    how += f' fill="{item.color}"'
    if item.anchor != "start":
        how += f' text-anchor="{item.anchor}"'
    if item.angle:
        how += f' transform="rotate({_number(-item.angle)} {x} {y})"'
    if item.weight >= BOLD:
        how += ' font-weight="bold"'
    if item.halo:
        # Drawn before the letters; a reader that does not know the order would hide them, hence twice.
        border = f'stroke="{WHITE}" stroke-width="{_number(2 * item.halo)}" stroke-linejoin="round"'
        words = escape(item.text)
        return f'<text {how} {border} aria-hidden="true">{words}</text>\n<text {how}>{words}</text>'
    return f"<text {how}>{escape(item.text)}</text>"


def _image(item: Image, height: float) -> str:
    left, bottom, right, top = item.box
    place = f'x="{_number(left)}" y="{_number(height - top)}"'
    size = f'width="{_number(right - left)}" height="{_number(top - bottom)}" preserveAspectRatio="none"'
    data = b64encode(png_bytes(item.pixels, item.dpi)).decode("ascii")
    return _tag("image", f'{place} {size} xlink:href="data:image/png;base64,{data}"', item.name)


def _tag(kind: str, how: str, name: str) -> str:
    if name:
        return f"<{kind} {how}><title>{escape(name)}</title></{kind}>"
    return f"<{kind} {how}/>"


def _path(points: Floats, height: float, closed: bool) -> str:
    pairs = [f"{_number(x)} {_number(height - y)}" for x, y in points.tolist()]
    return f"M{pairs[0]}L{' '.join(pairs[1:])}{'Z' if closed else ''}"


def _number(value: float) -> str:
    """To a thousandth, as short as may be."""
    shown = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if shown == "-0" else shown
