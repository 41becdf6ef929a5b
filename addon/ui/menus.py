"""Menus: what to do with the part under the mouse, and all that the sidebar does, where the search finds it."""

from __future__ import annotations

from typing import Any, Final

from bpy.props import EnumProperty
from bpy.types import Context, Menu, Object, Operator

from ..scene import access, ids
from ..scene.findings import labels_of
from ..scene.motion import motion
from ..scene.state.properties import DRY_ASSEMBLY_PG_leaf as LeafState
from ..scene.state.properties import DRY_ASSEMBLY_PG_table as TableState
from .operator_kinds import CHANGES, DONE, NOTHING, attempt


def part_chosen(context: Context) -> tuple[TableState, str] | None:
    """The table and the label of the active object; None where that is no part of a table."""
    item: Object | None = getattr(context, "active_object", None)
    label = None if item is None else item.get(ids.PART)
    if item is None or label in (None, ids.ROOT):
        return None
    tables = context.scene.dry_assembly.tables
    state = next((one for one in tables if one.key == item.get(ids.TABLE)), None)
    return None if state is None else (state, str(label))


def findings_of(state: TableState, label: str) -> list[int]:
    """Numbers of the findings that concern a part, the gravest first."""
    return [number for number, finding in enumerate(state.findings) if label in labels_of(finding)]


def leaf_of(state: TableState, label: str) -> LeafState | None:
    """The leaf of that label; None where the part is no leaf."""
    return next((leaf for leaf in state.leaves if leaf.name == label), None)


class PartOperator:
    """An operator on the part that is the active object."""

    @classmethod
    def poll(cls, context: Context) -> bool:
        """Whether there is such a part, and all that the operator needs of it."""
        chosen = part_chosen(context)
        lacks = "Select a part of a table first" if chosen is None else cls.lacks(*chosen)
        if lacks:
            cls.poll_message_set(lacks)  # type: ignore[attr-defined]
        return not lacks

    @classmethod
    def lacks(cls, state: TableState, label: str) -> str:
        """What the operator needs and is not there, in words."""
        raise NotImplementedError


class DRY_ASSEMBLY_OT_show_part_findings(PartOperator, Operator):
    bl_idname = "dry_assembly.show_part_findings"
    bl_label = "Show Findings of This Part"
    bl_description = "Select and show the gravest finding about this part; once more for the next one"
    bl_options = CHANGES

    @classmethod
    def lacks(cls, state: TableState, label: str) -> str:
        """A finding."""
        return "" if findings_of(state, label) else f"There are no findings about {label}"

    def execute(self, context: Context) -> set[Any]:
        """Shows the gravest, or the one after the one that is shown."""
        chosen = part_chosen(context)
        assert chosen is not None
        (state, label), item = chosen, context.active_object
        found = findings_of(state, label)
        place = 0
        if state.finding_index in found and _is_shown(
            context, labels_of(state.findings[state.finding_index])
        ):
            place = (found.index(state.finding_index) + 1) % len(found)
        context.scene.dry_assembly.active = access.index_of(state)
        with access.own_writing():
            state.finding_index = found[place]
        done = attempt(self, lambda: motion.show_finding(state, found[place]))
        context.view_layer.objects.active = item
        self.report({"INFO"}, f"{label}, {place + 1} of {len(found)}: {state.findings[found[place]].message}")
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
        return "" if leaf_of(state, label) else f"{label} is no leaf"

    def execute(self, context: Context) -> set[Any]:
        """Moves it."""
        chosen = part_chosen(context)
        leaf = leaf_of(*chosen) if chosen else None
        if leaf is None:
            return NOTHING
        leaf.state = self.where
        return DONE


class DRY_ASSEMBLY_MT_table(Menu):
    bl_idname = "DRY_ASSEMBLY_MT_table"
    bl_label = "Dry Assembly"

    def draw(self, context: Context) -> None:
        """All buttons of the sidebar."""
        layout = self.layout
        assert layout is not None
        layout.operator_menu_enum("dry_assembly.add_example", "example", icon="ADD")
        layout.menu("DRY_ASSEMBLY_MT_presets", icon="PRESET")
        for names in _BUTTONS:
            layout.separator()
            for name in names:
                layout.operator_context = "INVOKE_DEFAULT"
                layout.operator(f"dry_assembly.{name}")
        for name, choice in _CHOICES:
            layout.operator_menu_enum(f"dry_assembly.{name}", choice)


_BUTTONS: Final = (
    ("open_table", "save_table", "remove_table"),
    ("check_now", "show_finding", "apply_remedy", "show_overlap", "hide_overlap"),
    ("show_snag", "hide_snag", "find_remedies", "analyze_tolerances"),
    ("save_preset", "add_variant", "keep_variant", "save_variants_picture"),
    ("stop_animation", "add_camera", "render_video", "save_sliding_in_pictures", "save_filmstrips"),
)
_CHOICES: Final = (("set_leaves", "where"), ("animate", "order"), ("render_picture", "kind"))


def _in_object_menu(self: Any, _context: Context) -> None:
    self.layout.separator()
    self.layout.menu(DRY_ASSEMBLY_MT_table.bl_idname)


def _in_add_menu(self: Any, _context: Context) -> None:
    self.layout.operator_menu_enum(
        "dry_assembly.add_example", "example", text="Example Table", icon="MESH_CUBE"
    )


def _under_the_mouse(self: Any, context: Context) -> None:
    """In the context menu of objects: what to do with a part."""
    chosen = part_chosen(context)
    if chosen is None:
        return
    layout, (state, label) = self.layout, chosen
    layout.separator()
    layout.operator("dry_assembly.show_part_findings", icon="ZOOM_SELECTED")
    if leaf_of(state, label):
        layout.operator_menu_enum("dry_assembly.move_leaf", "where", text="Move This Leaf")
    enter = layout.operator("dry_assembly.add_entry", text="Enter Size of This Part as Cut")
    enter.section = "as_cut"


CLASSES: Final = (DRY_ASSEMBLY_OT_show_part_findings, DRY_ASSEMBLY_OT_move_leaf, DRY_ASSEMBLY_MT_table)
MENUS: Final = (
    ("VIEW3D_MT_object", _in_object_menu),
    ("VIEW3D_MT_add", _in_add_menu),
    ("VIEW3D_MT_object_context_menu", _under_the_mouse),
)
"""Blender's menus → what is added to them."""
