"""The lists in the panels."""

from __future__ import annotations

from typing import Any, Final

import bpy
from bpy.types import Context, UILayout, UIList

from ..scene.findings import is_shown, labels_of, what_of
from ..scene.parts import in_order
from ..scene.translation import shown
from . import fields, panel


class DRY_ASSEMBLY_UL_findings(UIList):
    """Findings of the last check, gravest first."""

    def draw_item(
        self, _context: Context, layout: UILayout, _data: Any, item: Any, _icon: Any, _active: Any, _name: Any
    ) -> None:
        """Severity in a sign, what it is about, parts, amount."""
        old = (item.of_slide and _data.proof_out_of_date) or (item.of_answer and not _data.shop_count)
        layout.active = not old
        split = layout.split(factor=0.46)
        icon = "CHECKBOX_HLT" if item.reason else panel.SEVERITY_ICONS[item.severity]
        panel.label(split, what_of(item), icon)
        split = split.split(factor=0.5)
        more = len(item.places) - 1
        first = labels_of(item)[0]
        panel.given(split, f"{first} +{more}" if more > 0 else first)
        panel.amount(split, item.amount)

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
        panel.given(split, item.parts)
        panel.amount(split, item.amount)


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
        panel.given(layout, f"{item.name} {shown(by_hand.short)}", icon)


class DRY_ASSEMBLY_UL_leaves(UIList):
    """Leaves, and how each slides home."""

    def draw_item(
        self, _context: Context, layout: UILayout, _data: Any, item: Any, _icon: Any, _active: Any, _name: Any
    ) -> None:
        """Leaf, and its line as drawn in short."""
        split = layout.split(factor=0.22)
        panel.verdict(split, item.verdict, item.name)
        if len(item.answer) == LINES:
            panel.label(split, item.answer[0].short)
        else:
            panel.label(split, item.result)


class DRY_ASSEMBLY_UL_parts(UIList):
    """Parts with their sizes."""

    def draw_item(
        self, _context: Context, layout: UILayout, _data: Any, item: Any, _icon: Any, _active: Any, _name: Any
    ) -> None:
        """Label, sizes."""
        split = layout.split(factor=0.25)
        panel.given(split, item.name)
        panel.amount(split, item.words)

    def filter_items(self, context: Context, data: Any, name: str) -> tuple[list[int], list[int]]:
        """In the order chosen; those whose label or kind has the text typed below the list."""
        items = getattr(data, name)
        wanted = self.filter_name.casefold()
        flags = [
            self.bitflag_filter_item if wanted in f"{item.name} {item.kind}".casefold() else 0
            for item in items
        ]
        order = [0] * len(items)
        for place, number in enumerate(in_order(items, context.scene.dry_assembly.parts_order)):
            order[number] = place
        return flags, order


class DRY_ASSEMBLY_UL_openings(UIList):
    """Where a leaf's nose meets openings on its way."""

    def draw_item(
        self, _context: Context, layout: UILayout, _data: Any, item: Any, _icon: Any, _active: Any, _name: Any
    ) -> None:
        """Part, view, margin."""
        split = layout.split(factor=0.48)
        view = item.bl_rna.properties["view"].enum_items[item.view].name.lower()
        panel.slide_verdict(split, item.verdict, f"{item.name} {shown(view)}")
        panel.label(split, item.margin_text)


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
            if jams:
                panel.label(row, "nowhere", "ERROR")
            else:
                panel.amount(row, start)


class DRY_ASSEMBLY_UL_droop(UIList):
    """Leaves, and how far they bend."""

    def draw_item(
        self, _context: Context, layout: UILayout, _data: Any, item: Any, _icon: Any, _active: Any, _name: Any
    ) -> None:
        """Leaf, nose, middle."""
        row = panel.cells(layout, item.name)
        panel.amount(row, item.study.droop, "ERROR" if item.study.droops else "NONE")
        panel.amount(row, item.study.sag, "ERROR" if item.study.sags else "NONE")


