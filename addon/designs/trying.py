"""Remedies tried before they are offered: the design is built anew with each, checked, and held against what it was.

    finding --candidates--> build, check --> is it gone, nothing else amiss? --> share, steering --> offered

A remedy holds if its finding is gone in all its places, nothing as grave has come instead, no leaf asks for more of the
hand, no part that was cut already would have to be another, and the share of tables that work is no lower. Of remedies
that differ in a size, the smallest change is sought with which the share is what the limits ask for, not just enough
for the table as drawn.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property
from math import inf
from typing import TYPE_CHECKING, Final, Generic, Literal

from ..check import check as engine
from ..check.facts import SEVERITIES
from ..check.prepared import prepare
from ..check.progress import run_through, share_of
from ..check.slide.proof import prove_leaves
from ..check.tolerance.analysis import analyze
from ..sizes.errors import DryAssemblyError
from ..sizes.tolerances import CONTACT
from ..sizes.units import CALIPER, TAPE, division, rounded
from .design import P
from .findings import Remedy, Sized

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from ..check.facts import Fact, Place, Rule, Severity
    from ..check.prepared import Prepared
    from ..check.progress import Steps
    from ..check.slide.proof import LeafProof
    from ..check.tolerance.statistics import Share
    from ..wood.part import Shape
    from .design import Design
    from .findings import Candidate, Change, Finding, Report

TABLES: Final = 2000
"""Random tables for a share."""

MOST_TRIALS: Final = 12
"""Sizes of one remedy that are tried at most."""

FactsOf = "Callable[[Prepared], Iterable[Fact]]"

Fault = tuple[str, frozenset[str], str]
"""What kind of thing is amiss, between which parts, on the way of which leaf or ""."""

_KINDS: Final[dict[Rule, str]] = {
    "leaf-blocked": "way", "leaf-tight": "way",
    "overlap": "fit", "long-rib": "fit", "long-part": "fit", "short-rib": "fit", "short-part": "fit",
}  # fmt: skip
"""Rules that are more and less of the same; all others stand for themselves."""


def remedied(design: Design[P], parameters: P, prepared: Prepared, report: Report) -> Report:
    """A report with remedies that hold, all of them tried."""
    return run_through(remedy_steps(design, parameters, prepared, report))


def remedy_steps(design: Design[P], parameters: P, prepared: Prepared, report: Report) -> Steps[Report]:
    """`remedied`, step by step: one trial a step."""
    findings = yield from tried_steps(Trials(design, parameters, prepared), report.findings)
    return replace(report, findings=findings)


def tried_steps(trials: Trials[P], findings: Sequence[Finding]) -> Steps[tuple[Finding, ...]]:
    """Findings with those of their candidates that hold, one trial a step."""
    found = []
    for number, finding in enumerate(findings):
        own = trials.remedies(finding)
        found.append(
            replace(
                finding,
                remedies=(yield from share_of(own, number / len(findings), (number + 1) / len(findings))),
            )
        )
    return tuple(found)


class Look:
    """What is known of one set of parameters, each found out when it is asked for."""

    def __init__(self, prepared: Prepared, facts_of: Callable[[Prepared], Iterable[Fact]]) -> None:
        self.prepared, self._facts_of = prepared, facts_of

    @cached_property
    def faults(self) -> dict[Fault, Severity]:
        """All that is amiss, and how grave it is."""
        return {
            fault_of(place.rule or fact.rule, place): fact.severity
            for fact in self._facts_of(self.prepared)
            for place in fact.places
        }

    @cached_property
    def shares(self) -> dict[str, Share]:
        """Leaf → share of tables that let it in; "" → share of those that work altogether."""
        found = analyze(self.prepared.assembly, count=TABLES, guided=0, wanted=None)
        return {"": found.works, **{leaf.leaf: leaf.passes for leaf in found.leaves}}

    @cached_property
    def steering(self) -> dict[str, float]:
        """Leaf → how far off line its outer end may be held at least, mm; see `may_be_off`."""
        return {proof.leaf: may_be_off(proof) for proof in prove_leaves(self.prepared)}

    @cached_property
    def drawn(self) -> dict[str, Shape]:
        """Label → the shape that a part was drawn with."""
        return {part.label: part.drawn or part.shape for part in self.prepared.assembly.parts}


def fault_of(rule: Rule, place: Place) -> Fault:
    """One place of a finding as a fault, by which it is known again."""
    return _KINDS.get(rule, rule), frozenset(place.parts), place.leaf if _KINDS.get(rule) != "fit" else ""


def may_be_off(proof: LeafProof) -> float:
    """How far off line the outer end of a leaf may be held on its way without its nose missing an opening, mm.

    inf for a leaf that guides itself, -1 for one that does not pass, 0 where it takes more than holding the outer end.
    """
    if proof.verdict == "does-not-pass":
        return -1.0
    least = inf
    for view in proof.views:
        for one in view.proof.openings:
            if one.verdict == "needs-steering":
                least = min(least, _free_of_steering(one.hand))
    return least


def _free_of_steering(hand: tuple[float | None, float | None] | None) -> float:
    """How far either way an outer end may be off where it has to be between two heights, mm; 0 where level misses."""
    if hand is None:
        return 0.0
    low, high = hand
    return max(min(inf if low is None else -low, inf if high is None else high), 0.0)


Verdict = Literal["too little", "holds", "too much"]


class Trials(Generic[P]):
    """A design's parameters as they are, and what comes of them with changes."""

    def __init__(
        self,
        design: Design[P],
        parameters: P,
        prepared: Prepared,
        facts_of: Callable[[Prepared], Iterable[Fact]] = lambda prepared: (
            engine.check_prepared(prepared).facts
        ),
    ) -> None:
        self.design, self.parameters = design, parameters
        self._facts_of = facts_of
        self.now = Look(prepared, facts_of)
        self._limits = prepared.assembly.limits

    def remedies(self, finding: Finding) -> Steps[tuple[Remedy, ...]]:
        """Those of a finding's candidates that hold, one trial a step; else those in words alone."""
        candidates = [one for one in finding.candidates if isinstance(one, Sized) or one.set]
        found: list[Remedy] = []
        for number, candidate in enumerate(candidates):
            own = self._try(finding, candidate)
            remedy = yield from share_of(own, number / len(candidates), (number + 1) / len(candidates))
            if remedy is not None and all(remedy.set != other.set for other in found):
                found.append(remedy)
        return tuple(found) or finding.remedies

    def look(self, changes: Sequence[Change]) -> Look | None:
        """What comes of changes; None where it cannot be built."""
        try:
            changed = self.design.changed(self.parameters, changes)
            return Look(prepare(self.design.build(changed)), self._facts_of)
        except DryAssemblyError:
            return None

    def _try(self, finding: Finding, candidate: Candidate) -> Steps[Remedy | None]:
        """The remedy that holds of a candidate; None where none does."""
        if isinstance(candidate, Remedy):
            look = self.look(candidate.set)
            holds = look is not None and self.holds(finding, look)
            yield 1.0
            return self._offered(candidate, look) if look is not None and holds else None
        return (yield from _Search(self, finding, candidate).steps())

    def _offered(self, remedy: Remedy, look: Look) -> Remedy:
        cost = self.design.cost(self.parameters, self.design.changed(self.parameters, remedy.set))
        return replace(remedy, share_after=look.shares[""].value, cost=cost)

    # -- whether a remedy holds
    # --------------------------------------------------------------------------------------------------------

    def holds(self, finding: Finding, look: Look) -> bool:
        """Whether a finding is gone, and nothing else worse than it was."""
        return self.is_gone(finding, look) and self.harmless(finding, look) and self.share_kept(look)

    def is_gone(self, finding: Finding, look: Look) -> bool:
        """Whether nothing is left of a finding in any of its places."""
        return not any(fault_of(place.rule or finding.rule, place) in look.faults for place in finding.places)

    def harmless(self, finding: Finding, look: Look) -> bool:
        """Whether nothing came instead, no part would have to be cut again, and hands need be no steadier."""
        grave = min(SEVERITIES.index(finding.severity), SEVERITIES.index("warning"))
        for fault, severity in look.faults.items():
            before = self.now.faults.get(fault)
            rank = SEVERITIES.index(severity)
            if rank >= grave and (before is None or rank > SEVERITIES.index(before)):
                return False
        return self._keeps_what_is_cut(look) and self.no_more_steering(look)

    def _keeps_what_is_cut(self, look: Look) -> bool:
        labels = {entry.part for entry in self.now.prepared.assembly.as_cut} & self.now.drawn.keys()
        return all(look.drawn.get(label) == self.now.drawn[label] for label in labels)

    def no_more_steering(self, look: Look) -> bool:
        """Whether each leaf may be held as far off line as before, or as far as the limits say that a hand does."""
        return all(
            look.steering.get(leaf, inf) >= min(before, self._limits.hand) - CONTACT
            for leaf, before in self.now.steering.items()
        )

    def share_kept(self, look: Look) -> bool:
        """Whether no fewer tables work than before: by the same random numbers, or, where other dimensions are drawn,
        within what their number leaves open."""
        before, after = self.now.shares[""], look.shares[""]
        return after.count >= before.count or (after.low >= self._limits.share and after.high >= before.value)

    def aim(self, finding: Finding, look: Look) -> Share:
        """The share that is to reach what the limits ask for: of tables that work, or, if more, of those that let in
        the leaves that a finding is about; what else is amiss tells on the first alone."""
        leaves = {place.leaf for place in finding.places} & set(look.shares) - {""}
        own = [min((look.shares[leaf] for leaf in leaves), key=lambda one: one.low)] if leaves else []
        return max((look.shares[""], *own), key=lambda one: one.low)

    def reaches_share(self, finding: Finding, look: Look) -> bool:
        """Whether the share is surely what the limits ask for."""
        return self.aim(finding, look).low >= self._limits.share


