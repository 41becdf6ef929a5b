"""Small drawings beside the numbers of a set-up: what is measured from where, and which way the wood or the tool goes.

None is to scale; letters on them are those at the heads of the lists. Each draws in a box 62 mm wide and 44 mm high.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import cos, hypot, pi, sin, sqrt
from typing import Final

import numpy as np

from ...sizes.arrays import Floats
from ..sheet import WHITE, Drawing, Pen
from ..sheet.dimensions import ARROW, LETTERS, OUTLINE, THIN, arrow, arrow_head, chain
from ..sheet.items import Anchor

WIDTH: Final = 62.0
HEIGHT: Final = 44.0
"""Of a drawing's box, mm."""

Point = tuple[float, float]

_FINE: Final = Pen(0.18, "#8C8C8C")
_DASHED: Final = Pen(0.25, "#000000", (2.0, 1.0))


class _Plan:
    """Drawing in a box whose lower left corner is the origin."""

    def __init__(self, drawing: Drawing, left: float, bottom: float) -> None:
        self.drawing, self.left, self.bottom = drawing, left, bottom

    def at(self, point: Point) -> Point:
        """On the page."""
        return self.left + point[0], self.bottom + point[1]

    def box(self, low: Point, high: Point, pen: Pen | None = OUTLINE, hatched: bool = False) -> None:
        """A rectangle, white within, or hatched as cut wood is."""
        (a, b), (c, d) = self.at(low), self.at(high)
        self.drawing.rectangle((a, b, c, d), WHITE)
        if hatched:
            self.drawing.hatch([[(a, b), (c, b), (c, d), (a, d)]], _FINE, 2.0)
        if pen is not None:
            self.drawing.rectangle((a, b, c, d), None, pen)

    def circle(self, middle: Point, radius: float, pen: Pen = OUTLINE, filled: bool = True) -> None:
        """A circle."""
        self.drawing.circle(self.at(middle), radius, WHITE if filled else None, pen)

    def line(self, start: Point, end: Point, pen: Pen = THIN) -> None:
        """A straight line."""
        self.drawing.line(self.at(start), self.at(end), pen)

    def words(self, text: str, point: Point, anchor: Anchor = "middle") -> None:
        """Lettering about a point."""
        self.drawing.text(text, *self.at(point), LETTERS, anchor, vertical="middle")

    def feed(self, start: Point, tip: Point) -> None:
        """A thick arrow: which way the wood or the tool goes."""
        arrow(self.drawing, self.at(start), self.at(tip), OUTLINE)

    def span(self, a: Point, b: Point, text: str, place: Point) -> None:
        """A dimension line with heads at both ends, from outside where it is short, and its letter at a place."""
        start, end = np.array(self.at(a)), np.array(self.at(b))
        length = hypot(*(end - start))
        along = (end - start) / length
        if length >= 2.6 * ARROW:
            self.drawing.line(start + along * ARROW * 0.8, end - along * ARROW * 0.8, THIN)
            arrow_head(self.drawing, start, -along)
            arrow_head(self.drawing, end, along)
        else:
            self.drawing.line(start, end, THIN)
            arrow(self.drawing, start - along * 2 * ARROW, start)
            arrow(self.drawing, end + along * 2 * ARROW, end)
        self.drawing.text(text, *self.at(place), LETTERS * 1.2, "middle", vertical="middle", weight=0.15)

    def turning(self, middle: Point, radius: float, start: float, stop: float) -> None:
        """An arc with a head, from one angle to another, degrees: how a bit turns."""
        path = _arc(self.at(middle), radius, start, stop)
        self.drawing.polyline(path, THIN)
        arrow_head(self.drawing, path[-1], path[-1] - path[-2])


def _arc(middle: Point, radius: float, start: float, stop: float) -> Floats:
    """(n, 2) float, mm: points of an arc between two angles, degrees."""
    turns = np.radians(np.linspace(start, stop, 25))
    return np.array(middle) + radius * np.stack([np.cos(turns), np.sin(turns)], axis=1)


def _corners(plan: _Plan, low: Point, high: Point) -> list[Point]:
    """Of a rectangle, on the page."""
    return [plan.at(one) for one in (low, (high[0], low[1]), high, (low[0], high[1]))]


def fence(drawing: Drawing, left: float, bottom: float) -> None:
    """Seen from above: ripping along the fence."""
    plan = _Plan(drawing, left, bottom)
    plan.box((12, 3), (40, 30))
    plan.box((40, 1), (46, 42), THIN, hatched=True)
    plan.line((22, 22), (22, 42), OUTLINE)
    plan.line((23, 22), (23, 42), OUTLINE)
    plan.span((23, 35), (40, 35), "F", (31.5, 38))
    plan.feed((31, 8), (31, 20))
    plan.words("fence", (53, 22))
    plan.words("blade", (16, 38))


