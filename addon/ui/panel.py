"""What all panels have in common: how they show parameters, sentences and verdicts. Nothing here computes anything."""

from __future__ import annotations

import re
import textwrap
from typing import Any, Final

import bpy
from bpy.types import Context, PropertyGroup, UILayout

from ..scene import access
from ..scene.state.properties import DRY_ASSEMBLY_PG_finding as FindingState
from ..scene.state.properties import DRY_ASSEMBLY_PG_table as TableState
from ..scene.state.values import GIVEN, LIST_ITEMS, SECTION_ITEMS, TITLE, attribute
from ..sizes.words import capital

SEVERITY_ICONS: Final = {"error": "CANCEL", "warning": "ERROR", "note": "INFO"}
VERDICT_ICONS: Final = {"blocked": "CANCEL", "tight": "ERROR", "clear": "CHECKMARK"}
GRADE_ICONS: Final = {"good": "CHECKMARK", "watch": "ERROR", "bad": "CANCEL", "open": "TIME"}
"""Of a line of the answer."""
SLIDE_ICONS: Final = {"guides-itself": "CHECKMARK", "needs-steering": "VIEW_PAN", "does-not-pass": "CANCEL"}
PLACE_ICONS: Final = {"clear": "CHECKMARK", "tight": "ERROR", "blocked": "CANCEL", "stray": "FORWARD"}
"""Of a leaf in a place; ``stray`` passes but does not come to rest where it should."""
NARROWEST: Final = 24
"""Letters on a line at least."""
_KEPT: Final = re.compile(r"(?<=[\d±]) (?=\d|mm\b|in\b|%)")
"""Blanks inside of an amount, where no line ends."""
LETTER: Final = 6.6
"""Width of a letter, in pixels at a resolution scale of 1."""

_DECLARED: Final = {
    (section, item.name): item for section, items in {**SECTION_ITEMS, **LIST_ITEMS}.items() for item in items
}


def filled(layout: UILayout, label: str, **values: object) -> None:
    """A label with values put into its braces; the label is translated before that, as Blender does with plain ones."""
    layout.label(text=bpy.app.translations.pgettext_iface(label).format(**values), translate=False)


def fields(layout: UILayout) -> UILayout:
    """A column of fields with their labels at the left."""
    column = layout.column()
    column.use_property_split = True
    column.use_property_decorate = False
    return column


def parameters(layout: UILayout, group: PropertyGroup, section: str, *names: str) -> None:
    """Fields of some parameters of a section, one below the other."""
    column = fields(layout)
    for name in names:
        parameter(column, group, section, name)


def parameter(column: UILayout, group: PropertyGroup, section: str, name: str, label: str = "") -> None:
    """The field of one parameter; one that may be left out has a switch before it.

    Parameters
    ----------
    label : what to call it where its own label would be understood in its section alone
    """
    item = _DECLARED[section, name]
    if not item.optional:
        column.prop(group, attribute(item), text=label or item.label)
        return
    row = column.row(align=True, heading=item.label)
    row.prop(group, name + GIVEN, text="")
    field = row.row(align=True)
    field.active = getattr(group, name + GIVEN)
    field.prop(group, name, text="")


def parameters_of_table(layout: UILayout, group: PropertyGroup) -> None:
    """Name and unit of the table itself, and in inches what fractions sizes are shown in."""
    row = layout.row()
    row.prop(group, TITLE, text="")
    units = row.row()
    units.ui_units_x = 3.0
    units.prop(group, "units", text="")
    if group.units == "in":
        fields(layout).prop(group, "fraction")


def section(layout: UILayout, state: TableState, name: str) -> None:
    """All parameters of a section."""
    parameters(layout, getattr(state.parameters, name), name, *others(name))


def entries(layout: UILayout, state: TableState, name: str) -> None:
    """A list section: its entries, buttons to add and remove, and the selected entry in full."""
    group = state.parameters
    row = layout.row()
    row.template_list(f"DRY_ASSEMBLY_UL_{name}", "", group, name, group, f"{name}_index", rows=3)
    column = row.column(align=True)
    button(column, "dry_assembly.add_entry", "", "ADD", section=name)
    button(column, "dry_assembly.remove_entry", "", "REMOVE", section=name)
    index, found = getattr(group, f"{name}_index"), getattr(group, name)
    if 0 <= index < len(found):
        parameters(layout, found[index], name, *others(name))


