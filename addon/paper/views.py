"""From where a table is looked at, where its picture stands on the sheet, and what a camera has to see to fill it.

Views are parallel projections (ISO 5456-2 and ISO 5456-3, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from ..sizes.arrays import Floats
from ..sizes.errors import ExportError
from ..sizes.units import MM_PER_INCH
from .sheet.clip import Rectangle
from .sheet.sheet import A3, A4, BLOCK_HEIGHT, REDUCTIONS, Sheet


@dataclass(frozen=True, eq=False)
class ViewFrom:
    """A direction of view."""

    name: str
    axes: Floats
    """(3, 3) float, orthonormal; rows: to the right and up on the paper, and toward the eye, in the table's axes."""
    isometric: bool = False
    """Whether all three axes of the table are shortened alike, so that one scale holds along each of them."""
    true: bool = True
    """Whether lengths along those axes of the table that are seen can be taken off the paper."""

    @property
    def enlarged(self) -> float:
        """By how much the projection is enlarged: an isometric one so that lengths along the axes are true."""
        return float(np.sqrt(1.5)) if self.isometric else 1.0


def _from(
    name: str,
    toward: tuple[float, float, float],
    up: tuple[float, float, float],
    isometric: bool,
    true: bool = True,
) -> ViewFrom:
    z = np.array(toward, dtype=float)
    z /= np.linalg.norm(z)
    y = np.array(up, dtype=float)
    y -= (y @ z) * z
    y /= np.linalg.norm(y)
    axes = np.array([np.cross(y, z), y, z])
    axes[np.abs(axes) < np.finfo(float).eps] = 0.0
    axes.flags.writeable = False
    return ViewFrom(name, axes, isometric, true)


VIEWS: Final[dict[str, ViewFrom]] = {
    "isometric": _from("Isometric view", (1, -1, 1), (0, 0, 1), True),
    "below": _from("Upside down, isometric", (-1, -1, -1), (0, 0, -1), True),
    "front": _from("Front view", (0, -1, 0), (0, 0, 1), False),
    "right": _from("View from the right", (1, 0, 0), (0, 0, 1), False),
    "top": _from("View from above", (0, 0, 1), (0, 1, 0), False),
}
"""Name on the command line → view. The front is where y is least. A table is glued up with its feet in the air, and
`below` shows it like that."""


def view_from(text: str) -> ViewFrom:
    """A view by its name, or by its direction in degrees: azimuth from the front to the right, elevation above level.

    Raises
    ------
    ExportError : where the text is neither
    """
    if text in VIEWS:
        return VIEWS[text]
    try:
        azimuth, elevation = (float(word) for word in text.split(","))
    except ValueError:
        azimuth = elevation = np.nan
    if not (np.isfinite(azimuth) and abs(elevation) <= 90):
        raise ExportError(
            f"'{text}' is no view: give {', '.join(VIEWS)}, or azimuth and elevation in degrees such as 30,20"
            " (from the front to the right, and above level, at most 90)."
        )
    a, e = np.radians([azimuth, elevation])
    toward = float(np.sin(a) * np.cos(e)), float(-np.cos(a) * np.cos(e)), float(np.sin(e))
    up = float(-np.sin(a) * np.sin(e)), float(np.cos(a) * np.sin(e)), float(np.cos(e))
    height = f"{abs(elevation):g}° {'up' if elevation >= 0 else 'down'}"
    return _from(f"View from {azimuth % 360:g}° right, {height}", toward, up, isometric=False, true=False)


SHEETS: Final = {"A4": A4, "A3": A3}

SPACE: Final = 8.0
"""Between the drawing and the frame or the title block, at least, mm."""

_PLAIN: Final = 10
"""Reduction from which a larger sheet is worth its while: 18 mm of plywood are then 1.8 mm."""


@dataclass(frozen=True, eq=False)
class OnSheet:
    """Where the drawing stands on its sheet: paper = place + points · scale."""

    sheet: Sheet
    parts: int
    scale: float
    place: Floats
    box: Rectangle
    """Left, bottom, right, top of the drawing, mm on the paper."""

    @property
    def room(self) -> Rectangle:
        """What is free for the drawing and its labels, mm on the paper: left, bottom, right, top."""
        left, bottom, right, top = self.sheet.frame
        return left, bottom + BLOCK_HEIGHT + 2.0, right, top - 2.0


