"""What all panels have in common: how they show parameters, sentences and verdicts. Nothing here computes anything.

All words pass through here, so that each is translated in our own context, and none that the user gave is.
"""

from __future__ import annotations

import re
import textwrap
from typing import Any, Final

from bpy.types import Context, PropertyGroup, UILayout

from ..scene import access
from ..scene.state.properties import DRY_ASSEMBLY_PG_finding as FindingState
from ..scene.state.properties import DRY_ASSEMBLY_PG_table as TableState
from ..scene.state.values import LIST_ITEMS, SECTION_ITEMS, TITLE
from ..scene.translation import CONTEXT, figures, shown
from ..sizes.words import capital
from . import fields

SEVERITY_ICONS: Final = {"error": "CANCEL", "warning": "ERROR", "note": "INFO"}
VERDICT_ICONS: Final = {"blocked": "CANCEL", "tight": "ERROR", "clear": "CHECKMARK"}
GRADE_ICONS: Final = {"good": "CHECKMARK", "watch": "ERROR", "bad": "CANCEL", "open": "TIME"}
"""Of a line of the answer."""
SLIDE_ICONS: Final = {"guides-itself": "CHECKMARK", "needs-steering": "VIEW_PAN", "does-not-pass": "CANCEL"}
PLACE_ICONS: Final = {"clear": "CHECKMARK", "tight": "ERROR", "blocked": "CANCEL", "stray": "FORWARD"}
"""Of a leaf in a place; ``stray`` passes but does not come to rest where it should."""
_KEPT: Final = re.compile(r"(?<=[\d±]) (?=\d|mm\b|in\b|%)")
"""Blanks inside of an amount, where no line ends."""

_DECLARED: Final = {
    (section, item.name): item for section, items in {**SECTION_ITEMS, **LIST_ITEMS}.items() for item in items
}


# -- words


def label(layout: UILayout, text: str, icon: str = "NONE") -> None:
    """Our own words."""
    given(layout, shown(text), icon)


def given(layout: UILayout, text: str, icon: str = "NONE") -> None:
    """What is not to be translated: names that the user gave, labels of parts, numbers."""
    layout.label(text=text, translate=False, icon=icon)  # type: ignore[arg-type]


def amount(layout: UILayout, text: str, icon: str = "NONE") -> None:
    """Labels of parts and sizes, with the decimal sign of the language."""
    given(layout, figures(text), icon)


def filled(layout: UILayout, text: str, icon: str = "NONE", **values: object) -> None:
    """Our own words with values put into their braces."""
    given(layout, shown(text, **values), icon)


def sentence(
    layout: UILayout,
    context: Context,
    text: str,
    icon: str = "NONE",
    letters: int | None = None,
    most: int | None = None,
) -> None:
    """A sentence over as many lines as it takes.

    Parameters
    ----------
    letters : on a line; as many as the sidebar has room for without it
    most : lines that are shown; what is longer ends in dots
    """
    if letters is None:
        letters = fields.letters(context)
    column = layout.column(align=True)
    column.scale_y = 0.8
    joined = _KEPT.sub("\u00a0", shown(text))
    lines = textwrap.wrap(joined, letters, max_lines=most, placeholder=" …")
    for number, line in enumerate(lines):
        blank = "BLANK1" if icon != "NONE" else "NONE"
        given(column, line.replace("\u00a0", " "), icon if number == 0 else blank)


def clause(
    layout: UILayout, context: Context, text: str, icon: str = "NONE", letters: int | None = None
) -> None:
    """A clause as a sentence."""
    sentence(layout, context, f"{capital(shown(text))}.", icon, letters)


def sentences(layout: UILayout, context: Context, text: str, letters: int | None = None) -> None:
    """Sentences, one a line of the text."""
    for line in text.splitlines():
        sentence(layout, context, line, "DOT", letters)


_KEY: Final = re.compile(rf"\b({'|'.join(SECTION_ITEMS)})\.(\w+)")


_OF_LEAF: Final = re.compile(r"\b(L\d+)'s (offset|side|tier)\b")
"""An entry of a leaf's position, as a refusal names it."""


