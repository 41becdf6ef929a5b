"""The page of reserved space: what is kept free for what, upside down as cables are laid, and what cables are for."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Final

import numpy as np

from ...shop.job import Job
from ...wood.reserved import LOW_VOLTAGE
from ..lines.hidden import Lines, hidden_lines
from ..reserved_lines import draw_spaces, name_spaces, points_of, words_of
from ..sheet import Drawing
from ..sheet.clip import Rectangle
from ..sheet.dimensions import LETTERS
from ..sheet.lettering import wrapped
from ..sheet.sheet import REDUCTIONS, scale_name
from ..table_page import draw_lines
from ..views import VIEWS, OnSheet
from .page import ShopPage, area_of, sheet_of

_LINE: Final = 4.4
_VIEW: Final = VIEWS["below"]
_AROUND: Final = 8.0
"""Beside the view, for names, mm."""


def pages(job: Job) -> Iterator[ShopPage]:
    """One, where any space is reserved."""
    if not job.assembly.reserved:
        return
    area = area_of(job)
    words = _words(job, area)
    layout = _layout(job, area, _LINE * (len(words) + 1))
    draw = partial(_draw, job, words, layout)
    title = f"Reserved space: {job.table.name}"
    yield ShopPage("drawing", title, draw, "reserved", scale=scale_name(1 / layout.parts))


def _words(job: Job, area: Rectangle) -> list[str]:
    """What is reserved, a line each, then what cables are for."""
    spaces = job.assembly.reserved
    said = [
        "Narrow lines of long dashes and two dots: nothing may stand there or pass, not even a screw.",
        *(f"{words_of(one, job.units)}." for one in spaces),
    ]
    if any(one.entry.form == "cable" for one in spaces):
        said.append(LOW_VOLTAGE)
    return [line for text in said for line in wrapped(text, LETTERS, area[2] - area[0])]


def _layout(job: Job, area: Rectangle, above: float) -> OnSheet:
    """The view at the largest standard scale below the words."""
    left, bottom, right, top = area
    lines = _lines(job)
    points = [lines.ends[:, :, :2].reshape(-1, 2), points_of(job.assembly.reserved, _VIEW.axes)]
    low, high = np.concatenate(points).min(axis=0), np.concatenate(points).max(axis=0)
    room = np.array([right - left, top - above - bottom]) - 2 * _AROUND
    most = float(((high - low) * _VIEW.enlarged / room).max())
    parts = next((parts for parts in (*REDUCTIONS, 200, 500) if parts >= most), 1000)
    scale = _VIEW.enlarged / parts
    middle = np.array([left + right, bottom + top - above]) / 2
    place = middle - (low + high) / 2 * scale
    return OnSheet(sheet_of(job), parts, scale, place, (left, bottom, right, top - above))


def _lines(job: Job) -> Lines:
    return hidden_lines(job.assembly.parts, _VIEW.axes, job.assembly.cover)


def _draw(job: Job, words: list[str], layout: OnSheet, drawing: Drawing, area: Rectangle) -> None:
    left, _, _, top = area
    for row, line in enumerate(words):
        drawing.text(line, left, top - _LINE * row, LETTERS, vertical="top")
    draw_lines(drawing, _lines(job), layout)
    spaces, box = job.assembly.reserved, layout.box
    drawn = draw_spaces(drawing, spaces, _VIEW.axes, layout.scale, layout.place, box)
    name_spaces(drawing, drawn, {one.label: words_of(one, None) for one in spaces}, box)
