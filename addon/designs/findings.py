"""What a design says to the facts of a check: a sentence for each cause, where, and what makes it go away."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from ..check.answer import AllAsDrawn, Answers
from ..check.cover import Cover
from ..check.facts import SEVERITIES, CheckResult, Fact, LeafResult, Place, Rule, Severity, Verdict
from ..check.matrix import Matrix
from ..check.slide.study import LeafStudy
from ..sizes.units import Units
from ..sizes.words import listed
from ..wood.limits import Limits

RULE_WORDS: Final[Mapping[str, str]] = {
    "leaf-blocked": "in the way",
    "leaf-tight": "tight",
    "overlap": "overlap",
    "long-rib": "too long",
    "long-part": "too long",
    "short-rib": "too short",
    "short-part": "too short",
    "off-line": "off its line",
    "finger-hole": "finger hole",
    "finger-reach": "out of reach",
    "finger-room": "no finger room",
    "no-end-stop": "no end stop",
    "end-stop-near": "stopped early",
    "leaf-proud": "stands out",
    "leaf-elsewhere": "not elsewhere",
    "leaves-meet": "leaves meet",
    "thin-wood": "thin wood",
    "sheet-unmeasured": "not measured",
    "leaf-bowed": "bowed",
    "rib-bowed": "bowed",
    "round-end": "corner jams",
    "cuts-meet": "cuts meet",
    "tip-out": "tip out",
    "tip-short": "holds nothing",
    "screw-in-cut": "steel in cut",
    "near-edge": "near the edge",
    "edge-screw": "clamping screw",
    "no-driver": "no driver room",
    "no-way-out": "door too small",
    "channel-tight": "channel tight",
    "channel-loose": "channel loose",
    "leaf-sag": "sags",
    "bar-sag": "bar sags",
    "little-glue": "little glue",
    "panel-sag": "panel sags",
    "leaf-step": "leaves step",
    "leaf-jam": "may jam",
    "leaf-droop": "droops",
    "cover-tight": "cover tight",
    "cover-lift": "no lift",
    "part-proud": "stands proud",
    "part-free": "falls out",
    "part-loose": "loose",
    "part-unheld": "not held",
    "thin-bearing": "thin bearing",
    "part-missing": "missing",
    "joint-open": "joint open",
    "table-rocks": "rocks",
    "cover-step": "cover step",
    "cover-gap": "gap in cover",
    "cover-full": "cover too full",
    "leaf-steer": "needs steering",
    "leaf-held": "does not pass",
    "few-work": "rarely works",
    "few-guide": "rarely guides",
    "accepted-gone": "found no more",
    "space-crossed": "crosses space",
    "space-taken": "space taken",
    "cable-bend": "tight bend",
    "push-hole": "push-up hole",
}
"""Rule → what it is about, where there is room for a word or two alone."""

OF_ANSWER: Final[frozenset[Rule]] = frozenset({"few-work", "few-guide", "leaf-steer"})
"""Rules of the lines in the shop and by hand, which the check as drawn does not know."""

OF_STUDY: Final[frozenset[Rule]] = frozenset(
    {
        "leaf-held",
        "leaf-sag",
        "leaf-step",
        "leaf-jam",
        "leaf-droop",
        "leaf-elsewhere",
        "cover-tight",
        "cover-lift",
    }
)
"""Rules of the study of leaves on their way."""


@dataclass(frozen=True)
class Change:
    """A new value for one key of a design's file (lengths in mm); None removes the key, or a whole entry."""

    key: str
    value: float | str | bool | tuple[float, ...] | None


@dataclass(frozen=True)
class Remedy:
    """What makes a finding go away, in words and as changes to the file.

    Parameters
    ----------
    text : a clause that says what to do with wood and hand, without a full stop
    set : what the file gets; empty where nothing but words can be offered
    share_after : share of tables, cut at the tolerances of the file, that work with it, 0 to 1; None where it was not
        tried
    cost : what else it costs, in words: ``2 mm of knee clearance``; empty where nothing worth saying
    """

    text: str
    set: tuple[Change, ...] = ()
    share_after: float | None = None
    cost: str = ""


