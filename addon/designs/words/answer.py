"""The answer in words: three lines, as drawn, in the shop and by hand, and how good each is.

This is the one place that makes them; whoever shows them takes them as they are.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final, Literal

from ...check.answer import Answer, AsDrawn, ByHand, Works
from ...check.tolerance.statistics import Share
from ...sizes.units import BY_HAND, Units, format_amount, format_at_most
from ..findings import Drawn, Remedy, Report
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
    """``all of 200 tables work, the worst of them with 0.7 mm to spare``."""
    if line is None:
        return "not worked out yet"
    words = f"{tables(line.share)} {'works' if line.share.count == 1 else 'work'}"
    if line.worst is None:
        return words
    amount = format_amount(abs(line.worst), units)
    return f"{words}, the worst of them {f'with {amount} to spare' if line.worst >= 0 else f'lacks {amount}'}"


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


# -- as panels, pages and videos show them
# ----------------------------------------------------------------------------------------------------


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
    """The lines of a report; that of the table as drawn says how many findings are accepted.

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
    drawn, *others = three_lines(answers.table, units, wanted, so_far)
    return Told((with_accepted(drawn, len(report.accepted)), *others), leaves)


def told_as_drawn(drawn: Drawn) -> Told:
    """The lines of what is known as drawn; the other two are being worked out."""
    blocked = drawn.as_drawn.table.verdict == "blocked"
    rest = tuple(Line(name, WORKING, WORKING, "open") for name in (IN_SHOP, BY_A_HAND))
    leaves = {
        leaf: (_drawn_line(one, drawn.units, blocked and one.verdict != "blocked"), *rest)
        for leaf, one in drawn.as_drawn.leaves.items()
    }
    own = with_accepted(as_drawn(drawn.as_drawn.table, drawn.units), len(drawn.accepted))
    return Told((own, *rest), leaves)


def with_accepted(line: Line, count: int) -> Line:
    """A line that says how many findings are accepted, where any are."""
    return replace(line, words=f"{line.words}; accepted: {count}") if count else line


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
    drawn = _drawn_line(answer.as_drawn, units, table_blocked)
    return drawn, in_shop(answer.in_shop, units, wanted, so_far), by_hand(answer.by_hand, units, wanted)


def _drawn_line(line: AsDrawn, units: Units, table_blocked: bool) -> Line:
    drawn = as_drawn(line, units)
    if not table_blocked:
        return drawn
    grade: Grade = "watch" if drawn.grade == "good" else drawn.grade
    return replace(drawn, words=f"{drawn.words}; but the table is blocked", grade=grade)


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
