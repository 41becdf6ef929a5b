"""Parameters of parts of the maker's own, and of what is cut into these."""

from __future__ import annotations

from dataclasses import MISSING, dataclass
from typing import Any, Final

from ...sizes import declare
from ...wood.stock import BOARD, INCH_BOARD

DIRECTIONS: Final[dict[str, Any]] = {
    "+x": "to the right", "-x": "to the left", "+y": "to the back", "-y": "to the front", "+z": "up", "-z": "down",
}  # fmt: skip


@dataclass(frozen=True)
class OwnPart:
    """A board of the maker's own: a shelf, a hook board, a divider, a rest, or whatever else it is called.

    Places are in the table: x from its middle to the right, y from its middle to the back, z from the floor up.
    """

    name: str = declare.text(MISSING, "Name", "What it is called, such as hook board")
    role: str | None = declare.text(
        None, "Role", "What it is for, in a word or two, from which its label is made; left out, its name"
    )
    stock: str = declare.text(BOARD, "Stock", "Sheet that it is cut from", INCH_BOARD)
    length: float | None = declare.length(
        None, "Length", "Its length; left out, its corners are given", low=1
    )
    width: float | None = declare.length(None, "Width", "Its width; left out, its corners are given", low=1)
    corners: tuple[float, ...] | None = declare.lengths(
        "Corners",
        "Corners of a board that is no rectangle, one after the other around it: of each how far along its length it"
        " is, then how far across. Left out, it is a rectangle",
    )
    length_along: str = declare.choice("+x", "Length Along", "Where its length runs to", **DIRECTIONS)
    width_along: str = declare.choice("+y", "Width Along", "Where its width runs to", **DIRECTIONS)
    x: float | None = declare.length(
        None, "X", "From the table's middle to its left side; left out, it stands in the middle", low=-10_000
    )
    y: float | None = declare.length(
        None, "Y", "From the table's middle to its front side; left out, it stands in the middle", low=-10_000
    )
    z: float | None = declare.length(
        None, "Z", "From the floor to its lower side; left out, it stands on the bottom panel"
    )
    against: str | None = declare.choice(
        None,
        "Against",
        "What it stands against, whatever X, Y or Z says; left out, it stands where these say",
        front="the front side's inner face",
        back="the back side's inner face",
        left="the left side's inner face",
        right="the right side's inner face",
        under="the bottom panel's underside",
        front_outside="the front side's outer face",
        back_outside="the back side's outer face",
        left_outside="the left side's outer face",
        right_outside="the right side's outer face",
    )
    joined_to: str | None = declare.text(
        None,
        "Joined To",
        "Labels of the parts that it meets, each with what holds it there: S1 glue, R2 screw, B1 dry; glue where"
        " nothing is said. Left out, it lies loose",
    )


