"""What the subcommands do, without reading arguments or printing.

Each imports what it needs by itself: numpy and the check take longer to load than many a subcommand to run.
"""

from __future__ import annotations

import os
from argparse import Namespace
from collections.abc import Callable, Iterator, Sequence
from time import monotonic
from typing import Any

from ..check.facts import SEVERITIES
from ..check.row.profile import Row
from ..files.examples import EXAMPLES
from ..files.saving import save_text
from ..sizes.bounds import COARSEST_DIVISION, FINEST_DIVISION, MOST_OPENINGS
from ..sizes.errors import ExportError
from ..sizes.units import LengthError, Units, as_units, parse_length, unit_of
from .edge import Outcome, answered, called, open_table, open_text, say, text_of, today


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


def sheets(options: Namespace) -> Outcome:
    """Lay bare rectangles out on sheets."""
    from ..reports.sheets import layout_document, layout_text
    from ..sawing.layout import lay_out, read_jobs

    jobs, several = read_jobs(text_of(options.file), called(options.file))
    layouts = [lay_out(job, _until(options.search)) for job in jobs]
    documents: Any = [layout_document(one) for one in layouts]
    return Outcome(documents if several else documents[0], "\n\n".join(map(layout_text, layouts)))


def _until(seconds: int | None) -> Callable[[], bool] | None:
    """Says whether these seconds, counted from now, are not over; none without seconds."""
    if seconds is None:
        return None
    end = monotonic() + seconds
    return lambda: monotonic() < end


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


# -- pictures
# ----------------------------------------------------------------------------------------------------


DRAWN_VIEWS = ("isometric", "below", "front", "right", "top")
"""Keys of `paper.views.VIEWS`, which takes numpy to look at."""

RENDER_STYLES = ("shaded", "transparent", "rendered")
"""Keys of `paper.table_page.STYLES`."""

RENDER_ENGINES = ("workbench", "cycles")
"""Keys of `scene.styles.LOOKS`, which takes Blender to look at."""

RENDER_DPI = 150


def draw(options: Namespace) -> Outcome:
    """Draw a table's edges on a sheet of paper."""
    from ..paper.sheet import save
    from ..paper.table_page import line_picture
    from ..paper.views import SHEETS

    if options.filmstrip or options.leaf:
        return _draw_filmstrip(options)
    if options.exploded or options.once:
        return _draw_exploded(options)
    table, assembly = open_table(options.file)
    drawing = line_picture(
        assembly,
        date=today(),
        view=options.view,
        leaves="stowed" if options.stowed else "covered",
        hidden=options.hidden,
        labels=options.labels,
        sheet=SHEETS.get(options.size),
        answer=answered(table, assembly).table,
        sizes_in=table.units if options.dimensions else None,
    )
    save(drawing, options.image, options.dpi)
    return Outcome({"image": str(options.image)}, f"{options.image} written.")


def _draw_filmstrip(options: Namespace) -> Outcome:
    for name in ("stowed", "hidden", "exploded", "labels", "dimensions"):
        if getattr(options, name):
            raise ExportError(f"--{name} is not for --filmstrip: leave one of the two out.")
    if not options.filmstrip:
        raise ExportError("--leaf needs --filmstrip: only there a leaf can be drawn alone.")
    from ..check.prepared import prepare
    from ..paper.filmstrip_page import filmstrip, filmstrips
    from ..paper.sheet import save
    from ..paper.views import SHEETS

    table, assembly = open_table(options.file)
    prepared, sheet = prepare(assembly), SHEETS.get(options.size)
    answer = answered(table, prepared.assembly).table
    if options.leaf or options.image.suffix.lower() != ".pdf":
        leaves = [options.leaf] if options.leaf else []
        drawing = filmstrip(table, prepared, date=today(), leaves=leaves, sheet=sheet, answer=answer)
        save(drawing, options.image, options.dpi)
    else:
        save(filmstrips(table, prepared, date=today(), sheet=sheet, answer=answer), options.image)
    return Outcome({"image": str(options.image)}, f"{options.image} written.")


def _draw_exploded(options: Namespace) -> Outcome:
    for name in ("stowed", "hidden", "dimensions"):
        if getattr(options, name):
            raise ExportError(f"--{name} is not for --exploded: leave one of the two out.")
    if not options.exploded:
        raise ExportError("--once needs --exploded: only there can parts be left out.")
    from ..paper.exploded_page import exploded_picture
    from ..paper.sheet import save
    from ..paper.views import SHEETS

    table, assembly = open_table(options.file)
    drawing = exploded_picture(
        assembly,
        date=today(),
        view=options.view,
        once=options.once,
        labels=options.labels,
        sheet=SHEETS.get(options.size),
        answer=answered(table, assembly).table,
    )
    save(drawing, options.image, options.dpi)
    return Outcome({"image": str(options.image)}, f"{options.image} written.")


