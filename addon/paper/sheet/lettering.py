"""Lettering as strokes: how wide a line is, where it breaks, and the lines that a pen draws.

Letters are the simplex Roman of Hershey, and what a drawing needs beside ASCII. The Hershey Fonts were originally
created by Dr. A. V. Hershey while working at the U. S. National Bureau of Standards. The format of the Font data that
they were taken from was originally created by James Hurt, Cognition, Inc., 900 Technology Park Drive, Billerica, MA
01821. The glyphs are in the public domain, and this is another format. The hyphen, brackets and the caret are simpler
here, the l has a foot, and the letters outside ASCII are our own.

A glyph is its advance and its strokes, separated by blanks; a stroke is pairs of x and y, each a character counted from
"0", y from 7 below the base line. Capitals are 21 high, the letter x is 14.
"""

from __future__ import annotations

import unicodedata
from functools import lru_cache
from typing import Final

import numpy as np

from ...sizes.arrays import Floats
from .items import Text

Glyph = tuple[float, tuple[Floats, ...]]
"""Advance, and strokes (n, 2), in heights of a capital."""

CAPITAL: Final = 21
"""Height of a capital, in units of the glyphs."""

SMALL: Final = 14
"""Height of the letter x."""

DESCENT: Final = 7
"""How far glyphs reach below the base line."""

SPACE: Final = 14
"""Advance of a blank."""

MISSING: Final = "\ufffd"
"""What stands for a letter that there is no glyph for."""

GLYPHS: Final[dict[str, str]] = {
    "!": ": 5L5> 5948576859",
    '"': "@ 4L4E <L<E",
    "#": "E ;P40 AP:0 4CBC 3=A=",
    "$": "D 8P83 <P<3 AI?K<L8L5K3I3G4E5D7C=A?@@?A=A:?8<787583:",
    "%": "H EL37 8L:J:H9F7E5E3G3I4K6L8L:K=J@JCKEL A>?=>;>9@7B7D8E:E<C>A>",
    "&": "J GCGDFEEEDDCBA=?:=8;77758493;3=4?5@<D=E>G>I=K;L9K8I8G9D;A@:B8D7F7G8G9",
    "'": ": 5J4K5L6K6I5G4F",
    "(": "> ;P9N7K5G4B4>597592;0",
    ")": "> 3P5N7K9G:B:>99755230",
    "*": "@ 8L8@ 3I=C =I3C",
    "+": "J =I=7 4@F@",
    ",": ": 6857485968665443",
    "-": "> 3?;?",
    ".": ": 5948576859",
    "/": "F DP20",
    "0": "D 9L6K4H3C3@4;6897;7>8@;A@AC@H>K;L9L",
    "1": "D 6H8I;L;7",
    "2": "D 4G4H5J6K8L<L>K?J@H@F?D=A37A7",
    "3": "D 5L@L:D=D?C@BA?A=@:>8;78758493;",
    "4": "D =L3>B> =L=7",
    "5": "D ?L5L4C5D8E;E>D@BA?A=@:>8;78758493;",
    "6": "D @I?K<L:L7K5H4C4>5:78:7;7>8@:A=A>@A>C;D:D7C5A4>",
    "7": "D AL77 3LAL",
    "8": "D 8L5K4I4G5E7D;C>B@@A>A;@9?8<78758493;3>4@6B9C=D?E@G@I?K<L8L",
    "9": "D @E?B=@:?9?6@4B3E3F4I6K9L:L=K?I@E@@?;=8:787584:",
    ":": ": 5E4D5C6D5E 5948576859",
    ";": ": 5E4D5C6D5E 6857485968665443",
    "<": "H DI4@D7",
    "=": "J 4CFC 4=F=",
    ">": "H 4ID@47",
    "?": "B 3G3H4J5K7L;L=K>J?H?F>D=C9A9> 998897:899",
    "@": (
        "K BDAF?G<G:F9E8B8?9=;<><@=A? <G:E9B9?:=;< "
        "BGA?A=C<E<G>HAHCGFFHDJBK?L<L9K7J5H4F3C3@4=5;7998<7?7B8D9E: CGB?B=C<"
    ),
    "A": "B 9L17 9LA7 4>>>",
    "B": "E 4L47 4L=L@KAJBHBFAD@C=B 4B=B@AA@B>B;A9@8=747",
    "C": "E BGAI?K=L9L7K5I4G3D3?4<5:7897=7?8A:B<",
    "D": "E 4L47 4L;L>K@IAGBDB?A<@:>8;747",
    "E": "C 4L47 4LAL 4B<B 47A7",
    "F": "B 4L47 4LAL 4B<B",
    "G": "E BGAI?K=L9L7K5I4G3D3?4<5:7897=7?8A:B<B? =?B?",
    "H": "F 4L47 BLB7 4BBB",
    "I": "8 4L47",
    "J": "@ <L<<;9:8876748392<2>",
    "K": "E 4L47 BL4> 9CB7",
    "L": "A 4L47 47@7",
    "M": "H 4L47 4L<7 DL<7 DLD7",
    "N": "F 4L47 4LB7 BLB7",
    "O": "F 9L7K5I4G3D3?4<5:7897=7?8A:B<C?CDBGAI?K=L9L",
    "P": "E 4L47 4L=L@KAJBHBEAC@B=A4A",
    "Q": "F 9L7K5I4G3D3?4<5:7897=7?8A:B<C?CDBGAI?K=L9L <;B5",
    "R": "E 4L47 4L=L@KAJBHBFAD@C=B4B ;BB7",
    "S": "D AI?K<L8L5K3I3G4E5D7C=A?@@?A=A:?8<787583:",
    "T": "@ 8L87 1L?L",
    "U": "F 4L4=5:78:7<7?8A:B=BL",
    "V": "B 1L97 AL97",
    "W": "H 2L77 <L77 <LA7 FLA7",
    "X": "D 3LA7 AL37",
    "Y": "B 1L9B97 AL9B",
    "Z": "D AL37 3LAL 37A7",
    "[": "> ;P4P40;0",
    "\\": "> 0L>4",
    "]": "> 3P:P:030",
    "^": "@ 4E8K<E",
    "_": "@ 05@5",
    "`": ": 6L5K4I4G5F6G5H",
    "a": "C ?E?7 ?B=D;E8E6D4B3?3=4:6887;7=8?:",
    "b": "C 4L47 4B6D8E;E=D?B@?@=?:=8;787684:",
    "c": "B ?B=D;E8E6D4B3?3=4:6887;7=8?:",
    "d": "C ?L?7 ?B=D;E8E6D4B3?3=4:6887;7=8?:",
    "e": "B 3????A>C=D;E8E6D4B3?3=4:6887;7=8?:",
    "f": "< :L8L6K5H57 2E9E",
    "g": "C ?E?5>2=1;08061 ?B=D;E8E6D4B3?3=4:6887;7=8?:",
    "h": "C 4L47 4A7D9E<E>D?A?7",
    "i": "8 3L4K5L4M3L 4E47",
    "j": ": 5L6K7L6M5L 6E64513010",
    "k": "A 4L47 >E4; 8??7",
    "l": ": 4L4:586787",
    "m": "N 4E47 4A7D9E<E>D?A?7 ?ABDDEGEIDJAJ7",
    "n": "C 4E47 4A7D9E<E>D?A?7",
    "o": "C 8E6D4B3?3=4:6887;7=8?:@=@??B=D;E8E",
    "p": "C 4E40 4B6D8E;E=D?B@?@=?:=8;787684:",
    "q": "C ?E?0 ?B=D;E8E6D4B3?3=4:6887;7=8?:",
    "r": "= 4E47 4?5B7D9E<E",
    "s": "A >B=D:E7E4D3B4@6?;>==>;>:=8:777483:",
    "t": "< 5L5;6887:7 2E9E",
    "u": "C 4E4;5877:7<8?; ?E?7",
    "v": "@ 2E87 >E87",
    "w": "F 3E77 ;E77 ;E?7 CE?7",
    "x": "A 3E>7 >E37",
    "y": "@ 2E87 >E8763412010",
    "z": "A >E37 3E>E 37>7",
    "{": "> ;P8O7M7C6A4@6?7=7381;0",
    "|": "8 4P40",
    "}": "> 3P6O7M7C8A:@8?7=736130",
    "~": "H 3=3?4B6C8C:B>?@>B>D?EA 3?4A6B8B:A>>@=B=D>EAEC",
    "°": "< 4L8L:J:F8D4D2F2J4L",
    "±": "J =J=< 5CEC 58E8",
    "×": "F 5:AF 5FA:",
    "−": "H 4@D@",
    "–": "D 3?A?",
    "—": "L 2?J?",
    "µ": "C 4E4;5877:7<8?; ?E?7 4;40",
    "√": "F 2A5B97?OEO",
    "α": "E BE?=<99767483;3?4B6D8E;E=C??@;A8C7",
    "·": ": 5A4@5?6@5A",
    "•": "> 6C8C:A:?8=6=4?4A6C 6A8A8A8?8?6?6?6A6A",
    "≤": "H DJ4CD< 47D7",
    "≥": "H 4JDC4< 47D7",
    "Ø": "F 9L7K5I4G3D3?4<5:7897=7?8A:B<C?CDBGAI?K=L9L 35CN",
    "ø": "C 8E6D4B3?3=4:6887;7=8?:@=@??B=D;E8E 35@G",
    "ß": "D 474G5J7L:L=K>I>F=D:C=B?@@=@;?9=7:788",
    "→": "J 3@G@ AEG@A;",
    "\ufffd": "B 37?7?L3L37 37?L",
}
"""Letter to glyph."""

