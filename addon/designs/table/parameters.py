"""Every parameter of a table, declared once: unit, default, range and meaning."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from ...sizes import declare
from ...sizes.units import FINEST, Units, shown_by
from ...wood.dimensions import AsCut
from ...wood.limits import Limits, Tolerances
from ...wood.reserved import Reserved
from ...wood.stock import BOARD, INCH_BOARD, INCH_PANEL, PANEL, Stock, standard_stock
from ...wood.workshop import Workshop
from ..acceptance import Accepted
from .fastening_parameters import Fastening, OwnFastener
from .leaf_parameters import Leaves
from .leg_parameters import Legs
from .own_parameters import OwnCut, OwnPart
from .stow_parameters import Stow


@dataclass(frozen=True)
class Outside:
    """The table's outside sizes."""

    length: float = declare.length(1500.0, "Length", "Outside length, along x", low=300, high=4000, inch=60)
    width: float = declare.length(960.0, "Width", "Outside width, along y", low=300, high=3000, inch=38)
    height: float = declare.length(
        770.0, "Height", "Top of the cover leaves above the room's floor", low=200, high=1400, inch=30
    )
    corner_joint: str = declare.choice(
        "butted",
        "Corner Joint",
        "How the four sides meet",
        butted="long sides run through, short sides stand between them",
        mitered="all four sides mitered at 45 degrees",
    )


@dataclass(frozen=True)
class Sides:
    """The four sides and the slots in them."""

    stock: str = declare.text(BOARD, "Stock", "Sheet that the sides are cut from", INCH_BOARD)
    corner_radius: float = declare.length(
        3.0,
        "Corner Radius",
        "Inside corner radius of slots and windows: that of the router bit",
        high=30,
        inch=1 / 8,
    )
    slot_chamfer: float = declare.length(
        3.0, "Slot Chamfer", "Size of the chamfer around slots, on both faces", high=15, inch=1 / 8
    )
    wood_above_slots: float = declare.length(
        6.0,
        "Wood Above Slots",
        "Wood between the bottom panel's groove and the upper slots",
        low=2,
        high=200,
        inch=1 / 4,
    )
    wood_below_slots: float = declare.length(
        22.0,
        "Wood Below Slots",
        "Wood below the lowest slots; people lift a table there",
        low=5,
        high=300,
        inch=7 / 8,
    )
    lower_round_over: float = declare.length(
        6.0, "Lower Round-Over", "Radius on the inner lower edge of the sides", high=15, inch=1 / 4
    )
    round_over_stop: float = declare.length(
        10.0, "Round-Over Stop", "Distance from the legs at which the round-over stops", high=300, inch=3 / 8
    )
    outer_edge: str = declare.choice(
        "square",
        "Outer Lower Edge",
        "What is done to the sides' outer lower edge, which knees and hands meet; before legs that stand outside it"
        " stops as the round-over does",
        square="nothing but a stroke of sandpaper",
        **{"chamfer": "a chamfer", "round-over": "a round-over"},
    )
    outer_edge_size: float = declare.length(
        3.0,
        "Outer Edge Size",
        "Size of the chamfer, or radius of the round-over, on the sides' outer lower edge",
        low=0.5,
        high=15,
        inch=1 / 8,
    )


@dataclass(frozen=True)
class Bottom:
    """The panel in the grooves: top of it is the second work surface."""

    stock: str = declare.text(PANEL, "Stock", "Sheet that the bottom panel is cut from", INCH_PANEL)
    groove_depth: float = declare.length(
        6.0, "Groove Depth", "Depth of the groove in the sides", low=2, high=30, inch=1 / 4
    )
    groove_slack: float = declare.length(
        0.5,
        "Groove Slack",
        "Room in plan between the bottom panel's edge and the groove's bottom",
        high=10,
        inch=1 / 32,
    )
    groove_bit: float = declare.length(
        6.0,
        "Groove Bit",
        "Diameter of the router bit that cuts the grooves, whose stopped ends come out as round; 0 where they are"
        " squared with a chisel",
        high=30,
        inch=1 / 4,
    )
    groove_run_on: float = declare.length(
        3.0,
        "Groove Run-On",
        "How much farther than their depth the grooves of the long sides run on past the inner corners, so that no"
        " corner of the panel meets a round end",
        high=100,
        inch=1 / 8,
    )
    corner_cut: float = declare.length(
        0.0, "Corner Cut", "Size of the cut across the panel's corners, along each edge", high=100
    )


