"""Remedies tried before they are offered: the design is built anew with each, checked, and held against what it was.

    finding --candidates--> build, check --> is it gone, nothing else amiss? --> share, steering --> offered

A remedy holds if its finding is gone in all its places, nothing as grave has come instead, no leaf asks for more of the
hand, no part that was cut already would have to be another, and the share of tables that work is no lower. Of remedies
that differ in a size, the smallest change is sought with which the share is what the limits ask for, not just enough
for the table as drawn.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from functools import cached_property
from math import ceil
from typing import Final, Generic, Literal

from ..check import check as engine
from ..check.answer import answers, facts_of_shop
from ..check.cover import cover_of
from ..check.facts import SEVERITIES, CheckResult, Fact, Place, Rule, Severity
from ..check.prepared import Prepared, prepare
from ..check.progress import Steps, run_through, share_of
from ..check.row.openings import VERDICTS
from ..check.slide.proof import LeafProof, prove_leaves
from ..check.slide.study import study_steps
from ..check.tolerance.shop import COUNT, InShop, Shop
from ..check.tolerance.statistics import CONFIDENCE, NORMAL, Share
from ..sizes.errors import DryAssemblyError
from ..sizes.tolerances import CONTACT
from ..sizes.units import CALIPER, TAPE, division, rounded
from ..wood.part import Shape
from .design import Design, P
from .findings import Candidate, Change, Finding, Remedy, Report, Sized

MOST_TRIALS: Final = 12
"""Sizes of one remedy that are tried at most."""

Fault = tuple[str, frozenset[str], str]
"""What kind of thing is amiss, between which parts, on the way of which leaf or ""."""

Faults = dict[Fault, "Severity"]

_KINDS: Final[dict[Rule, str]] = {
    "leaf-blocked": "way", "leaf-tight": "way",
    "overlap": "fit", "long-rib": "fit", "long-part": "fit", "short-rib": "fit", "short-part": "fit",
    "joint-open": "fit",
}  # fmt: skip
"""Rules that are more and less of the same; all others stand for themselves."""

_TOLD: Final[frozenset[Rule]] = frozenset({"few-work", "few-guide"})
"""Rules of the answer, which the check does not know."""


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

    def __init__(self, prepared: Prepared, shop: Shop) -> None:
        self.prepared, self._shop = prepared, shop

    @cached_property
    def result(self) -> CheckResult:
        """The check."""
        return engine.check_prepared(self.prepared)

    @cached_property
    def proofs(self) -> list[LeafProof]:
        """The proofs of the leaves."""
        return prove_leaves(self.prepared)

    @cached_property
    def shop(self) -> InShop:
        """What comes of it in the shop."""
        return run_through(self._shop.steps(self.prepared, self.result.facts))

    @cached_property
    def shares(self) -> dict[str, Share]:
        """Leaf → share of tables in which all goes well with it; "" → with everything."""
        return {"": self.shop.works, **{leaf.leaf: leaf.works for leaf in self.shop.leaves}}

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
        found = answers(self.result, self.proofs).with_shop(self.shop)
        cover = cover_of(self.prepared.assembly)
        middle = None if cover is None else cover.middle
        facts = facts_of_shop(found, self.prepared.assembly.limits.share, self.proofs, middle)
        return faults_of(facts)

    @cached_property
    def studied(self) -> Faults:
        """What is known of leaves on their way besides."""
        return faults_of(run_through(study_steps(self.prepared, self.proofs)).facts)


def tables_to_tell(wanted: float) -> int:
    """Random tables that, all of them working, leave no doubt that the share is as wanted: n / (n + z²) > wanted.

    Wilson's lower bound of n out of n, see `statistics.wilson`.
    """
    z = NORMAL.inv_cdf((1 + CONFIDENCE) / 2)
    return min(ceil(1.05 * z * z * wanted / (1 - wanted)), COUNT)


def faults_of(facts: Iterable[Fact]) -> Faults:
    """All places of facts as faults, each with how grave it is."""
    return {
        fault_of(place.rule or fact.rule, place): fact.severity for fact in facts for place in fact.places
    }


def fault_of(rule: Rule, place: Place) -> Fault:
    """One place of a finding as a fault, by which it is known again."""
    return _KINDS.get(rule, rule), frozenset(place.parts), place.leaf if _KINDS.get(rule) != "fit" else ""


Verdict = Literal["too little", "holds", "too much"]


class Trials(Generic[P]):
    """A design's parameters as they are, and what comes of them with changes."""

    def __init__(self, design: Design[P], parameters: P, prepared: Prepared) -> None:
        self.design, self.parameters = design, parameters
        self._limits = prepared.assembly.limits
        self._shop = Shop(tables_to_tell(self._limits.share), guided=1)
        self.now = Look(prepared, self._shop)

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
            return Look(prepare(self.design.build(changed)), self._shop)
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
        """Whether nothing is left of a finding in any of its places; of steering, for one of its leaves at least."""
        if finding.rule == "leaf-steer":
            steered = [
                {proof.leaf for proof in one.proofs if proof.verdict != "guides-itself"}
                for one in (look, self.now)
            ]
            return steered[0] < steered[1]
        own = [fault_of(place.rule or finding.rule, place) for place in finding.places]
        if own[0] in self.now.faults:
            return not any(fault in look.faults for fault in own)
        # Few have to ask for more, which takes longer.
        found = look.told if finding.rule in _TOLD else look.studied
        return not any(fault in found for fault in own)

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
        labels = {entry.part for entry in self.now.prepared.assembly.as_cut} & set(self.now.drawn)
        return all(look.drawn.get(label) == self.now.drawn[label] for label in labels)

    def no_more_steering(self, look: Look) -> bool:
        """Whether every leaf goes in by hand as well as before."""
        before = {proof.leaf: VERDICTS.index(proof.verdict) for proof in self.now.proofs}
        return all(
            VERDICTS.index(proof.verdict) <= before.get(proof.leaf, len(VERDICTS)) for proof in look.proofs
        )

    def share_kept(self, look: Look) -> bool:
        """Whether no fewer tables work than before, by the same random numbers."""
        return look.shares[""].count >= self.now.shares[""].count

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
