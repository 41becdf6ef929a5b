"""Letters of features on their part, the grain's arrow, and the marks that are put on the wood."""

from __future__ import annotations

import numpy as np

from ....shop.part_sheets import Lettered, PartSheet
from ....wood.features import EdgeTreatment, Opening
from ...sheet.dimensions import LETTERS, THIN, arrow_head
from ...sheet.lettering import text_width
from .layout import Layout
from .placing import Placing, Point


def call_out(placing: Placing, sheet: PartSheet, layout: Layout) -> None:
    """The letter of each feature, at it."""
    for one in sheet.features:
        if isinstance(one.feature, Opening) and _within(placing, layout, one):
            continue
        for point in _anchors(layout, one):
            if all(abs(point[0] - x) > 2.0 for x in layout.front.x.breaks) and placing.call_out(
                one.letter, point
            ):
                break


_CROSS = 1.2
"""Half of a head's cross, mm on paper."""


def draw_heads(placing: Placing, sheet: PartSheet, layout: Layout) -> None:
    """A cross where each screw or brad is marked on the face."""
    low = sheet.shape.blank.low
    for one in sheet.marks:
        x, y = layout.front.place(low[0] + one.u, low[1] + one.v)
        placing.line((x - _CROSS, y), (x + _CROSS, y))
        placing.line((x, y - _CROSS), (x, y + _CROSS))


def _within(placing: Placing, layout: Layout, one: Lettered) -> bool:
    """The letter in an opening, where that has room; whether it has."""
    assert isinstance(one.feature, Opening)
    blank_low, blank_high = layout.front.box[:2], layout.front.box[2:]
    (x0, y0), (x1, y1) = (
        layout.front.place(u, v)
        for u, v in ((one.feature.u0, one.feature.v0), (one.feature.u1, one.feature.v1))
    )
    left, right = max(min(x0, x1), blank_low[0]), min(max(x0, x1), blank_high[0])
    bottom, top = max(min(y0, y1), blank_low[1]), min(max(y0, y1), blank_high[1])
    shares = [k / 16 for k in range(1, 16)]
    places = [
        (left + across * (right - left), bottom + up * (top - bottom) - LETTERS / 2)
        for up in (0.5, 0.7, 0.3)
        for across in sorted(shares, key=lambda share: abs(share - 0.25))
    ]
    return placing.letter(one.letter, [place for place in places if top - bottom > LETTERS + 1.2])


def _anchors(layout: Layout, one: Lettered) -> list[Point]:
    """Points of a feature that are seen on the front view."""
    feature, place = one.feature, layout.front.place
    if isinstance(feature, Opening):
        wide = feature.u1 - feature.u0
        points = []
        if not feature.open_above:
            points = [
                (feature.u0 + wide * share, feature.v1) for share in (0.25, 0.1, 0.4, 0.75, 0.05, 0.95, 0.6)
            ]
        points += [
            (feature.u0 + wide * share, feature.v0) for share in (0.25, 0.1, 0.4, 0.75, 0.05, 0.95, 0.6)
        ]
        box = layout.front.box
        return [
            (x, y)
            for x, y in (place(*point) for point in points)
            if box[0] <= x <= box[2] and box[1] <= y <= box[3]
        ]
    u, v = one.at
    x, y = place(u, v)
    left, _bottom, right, _top = layout.front.box
    if isinstance(feature, EdgeTreatment):
        return [(x + by, y) for by in (0.0, 9.0, -9.0, 18.0, -18.0, 30.0, -30.0) if left <= x + by <= right]
    return [(x + by, y) for by in (0.0, 12.0, -12.0, 24.0, -24.0, 45.0, -45.0) if left <= x + by <= right]


def draw_grain(placing: Placing, sheet: PartSheet, layout: Layout) -> None:
    """An arrow both ways along the grain, and the word."""
    if sheet.part.stock.grain == "none":
        return
    left, bottom, right, top = layout.front.box
    word, level = text_width("grain", LETTERS), sheet.part.grain == "u"
    for share_y in (0.5, 0.75, 0.25, 0.85, 0.15, 0.65, 0.35, 0.93):
        for share_x in (0.5, 0.3, 0.7, 0.15, 0.85, 0.4, 0.6, 0.22, 0.78):
            x, y = left + share_x * (right - left), bottom + share_y * (top - bottom)
            half = word / 2 + 4.5
            if level:
                box, ends = (x - half, y - 0.6, x + half, y + LETTERS + 1.4), ((x - half, y), (x + half, y))
            else:
                box, ends = (x - LETTERS - 1.4, y - half, x + 0.6, y + half), ((x, y - half), (x, y + half))
            inside = left < box[0] and right > box[2] and bottom < box[1] and top > box[3]
            if inside and placing.free(box):
                placing.line(*ends)
                way = np.subtract(ends[1], ends[0]) / (2 * half)
                arrow_head(placing.drawing, ends[1], way)
                arrow_head(placing.drawing, ends[0], -way)
                if level:
                    placing.text("grain", x, y + 0.9, "middle")
                else:
                    placing.text("grain", x - 0.9, y, "middle", angle=90.0)
                return


def draw_marks(placing: Placing, layout: Layout) -> None:
    """The mark of the reference edge, a V on it, and that of the face, a loop, as they are put on the wood."""
    left, bottom, right, top = layout.front.box
    for share in (0.06, 0.94, 0.12, 0.88, 0.2, 0.8, 0.3, 0.7, 0.5):
        x = left + share * (right - left)
        box = (x - 2.4, bottom + 0.4, x + 2.4, bottom + 9.0)
        if box[0] < left or box[2] > right or box[3] > top or not placing.free(box):
            continue
        placing.paths([np.array([(x - 1.4, bottom + 3.0), (x, bottom + 0.6), (x + 1.4, bottom + 3.0)])], THIN)
        turn = np.linspace(-0.5 * np.pi, 1.2 * np.pi, 24)
        loop = np.stack([x + 1.5 * np.cos(turn), bottom + 6.2 + 1.5 * np.sin(turn)], axis=1)
        placing.paths([np.concatenate([[(x, bottom + 3.2)], loop])], THIN)
        return
