"""Parameters of one leaf: the position where it is stowed, and what it has of its own."""

from __future__ import annotations

from dataclasses import MISSING, dataclass

from ...sizes import declare


@dataclass(frozen=True)
class Stow:
    """The stow position of one leaf; entry n is that of leaf Ln."""

    side: str = declare.choice(
        MISSING,
        "Side",
        "Side that the leaf enters through",
        front="the long side at negative y",
        back="the long side at positive y",
        left="the short side at negative x",
        right="the short side at positive x",
    )
    offset: float = declare.length(
        MISSING,
        "Offset",
        "Leaf's center line from the middle of that side, toward +x or +y",
        low=-2000,
        high=2000,
    )
    tier: str = declare.choice(
        "upper",
        "Tier",
        "Which of the two levels",
        upper="next below the bottom panel",
        lower="below the upper tier",
    )
    side_clearance: float | None = declare.length(
        None, "Side Clearance", "Of this leaf alone; left out, that of all", high=50
    )
    clearance_above: float | None = declare.length(
        None, "Clearance Above", "Of this leaf alone; left out, that of all", high=50
    )
    clearance_below: float | None = declare.length(
        None, "Clearance Below", "Of this leaf alone; left out, that of all", high=50
    )
    finger_hole: float | None = declare.length(
        None, "Finger Hole", "Of this leaf alone; left out, that of all", high=80
    )
    finger_hole_inset: float | None = declare.length(
        None, "Finger Hole Inset", "Of this leaf alone; left out, that of all", low=10, high=300
    )
    push_hole: float | None = declare.length(
        None, "Push-Up Hole", "Of this leaf alone; left out, that of all", high=200
    )
    push_hole_inset: float | None = declare.length(
        None, "Push-Up Hole Inset", "Of this leaf alone; left out, that of all"
    )
    push_hole_offset: float | None = declare.length(
        None, "Push-Up Hole Offset", "Of this leaf alone; left out, that of all", low=-2000, high=2000
    )
    face: str | None = declare.choice(
        None,
        "Worked Face",
        "Of this leaf alone; left out, that of all",
        upper="the face that is worked on",
        lower="the face toward the well",
    )
    rim_height: float | None = declare.length(
        None, "Rim Height", "Of this leaf alone; left out, that of all", high=60
    )
    rim_width: float | None = declare.length(
        None, "Rim Width", "Of this leaf alone; left out, that of all", low=2, high=200
    )
    tray_depth: float | None = declare.length(
        None, "Tray Depth", "Of this leaf alone; left out, that of all", high=40
    )
    tray_border: float | None = declare.length(
        None, "Tray Border", "Of this leaf alone; left out, that of all", low=2, high=1000
    )
    tray_dividers: int | None = declare.count(
        None, "Tray Dividers", "Of this leaf alone; left out, those of all", 0, 8
    )
    divider_width: float | None = declare.length(
        None, "Divider Width", "Of this leaf alone; left out, that of all", low=4, high=100
    )
    pull_length: float | None = declare.length(
        None, "Pull Length", "Of this leaf alone; left out, that of all", high=600
    )
    pull_width: float | None = declare.length(
        None, "Pull Width", "Of this leaf alone; left out, that of all", low=2, high=200
    )
    pull_depth: float | None = declare.length(
        None, "Pull Depth", "Of this leaf alone; left out, that of all", low=0.5, high=40
    )
    pull_inset: float | None = declare.length(
        None, "Pull Inset", "Of this leaf alone; left out, that of all", high=300
    )
