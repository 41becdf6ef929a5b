"""One set of papers: the table, its sizes as printed, and what every page says of the set."""

from __future__ import annotations

import hashlib
from dataclasses import asdict, dataclass, replace
from functools import cached_property
from typing import Final

from ..check.apart.assembly_order import AssemblyOrder, assembly_order
from ..check.apart.blocking import Blocking, blocking_of
from ..check.prepared import prepare
from ..check.progress import Steps, share_of
from ..designs.accepting import accepted_words
from ..designs.findings import Finding, Report
from ..designs.table.design import TABLE, answer_steps
from ..designs.table.parameters import Table
from ..designs.trying import Trials, tried_steps
from ..designs.words.answer import Told, told_of
from ..files.saving import document_text, plain
from ..sizes.errors import PartError, speaking
from ..sizes.units import Units, format_given
from ..sizes.words import listed
from ..wood.assembly import Assembly
from ..wood.part import Part
from ..wood.same import Alike
from ..wood.workshop import Workshop
from .figures import Figure, Rule
from .finer import Finer, amiss, finer_steps
from .rounding import Rounded, rounded_table

_LETTERS: Final = "23456789ABCDEFGHJKLMNPQRSTUVWXYZ"
"""Those that nobody takes for another."""


FEW_WORK: Final = "few-work"
"""Rule of the finding that fewer random tables work than asked for."""

FEW_GUIDE: Final = "few-guide"
"""Rule of the finding that fewer random tables guide their leaves than asked for."""


@dataclass(frozen=True, eq=False)
class Job:
    """What the pages of one set are made of.

    Parameters
    ----------
    table : the parameters
    rounded : its parts, every size as printed
    report : the check of the table as rounded
    date : of the set, ISO 8601
    amiss : what is wrong with the table as rounded and not with it as drawn
    finer : the sizes that need a finer rule for that not to be
    """

    table: Table
    rounded: Rounded
    report: Report
    date: str
    amiss: tuple[Finding, ...] = ()
    finer: tuple[Finer, ...] = ()

    @property
    def drawn(self) -> Assembly:
        """The parts as in the file."""
        return self.rounded.drawn

    @property
    def assembly(self) -> Assembly:
        """The parts as printed."""
        return self.rounded.assembly

    @property
    def rule(self) -> Rule:
        """What the maker's rule shows."""
        return self.rounded.rule

    @property
    def units(self) -> Units:
        """Of the whole set."""
        return self.rule.units

    @property
    def tools(self) -> Workshop:
        """What is in the shop."""
        return self.table.shop

    @property
    def paper(self) -> str:
        """``a4`` or ``letter``."""
        return self.tools.paper or ("letter" if self.units == "in" else "a4")

    @cached_property
    def told(self) -> Told:
        """The three lines of the table as rounded."""
        return told_of(self.report)

    @cached_property
    def fingerprint(self) -> str:
        """Eight letters that tell papers of other parameters or another rule from these."""
        document = plain(asdict(replace(self.table, shop=Workshop(), accepted=()))), self.rule.division
        digest = hashlib.sha256(document_text(document).encode()).digest()
        letters = "".join(_LETTERS[byte % len(_LETTERS)] for byte in digest[:8])
        return f"{letters[:4]}-{letters[4:]}"

    @cached_property
    def kinds(self) -> tuple[Alike, ...]:
        """Parts that are alike when turned, and printed alike, one group each; mirror images are groups apart."""
        return self.rounded.kinds

    @cached_property
    def blocking(self) -> Blocking:
        """Who is in whose way among its parts."""
        return blocking_of(self.assembly.parts)

    @cached_property
    def order(self) -> AssemblyOrder:
        """The steps of its assembly."""
        return assembly_order(self.assembly, self.blocking)

    @property
    def passes(self) -> bool:
        """Whether the table as rounded goes together as well as drawn, and as many work as are asked for."""
        rare = any(one.rule == FEW_WORK for one in self.report.findings)
        return not self.amiss and not rare and not self.report.errors

    @property
    def rounding_words(self) -> str:
        """How the table comes through being rounded, in one sentence for the first page."""
        verdict = self.report.answers.table.as_drawn.verdict
        rounded = f"Rounded to {format_given(self.rule.division, self.units)}, the table is {verdict}"
        if self.finer:
            finer = [one.words(self.rule) for one in self.finer]
            return f"{rounded}: these sizes need a finer rule: {listed(finer)}."
        if self.amiss:
            return f"{rounded}, and some sizes have to be set more finely than a rule shows: {self.amiss[0].message}"
        own = (*self.report.errors, *(one for one in self.report.findings if one.severity == "warning"))
        told = [_with_remedy(one) for one in own]
        if verdict == "blocked":
            return " ".join((f"{rounded}, as it is drawn: mend this first.", *told[:1]))
        drawn = "" if verdict == "clear" else ", as it is drawn"
        return " ".join((f"{rounded}{drawn}; {self.told.table[1].words}.", *told[:1]))

    @property
    def accepted_words(self) -> tuple[str, ...]:
        """What is accepted with which reason, a sentence each, for the first page."""
        return tuple(accepted_words(one, self.units) for one in self.report.accepted)

    def figures_of(self, part: Part) -> tuple[Figure, ...]:
        """All dimensions of a part as printed, in order."""
        return tuple(self.rounded.figure(part, one) for one in part.shape.dimensions)


