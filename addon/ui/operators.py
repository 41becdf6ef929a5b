"""The buttons of the work itself. Each calls one plain function of `scene.tables` and turns its error into a report."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import bpy
from bpy.props import EnumProperty, IntProperty, StringProperty
from bpy.types import Operator

from ..files.examples import EXAMPLES
from ..scene import access, motion, tables, views
from ..sizes.errors import DryAssemblyError

if TYPE_CHECKING:
    from collections.abc import Callable

    from bpy.types import Context, Event

    from ..scene.state import DRY_ASSEMBLY_PG_table as TableState

CHANGES: Final = {"REGISTER", "UNDO"}
ONE_STEP: Final = {"UNDO"}
"""Of an operator that can be undone, but has nothing to be adjusted afterwards."""
UNLISTED: Final = {"INTERNAL"}
DONE: Final = {"FINISHED"}
NOTHING: Final = {"CANCELLED"}
OWN: Final[set[Any]] = {"HIDDEN", "SKIP_SAVE"}
"""Options of a property that a button sets and nobody else: not to be seen, nor remembered for the next time."""


class TableOperator:
    """An operator that needs a table; grayed out with the reason where there is none."""

    @classmethod
    def poll(cls, context: Context) -> bool:
        """Whether there is a table, and all that the operator needs of it."""
        state = access.active_table(context.scene)
        lacks = "Add a example table or open a table file first" if state is None else cls.lacks(state)
        if lacks:
            cls.poll_message_set(lacks)  # type: ignore[attr-defined]
        return not lacks

    @classmethod
    def lacks(cls, state: TableState) -> str:
        """What the operator needs of the table and is not there, in words; "" where nothing is wanting."""
        return ""

    def table(self, context: Context) -> TableState:
        """The table that the panels show; `poll` has seen to it that there is one."""
        state = access.active_table(context.scene)
        assert state is not None
        return state


def attempt(operator: Operator, action: Callable[[], object]) -> set[Any]:
    """Runs an action; what is wrong with the user's input becomes a report, and nothing was changed."""
    try:
        done = action()
    except DryAssemblyError as error:
        operator.report({"ERROR"}, str(error))
        return NOTHING
    return NOTHING if done is False else DONE


class DRY_ASSEMBLY_OT_add_example(Operator):
    bl_idname = "dry_assembly.add_example"
    bl_label = "Add Demo Table"
    bl_description = "Add one of the tables that come with the extension"
    bl_options = CHANGES

    example: EnumProperty(
        name="Demo Table", items=[(name, example.label, example.intro) for name, example in EXAMPLES.items()]
    )

    @classmethod
    def description(cls, _context: Context, properties: Any) -> str:
        """What the table is for."""
        return EXAMPLES[properties.example].intro.rstrip(".")

    def execute(self, context: Context) -> set[Any]:
        """Adds it."""
        return attempt(self, lambda: tables.create_table(context.scene, EXAMPLES[self.example].text()))


class DRY_ASSEMBLY_OT_open_table(Operator):
    bl_idname = "dry_assembly.open_table"
    bl_label = "Open Table File"
    bl_description = "Add the table of a table file to the scene"
    bl_options = CHANGES

    filepath: StringProperty(subtype="FILE_PATH", options=OWN)
    filter_glob: StringProperty(default="*.toml", options={"HIDDEN"})

    def invoke(self, context: Context, _event: Event) -> set[Any]:
        """Asks for the file."""
        context.window_manager.fileselect_add(self)
        return {"RUNNING_MODAL"}

    def execute(self, context: Context) -> set[Any]:
        """Opens it."""
        return attempt(self, lambda: tables.open_table(context.scene, bpy.path.abspath(self.filepath)))


class DRY_ASSEMBLY_OT_save_table(TableOperator, Operator):
    bl_idname = "dry_assembly.save_table"
    bl_label = "Save Table File"
    bl_description = "Write the table's parameters to a table file; comments and spelling are kept"

    filepath: StringProperty(subtype="FILE_PATH", options=OWN)
    filter_glob: StringProperty(default="*.toml", options={"HIDDEN"})
    check_existing: bpy.props.BoolProperty(default=True, options={"HIDDEN"})

    def invoke(self, context: Context, _event: Event) -> set[Any]:
        """Asks for the file."""
        state = self.table(context)
        self.filepath = state.path or f"{bpy.path.clean_name(state.name)}.toml"
        context.window_manager.fileselect_add(self)
        return {"RUNNING_MODAL"}

    def execute(self, context: Context) -> set[Any]:
        """Saves it."""
        path = Path(bpy.path.abspath(self.filepath)).with_suffix(".toml")
        return attempt(self, lambda: tables.save_table(self.table(context), path))


class DRY_ASSEMBLY_OT_remove_table(TableOperator, Operator):
    bl_idname = "dry_assembly.remove_table"
    bl_label = "Remove Table"
    bl_description = "Take the table, its parts and its marks out of the scene; objects that you made stay"
    bl_options = CHANGES

    def execute(self, context: Context) -> set[Any]:
        """Removes it."""
        tables.remove_table(self.table(context))
        return DONE


