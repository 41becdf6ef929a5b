"""The part that is selected: what is said of it, its list, the dialog for how it came out."""

from __future__ import annotations

from typing import Any, Final

from bpy.types import Context, Event, Object, Operator, UILayout

from ..scene import access, findings, ids, parts, seeing, tables
from ..scene.motion import motion
from ..scene.overlay import corner
from ..scene.state import values
from ..scene.state.properties import DRY_ASSEMBLY_PG_table as TableState
from ..scene.translation import EnumProperty, StringProperty, figures, shown, told
from ..sizes.errors import DryAssemblyError
from ..sizes.units import Units, format_amount
from ..sizes.words import capital
from . import fields, panel, reserved
from .operator_kinds import CHANGES, DONE, NOTHING, SEARCHED, OwnOperator, TableOperator, attempt, unbuilt


def part_chosen(context: Context) -> tuple[TableState, str] | None:
    """The table and the label of the active object; None where that is no part of a table."""
    item: Object | None = getattr(context, "active_object", None)
    label = None if item is None else item.get(ids.PART)
    if item is None or label in (None, ids.ROOT):
        return None
    state = access.table_of_object(context.scene, item)
    return None if state is None else (state, str(label))


def findings_of(state: TableState, label: str) -> list[int]:
    """Numbers of the findings that concern a part, the gravest first."""
    return [number for number, one in enumerate(state.findings) if label in findings.labels_of(one)]


class PartOperator(OwnOperator):
    """An operator on the part that is the active object."""

    @classmethod
    def poll(cls, context: Context) -> bool:
        """Whether there is such a part, and all that the operator needs of it."""
        chosen = part_chosen(context)
        lacks = "Select a part of a table first" if chosen is None else cls.lacks(*chosen)
        if lacks:
            cls.poll_message_set(told(lacks))  # type: ignore[attr-defined]
        return not lacks

    @classmethod
    def lacks(cls, state: TableState, label: str) -> str:
        """What the operator needs and is not there, in words."""
        return ""

    def chosen(self, context: Context) -> tuple[TableState, str]:
        """The table and the part's label; `poll` has seen to it that there is one."""
        found = part_chosen(context)
        assert found is not None
        return found


class DRY_ASSEMBLY_OT_show_part_findings(PartOperator, Operator):
    bl_idname = "dry_assembly.show_part_findings"
    bl_label = "Show Findings of This Part"
    bl_description = "Select and show the gravest finding about this part; once more for the next one"
    bl_options = CHANGES

    @classmethod
    def lacks(cls, state: TableState, label: str) -> str:
        """A finding."""
        return "" if findings_of(state, label) else "There are no findings about this part"

    def execute(self, context: Context) -> set[Any]:
        """Shows the gravest, or the one after the one that is shown."""
        (state, label), item = self.chosen(context), context.active_object
        found = findings_of(state, label)
        place = 0
        if state.finding_index in found and _is_shown(
            context, findings.labels_of(state.findings[state.finding_index])
        ):
            place = (found.index(state.finding_index) + 1) % len(found)
        with access.own_writing():
            state.finding_index = found[place]
        done = attempt(self, lambda: motion.show_finding(state, found[place]))
        context.view_layer.objects.active = item
        words = {"part": label, "number": place + 1, "count": len(found)}
        self.say(
            "INFO",
            "{part}, {number} of {count}: {words}",
            words=state.findings[found[place]].message,
            **words,
        )
        return done


def _is_shown(context: Context, labels: list[str]) -> bool:
    """Whether these parts are what is selected."""
    return {item.get(ids.PART) for item in context.selected_objects} == set(labels)


class DRY_ASSEMBLY_OT_move_leaf(PartOperator, Operator):
    bl_idname = "dry_assembly.move_leaf"
    bl_label = "Move This Leaf"
    bl_description = "Move the leaf that is selected"
    bl_options = CHANGES

    where: EnumProperty(
        name="Where",
        items=[
            ("cover", "Lay on the Well", "Lay the leaf on the well as part of the top"),
            ("stowed", "Stow", "Slide the leaf in below the bottom panel"),
        ],
    )

    @classmethod
    def lacks(cls, state: TableState, label: str) -> str:
        """A leaf."""
        return "" if parts.leaf_of(state, label) else "The part selected is no leaf"

    def execute(self, context: Context) -> set[Any]:
        """Moves it."""
        leaf = parts.leaf_of(*self.chosen(context))
        if leaf is None:
            return NOTHING
        leaf.state = self.where
        return DONE


