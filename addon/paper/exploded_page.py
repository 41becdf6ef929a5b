"""The exploded view of a table on a sheet of paper: groups in insets of their own, like parts once on demand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from ..check.apart.explosion import Explosion, coming_apart
from ..check.progress import Steps, run_through, share_of
from ..designs.words.answer import Lines
from ..sizes.arrays import Floats
from ..sizes.errors import ExportError
from ..sizes.words import capital, code_of_unit
from ..wood.assembly import Assembly
from ..wood.same import Alike, alike_units
from .exploded_parts import (
    CLEAR,
    Sight,
    arrange,
    corners,
    draw_ways,
    explosion_in,
    gaps_for,
    places_at_the_end,
)
from .lines.hidden import lines_of
from .lines.seen import surface_of
from .part_labels import column_width, draw_labels
from .sheet import Drawing
from .sheet.dimensions import LETTERS, THIN
from .sheet.lettering import text_width
from .sheet.sheet import REDUCTIONS, Sheet, Titles, draw_title_block, scale_name
from .table_page import RISE, draw_lines, scale_words
from .views import SPACE, OnSheet, ViewFrom, view_from


def unit_texts(assembly: Assembly, kinds: Sequence[Alike], once: bool) -> dict[str, str]:
    """Label of a part → what its unit's label on the paper says.

    Parameters
    ----------
    once : only for the first of units that are alike, with their number, and whose mirror image they are
    """
    found = {}
    for number, kind in enumerate(kinds):
        for labels in kind.members[:1] if once else kind.members:
            several = once and kind.count > 1
            text = f"{code_of_unit(labels)} {_called(assembly, kind) if several else assembly.called(labels)}"
            if several:
                text += f" ×{kind.count}"
            if once and kind.mirror is not None and kind.mirror < number:
                text += f", mirror image of {code_of_unit(kinds[kind.mirror].first)}"
            found |= dict.fromkeys(labels, text)
    return found


def _called(assembly: Assembly, kind: Alike) -> str:
    """What all units of a kind are called: by their role where their own names differ."""
    first = assembly.by_label[kind.first[0]]
    names = {assembly.by_label[labels[0]].kind for labels in kind.members}
    return first.kind if len(names) == 1 and len(kind.first) == 1 else first.role.one


_HEIGHT: Final = 90.0
"""Of the drawing in an inset at most, mm on the paper."""

_AROUND: Final = 4.0
_HEADING: Final = 7.0
_BESIDE: Final = 16.0
"""Room around the drawing, for the heading and for labels at either side, mm."""

_INSIDE: Final = 2.0
"""From labels to the frame, mm."""

_OUT: Final = 1.3
"""By how much of its own size a part comes out from behind another: more than all of it."""


@dataclass(frozen=True, eq=False)
class Inset:
    """A group taken apart."""

    explosion: Explosion
    kind: Alike
    view: ViewFrom
    parts: int
    low: Floats
    high: Floats
    """(2,) float each: corners of the drawing, mm in the view's axes."""
    mirrored: int = 0
    """How many mirror images there are, which come apart alike."""

    @property
    def scale(self) -> float:
        """Of the paper."""
        return self.view.enlarged / self.parts

    @property
    def heading(self) -> str:
        """What stands above it."""
        name = self.explosion.order.assembly.called(self.kind.first)
        scale = scale_name(1 / self.parts) if self.view.true else scale_words(self.view, self.parts)
        mirrored = f" and ×{self.mirrored} mirrored" if self.mirrored else ""
        return f"{capital(name)} ×{self.kind.count}{mirrored}, {scale}"

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
        layout = OnSheet(sheet, self.parts, self.scale, place, box)
        assembly = self.explosion.order.assembly
        parts = [assembly.by_label[label] for label in self.kind.first]
        places = places_at_the_end(self.explosion, self.kind.first)
        surface = surface_of(parts, self.view.axes, places)
        drawn = draw_lines(drawing, lines_of(surface), layout)
        ways = draw_ways(drawing, self.explosion, surface, layout, self.kind.first)
        texts = [part.label for part in parts]
        room = left + 1.0, bottom + 1.0, box[2] - 1.0, box[3] - _HEADING
        draw_labels(
            drawing, texts, surface, np.concatenate([drawn, ways]), self.scale, place, room, 0.0, CLEAR
        )


