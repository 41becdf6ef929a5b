"""The buttons of the work itself, and those beside lists.

Each calls one plain function of `scene.tables` and turns its error into a report.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

import bpy
from bpy.types import Context, Event, Operator

from ..designs.table.layout import lay_out
from ..files.examples import EXAMPLES
from ..scene import access, floor, own_parts, preferences, tables
from ..scene.motion import motion
from ..scene.parts import new_fastener
from ..scene.pictures import studio
from ..scene.state.properties import DRY_ASSEMBLY_PG_table as TableState
from ..scene.translation import BoolProperty, EnumProperty, IntProperty, StringProperty, reported, told
from . import parts
from .operator_kinds import CHANGES, DONE, NOTHING, OWN, OwnOperator, TableOperator, attempt

LISTS: Final = (
    ("stock", "Stock", ""), ("stow", "Stow Position", ""), ("fastener", "Fastener", ""),
    ("own_part", "Part of My Own", ""), ("own_cut", "Cut", ""), ("as_cut", "As Cut", ""),
    ("reserved", "Reserved Space", ""), ("accepted", "Accepted", ""),
)  # fmt: skip


def _added(operator: Operator, context: Context, action: Callable[[], object]) -> set[Any]:
    """Adds a table, and says so where Blender's cube was hidden for it."""
    cube = floor.default_cube(context.scene)
    done = attempt(operator, action)
    if done == DONE and cube is not None:
        operator.report({"INFO"}, reported(floor.CUBE_HIDDEN))
    return done


class DRY_ASSEMBLY_OT_add_example(OwnOperator, Operator):
    bl_idname = "dry_assembly.add_example"
    bl_label = "Add Example Table"
    bl_description = "Add one of the tables that come with the extension"
    bl_options = CHANGES

    example: EnumProperty(
        name="Example Table",
        items=[(name, example.label, example.intro.rstrip(".")) for name, example in EXAMPLES.items()],
    )

    @classmethod
    def description(cls, _context: Context, properties: Any) -> str:
        """What the table is for."""
        return told(EXAMPLES[properties.example].intro.rstrip("."))

    def execute(self, context: Context) -> set[Any]:
        """Adds it."""

        def work() -> TableState:
            return tables.create_table(context.scene, preferences.suited(EXAMPLES[self.example].text()))

        return _added(self, context, work)


class DRY_ASSEMBLY_OT_open_table(OwnOperator, Operator):
    bl_idname = "dry_assembly.open_table"
    bl_label = "Open Table File"
    bl_description = "Add the table of a table file to the scene"
    bl_options = CHANGES

    filepath: StringProperty(subtype="FILE_PATH", options=OWN)
    filter_glob: StringProperty(default="*.toml", options={"HIDDEN"})

    def invoke(self, context: Context, _event: Event) -> set[Any]:
        """Asks for the file, if it was not dropped into the window."""
        if self.filepath:
            return self.execute(context)
        context.window_manager.fileselect_add(self)
        return {"RUNNING_MODAL"}

    def execute(self, context: Context) -> set[Any]:
        """Opens it."""
        return _added(
            self, context, lambda: tables.open_table(context.scene, bpy.path.abspath(self.filepath))
        )


class DRY_ASSEMBLY_OT_save_table(TableOperator, Operator):
    bl_idname = "dry_assembly.save_table"
    bl_label = "Save Table File"
    bl_description = "Write the table's parameters to a table file; comments and spelling are kept"

    filepath: StringProperty(subtype="FILE_PATH", options=OWN)
    filter_glob: StringProperty(default="*.toml", options={"HIDDEN"})
    check_existing: BoolProperty(default=True, options={"HIDDEN"})

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
    bl_description = (
        "Select the parts, go to the frame at which it happens and turn the view to where the place is seen;"
        " what covers it is seen through until the next finding is shown"
    )
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


class DRY_ASSEMBLY_OT_stop_showing(TableOperator, Operator):
    bl_idname = "dry_assembly.stop_showing"
    bl_label = "Stop Showing"
    bl_description = (
        "Draw what is seen through as it was, take hatching and names of the finding shown away, and turn the view"
        " back"
    )
    bl_options = CHANGES

    @classmethod
    def lacks(cls, state: TableState) -> str:
        """A finding that is shown."""
        return "" if state.shown else "No finding is shown"

    def execute(self, context: Context) -> set[Any]:
        """Puts all back."""
        motion.show_no_more(self.table(context))
        return DONE


class DRY_ASSEMBLY_OT_apply_remedy(FindingOperator, Operator):
    bl_idname = "dry_assembly.apply_remedy"
    bl_label = "Apply Remedy"
    bl_description = "Change the parameters so that this finding goes away"
    bl_options = CHANGES

    which: IntProperty(default=0, description="Number of the remedy", options=OWN)

    index: IntProperty(
        default=-1, description="Number of the finding; -1 is the one selected in the list", options=OWN
    )

    def execute(self, context: Context) -> set[Any]:
        """Applies it."""
        state = self.table(context)
        index = self.chosen(state)
        return (
            NOTHING if index is None else attempt(self, lambda: tables.apply_remedy(state, index, self.which))
        )


