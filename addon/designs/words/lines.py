"""The three lines of an answer as panels, pages and videos show them: their words, and how good each is.

This is the one place that makes them; whoever shows them takes them as they are.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final, Literal

from ...check.answer import Answer, AsDrawn, ByHand, Works
from ...sizes.units import BY_HAND, Units, format_amount, format_at_most
from ..findings import Report
from .answer import NAMES, as_drawn_words, by_hand_words, in_shop_words, percent
from .slide import VERDICT_WORDS

Grade = Literal["good", "watch", "bad", "open"]
"""All is well; something has to be minded; it cannot stay; not known yet."""

AS_DRAWN, IN_SHOP, BY_A_HAND = NAMES

_DRAWN: Final[dict[str, Grade]] = {"clear": "good", "tight": "watch", "blocked": "bad"}

WORKING: Final = "being worked out"
"""Of a line that is not there yet, where somebody is at it."""


@dataclass(frozen=True)
class Line:
    """One line.

    Parameters
    ----------
    name : as drawn, in the shop, by hand
    words : all that it says
    short : the same in some twenty letters, for a narrow place
    """

    name: str
    words: str
    short: str
    grade: Grade


Lines = tuple[Line, ...]


@dataclass(frozen=True)
class Told:
    """The lines of a table, and of each leaf that slides, by label."""

    table: Lines
    leaves: dict[str, Lines]


def told_of(report: Report, so_far: bool = False) -> Told:
    """The lines of a report.

    Parameters
    ----------
    so_far : more random tables are on their way
    """
    answers, wanted, units = report.answers, report.limits.share, report.units
    blocked = answers.table.as_drawn.verdict == "blocked"
    leaves = {
        leaf: three_lines(one, units, wanted, so_far, blocked and one.as_drawn.verdict != "blocked")
        for leaf, one in answers.leaves.items()
    }
    return Told(three_lines(answers.table, units, wanted, so_far), leaves)


def three_lines(
    answer: Answer, units: Units, wanted: float, so_far: bool = False, table_blocked: bool = False
) -> Lines:
    """As drawn, in the shop, by hand.

    Parameters
    ----------
    wanted : share of random tables that is asked for, 0 to 1
    so_far : more random tables are on their way
    table_blocked : the table is, and what is told of is not
    """
    drawn = as_drawn(answer.as_drawn, units)
    if table_blocked:
        grade: Grade = "watch" if drawn.grade == "good" else drawn.grade
        drawn = replace(drawn, words=f"{drawn.words}; but the table is blocked", grade=grade)
    return drawn, in_shop(answer.in_shop, units, wanted, so_far), by_hand(answer.by_hand, units, wanted)


def as_drawn(line: AsDrawn, units: Units) -> Line:
    """clear, 1.5 mm"""
    short = line.verdict
    if line.clearance is not None and line.clearance < 0:
        short = f"{line.verdict} by {format_amount(-line.clearance, units)}"
    elif line.clearance is not None and line.verdict != "blocked":
        short = f"{line.verdict}, {format_amount(line.clearance, units)}"
    return Line(AS_DRAWN, as_drawn_words(line, units), short, _DRAWN[line.verdict])


def in_shop(line: Works | None, units: Units, wanted: float, so_far: bool = False) -> Line:
    """all of 10,000 work"""
    words = in_shop_words(line, units)
    if line is None:
        return Line(IN_SHOP, WORKING if so_far else words, WORKING if so_far else words, "open")
    share = line.share
    if share.count in (0, share.of):
        short = f"{'all' if share.count else 'none'} of {share.of:,}"
    else:
        short = f"{percent(share)} of {share.of:,}"
    if so_far:
        words, short = f"{words}; more tables are {WORKING}", f"{short} so far"
    else:
        short += " work"
    return Line(IN_SHOP, words, short, _of_share(share.value, wanted))


def by_hand(line: ByHand, units: Units, wanted: float) -> Line:
    """guides itself; steer to ±1.4 mm"""
    words, short = by_hand_words(line, units), VERDICT_WORDS[line.verdict]
    if line.verdict == "does-not-pass":
        return Line(BY_A_HAND, words, short, "bad")
    if line.verdict == "needs-steering":
        limit = format_at_most(line.steer or 0.0, units, BY_HAND)
        short = f"steer to ±{limit}" if line.steer else "lead the nose in"
        return Line(BY_A_HAND, words, short, "watch")
    if line.guides is not None and line.guides.value < wanted:
        return Line(BY_A_HAND, words, f"{short}, {percent(line.guides)}", "watch")
    return Line(BY_A_HAND, words, short, "good")


def _of_share(share: float, wanted: float) -> Grade:
    if share >= wanted:
        return "good"
    return "watch" if share > 0 else "bad"
