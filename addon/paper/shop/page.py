"""A page of the shop set: what it serves, its figures, its drawing, and the frame and title block around that.

The title block has the fields of ISO 7200 (from memory) along the sheet's lower edge:

    ┌──────────────────────────────────────────────────────────────────┐
    │  heading                                                         │
    │  the page's area                                                 │
    ├──────────────────────┬────────────────────────┬──────┬─────┬─────┤
    │ caution, sizes in …  │ table, page's title    │ date │ rev │ 3/9 │
    └──────────────────────┴────────────────────────┴──────┴─────┴─────┘
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

from ...shop.figures import Figure, PageKind
from ...shop.job import Job
from ...sizes.units import Units
from ..sheet import Drawing
from ..sheet.clip import Rectangle
from ..sheet.dimensions import LARGE_LETTERS, LETTERS, OUTLINE, THIN, TITLE_LETTERS, fitted
from ..sheet.lettering import shortened, wrapped
from ..sheet.palette import GRAY
from ..sheet.sheet import A4, CAUTION, LETTER, Sheet

SHEETS: Final[dict[str, Sheet]] = {"a4": A4, "letter": LETTER}
"""`Job.paper` → the sheet, lying."""

BLOCK: Final = 15.0
"""Height of the title block, mm."""

HEADING: Final = 11.0
"""Height of the strip above the area in which the page's title stands, mm."""

_INSET: Final = 4.0
"""From the frame to what stands on the page, mm."""


@dataclass(frozen=True, eq=False)
class ShopPage:
    """One page.

    Parameters
    ----------
    kind : of page
    title : what stands at its head and in the title block: ``Part sheet: rib segments R6 and R8``
    number : tells it from the others of its kind, for the name of its file: ``R6``; "" where it is the only one
    parts : labels of the parts that it serves
    figures : every figure that it prints
    draw : puts all that stands in the page's area there, the rectangle given: left, bottom, right, top, mm
    scale : ``1:5``, or "" where nothing is drawn to scale
    projection : whether views of a part stand on it, whose arrangement the title block names
    full_size : whether it has to be printed at 100 % to be right; it carries bars to measure then
    slip : of an upright page without frame, such as a sheet of labels, where what the title block says stands in a
        line; its area is the whole sheet
    """

    kind: PageKind
    title: str
    draw: Callable[[Drawing, Rectangle], None]
    number: str = ""
    parts: tuple[str, ...] = ()
    figures: tuple[Figure, ...] = ()
    scale: str = ""
    projection: bool = False
    full_size: bool = False
    slip: Rectangle | None = None

    @property
    def name(self) -> str:
        """Of its file: ``part-sheet-R6``."""
        return f"{self.kind}-{self.number}" if self.number else self.kind


def sheet_of(job: Job) -> Sheet:
    """The paper of a set."""
    return SHEETS[job.paper]


def area_of(job: Job) -> Rectangle:
    """What pages may draw on, mm: left, bottom, right, top."""
    left, bottom, right, top = sheet_of(job).frame
    return left + _INSET, bottom + BLOCK + _INSET, right - _INSET, top - HEADING


def finished(page: ShopPage, job: Job, place: int, of: int) -> Drawing:
    """A page as it is printed, the `place`-th, from 1, of a set of so many."""
    sheet = sheet_of(job)
    if page.slip is not None:
        drawing = Drawing(sheet.height, sheet.width, f"{job.table.name}: {page.title}")
        _draw_slip(drawing, page.slip, page, job, f"{place} of {of}")
        page.draw(drawing, (0.0, 0.0, sheet.height, sheet.width))
        return drawing
    drawing = sheet.drawing(f"{job.table.name}: {page.title}")
    left, _, right, top = sheet.frame
    room = right - left - 2 * _INSET
    size = fitted(page.title, TITLE_LETTERS, room)
    drawing.text(
        shortened(page.title, size, room), left + _INSET, top - 3.0, size, vertical="top", weight=0.14,
        name="heading",
    )  # fmt: skip
    _draw_block(drawing, sheet, page, job, place, of)
    page.draw(drawing, area_of(job))
    return drawing


def _draw_slip(drawing: Drawing, slip: Rectangle, page: ShopPage, job: Job, place: str) -> None:
    """What the title block says, in a strip."""
    left, bottom, right, top = slip
    of_set = f"Set {job.fingerprint}, rev. {job.tools.revision}, {job.date}"
    words = f"{job.table.name} · {page.title} · {of_set} · Page {place} · Print at 100 %"
    lines = wrapped(words, LETTERS, right - left)
    pitch = min(1.45 * LETTERS, (top - bottom) / len(lines))
    for row, line in enumerate(lines):
        drawing.text(
            line, left, (bottom + top) / 2 + (len(lines) / 2 - row - 0.5) * pitch, LETTERS, vertical="middle"
        )


_CELLS: Final = (
    (0.27, ""),
    (0.24, "Table"),
    (0.10, "Scale"),
    (0.13, "Date"),
    (0.06, "Rev."),
    (0.12, "Set"),
    (0.08, "Page"),
)
"""Share of the width and caption of each field of the title block."""


def _draw_block(drawing: Drawing, sheet: Sheet, page: ShopPage, job: Job, place: int, of: int) -> None:
    left, bottom, right, _ = sheet.frame
    top = bottom + BLOCK
    drawing.line((left, top), (right, top), OUTLINE)
    words = {
        "Table": job.table.name,
        "Scale": page.scale or "not to scale",
        "Date": job.date,
        "Rev.": job.tools.revision,
        "Set": job.fingerprint,
        "Page": f"{place} of {of}",
    }
    start = left
    for share, caption in _CELLS:
        stop = start + share * (right - left)
        if start > left:
            drawing.line((start, bottom), (start, top), THIN)
        if caption:
            _draw_field(
                drawing,
                (start, bottom, stop, top),
                caption,
                words[caption],
                job if caption == "Table" else None,
            )
        else:
            for row, line in enumerate(_notes(page, job.units, stop - start - 3.0)):
                drawing.text(line, start + 1.5, top - 1.3 - 3.4 * row, LETTERS, vertical="top")
        start = stop


def _notes(page: ShopPage, units: Units, width: float) -> list[str]:
    """What stands in the block's first field, in lines."""
    inches = "inches" if units == "in" else "millimeters"
    notes = f"Sizes in {inches}." + (" First angle projection." if page.projection else "")
    notes += " Print at 100 %." if page.full_size else ""
    return [line for text in (notes, CAUTION) for line in wrapped(text, LETTERS, width)]


def _draw_field(drawing: Drawing, box: Rectangle, caption: str, text: str, job: Job | None) -> None:
    left, bottom, right, top = box
    drawing.text(caption, left + 1.2, top - 1.0, LETTERS, vertical="top", color=GRAY)
    room = right - left - 3.0
    size = fitted(text, LARGE_LETTERS, room, LETTERS)
    drawing.text(shortened(text, size, room), left + 1.5, bottom + 5.4, size)
    if job is not None and job.tools.maker:
        drawing.text(shortened(job.tools.maker, LETTERS, room), left + 1.5, bottom + 1.4, LETTERS)


def document_of(page: ShopPage, place: int) -> dict[str, Any]:
    """A page as JSON has it."""
    return {
        "number": place,
        "kind": page.kind,
        "title": page.title,
        "parts": list(page.parts),
        "figures": [figure.document for figure in page.figures],
    }
