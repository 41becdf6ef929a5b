"""The places of a finding in words: which leaves at which parts, and which parts at each other."""

from __future__ import annotations

from collections.abc import Iterable

from ...check.facts import Place
from ...sizes.words import listed


def _by_number(label: str) -> tuple[str, int]:
    """R9 before R11."""
    letters = label.rstrip("0123456789")
    return letters, int(label[len(letters) :] or 0)


def places_text(places: Iterable[Place]) -> str:
    """``L1 at S1, R6 and R11; L2 at S2; R5 and LEG2``."""
    of_leaf: dict[str, list[str]] = {}
    pairs: list[str] = []
    for place in sorted(places, key=lambda one: ([_by_number(label) for label in (one.leaf, *one.parts)])):
        others = [part for part in place.parts if part != place.leaf]
        if place.leaf:
            of_leaf.setdefault(place.leaf, []).extend(
                one for one in others if one not in of_leaf.get(place.leaf, [])
            )
        elif others:
            pairs.append(listed(others))
    clauses = [f"{leaf} at {listed(parts)}" if parts else leaf for leaf, parts in of_leaf.items()]
    return "; ".join([*clauses, *dict.fromkeys(pairs)])
