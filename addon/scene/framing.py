"""Where a camera must stand to see everything, and where labels go beside the drawing (no bpy here).

A view has right, up and back (toward the eye) as axes. Picture coordinates are meters on a plane square to the view,
from the picture's middle, right and up.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

Margins = tuple[float, float, float, float]
"""Left, right, bottom, top: shares of the picture's width or height to be kept free."""


@dataclass(frozen=True, eq=False)
class View:
    """A view square to the picture (no perspective)."""

    axes: Floats
    """(3, 3) float; rows are right, up and back."""
    middle: Floats
    """(3,) float, m: a point seen in the middle of the picture."""
    width: float
    """What the picture is wide, m."""
    height: float

    def project(self, points: Floats) -> Floats:
        """(n, 3) float, m, to (n, 2) picture coordinates."""
        return (np.atleast_2d(points) - self.middle) @ self.axes[:2].T


def axes_of(elevation: float, azimuth: float) -> Floats:
    """(3, 3) float: right, up and back of an eye `elevation` degrees above the horizon.

    The eye looks from the front (from -y) at azimuth 0, from the left (-x) at azimuth -90.
    """
    up, turn = np.radians(elevation), np.radians(azimuth)
    back = np.array([np.sin(turn) * np.cos(up), -np.cos(turn) * np.cos(up), np.sin(up)])
    right = np.array([np.cos(turn), np.sin(turn), 0.0])
    return np.array([right, np.cross(back, right), back])


def fit(points: Floats, axes: Floats, size: tuple[int, int], margins: Margins) -> View:
    """The view along `axes` that just takes in (n, 3) float points, m, within the margins.

    Parameters
    ----------
    size : picture in pixels
    """
    left, right, bottom, top = margins
    seen = points @ axes.T
    low, high = seen.min(axis=0), seen.max(axis=0)
    ratio = size[1] / size[0]
    across = (high[0] - low[0]) / (1.0 - left - right)
    width = max(across, (high[1] - low[1]) / (1.0 - bottom - top) / ratio)
    height = width * ratio
    x = (low[0] + high[0]) / 2 + (right - left) / 2 * width
    y = (low[1] + high[1]) / 2 + (top - bottom) / 2 * height
    middle = np.array([x, y, (low[2] + high[2]) / 2]) @ axes
    return View(axes, middle, float(width), float(height))


def eye_for(points: Floats, axes: Floats, size: tuple[int, int], angle: float, margin: float) -> Floats:
    """Where an eye with perspective stands to see (n, 3) float points, m: (3,) float, m.

    Parameters
    ----------
    angle : width of the picture as an angle, radians
    margin : share of width and height kept free on every side
    """
    slope = np.array([np.tan(angle / 2), np.tan(angle / 2) * size[1] / size[0]]) * (1.0 - 2.0 * margin)
    seen = points @ axes.T
    # A point is in the picture where |x - eye x| <= slope · (eye z - z): the tightest of these planes on either side
    # fix the eye's x (and y) and the least distance.
    high = (seen[:, :2] + slope * seen[:, 2:]).max(axis=0)
    low = (seen[:, :2] - slope * seen[:, 2:]).min(axis=0)
    distance = float(((high - low) / (2.0 * slope)).max())
    across = (high + low) / 2
    return np.array([across[0], across[1], distance]) @ axes


@dataclass(frozen=True)
class Spot:
    """A label beside the drawing."""

    x: float
    y: float
    """Middle of the label's edge that faces the drawing, in picture coordinates."""
    on_left: bool


def beside(
    anchors: Floats, edges: tuple[float, float], spacing: float, low: float, high: float
) -> list[Spot]:
    """Places for labels in a column at the left and one at the right, so that leaders do not cross.

    Parameters
    ----------
    anchors : (n, 2) float, what each label points at
    edges : x of the left and of the right column
    spacing : least distance between labels, m
    low, high : range of y that the columns may take
    """
    middle = (edges[0] + edges[1]) / 2
    places = np.zeros((len(anchors), 2))
    lefts = anchors[:, 0] < middle
    for on_left in (True, False):
        chosen = np.flatnonzero(lefts == on_left)
        order = chosen[np.argsort(anchors[chosen, 1])]
        places[order, 0] = edges[0] if on_left else edges[1]
        places[order, 1] = _spread(anchors[order, 1], spacing, low, high)
        _uncross(anchors, places, chosen)
    return [Spot(float(x), float(y), bool(left)) for (x, y), left in zip(places, lefts, strict=True)]


def _spread(wanted: Floats, spacing: float, low: float, high: float) -> Floats:
    """Rising values at least `spacing` apart, each near the one wanted, within the range if they fit."""
    found = np.array(wanted, dtype=float)
    for index in range(1, len(found)):
        found[index] = max(found[index], found[index - 1] + spacing)
    if len(found) and found[-1] > high:
        found[-1] = high
        for index in range(len(found) - 2, -1, -1):
            found[index] = min(found[index], found[index + 1] - spacing)
    return np.maximum(found, low + spacing * np.arange(len(found)))


def _uncross(anchors: Floats, places: Floats, chosen: Sequence[int] | NDArray[np.intp]) -> None:
    """Swaps places until no two leaders cross; each swap shortens the leaders, so it ends."""
    swapped = True
    while swapped:
        swapped = False
        for first in chosen:
            for second in chosen:
                if first < second and crosses(anchors[first], places[first], anchors[second], places[second]):
                    places[[first, second]] = places[[second, first]]
                    swapped = True


def crosses(a: Floats, b: Floats, c: Floats, d: Floats) -> bool:
    """Whether the open segments a-b and c-d, (2,) float each, cross."""

    def side(p: Floats, q: Floats, r: Floats) -> float:
        return float((q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]))

    return side(a, b, c) * side(a, b, d) < 0 and side(c, d, a) * side(c, d, b) < 0
