"""Pages of the layout: a bottom panel's underside with all that is marked on it, and the same as a list."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Final

import numpy as np

from ...shop.figures import Figure
from ...shop.job import Job
from ...shop.layout import Layout, Mark, Place, ends_of, layouts, of_run, off_panel
from ...sizes.arrays import Floats
from ...sizes.units import Units, format_size
from ...sizes.words import codes_in_row
from ...wood.reserved import LOW_VOLTAGE
from ..reserved_lines import NAME as RESERVED
from ..reserved_lines import name_spaces
from ..sheet import BLACK, WHITE, Drawing, Pen
from ..sheet.clip import Rectangle
from ..sheet.dimensions import LETTERS, NARROW, OUTLINE, THIN, double_dashed, spread
from ..sheet.free import line_boxes, over
from ..sheet.items import Text
from ..sheet.lettering import shortened, text_box, text_width, wrapped
from ..sheet.sheet import REDUCTIONS, scale_name
from .page import ShopPage, area_of
from .rows import Column, Listing, Row

_TURNED: Final = (
    "Upside down on the bench: left and right are swapped against the drawing; the front lies toward you. Each number"
    " runs from the panel's left or front edge to a line; the X is on the side of the line where the part lies. What"
    " has no number stands against a part that has one."
)
_DASHED: Final = " Dashed: stands off the panel."
_CABLES: Final = " Long dashes and two dots: a cable; the list has its corners, at its middle. "

_LINE: Final = 4.4
_PITCH: Final = 4.8
"""From one mark's number to the next, at best, mm."""

_RISE: Final = 10.0
"""From the panel to the numbers of its marks, mm."""

_HIDDEN: Final = Pen(NARROW, dash=(12 * NARROW, 3 * NARROW))
_EDGE: Final = Pen(0.35)
_GUIDE: Final = Pen(0.13, "#6E6E6E")
_CLEAR: Final = 0.5
"""Between lettering and what is near it, mm."""


def pages(job: Job) -> Iterator[ShopPage]:
    """For each bottom panel its drawing, and the list of all that is on it."""
    several = len(job.assembly.with_role("bottom")) > 1
    for layout in layouts(job):
        number = layout.label if several else ""
        labels = tuple(one.label for one in layout.places)
        title = f"Layout of the underside of {layout.label}, upside down on the bench"
        plan = _plan(layout, area_of(job), job.units)
        yield ShopPage(
            "layout", title, partial(_draw, plan), number, (layout.label, *labels),
            tuple(one.figure for one in layout.marks), scale_name(plan.scale),
        )  # fmt: skip
        yield from _list_pages(job, layout, title, f"{layout.label}-list" if several else "list")


# -- the drawing


@dataclass(eq=False)
class _Plan:
    """A layout on the page.

    Parameters
    ----------
    scale : mm on the paper for a mm of the panel
    corner : the panel's lower left corner on the paper, mm
    words : in lines, from their upper left corner down
    most : mm that number and labels of a mark may take
    """

    layout: Layout
    area: Rectangle
    scale: float
    corner: tuple[float, float]
    words: tuple[float, float, list[str]]
    most: float

    def x(self, at: float) -> float:
        """On the paper, mm."""
        return self.corner[0] + self.scale * at

    def y(self, at: float) -> float:
        """On the paper, mm."""
        return self.corner[1] + self.scale * at

    def box(self, one: Place) -> Rectangle:
        """A part on the paper, mm."""
        return self.x(one.low[0]), self.y(one.low[1]), self.x(one.high[0]), self.y(one.high[1])


def _plan(layout: Layout, area: Rectangle, units: Units) -> _Plan:
    """The largest scale at which the panel fits with its numbers left of it and above it, words above or beside."""
    left, bottom, right, top = area
    words = _TURNED + (_DASHED if any(one.off for one in layout.places) else "")
    for run in layout.runs:
        bend, thick = (format_size(one, units) for one in (run.bend, run.diameter))
        words += _CABLES if run is layout.runs[0] else " "
        words += f"{run.label}: {thick}, bent to {bend} inside at least."
    words += f" {LOW_VOLTAGE}" if layout.runs else ""
    above, beside = (wrapped(words, LETTERS, width) for width in (right - left, _COLUMN))
    rooms = [
        (left, bottom, right, top - len(above) * _LINE, (left, top, above)),
        (left, bottom, right - _COLUMN - 4.0, top, (right - _COLUMN, top, beside)),
    ]
    ways = (_in_room(layout, area, room, most) for room in rooms for most in _MOST)
    return max(ways, key=lambda one: (one.scale, one.most))


