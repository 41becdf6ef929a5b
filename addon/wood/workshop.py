"""What is in the maker's shop, and how the papers for it are printed."""

from __future__ import annotations

from dataclasses import dataclass

from ..sizes import declare


@dataclass(frozen=True)
class Workshop:
    """Tools, paper and habits of the shop, which the papers for it go by."""

    maker: str | None = declare.text(None, "Maker", "Name for the title blocks; left out, none stands there")
    revision: str = declare.text("A", "Revision", "Which issue of the papers this is, such as A, then B")
    paper: str | None = declare.choice(
        None,
        "Paper",
        "Paper that is in the printer; left out, A4 for a table in millimeters, Letter for one in inches",
        a4="A4, 297 by 210 mm",
        letter="Letter, 11 by 8 1/2 in",
    )
    kerf: float = declare.length(
        3.0, "Kerf", "Width of the saw's cut, measured on a scrap", low=0.5, high=10, inch=1 / 8
    )
    blade_reach: float = declare.length(
        75.0,
        "Blade Reach",
        "How high the blade of the table saw stands over the table at most (common practice for 250 mm blades, no"
        " source; measure yours)",
        low=10,
        high=300,
        inch=3,
    )
    trim: float = declare.length(
        10.0,
        "Trim",
        "Strip sawn off every edge that the mill made, which squares the sheet (common practice, no source)",
        high=100,
        inch=3 / 8,
    )
    carried_length: float = declare.length(
        1600.0,
        "Carried Length",
        "Longest piece that one person handles at the bench; longer ones are broken down on the floor first",
        low=300,
        high=4000,
        inch=63,
    )
    bushings: tuple[float, ...] | None = declare.lengths(
        "Bushings",
        "Outer diameters of the guide bushings in the drawer; left out, 17, 24 and 30 mm, or 5/8, 3/4 and 1 in",
        low=5,
        high=80,
    )
    bits: tuple[float, ...] | None = declare.lengths(
        "Bits",
        "Diameters of the straight router bits in the drawer; left out, 6, 8 and 12 mm, or 1/4, 3/8 and 1/2 in",
        low=1,
        high=50,
    )
    base_edge: float = declare.length(
        75.0,
        "Base Edge",
        "From the straight edge of the router's base to the axis of its bit",
        low=10,
        high=300,
        inch=3,
    )
    bearing: float = declare.length(
        12.7, "Bearing", "Diameter of the bearing on chamfer and round-over bits", high=50, inch=1 / 2
    )
    pass_depth: float = declare.length(
        6.0,
        "Pass Depth",
        "Deepest pass of the router; deeper cuts take several (common practice, no source)",
        low=0.5,
        high=30,
        inch=1 / 4,
    )
    open_time: float = declare.number(
        10.0, "Open Time", "Minutes that the glue stays open, as its maker says", "", 1, 240
    )
    clamps: int = declare.count(12, "Clamps", "Clamps at hand", low=1, high=200)
    clamp_spacing: float = declare.length(
        200.0,
        "Clamp Spacing",
        "From clamp to clamp along a glued joint (common practice, no source)",
        low=50,
        high=1000,
        inch=8,
    )
    label_left: float = declare.length(
        7.2,
        "Label Left",
        "From the left edge of a sheet of labels, held upright, to the first; as many labels as fit are printed",
        high=100,
        inch=3 / 16,
    )
    label_top: float = declare.length(
        15.1, "Label Top", "From its upper edge to the first label", high=100, inch=1 / 2
    )
    label_width: float = declare.length(63.5, "Label Width", "Width of a label", low=10, high=210, inch=2.625)
    label_height: float = declare.length(38.1, "Label Height", "Height of a label", low=5, high=290, inch=1)
    label_gap: float = declare.length(2.5, "Label Gap", "Between labels side by side", high=50, inch=1 / 8)
