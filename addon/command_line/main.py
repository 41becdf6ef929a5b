"""Arguments in, exit status out: 0 clear, 1 findings at or above `--fail-on`, 2 bad input, 130 stopped by Ctrl-C."""

from __future__ import annotations

import argparse
import io
from collections.abc import Callable, Sequence
from contextlib import nullcontext, redirect_stdout
from pathlib import Path
from typing import Any, NoReturn

from ..check.facts import SEVERITIES
from ..files.saving import document_text
from ..sizes.bounds import FEWEST_DPI, MOST_DPI, MOST_RANDOM_TABLES, MOST_SEARCH, MOST_SEED
from ..sizes.errors import DryAssemblyError
from . import tasks
from .edge import Outcome, guarded, stopped_at_once, write

IN_BLENDER = ("build", "render", "animate")
"""Subcommands that Blender does the work of."""

_VIEW_HELP = (
    f"where it is seen from: {', '.join(tasks.DRAWN_VIEWS)}, or azimuth and elevation in degrees as in"
    " --view=30,20; isometric if not given"
)


_FORMATS = ("svg", "pdf", "png")


class UsageError(DryAssemblyError):
    """Arguments that no subcommand takes."""


class _Parser(argparse.ArgumentParser):
    """One that raises instead of ending the program."""

    def error(self, message: str) -> NoReturn:
        """What argparse calls for arguments that it does not take."""
        raise UsageError(f"{message}; see {self.prog} --help.")


def main(argv: Sequence[str]) -> int:
    """Run one subcommand with its arguments, without the program's name."""
    return guarded(lambda: _run(argv), "--json" in argv)


def _run(argv: Sequence[str]) -> int:
    help_text = io.StringIO()
    try:
        with redirect_stdout(help_text):
            options = parser().parse_args(argv)
    except SystemExit:
        write(help_text.getvalue())
        return 0
    with stopped_at_once() if options.in_blender else nullcontext():
        outcome: Outcome = options.run(options)
    if options.json:
        write(document_text(outcome.document))
    elif outcome.text:
        write(outcome.text + "\n")
    return outcome.status


