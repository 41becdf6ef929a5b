"""The three lines of an answer in words: as drawn, in the shop, by hand."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...sizes.units import BY_HAND, format_amount, format_at_most
from .slide import VERDICT_WORDS

if TYPE_CHECKING:
    from ...check.answer import Answer, AsDrawn, ByHand, Works
    from ...check.tolerance.statistics import Share
    from ...sizes.units import Units

AS_DRAWN, IN_SHOP, BY_A_HAND = "as drawn", "in the shop", "by hand"


def answer_lines(answer: Answer, units: Units) -> tuple[tuple[str, str], ...]:
    """Name and words of each of the three lines."""
    return (
        (AS_DRAWN, as_drawn_words(answer.as_drawn, units)),
        (IN_SHOP, in_shop_words(answer.in_shop, units)),
        (BY_A_HAND, by_hand_words(answer.by_hand, units)),
    )


def as_drawn_words(line: AsDrawn, units: Units) -> str:
    """clear, smallest clearance 1.5 mm"""
    if line.clearance is None:
        return line.verdict
    if line.clearance < 0:
        return f"{line.verdict}, {format_amount(-line.clearance, units)} in the way of a leaf"
    return f"{line.verdict}, smallest clearance {format_amount(line.clearance, units)}"


def in_shop_words(line: Works | None, units: Units) -> str:
    """all of 200 tables work, 0.7 mm to spare in the worst of them"""
    if line is None:
        return "not worked out yet"
    words = f"{tables(line.share)} work"
    if line.worst is None:
        return words
    amount = format_amount(abs(line.worst), units)
    return f"{words}, {amount} {'to spare' if line.worst >= 0 else 'too little'} in the worst of them"


def by_hand_words(line: ByHand, units: Units) -> str:
    """needs steering, the outer end within 1.4 mm of the line; guides itself in 0 of 200 tables"""
    words = VERDICT_WORDS[line.verdict]
    if line.verdict != "does-not-pass" and line.steer is not None:
        limit = format_at_most(line.steer, units, BY_HAND)
        words += (
            f" with the outer end up to {limit} off line"
            if line.verdict == "guides-itself"
            else (f", the outer end no more than {limit} off line")
        )
    if line.guides is None:
        return words
    return f"{words}; guides itself in {tables(line.guides)}"


def tables(share: Share) -> str:
    """all of 200 tables; 174 of 200 tables (87 %)"""
    if share.count == share.of:
        return f"all of {share.of} tables"
    if share.count == 0:
        return f"none of {share.of} tables"
    return f"{share.count} of {share.of} tables ({percent(share)})"


def percent(share: Share) -> str:
    """A share in percent, never 100 where one table fails, never 0 where one works."""
    value = 100 * share.value
    shown = f"{value:.3g}"
    if share.count < share.of and float(shown) >= 100:
        shown = "99.9" if share.of <= 1000 else "99.99"
    return f"{shown} %"
