"""The contents of a set: pages that list all pages, to stand behind the first one."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from math import ceil
from typing import Final

from ...shop.job import Job
from ..sheet import Drawing
from ..sheet.clip import Rectangle
from ..sheet.dimensions import LETTERS
from ..sheet.lettering import shortened
from .page import ShopPage, area_of

_LINE: Final = 4.4


def contents(job: Job, others: Sequence[ShopPage]) -> list[ShopPage]:
    """Pages that list all pages of a set, to stand behind its first one."""
    _, bottom, _, top = area_of(job)
    rows = int((top - bottom) / _LINE) - 1
    count = ceil((len(others) + 1) / (2 * rows))
    count = ceil((len(others) + count) / (2 * rows))
    titles = [one.title for one in others]
    titles[1:1] = ["Contents" + (f", {k} of {count}" if count > 1 else "") for k in range(1, count + 1)]
    lines = list(enumerate(titles, 1))
    found = []
    for k in range(count):
        own = lines[2 * rows * k : 2 * rows * (k + 1)]
        draw = partial(_draw_contents, own, rows)
        found.append(
            ShopPage("drawing", titles[1 + k], draw, f"contents-{k + 1}" if count > 1 else "contents")
        )
    return found


def _draw_contents(lines: Sequence[tuple[int, str]], rows: int, drawing: Drawing, area: Rectangle) -> None:
    left, _, right, top = area
    width = (right - left) / 2
    for place, (number, title) in enumerate(lines):
        x, y = left + width * (place // rows), top - 1.0 - _LINE * (place % rows)
        drawing.text(f"{number}", x + 7.0, y, LETTERS, "end", vertical="top", weight=0.14)
        drawing.text(shortened(title, LETTERS, width - 13.0), x + 10.0, y, LETTERS, vertical="top")
