"""The drawing of a sheet: its parts with names and sizes, its cuts with numbers, lettering where nothing else is."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from ...shop.boards import SawnStock
from ...shop.figures import Figure
from ...shop.job import Job
from ...shop.pieces import Cut, Piece, SawnSheet, is_left
from ...sizes.arrays import Bools, Floats
from ...sizes.words import codes_in_row
from ..sheet import Drawing, Pen
from ..sheet.clip import Rectangle
from ..sheet.dimensions import LARGE_LETTERS, LETTERS, OUTLINE, THIN, leader, lies_over, spread
from ..sheet.items import BLACK, Text
from ..sheet.lettering import text_box, text_width, wrapped
from .page import area_of

SCALE: Final = 0.1
"""At which a sheet of 2440 by 1220 mm fits on A4; one that does not fit is drawn as large as it can be."""

_LINE: Final = 4.0
"""From line to line of lettering, mm."""

_BESIDE: Final = 15.0
_BELOW: Final = 8.0
"""Room left of the drawing, at least, and below it for running dimensions, mm."""

_LEG: Final = 3.5
"""From the drawing to the number of a running dimension, mm."""

_WASTE_PEN: Final = Pen(0.13, "#8C8C8C")
_TRIMMED: Final = Pen(0.18, BLACK, (3.0, 1.2))

_CLEAR: Final = 0.3
"""From lettering to a line, at least, mm."""

_MIDDLE: Final = 0.383
"""Height of the middle of lettering with its descenders and brackets, in heights of a capital."""

_TRIED: Final = 300
"""Free places for a name that are looked at, the nearest first."""

_LEAST_LEADER: Final = 2.5
"""From a name to the middle of what it is of, at least, mm."""


@dataclass(eq=False)
class Plan:
    """A sheet's drawing, worked out on the page's area.

    Parameters
    ----------
    sheet : its parts and cuts
    size : of the sheet as the mill made it, mm
    scale : of the drawing
    corner : of the sheet's lower left, mm on the paper
    above, below : lines of words
    """

    sheet: SawnSheet
    size: tuple[float, float]
    scale: float
    corner: tuple[float, float]
    above: list[str]
    below: list[str]
    figures: list[Figure] = field(default_factory=list)
    texts: list[Text] = field(default_factory=list)
    hidden: set[int] = field(default_factory=set)
    """Ids of pieces whose cuts are not drawn: strips that are too narrow for it."""
    lines: list[tuple[Cut, tuple[float, float], tuple[float, float]]] = field(default_factory=list)
    """Cuts that are drawn, and the ends of their lines on the paper."""
    gaps: dict[int, Rectangle] = field(default_factory=dict)
    """Number of a cut → the box of the number that stands in its line."""
    leaders: list[Floats] = field(default_factory=list)
    """(2, 2) float each, mm on the paper: from a name to what it is of."""
    running: list[tuple[Cut, Figure]] = field(default_factory=list)

    def box(self, piece: Piece) -> Rectangle:
        """Where a piece lies on the paper: left, bottom, right, top, mm."""
        x, y, width, height = (self.scale * one for one in piece.box)
        left, bottom = self.corner
        return left + x, bottom + y, left + x + width, bottom + y + height

    def line(self, cut: Cut) -> tuple[tuple[float, float], tuple[float, float]]:
        """Where a cut's kerf begins, on the paper."""
        left, bottom, right, top = self.box(cut.piece)
        if cut.piece.axis == "x":
            x = self.corner[0] + self.scale * cut.piece.at
            return (x, bottom), (x, top)
        y = self.corner[1] + self.scale * cut.piece.at
        return (left, y), (right, y)


def planned(job: Job, stock: SawnStock, sheet: SawnSheet, above: str, below: str) -> Plan:
    """Where all of a sheet's drawing stands.

    Parameters
    ----------
    above, below : words over and under it
    """
    left, bottom, right, top = area_of(job)
    size = stock.stock.sheet_length, stock.stock.sheet_width
    over, under = (wrapped(words, LETTERS, right - left) for words in (above, below))
    running = [(one, _running(job, stock, one)) for one in _measured_from_edges(sheet)]
    wide = (text_width(figure.printed, LETTERS) for one, figure in running if one.piece.axis == "y")
    beside = max(_BESIDE, _LEG + max(wide, default=0.0))
    room = right - left - beside, top - bottom - _LINE * (len(over) + len(under) + 1) - _BELOW
    most = min(room[0] / size[0], room[1] / size[1])
    scale = SCALE if most >= SCALE else most
    corner = left + beside, top - _LINE * len(over) - 1.0 - scale * size[1]
    plan = Plan(sheet, size, scale, corner, over, under, running=running)
    small = _name(job, stock, plan, sheet.whole)
    plan.lines = [(one, *plan.line(one)) for one in sheet.cuts if id(one.piece) not in plan.hidden]
    unnamed = [label for one in small for label in _point_at(plan, one)]
    if unnamed:
        words = f"Too small to be named here: {codes_in_row(unnamed)}."
        plan.below = [*wrapped(words, LETTERS, right - left), *plan.below]
    _number(plan)
    plan.figures += [figure for _, figure in plan.running]
    return plan


