"""Colors with a meaning, the same on paper and in the 3D view, and the tints of the shop's pictures.

They stay apart for people who see red, green or blue poorly, and from the orange that Blender outlines what is
selected with (`tests/test_colors.py` measures it). Whatever has a color here also has a shape or hatching of its own,
so that a gray print says the same.
"""

from __future__ import annotations

from typing import Final

from ...check.row.openings import Verdict
from ...designs.words.answer import Grade
from . import BLACK, WHITE, Drawing, Pen
from .dimensions import NARROW

GOOD: Final = "#009E73"
"""Goes by itself: bluish green of Okabe and Ito's set (2008, from memory)."""
BY_HAND: Final = "#0066CC"
"""The hand has to act: steer, look, move."""
BLOCKED: Final = "#990077"
"""Cannot stay: does not pass, is in the way."""
NOTE: Final = "#C0C0C0"
"""Worth knowing, nothing to do."""
ROOM: Final = "#56B4E9"
"""The room that a leaf has or needs: sky blue of the same set; says neither good nor bad."""

WOOD: Final = "#F6EEDF"
"""Tint of sectioned wood, so pale that it prints as white."""
LEAF: Final = "#E3EEF6"
"""Tint of the leaf."""

HATCH: Final = Pen(0.18, "#5A5248")
"""Hatching of wood."""
PALE: Final = Pen(0.18, "#8C8C8C")
"""Scales and breaks."""
GRAY: Final = "#555555"
"""Captions."""


def rgb(color: str) -> tuple[float, float, float]:
    """Red, green and blue of a color, sRGB, 0 … 1."""
    red, green, blue = (int(color[at : at + 2], 16) / 255 for at in (1, 3, 5))
    return red, green, blue


VERDICT_COLORS: Final[dict[Verdict, str]] = {
    "guides-itself": GOOD,
    "needs-steering": BY_HAND,
    "does-not-pass": BLOCKED,
}


_GRADES: Final[dict[Grade, Verdict | None]] = {
    "good": "guides-itself",
    "watch": "needs-steering",
    "bad": "does-not-pass",
    "open": None,
}
"""How good a line of the answer is → the verdict with the same mark."""


def grade_mark(drawing: Drawing, x: float, y: float, size: float, grade: Grade) -> None:
    """The mark of `verdict_mark` for a line of the answer."""
    verdict_mark(drawing, x, y, size, _GRADES[grade])


def verdict_mark(drawing: Drawing, x: float, y: float, size: float, verdict: Verdict | None) -> None:
    """A disc with a tick, a triangle with a stroke, a square with a cross; a ring where nothing is judged.

    Parameters
    ----------
    x, y : its middle, mm
    size : its height, mm
    """
    r = size / 2
    color = VERDICT_COLORS[verdict] if verdict else WHITE
    thin, thick = Pen(NARROW * 0.8), Pen(size * 0.14, WHITE)
    if verdict == "guides-itself":
        drawing.circle((x, y), r, color, thin)
        drawing.polyline([(x - 0.5 * r, y), (x - 0.1 * r, y - 0.45 * r), (x + 0.5 * r, y + 0.45 * r)], thick)
    elif verdict == "needs-steering":
        drawing.polygon([(x - 1.1 * r, y - r), (x + 1.1 * r, y - r), (x, y + r)], color, thin)
        drawing.line((x, y + 0.4 * r), (x, y - 0.3 * r), thick)
        drawing.line((x, y - 0.5 * r), (x, y - 0.76 * r), thick)
    elif verdict == "does-not-pass":
        drawing.rectangle((x - 0.9 * r, y - 0.9 * r, x + 0.9 * r, y + 0.9 * r), color, thin)
        for way in (1, -1):
            drawing.line((x - 0.5 * r, y - 0.5 * r * way), (x + 0.5 * r, y + 0.5 * r * way), thick)
    else:
        drawing.circle((x, y), r * 0.8, color, Pen(NARROW, BLACK))
