"""Pages of the steps: what is tried before glue, how much is glued at once, and each step with sizes and checks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import Final

from ...check.apart.assembly_order import AssemblyOrder
from ...check.progress import run_through
from ...designs.accepting import accepted_words
from ...reports.steps import PROPOSED
from ...shop.dry_fits import (
    KEPT_BACK,
    SPREAD,
    GlueUp,
    body_diagonal,
    feelers,
    glue_ups,
    leaf_diagonals,
)
from ...shop.figures import Figure
from ...shop.job import Job
from ...sizes.words import codes_in_row, listed
from ...wood.part import Part
from ...wood.roles import SIDE
from ..sheet import BLACK, Drawing
from ..sheet.clip import Rectangle
from ..sheet.dimensions import LARGE_LETTERS, LETTERS, THIN
from ..sheet.lettering import wrapped
from ..steps.pages import StepPicture, draw_looks, step_pictures
from .cautions import SHORT
from .page import ShopPage, area_of
from .rows import Cell, Column, Listing, Row

_PITCH: Final = 1.6
"""From line to line, in heights of a capital."""

_BETWEEN: Final = 5.0
"""From list to list, mm."""

_WORDS: Final = 78.0
"""Width of the column of words beside a picture, mm."""


def pages(job: Job) -> Iterator[ShopPage]:
    """What is tried dry, the glue-ups, then a page for each step."""
    order = job.order
    glued = glue_ups(job, order)
    yield from _dry_fit_pages(job, order)
    yield from _glue_up_pages(job, glued)
    pictures = run_through(step_pictures(job.assembly, job.units, job.blocking))
    for picture in pictures:
        own = next((one for one in glued if one.number == picture.number), None)
        words = _words(job, order, picture, own)
        yield ShopPage(
            "steps",
            f"Step {picture.number} of {len(pictures)}: {picture.title}",
            partial(_draw_step, picture, words),
            f"{picture.number:02}",
            picture.step.moved,
            tuple(words.figures),
        )


# -- what is tried before glue

_DRY: Final = (
    Column("Dry fit", 26),
    Column("What", 150),
    Column("Size", 24, "end"),
    Column("Found", 40, "middle"),
)


@dataclass(eq=False)
class _List:
    """Rows of a list with the figures in them."""

    rows: list[Row] = field(default_factory=list)

    def heading(self, words: str) -> None:
        """A row over all columns."""
        self.rows.append(Row((words,), wide=True))

    def row(self, *cells: Cell) -> None:
        """A row."""
        self.rows.append(Row(cells))


def _dry_fit_pages(job: Job, order: AssemblyOrder) -> Iterator[ShopPage]:
    found = _List()
    errors = [one.message for one in job.report.errors]
    if errors:
        found.heading(f"Mend this first; as it is the table cannot be built and used: {errors[0]}")
    for one in job.report.accepted:
        found.heading(f"{accepted_words(one, job.units)} {one.message}")
    _trial_pieces(job, found)
    _trial_leg(job, found)
    _body(job, order, found)
    lists = [(_DRY, found.rows), (_LEAF, _leaves(job).rows)]
    yield from _listed(job, "Trial pieces and dry fits", "dry-fits", [one for one in lists if one[1]])


def _trial_pieces(job: Job, found: _List) -> None:
    """What is worth a trial piece, since a tenth of a millimeter decides there."""
    found.heading("Trial pieces first, from offcuts of the same sheets: tick what fits.")
    grooved = [part for part in job.assembly.parts if any(one.holds for one in part.shape.grooves)]
    if grooved:
        panels = {joint.a for joint in job.assembly.joints if joint.kind == "groove"}
        found.row(
            "groove", f"In an offcut: {codes_in_row(panels)} goes in by hand and does not rattle.", "", ""
        )
    least = min(job.report.leaves, key=lambda one: one.clearance, default=None)
    if least is not None:
        words = f"In an offcut, with its template, the slot for {least.leaf}: of all leaves it has the least room."
        found.row("first slot", f"{words} The leaf, or a piece as wide, goes through lying flat.", "", "")
        windows = [part.label for part in job.assembly.parts for one in part.shape.openings
                   if one.leaf == least.leaf and part.role.word != SIDE.word]  # fmt: skip
        if windows:
            words = f"Window for {least.leaf} in an offcut, before {codes_in_row(windows)}: as the slot."
            found.row("first window", words, "", "")


_TRIAL_LEGS: Final = {
    "laminated": "One leg from short offcuts, all its layers in one clamp: by hand it slides up over a corner of the "
    "dry body, and does not rattle.",
    "bolted": "One corner block and one first board from offcuts: both bolts go through, a nut tapped into its hole "
    "stays, a wrench turns on the heads.",
    "corner": "One leg's two boards from offcuts: an L that stands square in a corner of the dry body.",
    "plain": "A short piece of the wood: it stands square in a corner of the dry body.",
}
"""What of a leg is worth cutting from scrap, by kind."""


def _trial_leg(job: Job, found: _List) -> None:
    legs = job.table.legs
    if legs.fitted and legs.kind in _TRIAL_LEGS:
        tapered = " Taper one board for it as well." if legs.taper != "none" else ""
        found.row("one leg", _TRIAL_LEGS[legs.kind] + tapered, "", "")


def _body(job: Job, order: AssemblyOrder, found: _List) -> None:
    diagonal = body_diagonal(job)
    found.heading("The whole body dry, clamped, no glue, before the first glue-up.")
    if diagonal is not None:
        words = (
            "Both diagonals over the outer corners of the sides, the same: else push the longer one shorter."
        )
        found.row("square", words, diagonal, "")
    found.row(
        "joints",
        "Every joint closed by hand; nothing is forced. What has to be cut to fit is cut now.",
        "",
        "",
    )
    for labels, size in leaf_diagonals(job):
        found.row("leaves", f"{codes_in_row(labels)}: both diagonals the same.", size, "")
    blocked = order.blocked
    if blocked:
        words = f"{codes_in_row(blocked)}: no straight way in at their step; try whether the order works."
        found.row("order", words, "", "")


_LEAF: Final = (
    Column("Leaf", 14),
    Column("Feeler", 20, "end"),
    Column("between the leaf and", 90),
    Column("Nose past the slot", 36, "end"),
    Column("Lift", 20, "end"),
    Column("Found", 40, "middle"),
)


def _leaves(job: Job) -> _List:
    found = _List()
    own = feelers(job)
    if own:
        found.heading(
            "Slide each leaf home dry, in the order of the last step, and out again. Feeler: the thickest that goes in"
            " at the tightest place of its way, with the leaf in the middle of its opening and its nose so far past the"
            " slot's outer face. Lift: how far the leaf comes up off its sills. Less than that on the table: look for"
            " what is out of place before any glue."
        )
    for one in own:
        where = f"{one.against}, {one.near}" if one.near else one.against
        if one.thickness is None:
            found.row(one.leaf, "none", f"{where}: mend this first", one.nose, one.lift, "")
        else:
            found.row(one.leaf, one.thickness, where, one.nose, one.lift, "")
    return found


# -- glue-ups

_GLUED: Final = (
    Column("Step", 14, "end"),
    Column("Go", 16),
    Column("Parts", 110),
    Column("Joints", 26, "end"),
    Column("Clamps", 18, "end"),
    Column("Minutes", 20, "end"),
    Column("Leaves through", 45),
)


def _glue_up_pages(job: Job, glued: Sequence[GlueUp]) -> Iterator[ShopPage]:
    found = _List()
    tools = job.tools
    back = job.rule.figure("glue kept back", KEPT_BACK[job.units])
    rate = f"{SPREAD / 1000:g} m" if job.units == "mm" else f"{SPREAD / 25.4:.0f} in"
    found.heading(
        f"Open time {tools.open_time:g} minutes, {tools.clamps} clamps. Reckoned with {rate} of joint spread a minute"
        " and half a minute for each part (common practice, no source): try it dry with a clock. What is too much for"
        " clamps or glue is done in several goes; let each set before the next. Weights on a caul count as clamps."
    )
    found.heading(
        f"Keep glue {back.printed} back from windows, slots and ways. Scrape squeeze-out off before it sets. No finish"
        " and no wax on glue faces. Before the glue sets, slide home each leaf whose way runs past the new parts, and"
        " take it out again."
    )
    for one in glued:
        for number, go in enumerate(one.goes, 1):
            length = job.rule.figure(f"step {one.number}, go {number}: joints", go.length, "up")
            many = f" (have {tools.clamps})" if go.clamps > tools.clamps else ""
            found.row(
                f"{one.number}",
                f"{number} of {len(one.goes)}" if len(one.goes) > 1 else "",
                codes_in_row(go.parts),
                length,
                f"{go.clamps}{many}",
                f"{go.minutes:.0f}" if go.minutes >= 1 else "1",
                codes_in_row(one.leaves),
            )
    yield from _listed(job, "Glue-ups", "glue-ups", [(_GLUED, found.rows)], (back,))


def _listed(
    job: Job,
    title: str,
    number: str,
    lists: Sequence[tuple[Sequence[Column], Sequence[Row]]],
    figures: tuple[Figure, ...] = (),
) -> Iterator[ShopPage]:
    """Lists one below the other on as many pages as they take."""
    left, bottom, right, top = area_of(job)
    room = top - bottom - 1.0
    sheets: list[list[tuple[Listing, list[Row]]]] = [[]]
    used = 0.0
    for columns, rows in lists:
        listing = Listing(columns, rows, right - left)
        for own in listing.pages(room):
            height = listing.height(own)
            if sheets[-1] and used + height > room:
                sheets.append([])
                used = 0.0
            sheets[-1].append((listing, own))
            used += height + _BETWEEN
    for place, sheet in enumerate(sheets, 1):
        of = f", {place} of {len(sheets)}" if len(sheets) > 1 else ""
        cells = [cell for _, own in sheet for row in own for cell in row.cells]
        numbers = tuple(cell for cell in cells if isinstance(cell, Figure))
        yield ShopPage(
            "steps", f"{title}{of}", partial(_draw_lists, sheet),
            f"{number}-{place}" if len(sheets) > 1 else number, (), (*(figures if place == 1 else ()), *numbers),
        )  # fmt: skip


def _draw_lists(lists: Sequence[tuple[Listing, list[Row]]], drawing: Drawing, area: Rectangle) -> None:
    left, _, _, at = area
    for listing, rows in lists:
        at = listing.draw(drawing, left, at, rows) - _BETWEEN


# -- the steps


@dataclass(eq=False)
class _Words:
    """What stands beside a picture: paragraphs under headings."""

    said: list[tuple[str, list[str]]] = field(default_factory=list)
    figures: list[Figure] = field(default_factory=list)


def _words(job: Job, order: AssemblyOrder, picture: StepPicture, glued: GlueUp | None) -> _Words:
    found = _Words([("", list(picture.sentences))])
    if picture.step.new:
        found.said.append(("Parts", _sizes(job, picture.step.new, found.figures)))
    checks = _checks(job, order, picture, found.figures)
    if checks:
        slides = picture.step.role is not None and picture.step.role.slides
        found.said.append(("Check" if slides else "Before glue, dry", checks))
    if picture.step.kind == "turn-over":
        found.said.append(("Careful", [SHORT["turning"]]))
    if glued is not None:
        found.said.append(("Glue", _glue(job, glued, found.figures)))
    found.said.append(("", [PROPOSED]))
    return found


def _sizes(job: Job, labels: Sequence[str], figures: list[Figure]) -> list[str]:
    """Labels of parts of one size and that size, as printed."""
    found: dict[tuple[str, str], list[Part]] = {}
    for label in labels:
        part = job.drawn.by_label[label]
        own = {one.name: job.rounded.figure(part, one) for one in part.shape.dimensions if one.number is None}
        length, width = own["length"], own["width"]
        fit = label in job.rounded.gaps
        key = length.printed, width.printed + (", cut to fit" if fit else "")
        if key not in found:
            figures += [length, width]
        found.setdefault(key, []).append(part)
    lines = []
    for (length, width), parts in found.items():
        lines += [f"{codes_in_row(part.label for part in parts)}:", f"{length} × {width}"]
    return lines


def _checks(job: Job, order: AssemblyOrder, picture: StepPicture, figures: list[Figure]) -> list[str]:
    """What to look at before glue goes on."""
    step, found = picture.step, list[str]()
    if step.kind != "put-in":
        return found
    if any("Mark" in sentence for sentence in picture.sentences):
        found.append("Positions: see the layout of the bottom panel.")
    ribs = [label for label in step.moved if job.assembly.by_label[label].shape.openings]
    if ribs and step.role is not None and step.role.word != SIDE.word:
        found.append("Windows toward the right sides, and the right way up: compare with the story stick.")
    if step.role is not None and step.role.word == SIDE.word:
        diagonal = body_diagonal(job)
        if diagonal is not None and _closes(job, order, picture):
            figures.append(diagonal)
            found.append(f"Square: both diagonals of the body {diagonal.printed}.")
    if step.role is not None and step.role.slides:
        for one in feelers(job):
            if one.thickness is not None:
                figures.append(one.thickness)
                found.append(f"{one.leaf}: a feeler of {one.thickness.printed} goes in at {one.against}.")
        found.append("Fingers out of the hole before a leaf goes home: it shears at the slot.")
    return found


def _closes(job: Job, order: AssemblyOrder, picture: StepPicture) -> bool:
    """Whether all sides stand when a step is done."""
    there = {*order.before(picture.number - 1), *picture.step.moved}
    return all(part.label in there for part in job.assembly.with_role(SIDE.word))


def _glue(job: Job, glued: GlueUp, figures: list[Figure]) -> list[str]:
    """How many clamps, in how many goes, and what becomes of squeeze-out."""
    goes = len(glued.goes)
    found = [f"{glued.clamps} clamps" + (f", in {goes} goes:" if goes > 1 else ".")]
    if goes > 1:
        found += [f"{number}: {codes_in_row(go.parts)}" for number, go in enumerate(glued.goes, 1)]
    if glued.leaves:
        back = job.rule.figure("glue kept back", KEPT_BACK[job.units])
        figures.append(back)
        found.append(
            f"Keep glue {back.printed} back from windows and ways. Before it sets slide {listed(glued.leaves)} home,"
            " and take out again."
        )
    found.append("Scrape squeeze-out off.")
    return found


def _draw_step(picture: StepPicture, words: _Words, drawing: Drawing, area: Rectangle) -> None:
    left, bottom, right, top = area
    edge = right - _WORDS
    drawing.line((edge - 3.0, bottom), (edge - 3.0, top), THIN)
    draw_looks(drawing, picture, (left + 4.0, bottom, edge - 9.0, top), BLACK)
    size = next((one for one in (LARGE_LETTERS, LETTERS) if _height(words, one) <= top - bottom), LETTERS)
    y = top
    for heading, lines in words.said:
        if heading:
            drawing.text(heading, edge, y, size, vertical="top", weight=0.15)
            y -= _PITCH * size
        for line in (line for text in lines for line in wrapped(text, size, _WORDS)):
            drawing.text(line, edge, y, size, vertical="top")
            y -= _PITCH * size
        y -= size


def _height(words: _Words, size: float) -> float:
    """What words take in letters of a size, mm."""
    lines = [line for _, text in words.said for one in text for line in wrapped(one, size, _WORDS)]
    headings = sum(1 for heading, _ in words.said if heading)
    return _PITCH * size * (len(lines) + headings) + size * len(words.said)
