"""Variants of a table beside each other on one sheet, at one scale, with the figures that differ below."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import accumulate
from typing import Final

import numpy as np

from ..check.progress import Steps, run_through
from ..designs.words.answer import Lines as AnswerLines
from ..reports.variants import Difference, Variant, differences
from ..sizes.arrays import Floats
from ..sizes.errors import ExportError
from ..sizes.words import capital
from .lines.hidden import Lines, lines_of
from .lines.seen import surface_of
from .sheet import Drawing
from .sheet.dimensions import LARGE_LETTERS, LETTERS, THIN, fitted
from .sheet.lettering import shortened, text_width
from .sheet.palette import grade_mark
from .sheet.sheet import A3, A4, BLOCK_HEIGHT, REDUCTIONS, Sheet, Titles, draw_title_block
from .table_page import LEAVES, Leaves, draw_lines, scale_words
from .views import SPACE, OnSheet, ViewFrom, view_from

_PITCH: Final = 5.0
"""From line to line of the figures, mm."""

_HEAD: Final = 8.0
"""Height of the line with a variant's name, mm."""

_BETWEEN: Final = 6.0
"""Between two columns, mm."""


def side_by_side_steps(
    variants: Sequence[Variant], *, date: str, view: str = "isometric", leaves: Leaves = "covered",
    sheet: Sheet | None = None, answers: Sequence[AnswerLines] = (),
) -> Steps[Drawing]:  # fmt: skip
    """Each variant's outlines and edges over its name and the figures in which it differs from the others.

    All stand at one scale, and the room's floor is at one height. Figures for which the sheet has no room are counted.

    Parameters
    ----------
    date : as it is to stand in the title block
    view : as of `view_from`
    sheet : A4 or A3 where it must be that; by default that which shows them larger
    answers : the three lines of each variant; () where nobody asked

    Raises
    ------
    PartError : where a part has no sound section
    ExportError : where they are too large for the sheet, or there is no such view
    """
    seen = view_from(view)
    drawn = []
    for number, variant in enumerate(variants):
        yield 0.8 * number / len(variants)
        assembly = variant.assembly
        places = assembly.cover if leaves == "covered" else {}
        drawn.append(lines_of(surface_of(assembly.parts, seen.axes, places)))
    yield 0.8
    rows = differences(variants)
    layouts = _layouts(variants, drawn, seen, rows, sheet, _head(answers))
    first = layouts[0]
    name = variants[0].table.name
    drawing = first.sheet.drawing(f"{name}: {len(variants)} variants, {seen.name.lower()}")
    for number, (variant, lines, layout) in enumerate(zip(variants, drawn, layouts, strict=True)):
        draw_lines(drawing, lines, layout)
        answer = answers[number] if answers else ()
        _draw_figures(drawing, layout, number, len(variants), variant.name, rows, answer)
    words = f"{len(variants)} variants, {LEAVES[leaves]}"
    draw_title_block(
        drawing, first.sheet, Titles(name, f"{seen.name}, {words}", scale_words(seen, first.parts), date)
    )
    return drawing


def side_by_side_picture(
    variants: Sequence[Variant], *, date: str, view: str = "isometric", leaves: Leaves = "covered",
    sheet: Sheet | None = None, answers: Sequence[AnswerLines] = (),
) -> Drawing:  # fmt: skip
    """The same without a pause."""
    steps = side_by_side_steps(variants, date=date, view=view, leaves=leaves, sheet=sheet, answers=answers)
    return run_through(steps)


