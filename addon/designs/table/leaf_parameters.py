"""Parameters of the cover leaves: sizes, the hole or pull to draw them by, rim and tray recess."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from ...sizes import declare
from ...wood.stock import BOARD, INCH_BOARD


@dataclass(frozen=True)
class Leaves:
    """The cover leaves."""

    stock: str = declare.text(BOARD, "Stock", "Sheet that the leaves are cut from", INCH_BOARD)
    count: int = declare.count(4, "Count", "Number of cover leaves", 1, 8)
    direction: str = declare.choice(
        "across",
        "Direction",
        "How the leaves cover the well",
        across="each spans the table's width",
        along="each spans the table's length",
    )
    cover_length: float | None = declare.length(
        None,
        "Covered Length",
        "How much of the well the leaves cover, from its middle; fixed top boards cover the rest. Left out, all of it",
        low=100,
    )
    gap: float = declare.length(
        1.0, "Gap", "Gap between leaves, and between the outer leaves and the sides", high=20, inch=1 / 16
    )
    end_gap: float = declare.length(
        1.5, "End Gap", "Gap between a leaf's ends and the sides", high=50, inch=1 / 16
    )
    edge_radius: float = declare.length(
        3.0,
        "Edge Radius",
        "Round-over of the long edges, to pass the slots' round corners",
        high=15,
        inch=1 / 8,
    )
    lead_chamfer: float = declare.length(
        6.0,
        "Leading Edge Chamfer",
        "Size of the chamfer on both faces of the end that goes in first",
        high=15,
        inch=1 / 4,
    )
    finger_hole: float = declare.length(
        25.0,
        "Finger Hole",
        "Diameter of the hole that a finger pulls the leaf by; 0 for none",
        high=80,
        inch=1,
    )
    finger_hole_inset: float = declare.length(
        35.0,
        "Finger Hole Inset",
        "From the leaf's outer end to the hole's center",
        low=10,
        high=300,
        inch=1.5,
    )
    push_hole: float = declare.length(
        0.0,
        "Push-Up Hole",
        "Diameter of the hole in the bottom panel through which a covering leaf is pushed up; 0 for none",
        high=200,
    )
    push_hole_inset: float | None = declare.length(
        None,
        "Push-Up Hole Inset",
        "From the front or left end of a covering leaf to that hole's center. Left out, it is where nothing stands"
        " below the panel or on it, nearest to the leaf's middle",
    )
    push_hole_offset: float | None = declare.length(
        None,
        "Push-Up Hole Offset",
        "From a covering leaf's center line to that hole's center, toward +x or +y. Left out, as the inset",
        low=-2000,
        high=2000,
    )
    face: str = declare.choice(
        "upper",
        "Worked Face",
        "Face that rim, tray recess and pull are on while the leaf covers the well",
        upper="the face that is worked on",
        lower="the face toward the well",
    )
    turned_over: bool = declare.flag(
        False, "Turned Over", "Stow the leaves with their upper face down, turned over about their way"
    )
    rim_height: float = declare.length(
        0.0, "Rim Height", "Height of the strips glued along all edges of that face; 0 for no rim", high=60
    )
    rim_width: float = declare.length(20.0, "Rim Width", "Width of those strips", low=2, high=200, inch=3 / 4)
    tray_depth: float = declare.length(
        0.0, "Tray Depth", "Depth of the tray recess routed into that face; 0 for none", high=40
    )
    tray_border: float = declare.length(
        60.0, "Tray Border", "From the leaf's edges to the tray recess", low=2, high=1000, inch=2.5
    )
    tray_dividers: int = declare.count(
        0, "Tray Dividers", "Walls across the leaf that are left standing in the tray recess", 0, 8
    )
    divider_width: float = declare.length(
        12.0, "Divider Width", "Thickness of those walls", low=4, high=100, inch=1 / 2
    )
    pull_length: float = declare.length(
        0.0,
        "Pull Length",
        "Size, across the leaf's way, of the recessed pull routed into that face; 0 for none",
        high=600,
    )
    pull_width: float = declare.length(
        25.0, "Pull Width", "Size of the pull along the leaf's way", low=2, high=200, inch=1
    )
    pull_depth: float = declare.length(8.0, "Pull Depth", "Depth of the pull", low=0.5, high=40, inch=5 / 16)
    pull_inset: float = declare.length(
        20.0,
        "Pull Inset",
        "From the leaf's outer end to the pull; 0 lets it run out of the end",
        high=300,
        inch=3 / 4,
    )


OWN: Final = (
    "finger_hole", "finger_hole_inset", "push_hole", "push_hole_inset", "push_hole_offset", "face", "rim_height",
    "rim_width", "tray_depth", "tray_border", "tray_dividers", "divider_width", "pull_length", "pull_width",
    "pull_depth", "pull_inset",
)  # fmt: skip
"""What a leaf may have of its own, beside what all have."""


def own_of(leaves: Leaves, own: object) -> Leaves:
    """The parameters of one leaf: those of all, but for what is given for it alone."""
    given = {name: value for name in OWN if (value := getattr(own, name)) is not None}
    return replace(leaves, **given) if given else leaves
