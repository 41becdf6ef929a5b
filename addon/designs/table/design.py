"""The table as a design: built, checked and advised on."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from ...check.facts import Fact
from ...check.prepared import Prepared, prepare
from ...check.progress import Steps
from ...check.slide.proof import LeafProof
from ...check.tolerance.shop import Shop
from ...sizes.tolerances import CONTACT
from ...sizes.units import format_size
from ...wood.assembly import Assembly
from .. import checking
from ..design import Design
from ..findings import Change, Finding, Option, Report, SlideReport
from ..trying import remedied
from . import changes as on_a_table
from .advice import advise
from .advice.guiding import option_steps
from .build import build
from .layout import lay_out
from .parameters import Table


class TableDesign:
    """A table whose cover leaves stow below its second work surface."""

    name: str = "table"

    def build(self, parameters: Table) -> Assembly:
        """Its parts. Raises ParameterError and AsCutError for what cannot be built."""
        return build(parameters)

    def advise(
        self,
        parameters: Table,
        assembly: Assembly,
        facts: Iterable[Fact],
        options: Sequence[Option] | None = None,
    ) -> list[Finding]:
        """One finding for one cause, with the changes to the table file that are worth trying."""
        return advise(parameters, assembly, facts, options)

    def changed(self, parameters: Table, changes: Sequence[Change]) -> Table:
        """The table with new values for some keys. Raises ParameterError."""
        return on_a_table.changed(parameters, changes)

    def cost(self, before: Table, after: Table) -> str:
        """Knee clearance that is lost."""
        lost = lay_out(before).body_bottom - lay_out(after).body_bottom
        return f"{format_size(lost, before.units)} of knee clearance" if lost > CONTACT else ""

    def option_steps(self, parameters: Table, proofs: Sequence[LeafProof]) -> Steps[Sequence[Option]]:
        """Ways to make leaves guide themselves that have to be steered, step by step, the least work first."""
        return option_steps(parameters, proofs)


TABLE: Final[Design[Table]] = TableDesign()


def check(table: Table, assembly: Assembly | None = None, *, remedies: bool = False) -> Report:
    """Slide every leaf of a table home, look for overlaps and gaps, and say what to change; see `checking.check`.

    Parameters
    ----------
    remedies : try what may make findings go away, which takes some tenths of a second each
    """
    if not remedies:
        return checking.check(TABLE, table, assembly)
    prepared = prepare(assembly or build(table))
    return remedied(TABLE, table, prepared, check_prepared(table, prepared))


def check_prepared(table: Table, prepared: Prepared, proofs: Sequence[LeafProof] | None = None) -> Report:
    """`check` of a table whose parts are built and ready."""
    return checking.check_prepared(TABLE, table, prepared, proofs)


def answer_steps(
    table: Table,
    prepared: Prepared,
    *,
    shop: Shop | None = None,
    report: Report | None = None,
    proofs: Sequence[LeafProof] | None = None,
) -> Steps[Report]:
    """The whole answer, random tables included, step by step; see `checking.answer_steps`."""
    return checking.answer_steps(TABLE, table, prepared, shop=shop, report=report, proofs=proofs)


def study(
    table: Table, prepared: Prepared, proofs: Sequence[LeafProof] | None = None, *, remedies: bool = True
) -> SlideReport:
    """All that is known of a table's leaves on their way; see `checking.study`."""
    return checking.study(TABLE, table, prepared, proofs, remedies=remedies)


def study_steps(
    table: Table,
    prepared: Prepared,
    proofs: Sequence[LeafProof] | None = None,
    *,
    remedies: bool = True,
    report: Report | None = None,
) -> Steps[SlideReport]:
    """`study`, step by step; see `checking.study_steps`."""
    return checking.study_steps(TABLE, table, prepared, proofs, remedies=remedies, report=report)