class DRY_ASSEMBLY_OT_check_now(TableOperator, Operator):
    bl_idname = "dry_assembly.check_now"
    bl_label = "Check Now"
    bl_description = "Slide every leaf home, look at every joint and list what is wrong"
    bl_options = CHANGES

    def execute(self, context: Context) -> set[Any]:
        """Checks the table."""
        return attempt(self, lambda: tables.check_all(self.table(context)))


class FindingOperator(TableOperator):
    """An operator on one finding."""

    @classmethod
    def lacks(cls, state: TableState) -> str:
        """A finding."""
        return "" if state.findings else "There are no findings"

    def chosen(self, state: TableState) -> int | None:
        """Number of the finding meant."""
        index = state.finding_index if self.index < 0 else self.index  # type: ignore[attr-defined]
        return index if 0 <= index < len(state.findings) else None


class DRY_ASSEMBLY_OT_show_finding(FindingOperator, Operator):
    bl_idname = "dry_assembly.show_finding"
    bl_label = "Show Finding"
    bl_description = "Select the parts, turn the view to the place and go to the frame at which it happens"
    bl_options = CHANGES

    index: IntProperty(
        default=-1, description="Number of the finding; -1 is the one selected in the list", options=OWN
    )

    def execute(self, context: Context) -> set[Any]:
        """Shows it."""
        state = self.table(context)
        index = self.chosen(state)
        if index is None:
            return NOTHING
        return attempt(self, lambda: motion.show_finding(state, index))


class DRY_ASSEMBLY_OT_apply_remedy(FindingOperator, Operator):
    bl_idname = "dry_assembly.apply_remedy"
    bl_label = "Apply Remedy"
    bl_description = "Change the parameters so that this finding goes away"
    bl_options = CHANGES

    index: IntProperty(
        default=-1, description="Number of the finding; -1 is the one selected in the list", options=OWN
    )

    def execute(self, context: Context) -> set[Any]:
        """Applies it."""
        state = self.table(context)
        index = self.chosen(state)
        return NOTHING if index is None else attempt(self, lambda: tables.apply_remedy(state, index))


class DRY_ASSEMBLY_OT_set_leaves(TableOperator, Operator):
    bl_idname = "dry_assembly.set_leaves"
    bl_label = "Move Leaves"
    bl_options = CHANGES

    where: EnumProperty(
        name="Where",
        items=[
            ("cover", "Cover the Well", "Lay all leaves on the well as the table's top"),
            ("stowed", "Stow All", "Put all leaves home below the bottom panel"),
        ],
    )

    @classmethod
    def description(cls, _context: Context, properties: Any) -> str:
        """Where they go."""
        return (
            "Put all leaves home below the bottom panel"
            if properties.where == "stowed"
            else "Lay all leaves on the well"
        )

    def execute(self, context: Context) -> set[Any]:
        """Moves them."""
        motion.set_leaves(self.table(context), self.where)
        return DONE


class DRY_ASSEMBLY_OT_animate(TableOperator, Operator):
    bl_idname = "dry_assembly.animate"
    bl_label = "Animate Leaves"
    bl_description = "Animate the leaves from the cover to home; contacts and tight places are marked"
    bl_options = CHANGES

    order: EnumProperty(
        name="Order",
        items=[
            ("in turn", "In Turn", "Animate one leaf after the other"),
            ("together", "Together", "Animate all leaves at once"),
        ],
    )

    def execute(self, context: Context) -> set[Any]:
        """Animates them."""
        return attempt(self, lambda: motion.animate(self.table(context), self.order))


class DRY_ASSEMBLY_OT_stop_animation(TableOperator, Operator):
    bl_idname = "dry_assembly.stop_animation"
    bl_label = "Remove Animation"
    bl_description = "Take the stow animation and its marks away; other keyframes stay"
    bl_options = CHANGES

    @classmethod
    def lacks(cls, state: TableState) -> str:
        """An animation."""
        return "" if state.animation != "none" else "The leaves are not animated"

    def execute(self, context: Context) -> set[Any]:
        """Removes it."""
        motion.stop_animation(self.table(context))
        return DONE


class DRY_ASSEMBLY_OT_add_camera(TableOperator, Operator):
    bl_idname = "dry_assembly.add_camera"
    bl_label = "Add Camera and Lights"
    bl_description = "Add a camera that sees the whole table, and lights for a render"
    bl_options = CHANGES

    def execute(self, context: Context) -> set[Any]:
        """Adds them."""
        return attempt(self, lambda: views.add_camera(context.scene, self.table(context).key))


CLASSES: Final = (
    DRY_ASSEMBLY_OT_add_example,
    DRY_ASSEMBLY_OT_open_table,
    DRY_ASSEMBLY_OT_save_table,
    DRY_ASSEMBLY_OT_remove_table,
    DRY_ASSEMBLY_OT_check_now,
    DRY_ASSEMBLY_OT_show_finding,
    DRY_ASSEMBLY_OT_apply_remedy,
    DRY_ASSEMBLY_OT_set_leaves,
    DRY_ASSEMBLY_OT_animate,
    DRY_ASSEMBLY_OT_stop_animation,
    DRY_ASSEMBLY_OT_add_camera,
)

register, unregister = bpy.utils.register_classes_factory(CLASSES)
