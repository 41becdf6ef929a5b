"""The page of cautions: where the work can hurt, and what comes before any paper."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from ...shop.job import Job
from ..sheet import Drawing
from ..sheet.clip import Rectangle
from ..sheet.dimensions import LARGE_LETTERS
from ..sheet.lettering import wrapped
from .page import ShopPage

FIRST: Final = "Tool manuals, local rules and licensed trades come before anything on these papers."


def pages(job: Job) -> Iterator[ShopPage]:  # noqa: ARG001  # all pages are asked alike
    """The one page."""
    yield ShopPage("cautions", "Cautions", _draw)


def _draw(drawing: Drawing, area: Rectangle) -> None:
    left, _, right, top = area
    for row, line in enumerate(wrapped(FIRST, LARGE_LETTERS, right - left)):
        drawing.text(line, left, top - 5.0 * row, LARGE_LETTERS, vertical="top")
