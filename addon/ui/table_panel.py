"""The panel of the table as a whole: its verdict, its gravest finding, which one it is, its file, presets."""

from __future__ import annotations

from typing import Any, Final

from bpy.types import Context, Event, Menu, Operator, Panel, UILayout

from ..files.examples import EXAMPLES
from ..scene import access, copies, findings, ids, preferences, presets, seeing, tables
from ..scene.state.properties import DRY_ASSEMBLY_PG_finding as FindingState
from ..scene.state.properties import DRY_ASSEMBLY_PG_table as TableState
from ..scene.translation import CONTEXT, BoolProperty, StringProperty, shown, told
from ..sizes.words import capital
from . import panel, parts
from .operator_kinds import (
    CHANGES,
    DONE,
    NOTHING,
    ONE_STEP,
    OWN,
    UNLISTED,
    OwnOperator,
    TableOperator,
    attempt,
    unbuilt,
)
from .panel import OwnPanel


class DRY_ASSEMBLY_OT_apply_preset(OwnOperator, Operator):
    bl_idname = "dry_assembly.apply_preset"
    bl_label = "Apply Preset"
    bl_options = CHANGES

    preset: StringProperty(name="Preset", description="Name of the preset", options=OWN)
    is_own: BoolProperty(name="Own", description="Whether it is one of your own", options=OWN)

    @classmethod
    def description(cls, _context: Context, properties: Any) -> str:
        """What the preset is."""
        if properties.is_own:
            return told("Give the table the sizes of this preset. Its name stays, sizes of parts as cut go")
        return told(presets.BUILTIN[properties.preset].intro.rstrip("."))

    def execute(self, context: Context) -> set[Any]:
        """Applies it."""

        def work() -> None:
            known = None if self.is_own else presets.BUILTIN[self.preset]
            text = presets.own_text(self.preset) if known is None else preferences.suited(known.text())
            presets.apply(context.scene, text, self.preset if known is None else known.label)

        return attempt(self, work)


class DRY_ASSEMBLY_OT_save_preset(TableOperator, Operator):
    bl_idname = "dry_assembly.save_preset"
    bl_label = "Save Preset"
    bl_description = (
        "Keep the table's sizes under a name, to begin other tables with; sizes of parts as cut stay out"
    )

    name: StringProperty(
        name="Name",
        description="What to call the preset",
        maxlen=60,
        options={"SKIP_SAVE"},
    )

    @classmethod
    def lacks(cls, state: TableState) -> str:
        """A table that can be built."""
        return unbuilt(state)

    def invoke(self, context: Context, _event: Event) -> set[Any]:
        """Asks for the name."""
        name = self.table(context).name
        self.name = self.name or ("" if presets.is_taken(name) else name)
        return context.window_manager.invoke_props_dialog(self)

    def execute(self, context: Context) -> set[Any]:
        """Keeps it."""
        done = attempt(self, lambda: presets.save(self.table(context), self.name))
        if done == DONE:
            self.say("INFO", "Kept as preset {name}", name=self.name.strip())
        return done


class DRY_ASSEMBLY_OT_remove_preset(OwnOperator, Operator):
    bl_idname = "dry_assembly.remove_preset"
    bl_label = "Remove Preset"
    bl_description = "Delete this preset's file. This cannot be undone"
    bl_options = UNLISTED

    preset: StringProperty(name="Preset", description="Name of the preset", options=OWN)

    def invoke(self, context: Context, event: Event) -> set[Any]:
        """Asks once more."""
        return context.window_manager.invoke_confirm(self, event, message=self.preset)

    def execute(self, _context: Context) -> set[Any]:
        """Removes it."""
        return attempt(self, lambda: presets.remove(self.preset))


class DRY_ASSEMBLY_OT_choose_table(OwnOperator, Operator):
    bl_idname = "dry_assembly.choose_table"
    bl_label = "Choose Table"
    bl_description = "Show this table in the panels"
    bl_options = ONE_STEP | UNLISTED

    key: StringProperty(options=OWN)

    def execute(self, context: Context) -> set[Any]:
        """Makes it the active table."""
        found = next((one for one in access.tables_in(context.scene) if one.key == self.key), None)
        if found is None:
            return NOTHING
        tables.make_active(found)
        return DONE


class DRY_ASSEMBLY_OT_put_back(TableOperator, Operator):
    bl_idname = "dry_assembly.put_back"
    bl_label = "Put Back"
    bl_description = "Stand every part where it was made and as it was made; copies of parts are removed"
    bl_options = ONE_STEP

    @classmethod
    def lacks(cls, state: TableState) -> str:
        """A part that does not stand as it was made."""
        return "" if state.moved else "Every part stands where it was made"

    def execute(self, context: Context) -> set[Any]:
        """Puts them back."""
        done = attempt(self, lambda: copies.put_back(self.table(context)))
        seeing.redraw()
        return done


