"""The lists in the panels."""

from __future__ import annotations

from typing import Any, Final

import bpy
from bpy.types import Context, UILayout, UIList

from ..scene.findings import is_shown, what_of
from . import panel


class DRY_ASSEMBLY_UL_tables(UIList):
    """Tables of the scene."""

    def draw_item(
        self, _context: Context, layout: UILayout, _data: Any, item: Any, _icon: Any, _active: Any, _name: Any
    ) -> None:
        """Name and verdict."""
        if item.error:
            panel.verdict(layout, "blocked", f"{item.name}: cannot be built")
        else:
            panel.verdict(layout, item.verdict, item.name)


class DRY_ASSEMBLY_UL_findings(UIList):
    """Findings of the last check, gravest first."""

    def draw_item(
        self, _context: Context, layout: UILayout, _data: Any, item: Any, _icon: Any, _active: Any, _name: Any
    ) -> None:
        """Severity in a sign, what it is about, parts, amount."""
        old = (item.of_slide and _data.proof_out_of_date) or (item.of_answer and not _data.shop_count)
        layout.active = not old
        split = layout.split(factor=0.42)
        split.label(text=what_of(item), icon=panel.SEVERITY_ICONS[item.severity])  # type: ignore[arg-type]
        row = split.row()
        more = len(item.places) - 1
        row.label(text=f"{item.parts} +{more}" if more > 0 else item.parts, translate=False)
        row.label(text=item.amount, translate=False)

    def filter_items(self, context: Context, data: Any, name: str) -> tuple[list[int], list[int]]:
        """Severities that are shown, and the text typed below the list, in parts or message."""
        items, group = getattr(data, name), context.scene.dry_assembly
        flags = [self.bitflag_filter_item if is_shown(group, item) else 0 for item in items]
        if self.filter_name:
            found = [
                bpy.types.UI_UL_list.filter_items_by_name(
                    self.filter_name, self.bitflag_filter_item, items, one
                )
                for one in ("parts", "message")
            ]
            flags = [flag & (parts | message) for flag, parts, message in zip(flags, *found, strict=True)]
        return flags, []


class DRY_ASSEMBLY_UL_places(UIList):
    """Places of a finding, the gravest first."""

    def draw_item(
        self, _context: Context, layout: UILayout, _data: Any, item: Any, _icon: Any, _active: Any, _name: Any
    ) -> None:
        """Parts and amount."""
        split = layout.split(factor=0.6)
        split.label(text=item.parts, translate=False)
        split.label(text=item.amount, translate=False)


LINES: Final = 3
"""Of an answer: as drawn, in the shop, by hand."""


class DRY_ASSEMBLY_UL_sliding_in(UIList):
    """Leaves, and whether they guide themselves."""

    def draw_item(
        self, _context: Context, layout: UILayout, _data: Any, item: Any, _icon: Any, _active: Any, _name: Any
    ) -> None:
        """Leaf, and the line by hand in short."""
        if len(item.answer) < LINES:
            panel.filled(layout, "{leaf} has no stow position", leaf=item.name)
            return
        by_hand = item.answer[LINES - 1]
        icon = panel.GRADE_ICONS[by_hand.grade]
        layout.label(text=f"{item.name} {by_hand.short}", icon=icon, translate=False)  # type: ignore[arg-type]


class DRY_ASSEMBLY_UL_openings(UIList):
    """Where a leaf's nose meets openings on its way."""

    def draw_item(
        self, _context: Context, layout: UILayout, _data: Any, item: Any, _icon: Any, _active: Any, _name: Any
    ) -> None:
        """Part, view, margin."""
        split = layout.split(factor=0.48)
        view = item.bl_rna.properties["view"].enum_items[item.view].name.lower()
        panel.slide_verdict(split, item.verdict, f"{item.name} {view}")
        split.label(text=item.margin_text)


class DRY_ASSEMBLY_UL_jamming(UIList):
    """Leaves, and from where on they may be pushed anywhere."""

    def draw_item(
        self, _context: Context, layout: UILayout, _data: Any, item: Any, _icon: Any, _active: Any, _name: Any
    ) -> None:
        """Leaf, side view, plan view."""
        row = panel.cells(layout, item.name)
        for start, jams in (
            (item.study.side_start, item.study.side_jams),
            (item.study.plan_start, item.study.plan_jams),
        ):
            text = "nowhere" if jams else start
            row.label(text=text, icon="ERROR" if jams else "NONE")


class DRY_ASSEMBLY_UL_droop(UIList):
    """Leaves, and how far they bend."""

    def draw_item(
        self, _context: Context, layout: UILayout, _data: Any, item: Any, _icon: Any, _active: Any, _name: Any
    ) -> None:
        """Leaf, nose, middle."""
        row = panel.cells(layout, item.name)
        row.label(text=item.study.droop, icon="ERROR" if item.study.droops else "NONE")
        row.label(text=item.study.sag, icon="ERROR" if item.study.sags else "NONE")


class DRY_ASSEMBLY_UL_stock(UIList):
    """Sheets."""

    def draw_item(
        self, _context: Context, layout: UILayout, _data: Any, item: Any, _icon: Any, _active: Any, _name: Any
    ) -> None:
        """Name and measured thickness."""
        row = layout.row()
        row.label(text=item.title)
        row.prop(item, "measured" if item.measured_given else "nominal", text="", emboss=False)


class DRY_ASSEMBLY_UL_stow(UIList):
    """Stow positions; entry n is that of leaf Ln."""

    def draw_item(
        self,
        _context: Context,
        layout: UILayout,
        _data: Any,
        item: Any,
        _icon: Any,
        _active: Any,
        _name: Any,
        index: int,
    ) -> None:
        """Leaf, side, tier, offset."""
        split = layout.split(factor=0.2)
        split.label(text=f"L{index + 1}")
        row = split.row()
        row.prop(item, "side", text="", emboss=False)
        row.prop(item, "tier", text="", emboss=False)
        row.prop(item, "offset", text="", emboss=False)


class DRY_ASSEMBLY_UL_as_cut(UIList):
    """Dimensions as they were cut."""

    def draw_item(
        self, _context: Context, layout: UILayout, _data: Any, item: Any, _icon: Any, _active: Any, _name: Any
    ) -> None:
        """Part, dimension, value or deviation."""
        split = layout.split(factor=0.2)
        split.label(text=item.part)
        row = split.row()
        row.prop(item, "dimension", text="", emboss=False)
        given = "degrees" if item.degrees_given else "value" if item.value_given else "deviation"
        row.prop(item, "missing" if item.missing else given, text="", emboss=False)


CLASSES: Final = (
    DRY_ASSEMBLY_UL_tables,
    DRY_ASSEMBLY_UL_findings,
    DRY_ASSEMBLY_UL_places,
    DRY_ASSEMBLY_UL_sliding_in,
    DRY_ASSEMBLY_UL_openings,
    DRY_ASSEMBLY_UL_jamming,
    DRY_ASSEMBLY_UL_droop,
    DRY_ASSEMBLY_UL_stock,
    DRY_ASSEMBLY_UL_stow,
    DRY_ASSEMBLY_UL_as_cut,
)
