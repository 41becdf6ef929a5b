"""What all panels of a table have in common."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from ..scene import access

if TYPE_CHECKING:
    from bpy.types import Context, UILayout

    from ..scene.state import DRY_ASSEMBLY_PG_table as TableState


class TablePanel:
    """A panel that shows the active table."""

    bl_space_type = "VIEW_3D"
    bl_region_type = "UI"
    bl_category = "Dry Assembly"

    @classmethod
    def poll(cls, context: Context) -> bool:
        """Whether there is a table."""
        return access.active_table(context.scene) is not None

    def draw(self, context: Context) -> None:
        """Draws the table's share of the panel."""
        state = access.active_table(context.scene)
        if state is not None:
            self.draw_table(context, self.layout, state)  # type: ignore[attr-defined]

    def draw_table(self, context: Context, layout: UILayout, state: TableState) -> None:
        """To be drawn by the panels."""
        raise NotImplementedError


class SubPanel(TablePanel):
    """Rarer settings, closed at first."""

    bl_options: Final = {"DEFAULT_CLOSED"}