def stop_block(drawing: Drawing, left: float, bottom: float) -> None:
    """Seen from above: crosscutting against a stop block that ends before the blade."""
    plan = _Plan(drawing, left, bottom)
    plan.box((10, 12), (58, 26))
    plan.box((4, 18), (10, 32), THIN, hatched=True)
    plan.line((48, 6), (48, 42), OUTLINE)
    plan.line((50, 6), (50, 42), OUTLINE)
    plan.span((10, 33), (48, 33), "S", (29, 36))
    plan.span((10, 7), (50, 7), "K", (29, 10))
    plan.line((10, 26), (10, 34))
    plan.line((10, 6), (10, 12))
    plan.words("stop", (5, 37))
    plan.words("blade", (56, 38))


def taper_jig(drawing: Drawing, left: float, bottom: float) -> None:
    """Seen from above: a board on the jig, its foot over the edge along which the blade saws."""
    plan = _Plan(drawing, left, bottom)
    plan.box((12, 2), (40, 42), THIN)
    plan.box((2, 1), (6, 43), THIN, hatched=True)
    board = [(36, 4), (45, 33), (35.4, 36), (26.4, 7)]
    for start, end in zip(board, [*board[1:], board[0]], strict=True):
        plan.line(start, end, OUTLINE)
    plan.line((40, 0), (40, 44), _DASHED)
    plan.line((45, 33), (45, 40))
    plan.span((40, 38), (45, 38), "A", (54, 38))
    plan.line((36, 4), (36, 1))
    plan.span((36, 2), (40, 2), "B", (50, 2))
    plan.feed((22, 12), (22, 26))
    plan.words("jig", (19, 38))
    plan.words("foot", (30, 39))
    plan.words("blade", (52, 20))


def taper_blade(drawing: Drawing, left: float, bottom: float) -> None:
    """In section: the blade beside the jig's base, a tooth higher than the board on it."""
    plan = _Plan(drawing, left, bottom)
    plan.box((4, 4), (58, 8), THIN, hatched=True)
    plan.box((8, 8), (34, 14), hatched=True)
    plan.box((14, 14), (42, 28), hatched=True)
    plan.box((34, 6), (36, 34))
    plan.line((36, 34), (54, 34))
    plan.line((36, 14), (54, 14))
    plan.span((51, 14), (51, 34), "H", (56, 24))
    plan.words("board", (22, 31))
    plan.words("base", (5, 17), "start")
    plan.words("table", (14, 1.5))
    plan.words("blade", (35, 38))


def bushing(drawing: Drawing, left: float, bottom: float) -> None:
    """In section: the bit in the bushing that runs along a template."""
    plan = _Plan(drawing, left, bottom)
    plan.box((2, 4), (25, 16), hatched=True)
    plan.box((2, 16), (19, 24), hatched=True)
    plan.box((19, 19), (37, 27), THIN)
    plan.box((25, 3), (31, 36))
    plan.line((28, 1), (28, 38), chain())
    plan.line((19, 24), (19, 43))
    plan.line((25, 36), (25, 43))
    plan.span((19, 41), (25, 41), "O", (35, 41))
    plan.words("template", (10.5, 28))
    plan.words("bushing", (38.5, 23), "start")
    plan.words("bit", (32.5, 32), "start")
    plan.words("work", (32.5, 9), "start")


def straightedge(drawing: Drawing, left: float, bottom: float) -> None:
    """Seen from above: the base along a straightedge, the fence on the left of the way that the router goes."""
    plan = _Plan(drawing, left, bottom)
    plan.box((2, 3), (8, 42), THIN, hatched=True)
    plan.box((8, 8), (42, 36), _DASHED)
    plan.box((20, 3), (30, 42), THIN)
    plan.circle((25, 22), 5)
    plan.turning((25, 22), 3, 60, -240)
    plan.feed((36, 12), (36, 30))
    plan.span((8, 5.5), (20, 5.5), "N", (14, 2.2))
    plan.span((8, 39), (30, 39), "R", (13, 42))
    plan.words("cut", (33, 4.5), "start")
    plan.words("base", (43.5, 15), "start")


def glued_template(drawing: Drawing, left: float, bottom: float) -> None:
    """A template glued up from two rails and two spacers."""
    plan = _Plan(drawing, left, bottom)
    plan.box((3, 29), (59, 39))
    plan.box((3, 8), (59, 18))
    plan.box((3, 18), (15, 29))
    plan.box((47, 18), (59, 29))
    plan.words("rail", (31, 34))
    plan.words("rail", (31, 13))
    plan.span((15, 21), (47, 21), "A", (31, 24.5))
    plan.span((9, 18), (9, 29), "B", (12, 23.5))
    plan.words("spacers both ripped to B at once", (31, 3))