def insets_of(assembly: Assembly, kinds: Sequence[Alike], view: ViewFrom) -> list[Inset]:
    """An inset for each kind of unit that is glued up of several parts, or mirror images: the first of it taken apart.

    Raises
    ------
    PartError : for features that run together
    ExportError : where one is too large for the paper
    """
    several = [(at, kind) for at, kind in enumerate(kinds) if len(kind.first) > 1]
    return [
        _inset(assembly, kind, 0 if kind.mirror is None else kinds[kind.mirror].count, view)
        for at, kind in several
        if kind.mirror is None or kind.mirror > at
    ]


def _inset(assembly: Assembly, kind: Alike, mirrored: int, view: ViewFrom) -> Inset:
    """The first of a kind of unit taken apart, at the largest scale at which it is not too high."""
    order = coming_apart(assembly, assembly.cover, [[label] for label in kind.first])
    sight = Sight(view.axes, order.units, _OUT)
    for parts in REDUCTIONS:
        explosion = explosion_in(order, sight, gaps_for(view.axes, view.enlarged / parts))
        points = corners(explosion, view.axes, kind.first)[:, :2]
        inset = Inset(explosion, kind, view, parts, points.min(axis=0), points.max(axis=0), mirrored)
        if (inset.high - inset.low)[1] * inset.scale <= _HEIGHT:
            return inset
    raise ExportError(
        f"{assembly.name} cannot be drawn exploded: {code_of_unit(kind.first)} is too large for the paper even at"
        f" 1:{REDUCTIONS[-1]}."
    )


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
    layout: OnSheet
    insets: list[Inset]
    shown: tuple[str, ...]
    texts: dict[str, str]

    def drawing(self, date: str, answer: Lines = ()) -> Steps[Drawing]:
        """The sheet; date and three lines as they are to stand in the title block."""
        assembly, layout, view = self.explosion.order.assembly, self.layout, self.view
        drawing = layout.sheet.drawing(f"{assembly.name}: {view.name.lower()}, exploded")
        bodies = [part for part in assembly.parts if part.label in self.shown]
        bodies += [one for one in assembly.fasteners if one.goes_with in self.shown]
        places = places_at_the_end(self.explosion, [body.label for body in bodies])
        surface = surface_of(bodies, view.axes, places)
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
            texts, drawn = [self.texts.get(body.label, "") for body in bodies], np.concatenate([edges, ways])
            draw_labels(drawing, texts, surface, drawn, layout.scale, layout.place, layout.room, rise, CLEAR)
        titles = Titles(
            assembly.name, f"{view.name}, exploded", scale_words(view, layout.parts), date, answer=answer
        )
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
    order = coming_apart(assembly, assembly.cover)
    yield 0.3
    kinds = alike_units(assembly, order.units.members)
    shown = tuple(label for kind in kinds for unit in kind.members[: 1 if once else None] for label in unit)
    texts = unit_texts(assembly, kinds, once) if labels or once else {}
    insets = insets_of(assembly, kinds, seen)
    beside = column_width(list(texts.values())) + _INSIDE if texts else SPACE
    left = max((inset.size[0] for inset in insets), default=0.0)
    arranged = arrange(order, seen, shown, sheet, left + beside, beside)
    explosion, layout = yield from share_of(arranged, 0.4, 1.0)
    return ExplodedPage(explosion, seen, layout, insets, shown, texts)


def exploded_steps(
    assembly: Assembly, *, date: str, view: str = "isometric", once: bool = False, labels: bool = False,
    sheet: Sheet | None = None, answer: Lines = (),
) -> Steps[Drawing]:  # fmt: skip
    """The drawing of `exploded_page`, with date and three lines as they are to stand in the title block."""
    steps = exploded_page(assembly, view=view, once=once, labels=labels, sheet=sheet)
    page = yield from share_of(steps, 0.0, 0.7)
    return (yield from share_of(page.drawing(date, answer), 0.7, 1.0))


def exploded_picture(
    assembly: Assembly, *, date: str, view: str = "isometric", once: bool = False, labels: bool = False,
    sheet: Sheet | None = None, answer: Lines = (),
) -> Drawing:  # fmt: skip
    """The same without a pause."""
    steps = exploded_steps(
        assembly, date=date, view=view, once=once, labels=labels, sheet=sheet, answer=answer
    )
    return run_through(steps)