SAME: Final[dict[str, str]] = {
    "\u00a0": " ", "\u2009": " ", "\u202f": " ", "\u2010": "-", "\u2011": "-", "\u03bc": "µ", "\u2300": "Ø",
    "\u2018": "'", "\u2019": "'", "\u2032": "'", "\u201c": '"', "\u201d": '"', "\u201e": '"', "\u2033": '"',
    "\u2026": "...", "\u2044": "/", "\u2215": "/", "Æ": "AE", "æ": "ae", "Œ": "OE", "œ": "oe",
}  # fmt: skip
"""Letters that are written with other ones."""

ACCENTS: Final[dict[str, tuple[tuple[tuple[int, int], ...], ...]]] = {
    "\u0300": (((-4, 7), (2, 3)),),
    "\u0301": (((4, 7), (-2, 3)),),
    "\u0302": (((-5, 3), (0, 7), (5, 3)),),
    "\u0303": (((-6, 3), (-3, 6), (3, 4), (6, 7)),),
    "\u0304": (((-5, 4), (5, 4)),),
    "\u0308": (
        ((-4, 5), (-4, 3)),
        ((4, 5), (4, 3)),
    ),
    "\u030a": (((-1, 8), (1, 8), (3, 6), (3, 4), (1, 2), (-1, 2), (-3, 4), (-3, 6), (-1, 8)),),
    "\u030c": (((-5, 7), (0, 3), (5, 7)),),
}
"""Combining marks: strokes about the middle of the letter and its top."""


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
