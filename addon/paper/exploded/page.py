"""The exploded view of a table on a sheet of paper."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ...check.apart.explosion import lay_out
from ...check.progress import run_through, share_of
from ..lines.hidden import lines_of
from ..lines.labels import column_width, draw_labels
from ..lines.layout import SPACE, view_from
from ..lines.picture import RISE, draw_lines, scale_words
from ..lines.surface import surface_of
from ..lines.title_block import Titles, draw_title_block
from .arranged import arrange
from .drawn import CLEAR, draw_ways, places_at_the_end
from .insets import insets_of
from .repeats import repeats_of, unit_texts

if TYPE_CHECKING:
    from ...check.apart.explosion import Explosion
    from ...check.progress import Steps
    from ...wood.assembly import Assembly
    from ..lines.layout import Layout, ViewFrom
    from ..sheet import Drawing
    from ..sheet.sheet import Sheet
    from .insets import Inset


@dataclass(frozen=True, eq=False)
class ExplodedPage:
    """What goes where on the sheet.

    Parameters
    ----------
    shown : labels of the parts that are drawn
    texts : of their units' labels, by label of the part; empty without labels
    """

    explosion: Explosion
    view: ViewFrom
    layout: Layout
    insets: list[Inset]
    shown: tuple[str, ...]
    texts: dict[str, str]

    def drawing(self, date: str) -> Steps[Drawing]:
        """The sheet; the date as it is to stand in the title block."""
        assembly, layout, view = self.explosion.layout.assembly, self.layout, self.view
        drawing = layout.sheet.drawing(f"{assembly.name}: {view.name.lower()}, exploded")
        parts = [part for part in assembly.parts if part.label in self.shown]
        surface = surface_of(parts, view.axes, places_at_the_end(self.explosion, self.shown))
        lines = lines_of(surface)
        yield 0.3
        edges = draw_lines(drawing, lines, layout)
        yield 0.6
        ways = draw_ways(drawing, self.explosion, surface, layout, self.shown)
        bottom = layout.sheet.frame[1] + SPACE / 2
        for inset in self.insets:
            inset.draw(drawing, layout.sheet, layout.sheet.frame[0] + SPACE / 2, bottom)
            bottom += inset.size[1] + SPACE / 2
        yield 0.8
        if self.texts:
            rise = 0.0 if view.isometric else RISE
            texts, drawn = [self.texts[part.label] for part in parts], np.concatenate([edges, ways])
            draw_labels(drawing, texts, surface, drawn, layout.scale, layout.place, layout.room, rise, CLEAR)
        titles = Titles(assembly.name, view.name, "exploded", scale_words(view, layout.parts), date)
        draw_title_block(drawing, layout.sheet, titles)
        return drawing


def exploded_page(
    assembly: Assembly, *, view: str = "isometric", once: bool = False, labels: bool = False,
    sheet: Sheet | None = None,
) -> Steps[ExplodedPage]:  # fmt: skip
    """A table taken apart, leaves as its top.

    Parameters
    ----------
    view : one of `VIEWS`, or a direction as of `view_from`
    once : each of several like units only once, all with labels, and those of several with their number
    labels : with the labels of the units that are seen
    sheet : A4 or A3 where it must be that

    Raises
    ------
    PartError : where a part has no sound section
    ExportError : for another view, or where it is too large for the sheet
    """
    seen = view_from(view)
    yield 0.0
    order = lay_out(assembly, assembly.cover)
    yield 0.3
    repeats = repeats_of(assembly, order.units.members)
    shown = tuple(
        label for repeat in repeats for unit in repeat.units[: 1 if once else None] for label in unit
    )
    texts = unit_texts(assembly, repeats, once) if labels or once else {}
    insets = insets_of(assembly, repeats, seen)
    beside = column_width(list(texts.values())) if texts else SPACE
    left = max((inset.size[0] for inset in insets), default=0.0)
    arranged = arrange(order, seen, shown, sheet, left + beside, beside)
    explosion, layout = yield from share_of(arranged, 0.4, 1.0)
    return ExplodedPage(explosion, seen, layout, insets, shown, texts)


def exploded_steps(
    assembly: Assembly, *, date: str, view: str = "isometric", once: bool = False, labels: bool = False,
    sheet: Sheet | None = None,
) -> Steps[Drawing]:  # fmt: skip
    """The drawing of `exploded_page`, with a date as it is to stand in the title block."""
    steps = exploded_page(assembly, view=view, once=once, labels=labels, sheet=sheet)
    page = yield from share_of(steps, 0.0, 0.7)
    return (yield from share_of(page.drawing(date), 0.7, 1.0))


def exploded_picture(
    assembly: Assembly, *, date: str, view: str = "isometric", once: bool = False, labels: bool = False,
    sheet: Sheet | None = None,
) -> Drawing:  # fmt: skip
    """The same without a pause."""
    steps = exploded_steps(assembly, date=date, view=view, once=once, labels=labels, sheet=sheet)
    return run_through(steps)
