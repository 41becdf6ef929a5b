"""Parameters of the tolerances: how far dimensions may be off when the parts are cut and put together.

Defaults are what a careful hobby shop holds with a router, templates and a track saw (common practice, no source). For
comparison, class m of ISO 2768-1 allows 0.2 mm from 6 to 30 mm, 0.3 to 120, 0.5 to 400, 0.8 to 1000.
"""

from __future__ import annotations

from dataclasses import dataclass

from ..sizes import declare


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
        0.2, "Opening Size", "Height and width of routed slots and windows", high=5
    )
    opening_place: float = declare.length(
        0.5, "Opening Place", "Where slots and windows are on their board, in height and along it", high=10
    )
    groove_place: float = declare.length(
        0.3, "Groove Place", "Height of the bottom panel's groove on its side", high=10
    )
    sawn_size: float = declare.length(0.5, "Sawn Size", "Length and width of sawn parts", high=10)
    part_place: float = declare.length(
        0.5, "Part Place", "Where ribs and strips are glued or screwed", high=10
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
