"""What a table knows of itself: one tree of properties on its empty, `Object.dry_assembly`, made from the declarations.

`Scene.dry_assembly` has what is of the scene alone: how its tables are to be shown and drawn. The text of the table
file is the truth; the parameter properties show it and take the user's changes. Everything is kept in the .blend file,
so undo and redo bring a table's parameters, geometry and findings back together.
"""

from __future__ import annotations

from typing import Final

import bpy
from bpy.props import CollectionProperty, PointerProperty
from bpy.types import Object, PropertyGroup

from ..pictures.engines import RELATIVE_PATHS
from ..translation import BoolProperty, EnumProperty, FloatProperty, IntProperty, StringProperty
from . import choices, results
from .parameters import LIST_GROUPS, PARAMETERS, SECTION_GROUPS, answered_by
from .results import (
    ANIMATION_ITEMS,
    TURN_ITEMS,
    DRY_ASSEMBLY_PG_analysis,
    DRY_ASSEMBLY_PG_cover,
    DRY_ASSEMBLY_PG_figure,
    DRY_ASSEMBLY_PG_leaf_study,
    DRY_ASSEMBLY_PG_line,
    DRY_ASSEMBLY_PG_opening,
    DRY_ASSEMBLY_PG_part,
    DRY_ASSEMBLY_PG_place,
    DRY_ASSEMBLY_PG_position,
    DRY_ASSEMBLY_PG_refusal,
    DRY_ASSEMBLY_PG_remedy,
    DRY_ASSEMBLY_PG_stray,
    PlaceProperties,
)

SEVERITY_ITEMS: Final = (
    ("note", "Note", "Worth knowing"),
    ("warning", "Warning", "Should be changed"),
    ("error", "Error", "Cannot stay"),
)
LEAF_ITEMS: Final = (
    ("cover", "Covering", "Lies on the well as part of the top"),
    ("sliding", "Sliding", "On its way, at the travel given"),
    ("stowed", "Stowed", "Stowed below the bottom panel"),
)


_leaf_changed: Final = answered_by("motion.motion", "leaf_changed")
_finding_chosen: Final = answered_by("motion.motion", "finding_chosen")
_place_chosen: Final = answered_by("motion.motion", "place_chosen")
_leaf_chosen: Final = answered_by("parts", "leaf_chosen")
_part_chosen: Final = answered_by("parts", "part_chosen")
_factor_changed: Final = answered_by("motion.exploded", "factor_changed")


class DRY_ASSEMBLY_PG_finding(PlaceProperties, PropertyGroup):
    """One finding, and at the same time its first place."""

    rule: StringProperty()
    severity: EnumProperty(items=SEVERITY_ITEMS)
    message: StringProperty()
    reason: StringProperty(description="Why the maker accepts it; empty while it is open")
    size: FloatProperty(description="Size of the fault, mm")
    places: CollectionProperty(type=DRY_ASSEMBLY_PG_place, description="All its places, where it has several")
    place_index: IntProperty(name="Place", update=_place_chosen)
    remedies: CollectionProperty(type=DRY_ASSEMBLY_PG_remedy)
    untried: BoolProperty(description="Whether there is something to try that may make it go away")
    of_slide: BoolProperty(description="Whether the study of leaves on their way says this")
    of_answer: BoolProperty(description="Whether a line of the answer says this: in the shop, or by hand")


class DRY_ASSEMBLY_PG_leaf(PropertyGroup):
    """One cover leaf: where it is, and what the last check said of its way. `name` is its label."""

    state: EnumProperty(name="State", description="Where the leaf is", items=LEAF_ITEMS, update=_leaf_changed)
    travel: FloatProperty(
        name="Travel",
        description="How far the leaf's nose is past the outer face of its slot",
        subtype="DISTANCE",
        precision=4,
        soft_min=-0.1,
        soft_max=1.2,
        step=0.5,
        update=_leaf_changed,
    )
    answer: CollectionProperty(type=DRY_ASSEMBLY_PG_line)
    verdict: StringProperty(description="As drawn")
    result: StringProperty(description="Smallest clearance on its way, and where")
    slide: StringProperty(description="Whether it guides itself, needs steering, or does not pass")
    held: StringProperty(description="What stops it, where it does not pass")
    openings: CollectionProperty(type=DRY_ASSEMBLY_PG_opening)
    opening_index: IntProperty(name="Opening")
    study: PointerProperty(type=DRY_ASSEMBLY_PG_leaf_study)


