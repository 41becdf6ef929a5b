"""Labels to stick on: what stands on each, and where labels lie on a sheet of them, as it was entered."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import ceil, floor
from typing import Final

from ..sizes.tolerances import CONTACT
from .boards import sawn_stocks
from .cut_list import cut_list
from .figures import Figure
from .job import Job
from .part_sheets import part_sheets
from .pieces import is_left

PAPER: Final = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""Width and height of the paper, held upright, mm: ISO 216, ASME Y14.1 (from memory)."""


MARGIN: Final = 5.0
"""That a printer leaves white at the sheet's edges, mm (common practice, no source)."""
LINE: Final = 3.0
"""Height that a line of lettering takes, mm."""


@dataclass(frozen=True, eq=False)
class Tag:
    """What stands on one label.

    Parameters
    ----------
    label : of the part, or of what is left over
    name : what it is, in words
    sizes : length and width as sawn last, of a part its thickness too
    sheet : where its sizes are, in words; "" where nowhere else
    edge : the edge that its places are measured from; "" where it has none
    """

    label: str
    name: str
    sizes: tuple[Figure, ...]
    sheet: str
    edge: str


@dataclass(frozen=True)
class Grid:
    """Labels on an upright sheet of paper, mm: as many as fit below its upper and right of its left margin."""

    paper: tuple[float, float]
    left: float
    top: float
    width: float
    height: float
    gap: float

    @cached_property
    def across(self) -> int:
        """Labels in a row."""
        return max(floor((self.paper[0] - self.left + self.gap + CONTACT) / (self.width + self.gap)), 1)

    @cached_property
    def down(self) -> int:
        """Rows."""
        return max(floor((self.paper[1] - self.top + CONTACT) / self.height), 1)

    @property
    def strips(self) -> tuple[tuple[float, float], ...]:
        """Bottom and top of the margins above and below the labels, as far as a printer prints and a line fits in."""
        below = self.paper[1] - self.top - self.down * self.height
        margins = ((self.paper[1] - self.top, self.paper[1] - MARGIN), (MARGIN, below))
        return tuple((low, high) for low, high in margins if high - low >= LINE)

    @property
    def first(self) -> int:
        """The first one for a part: where there is no margin, what every page says stands on the one before."""
        return 0 if self.strips else 1

    @property
    def count(self) -> int:
        """For parts, on one sheet."""
        return max(self.across * self.down - self.first, 1)

    def box(self, number: int) -> tuple[float, float, float, float]:
        """Of the `number`-th label, from 0, row by row from the upper left: left, bottom, right, top, mm."""
        row, column = divmod(number, self.across)
        left = self.left + column * (self.width + self.gap)
        top = self.paper[1] - self.top - row * self.height
        return left, top - self.height, left + self.width, top

    def sheets(self, labels: int) -> int:
        """How many sheets so many labels take."""
        return ceil(labels / self.count)


def grid_of(job: Job) -> Grid:
    """The sheet of labels of a set."""
    tools = job.tools
    return Grid(
        PAPER[job.paper], tools.label_left, tools.label_top, tools.label_width, tools.label_height, tools.label_gap
    )  # fmt: skip


def tags(job: Job) -> tuple[Tag, ...]:
    """One for every part and rim strip, in the order of the cut list, then one for every piece that is left over."""
    sheets = {}
    for sheet in part_sheets(job):
        sheets |= dict.fromkeys(sheet.labels, sheet)
    found = []
    for stock in cut_list(job):
        for line in stock.lines:
            sizes = line.length, line.width, line.thickness
            for label in line.labels:
                part = job.drawn.by_label.get(label)
                if part is None:
                    found.append(Tag(label, line.name, sizes, "", ""))
                    continue
                sheet = sheets[label]
                name = "plain parts" if sheet.plain else f"sheet {sheet.labels[0]}"
                bare = not part.shape.features and part.shape.is_rectangle
                found.append(Tag(label, part.name, sizes, name, "" if bare else "lower edge"))
    return (*found, *sorted(_left_over(job), key=lambda tag: (len(tag.label), tag.label)))


def _left_over(job: Job) -> list[Tag]:
    found = []
    for stock in sawn_stocks(job):
        for sheet in stock.sheets:
            for piece in sheet.whole.leaves:
                if is_left(piece.label):
                    sizes = tuple(
                        job.rule.figure(f"{piece.label}: {name}", mm, "down")
                        for name, mm in zip(("length", "width"), piece.box[2:], strict=True)
                    )
                    found.append(
                        Tag(
                            piece.label,
                            f"left over, {stock.stock.name}",
                            sizes,
                            f"cut sheet {sheet.number}",
                            "",
                        )
                    )
    return found
