"""The drawing: a sheet on which lines, areas, lettering and images are put."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ...sizes.arrays import Floats
from .clip import Rectangle, clip_path, clip_ring, hatch_lines
from .items import BLACK, Anchor, Fill, Image, Item, Pen, Stroke, Text
from .lettering import text_box

VerticalAnchor = Literal["base", "middle", "top"]


class Drawing:
    """A sheet of paper; everything in mm, x to the right and y up from the lower left corner.

    Parameters
    ----------
    width, height : of the sheet, mm
    title : for readers of the file
    """

    def __init__(self, width: float, height: float, title: str = "") -> None:
        self.width = width
        self.height = height
        self.title = title
        self.items: list[Item] = []
        self._clip: Rectangle | None = None

    @contextmanager
    def clipped(self, rectangle: Rectangle) -> Iterator[None]:
        """Within this, lines and areas are cut by the rectangle (left, bottom, right, top, mm); lettering is not."""
        before, self._clip = self._clip, rectangle
        try:
            yield
        finally:
            self._clip = before

    def strokes(self, paths: Sequence[ArrayLike], pen: Pen, closed: bool = False, name: str = "") -> None:
        """Polylines of one pen, (n, 2) mm each."""
        arrays = [np.asarray(path, dtype=float) for path in paths]
        if self._clip is not None:
            inside = [_within(path, self._clip) for path in arrays]
            whole = closed and all(inside)
            if not whole:
                cut = [
                    [path] if within and not closed else clip_path(path, self._clip, closed)
                    for path, within in zip(arrays, inside, strict=True)
                ]
                arrays, closed = [piece for pieces in cut for piece in pieces], False
        if arrays:
            self.items.append(Stroke(tuple(arrays), pen, closed, name))

    def polyline(self, points: ArrayLike, pen: Pen, closed: bool = False, name: str = "") -> None:
        """A line through (n, 2) points, mm."""
        self.strokes([points], pen, closed, name)

    def line(self, start: ArrayLike, end: ArrayLike, pen: Pen, name: str = "") -> None:
        """A straight line."""
        self.strokes([np.array([start, end], dtype=float)], pen, name=name)

    def fill(self, rings: Sequence[ArrayLike], color: str, name: str = "") -> None:
        """An area, (n, 2) mm a ring; rings inside others are holes."""
        arrays = [np.asarray(ring, dtype=float) for ring in rings]
        if self._clip is not None:
            arrays = [clip_ring(ring, self._clip) for ring in arrays]
        arrays = [ring for ring in arrays if len(ring) > 2]
        if arrays:
            self.items.append(Fill(tuple(arrays), color, name))

    def polygon(
        self, ring: ArrayLike, fill: str | None = None, pen: Pen | None = None, name: str = ""
    ) -> None:
        """A ring, (n, 2) mm, filled or outlined or both."""
        if fill is not None:
            self.fill([ring], fill, name)
        if pen is not None:
            self.strokes([ring], pen, closed=True, name="" if fill is not None else name)

    def rectangle(
        self, box: Rectangle, fill: str | None = None, pen: Pen | None = None, name: str = ""
    ) -> None:
        """Left, bottom, right, top, mm."""
        left, bottom, right, top = box
        self.polygon([(left, bottom), (right, bottom), (right, top), (left, top)], fill, pen, name)

    def circle(
        self,
        center: ArrayLike,
        radius: float,
        fill: str | None = None,
        pen: Pen | None = None,
        name: str = "",
    ) -> None:
        """A circle, of 48 sides: within 0.01 mm up to a radius of 4 mm."""
        turns = np.linspace(0.0, 2.0 * np.pi, 48, endpoint=False)
        ring = np.asarray(center, dtype=float) + radius * np.stack([np.cos(turns), np.sin(turns)], axis=1)
        self.polygon(ring, fill, pen, name)

    def hatch(
        self, rings: Sequence[ArrayLike], pen: Pen, spacing: float, degrees: float = 45.0, name: str = ""
    ) -> None:
        """Parallel lines over an area, (n, 2) mm a ring."""
        arrays = [np.asarray(ring, dtype=float) for ring in rings]
        if self._clip is not None:
            arrays = [clip_ring(ring, self._clip) for ring in arrays]
        arrays = [ring for ring in arrays if len(ring) > 2]
        lines = hatch_lines(arrays, spacing, degrees) if arrays else []
        if lines:
            self.items.append(Stroke(tuple(lines), pen, False, name))

    def text(
        self, text: str, x: float, y: float, size: float, anchor: Anchor = "start", *,
        vertical: VerticalAnchor = "base", angle: float = 0.0, color: str = BLACK, weight: float = 0.1,
        halo: float = 0.0, name: str = "",
    ) -> Text:  # fmt: skip
        """A line of lettering; `vertical` says what lies at y: the base line, the middle or top of the capitals."""
        drop = {"base": 0.0, "middle": size / 2, "top": size}[vertical]
        turn = np.radians(angle)
        x, y = float(x + drop * np.sin(turn)), float(y - drop * np.cos(turn))
        item = Text(text, x, y, size, anchor, angle, color, weight, halo, name)
        if text:
            self.items.append(item)
        return item

    def image(self, pixels: NDArray[np.uint8], box: Rectangle, name: str = "") -> None:
        """A picture of (rows, columns, 3) uint8 dots in a rectangle: left, bottom, right, top, mm."""
        self.items.append(Image(pixels, box, name))

    def texts(self) -> list[tuple[Text, Rectangle]]:
        """All lettering with the box that it takes."""
        return [(item, text_box(item)) for item in self.items if isinstance(item, Text)]

    def named(self, name: str) -> list[Item]:
        """The items of a name, in the order of drawing."""
        return [item for item in self.items if item.name == name]


def _within(path: Floats, rectangle: Rectangle) -> bool:
    low, high = path.min(axis=0), path.max(axis=0)
    left, bottom, right, top = rectangle
    return bool(low[0] >= left and low[1] >= bottom and high[0] <= right and high[1] <= top)