# -- names


def _name(job: Job, stock: SawnStock, plan: Plan, piece: Piece) -> list[Piece]:
    """Puts a name into each piece of a piece where it fits; returns those that it fits into nowhere.

    Strips that are sawn from one board share a name where one of them is too narrow for its own.
    """
    if piece.axis is None:
        options = _options(job, stock, piece) if piece.label else []
        for lines, figures in options:
            if _put(plan, plan.box(piece), lines):
                plan.figures += figures
                return []
        return [piece] if piece.label else []
    before = len(plan.texts), len(plan.figures)
    missing = [small for one in piece.pieces for small in _name(job, stock, plan, one)]
    count = sum(1 for one in missing for leaf in one.leaves if leaf.label)
    if not missing or not (piece.strip or count == sum(1 for one in piece.leaves if one.label)):
        return missing
    del plan.texts[before[0] :], plan.figures[before[1] :]
    plan.hidden |= {id(one) for one in _cut_pieces(piece)}
    return [] if _put(plan, plan.box(piece), (_names_in(piece),)) else [piece]


def _names_in(piece: Piece) -> str:
    return codes_in_row(one.label for one in piece.leaves if one.label and not is_left(one.label))


def _point_at(plan: Plan, piece: Piece) -> list[str]:
    """Puts a name beside a piece, where nothing stands, with a leader; returns its labels where nothing is free."""
    words = _names_in(piece)
    left, bottom, right, top = plan.box(piece)
    target = np.array([(left + right) / 2, (bottom + top) / 2])
    names = _boxes([text_box(one) for one in plan.texts])
    lines = [_thick(*ends) for _, *ends in plan.lines]
    taken = np.concatenate([names, _boxes([*lines, plan.box(piece)]), *map(_along, plan.leaders)])
    own = np.array(_grown(text_box(Text(words, 0.0, 0.0, LETTERS, "middle")), _CLEAR))
    a, b, c, d = plan.box(plan.sheet.whole)
    xs = np.arange(a - own[0] + 0.5, c - own[2] - 0.5, 2.0)
    ys = np.arange(b - own[1] + 0.5, d - own[3] - 0.5, 1.0)
    places = np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2)
    boxes = own + np.tile(places, 2)
    near = np.clip(target, boxes[:, :2], boxes[:, 2:])
    far = np.hypot(*(near - target).T)
    free = ~_over(boxes, taken).any(axis=1) & (far >= _LEAST_LEADER)
    for place in np.flatnonzero(free)[np.argsort(far[free], kind="stable")][:_TRIED].tolist():
        ends = np.array([near[place], target])
        if not _over(_along(ends), names).any():
            x, y = places[place].tolist()
            plan.texts.append(Text(words, x, y, LETTERS, "middle"))
            plan.leaders.append(ends)
            return []
    return [one.label for one in piece.leaves if one.label]


def _boxes(boxes: Sequence[Rectangle]) -> Floats:
    """(n, 4) float: left, bottom, right, top of each."""
    return np.array(boxes, dtype=float).reshape(-1, 4)


def _over(some: Floats, others: Floats) -> Bools:
    """(n, m) bool: which of (n, 4) boxes lie over which of (m, 4) others by more than a border."""
    return (
        (some[:, None, 0] < others[:, 2])
        & (others[:, 0] < some[:, None, 2])
        & (some[:, None, 1] < others[:, 3])
        & (others[:, 1] < some[:, None, 3])
    )


def _grown(box: Rectangle, by: float) -> Rectangle:
    return box[0] - by, box[1] - by, box[2] + by, box[3] + by


def _thick(start: tuple[float, float], end: tuple[float, float]) -> Rectangle:
    """What a cut's line takes."""
    return _grown(
        (min(start[0], end[0]), min(start[1], end[1]), max(start[0], end[0]), max(start[1], end[1])), 0.25
    )


