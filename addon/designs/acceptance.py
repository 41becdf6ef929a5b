"""What a table file says of a finding that its maker accepts."""

from __future__ import annotations

from dataclasses import MISSING, dataclass

from ..sizes import declare
from ..sizes.bounds import LONGEST_PARTS, LONGEST_REASON

BETWEEN_PLACES = "; "
"""Between the places of a finding; between the parts of each there is a comma."""


@dataclass(frozen=True)
class Accepted:
    """A finding that its maker accepts as it is, with the reason. It changes no verdict, and is told apart."""

    rule: str = declare.text(
        MISSING,
        "Rule",
        "What was found, by its name in square brackets behind the severity, such as thin-wood",
    )
    parts: str = declare.text(
        MISSING,
        "Parts",
        "Labels of the parts concerned, with commas between them; of several places one after the other, with"
        " semicolons between them",
        longest=LONGEST_PARTS,
    )
    reason: str = declare.text(
        MISSING, "Reason", "Why it may stay, in words that are printed with it", longest=LONGEST_REASON
    )
    severity: str | None = declare.choice(
        None,
        "Severity",
        "How grave it was; graver it is open again. Left out, it may be as grave as it likes",
        note="worth knowing",
        warning="should be changed",
        error="cannot stay: it blocks the table, accepted or not",
    )
    amount: float | None = declare.length(
        None,
        "Amount",
        "By how much; by clearly more it is open again: a tenth of it, and at least 0.1 mm. Left out, by whatever",
        low=-10_000,
    )

    @property
    def places(self) -> tuple[tuple[str, ...], ...]:
        """Labels of the parts concerned, place by place."""
        found = (_labels(one) for one in self.parts.split(BETWEEN_PLACES.strip()))
        return tuple(labels for labels in found if labels)


def _labels(text: str) -> tuple[str, ...]:
    return tuple(label for one in text.split(",") if (label := one.strip()))