@dataclass(frozen=True)
class Sized:
    """Remedies that differ in one size: the first on the way from `need` to `most` that holds is the one to offer.

    Sizes are tried as the maker's rule shows them; where none of those lies between the two, as a tape or a caliper
    reads them.

    Parameters
    ----------
    of : the remedy with a size, mm
    need : the size that geometry alone asks for, mm
    most : the last size that makes sense, mm; less than `need` where something has to become smaller
    """

    of: Callable[[float], Remedy]
    need: float
    most: float


Candidate = Remedy | Sized
"""What may make a finding go away; it is offered as a remedy once it was tried (`trying`)."""


def in_words(candidates: Iterable[Candidate]) -> tuple[Remedy, ...]:
    """Those candidates that are words alone, which nothing but a hand can try."""
    return tuple(one for one in candidates if isinstance(one, Remedy) and not one.set)


@dataclass(frozen=True)
class Option:
    """One way to make leaves guide themselves.

    Parameters
    ----------
    candidate : in words and as changes to the file; with a size, the least with which it helps as drawn
    leaves : labels of those that guide themselves with it
    """

    candidate: Candidate
    leaves: tuple[str, ...]

    @property
    def remedy(self) -> Remedy:
        """What helps as drawn; of a size, the least."""
        one = self.candidate
        return one.of(one.need) if isinstance(one, Sized) else one


@dataclass(frozen=True)
class Finding(Fact):
    """A fact in the words of a design, with what to do about it."""

    message: str = ""
    remedies: tuple[Remedy, ...] = ()
    """What can be done about it, the best first: tried, or in words alone."""
    candidates: tuple[Candidate, ...] = field(default=(), compare=False, repr=False)
    """What is worth trying, the best first."""
    reason: str = ""
    """Why its maker accepts it; "" for a finding that is open."""
    accepted_at: float | None = None
    """By how much it was when it was accepted, mm; None where the file does not say."""

    @property
    def remedy(self) -> Remedy | None:
        """The best of the remedies; None where there is none."""
        return self.remedies[0] if self.remedies else None

    @classmethod
    def of(cls, fact: Fact, message: str, candidates: tuple[Candidate, ...] = ()) -> Finding:
        """A fact, said in one sentence; where there is nothing to try, words can be offered at once."""
        words = in_words(candidates)
        if len(words) < len(candidates):
            words = ()
        return cls(
            fact.rule,
            fact.severity,
            fact.parts,
            fact.at,
            fact.amount,
            fact.cause,
            fact.leaf,
            fact.travel,
            fact.span,
            fact.others,
            message,
            words,
            candidates,
        )


@dataclass(frozen=True)
class Report:
    """The whole result of a check, in the words of a design.

    Parameters
    ----------
    answers : the three lines, for the table and each leaf: as drawn, in the shop, by hand
    limits : what the hand and the random tables are asked for
    findings : those that are open
    accepted : those that the maker accepts; the three lines count them as they do the open ones
    """

    name: str
    units: Units
    limits: Limits
    answers: Answers
    leaves: tuple[LeafResult, ...]
    findings: tuple[Finding, ...] = ()
    accepted: tuple[Finding, ...] = ()

    @property
    def verdict(self) -> Verdict:
        """As drawn."""
        return self.answers.table.as_drawn.verdict

    @property
    def found(self) -> tuple[Finding, ...]:
        """All that is found: what is open, then what is accepted."""
        return *self.findings, *self.accepted

    @property
    def errors(self) -> tuple[Finding, ...]:
        """What blocks the table, accepted or not."""
        return tuple(one for one in self.found if one.severity == "error")

    def gravest(self) -> Severity | None:
        """Severity of the gravest finding that is open, or an error that is accepted; None without any."""
        found = [SEVERITIES.index(finding.severity) for finding in (*self.findings, *self.errors)]
        return SEVERITIES[max(found)] if found else None


