"""Shapes of constant size on the screen, tied to places in the table: triangles whose corners are places and pixels.

A corner is a place, a direction in space and an offset in pixels: along the direction as it looks on the screen, and
square to it. So lines have their width, arrows their heads and marks their size at every distance, and nothing needs
to be made anew when the view turns.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike, NDArray

    from .colors import Color

    Floats = NDArray[np.float32]

HALO: Final = 1.4
"""Width of the rim in the paper's color around every shape, pixels."""

LEAST: Final = 3.0
"""Length on the screen that a direction needs for what is drawn along it to be shown, pixels."""

BORDER: Final = 1.0
"""By how much the square that a disc is drawn into is larger on each side, for its soft edge, pixels."""

_SQUARE: Final = np.array([[-1, -1], [1, -1], [1, 1], [-1, -1], [1, 1], [-1, 1]], dtype=float)


class Corners(NamedTuple):
    """Corners of triangles, three a triangle.

    Parameters
    ----------
    place : (n, 3) float32, m
    along : (n, 3) float32, m; a way in space, or zero for offsets to the right and up. Where the way looks shorter
        than `LEAST`, the shape is not drawn
    offset : (n, 2) float32, pixels; along the direction, and to its left
    ink : (n, 4) float32, sRGB; alpha 0 stands for the paper's color
    round : (n, 2) float32; where the corner lies about the middle of a disc of radius 1, outside of which nothing is
        drawn; zero for what is not round
    """

    place: Floats
    along: Floats
    offset: Floats
    ink: Floats
    round: Floats


def joined(shapes: Sequence[Corners]) -> Corners:
    """All of them; later ones lie on top."""
    if not shapes:
        return Corners(*(np.zeros((0, columns), dtype=np.float32) for columns in (3, 3, 2, 4, 2)))
    return Corners(*(np.concatenate(column) for column in zip(*shapes, strict=True)))


def fan(place: ArrayLike, along: ArrayLike, outline: ArrayLike, ink: Color | None) -> Corners:
    """A convex outline, (n, 2) pixels, around one place; without ink in the paper's color."""
    points = np.asarray(outline, dtype=np.float32)
    last = np.arange(2, len(points))
    triangles = np.stack([np.zeros_like(last), last - 1, last], axis=1).ravel()
    return _corners(place, along, points[triangles], ink)


def disc(place: ArrayLike, middle: ArrayLike, radius: float, ink: Color | None) -> Corners:
    """A disc about an offset (2,) from one place, pixels; without ink in the paper's color."""
    offset = np.asarray(middle) + (radius + BORDER) * _SQUARE
    return _corners(place, (0.0, 0.0, 0.0), offset, ink, (radius + BORDER) / radius * _SQUARE)


def bar(start: ArrayLike, end: ArrayLike, width: float, ink: Color | None) -> Corners:
    """A line from place to place, `width` pixels wide."""
    along = np.subtract(end, start)
    half = width / 2
    near = _corners(start, along, np.array([[0, half], [0, -half]]), ink)
    far = _corners(end, along, np.array([[0, half], [0, -half]]), ink)
    order = [0, 1, 2, 2, 1, 3]
    return Corners(*(np.concatenate(pair)[order] for pair in zip(near, far, strict=True)))


def stroke(start: ArrayLike, end: ArrayLike, width: float) -> NDArray[np.float64]:
    """Outline (4, 2) of a line between two offsets, pixels."""
    way = np.subtract(end, start)
    side = np.array([-way[1], way[0]]) / np.hypot(*way) * width / 2
    return np.array([start - side, end - side, end + side, start + side])


def _corners(
    place: ArrayLike, along: ArrayLike, offset: ArrayLike, ink: Color | None, around: ArrayLike = (0.0, 0.0)
) -> Corners:
    count = len(np.asarray(offset))
    color = (0.0, 0.0, 0.0, 0.0) if ink is None else (*ink, 1.0)
    return Corners(
        *(
            np.broadcast_to(np.asarray(value, dtype=np.float32), (count, columns)).copy()
            for value, columns in ((place, 3), (along, 3), (offset, 2), (color, 4), (around, 2))
        )
    )
