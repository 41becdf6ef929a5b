"""What the table says to the facts of a check: here a cause meets its adviser, one line each."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from ....check import board_causes, causes
from ....check.as_built.moves import CutOtherwise, Missing
from ....check.channels import ChannelOff
from ....check.door import NoWayOut
from ....check.facts import Fact
from ....check.fasteners import InCut, NearEdge, NoDriver, TipOut, TipShort
from ....check.grooves import CutsMeet, RoundEnd
from ....check.push_holes import PushHoleTaken, SmallPushHole
from ....check.reserved import BeforeWall, Crossed, Taken, TightBend
from ....check.slide import study as on_the_way
from ....wood.assembly import Assembly
from ...findings import Candidate, Finding, Option, Remedy, groups, merged, places_text
from ..parameters import Table
from . import clearances, fasteners, grips, overlaps, push_holes, reserved, sliding_in, stowed
from .as_built import cut_otherwise, missing
from .boards import bowed, bowed_rib, little_glue, panel_over_gap, steps_down, thin_wood, unmeasured, weak_bar
from .case import Advice, Case
from .chains import chain_off
from .channels import channel_off
from .door import no_way_out
from .grooves import cuts_meet, round_end
from .own_parts import own_behind, put_elsewhere, unheld


def advise(
    table: Table, assembly: Assembly, facts: Iterable[Fact], options: Sequence[Option] | None = None
) -> list[Finding]:
    """Each fact in a sentence, with the change to the table file that makes it go away.

    Parameters
    ----------
    options : ways that were found to make leaves guide themselves; None where nobody looked
    """
    case = Case(table, assembly, options)
    return [_finding(case, group) for group in groups(facts, lambda fact: blamed(case, fact))]


def _finding(case: Case, group: Sequence[Fact]) -> Finding:
    said = advice(case, group)
    return Finding.of(merged(group), said.message, said.candidates)


def blamed(case: Case, fact: Fact) -> frozenset[str]:
    """What a fact is put down to: keys of parameters or entries, or whatever else facts may have in common.

    Facts with anything in common become one finding; a fact with nothing stands alone.
    """
    match fact.cause:
        case causes.TooNear() as cause:
            return clearances.blamed(case, fact, cause)
        case CutOtherwise() | CutsMeet() as cause:
            return frozenset(f"as_cut[{cut.number}]" for cut in case.cuts([cause.part]))
        case causes.Overlapping():
            return overlaps.blamed(case, fact)
        case causes.NothingStops() | causes.StopsEarly() | causes.StandsOut():
            return stowed.blamed(case, fact)
        case causes.NoGrip() | causes.SmallGrip() | causes.FarGrip() | causes.CoveredGrip():
            return grips.blamed(case, fact)
        case on_the_way.Droops() | on_the_way.Jams() | on_the_way.Sags():
            return frozenset({f"{fact.rule} of all leaves"})
        case TipOut() | TipShort() | InCut() | NearEdge() | NoDriver() as cause:
            return fasteners.blamed(case, cause)
        case ChannelOff():
            return frozenset({"legs.channel"})
        case board_causes.BowedLeaf() as cause:
            return frozenset({f"leaves not flat, of {cause.stock}"})
        case PushHoleTaken() as cause:
            return frozenset({f"{fact.rule} for {cause.leaf}"})
        case Crossed() | BeforeWall() | Taken() | TightBend() as cause:
            return frozenset({f"{fact.rule} at reserved[{cause.number}]"})
    return frozenset()


def advice(case: Case, group: Sequence[Fact]) -> Advice:
    """What to say of the facts of one cause, the gravest first, and what is worth trying about them.

    Facts of several kinds that one part cut otherwise brings about are said kind by kind.
    """
    kinds: dict[type, list[Fact]] = {}
    for fact in group:
        kinds.setdefault(type(fact.cause), []).append(fact)
    said = [_of_kind(case, own) for own in kinds.values()]
    if len(said) == 1:
        return said[0]
    words = " ".join(one.message for one in said)
    if own := own_behind(case, group[0].parts):
        return Advice(words, *put_elsewhere(case, group, own))
    return Advice(words, *_each_once(one.candidates for one in said))


def _each_once(lists: Iterable[Sequence[Candidate]]) -> list[Candidate]:
    """Candidates of several kinds of facts, each change once: in words for less work than a new part, or in more."""
    found: dict[object, Candidate] = {}

    def rank(one: Candidate) -> tuple[bool, int]:
        return isinstance(one, Remedy) and not one.text.startswith("Cut a new"), len(getattr(one, "text", ""))

    for candidate in (one for some in lists for one in some):
        key = candidate.set if isinstance(candidate, Remedy) else candidate
        found[key] = max(found.get(key, candidate), candidate, key=rank)
    return list(found.values())


def _of_kind(case: Case, group: Sequence[Fact]) -> Advice:
    match group[0].cause:
        case NearEdge() as cause if cause.clamping:
            return fasteners.clamping(case, group, cause)
        case causes.TooNear():
            return clearances.too_near(case, group)
        case causes.Overlapping():
            return overlaps.overlapping(case, group)
        case causes.FarGrip() | causes.CoveredGrip():
            return _of_all(grips.out_of_reach(case, group), group)
        case ChannelOff() as cause:
            return channel_off(case, group, cause)
        case NoWayOut() as cause:
            return no_way_out(case, cause)
        case board_causes.BowedLeaf() as cause:
            return bowed(case, group, cause)
        case Crossed():
            return reserved.crossed(case, group)
        case BeforeWall():
            return reserved.before_wall(case, group)
        case Taken():
            return reserved.taken(case, group)
        case TightBend():
            return reserved.tight_bend(case, group)
        case PushHoleTaken():
            return push_holes.taken(case, group)
    return _of_all(_of_one(case, group[0]), group)


def _of_all(said: Advice, group: Sequence[Fact]) -> Advice:
    """What is said of the first fact, and where else it is so."""
    if len(group) == 1:
        return said
    elsewhere = places_text(place for one in group[1:] for place in one.places)
    return Advice(f"{said.message} Also: {elsewhere}.", *said.candidates)


def _of_one(case: Case, fact: Fact) -> Advice:
    match fact.cause:
        case causes.MeetAtOnce() as cause:
            return stowed.meet_at_once(case, fact, cause)
        case causes.ChainOff() as cause:
            return chain_off(case, fact, cause)
        case CutOtherwise() as cause:
            return cut_otherwise(case, cause)
        case Missing() as cause:
            return missing(case, cause)
        case causes.NothingStops() as cause:
            return stowed.nothing_stops(case, fact, cause)
        case causes.StopsEarly():
            return stowed.stops_early(case, fact)
        case causes.StandsOut() as cause:
            return stowed.stands_out(case, fact, cause)
        case causes.NoGrip() as cause:
            return grips.no_grip(case, fact, cause)
        case causes.SmallGrip() as cause:
            return grips.small_grip(case, fact, cause)
        case causes.WeakBar() as cause:
            return weak_bar(case, cause)
        case causes.LittleGlue() as cause:
            return little_glue(case, cause)
        case causes.PanelOverGap() as cause:
            return panel_over_gap(case, cause)
        case on_the_way.StepsDown() as cause:
            return steps_down(case, fact, cause)
        case causes.TooFew() as cause:
            return sliding_in.too_few(case, fact, cause)
        case board_causes.HeldByNothing():
            return unheld(case, fact)
        case board_causes.UnmeasuredSheet() as cause:
            return unmeasured(case, cause)
        case board_causes.BowedRib() as cause:
            return bowed_rib(case, fact, cause)
        case board_causes.ThinWood() as cause:
            return thin_wood(case, fact, cause)
        case RoundEnd() as cause:
            return round_end(case, fact, cause)
        case CutsMeet() as cause:
            return cuts_meet(case, fact, cause)
        case TipOut() | TipShort() | InCut() | NearEdge() | NoDriver() as cause:
            return fasteners.said(case, cause)
        case on_the_way.NeedsSteering() as cause:
            return sliding_in.needs_steering(case, cause)
        case on_the_way.IsHeld() as cause:
            return sliding_in.is_held(case, fact, cause)
        case on_the_way.Droops() as cause:
            return sliding_in.droops(case, fact, cause)
        case on_the_way.Jams() as cause:
            return sliding_in.jams(case, fact, cause)
        case on_the_way.Sags() as cause:
            return stowed.sags(case, fact, cause)
        case on_the_way.CoverTight() as cause:
            return stowed.cover_tight(case, fact, cause)
        case on_the_way.NoLift():
            return stowed.no_lift(case, fact)
        case SmallPushHole() as cause:
            return push_holes.too_small(case, cause)
        case on_the_way.Misfits() as cause:
            return sliding_in.misfits(case, fact, cause)
    raise TypeError(f"nothing is known of {type(fact.cause).__name__}")