def parser() -> argparse.ArgumentParser:
    """The arguments of all subcommands."""
    top = _Parser(
        prog="dry_assembly",
        description="Plywood tables whose leaves stow below: find what goes wrong before cutting.",
    )
    commands = top.add_subparsers(required=True, metavar="SUB")

    new = _command(
        commands,
        "new",
        tasks.new,
        "write a table file with every parameter explained",
        "the table file to write",
    )
    new.add_argument(
        "--example", choices=list(tasks.EXAMPLES), default="quilting", help="the table to start from"
    )
    new.add_argument("--force", action="store_true", help="write over a file that is there already")

    check = _command(commands, "check", tasks.check, "slide every leaf home and list what is wrong")
    check.add_argument(
        "--fail-on", choices=SEVERITIES, default="warning", help="least severity that makes the exit status 1"
    )
    count, seed = _whole(1, MOST_RANDOM_TABLES), _whole(0, MOST_SEED)
    check.add_argument(
        "--count",
        type=count,
        metavar="N",
        help="random tables; if not given 200, and 10,000 where these leave a doubt",
    )
    check.add_argument(
        "--details", action="store_true", help="also the three lines, gaps and play of each leaf"
    )

    slide = _command(
        commands,
        "slide",
        tasks.slide,
        "prove that a leaf goes in whichever way it is held",
        file="the table file (TOML), or rows of openings (JSON); - for standard input",
    )
    slide.add_argument(
        "--details", action="store_true", help="also every opening, friction, weight, cover and position"
    )
    _pictures(slide, "two pictures of each leaf")

    tolerance = _command(commands, "tolerance", tasks.tolerance, "work out what tolerances do to the leaves")
    tolerance.add_argument("--count", type=count, default=10_000, metavar="N", help="random tables")
    tolerance.add_argument("--seed", type=seed, default=1, metavar="N", help="what they are drawn with")
    tolerance.add_argument(
        "--wanted",
        type=_share,
        metavar="P",
        help="share of tables that has to work, below 1; limits.share of the file if not given",
    )

    tolerance.add_argument(
        "--details",
        action="store_true",
        help="all dimensions that matter, with root sum square and Cpk for independent, normal deviations",
    )
    _pictures(tolerance, "what matters for each leaf")

    export = _command(commands, "export", tasks.export, "write every part as closed meshes and convex pieces")
    export.add_argument("--dir", type=_named, required=True, metavar="D", help="folder for the files")

    draw = _command(commands, "draw", tasks.draw, "draw the table's edges to scale on a sheet of paper")
    draw.add_argument(
        "--image", type=_named, required=True, metavar="OUT", help="the SVG, PNG or PDF to write"
    )
    draw.add_argument("--view", default="isometric", metavar="V", help=_VIEW_HELP)
    leaves = draw.add_mutually_exclusive_group()
    leaves.add_argument("--stowed", action="store_true", help="leaves stowed")
    leaves.add_argument("--covered", action="store_true", help="leaves as the table's top, as without this")
    draw.add_argument("--hidden", action="store_true", help="hidden edges too, dashed")
    draw.add_argument(
        "--exploded", action="store_true", help="taken apart, groups in insets; leaves as the table's top"
    )
    draw.add_argument(
        "--once",
        action="store_true",
        help="with --exploded: like parts once, with their number",
    )
    draw.add_argument(
        "--filmstrip", action="store_true", help="the leaves on their way home, moment by moment"
    )
    draw.add_argument("--leaf", metavar="L", help="with --filmstrip: that leaf alone")
    draw.add_argument("--labels", action="store_true", help="codes and names of the parts that are seen")
    draw.add_argument("--dimensions", action="store_true", help="sizes over all and knee clearance, in words")
    draw.add_argument("--size", choices=("A4", "A3"), help="of the sheet; by default whichever shows it well")
    draw.add_argument(
        "--dpi", type=_dots, default=200, metavar="N", help="dots an inch of a PNG, 200 if not given"
    )

    compare = _command(
        commands,
        "compare",
        tasks.compare,
        "put variants of the table side by side, with the figures that differ",
    )
    compare.add_argument(
        "--variant",
        action="append",
        default=[],
        metavar="V",
        help='sizes of a variant, as in "Deep well: well.depth=60, legs.width=55"; one to three times',
    )
    compare.add_argument("--image", type=_named, metavar="OUT", help="the SVG, PNG or PDF to write")
    compare.add_argument("--view", default="isometric", metavar="V", help=_VIEW_HELP)
    compare.add_argument("--stowed", action="store_true", help="leaves stowed")
    compare.add_argument("--size", choices=("A4", "A3"), help="of the sheet; by default whichever shows more")
    compare.add_argument(
        "--dpi", type=_dots, default=200, metavar="N", help="dots an inch of a PNG, 200 if not given"
    )

    steps = _command(commands, "steps", tasks.steps, "propose an order of assembly, step by step")
    steps.add_argument(
        "--pictures", type=_named, metavar="D", help="folder for a sheet of each step and one of all"
    )
    steps.add_argument("--format", choices=_FORMATS, default="pdf", help="of the sheets; pdf if not given")
    steps.add_argument("--size", choices=("A4", "A3"), default="A4", help="of the sheets; A4 if not given")

    papers = _command(commands, "papers", tasks.papers, "write all that is carried into the shop, as PDF")
    papers.add_argument(
        "--out", type=_named, metavar="D", help="folder for the papers, one PDF of all and each alone"
    )
    papers.add_argument("--paper", choices=("a4", "letter"), help="shop.paper of the file if not given")
    papers.add_argument(
        "--round",
        metavar="R",
        help="finest division of rule and fence, as 1 mm, 0.5 mm or 1/32 in, whose unit all papers have then; "
        "limits.rule_division if not given",
    )
    papers.add_argument(
        "--pages", metavar="K", help="kinds of page, as in part-sheet,cut-list; all if not given"
    )

    sheets = _command(
        commands,
        "sheets",
        tasks.sheets,
        "lay parts out on sheets, for through cuts, on as few as are found",
        file="sheet, kerf, trim and parts (JSON), or a list of such; - for standard input",
    )
    sheets.add_argument(
        "--search",
        type=_whole(0, MOST_SEARCH),
        metavar="SECONDS",
        help="go on for so long where fewer sheets may do; if not given, a second or two",
    )

    build = _command(
        commands, "build", tasks.build, "write a .blend with parts, materials and the stow animation"
    )
    build.add_argument("--blend", type=_named, required=True, metavar="OUT", help="the .blend to write")

    render = _command(commands, "render", tasks.render, "draw the table")
    render.add_argument(
        "--image",
        type=_named,
        required=True,
        metavar="OUT",
        help="the PNG to write; with --style also SVG or PDF",
    )
    render.add_argument(
        "--style",
        choices=tasks.RENDER_STYLES,
        help="on a sheet of paper, to scale: shaded under the lines, with the body transparent, or rendered without"
        " lines; without this, a view of the table alone",
    )
    render.add_argument(
        "--engine",
        choices=tasks.RENDER_ENGINES,
        help="what renders, workbench if not given; cycles takes longer",
    )
    render.add_argument("--view", metavar="V", help=_VIEW_HELP)
    leaves = render.add_mutually_exclusive_group()
    leaves.add_argument(
        "--stowed", action="store_true", help="leaves stowed; without --style, tightest place marked"
    )
    leaves.add_argument(
        "--covered", action="store_true", help="leaves as the table's top under a transparent body"
    )
    render.add_argument("--labels", action="store_true", help="codes and names of the parts that are seen")
    render.add_argument(
        "--size", choices=("A4", "A3"), help="of the sheet; by default whichever shows it well"
    )
    render.add_argument(
        "--dpi",
        type=_dots,
        metavar="N",
        help=f"dots an inch of the picture, {tasks.RENDER_DPI} if not given",
    )

    animate = _command(commands, "animate", tasks.animate, "video the leaves sliding home")
    animate.add_argument("--video", type=_named, required=True, metavar="OUT", help="the mp4 to write")
    return top


