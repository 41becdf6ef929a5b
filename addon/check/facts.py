"""What the check finds out: a verdict per leaf and for the whole, and facts with place, amount and cause.

Facts are not yet advice: a design says them in its own words, and what of its parameters to change.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Final, Literal, get_args

from .causes import Cause, Gaps, Point

Severity = Literal["error", "warning", "note"]
Verdict = Literal["clear", "tight", "blocked"]

SEVERITIES: tuple[Severity, ...] = ("note", "warning", "error")
"""From the least to the gravest."""

Rule = Literal[
    "leaf-blocked", "leaf-tight", "overlap", "long-rib", "long-part", "short-rib", "short-part", "off-line",
    "finger-hole", "finger-reach", "finger-room", "no-end-stop", "end-stop-near", "leaf-proud", "leaf-elsewhere",
    "bar-sag", "little-glue", "panel-sag", "leaf-step",
    "leaves-meet", "leaf-sag", "leaf-jam", "leaf-droop", "cover-tight", "cover-lift", "leaf-steer", "leaf-held",
    "few-work", "few-guide",
    "part-proud", "part-free", "part-loose", "thin-bearing", "part-missing",
    "joint-open", "table-rocks", "cover-step", "cover-gap", "cover-full",
    "thin-wood", "sheet-unmeasured", "leaf-bowed", "rib-bowed", "round-end", "cuts-meet",
    "accepted-gone", "part-unheld",
    "tip-out", "tip-short", "screw-in-cut", "near-edge", "edge-screw", "no-driver",
    "space-crossed", "space-taken", "cable-bend", "push-hole",
    "channel-tight", "channel-loose", "no-way-out",
]  # fmt: skip

RULES: Final[frozenset[str]] = frozenset(get_args(Rule))

OF_WHAT_IS_LEFT: Final[frozenset[Rule]] = frozenset({"leaf-tight", "thin-wood"})
"""Rules whose amount is what is left, of room or of wood: the less, the worse."""

Span = tuple[Point, Point]
"""The two points between which an amount is measured, in table coordinates, mm."""


@dataclass(frozen=True)
class Place:
    """One of several places at which a fact tells: where, how much, and between what."""

    parts: tuple[str, ...]
    """Labels of the parts concerned there."""
    at: Point
    """In table coordinates, mm."""
    amount: float
    """Size of the fault there, mm."""
    leaf: str = ""
    travel: float | None = None
    """Of that leaf, mm."""
    span: Span | None = None
    rule: Rule | None = None
    """What was found there; None where it is what the fact says."""


@dataclass(frozen=True)
class Fact:
    """One thing that is wrong or worth knowing, at one place or, with one cause, at several."""

    rule: Rule
    """Id of what was looked for, such as ``long-rib`` or ``overlap``."""
    severity: Severity
    parts: tuple[str, ...]
    """Labels of the parts concerned, the one to change first."""
    at: Point
    """Place in table coordinates, mm."""
    amount: float
    """Size of the fault, mm."""
    cause: Cause = field(compare=False)
    leaf: str = ""
    """Leaf whose way is concerned, if any."""
    travel: float | None = None
    """Travel of that leaf at which it happens, mm."""
    span: Span | None = None
    """Where the amount is measured, if between two faces: on the leaf (the first part), then on the other."""
    others: tuple[Place, ...] = ()
    """Where else the same cause tells; the fact's own place is the gravest."""

    @property
    def places(self) -> tuple[Place, ...]:
        """All places, the fact's own first."""
        own = Place(self.parts, self.at, self.amount, self.leaf, self.travel, self.span, self.rule)
        return own, *self.others

    def with_others(self, facts: Iterable[Fact]) -> Fact:
        """This fact with the places of others that have the same cause."""
        more = (replace(place, rule=place.rule or fact.rule) for fact in facts for place in fact.places)
        return replace(self, others=(*self.others, *more))


@dataclass(frozen=True)
class LeafResult:
    """How one leaf slides home."""

    leaf: str
    slot: str
    """Label of the side it enters through."""
    verdict: Verdict
    clearance: float
    """Smallest signed distance over the whole way, mm; negative is an overlap."""
    against: str
    """Label of the part it comes nearest to."""
    travel: float
    """Where that happens; 0 with the nose at the slot's outer face, mm."""
    at: Point
    gaps: tuple[Gaps, ...] = ()
    near: str = ""
    """Which face of the other part is near, in words."""
    vertical_play: float = 0.0
    """How far the leaf can be lifted off its sills, mm."""
    proud: float = 0.0
    """How far its outer end stands out of the side's outer face stowed, mm; negative is inside."""
    end_gap: float | None = None
    """From its nose to what ends its travel, mm."""
    stops_at: str = ""
    """Label of that part."""
    contact: tuple[float, float] | None = None
    """Travel over which it collides, mm; None where it does not."""
    span: Span | None = None
    """Nearest points of the leaf and of that part; where they overlap, those that would part last."""


@dataclass(frozen=True)
class CheckResult:
    """All that a check finds out of an assembly; facts the gravest first."""

    verdict: Verdict
    leaves: tuple[LeafResult, ...]
    facts: tuple[Fact, ...]
