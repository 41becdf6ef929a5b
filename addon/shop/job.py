"""One set of papers: the table, its sizes as printed, and what every page says of the set."""

from __future__ import annotations

import hashlib
from dataclasses import asdict, dataclass, replace
from functools import cached_property
from typing import Final

from ..check.prepared import prepare
from ..check.progress import Steps
from ..designs.findings import Finding, Report
from ..designs.table.design import answer_steps
from ..designs.table.parameters import Table
from ..designs.words.answer import Told, told_of
from ..files.saving import document_text, plain
from ..sizes.units import Units, format_given
from ..wood.assembly import Assembly
from ..wood.part import Part
from ..wood.same import Alike
from ..wood.workshop import Workshop
from .figures import Figure, Rule
from .rounding import Rounded, rounded_table

_LETTERS: Final = "23456789ABCDEFGHJKLMNPQRSTUVWXYZ"
"""Those that nobody takes for another."""


@dataclass(frozen=True, eq=False)
class Job:
    """What the pages of one set are made of.

    Parameters
    ----------
    table : the parameters
    rounded : its parts, every size as printed
    report : the check of the table as rounded
    date : of the set, ISO 8601
    """

    table: Table
    rounded: Rounded
    report: Report
    date: str

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
        document = plain(asdict(replace(self.table, shop=Workshop()))), self.rule.division
        digest = hashlib.sha256(document_text(document).encode()).digest()
        letters = "".join(_LETTERS[byte % len(_LETTERS)] for byte in digest[:8])
        return f"{letters[:4]}-{letters[4:]}"

    @cached_property
    def kinds(self) -> tuple[Alike, ...]:
        """Parts that are alike when turned, and printed alike, one group each; mirror images are groups apart."""
        return self.rounded.kinds

    @property
    def passes(self) -> bool:
        """Whether nothing is amiss in the table as rounded."""
        return not self._amiss

    @property
    def rounding_words(self) -> str:
        """How the table comes through being rounded, in one sentence for the first page."""
        rounded = f"Rounded to {format_given(self.rule.division, self.units)}, the table is "
        verdict = self.report.answers.table.as_drawn.verdict
        if self.passes:
            return f"{rounded}{verdict}; {self.told.table[1].words}"
        return f"{rounded}{verdict}: {self._amiss[0].message}"

    @property
    def _amiss(self) -> list[Finding]:
        return [one for one in self.report.findings if one.severity != "note"]

    def figures_of(self, part: Part) -> tuple[Figure, ...]:
        """All dimensions of a part as printed, in order."""
        return tuple(self.rounded.figure(part, one) for one in part.shape.dimensions)


def job_steps(table: Table, assembly: Assembly, date: str, division: float | None = None) -> Steps[Job]:
    """A set's job, step by step: sizes rounded, and the rounded table checked.

    Parameters
    ----------
    division : of the rule, mm; by default `limits.rule_division`
    """
    rule = Rule(table.units, table.limits.rule_division if division is None else division)
    found = rounded_table(assembly, rule)
    yield 0.1
    told = replace(table, as_cut=(*table.as_cut, *found.entries))
    report = yield from answer_steps(told, prepare(found.assembly))
    return Job(table, found, report, date)
