"""Drawings as PDF (ISO 32000-1) of their own size, one a page, with real text and without font files."""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from datetime import date
from types import ModuleType
from typing import Any, Final

import numpy as np

from ...sizes.arrays import Floats
from ...sizes.errors import ExportError
from ...sizes.units import MM_PER_INCH
from . import helvetica
from .drawing import Drawing
from .items import MITER_LIMIT, WHITE, Fill, Image, Item, Stroke, Text
from .lettering import text_strokes, text_width
from .png import packed

_POINT: Final = 72.0 / float(MM_PER_INCH)
"""Points, the unit of PDF, in a millimeter."""

_FONTS: Final = {"F1": "Helvetica", "F2": "Helvetica-Bold"}
"""Names on the pages → of the typefaces that a reader has."""

_FINEST: Final = 4
"""Decimals of mm: a tenth of a micrometer."""

_ROUND: Final = 1
_MITER: Final = 0
_BUTT: Final = 0
"""Ends and corners of lines."""

_STROKED: Final = 1
_FILLED: Final = 0
"""How letters are drawn."""


def pdf_bytes(drawings: Sequence[Drawing], made: date | None = None) -> bytes:
    """A PDF file with a page for each drawing, to be printed at its true size.

    Parameters
    ----------
    made : the day that the file says; by default today

    Raises
    ------
    ExportError : where the package that writes PDF is missing
    """
    kit = _writer()
    document = kit.PDF()
    day = made or date.today()
    if drawings[0].title:
        document.info["Title"] = kit.String(drawings[0].title)
    document.info["CreationDate"] = kit.String(f"D:{day:%Y%m%d}")
    document.catalog["ViewerPreferences"] = kit.Dictionary(
        {"PrintScaling": "/None", "DisplayDocTitle": "true"}
    )
    fonts = kit.Dictionary()
    for short, name in _FONTS.items():
        values = {
            "Type": "/Font",
            "Subtype": "/Type1",
            "BaseFont": f"/{name}",
            "Encoding": "/WinAnsiEncoding",
        }
        font = kit.Dictionary(values)
        document.add_object(font)
        fonts[short] = font.reference
    for drawing in drawings:
        page = _Page(kit, document)
        for item in drawing.items:
            page.put(item)
        page.finish(drawing, fonts)
    file = io.BytesIO()
    document.write(file)
    return file.getvalue()


def _writer() -> ModuleType:
    try:
        import pydyf
    except ImportError:
        raise ExportError(
            "Writing PDF needs the Python package pydyf; install it, or write SVG or PNG."
        ) from None
    return pydyf


