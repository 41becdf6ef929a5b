"""What an assembly is held to: limits that the check calls enough, and tolerances of cutting and putting together.

Defaults of the tolerances are what a careful hobby shop holds with a router, templates and a track saw (common
practice, no source). For comparison, class m of ISO 2768-1 allows 0.2 mm from 6 to 30 mm, 0.3 to 120, 0.5 to 400, 0.8
to 1000.
"""

from __future__ import annotations

from dataclasses import dataclass

from ..sizes import declare
from ..sizes.bounds import COARSEST_DIVISION, FINEST_DIVISION


@dataclass(frozen=True)
class Limits:
    """What the check calls enough."""

    min_clearance: float = declare.length(
        0.5, "Minimum Clearance", "A leaf with less than this on its way is tight", high=20, inch=0.02
    )
    fit_allowance: float = declare.length(
        0.2,
        "Fit Allowance",
        "Play of a good fit: how much wider than the bottom panel its groove is, how open a joint may stay",
        high=3,
        inch=0.008,
    )
    finger_hole: float = declare.length(
        20.0, "Least Finger Hole", "Smallest hole that takes a finger", high=80, inch=3 / 4
    )
    finger_reach: float = declare.length(
        60.0,
        "Finger Reach",
        "Farthest inside the side's outer face that fingers find the hole",
        high=300,
        inch=2.5,
    )
    end_gap: float = declare.length(
        25.0,
        "Most End Gap",
        "A leaf with more room than this ahead of its nose stowed has nothing to stop it",
        high=300,
        inch=1,
    )
    leaf_proud: float = declare.length(
        0.0, "Most Proud", "How far a stowed leaf may stand out of the side's outer face", high=300
    )
    flush: float = declare.length(
        0.5,
        "Most out of Flush",
        "How far parts cut otherwise than drawn may stand past edges that they were flush with, and a table may rock",
        high=20,
        inch=1 / 64,
    )
    bearing: float = declare.length(
        3.0,
        "Least Bearing",
        "How far a panel reaches into its groove and a leaf onto its ledger at least, pushed to the other side "
        "(common practice, no source)",
        high=30,
        inch=1 / 8,
    )
    cover_gap: float = declare.length(
        2.0,
        "Most Gap in the Cover",
        "How much more room than drawn there may be beside the cover leaves or before their ends",
        high=50,
        inch=1 / 16,
    )
    least_wood: float = declare.length(
        6.0,
        "Least Wood",
        "Least wood between two cuts, or between a cut and an edge, chamfers left out of account; less breaks out "
        "(common practice, no source)",
        low=0.5,
        high=100,
        inch=1 / 4,
    )
    least_wood_routed: float = declare.length(
        12.0,
        "Least Routed Strip",
        "Least width of a strip that routing leaves where it is more than ten times as long, while it is held by "
        "nothing yet (common practice, no source)",
        low=0.5,
        high=200,
        inch=1 / 2,
    )
    # Friction, load and sag are common practice, no source; measured friction is in check/forces/jamming.py.
    friction: float = declare.number(
        0.4,
        "Friction",
        "Coefficient of friction between leaf and board; 0.2 to 0.6 for bare plywood, uncertain by a factor of two",
        "",
        0.1,
        0.8,
    )
    load: float = declare.number(
        200.0,
        "Load",
        "Load on the middle of a leaf or a board: a sewing machine, or an adult who leans on it with one arm",
        "N",
        0,
        2000,
        inch=45,
    )
    sag: float = declare.number(
        360.0,
        "Span over Sag",
        "A covering leaf may sag by its span divided by this: 360 as for floors, 600 where the eye should not see it",
        "",
        50,
        2000,
    )
    step: float = declare.length(
        2.0,
        "Step",
        "How far a covering leaf may sink beside its neighbors under the load (common practice, no source)",
        high=50,
        inch=3 / 32,
    )
    hand: float = declare.length(
        10.0,
        "Hand",
        "How far off line a hand holds the outer end of a leaf that it pushes home (common practice, no source)",
        low=0.5,
        high=100,
        inch=3 / 8,
    )
    rule_division: float = declare.length(
        0.5,
        "Rule Division",
        "Finest division of the rule that the work is measured with; sizes that remedies name are multiples of it",
        low=FINEST_DIVISION,
        high=COARSEST_DIVISION,
        inch=1 / 32,
    )
    tip_margin: float = declare.length(
        3.0,
        "Tip Margin",
        "Least wood between a screw or brad and the far face of its board, or a cut (common practice, no source)",
        high=50,
        inch=1 / 8,
    )
    edge_rule: str = declare.choice(
        "plywood",
        "Edge Rule",
        "Least distance of screws and brads from edges and ends, in diameters",
        inch="american",
        plywood="EN 1995-1-1 for plywood: 3 from any edge; into its edges 3, brads 7 and 15 from ends",
        timber="EN 1995-1-1 for solid wood: 3 from edges, 7 from ends; brads 5 and 10",
        american="US design specification (NDS): 2.5 from edges, 10 from ends; brads 15 from ends",
    )
    driver_length: float = declare.length(
        150.0,
        "Driver Length",
        "Room behind the head that a driver with its bit needs, along the screw (common practice, no source)",
        low=20,
        high=600,
        inch=6,
    )
    driver_width: float = declare.length(
        12.0, "Driver Width", "Diameter of the bit and its holder", low=4, high=120, inch=1 / 2
    )
    door_width: float | None = declare.length(
        None,
        "Door Width",
        "Width of the narrowest door on the table's way, clear of its leaf; left out, nobody asks",
        low=200,
        high=3000,
    )
    door_height: float = declare.length(
        2000.0, "Door Height", "Height of that door's opening", low=200, high=4000, inch=78
    )
    share: float = declare.number(
        0.99,
        "Share That Works",
        "Of tables cut at the tolerances of this file, at least so many are to work",
        "",
        0.5,
        0.9999,
    )


