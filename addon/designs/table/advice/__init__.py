"""What the table says to the facts of a check: here a cause meets its adviser, one line each."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ....check import board_causes, causes
from ....check.as_built.effects import CutOtherwise, Missing
from ....check.slide import causes as on_the_way
from ...findings import Finding
from .as_built import cut_otherwise, missing
from .case import Case
from .chains import chain_off
from .clearances import too_near
from .fingers import covered_grip, far_grip, no_grip, small_grip
from .lengths import overlapping
from .shares import too_few
from .sliding_in import droops, is_held, jams, misfits, needs_steering
from .stowed import cover_tight, meet_at_once, no_lift, nothing_stops, sags, stands_out, stops_early
from .under_load import little_glue, panel_over_gap, steps_down, weak_bar
from .wood import bowed, thin_wood, unmeasured

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from ....check.facts import Fact
    from ....wood.assembly import Assembly
    from ...findings import Option
    from ..parameters import Table
    from .case import Advice


def advise(
    table: Table, assembly: Assembly, facts: Iterable[Fact], options: Sequence[Option] | None = None
) -> list[Finding]:
    """Each fact in a sentence, with the change to the table file that makes it go away.

    Parameters
    ----------
    options : ways that were found to make leaves guide themselves; None where nobody looked
    """
    case = Case(table, assembly, options)
    return [_finding(case, fact) for fact in facts]


def _finding(case: Case, fact: Fact) -> Finding:
    said = advice(case, fact)
    return Finding.of(fact, said.message, said.candidates)


def advice(case: Case, fact: Fact) -> Advice:
    """The sentence for one fact, and what is worth trying about it."""
    match fact.cause:
        case causes.TooNear() as cause:
            return too_near(case, fact, cause)
        case causes.MeetAtOnce():
            return meet_at_once(case, fact)
        case causes.Overlapping():
            return overlapping(case, fact)
        case causes.ChainOff() as cause:
            return chain_off(case, fact, cause)
        case causes.WeakBar() as cause:
            return weak_bar(case, cause)
        case causes.LittleGlue() as cause:
            return little_glue(case, cause)
        case causes.PanelOverGap() as cause:
            return panel_over_gap(case, cause)
        case on_the_way.StepsDown() as cause:
            return steps_down(case, fact, cause)
        case CutOtherwise() as cause:
            return cut_otherwise(case, cause)
        case Missing() as cause:
            return missing(case, cause)
        case causes.NothingStops() as cause:
            return nothing_stops(case, fact, cause)
        case causes.StopsEarly():
            return stops_early(case, fact)
        case causes.StandsOut() as cause:
            return stands_out(case, fact, cause)
        case causes.NoGrip() as cause:
            return no_grip(case, fact, cause)
        case causes.SmallGrip() as cause:
            return small_grip(case, fact, cause)
        case causes.FarGrip() as cause:
            return far_grip(case, fact, cause)
        case causes.CoveredGrip() as cause:
            return covered_grip(case, fact, cause)
        case causes.TooFew() as cause:
            return too_few(case, fact, cause)
        case board_causes.UnmeasuredSheet() as cause:
            return unmeasured(case, cause)
        case board_causes.BowedLeaf() as cause:
            return bowed(case, fact, cause)
        case board_causes.ThinWood() as cause:
            return thin_wood(case, fact, cause)
        case on_the_way.NeedsSteering() as cause:
            return needs_steering(case, cause)
        case on_the_way.IsHeld() as cause:
            return is_held(case, fact, cause)
        case on_the_way.Droops() as cause:
            return droops(case, fact, cause)
        case on_the_way.Jams() as cause:
            return jams(case, fact, cause)
        case on_the_way.Sags() as cause:
            return sags(case, fact, cause)
        case on_the_way.CoverTight() as cause:
            return cover_tight(case, fact, cause)
        case on_the_way.NoLift():
            return no_lift(case, fact)
        case on_the_way.Misfits() as cause:
            return misfits(case, fact, cause)
    raise TypeError(f"nothing is known of {type(fact.cause).__name__}")
