"""What a scene keeps of results: the answer, parts of findings, the slide proof, forces, the tolerance analysis."""

from __future__ import annotations

from typing import Final

from bpy.props import CollectionProperty, FloatVectorProperty
from bpy.types import PropertyGroup

from ..translation import BoolProperty, EnumProperty, FloatProperty, IntProperty, StringProperty


class DRY_ASSEMBLY_PG_line(PropertyGroup):
    """One line of the answer. `name` is what it is about: as drawn, in the shop, by hand."""

    words: StringProperty(description="All that it says")
    short: StringProperty(description="The same in some twenty letters")
    grade: StringProperty(description="good, watch, bad; open as long as it is not known")


class PlaceProperties:
    """What is kept of a place of a finding."""

    parts: StringProperty(description="Labels of the parts concerned, the one to change first")
    place: FloatVectorProperty(size=3, subtype="XYZ", unit="LENGTH", description="Place in the table")
    amount: StringProperty(description="Size of the fault")
    leaf: StringProperty()
    has_travel: BoolProperty()
    travel: FloatProperty(subtype="DISTANCE")
    span_from: FloatVectorProperty(
        size=3, subtype="XYZ", unit="LENGTH", description="Where the amount is measured, on the first part"
    )
    span_to: FloatVectorProperty(
        size=3, subtype="XYZ", unit="LENGTH", description="Where the amount is measured, on the other part"
    )
    span_text: StringProperty(description="Distance of these two places; empty where there are none")


class DRY_ASSEMBLY_PG_place(PlaceProperties, PropertyGroup):
    """One place of a finding."""


class DRY_ASSEMBLY_PG_remedy(PropertyGroup):
    """What makes a finding go away. `name` says what to do."""

    changes: StringProperty(description="Changes to the table file, as JSON; empty where only words help")
    after: StringProperty(description="What it leads to and what it costs, in words")


class DRY_ASSEMBLY_PG_stray(PropertyGroup):
    """A part that does not stand as it was made. `name` is its label, or that of the empty for the whole table."""

    what: StringProperty(description="moved, turned, scaled, gone, edited; extra for a copy of a part")
    item: StringProperty(description="Name of the object; empty where there is none")


class DRY_ASSEMBLY_PG_share(PropertyGroup):
    """How many of the random tables do something. `name` is what they do."""

    words: StringProperty(description="How many, and the 95 % confidence bounds of their share")
    every: BoolProperty(description="Whether all of them do")


class DRY_ASSEMBLY_PG_margin(PropertyGroup):
    """Half of the smallest room of a leaf in one view. `name` is leaf and view."""

    nominal: StringProperty(description="As drawn")
    worst: StringProperty(description="In the worst case")
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


class DRY_ASSEMBLY_PG_refusal(PropertyGroup):
    """A value that cannot be built. `name` is its key in the table file."""

    value: StringProperty(
        description="The nearest that can, as JSON, lengths in mm; empty where there is none"
    )
    words: StringProperty(description="The same in the table's unit")


class DRY_ASSEMBLY_PG_part(PropertyGroup):
    """One part in the list of parts. `name` is its label."""

    kind: StringProperty(description="What it is, in words")
    words: StringProperty(description="Length, width and thickness in the table's unit")
    size: FloatVectorProperty(size=3, unit="LENGTH", description="Length, width and thickness")


VIEW_ITEMS: Final = (
    ("side", "Side", "Seen from the side: up and down"),
    ("plan", "Plan", "Seen from above: left and right as the nose looks"),
)


class DRY_ASSEMBLY_PG_opening(PropertyGroup):
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
    catch: StringProperty(description="What the opening catches, off the leaf's place as drawn")
    words: StringProperty(description="What can happen here, and what the hand has to do")
    has_snag: BoolProperty(description="Whether there is a pose that does not find this opening")


class DRY_ASSEMBLY_PG_leaf_study(PropertyGroup):
    """What friction and weight do to a leaf: short words for a row of a list, and sentences, one a line."""

    side_start: StringProperty(
        description="From which travel on it may be pushed anywhere, seen from the side"
    )
    side_jams: BoolProperty(description="Whether it may jam even stowed, seen from the side")
    side_words: StringProperty()
    plan_start: StringProperty(description="The same, seen from above")
    plan_jams: BoolProperty()
    plan_words: StringProperty()
    droop: StringProperty(description="By how much its free nose bends down at most")
    droops: BoolProperty(description="Whether it comes too low for an opening for that")
    droop_words: StringProperty()
    sag: StringProperty(description="By how much it sags across the well after years")
    sags: BoolProperty(description="Whether that is too much")
    sag_words: StringProperty()


class DRY_ASSEMBLY_PG_cover(PropertyGroup):
    """The covering leaves side by side in the well, in short words; all empty for a table without any."""

    gap: StringProperty(description="Each gap as drawn")
    gap_worst: StringProperty(description="Least and greatest gap in the worst case of the tolerances")
    tight: BoolProperty(description="Whether the leaves may not all lie down")
    lift: StringProperty(description="Room to lift the first leaf out")
    held: BoolProperty(description="Whether none can be lifted out by an edge")


TURN_ITEMS: Final = (
    ("as drawn", "As Drawn", "Upper face up, outer end out"),
    ("turned over", "Turned Over", "Turned about its length: upper face down, outer end out"),
    ("end for end", "End for End", "Turned flat: upper face up, outer end in"),
    ("both", "Both", "Turned over and end for end"),
)


class DRY_ASSEMBLY_PG_position(PropertyGroup):
    """A leaf in the place of a leaf, one way round. `name` is the label of the leaf that is moved."""

    position: StringProperty(description="Label of the leaf whose position it is")
    turn: EnumProperty(items=TURN_ITEMS)
    verdict: StringProperty(description="clear, tight, blocked; stray where it does not come to rest stowed")
    clearance: StringProperty(description="Smallest clearance on its way")
    words: StringProperty()


class DRY_ASSEMBLY_PG_figure(PropertyGroup):
    """A figure in which a table differs from its other variants. `name` says what it is."""

    words: StringProperty(description="Its value with the unit")


ANIMATION_ITEMS: Final = (
    ("none", "None", "The leaves stand still"),
    ("in turn", "In Turn", "One leaf after the other"),
    ("together", "Together", "All leaves at once"),
)


CLASSES: Final = (
    DRY_ASSEMBLY_PG_refusal,
    DRY_ASSEMBLY_PG_part,
    DRY_ASSEMBLY_PG_line,
    DRY_ASSEMBLY_PG_place,
    DRY_ASSEMBLY_PG_remedy,
    DRY_ASSEMBLY_PG_opening,
    DRY_ASSEMBLY_PG_leaf_study,
    DRY_ASSEMBLY_PG_cover,
    DRY_ASSEMBLY_PG_position,
    DRY_ASSEMBLY_PG_figure,
    DRY_ASSEMBLY_PG_stray,
    DRY_ASSEMBLY_PG_share,
    DRY_ASSEMBLY_PG_margin,
    DRY_ASSEMBLY_PG_effect,
    DRY_ASSEMBLY_PG_analysis,
)