@dataclass(frozen=True)
class Tolerances:
    """How far dimensions may be off when the parts are cut and put together, either way."""

    distribution: str = declare.choice(
        "uniform",
        "Distribution",
        "How deviations spread over their tolerance",
        uniform="any deviation within the tolerance is as likely as any other",
        normal="small ones are likelier: the tolerance is three standard deviations",
    )
    opening_size: float = declare.length(
        0.2, "Opening Size", "Height and width of routed slots and windows", high=5, inch=0.008
    )
    opening_place: float = declare.length(
        0.5,
        "Opening Place",
        "Where slots and windows are on their board, in height and along it",
        high=10,
        inch=0.02,
    )
    groove_place: float = declare.length(
        0.3, "Groove Place", "Height of the bottom panel's groove on its side", high=10, inch=0.012
    )
    sawn_size: float = declare.length(0.5, "Sawn Size", "Length and width of sawn parts", high=10, inch=0.02)
    squareness: float = declare.length(
        1.0,
        "Squareness",
        "How much longer one diagonal of a leaf may be than the other; its ends are out of square then (common "
        "practice, no source)",
        high=20,
        inch=1 / 25,
    )
    part_place: float = declare.length(
        0.5, "Part Place", "Where ribs and strips are glued or screwed", high=10, inch=0.02
    )
    windows_from: str = declare.choice(
        "upper",
        "Windows From",
        "Edge of the rib that its windows are set out from",
        upper="the upper edge, which is glued to the bottom panel: the rib's own width does not matter",
        lower="the lower edge: where the rib's width is off, so are its windows",
    )
    sheets: str = declare.choice(
        "one",
        "Sheets",
        "How many sheets the parts of one stock come from",
        one="what is off in its mean thickness is off in all parts",
        many="the mean thickness of every part is its own",
    )
