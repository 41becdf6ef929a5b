"""One part in a box of a page: front view, the view from above below it (first angle), sections, and its dimensions."""

from __future__ import annotations

from collections.abc import Sequence

from ....shop.part_sheets import Entry, PartSheet
from ...sheet.clip import Rectangle
from .layout import RIGHT, TIER, Layout, cuts_of, layout_of, outer
from .marks import call_out, draw_grain, draw_heads, draw_marks
from .outlines import draw_ends, draw_planes, draw_views
from .placing import Label, Placing, Point


def draw_board(
    placing: Placing, box: Rectangle, sheet: PartSheet, sections: bool = True
) -> tuple[str, list[Entry]]:
    """Draws a part; returns the scale, and the dimensions that found no place.

    Parameters
    ----------
    box : left, bottom, right, top, mm
    sections : whether there are any; without them two views have to show all
    """
    cuts = tuple(cuts_of(sheet)) if sections else ()
    layout = layout_of(sheet, cuts, box)
    draw_views(placing, sheet, layout)
    pending = [one for one in sheet.entries if one.span is not None]
    listed = [one for one in sheet.entries if one.span is None and one.figure.name != "thickness"]
    draw_planes(placing, layout)
    draw_ends(placing, sheet, layout)
    pending = _outline(placing, layout, sheet, pending)
    if not _thickness(placing, layout, sheet):
        listed.insert(0, sheet.outline["thickness"])
    pending = _inside(placing, layout, pending)
    pending = _running(placing, layout, pending, 0)
    pending = _running(placing, layout, pending, 1)
    pending = _outside(placing, layout, pending)
    call_out(placing, sheet, layout)
    draw_heads(placing, sheet, layout)
    draw_grain(placing, sheet, layout)
    draw_marks(placing, layout)
    kept = {id(one) for one in (*pending, *listed)}
    return layout.scale, [one for one in sheet.entries if id(one) in kept]


def _label(one: Entry) -> Label:
    return Label(one.figure.printed, one.letter)


def _inside(placing: Placing, layout: Layout, entries: Sequence[Entry]) -> list[Entry]:
    """Sizes of openings within them."""
    left_over = []
    for one in entries:
        span = one.span
        if span is None or span.kind != "inside" or not _placed_inside(placing, layout, one):
            left_over.append(one)
    return left_over


def _placed_inside(placing: Placing, layout: Layout, one: Entry) -> bool:
    assert one.span is not None
    low, high = _ends(layout, one, one.span.beside[0]), _ends(layout, one, one.span.beside[1])
    across = 1 - one.span.axis
    first, last = sorted((low[0][across], high[0][across]))
    shares = (
        (0.35, 0.3, 0.25, 0.2, 0.5, 0.6) if one.span.axis == 0 else (0.8, 0.7, 0.9, 0.6, 0.3, 0.2, 0.45, 0.1)
    )
    for share in shares:
        at = first + share * (last - first)
        points = [_moved(point, across, at) for point in low]
        if placing.size(points[0], points[1], at, _label(one), one.span.axis):
            return True
    return False


def _ends(layout: Layout, one: Entry, beside: float) -> tuple[Point, Point]:
    """Both ends of a dimension on the paper, at some place along the other axis."""
    assert one.span is not None
    place = layout.front.place
    if one.span.axis == 0:
        return place(one.span.low, beside), place(one.span.high, beside)
    return place(beside, one.span.low), place(beside, one.span.high)


def _moved(point: Point, axis: int, to: float) -> Point:
    return (to, point[1]) if axis == 0 else (point[0], to)


def _running(placing: Placing, layout: Layout, entries: Sequence[Entry], axis: int) -> list[Entry]:
    """Places along the board above it, heights left of it."""
    mine = [one for one in entries if one.span and one.span.kind == "running" and one.span.axis == axis]
    if not mine:
        return list(entries)
    left, bottom, right, top = layout.front.box
    stops = []
    for one in mine:
        assert one.span is not None
        points = [_ends(layout, one, beside)[1] for beside in one.span.beside]
        nearest = max(points, key=lambda p: p[1]) if axis == 0 else min(points, key=lambda p: p[0])
        stops.append((nearest, _label(one)))
    start = mine[0].span
    assert start is not None
    corner = _ends(layout, mine[0], start.beside[0])[0]
    if axis == 0:
        at, limits, origin = top + 5.5, (left - 8.0, right + 8.0), (corner[0], top + 0.8)
    else:
        at, limits, origin = left - 4.5, (bottom - 6.0, top + 6.0), (left - 0.8, corner[1])
    placed = placing.running(origin, stops, at, axis, limits)
    done = {id(one) for one, there in zip(mine, placed, strict=True) if there}
    return [one for one in entries if id(one) not in done]


def _outline(placing: Placing, layout: Layout, sheet: PartSheet, entries: Sequence[Entry]) -> list[Entry]:
    """Length and width, beyond the room for what is within them."""
    _left, bottom, right, _top = layout.front.box
    placed = []
    for name, axis in (("length", 0), ("width", 1)):
        one = sheet.outline[name]
        low, high = _nearest(layout, one)
        for tier in range(outer(sheet, axis) - 1, -1, -1):
            level = bottom - 6.2 - TIER * tier if axis == 0 else right + 6.0 + TIER * tier
            if placing.size(low, high, level, _label(one), axis):
                placed.append(id(one))
                break
    return [one for one in entries if id(one) not in placed]


def _outside(placing: Placing, layout: Layout, entries: Sequence[Entry]) -> list[Entry]:
    """Sizes below the front view and right of it, the shorter ones nearer."""
    _left, bottom, right, _top = layout.front.box
    left_over = [one for one in entries if one.span is not None and one.span.kind == "running"]
    sizes = [one for one in entries if one.span is not None and one.span.kind != "running"]

    def order(one: Entry) -> float:
        assert one.span is not None
        return one.span.high - one.span.low

    for one in sorted(sizes, key=order):
        assert one.span is not None
        axis, placed = one.span.axis, False
        nearest = _nearest(layout, one)
        for tier in range(5):
            level = bottom - 6.2 - TIER * tier if axis == 0 else right + 6.0 + TIER * tier
            if (axis == 0 and level < layout.edge.box[3] + 0.5) or (
                axis == 1 and level > right + RIGHT - 4.0
            ):
                break
            placed = placing.size(nearest[0], nearest[1], level, _label(one), axis)
            if placed:
                break
        if not placed:
            left_over.append(one)
    return left_over


def _nearest(layout: Layout, one: Entry) -> tuple[Point, Point]:
    """Ends of a size on the side where its dimension line stands."""
    assert one.span is not None
    pairs = [_ends(layout, one, beside) for beside in one.span.beside]
    if one.span.axis == 0:
        return min(pairs, key=lambda pair: pair[0][1])
    return max(pairs, key=lambda pair: pair[0][0])


def _thickness(placing: Placing, layout: Layout, sheet: PartSheet) -> bool:
    left, bottom, right, top = layout.edge.box
    label = _label(sheet.outline["thickness"])
    return any(
        placing.size((side, bottom), (side, top), at, label, 1)
        for side, at in (
            (right, right + 6.0),
            (right, right + 11.0),
            (left, left - 4.0),
            (left, left - 8.0),
            (right, right + 16.0),
            (left, left - 13.0),
        )
    )
