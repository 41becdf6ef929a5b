"""The corners of the space around a table, from which its steps are seen in isometric view."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from ...fit.assembly_order import Pose

    Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Corner:
    """A corner of the space around the table, from which it is looked at along the space diagonal."""

    pose: Pose
    x: int
    y: int
    """1 or -1: from the right, and from the back, or not."""
    below: bool = False
    """Whether from below, as the table stands."""

    @property
    def axes(self) -> Floats:
        """(3, 3) float; rows to the right, up and toward the eye."""
        up = 1.0 if self.pose == "upright" else -1.0
        z = np.array([self.x, self.y, -up if self.below else up]) / np.sqrt(3.0)
        y = np.array([0.0, 0.0, up]) - up * z[2] * z
        y /= np.linalg.norm(y)
        return np.array([np.cross(y, z), y, z])

    @property
    def words(self) -> str:
        """Such as "from the front right"."""
        depth, across = "back" if self.y > 0 else "front", "right" if self.x > 0 else "left"
        return f"from the {depth} {across}{', below' if self.below else ''}"


FIRST: Final[dict[Pose, Corner]] = {
    "upright": Corner("upright", 1, -1),
    "upside-down": Corner("upside-down", -1, -1),
}
"""The corner that is tried first."""