# -- how it came out

_READING: Final = next(item for item in values.LIST_ITEMS["as_cut"] if item.name == "value")

_kept: list[tuple[str, str, str]] = []
"""Blender does not hold the words of a menu that is made anew: they have to be kept alive."""


def _dimensions(self: Any, context: Context | None) -> list[tuple[str, str, str]]:
    """The menu of the dimensions of the part selected."""
    found = None if context is None else part_chosen(context)
    if found is None:
        return _kept
    state, label = found
    try:
        units = values.units_of(access.table_in(state))
        own = [
            (one.key, capital(shown(one.words)), told(f"{parts.drawn_words(one, units)} as drawn"))
            for one in parts.measured_of(state, label)
        ]
    except DryAssemblyError:
        own = []
    if own != _kept:
        _kept[:] = own
    return _kept


def _chosen_anew(self: Any, context: Context) -> None:
    """Brings the arrow in the view up to date."""
    found = part_chosen(context)
    if found is not None:
        _point(*found, self.dimension, self.end)


class DRY_ASSEMBLY_OT_enter_as_cut(PartOperator, Operator):
    bl_idname = "dry_assembly.enter_as_cut"
    bl_label = "This Part Came Out…"
    bl_description = "Enter a dimension of the part selected as it was measured, instead of as it was drawn"
    bl_options = CHANGES

    dimension: EnumProperty(
        name="Dimension",
        description="Which of its dimensions was measured",
        items=_dimensions,
        update=_chosen_anew,
    )
    reading: StringProperty(
        name="Reading",
        description="What tape or caliper read: 28 1/2, 723.9 mm",
        options={"SKIP_SAVE"},
    )
    end: EnumProperty(
        name="Stands Out At",
        description="At which end the difference stands out; the arrow in the view shows it",
        items=[
            ("end", "Right, Back or Upper End", "The end with the greater x or y, or the upper edge"),
            ("start", "Left, Front or Lower End", "The end with the smaller x or y, or the lower edge"),
        ],
        update=_chosen_anew,
    )

    @classmethod
    def lacks(cls, state: TableState, label: str) -> str:
        """A table that can be built."""
        return unbuilt(state)

    def invoke(self, context: Context, _event: Event) -> set[Any]:
        """Asks, while an arrow in the view shows the end."""
        state, label = self.chosen(context)
        _point(state, label, self.dimension, self.end)
        title = told("{part} came out…", part=label)
        return context.window_manager.invoke_props_dialog(
            self, width=360, title=title, confirm_text=told("Enter"), translate=False
        )

    def draw(self, context: Context) -> None:
        """Dimension, as drawn, reading, what was understood, end."""
        layout, (state, label) = self.layout, self.chosen(context)
        assert layout is not None
        one, units = _of_key(state, label, self.dimension), values.units_of(access.table_in(state))
        column = panel.split_column(layout)
        panel.field(column, self.properties, "dimension")
        if one is None:
            return
        panel.known(column, "As Drawn", parts.drawn_words(one, units))
        panel.field(column, self.properties, "reading")
        panel.known(column, "Difference", *_understood(self.reading, one, units))
        if one.ends:
            panel.field(column, self.properties, "end")

    def cancel(self, _context: Context) -> None:
        """Takes the arrow away."""
        corner.hide()

    def execute(self, context: Context) -> set[Any]:
        """Enters it."""
        corner.hide()
        state, label = self.chosen(context)
        one = _of_key(state, label, self.dimension)
        if one is None:
            return NOTHING

        def enter() -> None:
            units = values.units_of(access.table_in(state))
            reading = _read(self.reading, one, units)
            end = self.end if one.ends else None
            tables.change(state, parts.as_cut_changes(state, label, one, reading, end))

        done = attempt(self, enter)
        seeing.redraw()
        return done


def _of_key(state: TableState, label: str, key: str) -> parts.Measured | None:
    try:
        return next((one for one in parts.measured_of(state, label) if one.key == key), None)
    except DryAssemblyError:
        return None


def _point(state: TableState, label: str, key: str, end: str) -> None:
    one = _of_key(state, label, key)
    found = None
    if one is not None and state.root is not None:
        found = parts.grows_at(state, label, one, end if one.ends else None)
    if found is None or one is None:
        corner.hide()
        return
    corner.show(state.root.matrix_world.copy(), *found, f"{label}: {shown(one.words)}")