@dataclass(frozen=True)
class OwnCut:
    """What is cut into a part of the maker's own, measured from its start and its lower edge."""

    part: str = declare.text(MISSING, "Part", "Label of the part")
    kind: str = declare.choice(
        MISSING,
        "Kind",
        "What is cut",
        opening="a rectangular way through the board",
        notch="the same where it runs out of an end or of the upper edge",
        groove="a flat-bottomed channel in one face",
        dado="a groove across the board",
        rabbet="a groove that runs out of an edge",
        hole="a round hole square to the faces",
        angled_hole="a hole at an angle, such as a pocket hole",
        chamfer="a chamfer along an edge",
        round_over="a round-over along an edge",
        bevel="a sloping edge face, such as a miter",
        taper="a face that slopes toward an end",
    )
    start: float | None = declare.length(
        None,
        "Start",
        "Where it begins along the board; of a chamfer or round-over along its edge, left out at the corner",
        low=-10_000,
    )
    stop: float | None = declare.length(
        None,
        "Stop",
        "Where it ends along the board; of a chamfer or round-over along its edge, left out at the corner",
        low=-10_000,
    )
    lower: float | None = declare.length(
        None, "Lower", "Where it begins across the board, from the lower edge", low=-10_000
    )
    upper: float | None = declare.length(
        None, "Upper", "Where it ends across the board, from the lower edge", low=-10_000
    )
    along: float | None = declare.length(
        None, "Along", "Of a hole: its middle along the board; of an angled hole along its edge", low=-10_000
    )
    across: float | None = declare.length(
        None, "Across", "Of a hole: its middle across the board, from the lower edge", low=-10_000
    )
    face: str | None = declare.choice(
        None,
        "Face",
        "Which face it is cut into; left out, the front",
        front="the face that is below where length runs to the right and width to the back",
        back="the one across from it",
    )
    edge: str | None = declare.text(
        None,
        "Edge",
        "Edge that it is cut along or measured from: start, end, lower or upper, or the number of the corner that it"
        " begins at, from 0",
    )
    depth: float | None = declare.length(
        None, "Depth", "How deep it is; of a hole left out, it goes through", high=1000
    )
    size: float | None = declare.length(
        None, "Size", "Of a chamfer along either face, of a round-over its radius", high=100
    )
    diameter: float | None = declare.length(None, "Diameter", "Of a hole", high=1000)
    counterbore_diameter: float | None = declare.length(
        None, "Counterbore Diameter", "Of the wider length for a screw's head; left out, none", high=1000
    )
    counterbore_depth: float | None = declare.length(None, "Counterbore Depth", "Of that length", high=1000)
    countersink_diameter: float | None = declare.length(
        None, "Countersink Diameter", "Of the cone for a screw's head; left out, none", high=1000
    )
    countersink_angle: float | None = declare.number(
        None, "Countersink Angle", "Degrees between opposite sides of the cone; left out, 90", "", 10, 170
    )
    inset: float | None = declare.length(
        None, "Inset", "Of an angled hole: from its edge to its middle on the face", low=-1000
    )
    angle: float | None = declare.number(
        None, "Angle", "Degrees between an angled hole and the face; left out, 15", "", 1, 89
    )
    pilot_diameter: float | None = declare.length(
        None, "Pilot Diameter", "Of the thinner hole on from an angled one; left out, none", high=1000
    )
    pilot_depth: float | None = declare.length(
        None, "Pilot Depth", "How far that goes; left out, through the edge", high=1000
    )
    front_inset: float | None = declare.length(
        None, "Front Inset", "Of a bevel: what it takes off the front face", high=1000
    )
    back_inset: float | None = declare.length(
        None, "Back Inset", "Of a bevel: what it takes off the back face", high=1000
    )
    length: float | None = declare.length(None, "Length", "Of a taper: how far it reaches from its edge")
    amount: float | None = declare.length(None, "Amount", "Of a taper: what it takes off the edge", high=1000)
    corner_radius: float | None = declare.length(
        None, "Corner Radius", "Of an opening's corners; left out, they are sharp", high=1000
    )
    front_chamfer: float | None = declare.length(
        None, "Front Chamfer", "Chamfer around an opening on the front face; left out, none", high=100
    )
    back_chamfer: float | None = declare.length(
        None, "Back Chamfer", "Chamfer around an opening on the back face; left out, none", high=100
    )
    open_end: str | None = declare.choice(
        None,
        "Open End",
        "End that a notch runs out of; left out, none",
        start="where the length begins",
        end="where it ends",
    )
    open_above: bool = declare.flag(False, "Open Above", "Whether a notch runs out of the upper edge")
    runs: str | None = declare.choice(
        None,
        "Runs",
        "Where a groove runs; left out, along the length",
        length="along the length",
        width="across the board",
    )
    end_radius: float | None = declare.length(
        None, "End Radius", "Of a groove's stopped ends, as its bit leaves them; left out, square", high=500
    )


def own_key(index: int, name: str) -> str:
    """The key of a parameter of one of them."""
    return f"own_part[{index}].{name}"


def cut_key(index: int, name: str) -> str:
    """The key of a parameter of what is cut into them."""
    return f"own_cut[{index}].{name}"
