"""What to say where too few tables work that are cut at the tolerances of the file."""

from __future__ import annotations

from ....check.causes import TooFew
from ....check.facts import Fact
from ...words.answer import percent
from .case import Advice, Case


def too_few(case: Case, fact: Fact, cause: TooFew) -> Advice:
    """Too few tables that work, or that guide their leaves."""
    does = "work" if fact.rule == "few-work" else "guide their leaves"
    share = (
        f"Of tables cut at these tolerances {percent(cause.share)} {does}; {100 * cause.wanted:.4g} % shall"
    )
    leaves = ", ".join(f"{leaf} in {percent(own)}" for leaf, own in cause.leaves.items())
    worst = f" At worst {case.words(fact.amount)} are lacking." if fact.amount > 0 else ""
    return Advice(f"{share}{f': {leaves}' if leaves else ''}.{worst}")
