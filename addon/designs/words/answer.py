"""The answer in words: three lines, as drawn, in the shop and by hand, and what the hand does with each leaf."""

from __future__ import annotations

from typing import Final

from ...check.answer import Answer, AsDrawn, ByHand, Works
from ...check.tolerance.statistics import Share
from ...sizes.units import BY_HAND, Units, format_amount, format_at_most
from ..findings import Remedy
from .slide import VERDICT_WORDS

NAMES: Final = ("as drawn", "in the shop", "by hand")
"""Of the three lines."""

_ALMOST: Final = 99.9
_ALMOST_ALL: Final = 99.99
_MANY: Final = 1000
"""Percent that stand for all but a few, of so many tables and of more."""


def answer_lines(answer: Answer, units: Units) -> tuple[tuple[str, str], ...]:
    """Name and words of each of the three lines."""
    words = (
        as_drawn_words(answer.as_drawn, units),
        in_shop_words(answer.in_shop, units),
        by_hand_words(answer.by_hand, units),
    )
    return tuple(zip(NAMES, words, strict=True))


def as_drawn_words(line: AsDrawn, units: Units) -> str:
    """``clear, smallest clearance 1.5 mm``."""
    if line.clearance is None:
        return line.verdict
    amount = format_amount(abs(line.clearance), units)
    return f"{line.verdict}, {f'wood {amount} in the way' if line.clearance < 0 else f'smallest clearance {amount}'}"


def in_shop_words(line: Works | None, units: Units) -> str:
    """``all of 200 tables work, the worst with 0.7 mm to spare``."""
    if line is None:
        return "not worked out yet"
    words = f"{tables(line.share)} {'works' if line.share.count == 1 else 'work'}"
    if line.worst is None:
        return words
    amount = format_amount(abs(line.worst), units)
    return f"{words}, the worst {f'with {amount} to spare' if line.worst >= 0 else f'lacks {amount}'}"


def by_hand_words(line: ByHand, units: Units) -> str:
    """``guides itself with the outer end up to 12 mm off line; so do 198 of 200 tables (99 %)``."""
    words = VERDICT_WORDS[line.verdict]
    if line.steer is not None and line.verdict != "does-not-pass":
        limit = format_at_most(line.steer, units, BY_HAND)
        if line.verdict == "guides-itself":
            words += f" with the outer end up to {limit} off line"
        elif line.steer > 0:
            words += f" to ±{limit} at the outer end"
        else:
            words += ", the nose led in"
    elif line.verdict == "guides-itself":
        words += " however it is held"
    return words if line.guides is None else f"{words}; {guide_words(line.guides)}"


def guide_words(share: Share) -> str:
    """``198 of 200 tables (99 %) guide their leaves``."""
    return f"{tables(share)} {'guides its' if share.count == 1 else 'guide their'} leaves"


def tables(share: Share) -> str:
    """``all of 200 tables``, ``174 of 200 tables (87 %)``, ``none of 200 tables``."""
    if share.count in (0, share.of):
        return f"{'all' if share.count else 'none'} of {share.of:,} tables"
    return f"{share.count:,} of {share.of:,} tables ({percent(share)})"


def after_words(remedy: Remedy) -> str:
    """What a remedy leads to and costs: then 99.8 % of tables work; costs 2 mm of knee clearance"""
    said = [] if remedy.share_after is None else [f"then {_percent(remedy.share_after)} of tables work"]
    if remedy.cost:
        said.append(f"costs {remedy.cost}")
    return "; ".join(said)


def _percent(share: float) -> str:
    value = 100 * share
    return f"{value if value >= 100 else min(value, 99.9):.3g} %"


def percent(share: Share) -> str:
    """A share in percent: less than 100 where one table fails, more than 0 where one works."""
    value = 100 * share.value
    if share.count < share.of and float(f"{value:.3g}") >= 100:
        value = _ALMOST if share.of <= _MANY else _ALMOST_ALL
    return f"{value:.4g} %" if value > _ALMOST else f"{value:.3g} %"