def without_keys(text: str) -> str:
    """A sentence with the labels of fields in the place of their keys in the table file."""

    def labeled(key: re.Match[str]) -> str:
        item = _DECLARED.get((key[1], key[2]))
        return key[0] if item is None else shown(item.label)

    def told(own: re.Match[str]) -> str:
        return shown(f"{{leaf}}'s {own[2]}", leaf=own[1])

    return _OF_LEAF.sub(told, _KEY.sub(labeled, shown(text)))


def message(finding: FindingState) -> str:
    """What a finding says; of how a leaf is steered only that it needs to be, since the report shows it."""
    if finding.rule != "leaf-steer":
        return finding.message
    return f"{finding.message} How, opening by opening, stands in the report on sliding in."


# -- buttons and fields


def button(layout: UILayout, operator: str, text: str = "", icon: str = "NONE", **settings: Any) -> None:
    """A button with its settings; without a text it bears the operator's name."""
    named = {"text": shown(text), "translate": False} if text else {}
    _set(layout.operator(operator, icon=icon, **named), settings)  # type: ignore[arg-type]


def sign(layout: UILayout, operator: str, icon: str, **settings: Any) -> None:
    """A button with a sign alone; its tooltip says what it does."""
    _set(layout.operator(operator, text="", icon=icon), settings)  # type: ignore[arg-type]


def named(
    layout: UILayout, operator: str, name: str, icon: str = "NONE", depress: bool = False, **settings: Any
) -> None:
    """A button with a name that the user gave, or with numbers."""
    made = layout.operator(operator, text=name, translate=False, icon=icon, depress=depress)  # type: ignore[arg-type]
    _set(made, settings)


def _set(properties: Any, settings: dict[str, Any]) -> None:
    for name, value in settings.items():
        setattr(properties, name, value)


def menu(layout: UILayout, name: str, text: str, icon: str = "NONE") -> None:
    """A menu under its own name or another."""
    layout.menu(name, text=text, text_ctxt=CONTEXT, icon=icon)  # type: ignore[arg-type]


def field(layout: UILayout, group: Any, name: str, text: str | None = None, **settings: Any) -> None:
    """A property's field under its own label or another."""
    own = group.bl_rna.properties[name].name if text is None else text
    layout.prop(group, name, text=own, text_ctxt=CONTEXT, **settings)


def expanded(layout: UILayout, group: Any, name: str) -> None:
    """All that can be chosen, side by side."""
    layout.row(align=True).prop(group, name, expand=True)


def counted(layout: UILayout, group: Any, name: str, count: int, icon: str) -> None:
    """A switch with a sign and how many there are."""
    layout.prop(group, name, text=str(count), translate=False, icon=icon, toggle=True)  # type: ignore[arg-type]


def known(layout: UILayout, name: str, words: str, icon: str = "NONE") -> None:
    """What is known already among the fields of a column with their labels at the left."""
    split = layout.split(factor=0.4)
    left = split.row()
    left.alignment = "RIGHT"
    label(left, name)
    given(split, words, icon)


def split_column(layout: UILayout) -> UILayout:
    """A column of fields with their labels at the left."""
    column = layout.column()
    column.use_property_split = True
    column.use_property_decorate = False
    return column


def folded(layout: UILayout, name: str, icon: str = "NONE") -> UILayout | None:
    """What a section that is closed at first holds; None while it is closed."""
    header, body = layout.panel(f"DRY_ASSEMBLY_{name}", default_closed=True)
    label(header, name, icon)
    return body


def switched(layout: UILayout, name: str, group: PropertyGroup, switch: str) -> UILayout | None:
    """The same with a switch in its header, gray while that is off."""
    header, body = layout.panel(f"DRY_ASSEMBLY_{name}", default_closed=True)
    header.use_property_split = False
    field(header, group, switch, text=name)
    if body is not None:
        body.active = getattr(group, switch)
    return body


# -- parameters


def group_of(state: TableState, section: str, index: int | None = None) -> Any:
    """The properties of a section, or of one entry of a list section."""
    found = getattr(state.parameters, section)
    return found if index is None else found[index]


def parameters(
    layout: UILayout, state: TableState, section: str, *names: str, index: int | None = None
) -> None:
    """Fields of some parameters of a section (of one entry of a list section), one below the other."""
    column = split_column(layout)
    for name in names or others(section):
        parameter(column, state, section, name, index=index)


