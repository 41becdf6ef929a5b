"""Part sheets: one for each kind of part with cuts in it, and plain boards several on a page.

┌───────────────────────────────────────────────┐
│ R6, R8   2 pieces   rib segment               │  who it is, of what, how many
│ ... which way its faces look, what to measure │
│            the view (`part_view`)             │
│ a slot for L1: width 369 …        section A   │  sizes of the cuts by their letters
└───────────────────────────────────────────────┘
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from ...shop.figures import Figure
from ...shop.job import Job
from ...shop.part_sheets import PartSheet, face_words, part_sheets
from ...sizes.errors import ExportError
from ..sheet import Drawing, Pen
from ..sheet.clip import Rectangle
from ..sheet.dimensions import LARGE_LETTERS, LETTERS, THIN, TITLE_LETTERS, arrow, fitted
from ..sheet.lettering import shortened, text_width, wrapped
from ..sheet.sheet import SCALES, scale_name
from .page import ShopPage, area_of, sheet_of
from .part_view import ABOVE, View, best_face, draw_section, level_dimension, section_sizes, sections_of

_REDUCED: Final = (2.0, 1.0, 0.5, 0.2, 0.1, 0.05, 0.02)
"""Scales of views, the largest first: those of ISO 5455 (from memory)."""

_LINE: Final = 4.2
"""From line to line of lettering, mm."""

_HEAD: Final = 9.0
"""Height of the line with the labels, mm."""

_PLAIN: Final = (3, 3)
"""Plain boards side by side and below one another on a page."""


def pages(job: Job) -> Iterator[ShopPage]:
    """All part sheets: those with cuts one by one in the order of the assembly, then the plain boards."""
    sheets = part_sheets(job)
    for sheet in sheets:
        if not sheet.is_plain:
            yield _page(job, sheet)
    plain = [sheet for sheet in sheets if sheet.is_plain]
    most = _PLAIN[0] * _PLAIN[1]
    groups = [plain[at : at + most] for at in range(0, len(plain), most)]
    for number, group in enumerate(groups, 1):
        yield _plain_page(group, number, len(groups))


# -- one part
# ------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Placed:
    """One word or figure of the list of cuts."""

    text: str
    x: float
    line: int
    weight: float


@dataclass(frozen=True, eq=False)
class _Plan:
    """Where everything on a page stands, mm on the paper."""

    scale: float
    cuts: tuple[_Placed, ...]
    lines: int
    view: Rectangle
    section_scale: float
    sections: Rectangle


def _page(job: Job, sheet: PartSheet) -> ShopPage:
    view = View(sheet, best_face(sheet.part))
    area = area_of(job)
    notes = _notes(job, sheet, area[2] - area[0])
    plan = _planned(sheet, view, area, len(notes))

    def draw(drawing: Drawing, _: Rectangle) -> None:
        _draw_head(drawing, area, sheet, notes)
        view.draw(drawing, view.drawn_at(sheet_of(job), plan.scale, plan.view))
        _draw_cuts(drawing, area, plan)
        _draw_sections(drawing, sheet, plan)

    scale = scale_name(plan.scale)
    return ShopPage(
        "part-sheet",
        f"Part sheet {sheet.heading}",
        draw,
        sheet.labels[0],
        sheet.labels,
        sheet.figures,
        scale,
        projection=bool(sections_of(sheet)),
    )


def _planned(sheet: PartSheet, view: View, area: Rectangle, notes: int) -> _Plan:
    """The largest scale at which the view, the list of its cuts and its sections have room."""
    left, bottom, right, top = area
    top -= _HEAD + _LINE * notes + 1.0
    length, width, _ = sheet.part.shape.size
    for scale in _REDUCED:
        for section_scale in (one for one in SCALES[::-1] if one <= max(0.5, 2 * scale)):
            sizes = list(section_sizes(sheet, section_scale))
            wide = sum(one for one, _ in sizes) + 16.0 * len(sizes)
            high = max((one for _, one in sizes), default=-8.0) + 8.0
            cuts, lines = _flow(sheet, right - left - wide - 4.0)
            below = max(high, lines * _LINE + 2.0)
            room = top - bottom - below
            need = width * scale + ABOVE + view.below
            across = length * scale + max(view.left, 10.0) + max(view.right, 10.0)
            if need <= room and across <= right - left and wide <= 0.5 * (right - left):
                spare = (room - need) / 2
                x0 = left + max(view.left, 10.0)
                x1 = right - max(view.right, 10.0)
                y1 = top - ABOVE - spare
                box = (x0, y1 - width * scale, x1, y1)
                return _Plan(
                    scale, cuts, lines, box, section_scale, (right - wide, bottom, right, bottom + high)
                )
    raise ExportError(f"{sheet.labels[0]} cannot be drawn: it is too large for the paper.")


def _flow(sheet: PartSheet, width: float) -> tuple[tuple[_Placed, ...], int]:
    """The cuts with their sizes in lines of a width: a letter, words, then each size with its figure."""
    placed: list[_Placed] = []
    line = 0
    for cut in sheet.cuts:
        x = 0.0
        placed.append(_Placed(cut.letter, x, line, 0.16))
        x = indent = 6.0
        for word in f"{cut.words}:".split():
            wide = text_width(word, LETTERS)
            if x + wide > width and x > indent:
                x, line = indent, line + 1
            placed.append(_Placed(word, x, line, 0.1))
            x += wide + 1.2
        x += 1.8
        for word, figure in cut.sizes:
            number = figure.printed + ("°" if figure.unit == "°" else "")
            wide = text_width(word, LETTERS) + 1.4 + text_width(number, LETTERS)
            if x + wide > width:
                x, line = indent, line + 1
            placed.append(_Placed(word, x, line, 0.1))
            placed.append(_Placed(number, x + text_width(word, LETTERS) + 1.4, line, 0.16))
            x += wide + 4.0
        line += 1
    return tuple(placed), line


def _notes(job: Job, sheet: PartSheet, width: float) -> list[str]:
    """What is said of the part below its labels."""
    words = []
    faces = face_words(job.assembly, sheet.part)
    seen = best_face(sheet.part)
    looks = f", which looks {faces[seen]}" if faces[seen] in ("up", "down") else ""
    looks = f", the {faces[seen]}" if faces[seen] in ("outside", "inside") else looks
    start = "left" if seen == "back" else "right"
    words.append(
        f"Seen on the {seen} face{looks}; its start is on the {start}. Measure from the start and from the lower edge."
    )
    for gap in dict.fromkeys(sheet.gaps):
        words.append(f"Cut to fit: measure between {' and '.join(gap)} when they stand.")
    if sheet.mirrored:
        words.append(f"{', '.join(sheet.mirrored)}: its mirror image, on a sheet of its own.")
    return wrapped(" ".join(words), LETTERS, width)


def _draw_head(drawing: Drawing, area: Rectangle, sheet: PartSheet, notes: Sequence[str]) -> None:
    """How many, of what, and which way the grain runs; the labels stand in the page's title."""
    left, _, right, top = area
    base = top - 5.0
    count = len(sheet.labels)
    words = f"{count} piece{'s' if count > 1 else ''}"
    drawing.text(words, left, base, TITLE_LETTERS, weight=0.14)
    x = left + text_width(words, TITLE_LETTERS) + 6.0
    thick = sheet.outline["thickness"]
    stock = f"{sheet.part.stock.name}, thickness"
    room = right - x - 62.0
    size = fitted(stock, LARGE_LETTERS, room, LETTERS)
    stock = shortened(stock, size, room)
    drawing.text(stock, x, base, size)
    x += text_width(stock, size) + 2.0
    drawing.text(thick.printed, x, base, LARGE_LETTERS, weight=0.16)
    grain = sheet.part.stock.grain != "none"
    if grain:
        along = sheet.part.grain == "u"
        label = "grain along it" if along else "grain across it"
        drawing.text(label, right, base, LETTERS, "end")
        x = right - text_width(label, LETTERS) - 3.0
        ends = ((x - 12.0, base + 1.2), (x, base + 1.2)) if along else ((x, base - 1.0), (x, base + 5.0))
        middle = ((ends[0][0] + ends[1][0]) / 2, (ends[0][1] + ends[1][1]) / 2)
        arrow(drawing, middle, ends[0])
        arrow(drawing, middle, ends[1])
    for number, line in enumerate(notes):
        drawing.text(line, left, top - _HEAD - _LINE * number, LETTERS, vertical="top")


