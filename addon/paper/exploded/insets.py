"""Groups that go in whole, taken apart on their own in a corner of the sheet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from ...check.apart.explosion import lay_out
from ...sizes.errors import ExportError
from ..lines.hidden import lines_of
from ..lines.labels import draw_labels
from ..lines.layout import Layout
from ..lines.picture import draw_lines, scale_words
from ..lines.surface import surface_of
from ..sheet.dimensions import LETTERS, THIN
from ..sheet.lettering import text_width
from ..slide_page.words import scale_name
from .arranged import corners, explosion_in
from .drawn import CLEAR, draw_ways, places_at_the_end
from .repeats import group_name

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from ...check.apart.explosion import Explosion
    from ...wood.assembly import Assembly
    from ..lines.layout import ViewFrom
    from ..sheet import Drawing
    from ..sheet.sheet import Sheet
    from .repeats import Repeat

    Floats = NDArray[np.float64]

_HEIGHT: Final = 90.0
"""Of the drawing in an inset at most, mm on the paper."""

_AROUND: Final = 4.0
_HEADING: Final = 7.0
_BESIDE: Final = 16.0
"""Room around the drawing, for the heading and for labels at either side, mm."""

_OUT: Final = 1.3
"""By how much of its own size a part comes out from behind another: more than all of it."""

_PARTS: Final = (1, 2, 5, 10, 20, 50, 100)
"""Reductions of ISO 5455 (from memory)."""


@dataclass(frozen=True, eq=False)
class Inset:
    """A group taken apart."""

    explosion: Explosion
    repeat: Repeat
    view: ViewFrom
    parts: int
    low: Floats
    high: Floats
    """(2,) float each: corners of the drawing, mm in the view's axes."""

    @property
    def scale(self) -> float:
        """Of the paper."""
        return self.view.enlarged / self.parts

    @property
    def heading(self) -> str:
        """What stands above it."""
        name = group_name(self.explosion.layout.assembly, self.repeat.first)
        scale = scale_name(1 / self.parts) if self.view.true else scale_words(self.view, self.parts)
        return f"{name.capitalize()} ×{self.repeat.count}, {scale}"

    @property
    def size(self) -> tuple[float, float]:
        """Width and height, mm on the paper."""
        width, height = ((self.high - self.low) * self.scale).tolist()
        least = text_width(self.heading, LETTERS)
        return max(width + 2 * _BESIDE, least) + 2 * _AROUND, height + 2 * _AROUND + _HEADING

    def draw(self, drawing: Drawing, sheet: Sheet, left: float, bottom: float) -> None:
        """Puts it on the sheet with its lower left corner at a point, mm."""
        width, height = self.size
        box = left, bottom, left + width, bottom + height
        drawing.rectangle(box, None, THIN, name="inset")
        drawing.text(self.heading, left + _AROUND, box[3] - 3.0, LETTERS, vertical="top", weight=0.15)
        middle = np.array([left + width / 2, bottom + (height - _HEADING) / 2 + 1.0])
        place = middle - (self.low + self.high) / 2 * self.scale
        layout = Layout(sheet, self.parts, self.scale, place, box)
        assembly = self.explosion.layout.assembly
        parts = [assembly.by_label[label] for label in self.repeat.first]
        places = places_at_the_end(self.explosion, self.repeat.first)
        surface = surface_of(parts, self.view.axes, places)
        drawn = draw_lines(drawing, lines_of(surface), layout)
        ways = draw_ways(drawing, self.explosion, surface, layout, self.repeat.first)
        texts = [part.label for part in parts]
        room = left + 1.0, bottom + 1.0, box[2] - 1.0, box[3] - _HEADING
        draw_labels(
            drawing, texts, surface, np.concatenate([drawn, ways]), self.scale, place, room, 0.0, CLEAR
        )


def insets_of(assembly: Assembly, repeats: tuple[Repeat, ...], view: ViewFrom) -> list[Inset]:
    """An inset for each kind of unit that is glued up of several parts, the first of each taken apart.

    Raises
    ------
    PartError : for features that run together
    ExportError : where one is too large for the paper
    """
    return [_inset(assembly, repeat, view) for repeat in repeats if len(repeat.first) > 1]


def _inset(assembly: Assembly, repeat: Repeat, view: ViewFrom) -> Inset:
    """The first of a kind of unit taken apart, at the largest scale at which it is not too high."""
    order = lay_out(assembly, assembly.cover, [[label] for label in repeat.first])
    for parts in _PARTS:
        explosion = explosion_in(order, view, view.enlarged / parts, _OUT)
        points = corners(explosion, view.axes, repeat.first)[:, :2]
        inset = Inset(explosion, repeat, view, parts, points.min(axis=0), points.max(axis=0))
        if (inset.high - inset.low)[1] * inset.scale <= _HEIGHT:
            return inset
    raise ExportError(
        f"{assembly.name} cannot be drawn exploded: {'+'.join(repeat.first)} is too large for the paper even at"
        f" 1:{_PARTS[-1]}."
    )