def _read(text: str, one: parts.Measured, units: Units) -> float:
    """What was typed, mm or degrees. Raises DryAssemblyError with what to write instead."""
    if one.unit != "mm":
        try:
            return float(text.replace(",", ".").rstrip("° "))
        except ValueError:
            raise DryAssemblyError(f"'{text}' is no angle: write degrees, such as 44.5.") from None
    reading: float = fields.read_dialog(text, _READING, units)
    return reading


def _understood(text: str, one: parts.Measured, units: Units) -> tuple[str, str]:
    """What was understood, as the difference to what was drawn, and a sign."""
    if not text.strip():
        return told("type what was read"), "NONE"
    try:
        by = _read(text, one, units) - one.drawn
    except DryAssemblyError as error:
        return str(error), "ERROR"
    if one.unit != "mm":
        return figures(f"{by:+.4g}°"), "CHECKMARK"
    much = format_amount(abs(by), units)
    if by == 0:
        return told("none: as drawn"), "CHECKMARK"
    return told("{much} more" if by > 0 else "{much} less", much=much), "CHECKMARK"


# -- the list of parts


class DRY_ASSEMBLY_OT_copy_parts(TableOperator, Operator):
    bl_idname = "dry_assembly.copy_parts"
    bl_label = "Copy List"
    bl_description = "Put the list of parts on the clipboard, as spreadsheets take it"
    bl_options = SEARCHED

    @classmethod
    def lacks(cls, state: TableState) -> str:
        """A table that can be built."""
        return unbuilt(state)

    def execute(self, context: Context) -> set[Any]:
        """Copies it."""

        def copy() -> None:
            context.window_manager.clipboard = parts.as_columns(self.table(context))

        done = attempt(self, copy)
        if done == DONE:
            self.say("INFO", "{count} parts are on the clipboard", count=len(self.table(context).parts))
        return done


def draw_chosen(layout: UILayout, context: Context, state: TableState) -> None:
    """The one part that is selected in the view: what it is, how large, what is said of it.

    As high without one: a list below must not jump from under the mouse when a line of it is clicked.
    """
    found = part_chosen(context)
    item = None
    if found is not None and found[0].key == state.key and len(context.selected_objects) == 1:
        item = state.parts.get(found[1])
    box = layout.box()
    column = box.column(align=True)
    if item is None and reserved.draw_chosen(column, context, state):
        pass
    elif item is None:
        panel.label(column, "Select one part", "OBJECT_DATA")
        panel.label(column, "")
        panel.label(column, "")
    else:
        panel.given(column, f"{item.name}  {shown(item.kind)}", "OBJECT_DATA")
        panel.amount(column, item.words, "BLANK1")
        _said_of(column, state, item.name)
    panel.button(box, "dry_assembly.enter_as_cut", "Enter as Measured…", "DRIVER_DISTANCE")


def _said_of(column: UILayout, state: TableState, label: str) -> None:
    """The gravest finding about a part in a line."""
    own = findings_of(state, label)
    row = column.row(align=True)
    row.active = not state.out_of_date
    if not own:
        panel.label(row, "No findings", "CHECKMARK")
        return
    finding = state.findings[own[0]]
    words = f"{shown(findings.what_of(finding))}  {figures(finding.amount)}"
    more = f" +{len(own) - 1}" if len(own) > 1 else ""
    panel.given(row, words + more, panel.SEVERITY_ICONS[finding.severity])
    panel.sign(row, "dry_assembly.show_part_findings", "VIEWZOOM")


def draw_list(layout: UILayout, context: Context, state: TableState) -> None:
    """All parts, in the order chosen."""
    group = context.scene.dry_assembly
    layout.template_list("DRY_ASSEMBLY_UL_parts", "", state, "parts", state, "part_index", rows=5)
    row = layout.row(align=True)
    panel.field(row, group, "parts_order", "")
    panel.button(row, "dry_assembly.copy_parts", "", "COPYDOWN")


CLASSES: Final = (
    DRY_ASSEMBLY_OT_show_part_findings,
    DRY_ASSEMBLY_OT_move_leaf,
    DRY_ASSEMBLY_OT_enter_as_cut,
    DRY_ASSEMBLY_OT_copy_parts,
)