def parameter(
    column: UILayout, state: TableState, section: str, name: str, text: str = "", index: int | None = None
) -> None:
    """The field of one parameter; one that may be left out has a switch before it.

    A value that cannot be built turns its field red, with a button for the nearest that can.

    Parameters
    ----------
    text : what to call it where its own label would be understood in its section alone
    """
    item, group = _DECLARED[section, name], group_of(state, section, index)
    fields.parameter(column, group, item, text or item.label, state.refusals.keys())
    refusal = state.refusals.get(fields.key_of(group, item))
    if refusal is not None and refusal.value:
        words = shown("Use {value}", value=refusal.words)
        named(column, "dry_assembly.use_nearest", words, "LOOP_BACK", key=refusal.name)


def title(layout: UILayout, state: TableState) -> None:
    """Name and unit of the table itself."""
    row = layout.row(align=True)
    field(row, state.parameters, TITLE, "")
    units = row.row(align=True)
    units.ui_units_x = 3.0
    field(units, state.parameters, "units", "")


def entries(
    layout: UILayout, state: TableState, name: str, *, added: bool = True, shown: tuple[str, ...] = ()
) -> None:
    """A list section: its entries, buttons to remove and, where that is done here, to add, the selected one in full,
    or those of its parameters that are `shown`."""
    group = state.parameters
    row = layout.row()
    row.template_list(f"DRY_ASSEMBLY_UL_{name}", "", group, name, group, f"{name}_index", rows=3)
    column = row.column(align=True)
    if added:
        sign(column, "dry_assembly.add_entry", "ADD", section=name)
    sign(column, "dry_assembly.remove_entry", "REMOVE", section=name)
    index = getattr(group, f"{name}_index")
    if selected(getattr(group, name), index) is not None:
        parameters(layout, state, name, *shown, index=index)


def selected(found: Any, index: int) -> Any:
    """The entry that is selected in a list; None where none is."""
    return found[index] if 0 <= index < len(found) else None


def others(section: str, *names: str) -> tuple[str, ...]:
    """The parameters of a section without these."""
    items = {**SECTION_ITEMS, **LIST_ITEMS}[section]
    return tuple(item.name for item in items if item.name not in names)


def cells(layout: UILayout, name: str) -> UILayout:
    """A row of a table: a short name, and the row for the cells after it."""
    split = layout.split(factor=0.26)
    label(split, name)
    return split.row()


def heads(layout: UILayout, name: str, *texts: str) -> None:
    """The heads of such rows."""
    row = cells(layout, name)
    for text in texts:
        label(row, text)


# -- verdicts


def verdict(layout: UILayout, word: str, text: str) -> None:
    """A verdict in a word and a sign, with what it is about."""
    given(layout, text, VERDICT_ICONS.get(word, "QUESTION"))


def slide_verdict(layout: UILayout, word: str, text: str) -> None:
    """A verdict of the slide proof in a sign, with what it is about."""
    given(layout, text, SLIDE_ICONS.get(word, "QUESTION"))


NAMES: Final = 0.46
"""Share of the width that the names of lines take."""


def line(layout: UILayout, name: str, grade: str, words: str) -> None:
    """A line of an answer: sign and name, then what it says."""
    split = layout.split(factor=NAMES)
    given(split, capital(shown(name)), GRADE_ICONS.get(grade, "QUESTION"))
    label(split, words)


def lines(layout: UILayout, found: Any) -> None:
    """Several lines of an answer, in short."""
    column = layout.column(align=True)
    for one in found:
        line(column, one.name, one.grade, one.short)


def lines_in_full(layout: UILayout, context: Context, found: Any, letters: int | None = None) -> None:
    """Lines of an answer with all that they say."""
    for one in found:
        words = f"{capital(shown(one.name))}: {shown(one.words)}"
        sentence(layout, context, words, GRADE_ICONS.get(one.grade, "QUESTION"), letters)


CLOSED: Final = {"DEFAULT_CLOSED"}
"""Of a panel that is opened when it is asked for."""


class OwnPanel:
    """Where our panels stand, and the context of their words."""

    bl_space_type = "VIEW_3D"
    bl_region_type = "UI"
    bl_category = "Dry Assembly"
    bl_translation_context = CONTEXT


class TablePanel(OwnPanel):
    """A panel that shows the active table."""

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