def _in_room(
    layout: Layout, area: Rectangle, room: tuple[float, float, float, float, tuple], most: float
) -> _Plan:
    left, bottom, right, top, words = room
    out = [_RISE + _names_width(layout, axis, most) + _NAME for axis in (1, 0)]
    width, height = right - left - out[0] - _NAME, top - bottom - out[1] - _NAME
    fits = [
        1 / parts
        for parts in (*REDUCTIONS, 200)
        if max(layout.size[0] / width, layout.size[1] / height) <= parts
    ]
    scale = fits[0] if fits else 1 / 500
    free = width - scale * layout.size[0], height - scale * layout.size[1]
    corner = left + out[0] + free[0] / 2, bottom + _NAME + free[1] / 2
    return _Plan(layout, area, scale, corner, words, most)


_COLUMN: Final = 48.0
"""Width of the words where they stand beside the panel, mm."""

_NAME: Final = 5.5
"""What the name of a side takes, mm."""

_MOST: Final = (37.0, 42.0, 48.0, 54.0)
"""mm that number and labels of a mark may take, if the drawing does not become smaller for it."""


def _names_width(layout: Layout, axis: int, most: float) -> float:
    widths = [
        _number_width(layout, axis) + text_width(_names(one), LETTERS)
        for one in layout.marks
        if one.axis == axis
    ]
    return min(most, max(widths, default=0.0) + 2.0)


def _number_width(layout: Layout, axis: int) -> float:
    """Of the widest number, with the space behind it, mm."""
    return (
        max(
            (text_width(one.figure.printed, LETTERS) for one in layout.marks if one.axis == axis), default=0.0
        )
        + 2.0
    )


def _names(mark: Mark) -> str:
    ends = f"end of {codes_in_row(mark.before)}" if mark.before and mark.beyond else codes_in_row(mark.before)
    return ", ".join(one for one in (codes_in_row(mark.beyond), ends) if one)


def _draw(plan: _Plan, drawing: Drawing, area: Rectangle) -> None:  # noqa: ARG001  # planned for this area
    x, y, words = plan.words
    for row, line in enumerate(words):
        drawing.text(line, x, y - _LINE * row, LETTERS, vertical="top")
    layout = plan.layout
    panel = plan.x(0), plan.y(0), plan.x(layout.size[0]), plan.y(layout.size[1])
    drawing.rectangle(panel, None, OUTLINE)
    for one in sorted(layout.places, key=lambda one: (one.off > 0, not one.is_rib)):
        drawing.rectangle(plan.box(one), None if one.off else WHITE, _HIDDEN if one.off else _EDGE)
    for axis in (0, 1):
        _draw_marks(plan, drawing, axis)
    _draw_sides(plan, drawing, panel)
    runs = {one.label: one.line * plan.scale + plan.corner for one in layout.runs}
    for points in runs.values():
        with drawing.clipped(panel):
            drawing.polyline(points, double_dashed(), name=RESERVED)
    drawing.circle((panel[0], panel[1]), 1.2, WHITE, OUTLINE)
    drawing.text("0", panel[0], panel[1] - 2.0, LETTERS, vertical="top", weight=0.14)
    _name_places(plan, drawing)
    name_spaces(drawing, runs, {one.label: one.label for one in layout.runs}, plan.area)


def _draw_marks(plan: _Plan, drawing: Drawing, axis: int) -> None:
    """Numbers of one axis above the panel, or left of it, each with the X beside its line."""
    layout = plan.layout
    marks = [one for one in layout.marks if one.axis == axis]
    if not marks:
        return
    wanted = np.array([plan.x(one.at) if axis == 0 else plan.y(one.at) for one in marks])
    low, high = plan.area[axis] + 2.0, plan.area[2 + axis] - 2.0
    pitch = min(_PITCH, (high - low) / len(marks))
    places = spread(wanted, np.full(len(marks), pitch), low, high)
    edge = plan.y(layout.size[1]) if axis == 0 else plan.x(0)
    away = 1.0 if axis == 0 else -1.0

    def point(along: float, out: float) -> tuple[float, float]:
        return (along, edge + away * out) if axis == 0 else (edge + away * out, along)

    for mark, start, place in zip(marks, wanted.tolist(), places.tolist(), strict=True):
        reach = _reach(plan, mark)
        if reach is not None:
            drawing.line(point(start, 0.0), (start, reach) if axis == 0 else (reach, start), _GUIDE)
        drawing.polyline(
            [point(start, 0.0), point(start, 1.5), point(place, 6.0), point(place, _RISE - 1.0)], THIN
        )
        for labels, side in ((mark.beyond, 1.0), (mark.before, -1.0)):
            if labels:
                x, y = point(place + side * 1.5, _RISE - 2.6)
                for way in (1.0, -1.0):
                    drawing.line((x - 0.8, y - way * 0.8), (x + 0.8, y + way * 0.8), THIN)
        _draw_number(plan, drawing, mark, point(place, _RISE))