class DRY_ASSEMBLY_UL_stock(UIList):
    """Sheets."""

    def draw_item(
        self, _context: Context, layout: UILayout, _data: Any, item: Any, _icon: Any, _active: Any, _name: Any
    ) -> None:
        """Name and measured thickness."""
        row = layout.row()
        panel.given(row, item.title)
        fields.cell(row, item, "measured" if item.measured_given else "nominal")


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
        panel.given(split, f"L{index + 1}")
        row = split.row()
        fields.cell(row, item, "side")
        fields.cell(row, item, "tier")
        fields.cell(row, item, "offset")


class DRY_ASSEMBLY_UL_fastener(UIList):
    """Screws, brads and bolts of the maker's own."""

    def draw_item(
        self, _context: Context, layout: UILayout, _data: Any, item: Any, _icon: Any, _active: Any, _name: Any
    ) -> None:
        """Kind, and the boards that it goes through and into."""
        split = layout.split(factor=0.45)
        fields.cell(split, item, "kind")
        row = split.row()
        panel.given(row, item.head)
        panel.given(row, item.into)


class DRY_ASSEMBLY_UL_as_cut(UIList):
    """Dimensions as they were cut."""

    def draw_item(
        self, _context: Context, layout: UILayout, _data: Any, item: Any, _icon: Any, _active: Any, _name: Any
    ) -> None:
        """Part, dimension, value or deviation."""
        split = layout.split(factor=0.2)
        panel.given(split, item.part)
        row = split.row()
        fields.cell(row, item, "dimension")
        given = "degrees" if item.degrees_given else "value" if item.value_given else "deviation"
        fields.cell(row, item, "missing" if item.missing else given)


class DRY_ASSEMBLY_UL_own_part(UIList):
    """Parts of the maker's own."""

    def draw_item(
        self, _context: Context, layout: UILayout, _data: Any, item: Any, _icon: Any, _active: Any, _name: Any
    ) -> None:
        """Name and sheet."""
        row = layout.row()
        panel.given(row, item.title)
        panel.given(row, item.stock)


class DRY_ASSEMBLY_UL_own_cut(UIList):
    """What is cut into them."""

    def draw_item(
        self, _context: Context, layout: UILayout, _data: Any, item: Any, _icon: Any, _active: Any, _name: Any
    ) -> None:
        """Part and kind."""
        row = layout.row()
        panel.given(row, item.part)
        fields.cell(row, item, "kind")


class DRY_ASSEMBLY_UL_reserved(UIList):
    """Reserved spaces."""

    def draw_item(
        self, _context: Context, layout: UILayout, _data: Any, item: Any, _icon: Any, _active: Any, _name: Any
    ) -> None:
        """Name and form."""
        row = layout.row()
        panel.given(row, item.title)
        fields.cell(row, item, "form")


class DRY_ASSEMBLY_UL_accepted(UIList):
    """Findings that are accepted."""

    def draw_item(
        self, _context: Context, layout: UILayout, _data: Any, item: Any, _icon: Any, _active: Any, _name: Any
    ) -> None:
        """Rule, parts, reason."""
        row = layout.row()
        for name in ("rule", "parts", "reason"):
            panel.given(row, getattr(item, name))


CLASSES: Final = (
    DRY_ASSEMBLY_UL_findings,
    DRY_ASSEMBLY_UL_places,
    DRY_ASSEMBLY_UL_sliding_in,
    DRY_ASSEMBLY_UL_leaves,
    DRY_ASSEMBLY_UL_parts,
    DRY_ASSEMBLY_UL_openings,
    DRY_ASSEMBLY_UL_jamming,
    DRY_ASSEMBLY_UL_droop,
    DRY_ASSEMBLY_UL_stock,
    DRY_ASSEMBLY_UL_stow,
    DRY_ASSEMBLY_UL_fastener,
    DRY_ASSEMBLY_UL_as_cut,
    DRY_ASSEMBLY_UL_own_part,
    DRY_ASSEMBLY_UL_own_cut,
    DRY_ASSEMBLY_UL_reserved,
    DRY_ASSEMBLY_UL_accepted,
)
