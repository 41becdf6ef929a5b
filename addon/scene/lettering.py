"""Words and lines on a picture, before everything else: the layer of paper between the eye and the table."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np
from mathutils import Matrix

from .framing import beside
from .marks import WHITE, line, words
from .materials import plain
from .studio import FAR, NEAR

if TYPE_CHECKING:
    from bpy.types import Material, Object
    from numpy.typing import NDArray

    from .framing import View
    from .studio import Studio

    Floats = NDArray[np.float64]

INK: Final = (0.012, 0.010, 0.009)


def ink() -> Material:
    """What lettering is written with."""
    return plain("Ink", INK, glow=True)


@dataclass(eq=False)
class Paper:
    """The layer that a view without perspective carries before it."""

    studio: Studio
    view: View

    @property
    def unit(self) -> float:
        """One per cent of the picture's height, m."""
        return self.view.height / 100.0

    def put(self, item: Object, x: float, y: float, depth: float = 0.0) -> Object:
        """Puts an object at picture coordinates, `depth` meters behind the front of the layer."""
        matrix = np.eye(4)
        matrix[:3, :3] = self.view.axes.T
        away = FAR - NEAR - depth
        matrix[:3, 3] = self.view.middle + np.array([x, y, away]) @ self.view.axes
        item.matrix_world = Matrix(matrix.tolist())
        return self.studio.add(item)

    def write(
        self,
        text: str,
        x: float,
        y: float,
        height: float,
        material: Material,
        align: str = "LEFT",
        valign: str = "CENTER",
    ) -> Object:
        """Lettering at picture coordinates; `height` of its capitals in units."""
        item = words("Label", text, height * self.unit, material)
        item.data.align_x = align  # type: ignore[union-attr]
        item.data.align_y = valign  # type: ignore[union-attr]
        item.data.space_line = 1.1  # type: ignore[union-attr]
        return self.put(item, x, y)

    def stroke(
        self, points: Floats, width: float, material: Material, closed: bool = False, depth: float = 0.02
    ) -> Object:
        """A line through (n, 2) picture coordinates; `width` in units."""
        return self.put(line("Line", points, width * self.unit, material, closed), 0.0, 0.0, depth)

    def circle(self, at: Floats, radius: float) -> Floats:
        """(48, 2) float: a circle about picture coordinates, `radius` in units."""
        turns = np.linspace(0.0, 2.0 * np.pi, 48, endpoint=False)
        return at + radius * self.unit * np.stack([np.cos(turns), np.sin(turns)], axis=1)


@dataclass(frozen=True)
class Label:
    """Something to say of a place."""

    text: str
    at: tuple[float, float, float]
    """In the scene, m."""
    material: Material
    ring: float = 0.0
    """Radius of a ring around the place, in units; a dot without."""


def label_beside(paper: Paper, labels: list[Label], column: float, height: float) -> None:
    """Writes labels in columns at the left and right of the picture, each with a leader to its place.

    Parameters
    ----------
    column : distance of the columns from the picture's middle, as a share of half its width
    height : of the letters, in units
    """
    if not labels:
        return
    anchors = paper.view.project(np.array([label.at for label in labels]))
    edge = column * paper.view.width / 2
    limit = paper.view.height * 0.42
    spots = beside(anchors, (-edge, edge), height * 5.0 * paper.unit, -limit, limit)
    halo = plain("Halo", WHITE, glow=True)
    for label, anchor, spot in zip(labels, anchors, spots, strict=True):
        away = -1.0 if spot.on_left else 1.0
        paper.write(
            label.text,
            spot.x + away * paper.unit,
            spot.y,
            height,
            label.material,
            "RIGHT" if spot.on_left else "LEFT",
        )
        start = np.array([spot.x, spot.y])
        end = anchor
        if label.ring:
            toward = (start - anchor) / np.linalg.norm(start - anchor)
            end = anchor + toward * label.ring * paper.unit
            paper.stroke(paper.circle(anchor, label.ring), 1.1, halo, closed=True, depth=0.04)
            paper.stroke(paper.circle(anchor, label.ring), 0.5, label.material, closed=True)
        else:
            paper.stroke(paper.circle(anchor, 0.3), 0.6, label.material, closed=True)
        paper.stroke(np.array([start, end]), 0.7, halo, depth=0.04)
        paper.stroke(np.array([start, end]), 0.22, label.material)