def _draw_cuts(drawing: Drawing, area: Rectangle, plan: _Plan) -> None:
    left, bottom, _, _ = area
    for one in plan.cuts:
        y = bottom + 0.8 + _LINE * (plan.lines - 1 - one.line)
        drawing.text(one.text, left + one.x, y, LETTERS, weight=one.weight)


def _draw_sections(drawing: Drawing, sheet: PartSheet, plan: _Plan) -> None:
    left, bottom, _, _ = plan.sections
    x = left
    for section, (wide, high) in zip(
        sections_of(sheet), section_sizes(sheet, plan.section_scale), strict=True
    ):
        draw_section(drawing, sheet.part, section, plan.section_scale, x + 8.0, bottom)
        words = f"{section.letter}, {scale_name(plan.section_scale)}"
        drawing.text(words, x + 8.0 + wide / 2, bottom + high + 2.0, LETTERS, "middle")
        x += wide + 16.0


# -- plain boards
# ------------------------------------------------------------------------------------------------------------


def _plain_page(sheets: Sequence[PartSheet], number: int, of: int) -> ShopPage:
    labels = tuple(label for sheet in sheets for label in sheet.labels)
    figures = tuple(figure for sheet in sheets for figure in sheet.figures)

    def draw(drawing: Drawing, area: Rectangle) -> None:
        left, bottom, right, top = area
        columns, rows = _PLAIN
        wide, high = (right - left) / columns, (top - bottom) / rows
        for place, sheet in enumerate(sheets):
            x, y = left + wide * (place % columns), top - high * (place // columns)
            _draw_plain(drawing, sheet, (x, y - high, x + wide, y))

    which = f" {number} of {of}" if of > 1 else ""
    title = f"Part sheet: plain boards{which}"
    return ShopPage("part-sheet", title, draw, f"plain-{number}", labels, figures, "as noted")


def _draw_plain(drawing: Drawing, sheet: PartSheet, box: Rectangle) -> None:
    left, bottom, right, top = box[0] + 1.5, box[1] + 1.5, box[2] - 1.5, box[3] - 1.0
    drawing.rectangle((box[0], box[1], box[2], box[3]), None, Pen(0.18, "#8C8C8C"))
    length, width, thickness = (sheet.outline[name] for name in ("length", "width", "thickness"))
    count = len(sheet.labels)
    lines = wrapped(f"{count} × {', '.join(sheet.labels)}", LARGE_LETTERS, right - left)[:3]
    y = top - 1.0
    for line in lines:
        drawing.text(
            shortened(line, LARGE_LETTERS, right - left), left, y, LARGE_LETTERS, vertical="top", weight=0.14
        )
        y -= 5.0
    said = [f"{sheet.part.kind}; {sheet.part.stock.name}"]
    for gap in dict.fromkeys(sheet.gaps):
        said.append(f"Cut to fit between {' and '.join(gap)}.")
    for line in [one for text in said for one in wrapped(text, LETTERS, right - left)][:4]:
        drawing.text(line, left, y, LETTERS, vertical="top")
        y -= 3.8
    drawing.text("thickness", left, y, LETTERS, vertical="top")
    x = left + text_width("thickness", LETTERS) + 1.4
    drawing.text(thickness.printed, x, y, LETTERS, vertical="top", weight=0.16)
    y -= 5.0
    board = sheet.part.shape.size
    room = (right - left - 14.0 - text_width(width.printed, LETTERS), y - bottom - 7.0)
    scale = next(
        (one for one in _REDUCED if board[0] * one <= room[0] and board[1] * one <= room[1]), _REDUCED[-1]
    )
    long, high = board[0] * scale, board[1] * scale
    x0, y0 = left + 1.0, bottom + 6.5 + (room[1] - high) / 2
    drawing.rectangle((x0, y0, x0 + long, y0 + high), None, Pen(0.5))
    level_dimension(drawing, x0, x0 + long, y0, y0 - 5.5, length.printed)
    _draw_width(drawing, x0 + long, y0, high, width)
    note = scale_name(scale)
    drawing.text(note, right, y + 1.2, LETTERS, "end", vertical="top")


def _draw_width(drawing: Drawing, x: float, y: float, high: float, width: Figure) -> None:
    """The width at the right of a board, its figure beside the middle."""
    for at in (y, y + high):
        drawing.line((x + 0.8, at), (x + 4.5, at), THIN)
    drawing.line((x + 3.0, y - 1.5), (x + 3.0, y + high + 1.5), THIN)
    drawing.text(width.printed, x + 5.5, y + high / 2, LETTERS, vertical="middle")