@dataclass(frozen=True)
class Well:
    """The space between the bottom panel and the cover leaves."""

    depth: float = declare.length(
        40.0, "Depth", "From the cover leaves' underside to the bottom panel", low=5, high=400, inch=1.5
    )
    ledger_stock: str = declare.text(
        BOARD, "Ledger Stock", "Sheet that the ledger strips are cut from", INCH_BOARD
    )
    ledger_height: float = declare.length(
        30.0, "Ledger Height", "Height of the strips that carry the cover leaves", low=5, high=200, inch=1.25
    )
    center_supports: bool = declare.flag(
        False,
        "Center Supports",
        "Boards under the joints of the cover leaves, hooked on the ledgers and lifted out for work in the well",
    )
    work_height: float = declare.length(
        10.0,
        "Work Height",
        "Height of the work that stays in the well; center supports keep clear of it",
        high=300,
        inch=3 / 8,
    )


@dataclass(frozen=True)
class Ribs:
    """The grid below the bottom panel: through ribs across the table, segments between them."""

    stock: str = declare.text(BOARD, "Stock", "Sheet that the ribs are cut from", INCH_BOARD)
    upper_windows: str = declare.choice(
        "open",
        "Upper Windows",
        "What is above the windows of the upper tier",
        closed="wood of the rib, as much as above the slots",
        open="nothing: they are open to the bottom panel, and kickers glued under it keep the leaves down",
    )
    window_chamfer: float = declare.length(
        6.0, "Window Chamfer", "Size of the chamfer around windows, on both faces", high=15, inch=1 / 4
    )
    wood_beside_window: float = declare.length(
        40.0,
        "Wood Beside Windows",
        "Wood that stays between a window and the next rib on its inner side",
        low=10,
        high=400,
        inch=1.5,
    )
    least_wood_beside_window: float = declare.length(
        10.0,
        "Least Wood Beside Windows",
        "Where less wood than this would stay beside a window, it runs out of the rib's end",
        low=1,
        high=100,
        inch=3 / 8,
    )
    stand_off: float = declare.length(
        1.5,
        "Stand-Off",
        "How far ribs that run along a leaf's way stand back from the edges of its slot and windows, so that a rib"
        " that is a little off catches no nose",
        high=50,
        inch=1 / 16,
    )
    max_bay: float = declare.length(
        600.0,
        "Widest Bay",
        "Ribs are added where no leaf passes until no bay is wider",
        low=100,
        high=3000,
        inch=24,
    )
    through_at: tuple[float, ...] | None = declare.lengths(
        "Through Ribs At",
        "Center lines (x) of the through ribs; left out, they are set beside the leaves' ways",
    )
    rows_at: tuple[float, ...] | None = declare.lengths(
        "Rows At", "Center lines (y) of the rows of segments; left out, they are set beside the leaves' ways"
    )


@dataclass(frozen=True)
class Stowing:
    """Room for the leaves on their way, and what ends it."""

    side_clearance: float = declare.length(
        2.0, "Side Clearance", "Room beside a leaf, on either side", high=50, inch=3 / 32
    )
    clearance_above: float = declare.length(1.5, "Clearance Above", "Room above a leaf", high=50, inch=1 / 16)
    clearance_below: float = declare.length(
        1.5, "Clearance Below", "Room below a leaf as drawn; it will lie on its sills", high=50, inch=1 / 16
    )
    tier_gap: float = declare.length(
        3.0,
        "Wood Between Tiers",
        "Between the lower slots' top and the upper slots' bottom",
        low=1,
        high=100,
        inch=1 / 8,
    )
    spread: str = declare.choice(
        "close",
        "Spread",
        "How leaves without stow positions of their own are spread over a side",
        close="close together, so that ribs beside their ways guide those that cross below",
        wide="as wide as the legs let them",
    )
    set_back: float | None = declare.length(
        None,
        "Set-Back",
        "How far a stowed leaf's outer end lies inside the side's outer face; left out, its inner face and the end gap",
        low=-100,
        high=300,
    )
    approach: float = declare.length(
        60.0, "Approach", "Distance before the slot at which a leaf's way starts", low=1, high=1000, inch=2.5
    )
    end_stops: bool = declare.flag(
        True, "End Stops", "Fit an end stop where nothing else ends a leaf's travel"
    )
    stop_gap: float = declare.length(
        1.5, "Stop Gap", "From a stowed leaf to its end stop", high=50, inch=1 / 16
    )
    runners: bool = declare.flag(
        False, "Runners", "Strips under a leaf's way that carry it between slot and rib"
    )
    kickers: bool = declare.flag(False, "Kickers", "Strips above a leaf's way that keep it from tipping")
    guides: bool = declare.flag(True, "Guides", "Strips beside a leaf's way that keep it straight")
    strip_width: float = declare.length(
        15.0, "Strip Width", "Width of runners and kickers, thickness of guides", low=4, high=100, inch=5 / 8
    )
    strip_height: float = declare.length(
        12.0, "Strip Height", "Height of runners, kickers and guides", low=3, high=100, inch=1 / 2
    )