def _layouts(
    variants: Sequence[Variant], drawn: Sequence[Lines], view: ViewFrom, rows: Sequence[Difference],
    sheet: Sheet | None, head: float,
) -> list[OnSheet]:  # fmt: skip
    """Where each stands: in the middle of its column, as if all stood on one place of the floor."""
    points = np.concatenate([lines.ends[:, :, :2].reshape(-1, 2) for lines in drawn])
    low, high = points.min(axis=0), points.max(axis=0)
    found: list[tuple[int, list[OnSheet]]] = []
    for paper in (A4, A3) if sheet is None else (sheet,):
        left, _, right, top = paper.frame
        bottom = _figures_top(paper, len(variants), rows, head)
        width = (right - left) / len(variants)
        room = np.array([width - _BETWEEN, top - bottom - 2 * SPACE])
        for parts in REDUCTIONS:
            scale = view.enlarged / parts
            if ((high - low) * scale <= room).all():
                middles = [
                    np.array([left + (n + 0.5) * width, (bottom + top) / 2]) for n in range(len(variants))
                ]
                found.append((parts, [_layout(paper, parts, scale, low, high, middle) for middle in middles]))
                break
    if not found:
        raise ExportError(f"{variants[0].table.name}: {len(variants)} variants are too large for one sheet.")
    return min(found, key=lambda one: one[0])[1]


def _layout(paper: Sheet, parts: int, scale: float, low: Floats, high: Floats, middle: Floats) -> OnSheet:
    place = middle - (low + high) / 2 * scale
    x0, y0, x1, y1 = (float(one) for one in (*(low * scale + place), *(high * scale + place)))
    return OnSheet(paper, parts, scale, place, (x0, y0, x1, y1))


def _head(answers: Sequence[AnswerLines]) -> float:
    """Height of a variant's name and its three lines, mm."""
    return _HEAD + _PITCH * max((len(one) for one in answers), default=0)


def _figures_top(paper: Sheet, count: int, rows: Sequence[Difference], head: float) -> float:
    """Upper end of names and figures, mm; they take no more than half of what the title block leaves."""
    left, bottom, right, top = paper.frame
    half = (top - bottom - BLOCK_HEIGHT) / 2
    lines = sum(_lines_of(row, (right - left) / count - _BETWEEN) for row in rows)
    return bottom + BLOCK_HEIGHT + SPACE / 2 + head + min(lines * _PITCH, half)


def _lines_of(row: Difference, width: float) -> int:
    """Lines that a figure takes in a column: two where name and value do not stand beside each other."""
    widest = max(text_width(value, LETTERS) for value in row.values)
    return 1 if text_width(row.name, LETTERS) + 2.0 + widest <= width else 2


def _draw_figures(
    drawing: Drawing, layout: OnSheet, number: int, count: int, name: str, rows: Sequence[Difference],
    answer: AnswerLines,
) -> None:  # fmt: skip
    """The name, the three lines and the figures of one variant in its column."""
    left, bottom, right, _ = layout.sheet.frame
    width = (right - left) / count
    start, end = left + number * width + _BETWEEN / 2, left + (number + 1) * width - _BETWEEN / 2
    head = _head([answer])
    top = _figures_top(layout.sheet, count, rows, head)
    size = fitted(name, LARGE_LETTERS, end - start, LETTERS)
    drawing.text(shortened(name, size, end - start), start, top - 4.5, size, weight=0.14, name="variant")
    for place, line in enumerate(answer):
        middle = top - 9.0 - place * _PITCH
        grade_mark(drawing, start + 1.6, middle, 2.9, line.grade)
        words = f"{capital(line.name)}: {line.short}"
        drawing.text(
            shortened(words, LETTERS, end - start - 4.4), start + 4.4, middle, LETTERS, vertical="middle", name="answer"
        )  # fmt: skip
    y = top - head + 1.5
    drawing.line((start, y), (end, y), THIN)
    room = int((y - bottom - BLOCK_HEIGHT - 1.0) / _PITCH)
    taken = list(accumulate(_lines_of(row, end - start) for row in rows))
    fits = len(rows) if not rows or taken[-1] <= room else sum(one < room for one in taken)
    for row in rows[:fits]:
        y -= _PITCH
        drawing.text(shortened(row.name, LETTERS, end - start), start, y, LETTERS)
        if _lines_of(row, end - start) == 2:
            y -= _PITCH
        drawing.text(
            shortened(row.values[number], LETTERS, end - start), end, y, LETTERS, "end", name="figure"
        )
    if fits < len(rows):
        drawing.text(f"and {len(rows) - fits} more figures that differ", start, y - _PITCH, LETTERS)
