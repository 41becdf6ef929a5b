"""Dimensions on a drawing so that nothing is printed over anything (ISO 129-1 and ISO 3098-1, from memory).

Everything that is drawn is noted; what has no free place is not drawn, and is said to have none.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from ....sizes.arrays import Bools, Floats
from ...sheet import Drawing, Pen
from ...sheet.clip import Rectangle
from ...sheet.dimensions import ARROW, LETTERS, THIN, arrow_head, lies_over, spread
from ...sheet.items import Anchor, Item, Stroke
from ...sheet.lettering import text_width

_CLEAR: Final = 0.45
"""Around lettering, mm."""

_ABOVE: Final = 0.9
"""From a dimension line to the lettering above it, mm."""

PITCH: Final = 4.0
"""From one line of lettering to the next, mm."""

Point = tuple[float, float]


@dataclass(frozen=True)
class Label:
    """A number with the letter of its feature."""

    text: str
    letter: str = ""

    @property
    def width(self) -> float:
        """Of both, mm."""
        extra = text_width(self.letter, LETTERS) + 1.2 if self.letter else 0.0
        return text_width(self.text, LETTERS) + extra


class Placing:
    """A drawing with all that stands on it.

    Parameters
    ----------
    area : that nothing may leave, mm
    """

    def __init__(self, drawing: Drawing, area: Rectangle) -> None:
        self.drawing, self.area = drawing, area
        self.boxes: list[Rectangle] = []
        self._segments: list[Floats] = [np.empty((0, 4))]
        self._levels: list[tuple[int, float, float, float]] = []

    # -- what is there

    def line(self, start: ArrayLike, end: ArrayLike, pen: Pen = THIN) -> None:
        """A line, free or not."""
        self.paths([np.array([start, end], dtype=float)], pen)

    def paths(self, paths: Sequence[Floats], pen: Pen, closed: bool = False) -> None:
        """Lines, free or not."""
        if paths:
            self.drawing.strokes(paths, pen, closed)
            for path in paths:
                ring = np.concatenate([path, path[:1]]) if closed else path
                self._segments.append(np.concatenate([ring[:-1], ring[1:]], axis=1))

    def note(self, item: Item) -> None:
        """Takes note of lines that are drawn already."""
        if isinstance(item, Stroke):
            self._segments += [np.concatenate([path[:-1], path[1:]], axis=1) for path in item.paths]

    def solid(self, box: Rectangle) -> None:
        """Keeps a box free, such as a hatched area."""
        self.boxes.append(box)

    def text(
        self, text: str, x: float, y: float, anchor: Anchor = "start", size: float = LETTERS, angle: float = 0.0,
        weight: float = 0.1, name: str = "",
    ) -> None:  # fmt: skip
        """Lettering on its base line, free or not."""
        self.drawing.text(text, x, y, size, anchor, angle=angle, weight=weight, name=name)
        self.boxes.append(box_of(text_width(text, size), x, y, anchor, size, angle))

    def first_free(self, text: str, places: Sequence[tuple[float, Anchor, float]]) -> None:
        """Lettering at the first of some places, x, anchor and y, that is free, or at the first of all."""
        wide = text_width(text, LETTERS)
        for x, anchor, y in places:
            if self.free(box_of(wide, x, y, anchor, LETTERS, 0.0)):
                self.text(text, x, y, anchor, weight=0.14)
                return
        x, anchor, y = places[0]
        self.text(text, x, y, anchor, weight=0.14)

    def letter(self, text: str, places: Sequence[Point]) -> bool:
        """A letter in the middle of the first of some places that is free; whether any is."""
        wide = text_width(text, LETTERS)
        for x, y in places:
            if self.free(box_of(wide, x, y, "middle", LETTERS, 0.0)):
                self.text(text, x, y, "middle", weight=0.14)
                return True
        return False

    # -- what is free

    def free(self, *boxes: Rectangle) -> bool:
        """Whether boxes lie within the area over no lettering and no line."""
        left, bottom, right, top = self.area
        segments = np.concatenate(self._segments)
        self._segments = [segments]
        for box in boxes:
            if box[0] < left or box[1] < bottom or box[2] > right or box[3] > top:
                return False
            if any(lies_over(box, other) for other in self.boxes) or crossed(box, segments).any():
                return False
        return True

    def clear(self, *lines: tuple[Point, Point]) -> bool:
        """Whether lines cross no lettering and stay in the area."""
        left, bottom, right, top = self.area
        segments = np.array([[*a, *b] for a, b in lines])
        if (segments[:, [0, 2]] < left).any() or (segments[:, [0, 2]] > right).any():
            return False
        if (segments[:, [1, 3]] < bottom).any() or (segments[:, [1, 3]] > top).any():
            return False
        return not any(crossed(box, segments).any() for box in self.boxes)

    # -- dimensions

    def size(self, low: Point, high: Point, at: float, label: Label, axis: int) -> bool:
        """The dimension between two points, along x (axis 0) or y (axis 1); whether it has a place.

        Parameters
        ----------
        at : y of the dimension line, or x of an upright one, mm
        """
        a, b = sorted((low[axis], high[axis]))
        turn = _Turn(axis, at)
        wide, roomy = label.width, b - a
        extension = [
            (turn.own(point), turn(point[axis], way * 1.2))
            for point in (low, high)
            if abs(point[1 - axis] - at) > 1e-6
            for way in (np.sign(at - point[1 - axis]) * turn.up,)
        ]
        inside = roomy >= max(wide, 0.0) + 2 * ARROW + 1.0
        ends = [(a, b)] if inside else [(a - 2 * ARROW, b + 2 * ARROW)]
        middles = [a + share * roomy for share in (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8)]
        middles = [one for one in middles if a + ARROW < one - wide / 2 and one + wide / 2 < b - ARROW] or [
            (a + b) / 2
        ]
        if roomy < wide + 1.0:
            middles = [b + 2 * ARROW + wide / 2, a - 2 * ARROW - wide / 2]
        for middle in middles:
            reach = min(ends[0][0], middle - wide / 2), max(ends[0][1], middle + wide / 2)
            lines = [*extension, (turn(reach[0]), turn(reach[1]))]
            box = turn.box(middle, wide)
            if self._over_another(axis, at, *reach):
                continue
            if (
                self.free(box)
                and self.clear(*lines)
                and not crossed(box, np.array([[*p, *q] for p, q in lines])).any()
            ):
                for p, q in lines:
                    self.line(p, q)
                way = 1.0 if inside else -1.0
                arrow_head(self.drawing, turn(a), turn.way(-way))
                arrow_head(self.drawing, turn(b), turn.way(way))
                self._letter(label, turn, middle)
                self._levels.append((axis, at, *reach))
                return True
        return False

    def _over_another(self, axis: int, at: float, low: float, high: float) -> bool:
        """Whether a dimension line would lie on another one, or run on from it."""
        return any(
            own == axis and abs(level - at) < LETTERS and low < last + 1.0 and first - 1.0 < high
            for own, level, first, last in self._levels
        )

    def _letter(self, label: Label, turn: _Turn, middle: float) -> None:
        start = middle - label.width / 2
        x, y = turn(start, _ABOVE)
        self.text(label.text, x, y, angle=turn.angle)
        if label.letter:
            x, y = turn(start + label.width, _ABOVE)
            self.text(label.letter, x, y, "end", angle=turn.angle)

    def running(
        self,
        origin: Point,
        stops: Sequence[tuple[Point, Label]],
        at: float,
        axis: int,
        limits: tuple[float, float],
    ) -> list[bool]:
        """Places counted from one origin, on one line; which of them have a place.

        Parameters
        ----------
        origin : the point on the edge that they count from
        stops : the points that they lead to
        at : y of the line, or x of an upright one; the numbers stand beyond it
        limits : between which along the line the numbers may stand
        """
        beyond = np.sign(at - origin[1 - axis])
        order = sorted(range(len(stops)), key=lambda k: stops[k][0][axis])
        chosen: list[int] = []
        for number in order:
            point, label = stops[number]
            if (len(chosen) + 1) * PITCH <= limits[1] - limits[0] and self.clear(
                (point, _at(point[axis], at, axis)),
                (_at(point[axis], at, axis), _at(point[axis], at + beyond * 1.0, axis)),
            ):
                chosen.append(number)
        placed = [False] * len(stops)
        middles = np.empty(0)
        while chosen:
            wanted = np.array([stops[k][0][axis] for k in chosen])
            middles = spread(wanted, np.full(len(chosen), PITCH), *limits)
            wrong = None
            for number, middle in zip(chosen, middles.tolist(), strict=True):
                box = self._stop_box(stops[number][1], middle, at + beyond * 4.2, axis, int(beyond))
                foot = stops[number][0][axis]
                kink = _at(foot, at + beyond * 1.2, axis), _at(middle, at + beyond * 3.8, axis)
                line = _at(origin[axis], at, axis), _at(foot, at, axis)
                if not self.free(box) or not self.clear(kink, line):
                    wrong = number
                    break
            if wrong is None:
                break
            chosen.remove(wrong)
        if not chosen:
            return placed
        far = {"low": min(stops[k][0][axis] for k in chosen), "high": max(stops[k][0][axis] for k in chosen)}
        self.line(origin, _at(origin[axis], at + beyond * 1.2, axis))
        for end in far.values():
            if abs(end - origin[axis]) > 1e-6:
                self.line(_at(origin[axis], at, axis), _at(end, at, axis))
        self.drawing.circle(_at(origin[axis], at, axis), 1.0, None, THIN)
        for number, middle in zip(chosen, middles.tolist(), strict=True):
            point, label = stops[number]
            foot, knee = _at(point[axis], at, axis), _at(point[axis], at + beyond * 1.2, axis)
            self.line(point, foot)
            self.line(foot, knee)
            self.line(knee, _at(middle, at + beyond * 3.8, axis))
            if abs(point[axis] - origin[axis]) > ARROW:
                way = np.zeros(2)
                way[axis] = np.sign(point[axis] - origin[axis])
                arrow_head(self.drawing, foot, way)
            self._stop_text(label, middle, at + beyond * 4.2, axis, int(beyond))
            placed[number] = True
        return placed

    def _stop_box(self, label: Label, middle: float, start: float, axis: int, way: int) -> Rectangle:
        low, high = sorted((start, start + way * label.width))
        if axis == 0:
            return (middle - LETTERS / 2 - _CLEAR, low, middle + LETTERS / 2 + _CLEAR, high)
        return (low, middle - LETTERS / 2 - _CLEAR, high, middle + LETTERS / 2 + _CLEAR)

    def _stop_text(self, label: Label, middle: float, start: float, axis: int, way: int) -> None:
        first: Anchor = "start" if way > 0 else "end"
        step = text_width(label.text, LETTERS) + 1.2
        for text, offset in ((label.text, 0.0), (label.letter, step)):
            if not text:
                continue
            if axis == 0:
                self.text(text, middle + LETTERS / 2, start + way * offset, first, angle=90.0)
            else:
                self.text(text, start + way * offset, middle - LETTERS / 2, first)

    def call_out(
        self, text: str, at: Point, reach: Iterable[float] = (4.0, 6.5, 9.0, 12.0, 16.0, 21.0)
    ) -> bool:
        """A letter near a point, with a leader to it; whether it has a place."""
        wide = text_width(text, LETTERS)
        for far in reach:
            for turn in np.radians([60, 120, 30, 150, 90, 0, 180, -60, -120, -30, -150, -90]):
                x, y = at[0] + far * np.cos(turn), at[1] + far * np.sin(turn)
                box = box_of(wide, x, y - LETTERS / 2, "middle", LETTERS, 0.0)
                tip = at[0] + (far - 2.4) * np.cos(turn), at[1] + (far - 2.4) * np.sin(turn)
                if self.free(box) and self.clear((at, tip)):
                    self.line(at, tip)
                    self.drawing.circle(at, 0.45, THIN.color)
                    self.text(text, x, y - LETTERS / 2, "middle", weight=0.14)
                    return True
        return False


class _Turn:
    """A dimension line along x, or along y with its lettering on the left."""

    def __init__(self, axis: int, at: float) -> None:
        self.axis, self.level = axis, at
        self.up = 1.0 if axis == 0 else -1.0
        self.angle = 90.0 * axis

    def __call__(self, along: float, above: float = 0.0) -> Point:
        return _at(along, self.level + self.up * above, self.axis)

    def own(self, point: Point) -> Point:
        """A point from which an extension line comes."""
        way = np.sign(self.level - point[1 - self.axis])
        return _at(point[self.axis], point[1 - self.axis] + way * 0.8, self.axis)

    def way(self, sign: float) -> Point:
        return (sign, 0.0) if self.axis == 0 else (0.0, sign)

    def box(self, middle: float, wide: float) -> Rectangle:
        x, y = self(middle, _ABOVE)
        return box_of(wide, x, y, "middle", LETTERS, self.angle)


def _at(along: float, across: float, axis: int) -> Point:
    return (along, across) if axis == 0 else (across, along)


def box_of(width: float, x: float, y: float, anchor: Anchor, size: float, angle: float) -> Rectangle:
    """What a line of capitals takes with what is kept free around it, level or upright."""
    start = {"start": 0.0, "middle": -width / 2, "end": -width}[anchor]
    if angle == 0.0:
        return (x + start - _CLEAR, y - _CLEAR, x + start + width + _CLEAR, y + size + _CLEAR)
    return (x - size - _CLEAR, y + start - _CLEAR, x + _CLEAR, y + start + width + _CLEAR)


def crossed(box: Rectangle, segments: Floats) -> Bools:
    """(n,) bool: which segments, (n, 4) float, run through a box (Liang and Barsky, from memory)."""
    low, high = np.array(box[:2]), np.array(box[2:])
    start, step = segments[:, :2], segments[:, 2:] - segments[:, :2]
    with np.errstate(divide="ignore", invalid="ignore"):
        one, two = (low - start) / step, (high - start) / step
    flat = np.abs(step) < 1e-12
    inside = (start > low) & (start < high)
    enter = np.where(flat, np.where(inside, -np.inf, np.inf), np.minimum(one, two)).max(axis=1)
    leave = np.where(flat, np.where(inside, np.inf, -np.inf), np.maximum(one, two)).min(axis=1)
    return (enter < leave) & (leave > 0) & (enter < 1)
