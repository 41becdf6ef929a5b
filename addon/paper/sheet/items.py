"""What a drawing consists of: strokes, filled areas, lettering and images, in paper mm, x to the right and y up.

Items are flat and already clipped, so a writer needs no state: it goes through the list once.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from ...sizes.arrays import Floats
from ...sizes.units import MM_PER_INCH

BLACK: Final = "#000000"
WHITE: Final = "#ffffff"

Anchor = Literal["start", "middle", "end"]

MITER_LIMIT: Final = 4.0
"""Longest miter, in line widths; a sharper corner is round."""


@dataclass(frozen=True)
class Pen:
    """How a line is drawn.

    Parameters
    ----------
    width : mm
    color : ``#rrggbb``
    dash : lengths of dashes and gaps in turn, mm; empty for a continuous line
    """

    width: float
    color: str = BLACK
    dash: tuple[float, ...] = ()


@dataclass(frozen=True, eq=False)
class Stroke:
    """Lines of one pen.

    Parameters
    ----------
    paths : (n, 2) float each, mm
    closed : whether the last point of each is joined to the first
    name : what it stands for, "" where it needs no name
    """

    paths: tuple[Floats, ...]
    pen: Pen
    closed: bool = False
    name: str = ""


@dataclass(frozen=True, eq=False)
class Fill:
    """A filled area.

    Parameters
    ----------
    rings : (n, 2) float each, mm; a point inside an odd number of them is in the area, and none crosses another
    """

    rings: tuple[Floats, ...]
    color: str
    name: str = ""


@dataclass(frozen=True)
class Text:
    """One line of lettering.

    Parameters
    ----------
    x, y : the anchor on the base line, mm
    size : height of the capitals, mm
    angle : counterclockwise, degrees
    weight : width of the pen as a share of the height; ISO 3098-1 lettering B has 1/10 (from memory)
    halo : white border around the letters, mm
    """

    text: str
    x: float
    y: float
    size: float
    anchor: Anchor = "start"
    angle: float = 0.0
    color: str = BLACK
    weight: float = 0.1
    halo: float = 0.0
    name: str = ""


@dataclass(frozen=True, eq=False)
class Image:
    """A picture of dots in a rectangle of the sheet.

    Parameters
    ----------
    pixels : (rows, columns, 3) uint8, red, green and blue, the upper left dot first
    box : left, bottom, right, top, mm
    """

    pixels: NDArray[np.uint8]
    box: tuple[float, float, float, float]
    name: str = ""

    @property
    def dpi(self) -> float:
        """Dots an inch, across."""
        return self.pixels.shape[1] / (self.box[2] - self.box[0]) * float(MM_PER_INCH)


Item = Stroke | Fill | Text | Image