def others(section: str, *names: str) -> tuple[str, ...]:
    """The parameters of a section without these."""
    items = {**SECTION_ITEMS, **LIST_ITEMS}[section]
    return tuple(item.name for item in items if item.name not in names)


def sentence(layout: UILayout, context: Context, text: str, icon: str = "NONE") -> None:
    """A sentence over as many lines as it takes."""
    width = context.region.width / context.preferences.system.ui_scale
    column = layout.column(align=True)
    column.scale_y = 0.8
    joined = _KEPT.sub("\u00a0", text)
    lines = textwrap.wrap(joined, max(NARROWEST, int((width - 60) / LETTER)))
    for index, line in enumerate(lines):
        blank = "BLANK1" if icon != "NONE" else "NONE"
        column.label(text=line.replace("\u00a0", " "), icon=icon if index == 0 else blank)  # type: ignore[arg-type]


def sentences(layout: UILayout, context: Context, text: str) -> None:
    """Sentences, one a line of the text."""
    for line in text.splitlines():
        sentence(layout, context, line, "DOT")


def cells(layout: UILayout, name: str) -> UILayout:
    """A row of a table: a short name, and the row for the cells after it."""
    split = layout.split(factor=0.26)
    split.label(text=name)
    return split.row()


def heads(layout: UILayout, name: str, *texts: str) -> None:
    """The heads of such rows."""
    row = cells(layout, name)
    for text in texts:
        row.label(text=text)


def message(finding: FindingState) -> str:
    """What a finding says; of how a leaf is steered only that it needs to be, since the panel Sliding In shows it."""
    if finding.rule != "leaf-steer":
        return finding.message
    return f"{finding.message} How, opening by opening, stands under Sliding In."


def verdict(layout: UILayout, word: str, text: str) -> None:
    """A verdict in a word and a sign, with what it is about."""
    layout.label(text=text, icon=VERDICT_ICONS.get(word, "QUESTION"))  # type: ignore[arg-type]


def slide_verdict(layout: UILayout, word: str, text: str) -> None:
    """A verdict of the slide proof in a sign, with what it is about."""
    layout.label(text=text, icon=SLIDE_ICONS.get(word, "QUESTION"))  # type: ignore[arg-type]


NAMES: Final = 0.42
"""Share of the width that the names of the three lines take."""


def answer(layout: UILayout, lines: Any) -> None:
    """The three lines of the answer in short: sign and name, then what it says."""
    column = layout.column(align=True)
    for line in lines:
        split = column.split(factor=NAMES)
        split.label(text=capital(line.name), icon=GRADE_ICONS.get(line.grade, "QUESTION"))  # type: ignore[arg-type]
        split.label(text=line.short, translate=False)


def answer_in_full(layout: UILayout, context: Context, lines: Any) -> None:
    """The three lines with all that they say."""
    for line in lines:
        words = f"{capital(line.name)}: {line.words}"
        sentence(layout, context, words, GRADE_ICONS.get(line.grade, "QUESTION"))


def button(layout: UILayout, operator: str, text: str, icon: str = "NONE", **settings: Any) -> None:
    """A button with its settings."""
    properties = layout.operator(operator, text=text, icon=icon)  # type: ignore[arg-type]
    for name, value in settings.items():
        setattr(properties, name, value)


class TablePanel:
    """A panel that shows the active table."""

    bl_space_type = "VIEW_3D"
    bl_region_type = "UI"
    bl_category = "Dry Assembly"

    @classmethod
    def poll(cls, context: Context) -> bool:
        """Whether there is a table."""
        return access.active_table(context) is not None

    def draw(self, context: Context) -> None:
        """Draws the table's share of the panel."""
        state = access.active_table(context)
        if state is not None:
            self.draw_table(context, self.layout, state)  # type: ignore[attr-defined]

    def draw_table(self, context: Context, layout: UILayout, state: TableState) -> None:
        """To be drawn by the panels."""
        raise NotImplementedError


class SubPanel(TablePanel):
    """Rarer settings, closed at first."""

    bl_options: Final = {"DEFAULT_CLOSED"}
