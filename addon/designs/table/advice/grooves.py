"""What is said of grooves: round ends in which the bottom panel's corners jam, grooves and slots that meet."""

from __future__ import annotations

from typing import Final

from ....check.facts import Fact
from ....check.grooves import CutsMeet, RoundEnd
from ....sizes.words import listed
from ....wood.as_cut import drawn_dimension
from ...findings import Candidate, Change, Remedy, Sized, places_text
from .by_hand import FARTHER, Entry, added, remade
from .case import Advice, Case, Cut

_BESIDE: Final = 100.0
"""So much more wood than there is above the slots is tried, mm."""


# -- round ends
# ------------------------------------------------------------------------------------------------------------


def round_end(case: Case, fact: Fact, cause: RoundEnd) -> Advice:
    """Corners of the panel that meet the arcs which the bit leaves at the ends of its grooves."""
    words = (
        f"The square corner of {cause.panel} jams in the round end of the groove in {cause.board},"
        f" {case.words(fact.amount)} short of its place: the bit leaves a radius of {case.given(cause.radius)} there."
    )
    if fact.others:
        words += f" Also: {places_text(fact.others)}."
    where = f"groove{'s' if len(cause.boards) > 1 else ''} in {listed(list(cause.boards))}"
    if case.cuts((*cause.boards, cause.panel)):
        new = (remade(case, one) for one in (*cause.boards, cause.panel))
        return Advice(words, _longer(case, cause, where), _squared(case, cause, where), *new)
    bottom = case.table.bottom
    return Advice(
        words,
        Sized(
            lambda mm: Remedy(
                f"Let the {where} run on {case.given(case.finely(mm - bottom.groove_run_on))} farther",
                (Change("bottom.groove_run_on", mm),),
            ),
            bottom.groove_run_on + fact.amount,
            bottom.groove_run_on + fact.amount + FARTHER,
        ),
        Sized(
            lambda mm: Remedy(
                f"Cut {case.given(mm)} off the corners of {cause.panel}, along either edge",
                (Change("bottom.corner_cut", mm),),
            ),
            max(bottom.corner_cut, cause.reach) + fact.amount,
            max(bottom.corner_cut, cause.reach) + fact.amount + FARTHER,
        ),
        Remedy(f"Square the ends of the {where} with a chisel", (Change("bottom.groove_bit", 0.0),)),
    )


def _longer(case: Case, cause: RoundEnd, where: str) -> Sized:
    """Grooves routed on by hand, at the ends where a corner jams."""

    def of(mm: float) -> Remedy:
        entries: list[Entry] = [
            {
                "part": board,
                "dimension": "groove_stop" if end == "end" else "groove_start",
                "deviation": mm if end == "end" else -mm,
            }
            for board, end, _ in cause.ends
        ]
        which = "its end" if len(cause.ends) == 1 else "the ends where a corner jams"
        return Remedy(f"Rout the {where} {case.given(mm)} farther at {which}", added(case, entries))

    return Sized(of, cause.short, cause.short + FARTHER)


def _squared(case: Case, cause: RoundEnd, where: str) -> Remedy:
    entries: list[Entry] = [
        {"part": board, "dimension": "groove_end_radius", "value": 0.0} for board in cause.boards
    ]
    return Remedy(f"Square the ends of the {where} with a chisel", added(case, entries))


# -- grooves and slots that meet
# ------------------------------------------------------------------------------------------------------------


def cuts_meet(case: Case, fact: Fact, cause: CutsMeet) -> Advice:
    """A groove and a slot or window that run into each other: either is to be moved."""
    words = f"In {cause.part} {cause.groove} and {cause.opening} run into each other by {case.words(fact.amount)}."
    if fact.others:
        words += f" Also: {places_text(fact.others)}."
    ways = [_back(case, cause, cut) for cut in case.cuts([cause.part])]
    return Advice(words, *ways, _more_wood(case, fact), remade(case, cause.part))


def _back(case: Case, cause: CutsMeet, cut: Cut) -> Candidate | None:
    """The groove or the opening filled with a strip and cut again where it was drawn; None for another dimension."""
    entry = cut.entry
    name = entry.dimension.partition("_")[0]
    if name not in ("groove", cause.kind) or not entry.dimension.endswith(
        ("_offset", "_sill", "_width", "_height")
    ):
        return None
    what = "groove" if name == "groove" else f"{cause.kind} of {entry.leaf or cause.leaf}"
    drawn = drawn_dimension(case.assembly.by_label[entry.part], entry)
    key = f"as_cut[{cut.number}]"
    change = Change(f"{key}.value", drawn) if entry.deviation is None else Change(f"{key}.deviation", 0.0)
    moved = entry.dimension.endswith(("_offset", "_sill"))
    how = f"{case.given(abs(cut.off))} {'higher' if cut.off < 0 else 'lower'}" if moved else "as drawn"
    return Remedy(f"Glue a strip into the {what} in {entry.part} and cut it anew {how}", (change,))


def _more_wood(case: Case, fact: Fact) -> Sized:
    """All slots, windows and leaves lower."""
    need = case.table.sides.wood_above_slots + fact.amount + case.table.limits.least_wood
    return Sized(
        lambda mm: Remedy(
            f"Leave {case.given(mm)} of wood above the slots, so that slots and leaves lie lower",
            (Change("sides.wood_above_slots", mm),),
        ),
        need,
        need + _BESIDE,
    )
