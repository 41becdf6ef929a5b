"""Where a camera must stand to see everything (no bpy here).

A view has right, up and back (toward the eye) as axes. Picture coordinates are meters on a plane square to the view,
from the picture's middle, right and up.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...sizes.arrays import Floats

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