@dataclass(frozen=True, eq=False)
class Frame:
    """What a camera without perspective sees, and where its picture stands on the sheet."""

    axes: Floats
    """(3, 3) float, orthonormal; rows: to the right and up in the picture, and toward the eye, in the table's axes."""
    middle: Floats
    """(3,) float: a point of the table that is seen in the middle of the picture, mm."""
    width: float
    height: float
    """Of what is seen, mm at the table."""
    columns: int
    rows: int
    """Dots of the picture."""
    box: Rectangle
    """Left, bottom, right, top on the paper, mm."""


def layout_of(table: str, points: Floats, view: ViewFrom, sheet: Sheet | None, beside: float) -> OnSheet:
    """The largest standard scale at which (n, 2) points, mm, fit, in the middle of what the title block leaves.

    Parameters
    ----------
    table : its name, for the error
    sheet : where it must be that one; by default A4, or A3 where only that shows the thickness of boards well
    beside : room to be kept free at the left and the right, mm on the paper

    Raises
    ------
    ExportError : where they are too large for the sheet
    """
    fits: list[OnSheet] = []
    for paper in (A4, A3) if sheet is None else (sheet,):
        for parts in REDUCTIONS:
            layout = placed_at(points, view, paper, beside, parts)
            if layout is not None:
                fits.append(layout)
                break
    if not fits:
        raise ExportError(
            f"{table} cannot be drawn: it is too large for the paper even at 1:{REDUCTIONS[-1]}."
        )
    plain = [one for one in fits if one.parts <= _PLAIN]
    return plain[0] if plain else min(fits, key=lambda one: one.parts)


def placed_at(points: Floats, view: ViewFrom, paper: Sheet, beside: float, parts: int) -> OnSheet | None:
    """Points, (n, 2) float mm, in the middle of what the title block leaves, at a reduction; None if too large."""
    low, high = points.min(axis=0), points.max(axis=0)
    left, bottom, right, top = paper.frame
    room = np.array([right - left - 2 * beside, top - bottom - BLOCK_HEIGHT - 2 * SPACE])
    scale = view.enlarged / parts
    if ((high - low) * scale > room).any():
        return None
    middle = np.array([left + right, bottom + BLOCK_HEIGHT + top]) / 2
    place = middle - (low + high) / 2 * scale
    x0, y0, x1, y1 = (float(one) for one in (*(low * scale + place), *(high * scale + place)))
    return OnSheet(paper, parts, scale, place, (x0, y0, x1, y1))


def frame_of(layout: OnSheet, axes: Floats, depth: float, dpi: float, around: float) -> Frame:
    """A frame around the drawing whose dots are those of the sheet at a number of dots an inch.

    Parameters
    ----------
    axes : (3, 3) float of the view
    depth : of the table's middle toward the eye, mm
    around : how far the picture goes beyond the drawing, mm on the paper, where the sheet has room
    """
    pitch = float(MM_PER_INCH) / dpi
    left, bottom, right, top = layout.box
    free_left, free_bottom, free_right, free_top = layout.room
    first, last = (
        int(np.floor(max(left - around, free_left + 1.0) / pitch)),
        int(np.ceil(min(right + around, free_right - 1.0) / pitch)),
    )
    height = layout.sheet.height
    upper, lower = (
        int(np.floor((height - min(top + around, free_top)) / pitch)),
        int(np.ceil((height - max(bottom - around, free_bottom)) / pitch)),
    )
    box = first * pitch, height - lower * pitch, last * pitch, height - upper * pitch
    middle = (np.array([box[0] + box[2], box[1] + box[3]]) / 2 - layout.place) / layout.scale
    return Frame(
        axes,
        np.array([*middle, depth]) @ axes,
        (box[2] - box[0]) / layout.scale,
        (box[3] - box[1]) / layout.scale,
        last - first,
        lower - upper,
        box,
    )