def _draw_number(plan: _Plan, drawing: Drawing, mark: Mark, at: tuple[float, float]) -> None:
    """A mark's number and behind it the labels of its parts."""
    wide = _number_width(plan.layout, mark.axis)
    names = shortened(_names(mark), LETTERS, plan.most - wide)
    x, y = at
    if mark.axis == 0:
        drawing.text(mark.figure.printed, x + LETTERS / 2, y, LETTERS, angle=90.0, weight=0.14)
        drawing.text(names, x + LETTERS / 2, y + wide, LETTERS, angle=90.0)
    else:
        drawing.text(mark.figure.printed, x, y, LETTERS, "end", vertical="middle", weight=0.14)
        drawing.text(names, x - wide, y, LETTERS, "end", vertical="middle")


def _reach(plan: _Plan, mark: Mark) -> float | None:
    """How far a mark's line runs over the panel to the nearest of its parts, on the paper; None where one is there."""
    own = {*mark.beyond, *mark.before}
    places = [one for one in plan.layout.places if one.label in own]
    if not places:
        return None
    if mark.axis == 0:
        reach = max(one.high[1] for one in places)
        return None if reach >= plan.layout.size[1] - _NEAR else plan.y(reach)
    reach = min(one.low[0] for one in places)
    return None if reach <= _NEAR else plan.x(reach)


_NEAR: Final = 12.0
"""Parts that begin within this of the panel's edge, mm, need no line to there."""


def _draw_sides(plan: _Plan, drawing: Drawing, panel: Rectangle) -> None:
    """The names of the sides around the panel."""
    left, bottom, right, top = panel
    sides = plan.layout.sides
    words = {where: f"{one.label} {_plain(one.name)}" for where, one in sides.items()}
    x, y = (left + right) / 2, (bottom + top) / 2
    if "front" in words:
        drawing.text(words["front"], x, bottom - 2.0, LETTERS, "middle", vertical="top", weight=0.14)
    if "right" in words:
        drawing.text(words["right"], right + 4.5, y, LETTERS, "middle", angle=90.0, weight=0.14)
    out = _RISE + _names_width(plan.layout, 0, plan.most)
    if "back" in words:
        drawing.text(words["back"], x, top + out + 1.0, LETTERS, "middle", weight=0.14)
    out = _RISE + _names_width(plan.layout, 1, plan.most)
    if "left" in words:
        drawing.text(words["left"], left - out - 2.0, y, LETTERS, "middle", angle=90.0, weight=0.14)


def _plain(name: str) -> str:
    """``right side``: as the table stands, not as the panel lies."""
    return name.replace(", ", " ")


def _name_places(plan: _Plan, drawing: Drawing) -> None:
    """Labels beside all parts where nothing else is, else farther off with a leader; those that find no place have
    none: their line has it."""
    lines, ends = line_boxes(drawing), np.empty((0, 4))
    texts = np.array([box for _, box in drawing.texts()]).reshape(-1, 4)
    for one in sorted(plan.layout.places, key=lambda one: max(one.size(0), one.size(1))):
        spots = [(spot, None) for spot in _spots(one.label, plan.box(one))] + list(
            _far(one.label, plan.box(one))
        )
        boxes = np.array([text_box(spot) for spot, _ in spots]) + (-_CLEAR, -_CLEAR, _CLEAR, _CLEAR)
        free = np.flatnonzero(~(over(boxes, np.concatenate([lines, ends])) | over(boxes, texts)))
        for number in free.tolist():
            spot, leader = spots[number]
            if leader is not None:
                along = np.tile(np.linspace(*leader, 40), 2)
                if over(along, texts).any():
                    continue
                drawing.line(*leader, THIN)
                drawing.circle(leader[1], 0.5, BLACK)
                ends = np.concatenate([ends, along])
            drawing.items.append(spot)
            texts = np.concatenate([texts, boxes[number : number + 1]])
            break


