"""From where a table is looked at, in parallel projection (ISO 5456-2 and ISO 5456-3, from memory)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from ...model.errors import ExportError

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]


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