@dataclass(frozen=True)
class Table:
    """All that a table file holds."""

    name: str = declare.text("Table", "Name", "Name of the table")
    units: Units = declare.choice(
        "mm",
        "Units",
        "Unit of plain numbers in the file and of what is shown",
        **{"mm": "millimeters", "in": "inches"},
    )
    fraction: str = declare.choice(
        f"1/{FINEST}",
        "Finest Fraction",
        "Finest fraction of an inch that sizes are shown in; tapes have sixteenths, some rules finer ones",
        **{"1/16": "sixteenths", "1/32": "thirty-seconds", "1/64": "sixty-fourths"},
    )
    table: Outside = field(default_factory=Outside)
    sides: Sides = field(default_factory=Sides)
    bottom: Bottom = field(default_factory=Bottom)
    well: Well = field(default_factory=Well)
    ribs: Ribs = field(default_factory=Ribs)
    leaves: Leaves = field(default_factory=Leaves)
    stowing: Stowing = field(default_factory=Stowing)
    legs: Legs = field(default_factory=Legs)
    fastening: Fastening = field(default_factory=Fastening)
    limits: Limits = field(default_factory=Limits)
    tolerances: Tolerances = field(default_factory=Tolerances)
    shop: Workshop = field(default_factory=Workshop)
    stock: tuple[Stock, ...] = field(default_factory=standard_stock)
    stow: tuple[Stow, ...] = ()
    """One entry a leaf; left out, the leaves are given positions."""
    fastener: tuple[OwnFastener, ...] = ()
    as_cut: tuple[AsCut, ...] = ()
    own_part: tuple[OwnPart, ...] = ()
    own_cut: tuple[OwnCut, ...] = ()
    reserved: tuple[Reserved, ...] = ()
    accepted: tuple[Accepted, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "units", shown_by(self.units, int(self.fraction.partition("/")[2])))


SECTIONS: dict[str, type] = {
    "table": Outside,
    "sides": Sides,
    "bottom": Bottom,
    "well": Well,
    "ribs": Ribs,
    "leaves": Leaves,
    "stowing": Stowing,
    "legs": Legs,
    "fastening": Fastening,
    "limits": Limits,
    "tolerances": Tolerances,
    "shop": Workshop,
}
"""Sections that stand once in a table file, in the file's order."""

LISTS: dict[str, type] = {
    "stock": Stock,
    "stow": Stow,
    "fastener": OwnFastener,
    "as_cut": AsCut,
    "own_part": OwnPart,
    "own_cut": OwnCut,
    "reserved": Reserved,
    "accepted": Accepted,
}
"""Sections that may stand many times."""

_OF_LEAF = re.compile(r"stow\[(\d+)\](?:\.(\w+))?", re.ASCII)


def key_in_words(key: str) -> str:
    """A dotted key as people are told of it: what a leaf's stow entry says by the leaf's label, ``L3's offset``."""
    found = _OF_LEAF.fullmatch(key)
    if found is None:
        return key
    leaf = f"L{int(found[1]) + 1}"
    return f"{leaf}'s {found[2]}" if found[2] else leaf
