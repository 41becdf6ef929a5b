"""What each subcommand does, without reading arguments or printing.

Each imports what it needs by itself: numpy and the check take longer to load than many a subcommand to run.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from ..fit.findings import SEVERITIES
from ..model.errors import ExportError
from ..model.examples import EXAMPLES
from ..model.table_file import read_table, read_text
from ..model.table_writer import save_text

if TYPE_CHECKING:
    from argparse import Namespace

__all__ = [
    "DRAWN_VIEWS",
    "EXAMPLES",
    "RENDER_DPI",
    "RENDER_ENGINES",
    "RENDER_STYLES",
    "Outcome",
    "animate",
    "build",
    "check",
    "compare",
    "draw",
    "export",
    "new",
    "render",
    "slide",
    "steps",
    "tolerance",
]

DRAWN_VIEWS = ("isometric", "below", "front", "right", "top")
"""Keys of `shop.lines.VIEWS`, which takes numpy to look at."""

RENDER_STYLES = ("shaded", "transparent", "rendered")
"""Keys of `shop.lines.styled.STYLES`."""

RENDER_ENGINES = ("workbench", "cycles")
"""Keys of `scene.styles.LOOKS`, which takes Blender to look at."""

RENDER_DPI = 150


@dataclass(frozen=True)
class Outcome:
    """What a subcommand has to say: a document for `--json`, a text for the screen, the exit status."""

    document: dict[str, Any] | list[dict[str, Any]]
    text: str = ""
    status: int = field(default=0)


def new(options: Namespace) -> Outcome:
    """Write an example's table file."""
    if options.file.exists() and not options.force:
        raise ExportError(
            f"{options.file} is there already: name another file, or use --force to write over it."
        )
    save_text(options.file, EXAMPLES[options.example].text())
    return Outcome({"file": str(options.file), "example": options.example}, f"{options.file} written.")


def check(options: Namespace) -> Outcome:
    """Check a table file."""
    from ..fit.check import check as check_table
    from ..shop.report import report_document, report_text

    report = check_table(read_table(options.file))
    limit = SEVERITIES.index(options.fail_on)
    gravest = report.gravest()
    failed = gravest is not None and SEVERITIES.index(gravest) >= limit
    return Outcome(report_document(report), report_text(report), 1 if failed else 0)


def slide(options: Namespace) -> Outcome:
    """Prove the slide of a table's leaves, or of bare rows of openings."""
    text = read_text(options.file)
    if options.file.suffix.lower() == ".json" or text.lstrip().startswith(("{", "[{")):
        return _slide_rows(text, options)
    from ..fit.prepared import prepare
    from ..fit.slide.study import study
    from ..model.recipe import build as build_table
    from ..shop.slide_report import study_document, study_text

    table = read_table(options.file)
    found = study(table, prepare(build_table(table)))
    status = 1 if any(leaf.proof.verdict == "does-not-pass" for leaf in found.leaves) else 0
    if options.pictures is not None:
        from ..shop.slide_files import save_slide_pictures

        save_slide_pictures(table, [leaf.proof for leaf in found.leaves], options.pictures, _today())
    return Outcome(study_document(found), study_text(found), status)


def _slide_rows(text: str, options: Namespace) -> Outcome:
    from ..fit.row.bare import read_rows
    from ..fit.row.proof import prove
    from ..shop.slide_report import CAUTION, row_document, row_text

    rows, several = read_rows(text, str(options.file))
    proofs = prove(rows)
    documents: Any = [row_document(proof) for proof in proofs]
    words = "\n\n".join(row_text(proof, "side", "mm") for proof in proofs)
    status = 1 if any(proof.verdict == "does-not-pass" for proof in proofs) else 0
    if options.pictures is not None:
        from ..shop.slide_files import save_row_pictures

        save_row_pictures(proofs, options.pictures, _today())
    return Outcome(documents if several else documents[0], f"{words}\n\n{CAUTION}", status)


def _today() -> str:
    from datetime import date

    return date.today().isoformat()


def tolerance(options: Namespace) -> Outcome:
    """Work out what the tolerances do to a table's leaves."""
    from ..fit.tolerance import analyse
    from ..shop.tolerance_report import tolerance_document, tolerance_text

    report = analyse(read_table(options.file), count=options.count, seed=options.seed, wanted=options.wanted)
    status = 1 if report.works.value < options.wanted else 0
    if options.pictures is not None:
        from ..shop.slide_files import save_tolerance_pictures

        save_tolerance_pictures(report, options.pictures, _today())
    return Outcome(tolerance_document(report), tolerance_text(report), status)


def export(options: Namespace) -> Outcome:
    """Write a table's parts for other programs."""
    from ..model.recipe import build as build_table
    from ..shop.export import export as export_parts

    document = export_parts(build_table(read_table(options.file)), options.dir)
    files = [part["mesh"] for part in document["parts"]] + ["assembly.glb", "assembly.json"]
    text = f"{len(files)} files written to {options.dir}."
    return Outcome({"dir": str(options.dir), "files": files}, text)


def draw(options: Namespace) -> Outcome:
    """Draw a table's edges on a sheet of paper."""
    from ..model.recipe import build as build_table
    from ..shop.drawing import save
    from ..shop.lines import SHEETS, line_picture

    if options.filmstrip or options.leaf:
        return _draw_filmstrip(options)
    if options.exploded or options.once:
        return _draw_exploded(options)
    drawing = line_picture(
        build_table(read_table(options.file)),
        date=_today(),
        view=options.view,
        leaves="stowed" if options.stowed else "covered",
        hidden=options.hidden,
        labels=options.labels,
        sheet=SHEETS.get(options.size),
    )
    save(drawing, options.image, options.dpi)
    return Outcome({"image": str(options.image)}, f"{options.image} written.")


