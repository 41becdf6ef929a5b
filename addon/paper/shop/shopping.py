"""The shopping list, with a box to tick for each line."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Final

from ...shop.figures import Figure
from ...shop.job import Job
from ...shop.shopping import shopping_list
from ..sheet import Drawing
from ..sheet.clip import Rectangle
from .page import ShopPage, area_of
from .rows import Column, Listing, Row

_COLUMNS: Final = (
    Column("Got", 12, "middle"),
    Column("What", 58),
    Column("Count", 30, "end"),
    Column("Size", 48),
    Column("Look at, needed for", 120),
)

_BOX: Final = "[ ]"
"""To be ticked."""


def pages(job: Job) -> Iterator[ShopPage]:
    """The list on as many pages as it takes."""
    rows: list[Row] = []
    figures: dict[int, tuple[Figure, ...]] = {}
    for heading, wanted in shopping_list(job):
        rows.append(Row((heading,), wide=True))
        for one in wanted:
            row = Row((_BOX, one.name, one.count, one.size, one.note))
            rows.append(row)
            figures[id(row)] = one.figures
    left, bottom, right, top = area_of(job)
    listing = Listing(_COLUMNS, rows, right - left)
    sheets = listing.pages(top - bottom - 1.0)
    for place, own in enumerate(sheets, 1):
        of = f", {place} of {len(sheets)}" if len(sheets) > 1 else ""
        yield ShopPage(
            "shopping-list", f"Shopping list{of}", partial(_draw, listing, own),
            f"{place}" if len(sheets) > 1 else "",
            figures=tuple(one for row in own for one in figures.get(id(row), ())),
        )  # fmt: skip


def _draw(listing: Listing, rows: list[Row], drawing: Drawing, area: Rectangle) -> None:
    listing.draw(drawing, area[0], area[3], rows)