@dataclass(frozen=True, eq=False)
class Drawn:
    """What of a report is known without the slide proof: how it goes as drawn, and all findings as drawn.

    Parameters
    ----------
    result : what the check found, from which the report follows with the slide proof
    """

    units: Units
    limits: Limits
    as_drawn: AllAsDrawn
    result: CheckResult
    findings: tuple[Finding, ...] = ()
    accepted: tuple[Finding, ...] = ()

    @property
    def found(self) -> tuple[Finding, ...]:
        """All that is found: what is open, then what is accepted."""
        return *self.findings, *self.accepted


@dataclass(frozen=True, eq=False)
class SlideReport:
    """All that is known of leaves on their way, in the words of a design.

    Parameters
    ----------
    answers : as drawn and by hand, as in the report of the check
    cover : the leaves side by side; None without covering leaves
    matrix : any leaf in any place, any way round
    in_the_way : what the check finds that stops leaves as drawn
    findings : advice that is open; it never changes the check's verdict
    accepted : advice that the maker does without
    """

    name: str
    units: Units
    limits: Limits
    answers: Answers
    leaves: tuple[LeafStudy, ...]
    cover: Cover | None
    matrix: Matrix
    in_the_way: tuple[Finding, ...]
    findings: tuple[Finding, ...]
    accepted: tuple[Finding, ...] = ()


# -- one finding for one cause
# ----------------------------------------------------------------------------------------------------


FIRST: Final[tuple[Rule, ...]] = ("leaf-blocked", "leaf-tight")
"""Rules that tell most of what is wrong, where several come of one cause."""


def groups(facts: Iterable[Fact], blamed: Callable[[Fact], frozenset[str]]) -> list[list[Fact]]:
    """Facts that share anything that is blamed, the gravest of each group first, groups in the order of their first.

    Parameters
    ----------
    blamed : what a fact is put down to, such as keys of parameters; nothing for one that stands alone
    """
    found: list[tuple[set[str], list[Fact]]] = []
    for fact in facts:
        own, together = set(blamed(fact)), [fact]
        kept = []
        for blame, group in found:
            if blame & own:
                own, together = own | blame, group + together
            else:
                kept.append((blame, group))
        found = [*kept, (own, together)]
    ordered = [sorted(group, key=_gravest) for _, group in found]
    return sorted(
        ordered, key=lambda group: (-SEVERITIES.index(group[0].severity), group[0].rule, group[0].parts)
    )


def _gravest(fact: Fact) -> tuple[int, int, float, float]:
    """Order of the facts of one cause: the gravest, what tells most, the greatest amount, what is met first."""
    rule = FIRST.index(fact.rule) if fact.rule in FIRST else len(FIRST)
    amount = fact.amount if fact.rule == "leaf-tight" else -fact.amount
    return -SEVERITIES.index(fact.severity), rule, round(amount, 6), fact.travel or 0.0


def merged(group: Sequence[Fact]) -> Fact:
    """The first fact of a group, with the places of the others."""
    return group[0].with_others(group[1:])


# -- places in words
# ----------------------------------------------------------------------------------------------------


def by_number(label: str) -> tuple[str, int]:
    """What labels are sorted by: R9 before R11."""
    letters = label.rstrip("0123456789")
    return letters, int(label[len(letters) :] or 0)


def places_text(places: Iterable[Place]) -> str:
    """``L1 at S1, R6 and R11; L2 at S2; R5 and LEG2``."""
    of_leaf: dict[str, list[str]] = {}
    pairs: list[str] = []
    for place in sorted(places, key=lambda one: ([by_number(label) for label in (one.leaf, *one.parts)])):
        others = [part for part in place.parts if part != place.leaf]
        if place.leaf:
            of_leaf.setdefault(place.leaf, []).extend(
                one for one in others if one not in of_leaf.get(place.leaf, [])
            )
        elif others:
            pairs.append(listed(others))
    clauses = [f"{leaf} at {listed(parts)}" if parts else leaf for leaf, parts in of_leaf.items()]
    return "; ".join([*clauses, *dict.fromkeys(pairs)])