def notch_template(drawing: Drawing, left: float, bottom: float) -> None:
    """A template of two strips for a cut that runs out of the board."""
    plan = _Plan(drawing, left, bottom)
    plan.box((6, 6), (52, 34), THIN)
    plan.box((2, 6), (58, 13))
    plan.box((46, 13), (58, 40))
    plan.span((6, 20), (46, 20), "A", (15, 23.5))
    plan.span((26, 13), (26, 34), "B", (29.5, 28))
    plan.line((6, 34), (46, 34), OUTLINE)
    plan.line((6, 13), (6, 34), OUTLINE)
    plan.words("edges of the board", (25, 38))
    plan.words("strips", (31, 9.5))


def clockwise(drawing: Drawing, left: float, bottom: float) -> None:
    """Seen from above: inside an opening the router goes clockwise."""
    plan = _Plan(drawing, left, bottom)
    rings = [_corners(plan, (4, 4), (58, 40)), _corners(plan, (12, 11), (50, 33))]
    drawing.hatch(rings, _FINE, 2.0)
    drawing.strokes(rings, OUTLINE, closed=True)
    plan.circle((18, 27), 4)
    plan.turning((18, 27), 2.4, 60, -240)
    plan.feed((24, 29), (40, 29))
    plan.feed((46, 27), (46, 18))
    plan.feed((40, 15), (22, 15))
    plan.words("clockwise", (32, 22))


def router_table(drawing: Drawing, left: float, bottom: float) -> None:
    """Seen from above: the work's reference edge along the fence, from right to left, then the fence farther back."""
    plan = _Plan(drawing, left, bottom)
    plan.box((2, 34), (60, 40), THIN, hatched=True)
    plan.box((24, 10), (60, 34))
    plan.line((32, 27), (60, 27), THIN)
    plan.line((32, 21), (60, 21), THIN)
    plan.drawing.hatch([[plan.at(one) for one in ((32, 16), (60, 16), (60, 21), (32, 21))]], _FINE, 1.4)
    plan.line((32, 16), (60, 16), _DASHED)
    plan.circle((32, 24), 3)
    plan.turning((32, 24), 5, -60, 120)
    plan.span((17, 27), (17, 34), "H", (13, 30.5))
    plan.line((15, 27), (32, 27), _FINE)
    plan.feed((56, 6), (36, 6))
    plan.words("fence", (31, 42.4))
    plan.words("reference edge at the fence", (31, 2.2))
    plan.words("1", (56, 24))
    plan.words("2", (28, 18.5))


def bearing(drawing: Drawing, left: float, bottom: float) -> None:
    """In section: a bearing on the straight wood between two chamfers."""
    plan = _Plan(drawing, left, bottom)
    ring = [(4, 10), (24, 10), (32, 18), (32, 26), (24, 34), (4, 34)]
    points = [plan.at((float(x), float(y))) for x, y in ring]
    drawing.hatch([points], _FINE, 2.0)
    drawing.polygon(points, None, OUTLINE)
    plan.box((32, 18.5), (44, 25.5))
    plan.circle((38, 22), 1.2)
    cutter = [(36, 26), (32, 26), (23, 35), (53, 35), (44, 26), (40, 26)]
    drawing.polygon([plan.at((float(x), float(y))) for x, y in cutter], None, OUTLINE)
    plan.line((38, 8), (38, 42), chain())
    plan.line((32, 18), (50, 18), _FINE)
    plan.line((44, 26), (50, 26), _FINE)
    plan.span((49, 18), (49, 26), "T", (53, 22))
    plan.words("bearing", (45, 13))


def corner(drawing: Drawing, left: float, bottom: float) -> None:
    """Seen from above: a bearing does not reach into a tighter inside corner, where the chamfer comes out smaller."""
    plan = _Plan(drawing, left, bottom)
    radius, own = 13.0, 5.0
    x, y = 18.0, 6.0
    wall: Sequence[Point] = [(x + 34, y), (x + own, y)]
    arc = _arc((x + own, y + own), own, 270, 180)
    points = np.vstack([np.array(wall), arc, [(x, y + 34)]]) + (left, bottom)
    drawing.polyline(points, OUTLINE)
    plan.circle((x + radius, y + radius), radius, THIN)
    reach = 2.5
    outer = _arc((x + radius, y + radius), radius + reach, 270, 180)
    drawing.polyline(
        np.vstack([[(x + 34, y - reach)], outer, [(x - reach, y + 34)]]) + (left, bottom), _DASHED
    )
    gap = (sqrt(2) - 1) * (radius - own)
    tip = (x + radius - (radius + gap / 2) * cos(pi / 4), y + radius - (radius + gap / 2) * sin(pi / 4))
    plan.words("bearing", (x + radius, y + radius))
    plan.words("C", (6, 8))
    arrow(drawing, plan.at((7.6, 8)), plan.at(tip))