class DRY_ASSEMBLY_OT_set_leaves(TableOperator, Operator):
    bl_idname = "dry_assembly.set_leaves"
    bl_label = "Move Leaves"
    bl_options = CHANGES

    where: EnumProperty(
        name="Where",
        items=[
            ("cover", "Cover the Well", "Lay all leaves on the well as the table's top"),
            ("stowed", "Stow All", "Slide all leaves in below the bottom panel"),
        ],
    )

    @classmethod
    def description(cls, _context: Context, properties: Any) -> str:
        """Where they go."""
        stow = properties.where == "stowed"
        return told("Slide all leaves in below the bottom panel" if stow else "Lay all leaves on the well")

    def execute(self, context: Context) -> set[Any]:
        """Moves them."""
        motion.set_leaves(self.table(context), self.where)
        return DONE


class DRY_ASSEMBLY_OT_animate(TableOperator, Operator):
    bl_idname = "dry_assembly.animate"
    bl_label = "Animate Leaves"
    bl_description = (
        "Animate the leaves from the cover until they are stowed; overlaps and tight places are marked"
    )
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
        return attempt(self, lambda: studio.add_camera(context.scene, self.table(context).key))


class DRY_ASSEMBLY_OT_add_entry(TableOperator, Operator):
    bl_idname = "dry_assembly.add_entry"
    bl_label = "Add Entry"
    bl_description = "Add an entry to this list"
    bl_options = CHANGES

    section: EnumProperty(items=LISTS, options=OWN)

    def execute(self, context: Context) -> set[Any]:
        """Adds it."""
        state = self.table(context)
        return attempt(self, lambda: _add(context, state, self.section))


class DRY_ASSEMBLY_OT_remove_entry(TableOperator, Operator):
    bl_idname = "dry_assembly.remove_entry"
    bl_label = "Remove Entry"
    bl_description = "Remove the selected entry of this list"
    bl_options = CHANGES

    section: EnumProperty(items=LISTS, options=OWN)

    def execute(self, context: Context) -> set[Any]:
        """Removes it."""
        state = self.table(context)
        entries = getattr(state.parameters, self.section)
        index = getattr(state.parameters, f"{self.section}_index")
        if not 0 <= index < len(entries):
            return {"CANCELLED"}
        cuts = own_parts.cuts_without(state, index) if self.section == "own_part" else {}
        changed: dict[str, Any] = {f"{self.section}[{index}]": None, **cuts}
        if self.section == "stow":
            changed["leaves.count"] = len(entries) - 1
        return attempt(self, lambda: tables.change(state, changed))


class DRY_ASSEMBLY_OT_position_leaves(TableOperator, Operator):
    bl_idname = "dry_assembly.position_leaves"
    bl_label = "Position Leaves"
    bl_options = CHANGES

    by_hand: BoolProperty(name="By Hand")

    @classmethod
    def description(cls, _context: Context, properties: Any) -> str:
        """Who chooses the stow positions."""
        if properties.by_hand:
            return told("Write the stow positions down as they are now, to be changed one by one")
        return told("Forget the stow positions and have them chosen anew")

    def execute(self, context: Context) -> set[Any]:
        """Writes the positions down, or forgets them."""
        state = self.table(context)
        return attempt(self, lambda: _position_by_hand(state) if self.by_hand else _choose_anew(state))


def _add(context: Context, state: TableState, section: str) -> None:
    index = len(getattr(state.parameters, section))
    starts: dict[str, Callable[[], dict[str, Any]]] = {
        "stock": lambda: {"name": f"stock {index + 1}", "nominal": 18.0},
        "stow": lambda: {"side": "front", "offset": 0.0},
        "fastener": lambda: new_fastener(state, _selected_part(context, state)),
        "own_cut": lambda: own_parts.new_cut(state),
        "as_cut": lambda: {"part": _selected_part(context, state), "dimension": "length", "deviation": 0.0},
    }
    start = starts[section]()
    changed = {f"{section}[{index}].{name}": value for name, value in start.items()}
    if section == "stow":
        changed["leaves.count"] = index + 1
    tables.change(state, changed)
    setattr(state.parameters, f"{section}_index", index)


def _selected_part(context: Context, state: TableState) -> str:
    """Label of the part that is selected, or of any."""
    chosen = parts.part_chosen(context)
    if chosen is not None and chosen[0].key == state.key:
        return chosen[1]
    return min(access.part_objects(state), default="S1")


def _position_by_hand(state: TableState) -> None:
    changed: dict[str, Any] = {}
    for index, lane in enumerate(lay_out(access.table_in(state)).lanes):
        changed[f"stow[{index}].side"] = lane.side
        changed[f"stow[{index}].offset"] = (lane.lo + lane.hi) / 2
        changed[f"stow[{index}].tier"] = lane.tier
    tables.change(state, changed)


def _choose_anew(state: TableState) -> bool:
    changed: dict[str, Any] = {f"stow[{index}]": None for index in range(len(state.parameters.stow))}
    if changed:
        tables.change(state, changed)
    return bool(changed)


CLASSES: Final = (
    DRY_ASSEMBLY_OT_add_example,
    DRY_ASSEMBLY_OT_open_table,
    DRY_ASSEMBLY_OT_save_table,
    DRY_ASSEMBLY_OT_remove_table,
    DRY_ASSEMBLY_OT_check_now,
    DRY_ASSEMBLY_OT_show_finding,
    DRY_ASSEMBLY_OT_stop_showing,
    DRY_ASSEMBLY_OT_apply_remedy,
    DRY_ASSEMBLY_OT_set_leaves,
    DRY_ASSEMBLY_OT_animate,
    DRY_ASSEMBLY_OT_stop_animation,
    DRY_ASSEMBLY_OT_add_camera,
    DRY_ASSEMBLY_OT_add_entry,
    DRY_ASSEMBLY_OT_remove_entry,
    DRY_ASSEMBLY_OT_position_leaves,
)
