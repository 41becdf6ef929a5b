"""One answer in three lines, for a table and for each of its leaves, from one result.

    as drawn       clear, tight, blocked               the straight ways, and whatever else the check found
    in the shop    in how many tables it works          random tables, cut at the tolerances (`tolerance.shop`)
    by hand        guides itself, needs steering,       the slide proof, for poses that a hand holds, and in how many
                   does not pass                        of those tables it guides itself

As drawn and by hand are there at once; the random tables take longer and are added when they are there.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from .causes import Point, TooFew
from .facts import CheckResult, Fact, Place, Rule, Verdict
from .row.openings import VERDICTS
from .row.openings import Verdict as SlideVerdict
from .slide.proof import LeafProof
from .tolerance.report import InShop, LeafInShop
from .tolerance.shop import facts_about, works_never
from .tolerance.statistics import Share


@dataclass(frozen=True)
class AsDrawn:
    """How it goes with every size as drawn, or as cut where that is known.

    Parameters
    ----------
    verdict : blocked where anything makes it impossible to put together, to cover, to stow or to take out again; tight
        where a clearance is below the minimum, or anything stands proud, open or free
    clearance : smallest one on the way home, mm; None where no leaf slides
    """

    verdict: Verdict
    clearance: float | None


@dataclass(frozen=True)
class Works:
    """How it goes in the shop.

    Parameters
    ----------
    share : of random tables that work: it covers, goes in and comes out
    worst : least margin among these, half the room on the way or as cover, mm; None where nothing holds it
    worst_case : the same with all deviations to the worse side, see `LeafInShop`
    """

    share: Share
    worst: float | None
    worst_case: float | None = None


@dataclass(frozen=True)
class ByHand:
    """How it goes by hand.

    Parameters
    ----------
    verdict : for poses whose outer end is no farther off line than the hand may hold it
    steer : least distance off line of the outer end with which an opening can be missed, mm; None: with none
    guides : share of random tables in which it guides itself; None as long as they are not there
    """

    verdict: SlideVerdict
    steer: float | None
    guides: Share | None = None


@dataclass(frozen=True)
class Answer:
    """The three lines, of a table or of a leaf; `in_shop` is None as long as the random tables are not there."""

    as_drawn: AsDrawn
    by_hand: ByHand
    in_shop: Works | None = None

    def with_shop(self, found: InShop | LeafInShop) -> Answer:
        """With what came of the random tables."""
        by_hand = replace(self.by_hand, guides=found.guides)
        return replace(self, by_hand=by_hand, in_shop=Works(found.works, found.worst, found.worst_case))


@dataclass(frozen=True)
class Answers:
    """Of the table, and of each leaf that slides, by label."""

    table: Answer
    leaves: dict[str, Answer]

    def with_shop(self, found: InShop) -> Answers:
        """With what came of the random tables."""
        leaves = {one.leaf: self.leaves[one.leaf].with_shop(one) for one in found.leaves}
        return Answers(self.table.with_shop(found), {**self.leaves, **leaves})


@dataclass(frozen=True)
class AllAsDrawn:
    """The line as drawn alone: of the table, and of each leaf that slides, by label."""

    table: AsDrawn
    leaves: dict[str, AsDrawn]


def as_drawn(result: CheckResult) -> AllAsDrawn:
    """What a check says as drawn; it needs no slide proof."""
    leaves = {
        one.leaf: AsDrawn(_worse(one.verdict, facts_about(one.leaf, result.facts)), one.clearance)
        for one in result.leaves
    }
    clearance = min((one.clearance for one in result.leaves), default=None)
    return AllAsDrawn(AsDrawn(_worse(result.verdict, result.facts), clearance), leaves)


def answers(result: CheckResult, proofs: Sequence[LeafProof]) -> Answers:
    """As drawn and by hand, from a check and the slide proof of the same assembly."""
    never = works_never([view.of for proof in proofs for view in proof.views], result.facts)
    of_leaf = {proof.leaf: proof for proof in proofs}
    drawn = as_drawn(result)
    leaves = {
        leaf: Answer(own, _by_hand(of_leaf[leaf], own, leaf in never)) for leaf, own in drawn.leaves.items()
    }
    by_hand = [one.by_hand for one in leaves.values()]
    verdict = _worst([one.verdict for one in by_hand])
    if "" in never:
        verdict = "does-not-pass"
    steer = min((one.steer for one in by_hand if one.steer is not None), default=None)
    return Answers(Answer(drawn.table, ByHand(verdict, _steer(verdict, steer))), leaves)


def _by_hand(proof: LeafProof, drawn: AsDrawn, never: bool) -> ByHand:
    """What is blocked as drawn never guides itself: the hand has to tilt or lift it past what stands in its way."""
    if never:
        return ByHand("does-not-pass", None)
    if drawn.verdict == "blocked":
        verdict = _worst([proof.verdict, "needs-steering"])
        return ByHand(verdict, _steer(verdict, 0.0))
    return ByHand(proof.verdict, _steer(proof.verdict, proof.steer))


def _steer(verdict: SlideVerdict, steer: float | None) -> float | None:
    return None if verdict == "does-not-pass" else steer


def _worst(verdicts: Iterable[SlideVerdict]) -> SlideVerdict:
    return VERDICTS[max(map(VERDICTS.index, verdicts), default=0)]


def _worse(verdict: Verdict, facts: Iterable[Fact]) -> Verdict:
    """The verdict of clearances alone, or the worse one that the facts make it."""
    severities = {fact.severity for fact in facts}
    if verdict == "blocked" or "error" in severities:
        return "blocked"
    return "tight" if verdict == "tight" or "warning" in severities else "clear"


def facts_of_shop(
    found: Answers, wanted: float, proofs: Sequence[LeafProof], cover: Point | None
) -> Iterator[Fact]:
    """Warnings: fewer random tables work than are `wanted`, 0 to 1, or guide leaves that guide themselves as drawn.

    A table that is blocked as drawn has been told so already, and one that does not work guides nothing.

    Parameters
    ----------
    cover : middle of the covering leaves, if there are any
    """
    if found.table.in_shop is None or found.table.as_drawn.verdict == "blocked":
        return
    places = {proof.leaf: _tightest(proof) for proof in proofs}
    works = {leaf: one.in_shop.share for leaf, one in found.leaves.items() if one.in_shop is not None}
    few = list(_too_few("few-work", found.table.in_shop.share, works, wanted, found, places, cover))
    yield from few
    guides = {
        leaf: one.by_hand.guides for leaf, one in found.leaves.items() if one.by_hand.guides is not None
    }
    if not few and found.table.by_hand.guides is not None and found.table.by_hand.verdict == "guides-itself":
        yield from _too_few("few-guide", found.table.by_hand.guides, guides, wanted, found, places, cover)


def _too_few(
    rule: Rule,
    share: Share,
    shares: Mapping[str, Share],
    wanted: float,
    found: Answers,
    places: Mapping[str, Point],
    cover: Point | None,
) -> Iterator[Fact]:
    """One warning with a place a leaf, the worst first; where no leaf alone is to blame, at the cover."""
    if share.value >= wanted:
        return
    fewer = sorted((own.value, leaf) for leaf, own in shares.items() if own.value < wanted)
    cause = TooFew(share, wanted, {leaf: shares[leaf] for _, leaf in fewer})

    def amount(answer: Answer) -> float:
        worst = None if answer.in_shop is None else answer.in_shop.worst
        return 0.0 if worst is None else max(0.0, -worst)

    if not fewer:
        at = cover if cover is not None else next(iter(places.values()))
        yield Fact(rule, "warning", tuple(found.leaves), at, amount(found.table), cause)
        return
    first, *others = (Place((leaf,), places[leaf], amount(found.leaves[leaf]), leaf) for _, leaf in fewer)
    yield Fact(rule, "warning", first.parts, first.at, first.amount, cause, first.leaf, others=tuple(others))


def _tightest(proof: LeafProof) -> Point:
    """Where a leaf has the least room on its way, as drawn; where it lies stowed where nothing holds it."""
    views = [view for view in proof.views if view.proof.fit is not None and view.proof.fit_margin is not None]
    view = min(views, key=lambda one: one.proof.fit_margin or 0.0, default=proof.side)
    if view.proof.fit is None:
        return view.of.place(view.of.row.travel, view.of.row.rest)
    return view.of.place(view.proof.fit.travel, view.proof.fit.height)
