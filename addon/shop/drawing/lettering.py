"""Lettering as strokes: how wide it is, and the lines that a pen draws."""

from __future__ import annotations

import unicodedata
from functools import lru_cache
from typing import TYPE_CHECKING, Final

import numpy as np

from .glyphs import ACCENTS, CAPITAL, DESCENT, GLYPHS, MISSING, SAME, SMALL, SPACE

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from .items import Text

    Floats = NDArray[np.float64]
    Glyph = tuple[float, tuple[Floats, ...]]
    """Advance, and strokes (n, 2), in heights of a capital."""

CONDENSED: Final = 0.84
"""Width of letters against those of the glyphs: about that of ISO 3098-1 lettering B (by eye)."""

_ASCENT: Final = 0.1
"""How far brackets and accents reach above the capitals, in their heights."""

_RAISED: Final = 0.6
"""Size of superscripts, subscripts and the numbers of a fraction."""


def text_width(text: str, size: float) -> float:
    """Width of a line of lettering, mm; `size` is the height of its capitals, mm."""
    return sum(_glyph(letter)[0] for letter in unicodedata.normalize("NFC", text)) * size


def text_strokes(item: Text) -> list[Floats]:
    """The lines of the lettering, (n, 2) float each, paper mm."""
    placed, x = [], 0.0
    for letter in unicodedata.normalize("NFC", item.text):
        advance, strokes = _glyph(letter)
        placed += [stroke + (x, 0.0) for stroke in strokes]
        x += advance
    shift = {"start": 0.0, "middle": -x / 2, "end": -x}[item.anchor]
    turn = _turn(item.angle)
    return [(stroke + (shift, 0.0)) * item.size @ turn + (item.x, item.y) for stroke in placed]


def text_box(item: Text) -> tuple[float, float, float, float]:
    """Left, bottom, right, top of what the lettering may take, mm; it holds the turned rectangle."""
    width = text_width(item.text, item.size)
    start = {"start": 0.0, "middle": -width / 2, "end": -width}[item.anchor]
    low, high = -DESCENT / CAPITAL * item.size, (1 + _ASCENT) * item.size
    corners = np.array([(start, low), (start + width, low), (start + width, high), (start, high)])
    turned = corners @ _turn(item.angle) + (item.x, item.y)
    left, bottom = turned.min(axis=0)
    right, top = turned.max(axis=0)
    return float(left), float(bottom), float(right), float(top)


def shortened(text: str, size: float, room: float) -> str:
    """`text`, or as much of its beginning as fits into `room` mm, with dots behind it."""
    if text_width(text, size) <= room:
        return text
    while text and text_width(text.rstrip() + "…", size) > room:
        text = text[:-1]
    return text.rstrip() + "…"


def wrapped(text: str, size: float, room: float) -> list[str]:
    """`text` in lines that fit into `room` mm; a word that is longer has a line of its own."""
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(longer, size) <= room:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


def _turn(degrees: float) -> Floats:
    turn = np.radians(degrees)
    return np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])


@lru_cache(maxsize=1024)
def _glyph(letter: str) -> Glyph:
    """One letter, made of other ones where there is no glyph for it."""
    if letter in GLYPHS:
        return _decoded(GLYPHS[letter])
    if letter == " ":
        return SPACE / CAPITAL * CONDENSED, ()
    if letter in SAME:
        return _beside([_glyph(one) for one in SAME[letter]])
    kind, _, parts = unicodedata.decomposition(letter).partition(" ")
    if kind in ("<super>", "<sub>"):
        low = 1 - _RAISED if kind == "<super>" else -0.2
        return _beside([_scaled(_glyph(chr(int(code, 16))), low) for code in parts.split()])
    if kind == "<fraction>":
        above, _, below = "".join(chr(int(code, 16)) for code in parts.split()).partition("\u2044")
        top = [_scaled(_glyph(one), 1 - _RAISED) for one in above]
        return _beside([*top, _glyph("/"), *(_scaled(_glyph(one), 0.0) for one in below)])
    whole = unicodedata.normalize("NFD", letter)
    if len(whole) == 2 and whole[0] in GLYPHS and whole[1] in ACCENTS:
        return _accented(whole[0], whole[1])
    return _glyph(MISSING)


def _decoded(code: str) -> Glyph:
    advance, *strokes = code.split(" ")
    scale = np.array([CONDENSED, 1.0]) / CAPITAL
    points = [np.array([ord(one) - 48 for one in stroke], dtype=float).reshape(-1, 2) for stroke in strokes]
    width = (ord(advance) - 48) / CAPITAL * CONDENSED
    return width, tuple((each - (0, DESCENT)) * scale for each in points)


def _scaled(glyph: Glyph, raised: float) -> Glyph:
    return glyph[0] * _RAISED, tuple(stroke * _RAISED + (0.0, raised) for stroke in glyph[1])


def _beside(glyphs: list[Glyph]) -> Glyph:
    at, strokes = 0.0, []
    for width, own in glyphs:
        strokes += [stroke + (at, 0.0) for stroke in own]
        at += width
    return at, tuple(strokes)


def _accented(base: str, mark: str) -> Glyph:
    """A letter with a mark over it; an i loses its dot."""
    width, strokes = _glyph(base)
    top = 1.0 if base.isupper() else SMALL / CAPITAL
    if base in "ij":
        strokes = tuple(stroke for stroke in strokes if stroke[:, 1].min() < top)
    scale = np.array([CONDENSED, 1.0]) / CAPITAL
    over = tuple(np.array(points, dtype=float) * scale + (width / 2, top) for points in ACCENTS[mark])
    return width, (*strokes, *over)
