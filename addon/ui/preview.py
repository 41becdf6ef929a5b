"""What will be saved, looked at before it is: a button that draws the pages, and one that turns them."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Sequence
from datetime import date
from typing import Any, Final

from bpy.types import Context, Operator, UILayout

from ..check.progress import Steps
from ..designs.table.parameters import Table
from ..paper.sheet import Drawing
from ..paper.shop.shop_set import MAKERS, shop_pages_steps
from ..scene import access, built, seeing
from ..scene.pictures import on_paper, preview
from ..scene.state.properties import DRY_ASSEMBLY_PG_table as TableState
from ..scene.translation import IntProperty, StringProperty
from . import panel
from .fields import MARGIN
from .operator_kinds import DONE, OWN, UNLISTED, OwnOperator, StepOperator, looking

_Maker = Callable[[Context, TableState, Table], Steps[Sequence[Drawing]]]


def _picture(context: Context, state: TableState, table: Table) -> Steps[Sequence[Drawing]]:
    """In lines alone: Blender takes as long to render a preview as the picture."""
    drawing = yield from on_paper.lines_drawing(state, table, date.today().isoformat(), looking(context))
    return [drawing]


def _exploded(context: Context, state: TableState, table: Table) -> Steps[Sequence[Drawing]]:
    drawing = yield from on_paper.exploded_drawing(state, table, date.today().isoformat(), looking(context))
    return [drawing]


def _shop_set(context: Context, _state: TableState, table: Table) -> Steps[Sequence[Drawing]]:
    kinds = chosen_pages(context)
    own = shop_pages_steps(table, built.assembly_of(table), date=date.today().isoformat(), kinds=kinds)
    _, _, drawings = yield from own
    return drawings


_MAKERS: Final[dict[str, _Maker]] = {"picture": _picture, "exploded": _exploded, "shop-set": _shop_set}
"""What can be looked at before it is saved, by the names of the menu of what is saved, and what draws it."""


def chosen_pages(context: Context) -> list[str]:
    """Kinds of page that a shop set is to have, in its order."""
    chosen = context.scene.dry_assembly.sheet.shop_pages
    return [kind for kind, _ in MAKERS if kind in chosen]


def can_be_seen(group: Any) -> bool:
    """Whether there is a preview of what is to be saved."""
    return group.output in _MAKERS and not (group.output == "picture" and group.sheet.style != "lines")


def _of(group: Any, state: TableState, choices: Iterable[str]) -> Hashable:
    """What pages are of: all that was chosen for them. Parameters of the table drop them when they change."""
    sheet = group.sheet
    own = [getattr(sheet, name) for name in choices if hasattr(sheet, name) and name not in ("format", "dpi")]
    said = [tuple(sorted(one)) if isinstance(one, set) else one for one in own]
    return state.key, state.text, group.output, state.explosion_once, tuple(said)


class DRY_ASSEMBLY_OT_preview(StepOperator, Operator):
    bl_idname = "dry_assembly.preview"
    bl_label = "Preview"
    bl_description = "Show here what will be saved, page by page, before anything is written; Esc stops it"
    bl_options = UNLISTED
    what = "Drawing the pages"

    choices: StringProperty(description="Names of what is chosen for them, between commas", options=OWN)

    @classmethod
    def lacks(cls, state: TableState) -> str:
        """Something to draw."""
        group = access.scene_of(state).dry_assembly
        if not can_be_seen(group):
            return "There is no preview of this: save it"
        nothing = group.output == "shop-set" and not group.sheet.shop_pages
        return "Choose what pages the set is to have first" if nothing else ""

    def steps(self, context: Context, table: Table) -> Steps[Sequence[Drawing]]:
        """Draws them."""
        state, group = self.table(context), context.scene.dry_assembly
        self._of, self._width = _of(group, state, self.choices.split(",")), _pixels(context)
        return _MAKERS[group.output](context, state, table)

    def keep(self, state: TableState, result: Sequence[Drawing]) -> None:
        """Shows the first."""
        preview.keep(self._of, result, self._width)
        seeing.redraw()


class DRY_ASSEMBLY_OT_turn_page(OwnOperator, Operator):
    bl_idname = "dry_assembly.turn_page"
    bl_label = "Turn Page"
    bl_description = "Show the next page, or the one before"
    bl_options = UNLISTED

    by: IntProperty(description="How many pages farther on", default=1, options=OWN)

    def execute(self, context: Context) -> set[Any]:
        """Turns it."""
        preview.turn(self.by, _pixels(context))
        seeing.redraw()
        return DONE


def draw(layout: UILayout, context: Context, state: TableState, choices: Sequence[str]) -> None:
    """The button, and the page that is looked at, with arrows where there are several."""
    group = context.scene.dry_assembly
    if not can_be_seen(group):
        return
    panel.button(layout, "dry_assembly.preview", "Preview", "HIDE_OFF", choices=",".join(choices))
    found = preview.shown(_of(group, state, choices))
    if found is None:
        return
    icon, number, count = found
    column = layout.column(align=True)
    column.template_icon(icon_value=icon, scale=_width(context))
    if count > 1:
        row = column.row(align=True)
        panel.sign(row, "dry_assembly.turn_page", "TRIA_LEFT", by=-1)
        words = row.row()
        words.alignment = "CENTER"
        panel.filled(words, "Page {number} of {count}", number=number, count=count)
        panel.sign(row, "dry_assembly.turn_page", "TRIA_RIGHT", by=1)


_UNIT: Final = 20.0
"""Side of an icon at a resolution scale of 1, pixels."""
_LEAST: Final = 200.0
"""Width of a page at least, pixels."""
_EDGE: Final = 8.0
"""What Blender leaves free around an icon, pixels."""


def _width(context: Context) -> float:
    """Of the sidebar inside of its margins, in icons."""
    width = 0.0 if context.region is None else context.region.width / _scale(context)
    return max(width - MARGIN, _LEAST) / _UNIT


def _pixels(context: Context) -> int:
    """Of a page as wide as the sidebar lets it be."""
    return round((_width(context) * _UNIT - _EDGE) * _scale(context))


def _scale(context: Context) -> float:
    """The resolution scale; 1 without a window, where Blender has none."""
    return context.preferences.system.ui_scale or 1.0


CLASSES: Final = (DRY_ASSEMBLY_OT_preview, DRY_ASSEMBLY_OT_turn_page)