def _along(ends: Floats) -> Floats:
    """(n, 4) float: small boxes along a line."""
    count = max(2, int(np.hypot(*(ends[1] - ends[0])) / 0.5))
    return np.tile(np.linspace(ends[0], ends[1], count), 2) + (-0.2, -0.2, 0.2, 0.2)


def _cut_pieces(piece: Piece) -> Iterator[Piece]:
    if piece.axis is not None:
        yield piece
        for one in piece.pieces:
            yield from _cut_pieces(one)


def _options(job: Job, stock: SawnStock, piece: Piece) -> list[tuple[tuple[str, ...], list[Figure]]]:
    """What may stand in a piece, the most telling first: its lines, and the figures among them."""
    if is_left(piece.label):
        size = [
            job.rule.figure(f"{piece.label} {name}", mm, "down")
            for name, mm in zip(("length", "width"), piece.box[2:], strict=True)
        ]
    else:
        board = stock.boards[piece.label]
        size = [board.length, board.width]
    words = " × ".join(one.printed for one in size)
    rough = " rough" if piece.label in stock.boards and stock.boards[piece.label].to_fit else ""
    return [
        ((f"{piece.label}  {words}{rough}",), size),
        ((piece.label, f"{words}{rough}"), size),
        ((piece.label,), []),
    ]


def _put(plan: Plan, box: Rectangle, lines: Sequence[str]) -> bool:
    """Puts lines into the middle of a box, lying or, where only that fits, upright; False where neither fits."""
    left, bottom, right, top = box
    x, y = (left + right) / 2, (bottom + top) / 2
    for angle in (0.0, 90.0):
        for size in (LARGE_LETTERS, LETTERS):
            pitch = 1.5 * size
            texts = []
            for row, words in enumerate(lines):
                # The middle of what lettering may take is a little lower than that of its capitals.
                off = ((len(lines) - 1) / 2 - row) * pitch - _MIDDLE * size
                at = (x - off, y) if angle else (x, y + off)
                texts.append(Text(words, *at, size, "middle", angle))
            boxes = [text_box(one) for one in texts]
            if all(
                one[0] >= left + _CLEAR and one[1] >= bottom + _CLEAR and one[2] <= right - _CLEAR
                and one[3] <= top - _CLEAR
                for one in boxes
            ):  # fmt: skip
                plan.texts += texts
                return True
    return False


# -- cuts


def _measured_from_edges(sheet: SawnSheet) -> list[Cut]:
    """Cuts on the floor that are measured from a trimmed edge of the sheet itself."""
    x, y, *_ = sheet.whole.box
    return [
        one for one in sheet.cuts
        if one.on_floor and (one.piece.box[0] == x if one.piece.axis == "y" else one.piece.box[1] == y)
        and one.piece.box[0 if one.piece.axis == "x" else 1] == (x if one.piece.axis == "x" else y)
    ]  # fmt: skip


def _running(job: Job, stock: SawnStock, cut: Cut) -> Figure:
    """From the trimmed edge of the sheet to a cut."""
    return job.rule.figure(f"cut {cut.number} from the trimmed edge", cut.piece.at - stock.trim)


def draw_plan(plan: Plan, drawing: Drawing, area: Rectangle) -> None:
    """All of it."""
    left, bottom, _, top = area
    for row, words in enumerate(plan.above):
        drawing.text(words, left, top - _LINE * row, LETTERS, vertical="top")
    for row, words in enumerate(reversed(plan.below)):
        drawing.text(words, left, bottom + 1.0 + _LINE * row, LETTERS)
    _draw_sheet(plan, drawing)
    _draw_cuts(plan, drawing)
    _draw_running(plan, drawing)
    for ends in plan.leaders:
        leader(drawing, ends, "dot", Pen(0.18))
    drawing.items += plan.texts


def _draw_sheet(plan: Plan, drawing: Drawing) -> None:
    left, bottom = plan.corner
    width, height = (plan.scale * one for one in plan.size)
    drawing.rectangle((left, bottom, left + width, bottom + height), None, OUTLINE)
    drawing.rectangle(plan.box(plan.sheet.whole), None, _TRIMMED)
    names = [_grown(text_box(one), _CLEAR) for one in plan.texts]
    for piece in plan.sheet.whole.leaves:
        box = plan.box(piece)
        if not piece.label and min(box[2] - box[0], box[3] - box[1]) > 0.3:
            holes = [_common(box, one) for one in names if lies_over(box, one)]
            drawing.hatch([_ring(one) for one in (box, *holes)], _WASTE_PEN, 1.2, name="waste")


