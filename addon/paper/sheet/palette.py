"""Colors of the shop's pictures: those of Okabe and Ito (2008), which the color-blind tell apart (from memory).

Whatever has a color here also has a shape or hatching of its own, so that a gray print says the same.
"""

from __future__ import annotations

from typing import Final

from ...check.row.openings import Verdict
from ...designs.words.answer import Grade
from . import BLACK, WHITE, Drawing, Pen
from .dimensions import NARROW

BLUE: Final = "#0072B2"
SKY: Final = "#56B4E9"
GREEN: Final = "#009E73"
ORANGE: Final = "#E69F00"
VERMILION: Final = "#D55E00"

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

VERDICT_COLORS: Final[dict[Verdict, str]] = {
    "guides-itself": GREEN,
    "needs-steering": ORANGE,
    "does-not-pass": VERMILION,
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
    thin, thick = Pen(NARROW * 0.8), Pen(size * 0.14)
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
