"""What a scene keeps of the slide proof: one entry for each mouth that the proof judges."""

from __future__ import annotations

from typing import Final

from bpy.props import BoolProperty, EnumProperty, FloatProperty, IntProperty, StringProperty
from bpy.types import PropertyGroup

VIEW_ITEMS: Final = (
    ("side", "Side", "Seen from the side: up and down"),
    ("plan", "Plan", "Seen from above: left and right as the nose looks"),
)


class DRY_ASSEMBLY_PG_mouth(PropertyGroup):
    """Where a leaf's nose meets an opening, or wood beside its way. `name` is the part's label."""

    view: EnumProperty(items=VIEW_ITEMS)
    opening: IntProperty(description="Number of the opening in the row of the proof")
    travel: FloatProperty(subtype="DISTANCE", description="Travel at which the nose meets it")
    at: StringProperty(description="The same in the table's units")
    verdict: StringProperty()
    margin: FloatProperty(
        subtype="DISTANCE", description="By how much the nose meets it; negative: can miss it"
    )
    margin_text: StringProperty(description="The same in words")
    nose: StringProperty(description="Where the nose can be, off its place as drawn")
    catch: StringProperty(description="What the mouth catches, off the leaf's place as drawn")
    words: StringProperty(description="What can happen here, and what the hand has to do")
    has_snag: BoolProperty(description="Whether there is a pose that misses this mouth")