def _common(one: Rectangle, other: Rectangle) -> Rectangle:
    return max(one[0], other[0]), max(one[1], other[1]), min(one[2], other[2]), min(one[3], other[3])


def _ring(box: Rectangle) -> list[tuple[float, float]]:
    left, bottom, right, top = box
    return [(left, bottom), (right, bottom), (right, top), (left, top)]


def _draw_cuts(plan: Plan, drawing: Drawing) -> None:
    for cut, start, end in plan.lines:
        pen = OUTLINE if cut.on_floor else THIN
        gap = plan.gaps.get(cut.number)
        if gap is None:
            drawing.line(start, end, pen, name="cut")
            continue
        along = 0 if cut.piece.axis == "y" else 1
        first, second = list(start), list(end)
        first[along], second[along] = gap[along] - _CLEAR, gap[along + 2] + _CLEAR
        drawing.line(start, first, pen, name="cut")
        drawing.line(second, end, pen, name="cut")


def _draw_running(plan: Plan, drawing: Drawing) -> None:
    """Running dimensions left of the sheet and below it."""
    left, bottom = plan.corner
    for axis in ("x", "y"):
        own = [(cut, figure) for cut, figure in plan.running if cut.piece.axis == axis]
        along = 0 if axis == "x" else 1
        at = np.array([plan.corner[along] + plan.scale * cut.piece.at for cut, _ in own])
        widths = np.array([text_width(one.printed, LETTERS) + 1.5 if along == 0 else 4.0 for _, one in own])
        low, high = (
            (left, left + plan.scale * plan.size[0])
            if along == 0
            else (bottom, bottom + plan.scale * plan.size[1])
        )
        for (_, figure), start, place in zip(own, at, spread(at, widths, low, high), strict=True):
            if along == 0:
                drawing.polyline([(start, bottom), (start, bottom - 1.0), (place, bottom - 3.0)], THIN)
                drawing.text(figure.printed, place, bottom - _LEG, LETTERS, "middle", vertical="top")
            else:
                drawing.polyline([(left, start), (left - 1.0, start), (left - 3.0, place)], THIN)
                drawing.text(figure.printed, left - _LEG, place, LETTERS, "end", vertical="middle")


def _number(plan: Plan) -> None:
    """Puts the number of each cut into a gap of its line, where there is room for it."""
    boxes = _boxes([_thick(start, end) for _, start, end in plan.lines])
    ring = _ring(plan.box(plan.sheet.whole))
    taken = [_thick(*ends) for ends in zip(ring, [*ring[1:], ring[0]], strict=True)]
    found = np.concatenate(
        [_boxes([*taken, *(text_box(one) for one in plan.texts)]), *map(_along, plan.leaders)]
    )
    for place, (cut, start, end) in enumerate(plan.lines):
        text = _numbered(cut, start, end, np.concatenate([found, np.delete(boxes, place, axis=0)]))
        if text is not None:
            plan.gaps[cut.number] = text_box(text)
            found = np.concatenate([found, _boxes([text_box(text)])])
            plan.texts.append(text)


def _numbered(cut: Cut, start: tuple[float, float], end: tuple[float, float], taken: Floats) -> Text | None:
    """A cut's number in its line, at the place nearest to the line's middle where nothing else is."""
    along = 0 if cut.piece.axis == "y" else 1
    words = f"{cut.number}"
    half = text_width(words, LETTERS) / 2 if along == 0 else 0.7 * LETTERS
    most = (end[along] - start[along]) / 2 - half - 2 * _CLEAR
    if most <= 0:
        return None
    steps = np.outer(np.arange(0.0, most, 1.0), (1.0, -1.0)).ravel()
    places = np.tile(np.array(start), (len(steps), 1))
    places[:, along] = (start[along] + end[along]) / 2 + steps
    places[:, 1] -= LETTERS / 2
    own = np.array(_grown(text_box(Text(words, 0.0, 0.0, LETTERS, "middle")), _CLEAR))
    free = np.flatnonzero(~_over(own + np.tile(places, 2), taken).any(axis=1))
    if not len(free):
        return None
    x, y = places[free[0]].tolist()
    return Text(words, x, y, LETTERS, "middle", weight=0.14)