def _whole(low: int, high: int) -> Callable[[str], int]:
    """A reader of whole numbers."""

    def read(text: str) -> int:
        number = int(text) if text.strip().lstrip("+-").isdecimal() and len(text) < 20 else None
        if number is None or not low <= number <= high:
            raise argparse.ArgumentTypeError(f"has to be a whole number from {low} to {high}")
        return number

    return read


_dots = _whole(FEWEST_DPI, MOST_DPI)


def _named(text: str) -> Path:
    if not text:
        raise argparse.ArgumentTypeError("has to be a name")
    return Path(text)


def _share(text: str) -> float:
    try:
        number = float(text)
    except ValueError:
        number = 0.0
    if not 0.5 <= number < 1:
        raise argparse.ArgumentTypeError("has to be from 0.5 to less than 1")
    return number


def _pictures(command: argparse.ArgumentParser, what: str) -> None:
    command.add_argument("--pictures", type=_named, metavar="D", help=f"folder for {what}")
    command.add_argument(
        "--format",
        choices=_FORMATS,
        help="of the pictures; if not given, SVG for paper and PNG for the screen",
    )


def _command(
    commands: Any,
    name: str,
    run: Any,
    help: str,
    file: str = "the table file (TOML), or - for standard input",
) -> argparse.ArgumentParser:
    command = commands.add_parser(name, help=help, description=help[0].upper() + help[1:] + ".")
    command.add_argument("file", type=_named, metavar="FILE", help=file)
    command.add_argument("--json", action="store_true", help="one JSON document on standard output")
    command.set_defaults(run=run, in_blender=name in IN_BLENDER)
    return command
