"""One finding for one cause: facts that a design puts down to the same thing are brought together."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Final

from ..check.facts import SEVERITIES, Fact, Rule

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
