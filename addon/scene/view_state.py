"""What is drawn over the 3D view, as a scene keeps it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from bpy.props import BoolProperty
from bpy.types import PropertyGroup

if TYPE_CHECKING:
    from bpy.types import Context


def _changed(_self: PropertyGroup, context: Context) -> None:
    """Has the views drawn; what is to be drawn is prepared when they ask for it."""
    for area in context.screen.areas if context.screen else ():
        if area.type == "VIEW_3D":
            area.tag_redraw()


class DRY_ASSEMBLY_PG_view(PropertyGroup):
    """Choices of what is drawn over the view."""

    show: BoolProperty(
        name="Show Findings",
        default=True,
        description="Mark findings in the 3D view while this tab of the sidebar is open",
        update=_changed,
    )
    only_chosen: BoolProperty(
        name="Selected Only",
        description="Mark the finding selected in the list alone",
        update=_changed,
    )
    dimensions: BoolProperty(
        name="Dimensions",
        default=True,
        description="Draw the clearance or overlap between the two faces, with its number",
        update=_changed,
    )
    passages: BoolProperty(
        name="Passages",
        description="Draw the room that each leaf needs on its way home as a translucent box",
        update=_changed,
    )


CLASSES: Final = (DRY_ASSEMBLY_PG_view,)