class DRY_ASSEMBLY_PG_table(PropertyGroup):
    """One table, on the empty that carries it."""

    key: StringProperty(description="Marks the objects of this table")
    number: IntProperty(description="Tables of a scene are in the order of these")
    labels: StringProperty(
        description="Labels of the parts that were made, a line each; empty where none were"
    )
    moved: CollectionProperty(
        type=DRY_ASSEMBLY_PG_stray, description="Parts that do not stand as they were made"
    )
    text: StringProperty(description="The table file's text")
    path: StringProperty(
        name="Table File", subtype="FILE_PATH", description="Where the table file was read or saved"
    )
    error: StringProperty(description="Why the parameters cannot be built")
    adapted: StringProperty(description="What else changed with the last change of a parameter, in words")
    refusals: CollectionProperty(type=DRY_ASSEMBLY_PG_refusal, description="Which, and the nearest that can")
    out_of_date: BoolProperty(description="Parameters changed since the findings were made")
    unwritten: BoolProperty(description="Parameters changed since the text was written")
    answer: CollectionProperty(type=DRY_ASSEMBLY_PG_line)
    hand_waits: BoolProperty(description="The line by hand is still to be worked out")
    shop_count: IntProperty(description="Random tables of the line in the shop; 0 where it is not worked out")
    verdict: StringProperty(description="As drawn")
    findings: CollectionProperty(type=DRY_ASSEMBLY_PG_finding)
    finding_index: IntProperty(name="Finding", update=_finding_chosen)
    proof_out_of_date: BoolProperty(
        default=True, description="Parameters changed since the slide proof was made"
    )
    remedies_found: BoolProperty(description="Whether remedies of the findings were tried")
    shown: StringProperty(
        description="The finding shown and where its names stand, as JSON; empty without one"
    )
    snag: StringProperty(description="What the snag shown is, in words")
    overlap: StringProperty(description="What the overlap shown is, in words")
    leaves: CollectionProperty(type=DRY_ASSEMBLY_PG_leaf)
    leaf_index: IntProperty(name="Leaf", update=_leaf_chosen)
    checks: CollectionProperty(
        type=DRY_ASSEMBLY_PG_line, description="Sliding in, jamming and sag, a line each"
    )
    parts: CollectionProperty(type=DRY_ASSEMBLY_PG_part)
    part_index: IntProperty(name="Part", update=_part_chosen)
    cover: PointerProperty(type=DRY_ASSEMBLY_PG_cover)
    positions: CollectionProperty(type=DRY_ASSEMBLY_PG_position)
    turn: EnumProperty(
        name="Way Round", description="Way round in which the leaf is put in", items=TURN_ITEMS
    )
    guest: StringProperty(description="Label of the leaf selected among the positions")
    position: StringProperty(description="Label of the leaf in whose position it is put")
    analysis: PointerProperty(type=DRY_ASSEMBLY_PG_analysis)
    animation: EnumProperty(
        name="Animation", description="How the leaves are animated", items=ANIMATION_ITEMS
    )
    explosion_factor: FloatProperty(
        name="Factor",
        description="How far the table is exploded: 0 is together, 1 all apart",
        subtype="FACTOR",
        min=0.0,
        max=1.0,
        update=_factor_changed,
    )
    explosion_words: StringProperty(description="What does not come apart, or runs into something on its way")
    explosion_once: BoolProperty(
        name="Like Parts Once",
        description="Of several like parts, the picture shows one, its label with their number",
    )
    family: StringProperty(description="Key that variants of one table share; empty for a table without")
    figures: CollectionProperty(type=DRY_ASSEMBLY_PG_figure)
    parameters: PointerProperty(type=PARAMETERS)

    @property
    def root(self) -> Object:
        """The empty that carries the table."""
        found = self.id_data
        assert isinstance(found, Object)
        return found


class DRY_ASSEMBLY_PG_scene(PropertyGroup):
    """How the tables of a scene are shown."""

    last: StringProperty(description="Key of the table that was selected last")
    tables: CollectionProperty(
        type=DRY_ASSEMBLY_PG_table,
        description="Tables of a file in which they were the scene's; brought to their empties when it is opened",
    )
    active: IntProperty(description="In such a file, number of the table that the panels showed")
    pictures_folder: StringProperty(
        name="Folder",
        subtype="DIR_PATH",
        default="//",
        options=RELATIVE_PATHS,
        description="Where pictures go. // is beside the .blend file; before that is saved, beside the table file or"
        " in your home folder",
    )
    picture_saved: StringProperty(description="What was saved last, in a sentence")
    output: EnumProperty(name="What", description="What is to be saved", items=choices.OUTPUT_ITEMS)
    parts_order: EnumProperty(
        name="Order", description="How the parts are listed", items=choices.PARTS_ORDER_ITEMS
    )
    sheet: PointerProperty(type=choices.DRY_ASSEMBLY_PG_sheet)
    view: PointerProperty(type=choices.DRY_ASSEMBLY_PG_view)
    show_errors: BoolProperty(name="Errors", default=True, description="List what cannot stay")
    show_warnings: BoolProperty(name="Warnings", default=True, description="List what should be changed")
    show_notes: BoolProperty(name="Notes", default=True, description="List what is worth knowing")
    show_accepted: BoolProperty(name="Accepted", default=True, description="List what you accept as it is")
    tolerance_count: IntProperty(
        name="Random Tables",
        default=10_000,
        min=100,
        max=1_000_000,
        soft_max=100_000,
        description="How many tables with random deviations the tolerance analysis makes",
    )


CLASSES: Final = (
    *SECTION_GROUPS.values(),
    *LIST_GROUPS.values(),
    PARAMETERS,
    *results.CLASSES,
    DRY_ASSEMBLY_PG_finding,
    *choices.CLASSES,
    DRY_ASSEMBLY_PG_leaf,
    DRY_ASSEMBLY_PG_table,
    DRY_ASSEMBLY_PG_scene,
)


def register() -> None:
    """Adds `Object.dry_assembly` and `Scene.dry_assembly`."""
    for kind in CLASSES:
        bpy.utils.register_class(kind)
    bpy.types.Object.dry_assembly = PointerProperty(type=DRY_ASSEMBLY_PG_table)
    bpy.types.Scene.dry_assembly = PointerProperty(type=DRY_ASSEMBLY_PG_scene)


def unregister() -> None:
    """Takes both away."""
    del bpy.types.Scene.dry_assembly
    del bpy.types.Object.dry_assembly
    for kind in reversed(CLASSES):
        bpy.utils.unregister_class(kind)