def _far(label: str, box: Rectangle) -> Iterator[tuple[Text, tuple[Floats, Floats]]]:
    """Where a label may stand with a leader, the nearest first."""
    left, bottom, right, top = box
    middle = np.array([(left + right) / 2, (bottom + top) / 2])
    half, wide = LETTERS / 2, text_width(label, LETTERS) / 2
    upright = top - bottom > right - left
    reach = (top - bottom if upright else right - left) / 2
    points = [middle] + [
        middle + np.array([0.0, way * reach / 2] if upright else [way * reach / 2, 0.0]) for way in (1, -1)
    ]
    for out in np.arange(4.0, 16.0, 1.0).tolist():
        for point in points:
            for across in (1.0, -1.0):
                for up in (1.0, 0.4, -0.4, -1.0):
                    end = point + np.array([across * out, up * out])
                    x = float(end[0] + across * (wide + 0.8))
                    yield Text(label, x, float(end[1]) - half, LETTERS, "middle"), (end, point)


def _spots(label: str, box: Rectangle) -> Iterator[Text]:
    """Where a part's label may stand: within it, then along either of its long faces, from the middle out."""
    left, bottom, right, top = box
    x, y = (left + right) / 2, (bottom + top) / 2
    half = LETTERS / 2
    yield Text(label, x, y - half, LETTERS, "middle")
    upright = top - bottom > right - left
    length = (top - bottom if upright else right - left) / 2
    steps = np.outer(np.arange(0.0, max(length, 1.0), 1.5), (1.0, -1.0)).ravel()
    for out in (1.0, 2.0):
        for step in steps.tolist():
            if upright:
                yield Text(label, right + out, y + step - half, LETTERS)
                yield Text(label, left - out, y + step - half, LETTERS, "end")
                yield Text(label, left - out, y + step, LETTERS, "middle", 90.0)
                yield Text(label, right + out + LETTERS, y + step, LETTERS, "middle", 90.0)
            else:
                yield Text(label, x + step, top + out, LETTERS, "middle")
                yield Text(label, x + step, bottom - out - LETTERS, LETTERS, "middle")


# -- the list

_COLUMNS: Final = (
    Column("Label", 11.0),
    Column("What", 40.0),
    Column("From the left: near face", 22.0, "end"),
    Column("to", 16.0, "end"),
    Column("From the front: near face", 22.0, "end"),
    Column("to", 16.0, "end"),
    Column("Off the panel", 18.0, "end"),
)

_LISTED: Final = (
    "As on the drawing: from the panel's left and front edges as it lies upside down. Where only one number stands, it"
    " is the near face, and the part itself gives the other. Where an end stands against a rib or side, set it there."
)


def _list_pages(job: Job, layout: Layout, title: str, number: str) -> Iterator[ShopPage]:
    rows, own = [], {}
    for one in layout.places:
        (left, to_left), (front, to_front) = ends_of(job, one)
        off = off_panel(job, one)
        cells = (one.label, one.name, left, to_left or "", front, to_front or "", off or "")
        rows.append(Row(cells))
        own[id(rows[-1])] = tuple(cell for cell in cells if isinstance(cell, Figure))
    for run in layout.runs:
        for place, (x, y, off) in enumerate(of_run(job, run)):
            spot = "start" if not place else "end" if place == len(run.corners) - 1 else f"corner {place}"
            rows.append(Row((run.label, f"{run.name}: {spot}", x, "", y, "", off)))
            own[id(rows[-1])] = (x, y, off)
    left, bottom, right, top = area_of(job)
    above = wrapped(_LISTED, LETTERS, right - left)
    listing = Listing(_COLUMNS, rows, right - left)
    pages = listing.pages(top - bottom - (len(above) + 0.5) * _LINE)
    for place, some in enumerate(pages, 1):
        several = f", {place} of {len(pages)}" if len(pages) > 1 else ""
        labels = tuple(str(row.cells[0]) for row in some)
        figures = tuple(figure for row in some for figure in own[id(row)])
        yield ShopPage(
            "layout", f"{title}: list{several}", partial(_draw_list, listing, some, above),
            f"{number}-{place}" if len(pages) > 1 else number, labels, figures,
        )  # fmt: skip


def _draw_list(
    listing: Listing, rows: Sequence[Row], above: Sequence[str], drawing: Drawing, area: Rectangle
) -> None:
    left, _, _, top = area
    for row, words in enumerate(above):
        drawing.text(words, left, top - _LINE * row, LETTERS, vertical="top")
    listing.draw(drawing, left, top - (len(above) + 0.5) * _LINE, rows)
