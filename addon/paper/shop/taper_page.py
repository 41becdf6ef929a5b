"""The set-up of tapers: how a board lies on the jig, how high the blade stands, and what to do if it is too low."""

from __future__ import annotations

from ...shop.job import Job
from ...shop.tapers import BASE, taper_cuts
from ...sizes.words import codes_in_row
from ..sheet.dimensions import LARGE_LETTERS
from . import set_up_drawings as drawings
from .rows import Column, Row
from .set_up_page import LARGE, SetUp


def tapers(job: Job) -> SetUp | None:
    """The page of the jig; None where nothing is tapered."""
    cuts = taper_cuts(job)
    if not cuts:
        return None
    heads = (
        Column("Boards", 38),
        Column("Cuts", 10, "end"),
        Column("Taper", 16, "end", LARGE_LETTERS),
        Column("Foot A", 22, "end", LARGE),
        Column("Back B", 22, "end", LARGE),
        Column("Degrees", 18, "end", LARGE_LETTERS),
        Column("Wood", 14, "end", LARGE_LETTERS),
        Column("Blade H", 22, "end", LARGE),
        Column("Board lies", 32),
    )
    rows = [
        Row(
            (
                codes_in_row(one.labels),
                str(len(one.labels)),
                one.run,
                one.foot,
                one.back,
                one.angle,
                one.wood,
                one.blade if one.reached else "none",
                one.lying + ("" if one.reached else ": band saw or plane"),
            )
        )
        for one in cuts
    ]
    base = job.rule.figure("taper, base of the jig", BASE[job.units])
    notes = [
        "Saw the jig's edge off along the fence first: it is the blade's line. Lay a board on it with its foot A over "
        "the edge, the beginning of its taper on the edge and its other end B back from it; screw stops down there, "
        "and hold-downs that press it onto the base. Mark the taper on both faces.",
        f"H: over a base of {base.printed}, a tooth above the wood (common practice, no source). Before the second "
        "taper of a board, tape what fell off back onto it as a bed, so that it lies as before.",
    ]
    if not all(one.reached for one in cuts):
        reach = job.rule.figure("blade reach", job.tools.blade_reach, "down")
        notes.append(
            f"None: the blade, which stands {reach.printed} over the table at most, does not reach through in one "
            "pass. Saw it at the band saw a hair outside of the line, or plane it down to that; never in two passes "
            "of half the depth on the jig."
        )
    notes.append("Taper one board from scrap first; saw tapers before chamfers, round-overs and glue.")
    return SetUp(
        "tapers",
        "tapers on a jig",
        "tapers",
        ((1.0, ((heads, rows),)),),
        (drawings.taper_jig, drawings.taper_blade),
        tuple(notes),
    )
