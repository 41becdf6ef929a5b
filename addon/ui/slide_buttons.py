"""The buttons of the slide proof."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import bpy
from bpy.types import Operator

from ..scene import access, slides, snag
from .operators import CHANGES, DONE, TableOperator, attempt

if TYPE_CHECKING:
    from bpy.types import Context

    from ..scene.state import DRY_ASSEMBLY_PG_leaf as LeafState
    from ..scene.state import DRY_ASSEMBLY_PG_table as TableState


class DRY_ASSEMBLY_OT_show_snag(TableOperator, Operator):
    bl_idname = "dry_assembly.show_snag"
    bl_label = "Show Snag"
    bl_description = (
        "Show a ghost of the leaf where its nose misses the mouth selected, or the one missed by the most"
    )
    bl_options = CHANGES

    @classmethod
    def poll(cls, context: Context) -> bool:
        """Whether the leaf selected snags anywhere."""
        if not super().poll(context):
            return False
        leaf = _chosen(access.active_table(context.scene))
        if leaf is None or leaf.slide not in ("needs-steering", "does-not-pass"):
            cls.poll_message_set("The leaf selected snags nowhere")
            return False
        return True

    def execute(self, context: Context) -> set[Any]:
        """Shows it."""
        state = self.table(context)
        leaf = _chosen(state)
        assert leaf is not None
        mouth = leaf.mouths[leaf.mouth_index] if 0 <= leaf.mouth_index < len(leaf.mouths) else None
        where = ("", -1) if mouth is None else (mouth.view, mouth.opening)
        return attempt(self, lambda: snag.show(state, leaf.name, *where) is not None)


class DRY_ASSEMBLY_OT_hide_snag(TableOperator, Operator):
    bl_idname = "dry_assembly.hide_snag"
    bl_label = "Hide Snag"
    bl_description = "Take the ghost and its note away"
    bl_options = CHANGES

    @classmethod
    def poll(cls, context: Context) -> bool:
        """Whether one is shown."""
        if not super().poll(context):
            return False
        state = access.active_table(context.scene)
        if state is not None and state.snag:
            return True
        cls.poll_message_set("No snag is shown")
        return False

    def execute(self, context: Context) -> set[Any]:
        """Hides it."""
        snag.hide(self.table(context))
        return DONE


class DRY_ASSEMBLY_OT_find_remedies(TableOperator, Operator):
    bl_idname = "dry_assembly.find_remedies"
    bl_label = "Find Remedies"
    bl_description = (
        "Try out what makes the leaves guide themselves: chamfers, strips, less room. Takes some seconds"
    )
    bl_options = CHANGES

    @classmethod
    def poll(cls, context: Context) -> bool:
        """Whether there is a leaf to be helped, and it is not known how."""
        if not super().poll(context):
            return False
        state = access.active_table(context.scene)
        if state is not None and not any(leaf.slide == "needs-steering" for leaf in state.leaves):
            cls.poll_message_set("No leaf has to be steered")
            return False
        if state is not None and state.remedies_found:
            cls.poll_message_set("The remedies are listed among the findings")
            return False
        return True

    def execute(self, context: Context) -> set[Any]:
        """Finds them."""
        state = self.table(context)
        context.window_manager.progress_begin(0, 1)
        try:
            return attempt(self, lambda: slides.prove_now(state, remedies=True))
        finally:
            context.window_manager.progress_end()


def _chosen(state: TableState | None) -> LeafState | None:
    """The leaf selected in the list."""
    if state is None or not 0 <= state.leaf_index < len(state.leaves):
        return None
    return state.leaves[state.leaf_index]


CLASSES: Final = (DRY_ASSEMBLY_OT_show_snag, DRY_ASSEMBLY_OT_hide_snag, DRY_ASSEMBLY_OT_find_remedies)

register, unregister = bpy.utils.register_classes_factory(CLASSES)
