"""What the subcommands that draw do, without reading arguments or printing; each imports what it needs by itself."""

from __future__ import annotations

from argparse import Namespace

from ..sizes.errors import ExportError
from .edge import Outcome, answered, open_table, open_text, say, today

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
    )
    save(drawing, options.image, options.dpi)
    return Outcome({"image": str(options.image)}, f"{options.image} written.")


def _draw_filmstrip(options: Namespace) -> Outcome:
    for name in ("stowed", "hidden", "exploded", "labels"):
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
    for name in ("stowed", "hidden"):
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
