"""How the pages of a set-up are laid out: lists with large numbers, drawings beside them, notes and cautions below."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

from ...shop.job import Job
from ..sheet import Drawing
from ..sheet.clip import Rectangle
from ..sheet.dimensions import LETTERS
from ..sheet.lettering import wrapped
from . import set_up_drawings as drawings
from .cautions import Place, draw_short, short_height
from .page import ShopPage, area_of
from .rows import Block, Column, Listing, Row, draw_blocks, flowed

LARGE: Final = 5.0
"""Height of a number to set, mm."""

_GAP: Final = 4.0
"""Between columns, mm."""

Sketch = Callable[[Drawing, float, float], None]


@dataclass(frozen=True, eq=False)
class SetUp:
    """All pages of one tool.

    Parameters
    ----------
    number : in the names of its files
    columns : lists side by side, each with its share of the width
    sketches : drawings beside them, from the top down
    notes : sentences below the lists
    """

    number: str
    title: str
    place: Place
    columns: tuple[tuple[float, tuple[tuple[tuple[Column, ...], list[Row]], ...]], ...]
    sketches: tuple[Sketch, ...]
    notes: tuple[str, ...] = ()


def pages_of(job: Job, one: SetUp) -> Iterator[ShopPage]:
    """As many as its lists take, each with the drawings, the notes and the cautions."""
    left, bottom, right, top = area_of(job)
    wide = right - left - drawings.WIDTH - _GAP
    notes = [line for note in one.notes for line in wrapped(note, LETTERS, right - left)]
    below = short_height(one.place, right - left) + 2.0 + (3.7 * len(notes) + 2.0 if notes else 0.0)
    room = top - bottom - below
    columns: list[tuple[float, list[list[Block]]]] = []
    at = left
    for share, lists in one.columns:
        width = share * wide - (_GAP if share < 1 else 0.0)
        blocks = [block for heads, rows in lists for block in Listing(heads, rows, width).blocks(room)]
        columns.append((at, flowed(blocks, room)))
        at += share * wide
    count = max(len(flow) for _, flow in columns)
    for number in range(count):
        shown = [(x, flow[number]) for x, flow in columns if number < len(flow)]

        def draw(drawing: Drawing, area: Rectangle, shown: list[tuple[float, list[Block]]] = shown) -> None:
            for x, blocks in shown:
                draw_blocks(drawing, x, area[3], blocks)
            for place, sketch in enumerate(one.sketches[: int(room / drawings.HEIGHT)]):
                sketch(drawing, area[2] - drawings.WIDTH, area[3] - (place + 1) * drawings.HEIGHT)
            for row, line in enumerate(reversed(notes)):
                drawing.text(line, area[0], area[1] + below - 3.7 * (len(notes) - row) + 0.2, LETTERS)
            draw_short(drawing, one.place, area)

        figures = tuple(
            dict.fromkeys(cell for _, blocks in shown for block in blocks for cell in block.figures)
        )
        labels = tuple(dict.fromkeys(figure.part for figure in figures if figure.part))
        which = f" {number + 1} of {count}" if count > 1 else ""
        name = f"{one.number}-{number + 1}" if count > 1 else one.number
        yield ShopPage("set-up", f"Set-up: {one.title}{which}", draw, name, labels, figures)