class DRY_ASSEMBLY_OT_keep_as_own(TableOperator, Operator):
    bl_idname = "dry_assembly.keep_as_own"
    bl_label = "Keep as My Own"
    bl_description = "Make what was moved or changed an object of your own; the table gets its parts anew"
    bl_options = ONE_STEP

    @classmethod
    def lacks(cls, state: TableState) -> str:
        """A part that was moved or changed."""
        return "" if _own_labels(state) else "No part was moved or changed"

    def execute(self, context: Context) -> set[Any]:
        """Lets go of them."""
        state = self.table(context)

        def keep() -> None:
            for label in _own_labels(state):
                copies.keep_as_own(state, label)

        done = attempt(self, keep)
        seeing.redraw()
        return done


def _own_labels(state: TableState) -> list[str]:
    """Labels of the parts that were moved or changed, and are there."""
    return list(dict.fromkeys(stray.name for stray in state.moved if stray.item and stray.name != ids.ROOT))


class DRY_ASSEMBLY_OT_make_local(OwnOperator, Operator):
    bl_idname = "dry_assembly.make_local"
    bl_label = "Make Local"
    bl_description = "Make the linked table one of this file, so that it can be changed"
    bl_options = ONE_STEP

    @classmethod
    def poll(cls, context: Context) -> bool:
        """Whether there is a linked table."""
        state = access.active_table(context)
        return state is not None and bool(access.locked(state))

    def execute(self, context: Context) -> set[Any]:
        """Makes it local."""
        state = access.active_table(context)
        if state is None:
            return NOTHING
        return attempt(self, lambda: copies.make_local(state) is not None)


class DRY_ASSEMBLY_MT_tables(Menu):
    bl_idname = "DRY_ASSEMBLY_MT_tables"
    bl_label = "Choose Table"
    bl_translation_context = CONTEXT

    def draw(self, context: Context) -> None:
        """All tables of the scene, each with the sign of its verdict."""
        layout = self.layout
        assert layout is not None
        for state in access.tables_in(context.scene):
            icon = "CANCEL" if state.error else panel.VERDICT_ICONS.get(state.verdict, "QUESTION")
            panel.named(layout, "dry_assembly.choose_table", state.name, icon, key=state.key)


class DRY_ASSEMBLY_MT_presets(Menu):
    bl_idname = "DRY_ASSEMBLY_MT_presets"
    bl_label = "Presets"
    bl_translation_context = CONTEXT

    def draw(self, context: Context) -> None:
        """The extension's, the user's, and what to do with these."""
        layout = self.layout
        assert layout is not None
        for key, preset in presets.BUILTIN.items():
            panel.button(layout, "dry_assembly.apply_preset", preset.label, preset=key, is_own=False)
        names = presets.own()
        if names:
            layout.separator()
        for name in names:
            panel.named(layout, "dry_assembly.apply_preset", name, preset=name, is_own=True)
        if access.active_table(context) is not None:
            layout.separator()
            layout.operator_context = "INVOKE_DEFAULT"
            panel.button(layout, "dry_assembly.save_preset", "Save Preset…", "ADD")
        if names:
            panel.menu(layout, "DRY_ASSEMBLY_MT_remove_presets", "Remove Preset", "REMOVE")


class DRY_ASSEMBLY_MT_remove_presets(Menu):
    bl_idname = "DRY_ASSEMBLY_MT_remove_presets"
    bl_label = "Remove Preset"
    bl_translation_context = CONTEXT

    def draw(self, _context: Context) -> None:
        """The user's own."""
        layout = self.layout
        assert layout is not None
        layout.operator_context = "INVOKE_DEFAULT"
        for name in presets.own():
            panel.named(layout, "dry_assembly.remove_preset", name, preset=name)


class DRY_ASSEMBLY_MT_file(Menu):
    bl_idname = "DRY_ASSEMBLY_MT_file"
    bl_label = "File"
    bl_translation_context = CONTEXT

    def draw(self, context: Context) -> None:
        """Open, save, add, remove."""
        layout = self.layout
        assert layout is not None
        layout.operator_context = "INVOKE_DEFAULT"
        panel.button(layout, "dry_assembly.open_table", "Open Table File…", "FILE_FOLDER")
        panel.button(layout, "dry_assembly.save_table", "Save Table File…", "FILE_TICK")
        layout.separator()
        for name, example in EXAMPLES.items():
            panel.button(layout, "dry_assembly.add_example", f"Add {example.label}", "ADD", example=name)
        layout.separator()
        panel.button(layout, "dry_assembly.remove_table", "Remove Table", "TRASH")


class DRY_ASSEMBLY_MT_begin(Menu):
    bl_idname = "DRY_ASSEMBLY_MT_begin"
    bl_label = "Begin Otherwise"
    bl_translation_context = CONTEXT

    def draw(self, _context: Context) -> None:
        """The other examples, presets, a file."""
        layout = self.layout
        assert layout is not None
        for name, example in EXAMPLES.items():
            if name != preferences.first_example():
                panel.button(layout, "dry_assembly.add_example", f"Add {example.label}", "ADD", example=name)
        panel.menu(layout, "DRY_ASSEMBLY_MT_presets", "Presets", "PRESET")
        layout.operator_context = "INVOKE_DEFAULT"
        panel.button(layout, "dry_assembly.open_table", "Open Table File…", "FILE_FOLDER")