def compare(options: Namespace) -> Outcome:
    """Put variants of a table side by side."""
    from ..paper.sheet import save
    from ..paper.variants_page import side_by_side_picture
    from ..paper.views import SHEETS
    from ..reports.variants import comparison_document, comparison_text, variants_of

    variants = variants_of(open_table(options.file)[0], options.variant)
    if options.image is not None:
        drawing = side_by_side_picture(
            variants,
            date=today(),
            view=options.view,
            leaves="stowed" if options.stowed else "covered",
            sheet=SHEETS.get(options.size),
            answers=[answered(one.table, one.assembly).table for one in variants],
        )
        save(drawing, options.image, options.dpi)
    return Outcome(comparison_document(variants), comparison_text(variants))


def steps(options: Namespace) -> Outcome:
    """Propose an order of assembly."""
    from ..check.apart.assembly_order import assembly_order
    from ..check.apart.blocking import blocking_of
    from ..check.progress import run_through
    from ..designs.table.design import check
    from ..paper.steps.pages import save_steps, step_files
    from ..paper.views import SHEETS
    from ..reports.steps import steps_document, steps_text

    table, assembly = open_table(options.file)
    blocking = blocking_of(assembly.parts)
    order, findings = assembly_order(assembly, blocking), check(table, assembly).findings
    document = steps_document(assembly, order, blocking, table.units, findings)
    text = steps_text(document)
    if options.pictures is not None:
        sheet = SHEETS[options.size]
        answer = answered(table, assembly).table
        files = run_through(
            step_files(assembly, table.units, options.format, date=today(), sheet=sheet, answer=answer)
        )
        document["files"] = save_steps(files, options.pictures)
        text += f"\n{len(files)} {'file' if len(files) == 1 else 'files'} written to {options.pictures}."
    return Outcome(document, text)


def papers(options: Namespace) -> Outcome:
    """Write a shop set."""
    from dataclasses import replace

    from ..check.progress import run_through
    from ..paper.shop.shop_set import kinds_of, save_set, shop_set_steps

    table, assembly = open_table(options.file)
    if options.out is None and not options.json:
        raise ExportError("Name the folder for the papers with --out, or ask for --json alone.")
    if options.paper is not None:
        table = replace(table, shop=replace(table.shop, paper=options.paper))
    division = None
    if options.round is not None:
        division, units = _rule(options.round, table.units)
        table = replace(table, units=units)
    files, document = run_through(
        shop_set_steps(table, assembly, date=today(), division=division, kinds=kinds_of(options.pages))
    )
    text = ""
    if options.out is not None:
        document["files"] = save_set(files, options.out)
        text = f"{len(document['pages'])} pages written to {options.out}."
    return Outcome(document, text)


def _rule(text: str, units: Units) -> tuple[float, Units]:
    """The division of a rule, mm, and its unit, which is that of all papers; a fraction by itself is one of an inch."""
    try:
        unit = unit_of(text) or ("in" if "/" in text else units)
        mm = parse_length(text, as_units(unit))
    except LengthError as error:
        raise ExportError(f"--round {text} {error.wrong}: {error.how}.") from None
    if not FINEST_DIVISION <= mm <= COARSEST_DIVISION:
        raise ExportError(
            f"--round {text} is no division of a rule: use 1 mm, 0.5 mm, 1/16 in, 1/32 in or 1/64 in."
        )
    of_rule: Units = "in" if unit in ("in", "ft") else "mm"
    return mm, units if units == of_rule else of_rule


def render(options: Namespace) -> Outcome:
    """Draw a table."""
    if options.style is None:
        _refuse_without_style(options)
        from ..scene import jobs

        jobs.render(open_text(options.file), options.image, stowed=options.stowed)
    else:
        if options.engine is not None and options.style != "rendered":
            raise ExportError(f"--engine is for --style rendered: a {options.style} picture has but one.")
        from ..scene.pictures import on_paper

        stowed = options.stowed or (options.style == "transparent" and not options.covered)
        choice = on_paper.Choice(
            options.style,
            engine=options.engine or "workbench",
            view=options.view or "isometric",
            leaves="stowed" if stowed else "covered",
            labels=options.labels,
            sheet=options.size,
            dpi=options.dpi or RENDER_DPI,
        )
        table, assembly = open_table(options.file)
        on_paper.save_picture(table, options.image, choice, today(), answered(table, assembly).table)
    return Outcome({"image": str(options.image)}, f"{options.image} written.")


def _refuse_without_style(options: Namespace) -> None:
    asked = ("engine", "view", "covered", "labels", "size", "dpi")
    for name in asked:
        if getattr(options, name):
            raise ExportError(f"--{name} needs --style: name one of {', '.join(RENDER_STYLES)}.")


def animate(options: Namespace) -> Outcome:
    """Video a table's leaves."""
    from ..scene import jobs

    frames = jobs.animate(open_text(options.file), options.video, _say_frame)
    return Outcome(
        {"video": str(options.video), "frames": frames}, f"{options.video} written, {frames} frames."
    )


def _say_frame(done: int, frames: int) -> None:
    say(f"frame {done} of {frames}")