class _Search(Generic[P]):
    """The smallest change of one size that holds: by doubled steps, then by halves."""

    def __init__(self, trials: Trials[P], finding: Finding, sized: Sized) -> None:
        self.trials, self.finding, self.sized = trials, finding, sized
        self._looked: dict[int, tuple[Remedy, Look]] = {}
        """Sizes with which the finding is gone and no share is lower, by their number."""
        self._last_share, self._stuck = -1.0, False

    def steps(self) -> Steps[Remedy | None]:
        """Whatever holds; the least of it with which the share is what it should be, or as good as it gets."""
        limits = self.trials.now.prepared.assembly.limits
        units = self.trials.parameters.units
        for reading in (division(limits.rule_division), TAPE, CALIPER):
            step = float(reading.step(units)) * (25.4 if units == "in" else 1.0)
            up = self.sized.most >= self.sized.need
            first = rounded(self.sized.need, units, reading, "up" if up else "down")
            room = (self.sized.most - first) * (1 if up else -1)
            if room < -CONTACT:
                continue
            sign = step if up else -step
            found = yield from self._among(
                lambda number: rounded(first + number * sign, units, reading, "nearest"),  # noqa: B023
                int((room + CONTACT) / step),
            )
            return found
        return None

    def _among(self, size: Callable[[int], float], last: int) -> Steps[Remedy | None]:
        low, high, best, number = -1, last + 1, None, 0
        for trial in range(MOST_TRIALS):
            verdict = self._judge(number, size(number))
            yield (trial + 1) / (MOST_TRIALS + 1)
            if verdict == "holds":
                best = high = number
            elif verdict == "too much":
                high = number
            else:
                low = number
            if high - low <= 1 or (best is None and self._stuck):
                break
            doubled = min(2 * number + 1, last) if high == last + 1 else (low + high) // 2
            number = doubled if doubled > low else (low + high) // 2
        if best is None:
            best = self._best_of_the_rest()
        return None if best is None else self.trials._offered(*self._looked[best])

    def _judge(self, number: int, size: float) -> Verdict:
        remedy = self.sized.of(size)
        look = self.trials.look(remedy.set)
        self._stuck = False
        if look is None:
            return "too much"
        if not self.trials.is_gone(self.finding, look):
            return "too little"
        if not self.trials.harmless(self.finding, look):
            return "too much"
        share = self.trials.aim(self.finding, look).value
        if self.trials.share_kept(look):
            self._looked[number] = remedy, look
            if self.trials.reaches_share(self.finding, look):
                return "holds"
        self._stuck = share <= self._last_share
        self._last_share = share
        return "too little"

    def _best_of_the_rest(self) -> int | None:
        """Where no size reaches the share that is asked for: the least with the greatest share."""
        return max(self._looked, key=lambda one: (self._looked[one][1].shares[""].count, -one), default=None)
