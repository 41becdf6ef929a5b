"""Drawings as SVG 1.1 in millimeters, with real text and images within."""

from __future__ import annotations

from base64 import b64encode
from typing import Final
from xml.sax.saxutils import escape

from ...sizes.arrays import Floats
from .drawing import Drawing
from .helvetica import BOLD
from .items import MITER_LIMIT, WHITE, Fill, Image, Item, Stroke, Text
from .lettering import text_width
from .png import png_bytes

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
