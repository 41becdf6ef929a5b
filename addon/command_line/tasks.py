"""What the subcommands about sizes and findings do, without reading arguments or printing.

Each imports what it needs by itself: numpy and the check take longer to load than many a subcommand to run.
"""

from __future__ import annotations

import os
from argparse import Namespace
from collections.abc import Iterator, Sequence
from typing import Any

from ..check.facts import SEVERITIES
from ..check.row.profile import Row
from ..files.examples import EXAMPLES
from ..files.saving import save_text
from ..sizes.bounds import MOST_OPENINGS
from ..sizes.errors import ExportError
from .edge import Outcome, answered, called, open_table, open_text, text_of, today

__all__ = ["EXAMPLES", "build", "check", "export", "new", "slide", "tolerance"]


def new(options: Namespace) -> Outcome:
    """Write an example's table file."""
    if str(options.file) == "-":
        raise ExportError(
            "- is standard input, which a file is read from: name the file to write, as table.toml."
        )
    if os.path.lexists(options.file) and not options.force:
        raise ExportError(
            f"{options.file} is there already: name another file, or use --force to write over it."
        )
    save_text(options.file, EXAMPLES[options.example].text())
    return Outcome({"file": str(options.file), "example": options.example}, f"{options.file} written.")


def check(options: Namespace) -> Outcome:
    """Check a table file."""
    from ..check.prepared import prepare
    from ..check.progress import run_through
    from ..check.tolerance.shop import Shop
    from ..designs.table.design import TABLE, answer_steps
    from ..designs.trying import remedied
    from ..reports.check import report_document, report_text

    table, assembly = open_table(options.file)
    prepared = prepare(assembly)
    shop = None if options.count is None else Shop(options.count)
    report = remedied(TABLE, table, prepared, run_through(answer_steps(table, prepared, shop=shop)))
    limit = SEVERITIES.index(options.fail_on)
    gravest = report.gravest()
    failed = gravest is not None and SEVERITIES.index(gravest) >= limit
    return Outcome(report_document(report), report_text(report, options.details), 1 if failed else 0)


def slide(options: Namespace) -> Outcome:
    """Prove the slide of a table's leaves, or of bare rows of openings."""
    text = text_of(options.file)
    if options.file.suffix.lower() == ".json" or text.lstrip("\ufeff \t\r\n").startswith(("{", "[{")):
        return _slide_rows(text, options)
    from ..check.prepared import prepare
    from ..designs.table.design import study
    from ..reports.slide import study_document, study_text

    table, assembly = open_table(options.file, text)
    prepared = prepare(assembly)
    found = study(table, prepared)
    status = 1 if found.answers.table.by_hand.verdict == "does-not-pass" else 0
    if options.pictures is not None:
        from ..paper.slide_page.page import save_slide_pictures

        proofs = [leaf.proof for leaf in found.leaves]
        told = answered(table, prepared.assembly)
        save_slide_pictures(table, proofs, options.pictures, today(), _kinds(options), told)
    return Outcome(study_document(found), study_text(found, options.details), status)


def _slide_rows(text: str, options: Namespace) -> Outcome:
    from ..check.row.bare import read_rows
    from ..check.row.proof import prove
    from ..reports.slide import CAUTION, row_document, row_text

    rows, several = read_rows(text, called(options.file))
    proofs = [proof for some in _in_turn(rows) for proof in prove(some)]
    documents: Any = [row_document(proof) for proof in proofs]
    words = "\n\n".join(row_text(proof, "side", "mm") for proof in proofs)
    status = 1 if any(proof.verdict == "does-not-pass" for proof in proofs) else 0
    if options.pictures is not None:
        from ..paper.slide_page.page import save_row_pictures

        save_row_pictures(proofs, options.pictures, today(), _kinds(options))
    return Outcome(documents if several else documents[0], f"{words}\n\n{CAUTION}", status)


def _kinds(options: Namespace) -> Sequence[str]:
    """Endings of the pictures that are asked for."""
    from ..paper.sheet.save import PAPER_AND_SCREEN

    return PAPER_AND_SCREEN if options.format is None else (f".{options.format}",)


def _in_turn(rows: list[Row]) -> Iterator[list[Row]]:
    """Rows in groups that memory holds: it takes 15 kB for each two openings of a row."""
    some: list[Row] = []
    for row in rows:
        if some and sum(len(one.openings) ** 2 for one in (*some, row)) > MOST_OPENINGS**2:
            yield some
            some = []
        some.append(row)
    yield some


def tolerance(options: Namespace) -> Outcome:
    """Work out what the tolerances do to a table's leaves."""
    from ..check.tolerance.analysis import analyze
    from ..reports.tolerance import tolerance_document, tolerance_text

    table, assembly = open_table(options.file)
    wanted = assembly.limits.share if options.wanted is None else options.wanted
    report = analyze(assembly, count=options.count, seed=options.seed, wanted=wanted)
    status = 1 if report.works.value < wanted else 0
    if options.pictures is not None:
        from ..paper.tolerance_page import save_tolerance_pictures

        told = answered(table, assembly)
        save_tolerance_pictures(report, table.units, options.pictures, today(), _kinds(options), told)
    return Outcome(
        tolerance_document(report, table.units), tolerance_text(report, table.units, options.details), status
    )


def export(options: Namespace) -> Outcome:
    """Write a table's parts for other programs."""
    from ..files.export import export as export_parts

    document = export_parts(open_table(options.file)[1], options.dir)
    files = [part["mesh"] for part in document["parts"]] + ["assembly.glb", "assembly.json"]
    text = f"{len(files)} files written to {options.dir}."
    return Outcome({"dir": str(options.dir), "files": files}, text)


def build(options: Namespace) -> Outcome:
    """Write a .blend of a table."""
    from ..scene import jobs

    jobs.build(open_text(options.file), options.blend)
    return Outcome({"blend": str(options.blend)}, f"{options.blend} written.")