class DRY_ASSEMBLY_PT_table(OwnPanel, Panel):
    """How the table stands, its gravest finding, which one it is, and where others come from."""

    bl_label = "Table"

    def draw(self, context: Context) -> None:
        """Name, verdict, gravest finding, the part selected, presets and file."""
        layout = self.layout
        assert layout is not None
        state = access.active_table(context)
        if state is None:
            _first_table(layout, context)
            return
        _which(layout, context, state)
        words = access.locked(state)
        if words:
            panel.sentence(layout, context, f"{words}.", "LINKED")
            panel.button(layout, "dry_assembly.make_local", "Make Local")
        _verdict(layout, context, state)
        if not state.error:
            _standing(layout, context, state)
            _gravest(layout, state)
        parts.draw_chosen(layout, context, state)
        row = layout.row(align=True)
        panel.menu(row, "DRY_ASSEMBLY_MT_presets", "Presets", "PRESET")
        panel.menu(row, "DRY_ASSEMBLY_MT_file", "File", "FILE")


def _first_table(layout: UILayout, context: Context) -> None:
    """Where to begin: one great button, and a menu of what else there is."""
    panel.sentence(layout, context, "Begin with an example, then change its sizes.")
    name = preferences.first_example()
    row = layout.row()
    row.scale_y = 1.8
    panel.button(row, "dry_assembly.add_example", f"Add {EXAMPLES[name].label}", "ADD", example=name)
    panel.menu(layout, "DRY_ASSEMBLY_MT_begin", "Begin Otherwise")


def _which(layout: UILayout, context: Context, state: TableState) -> None:
    """The table's name and unit, and a menu of all where there are several."""
    row = layout.row(align=True)
    if len(access.tables_in(context.scene)) > 1:
        panel.menu(row, "DRY_ASSEMBLY_MT_tables", "", "DOWNARROW_HLT")
    panel.title(row, state)
    if state.parameters.units == "in":
        panel.field(panel.split_column(layout), state.parameters, "fraction", "Finest Fraction")


def _verdict(layout: UILayout, context: Context, state: TableState) -> None:
    """The three lines, or why there are none."""
    if state.error:
        box = layout.box()
        box.alert = True
        panel.label(box, "Not built", "CANCEL")
        panel.sentence(box, context, panel.without_keys(state.error))
        panel.sentence(box, context, "You see the last table that could be built.")
        return
    if state.adapted:
        panel.sentence(layout, context, state.adapted, "INFO")
    row = layout.row()
    row.active = not state.out_of_date and not state.moved
    if state.answer:
        panel.lines(row, state.answer)
    else:
        panel.label(row, "Not checked", "QUESTION")


def _standing(layout: UILayout, context: Context, state: TableState) -> None:
    """What does not stand as it was made, of which the verdict says nothing."""
    if not state.moved:
        return
    box = layout.box()
    panel.clause(box, context, access.standing_words(state), "ERROR")
    row = box.row(align=True)
    panel.button(row, "dry_assembly.put_back", "Put Back", "LOOP_BACK")
    if _own_labels(state):
        panel.button(row, "dry_assembly.keep_as_own", "Keep as My Own")


def _gravest(layout: UILayout, state: TableState) -> None:
    """The gravest finding that is open, unless it is a note, with buttons to see it and to make it go away."""
    if not state.findings or state.findings[0].severity == "note" or state.findings[0].reason:
        return
    box = layout.box()
    box.active = not state.out_of_date
    finding: FindingState = state.findings[0]
    split = box.split(factor=0.5)
    words = capital(shown(findings.what_of(finding)))
    panel.given(split, words, panel.SEVERITY_ICONS[finding.severity])
    panel.amount(split, f"{findings.labels_of(finding)[0]}  {finding.amount}")
    row = box.row(align=True)
    panel.button(row, "dry_assembly.show_finding", "Show", "ZOOM_SELECTED", index=0)
    if state.shown:
        panel.sign(row, "dry_assembly.stop_showing", "X")
    panel.button(row, "dry_assembly.fix_finding", "Fix", "TOOL_SETTINGS")


CLASSES: Final[tuple[Any, ...]] = (
    DRY_ASSEMBLY_OT_apply_preset,
    DRY_ASSEMBLY_OT_save_preset,
    DRY_ASSEMBLY_OT_remove_preset,
    DRY_ASSEMBLY_OT_choose_table,
    DRY_ASSEMBLY_OT_put_back,
    DRY_ASSEMBLY_OT_keep_as_own,
    DRY_ASSEMBLY_OT_make_local,
    DRY_ASSEMBLY_MT_tables,
    DRY_ASSEMBLY_MT_remove_presets,
    DRY_ASSEMBLY_MT_presets,
    DRY_ASSEMBLY_MT_file,
    DRY_ASSEMBLY_MT_begin,
)
