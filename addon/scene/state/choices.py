"""How a scene's tables are to be shown: over the 3D view, and on paper."""

from __future__ import annotations

from typing import Final

from bpy.types import Context, PropertyGroup

from ...sizes.bounds import FEWEST_DPI, MOST_DPI
from ..translation import BoolProperty, EnumProperty, IntProperty
from .parameters import answered_by


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
    notes: BoolProperty(
        name="Mark Notes",
        description="Mark notes in the 3D view too, not only what should be changed; one that is shown always is",
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
        description="Draw the room that each leaf needs on its way in as a translucent box",
        update=_changed,
    )
    verdict: BoolProperty(
        name="Verdict",
        default=True,
        description="Write the verdict into the corner of the 3D view",
        update=_changed,
    )
    reserved: BoolProperty(
        name="Reserved Space",
        default=True,
        description="Show reserved spaces as bodies that are seen through, while the table is not exploded",
        update=answered_by("spaces", "choice_changed"),
    )


VIEW_3D: Final = "view-3d"
"""The view whose direction is looked up when the picture is made."""

STYLE_ITEMS: Final = (
    ("lines", "Lines", "Outlines and edges, as in a shop drawing"),
    ("shaded", "Shaded", "Faces in their colors, under the lines"),
    ("transparent", "Transparent", "The body like glass in thin lines, the leaves in it"),
    ("rendered", "Rendered", "Light and shadow, without lines"),
)
ENGINE_ITEMS: Final = (
    ("workbench", "Workbench", "Quick"),
    ("cycles", "Cycles", "Grain of the wood and soft shadows; takes a minute or more"),
)
VIEW_ITEMS: Final = (
    ("isometric", "Isometric", "From above, front and right; lengths along all three axes to one scale"),
    ("below", "Upside Down", "Isometric with the feet in the air, as the table is glued up"),
    ("front", "Front", "From the front"),
    ("right", "Right", "From the right"),
    ("top", "Top", "From above"),
    (VIEW_3D, "As in the 3D View", "From where the 3D view looks, without perspective; not to scale"),
)
LEAVES_ITEMS: Final = (
    ("covered", "As the Top", "The leaves lie on the well"),
    ("stowed", "Stowed", "The leaves are stowed below the bottom panel"),
)
SHEET_ITEMS: Final = (
    ("fit", "Fit", "A4, or A3 where only that shows the thickness of boards well"),
    ("A4", "A4", "297 by 210 mm"),
    ("A3", "A3", "420 by 297 mm"),
)
FORMAT_ITEMS: Final = (
    ("pdf", "PDF", "To print at its true size"),
    ("svg", "SVG", "Lines that can be edited"),
    ("png", "PNG", "Dots, for the screen"),
)

OUTPUT_ITEMS: Final = (
    ("picture", "Picture on Paper", "The table to scale on a sheet with its title block"),
    ("exploded", "Exploded View", "The table taken apart, on a sheet"),
    ("steps", "Steps of Assembly", "A proposed order of assembly: a sheet for each step, and one with all"),
    ("filmstrips", "Filmstrips", "Each leaf at the moments of its way that matter: a sheet a leaf"),
    ("sliding-in", "Leaves Sliding In", "Every leaf among its openings, from the side and from above"),
    ("tolerances", "Tolerances", "Which dimensions matter most to each leaf, as bars"),
    ("variants", "Variants", "Variants side by side at one scale, with the figures that differ"),
    (
        "shop-set",
        "Shop Set",
        "All papers from the first cut to the last screw, sizes rounded to the rule and checked",
    ),
    ("parts", "Parts List", "Label, name, sizes and sheet of every part, for a spreadsheet"),
    ("covered", "Render, Covered", "A render of the table with its cover on"),
    (
        "stowed",
        "Render, Stowed",
        "A drawing from above into the body, leaves stowed, the tightest place marked",
    ),
    ("video", "Video", "The leaves sliding home one after the other"),
)
SHOP_PAGE_ITEMS: Final = tuple(
    (name, label, meaning, "", 1 << place)
    for place, (name, label, meaning) in enumerate(
        (
            ("drawing", "Drawing", "The table to scale with its overall dimensions"),
            ("shopping-list", "Shopping List", "Sheets, hardware, bits and clamps, to be ticked"),
            ("sheets", "Sheets", "Where each part is sawn from, with the cuts in order"),
            ("cut-list", "Cut List", "What is sawn to which size"),
            ("part-sheet", "Part Sheets", "Every part with all of its dimensions"),
            ("set-up", "Set-Ups", "Templates, fences and stops, the numbers large"),
            ("story-stick", "Story Sticks", "Positions along a stick at full size"),
            ("layout", "Layout", "The bottom panel's underside with all positions"),
            ("steps", "Steps", "Dry fits, glue-ups, and each step with a picture"),
            ("cautions", "Cautions", "Where the work can hurt"),
        )
    )
)
"""Kinds of page of a shop set; see `shop.figures.PageKind`."""

PARTS_ORDER_ITEMS: Final = (
    ("label", "By Label", "As the parts are labeled"),
    ("length", "By Length", "The longest first"),
    ("width", "By Width", "The widest first"),
    ("thickness", "By Thickness", "The thickest first"),
)


def _style_chosen(self: DRY_ASSEMBLY_PG_sheet, _context: Context) -> None:
    """What is to be seen through a transparent body are the leaves stowed."""
    if self.style == "transparent":
        self.leaves = "stowed"


class DRY_ASSEMBLY_PG_sheet(PropertyGroup):
    """A picture on paper."""

    style: EnumProperty(name="Style", description="How it looks", items=STYLE_ITEMS, update=_style_chosen)
    engine: EnumProperty(name="Engine", description="What renders it", items=ENGINE_ITEMS)
    view: EnumProperty(name="View", description="Where the table is seen from", items=VIEW_ITEMS)
    leaves: EnumProperty(name="Leaves", description="Where the leaves are", items=LEAVES_ITEMS)
    labels: BoolProperty(
        name="Labels",
        description="With codes and names of the parts seen; of the leaves alone where the body is transparent",
    )
    size: EnumProperty(name="Size", description="Of the sheet", items=SHEET_ITEMS)
    format: EnumProperty(name="Format", description="Kind of file", items=FORMAT_ITEMS)
    dpi: IntProperty(
        name="Dots per Inch",
        description="Resolution of what is rendered, and of a PNG",
        default=150,
        min=FEWEST_DPI,
        max=MOST_DPI,
        soft_max=300,
    )
    shop_pages: EnumProperty(
        name="Pages",
        description="Kinds of page that a shop set has",
        items=SHOP_PAGE_ITEMS,
        options={"ENUM_FLAG"},
        default={name for name, *_ in SHOP_PAGE_ITEMS},
    )


CLASSES: Final = (DRY_ASSEMBLY_PG_sheet, DRY_ASSEMBLY_PG_view)
