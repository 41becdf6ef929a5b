"""What is known of a design with one set of parameters, and whether another set leaves anything worse than it was.

    faults      what is amiss: its kind and what it concerns → how grave it is, and by how much
    shares      of random tables in which all goes well, with everything and with each leaf
    by hand     how each leaf is led in, how true, and in how many random tables it guides itself

A fault that comes up at another part but at the same leaf is no new one where the leaf alone is concerned, as with its
finger hole, nor at another strip of its kind; one that has grown is worse than it was.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from functools import cached_property
from typing import Final, NamedTuple

from ..check import check as engine
from ..check.answer import Answer, Answers, ByHand, answers, facts_of_shop
from ..check.cover import cover_of
from ..check.facts import OF_WHAT_IS_LEFT, SEVERITIES, CheckResult, Fact, Place, Rule
from ..check.prepared import Prepared
from ..check.progress import Steps, run_through, share_of
from ..check.row.openings import VERDICTS
from ..check.slide.proof import LeafProof, prove_leaves
from ..check.slide.study import study_steps
from ..check.tolerance.report import InShop
from ..check.tolerance.shop import Shop
from ..check.tolerance.statistics import Share
from ..wood.part import Shape
from ..wood.roles import GUIDE, KICKER, RUNNER
from .findings import Change

SEEN: Final = 0.01
"""A fault that has grown by less is no worse, mm: nothing in a shop shows it."""

Fault = tuple[str, frozenset[str], str]
"""What kind of thing is amiss, between which parts, on the way of which leaf or ""."""


class Degree(NamedTuple):
    """How bad a fault is: by how grave it is, then by how much."""

    rank: int
    amount: float
    """mm; of a clearance that is too small, or of thin wood, what is left, below zero."""
    rule: Rule
    """By which it was found; amounts of one rule alone compare."""

    def worse_than(self, other: Degree | None) -> bool:
        """Whether it is worse, or new where there was none."""
        if other is None or self.rank != other.rank:
            return other is None or self.rank > other.rank
        return self.rule == other.rule and self.amount > other.amount + SEEN


Faults = dict[Fault, Degree]

_KINDS: Final[dict[Rule, str]] = {
    "leaf-blocked": "way", "leaf-tight": "way",
    "overlap": "fit", "long-rib": "fit", "long-part": "fit", "short-rib": "fit", "short-part": "fit",
    "joint-open": "fit",
    "finger-hole": "grip", "finger-reach": "grip", "finger-room": "grip",
}  # fmt: skip
"""Rules that are more and less of the same; all others stand for themselves."""

_OF_A_LEAF: Final[frozenset[Rule]] = frozenset(
    {
        "finger-hole",
        "finger-reach",
        "finger-room",
        "no-end-stop",
        "end-stop-near",
        "leaf-proud",
        "leaf-elsewhere",
    }
)
"""Rules that concern a leaf, whichever other part has to do with it."""

_BY_BAY: Final = frozenset(role.prefix for role in (RUNNER, KICKER, GUIDE))
"""Letters of what is fitted where a bay has room, and is counted anew where another one has."""

OF_THE_SHOP: Final[frozenset[Rule]] = frozenset({"few-work", "few-guide"})
"""Rules of the answer, which the check does not know; they concern the table, whichever leaf is the worst."""


def faults_of(facts: Iterable[Fact]) -> Faults:
    """All places of facts as faults, the worst of each."""
    found: Faults = {}
    for fact in facts:
        for place in fact.places:
            rule = place.rule or fact.rule
            amount = -place.amount if rule in OF_WHAT_IS_LEFT else place.amount
            degree = Degree(SEVERITIES.index(fact.severity), amount, rule)
            fault = fault_of(rule, place)
            found[fault] = max(found.get(fault, degree), degree)
    return found


def fault_of(rule: Rule, place: Place) -> Fault:
    """One place of a finding as a fault, by which it is known again."""
    if rule in OF_THE_SHOP:
        return rule, frozenset(), ""
    if rule in _OF_A_LEAF:
        leaf = place.leaf or place.parts[0]
        return _KINDS.get(rule, rule), frozenset((leaf,)), leaf
    kind = _KINDS.get(rule, rule)
    return kind, frozenset(map(_lasting, place.parts)), "" if kind == "fit" else place.leaf


def _lasting(label: str) -> str:
    """What a part is known by where others of its kind come and go."""
    kind = label.rstrip("0123456789")
    return kind if kind in _BY_BAY else label


class Look:
    """What is known of one set of parameters, each found out when it is asked for."""

    def __init__(self, prepared: Prepared, shop: Shop) -> None:
        self.prepared, self._shop = prepared, shop
        self._found: InShop | None = None

    @cached_property
    def result(self) -> CheckResult:
        """The check."""
        return engine.check_prepared(self.prepared)

    @cached_property
    def proofs(self) -> list[LeafProof]:
        """The proofs of the leaves."""
        return prove_leaves(self.prepared)

    def shop_steps(self) -> Steps[InShop]:
        """What comes of it in the shop, row by row."""
        if self._found is None:
            result = self.result
            yield 0.2
            self._found = yield from share_of(self._shop.steps(self.prepared, result.facts), 0.2, 1.0)
        return self._found

    @property
    def in_shop(self) -> InShop:
        """The same without a pause."""
        return run_through(self.shop_steps())

    @cached_property
    def shares(self) -> dict[str, Share]:
        """Leaf → share of tables in which all goes well with it; "" → with everything."""
        return {"": self.in_shop.works, **{leaf.leaf: leaf.works for leaf in self.in_shop.leaves}}

    @cached_property
    def answers(self) -> Answers:
        """The three lines, of the table and of each leaf."""
        return answers(self.result, self.proofs).with_shop(self.in_shop)

    @property
    def whole(self) -> Answer:
        """The three lines of the table."""
        return self.answers.table

    @property
    def hands(self) -> dict[str, ByHand]:
        """How it goes by hand with each leaf."""
        return {leaf: one.by_hand for leaf, one in self.answers.leaves.items()}

    @cached_property
    def steered(self) -> frozenset[str]:
        """Leaves that do not guide themselves, as far as their openings tell."""
        return frozenset(proof.leaf for proof in self.proofs if proof.verdict != "guides-itself")

    @cached_property
    def drawn(self) -> dict[str, Shape]:
        """Label → the shape that a part was drawn with."""
        return {part.label: part.drawn or part.shape for part in self.prepared.assembly.parts}

    @cached_property
    def faults(self) -> Faults:
        """What the check finds."""
        return faults_of(self.result.facts)

    @cached_property
    def told(self) -> Faults:
        """What the answer says besides: of shares that are too low."""
        cover = cover_of(self.prepared.assembly)
        middle = None if cover is None else cover.middle
        return faults_of(
            facts_of_shop(self.answers, self.prepared.assembly.limits.share, self.proofs, middle)
        )

    @cached_property
    def studied(self) -> Faults:
        """What is known of leaves on their way besides."""
        return faults_of(run_through(study_steps(self.prepared, self.proofs)).facts)


def hand_kept(before: Look, after: Look, wanted: float) -> bool:
    """Whether every leaf goes in by hand as well as before: led no more, no truer, and guided in no fewer tables.

    Parameters
    ----------
    wanted : share of tables that guide their leaves with which nobody minds that it was more, 0 to 1
    """
    for leaf, now in after.hands.items():
        was = before.hands.get(leaf)
        if was is None:
            continue
        rank, before_it = VERDICTS.index(now.verdict), VERDICTS.index(was.verdict)
        if rank > before_it:
            return False
        truer = now.steer is not None and was.steer is not None and now.steer < was.steer - SEEN
        if rank == before_it and now.verdict == "needs-steering" and truer:
            return False
        if now.guides and was.guides and now.guides.value < min(was.guides.value, wanted):
            return False
    return True


def as_elsewhere(before: Look, left: Degree, finding: Fact, own: Sequence[Fault]) -> bool:
    """Whether what is left of a finding on a leaf's way is less grave, and no more than what another one tells.

    Parameters
    ----------
    own : its faults
    """
    if _KINDS.get(left.rule) != "way" or left.rank >= SEVERITIES.index(finding.severity):
        return False
    others = (degree for fault, degree in before.faults.items() if fault not in own and fault[0] == "way")
    return any(not left.worse_than(degree) for degree in others)


def drawn_otherwise(before: Look, after: Look) -> set[str]:
    """Labels of parts that were cut already and are drawn otherwise then; a hole more is drilled into what was cut."""
    labels = {entry.part for entry in before.prepared.assembly.as_cut} & set(before.drawn)
    return {label for label in labels if not _made_of(before.drawn[label], after.drawn.get(label))}


def _made_of(cut: Shape, shape: Shape | None) -> bool:
    """Whether a shape is another one as it is, or with further features cut into it."""
    if shape is None or replace(shape, features=()) != replace(cut, features=()):
        return False
    return all(one in shape.features for one in cut.features)


def cut_anew(look: Look, changes: Sequence[Change]) -> set[str]:
    """Labels of parts that changes make as drawn in all that was measured of them."""
    drawn = {change.key for change in changes if change.value == 0.0}
    entries = list(enumerate(look.prepared.assembly.as_cut))
    kept = {one.part for number, one in entries if f"as_cut[{number}].deviation" not in drawn}
    return {one.part for _, one in entries} - kept