class _Page:
    """One page in the making; its unit is mm."""

    def __init__(self, kit: ModuleType, document: Any) -> None:
        self._kit = kit
        self._document = document
        self._stream = kit.Stream(compress=True)
        self._images = kit.Dictionary()
        self._stream.set_matrix(_POINT, 0, 0, _POINT, 0, 0)
        self._stream.set_miter_limit(MITER_LIMIT)

    def put(self, item: Item) -> None:
        """Draws an item over what there is."""
        if isinstance(item, Fill):
            self._color(item.color)
            for ring in item.rings:
                self._path(ring, closed=True)
            self._stream.fill(even_odd=True)
        elif isinstance(item, Stroke):
            self._pen(item.pen.width, item.pen.color, item.pen.dash)
            for path in item.paths:
                self._path(path, item.closed)
            self._stream.stroke()
        elif isinstance(item, Image):
            self._image(item)
        else:
            self._text(item)

    def finish(self, drawing: Drawing, fonts: Any) -> None:
        """Adds the page to its document."""
        kit, document = self._kit, self._document
        document.add_object(self._stream)
        # Rounded down: a reader that draws whole dots would have one more for a hair's breadth.
        box = [0, 0, *(math.floor(size * _POINT * 1e4) / 1e4 for size in (drawing.width, drawing.height))]
        page = {
            "Type": "/Page",
            "Parent": document.pages.reference,
            "MediaBox": kit.Array(box),
            "Contents": self._stream.reference,
            "Resources": kit.Dictionary({"Font": fonts, "XObject": self._images}),
        }
        document.add_page(kit.Dictionary(page))

    def _color(self, color: str, stroke: bool = False) -> None:
        shares = [round(int(color[at : at + 2], 16) / 255, 4) for at in (1, 3, 5)]
        self._stream.set_color_rgb(*shares, stroke=stroke)

    def _pen(self, width: float, color: str, dash: Sequence[float] = (), round_ends: bool = False) -> None:
        self._color(color, stroke=True)
        self._stream.set_line_width(round(width, _FINEST))
        self._stream.set_dash([round(length, _FINEST) for length in dash], 0)
        self._stream.set_line_cap(_ROUND if round_ends else _BUTT)
        self._stream.set_line_join(_ROUND if round_ends else _MITER)

    def _path(self, points: Floats, closed: bool) -> None:
        first, *rest = np.round(points, _FINEST).tolist()
        self._stream.move_to(*first)
        for point in rest:
            self._stream.line_to(*point)
        if closed:
            self._stream.close()

    def _image(self, item: Image) -> None:
        rows, columns = item.pixels.shape[:2]
        layout = {"Predictor": 15, "Colors": 3, "BitsPerComponent": 8, "Columns": columns}
        extra = {
            "Type": "/XObject",
            "Subtype": "/Image",
            "Width": columns,
            "Height": rows,
            "ColorSpace": "/DeviceRGB",
            "BitsPerComponent": 8,
            "Filter": "/FlateDecode",
            "DecodeParms": self._kit.Dictionary(layout),
        }
        picture = self._kit.Stream([packed([item.pixels])], extra)
        self._document.add_object(picture)
        name = f"I{len(self._images) + 1}"
        self._images[name] = picture.reference
        left, bottom, right, top = (round(value, _FINEST) for value in item.box)
        self._stream.push_state()
        self._stream.set_matrix(right - left, 0, 0, top - bottom, left, bottom)
        self._stream.draw_x_object(name)
        self._stream.pop_state()

    def _text(self, item: Text) -> None:
        """Lettering as text as high and as wide as its strokes would be, or as these where Helvetica lacks a letter."""
        code = helvetica.encoded(item.text)
        if code is None:
            self._strokes(item)
            return
        if item.halo:
            # For readers and for search the border is no text.
            self._stream.stream.append(b"/Span <</ActualText ()>> BDC")
            self._pen(2 * item.halo, WHITE, round_ends=True)
            self._letters(item, code, _STROKED)
            self._stream.end_marked_content()
        self._color(item.color)
        self._letters(item, code, _FILLED)

    def _letters(self, item: Text, code: bytes, how: int) -> None:
        bold = item.weight >= helvetica.BOLD
        wide, size = text_width(item.text, item.size), item.size / helvetica.CAPITAL_OF_EM
        across = wide / helvetica.width(item.text, bold)
        turn = np.radians(item.angle)
        right, up = np.array([np.cos(turn), np.sin(turn)]), np.array([-np.sin(turn), np.cos(turn)])
        start = (
            np.array([item.x, item.y]) - right * {"start": 0.0, "middle": wide / 2, "end": wide}[item.anchor]
        )
        self._stream.begin_text()
        self._stream.set_font_size("F2" if bold else "F1", 1)
        self._stream.set_text_rendering(how)
        self._stream.set_text_matrix(*np.round([*right * across, *up * size, *start], 5).tolist())
        self._stream.show_text_string(code)
        self._stream.end_text()

    def _strokes(self, item: Text) -> None:
        width, strokes = item.weight * item.size, text_strokes(item)
        borders = [(width + 2 * item.halo, WHITE)] if item.halo else []
        for wide, color in (*borders, (width, item.color)):
            self._pen(wide, color, round_ends=True)
            for path in strokes:
                self._path(path, closed=False)
            self._stream.stroke()
