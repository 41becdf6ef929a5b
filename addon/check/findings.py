"""What the check says: a verdict per leaf and for the table, and findings with place, amount and remedy."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final, Literal

if TYPE_CHECKING:
    from collections.abc import Mapping

    from ..sizes.units import Units

Severity = Literal["error", "warning", "note"]
Verdict = Literal["clear", "tight", "blocked"]

SEVERITIES: tuple[Severity, ...] = ("note", "warning", "error")
"""From the least to the gravest."""

Rule = Literal[
    "leaf-blocked", "leaf-tight", "overlap", "long-rib", "long-part", "short-rib", "short-part",
    "finger-hole", "finger-reach", "finger-room", "no-end-stop", "end-stop-near", "leaf-proud", "leaf-elsewhere",
    "leaves-meet", "leaf-sag", "leaf-jam", "leaf-droop", "cover-tight", "cover-lift", "leaf-steer", "leaf-held",
]  # fmt: skip

RULE_WORDS: Final[Mapping[str, str]] = {
    "leaf-blocked": "in the way",
    "leaf-tight": "tight",
    "overlap": "overlap",
    "long-rib": "too long",
    "long-part": "too long",
    "short-rib": "too short",
    "short-part": "too short",
    "finger-hole": "finger hole",
    "finger-reach": "out of reach",
    "finger-room": "no finger room",
    "no-end-stop": "no end stop",
    "end-stop-near": "stopped early",
    "leaf-proud": "stands out",
    "leaf-elsewhere": "not elsewhere",
    "leaves-meet": "leaves meet",
    "leaf-sag": "sags",
    "leaf-jam": "may jam",
    "leaf-droop": "droops",
    "cover-tight": "cover tight",
    "cover-lift": "no lift",
    "leaf-steer": "may snag",
    "leaf-held": "does not pass",
}
"""Rule → what it is about, where there is room for a word or two alone."""

Point = tuple[float, float, float]

Span = tuple[Point, Point]
"""The two points between which an amount is measured, in table coordinates, mm."""


@dataclass(frozen=True)
class Change:
    """A new value for one key of the table file (lengths in mm); None removes the key."""

    key: str
    value: float | str | bool | None


@dataclass(frozen=True)
class Remedy:
    """What makes a finding go away, in words and as changes to the table file."""

    text: str
    set: tuple[Change, ...] = ()


@dataclass(frozen=True)
class Finding:
    """One thing that is wrong or worth knowing."""

    rule: Rule
    """Id of what was looked for, such as ``long-rib`` or ``overlap``."""
    severity: Severity
    parts: tuple[str, ...]
    """Labels of the parts concerned, the one to change first."""
    at: Point
    """Place in table coordinates, mm."""
    amount: float
    """Size of the fault, mm."""
    message: str
    remedy: Remedy | None = None
    leaf: str = ""
    """Leaf whose way is concerned, if any."""
    travel: float | None = None
    """Travel of that leaf at which it happens, mm."""
    span: Span | None = None
    """Where the amount is measured, if between two faces: on the leaf (the first part), then on the other."""


@dataclass(frozen=True)
class Gaps:
    """Room around a leaf in one opening, mm; left and right as the leaf's nose looks."""

    part: str
    above: float
    below: float
    left: float | None
    """None where the opening runs out of the part's end there."""
    right: float | None
    entry_chamfer: float
    """Leg of the chamfer at the mouth that the nose meets first, mm."""
    exit_chamfer: float


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
class Report:
    """The whole result of a check."""

    table: str
    units: Units
    verdict: Verdict
    leaves: tuple[LeafResult, ...]
    findings: tuple[Finding, ...] = field(default=())

    def gravest(self) -> Severity | None:
        """Severity of the gravest finding; None without findings."""
        found = [SEVERITIES.index(finding.severity) for finding in self.findings]
        return SEVERITIES[max(found)] if found else None