def _draw_filmstrip(options: Namespace) -> Outcome:
    for name in ("stowed", "hidden", "exploded", "labels"):
        if getattr(options, name):
            raise ExportError(f"--{name} is not for --filmstrip: leave one of the two out.")
    if not options.filmstrip:
        raise ExportError("--leaf needs --filmstrip: only there a leaf can be drawn alone.")
    from ..fit.prepared import prepare
    from ..model.recipe import build as build_table
    from ..shop.drawing import save
    from ..shop.filmstrip import filmstrip, filmstrips
    from ..shop.lines import SHEETS

    table = read_table(options.file)
    prepared, sheet = prepare(build_table(table)), SHEETS.get(options.size)
    if options.leaf or options.image.suffix.lower() != ".pdf":
        leaves = [options.leaf] if options.leaf else []
        save(
            filmstrip(table, prepared, date=_today(), leaves=leaves, sheet=sheet), options.image, options.dpi
        )
    else:
        save(filmstrips(table, prepared, date=_today(), sheet=sheet), options.image)
    return Outcome({"image": str(options.image)}, f"{options.image} written.")


def _draw_exploded(options: Namespace) -> Outcome:
    for name in ("stowed", "hidden"):
        if getattr(options, name):
            raise ExportError(f"--{name} is not for --exploded: leave one of the two out.")
    if not options.exploded:
        raise ExportError("--once needs --exploded: only there can parts be left out.")
    from ..model.recipe import build as build_table
    from ..shop.drawing import save
    from ..shop.exploded import exploded_picture
    from ..shop.lines import SHEETS

    drawing = exploded_picture(
        build_table(read_table(options.file)),
        date=_today(),
        view=options.view,
        once=options.once,
        labels=options.labels,
        sheet=SHEETS.get(options.size),
    )
    save(drawing, options.image, options.dpi)
    return Outcome({"image": str(options.image)}, f"{options.image} written.")


def compare(options: Namespace) -> Outcome:
    """Put variants of a table side by side."""
    from ..shop.drawing import save
    from ..shop.lines import SHEETS
    from ..shop.side_by_side import comparison_document, comparison_text, side_by_side_picture, variants_of

    variants = variants_of(read_table(options.file), options.variant)
    if options.image is not None:
        drawing = side_by_side_picture(
            variants,
            date=_today(),
            view=options.view,
            leaves="stowed" if options.stowed else "covered",
            sheet=SHEETS.get(options.size),
        )
        save(drawing, options.image, options.dpi)
    return Outcome(comparison_document(variants), comparison_text(variants))


def steps(options: Namespace) -> Outcome:
    """Propose an order of assembly."""
    from ..fit.assembly_order import assembly_order
    from ..fit.explosion.blocking import blocking_of
    from ..fit.steps import run_through
    from ..model.recipe import build as build_table
    from ..shop.lines import SHEETS
    from ..shop.steps.files import save_files, step_files
    from ..shop.steps.words import steps_document, steps_text

    table = read_table(options.file)
    assembly = build_table(table)
    blocking = blocking_of(assembly.parts)
    document = steps_document(assembly, assembly_order(assembly, blocking), blocking, table.units)
    text = steps_text(document)
    if options.pictures is not None:
        sheet = SHEETS[options.size]
        files = run_through(step_files(assembly, table.units, options.format, date=_today(), sheet=sheet))
        document["files"] = save_files(files, options.pictures)
        text += f"\n{len(files)} {'file' if len(files) == 1 else 'files'} written to {options.pictures}."
    return Outcome(document, text)


def build(options: Namespace) -> Outcome:
    """Write a .blend of a table."""
    from ..scene import jobs

    jobs.build(read_text(options.file), options.blend)
    return Outcome({"blend": str(options.blend)}, f"{options.blend} written.")


def render(options: Namespace) -> Outcome:
    """Draw a table."""
    if options.style is None:
        _refuse_without_style(options)
        from ..scene import jobs

        jobs.render(read_text(options.file), options.image, stowed=options.stowed)
    else:
        if options.engine is not None and options.style != "rendered":
            raise ExportError(f"--engine is for --style rendered: a {options.style} picture has but one.")
        from ..scene import styles

        stowed = options.stowed or (options.style == "transparent" and not options.covered)
        choice = styles.Choice(
            options.style,
            engine=options.engine or "workbench",
            view=options.view or "isometric",
            leaves="stowed" if stowed else "covered",
            labels=options.labels,
            sheet=options.size,
            dpi=options.dpi or RENDER_DPI,
        )
        styles.save_picture(read_table(options.file), options.image, choice, _today())
    return Outcome({"image": str(options.image)}, f"{options.image} written.")


def _refuse_without_style(options: Namespace) -> None:
    asked = ("engine", "view", "covered", "labels", "size", "dpi")
    for name in asked:
        if getattr(options, name):
            raise ExportError(f"--{name} needs --style: name one of {', '.join(RENDER_STYLES)}.")


def animate(options: Namespace) -> Outcome:
    """Film a table's leaves."""
    from ..scene import jobs

    frames = jobs.animate(read_text(options.file), options.video, _say_frame)
    return Outcome(
        {"video": str(options.video), "frames": frames}, f"{options.video} written, {frames} frames."
    )


def _say_frame(done: int, frames: int) -> None:
    print(f"frame {done} of {frames}", file=sys.stderr, flush=True)
