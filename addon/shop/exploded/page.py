"""The exploded view of a table on a sheet of paper."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ...fit.explosion.explosion import lay_out
from ..lines.hidden import lines_of
from ..lines.labels import column_width, draw_labels
from ..lines.layout import SPACE
from ..lines.picture import RISE, draw_lines, scale_words
from ..lines.surface import surface_of
from ..lines.title_block import Titles, draw_title_block
from ..lines.views import VIEWS
from .arranged import arrange
from .drawn import CLEAR, draw_ways, places_at_the_end
from .insets import insets_of
from .repeats import repeats_of, unit_texts

if TYPE_CHECKING:
    from ...model.assembly import Assembly
    from ..drawing import Drawing
    from ..drawing.sheet import Sheet


def exploded_picture(
    assembly: Assembly, *, date: str, view: str = "isometric", once: bool = False, labels: bool = False,
    sheet: Sheet | None = None,
) -> Drawing:  # fmt: skip
    """A table taken apart.

    Parameters
    ----------
    date : as it is to stand in the title block
    view : one of `VIEWS`
    once : each of several like parts only once, with their number on its label
    labels : with the labels of the parts that are seen
    sheet : A4 or A3 where it must be that

    Raises
    ------
    PartError : where a part has no sound section
    ExportError : where it is too large for the sheet
    """
    seen = VIEWS[view]
    order = lay_out(assembly, assembly.cover)
    repeats = repeats_of(assembly, order.units.members)
    shown = [label for repeat in repeats for unit in repeat.units[: 1 if once else None] for label in unit]
    parts = [part for part in assembly.parts if part.label in shown]
    texts = unit_texts(assembly, repeats, once) if labels or once else {}
    insets = insets_of(assembly, repeats, seen)
    beside = column_width(list(texts.values())) if texts else SPACE
    left = max((inset.size[0] for inset in insets), default=0.0)
    arranged = arrange(order, seen, shown, sheet, left + beside, beside)
    explosion, layout = arranged.explosion, arranged.layout
    surface = surface_of(parts, seen.axes, places_at_the_end(explosion, shown))
    drawing = layout.sheet.drawing(f"{assembly.name}: {seen.name.lower()}, exploded")
    drawn = [draw_lines(drawing, lines_of(surface), layout)]
    drawn.append(draw_ways(drawing, explosion, surface, layout, shown))
    bottom = layout.sheet.frame[1] + SPACE / 2
    for inset in insets:
        inset.draw(drawing, layout.sheet, layout.sheet.frame[0] + SPACE / 2, bottom)
        bottom += inset.size[1] + SPACE / 2
    if texts:
        rise = 0.0 if seen.isometric else RISE
        words, lines = [texts[part.label] for part in parts], np.concatenate(drawn)
        draw_labels(drawing, words, surface, lines, layout.scale, layout.place, layout.room, rise, CLEAR)
    titles = Titles(assembly.name, seen.name, "exploded", scale_words(seen, layout.parts), date)
    draw_title_block(drawing, layout.sheet, titles)
    return drawing
