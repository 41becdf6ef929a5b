"""The lines of a part's views and sections, as they are seen (ISO 128, from memory)."""

from __future__ import annotations

from typing import Final

import numpy as np

from ....shop.part_sheets import PartSheet
from ....sizes.arrays import Floats
from ....wood.part import Shape
from ...sheet import Pen
from ...sheet.clip import clip_ring
from ...sheet.dimensions import OUTLINE, break_line, chain
from ...sheet.items import Anchor
from ...sheet.palette import HATCH
from ...sheet.sheet import scale_name
from .layout import Cut, Layout
from .placing import Placing, Point
from .views import View, edges_seen, section

_HIDDEN: Final = Pen(0.25, "#000000", (3.0, 0.75))
"""Line 02.1: dashes of 12 and gaps of 3 line widths."""


def draw_views(placing: Placing, sheet: PartSheet, layout: Layout) -> None:
    for view, which in ((layout.front, "front"), (layout.edge, "edge")):
        seen, hidden = edges_seen(sheet.part, sheet.face, which)
        placing.paths(view.paths(hidden), _HIDDEN)
        placing.paths(view.paths(seen), OUTLINE)
        _draw_breaks(placing, view)
    for hole in sheet.shape.holes:
        x, y = layout.front.place(hole.u, hole.v)
        reach = hole.widest / 2 * layout.front.x.scale + 1.5
        placing.line((x - reach, y), (x + reach, y), chain())
        placing.line((x, y - reach), (x, y + reach), chain())
    for cut, view in layout.sections:
        rings = [ring * view.sign for ring in _turned(sheet.shape, cut)]
        edges = np.concatenate([np.stack([ring, np.roll(ring, -1, axis=0)], axis=1) for ring in rings])
        for x0, x1, at_x in view.x.pieces:
            for y0, y1, at_y in view.y.pieces:
                inside = [clip_ring(ring, (x0, y0, x1, y1)) for ring in rings]
                placed = [(ring - (x0, y0)) * view.x.scale + (at_x, at_y) for ring in inside if len(ring) > 2]
                if placed:
                    placing.drawing.hatch(placed, HATCH, 1.6)
        placing.paths(view.paths(edges), OUTLINE)
        _draw_breaks(placing, view)
        placing.solid(view.box)
        left, _, right, top = view.box
        name = f"{cut.letter}-{cut.letter}  {scale_name(view.x.scale)}"
        placing.text(name, (left + right) / 2, top + 2.0, "middle", weight=0.14)


def _turned(shape: Shape, cut: Cut) -> list[Floats]:
    """Rings of a section: x and y of its view before they are turned the right way."""
    rings = section(shape, cut.axis, cut.at)
    return [ring[:, ::-1] for ring in rings] if cut.axis == 0 else rings


def _draw_breaks(placing: Placing, view: View) -> None:
    left, bottom, right, top = view.box
    for x in view.x.breaks:
        for side in (-0.7, 0.7):
            _break(placing, (x + side, bottom - 0.8), (x + side, top + 0.8))
    for y in view.y.breaks:
        for side in (-0.7, 0.7):
            _break(placing, (left - 0.8, y + side), (right + 0.8, y + side))


def _break(placing: Placing, start: Point, end: Point) -> None:
    break_line(placing.drawing, start, end)
    placing.note(placing.drawing.items[-1])


def draw_planes(placing: Placing, layout: Layout) -> None:
    """Where the sections are taken: ends of a chain line, with the letter."""
    left, bottom, right, top = layout.front.box
    places: list[tuple[float, Anchor, float]]
    for cut, _ in layout.sections:
        if cut.axis == 0:
            x = layout.front.x.at(layout.front.sign[0] * cut.at)
            for y, way in ((top, 1), (bottom, -1)):
                placing.line((x, y + way * 0.6), (x, y + way * 2.3), OUTLINE)
            places = [(x + 0.9, "start", top + 1.5), (x - 0.9, "end", top + 1.5)]
            places.extend([(x + 0.9, "start", bottom - 4.0), (x - 0.9, "end", bottom - 4.0)])
        else:
            y = layout.front.y.at(cut.at)
            for x, way in ((left, -1), (right, 1)):
                placing.line((x + way * 0.8, y), (x + way * 4.0, y), OUTLINE)
            places = [(right + 1.2, "start", y + 0.9), (right + 1.2, "start", y - 3.4)]
            places.extend([(left - 1.2, "end", y + 0.9), (left - 1.2, "end", y - 3.4)])
        placing.first_free(cut.letter, places)


def draw_ends(placing: Placing, sheet: PartSheet, layout: Layout) -> None:
    """Which end is which, below the view from above."""
    left, bottom, right, _ = layout.edge.box
    words = ("start", "end") if sheet.face == "back" else ("end", "start")
    placing.text(words[0], left, bottom - 3.6)
    if right - left > 16.0:
        placing.text(words[1], right, bottom - 3.6, "end")
