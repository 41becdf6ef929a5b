"""Leaves on their way, however they are held: what needs steering, what holds, droops or jams, what fits elsewhere.

Also what to say where too few tables work that are cut at the tolerances of the file.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial
from itertools import groupby
from typing import Final

from ....check.causes import TooFew
from ....check.facts import Fact
from ....check.matrix import TURNS, MatrixCell
from ....check.slide.proof import LeafProof
from ....check.slide.study import Droops, IsHeld, Jams, Misfits, NeedsSteering
from ....sizes.tolerances import CONTACT
from ....sizes.words import listed
from ...findings import Candidate, Change, Remedy, Sized
from ...words.answer import percent
from ...words.slide import held_text, steer_words, touch_text
from ..parameters import Leaves, Ribs
from .by_hand import FARTHER, remade, trimmed
from .case import MARGIN, Advice, Case, both
from .clearances import more_room
from .guiding import most_of
from .overlaps import narrower_legs
from .stowed import longer_play, wider_gaps


def needs_steering(case: Case, cause: NeedsSteering) -> Advice:
    """Leaves that a hand has to lead into their openings."""
    how: dict[str, list[str]] = {}
    for leaf, proof in sorted((proof.leaf, proof) for proof in cause.proofs):
        how.setdefault(steer_words(proof.steer, case.table.units), []).append(leaf)
    words = [
        f"{listed(leaves)} {'needs' if len(leaves) == 1 else 'need'} steering {words}"
        for words, leaves in how.items()
    ]
    return Advice(f"{'; '.join(words)}.", *_guided(case, cause.proofs))


def _guided(case: Case, proofs: Sequence[LeafProof]) -> Iterator[Candidate]:
    """The options that help some leaf, narrower legs; what the hand does. None where nobody looked."""
    if case.options is None:
        return
    leaves = {proof.leaf for proof in proofs}
    for option in case.options:
        if isinstance(option.candidate, Remedy) and leaves & set(option.leaves):
            yield from _chamfered_too(case, option.candidate)
        elif leaves & set(option.leaves):
            yield option.candidate
    if case.table.legs.fitted:
        yield narrower_legs(case, MARGIN)
    by_hand = "; ".join(f"{proof.leaf}: {touch_text(proof, case.table.units)}" for proof in proofs)
    yield Remedy(f"{by_hand}. No chamfer that the boards hold, nor a strip that has room, makes up for it")


def _chamfered_too(case: Case, strips: Remedy) -> Iterator[Sized]:
    """Strips that do as drawn, and larger chamfers where in the shop they alone do not."""
    for name, section, now, words in _chamfers(case):

        def of(mm: float, name: str = name, now: float = now, words: str = words) -> Remedy:
            if mm <= now + CONTACT:
                return strips
            said = words.format(case.given(mm))
            return both(strips, Remedy(said, (Change(name, mm),)))

        yield Sized(of, now, max(now, most_of(section, name.rpartition(".")[2])))


def _chamfers(case: Case) -> Iterator[tuple[str, type[Leaves] | type[Ribs], float, str]]:
    """Chamfers that help a nose into its openings: key, section, size, mm, and what to do in words."""
    leaves, ribs = case.table.leaves, case.table.ribs
    yield "leaves.lead_chamfer", Leaves, leaves.lead_chamfer, "Chamfer the leaves' leading ends by {}"
    yield "ribs.window_chamfer", Ribs, ribs.window_chamfer, "Chamfer all windows by {}"


def is_held(case: Case, fact: Fact, cause: IsHeld) -> Advice:
    """A leaf that no tilt brings past three edges."""
    upright = cause.view.of.view == "side"
    names = ("clearance_above", "clearance_below") if upright else ("side_clearance",)
    return Advice(
        f"{fact.leaf} does not pass, however it is tilted: it lacks {case.words(fact.amount)}"
        f" between {held_text(cause.view.proof, case.table.units)}.",
        *_cut_anew(case, [fact.leaf]),
        more_room(case, [fact.leaf], names),
        Remedy(f"Take {case.words(fact.amount)} of wood off at one of these edges"),
    )


def droops(case: Case, fact: Fact, cause: Droops) -> Advice:
    """A leaf whose free nose bends down too far."""
    need = cause.chamfer + fact.amount

    def of(mm: float) -> Remedy:
        return Remedy(f"Chamfer all windows by {case.given(mm)}", (Change("ribs.window_chamfer", mm),))

    return Advice(
        f"The free nose of {fact.leaf} bends down by {case.words(cause.droop)} before {cause.opening}"
        f" and comes {case.words(fact.amount)} too low for it.",
        Sized(of, need, need + FARTHER),
        Remedy(f"Lift its nose with a hand before {cause.opening}"),
    )


def jams(case: Case, fact: Fact, cause: Jams) -> Advice:
    """A leaf that friction may hold."""
    return Advice(
        f"{fact.parts[0]} may jam when it is pushed more than {case.place(cause.offset)} off its middle, even"
        f" stowed (friction {cause.jamming.mu:g}).",
        Remedy("Push it at its middle, or fit guides along its way", (Change("stowing.guides", True),)),
        Remedy("Push it at its middle"),
    )


def misfits(case: Case, fact: Fact, cause: Misfits) -> Advice:
    """A leaf that does not fit its own position other than as drawn, or those of the others."""
    leaf, words = fact.leaf, []
    if cause.stuck:
        words.append(f"does not fit {_positions(cause.stuck)}: {_worst_of(case, cause.worst)}")
    if cause.stray:
        farthest = max(cause.stray, key=lambda cell: cell.outer_end)
        where = case.place(abs(farthest.outer_end))
        side = f"out of {farthest.side}" if farthest.outer_end > 0 else f"inside {farthest.side}"
        words.append(
            f"does not end where it should in {_positions(cause.stray)}: its outer end is up to {where} {side}"
        )
    return Advice(
        f"{leaf} {', and '.join(words)}.",
        Remedy(f"Mark {leaf}, its slot and its outer end, and stow it there"),
    )


def _worst_of(case: Case, cell: MatrixCell) -> str:
    amount = case.words(abs(cell.clearance))
    if cell.verdict == "blocked":
        return f"{cell.against} ({cell.near}) stands up to {amount} in its way"
    return f"it passes {cell.against} ({cell.near}) with {amount}"


def _positions(cells: Sequence[MatrixCell]) -> str:
    """The positions of some cells of one leaf; those with the same ways round together."""
    ways = [(_ways(group), position) for position, group in _by_position(cells)]
    phrases = []
    for way in dict.fromkeys(way for way, _ in ways):
        positions = [position for other, position in ways if other == way]
        if positions == [cells[0].leaf]:
            phrases.append(f"its own slot {way}")
        else:
            slots = "slot" if len(positions) == 1 else "slots"
            phrases.append(f"the {slots} of {listed(positions)} {way}")
    return ", ".join(phrases)


def _by_position(cells: Sequence[MatrixCell]) -> list[tuple[str, list[MatrixCell]]]:
    return [(position, list(group)) for position, group in groupby(cells, key=lambda cell: cell.position)]


def _ways(cells: Sequence[MatrixCell]) -> str:
    if len(cells) == len(TURNS):
        return "any way round"
    words = ["turned both ways" if cell.turn == "both" else cell.turn for cell in cells]
    if len(cells) == len(TURNS) - 1 and "as drawn" not in words:
        return "otherwise than as drawn"
    return listed(words, "or")


# -- random tables
# ----------------------------------------------------------------------------------------------------


def too_few(case: Case, fact: Fact, cause: TooFew) -> Advice:
    """Too few tables that work, or that guide their leaves."""
    does = "work" if fact.rule == "few-work" else "guide their leaves"
    share = (
        f"Of tables cut at these tolerances {percent(cause.share)} {does}; {100 * cause.wanted:.4g} % shall"
    )
    leaves = ", ".join(f"{leaf} in {percent(own)}" for leaf, own in cause.leaves.items())
    worst = f" At worst {case.words(fact.amount)} are lacking." if fact.amount > 0 else ""
    labels = list(cause.leaves) or list(case.assembly.cover)
    ways = _roomier(case, cause) if fact.rule == "few-work" else _surer(case)
    return Advice(
        f"{share}{f': {leaves}' if leaves else ''}.{worst}",
        *_cut_anew(case, labels),
        *ways,
        _cut_truer(case, fact),
    )


def _cut_anew(case: Case, leaves: Sequence[str]) -> Iterator[Candidate | None]:
    """Parts that were cut otherwise than drawn, those leaves first: what is too much taken off, or a new part."""
    labels = dict.fromkeys(entry.part for entry in case.table.as_cut if not entry.missing)
    for label in sorted(labels, key=lambda one: one not in leaves)[:_MOST_PARTS]:
        for cut in case.cuts([label]):
            yield trimmed(case, cut, min(cut.off, case.more(MARGIN)))
            yield trimmed(case, cut, cut.off)
        yield remade(case, label)


def _roomier(case: Case, cause: TooFew) -> Iterator[Candidate]:
    """More room for the leaves on their way, or side by side."""
    if cause.leaves:
        leaves = list(cause.leaves)
        yield more_room(case, leaves, ("clearance_above", "clearance_below"))
        yield more_room(case, leaves, ("side_clearance",))
        yield more_room(case, leaves, ("clearance_above", "clearance_below", "side_clearance"))
    yield wider_gaps(case, case.table.leaves.gap)
    yield longer_play(case, case.table.leaves.end_gap)


def _surer(case: Case) -> Iterator[Candidate]:
    """What guides a leaf from farther off its line: larger chamfers, strips; legs that stand farther from its way."""
    table = case.table
    for name, section, now, words in _chamfers(case):
        yield Sized(
            partial(_of_size, case, name, words), now + MARGIN, most_of(section, name.rpartition(".")[2])
        )
    if table.legs.fitted:
        yield narrower_legs(case, MARGIN)
    for flag in ("runners", "kickers", "guides"):
        if not getattr(table.stowing, flag):
            yield Remedy(f"Fit {flag} along the leaves' ways", (Change(f"stowing.{flag}", True),))


def _of_size(case: Case, key: str, words: str, mm: float) -> Remedy:
    return Remedy(words.format(case.given(mm)), (Change(key, mm),))


def _cut_truer(case: Case, fact: Fact) -> Remedy:
    leaf = next(one for one in case.table.stock if one.name == case.table.leaves.stock)
    if fact.rule == "few-work" and max(leaf.bow, leaf.twist) > 0:
        return Remedy("Cut the leaves from a flatter sheet, and give the file the bow and twist that it has")
    what = "slots, windows and leaves" if fact.rule == "few-work" else "windows and strips"
    return Remedy(
        f"Cut {what} with a stop or a template, try each on a scrap, and give the file the tolerances held"
    )


_MOST_PARTS: Final = 4
"""Parts that are tried anew, of those that were cut otherwise than drawn."""