def job_steps(table: Table, assembly: Assembly, date: str, division: float | None = None) -> Steps[Job]:
    """A set's job, step by step: sizes rounded, and the rounded table checked.

    Parameters
    ----------
    division : of the rule, mm; by default `limits.rule_division`

    Raises
    ------
    PartError : where the rule is so coarse that a part rounded to it cannot be cut
    """
    rule = Rule(table.units, table.limits.rule_division if division is None else division)
    with speaking(table.units):
        found = _rounded(assembly, rule)
    yield 0.1
    told = replace(table, as_cut=(*table.as_cut, *found.entries))
    report = yield from share_of(answer_steps(told, prepare(found.assembly)), 0.1, 0.7)
    wrong, finer = (), ()
    if any(one.severity != "note" for one in report.findings):
        wrong = amiss(table, found)
    if wrong:
        finer = yield from share_of(finer_steps(table, assembly, rule, wrong), 0.7, 1.0)
    if not wrong and any(one.rule in (FEW_WORK, FEW_GUIDE) for one in report.findings):
        report, wrong = yield from share_of(_rarer_steps(table, told, found, report), 0.7, 1.0)
    return Job(table, found, report, date, wrong, finer)


def _rarer_steps(
    table: Table, told: Table, found: Rounded, report: Report
) -> Steps[tuple[Report, tuple[Finding, ...]]]:
    """What to change in the plan for the rounded table to guide its leaves as often as the drawn one, and whether it
    works more rarely, step by step.

    Parameters
    ----------
    told : the table as rounded
    report : of that
    """
    drawn = yield from share_of(answer_steps(table, prepare(found.drawn)), 0.0, 0.2)
    known = {one.rule for one in drawn.findings}
    rarer = [one for one in report.findings if one.rule == FEW_WORK and FEW_WORK not in known]
    led = [one for one in report.findings if one.rule == FEW_GUIDE and FEW_GUIDE not in known]
    if led:
        trials = Trials(TABLE, told, prepare(found.assembly))
        tried = yield from share_of(tried_steps(trials, led), 0.2, 1.0)
        better = dict(zip(map(id, led), tried, strict=True))
        report = replace(report, findings=tuple(better.get(id(one), one) for one in report.findings))
    return report, tuple(rarer)


def _with_remedy(finding: Finding) -> str:
    """What was found, and the first thing to do about it that was tried."""
    return finding.message if not finding.remedies else f"{finding.message} {finding.remedies[0].text}."


def _rounded(assembly: Assembly, rule: Rule) -> Rounded:
    try:
        return rounded_table(assembly, rule)
    except PartError as error:
        coarse = (
            f"Rounded to {format_given(rule.division, rule.units)}, a part cannot be cut: use a finer rule. "
        )
        raise PartError(f"{coarse}{error.text}", **error.lengths) from None
