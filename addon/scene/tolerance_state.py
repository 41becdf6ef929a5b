"""What a scene keeps of the tolerance analysis: its results in the table's units, ready to be shown."""

from __future__ import annotations

from typing import Final

from bpy.props import BoolProperty, CollectionProperty, IntProperty, StringProperty
from bpy.types import PropertyGroup


class DRY_ASSEMBLY_PG_share(PropertyGroup):
    """How many of the random tables do something. `name` is what they do."""

    words: StringProperty(description="How many, and the bounds of their share at 95 %")
    every: BoolProperty(description="Whether all of them do")
    steered: BoolProperty(description="Whether a hand that steers makes up for those that do not")


class DRY_ASSEMBLY_PG_margin(PropertyGroup):
    """Half of the smallest room of a leaf in one view. `name` is leaf and view."""

    nominal: StringProperty(description="As drawn")
    worst: StringProperty(description="In the worst case")
    likely: StringProperty(description="By root sum square")
    fails: BoolProperty(description="Whether it does not go in in the worst case")


class DRY_ASSEMBLY_PG_effect(PropertyGroup):
    """A dimension that may be off. `name` is its name."""

    words: StringProperty(description="What it takes off the margin at most, and its tolerance")


class DRY_ASSEMBLY_PG_analysis(PropertyGroup):
    """The last tolerance analysis of a table."""

    made: BoolProperty(description="Whether there is one")
    out_of_date: BoolProperty(description="Parameters changed since")
    count: IntProperty(description="Random tables")
    shares: CollectionProperty(type=DRY_ASSEMBLY_PG_share)
    margins: CollectionProperty(type=DRY_ASSEMBLY_PG_margin)
    tightest: StringProperty(description="The leaf and the view with the least margin in the worst case")
    effects: CollectionProperty(type=DRY_ASSEMBLY_PG_effect)
    router: StringProperty(description="How well the router has to work")
    thickest: StringProperty(description="From which thickness on the first leaf no longer goes in")


CLASSES: Final = (
    DRY_ASSEMBLY_PG_share,
    DRY_ASSEMBLY_PG_margin,
    DRY_ASSEMBLY_PG_effect,
    DRY_ASSEMBLY_PG_analysis,
)
