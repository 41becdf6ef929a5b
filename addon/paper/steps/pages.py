"""The sheets of a table's steps, one for each step and one or more with all of them small, and their files."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final, Literal

import numpy as np

from ...check.apart.assembly_order import AssemblyOrder, Step, assembly_order
from ...check.apart.blocking import Blocking, blocking_of
from ...check.progress import Steps, share_of
from ...designs.words.answer import Lines
from ...reports.steps import PROPOSED, parts_lines, sentences_of, title_of
from ...sizes.units import Units
from ...sizes.words import code_of_unit
from ...wood.assembly import Assembly
from ..part_labels import column_width, draw_labels
from ..sheet import Drawing
from ..sheet.clip import Rectangle
from ..sheet.dimensions import LARGE_LETTERS, LETTERS, TITLE_LETTERS
from ..sheet.lettering import shortened, text_width, wrapped
from ..sheet.pdf import pdf_bytes
from ..sheet.save import WRITERS, save_pictures
from ..sheet.sheet import A4, BLOCK_HEIGHT, BLOCK_WIDTH, Sheet, Titles, draw_title_block, draw_words
from .drawn import ALONE, ARROW, PAGE, SMALL, Fitted, draw_look, draw_turn, fitted_into
from .looks import FIRST, Corner, Look, Scenery, best_look, look_at, scenery_of

_SPACE: Final = 3.0
"""Between a picture and what is around it, at least, mm."""

_COLUMNS, _ROWS = 4, 3
"""Pictures on a sheet of all steps, at most."""

_UNDER: Final = 1.5
"""Between a part of what is glued up and its label, mm."""

_CLEAR: Final = 0.2
"""Least distance of a leader's dot from the middle of any line, where a part has no better place, mm."""


@dataclass(frozen=True, eq=False)
class StepPicture:
    """All that is needed to draw a step."""

    number: int
    """Counted from 1."""
    step: Step
    title: str
    sentences: list[str]
    parts: list[str]
    """How many of which parts there are, in words."""
    looks: tuple[Look, ...]
    """One, or before and after the table is turned over."""


def step_pictures(
    assembly: Assembly, units: Units, blocking: Blocking | None = None
) -> Steps[list[StepPicture]]:
    """Works out the pictures of all steps.

    Parameters
    ----------
    blocking : of its parts, where it is known already

    Raises
    ------
    PartError : where a part has no sound section, or features run together
    """
    blocking = blocking or blocking_of(assembly.parts)
    order = assembly_order(assembly, blocking)
    found: list[StepPicture] = []
    corner: Corner | None = None
    for number, step in enumerate(order.steps):
        if step.kind == "turn-over":
            looks: tuple[Look, ...] = _turned(assembly, order, number, found[-1].looks[-1])
        else:
            looks = (best_look(scenery_of(assembly, order, number, blocking), step.pose, corner),)
        if step.kind != "glue-up":
            corner = looks[-1].corner
        words = sentences_of(assembly, order, number, blocking, units)
        title = title_of(assembly, step)
        found.append(StepPicture(number + 1, step, title, words, parts_lines(assembly, step), looks))
        yield (number + 1) / len(order.steps)
    return found


def _turned(assembly: Assembly, order: AssemblyOrder, number: int, last: Look) -> tuple[Look, Look]:
    there = set(order.before(number))
    parts = tuple(part for part in assembly.parts if part.label in there)
    scenery = Scenery(parts, frozenset(), {}, (), last.scenery.span)
    return look_at(scenery, last.corner), look_at(scenery, FIRST[order.steps[number].pose])


def step_page(
    assembly: Assembly, picture: StepPicture, count: int, *, date: str, sheet: Sheet = A4, answer: Lines = ()
) -> Drawing:
    """The sheet of one step.

    Parameters
    ----------
    count : of all steps
    date : as it is to stand in the title block
    answer : the three lines for the title block; () where nobody asked
    """
    which = f"Step {picture.number} of {count}"
    drawing = sheet.drawing(f"{assembly.name}: {which}, {picture.title.lower()}")
    left, bottom, right, top = sheet.frame
    drawing.text(
        f"{which}: {picture.title}", left + 4.0, top - 4.0, TITLE_LETTERS, vertical="top", weight=0.14
    )
    lines = wrapped(" ".join(picture.sentences), LARGE_LETTERS, right - left - 8.0)
    for place, line in enumerate(lines):
        drawing.text(line, left + 4.0, top - 12.5 - 5.6 * place, LARGE_LETTERS, vertical="top", name="words")
    low, high = bottom + BLOCK_HEIGHT + _SPACE, top - 13.5 - 5.6 * len(lines)
    draw_looks(drawing, picture, (left + _SPACE, low, right - _SPACE, high))
    _draw_parts(drawing, picture, sheet)
    pose = {"upright": "upright", "upside-down": "upside down"}[picture.step.pose]
    corners = [look.corner.words for look in picture.looks]
    seen = pose if len(corners) > 1 else f"{pose}, seen {corners[0]}"
    titles = Titles(assembly.name, f"{which}, {seen}", "not to scale", date, answer=answer)
    draw_title_block(drawing, sheet, titles)
    return drawing


def draw_looks(drawing: Drawing, picture: StepPicture, box: Rectangle, arrows: str = ARROW) -> None:
    """A step's picture in a box, its parts labeled, with arrows of a color."""
    left, bottom, right, top = box
    looks, glued_up = picture.looks, picture.step.kind == "glue-up"
    labels = [] if glued_up else _labels(picture)
    beside = column_width([text for text in labels if text]) if any(labels) else 0.0
    under = 2 * LETTERS if glued_up else 0.0
    places = fitted_into((left + beside, bottom + under, right - beside, top - under), looks)
    for look, place in zip(looks, places, strict=True):
        lines = draw_look(drawing, look, place, replace(PAGE if look.scenery.moves else ALONE, arrow=arrows))
        if any(labels):
            draw_labels(
                drawing, labels, look.surface, lines, place.scale, place.place, box, 0.0, clear=_CLEAR
            )
        if glued_up:
            _draw_codes(drawing, look, place)
    if len(looks) > 1:
        draw_turn(drawing, box, replace(PAGE, arrow=arrows))


def _draw_codes(drawing: Drawing, look: Look, at: Fitted) -> None:
    """The code of each part under its lowest corner, or above its highest where it would stand on something else."""
    surface = look.surface
    outlines = [
        surface.points[np.unique(surface.triangles[surface.part == number]), :2] * at.scale + at.place
        for number in range(len(look.scenery.parts))
    ]
    taken = np.array([[*own.min(axis=0), *own.max(axis=0)] for own in outlines])
    for part, own in zip(look.scenery.parts, outlines, strict=True):
        half = text_width(part.label, LETTERS) / 2
        low, high = own[own[:, 1].argmin()], own[own[:, 1].argmax()]
        boxes = np.array([
            [x - half, y, x + half, y + LETTERS]
            for x, y in (low - (0.0, _UNDER + LETTERS), high + (0.0, _UNDER))
        ])  # fmt: skip
        free = [not ((box[:2] < taken[:, 2:]) & (box[2:] > taken[:, :2])).all(axis=1).any() for box in boxes]
        box = boxes[1 if free == [False, True] else 0]
        drawing.text(
            part.label, float(box[0]) + half, float(box[1]), LETTERS, "middle", weight=0.14, name="label"
        )
        taken = np.vstack([taken, box])


def _labels(picture: StepPicture) -> list[str]:
    """By number of the part; "" for what is there already."""
    scenery = picture.looks[0].scenery
    texts = {label: _label(scenery, move.parts) for move in scenery.moves for label in move.parts}
    return [texts.get(part.label, "") for part in scenery.parts]


def _label(scenery: Scenery, labels: Sequence[str]) -> str:
    parts = [part for part in scenery.parts if part.label in labels]
    if len(parts) == 1:
        return f"{labels[0]} {parts[0].short_name}"
    common = [word for word in parts[0].which if all(word in part.which for part in parts)]
    between = " " if len(labels) < 3 else "\n"
    return ", ".join([f"{code_of_unit(labels)}{between}{parts[0].role.one}", *common])


def _draw_parts(drawing: Drawing, picture: StepPicture, sheet: Sheet) -> None:
    """What goes in, left of the title block, and that all is a proposal."""
    left, bottom, right, _ = sheet.frame
    room = right - BLOCK_WIDTH - left - 6.0
    heading = {"glue-up": "To be glued up", "put-in": "In this step", "turn-over": "No new parts"}
    lines = [line for part in picture.parts for line in wrapped(part, LETTERS, room)]
    draw_words(
        drawing, left + 3.0, bottom + BLOCK_HEIGHT - 3.0, heading[picture.step.kind],
        [shortened(line, LETTERS, room) for line in lines[:4]] + (["…"] if len(lines) > 4 else []),
    )  # fmt: skip
    drawing.text(PROPOSED, left + 3.0, bottom + 3.0, LETTERS, weight=0.15, name="proposed")


def contact_pages(
    assembly: Assembly, pictures: Sequence[StepPicture], *, date: str, sheet: Sheet = A4, answer: Lines = ()
) -> list[Drawing]:
    """Sheets with all steps small: one where there are not more than twelve."""
    most = _COLUMNS * _ROWS
    groups = [pictures[start : start + most] for start in range(0, len(pictures), most)]
    return [
        _contact_page(assembly, group, (number + 1, len(groups)), date, sheet, answer)
        for number, group in enumerate(groups)
    ]


def _contact_page(
    assembly: Assembly,
    pictures: Sequence[StepPicture],
    which: tuple[int, int],
    date: str,
    sheet: Sheet,
    answer: Lines,
) -> Drawing:
    drawing = sheet.drawing(f"{assembly.name}: all steps")
    left, bottom, right, top = sheet.frame
    columns = min(_COLUMNS, max(2, -(-len(pictures) // 2)))
    rows = max(1, -(-len(pictures) // columns))
    width, height = (right - left) / columns, (top - bottom - BLOCK_HEIGHT) / rows
    for place, picture in enumerate(pictures):
        x, y = left + place % columns * width, top - place // columns * height
        _draw_small(drawing, picture, (x, y - height, x + width, y))
    drawing.text(PROPOSED, left + 3.0, bottom + 3.0, LETTERS, weight=0.15, name="proposed")
    pages = "" if which[1] == 1 else f", sheet {which[0]} of {which[1]}"
    titles = Titles(
        assembly.name, f"Steps of assembly, all in order{pages}", "not to scale", date, answer=answer
    )
    draw_title_block(drawing, sheet, titles)
    return drawing


def _draw_small(drawing: Drawing, picture: StepPicture, box: Rectangle) -> None:
    left, bottom, right, top = box
    words = f"{picture.number}  {picture.title}"
    room = right - left - 4.0
    lines = wrapped(words, LETTERS, room)[:2]
    for place, line in enumerate(lines):
        drawing.text(line, left + 2.0, top - 2.5 - 4.0 * place, LETTERS, vertical="top", name="caption")
    inner = left + _SPACE, bottom + _SPACE / 2, right - _SPACE, top - 8.0 - 4.0 * (len(lines) - 1)
    for look, place in zip(picture.looks, fitted_into(inner, picture.looks), strict=True):
        draw_look(drawing, look, place, SMALL)
    if len(picture.looks) > 1:
        draw_turn(drawing, inner, SMALL)


Format = Literal["svg", "pdf", "png"]

_DRAWN: Final = 0.4
"""Share of the time that working out the pictures takes; putting them on paper takes the rest."""


def step_files(
    assembly: Assembly,
    units: Units,
    kind: Format,
    *,
    date: str,
    sheet: Sheet = A4,
    dpi: float = 200.0,
    answer: Lines = (),
) -> Steps[dict[str, bytes]]:
    """All sheets: `steps` has all steps small, `step-01` and on are their own; as PDF they are pages of one `steps`.

    Parameters
    ----------
    date : as it is to stand in the title blocks
    answer : the three lines for the title blocks; () where nobody asked
    dpi : dots an inch of a PNG

    Returns
    -------
    name of a file → what is in it

    Raises
    ------
    PartError : where a part has no sound section, or features run together
    ExportError : where the package that writes PDF is missing
    """
    pictures = yield from share_of(step_pictures(assembly, units), 0.0, _DRAWN)
    if kind == "pdf":
        sheets = contact_pages(assembly, pictures, date=date, sheet=sheet, answer=answer)
        sheets += [
            step_page(assembly, one, len(pictures), date=date, sheet=sheet, answer=answer) for one in pictures
        ]
        yield 0.9
        return {"steps.pdf": pdf_bytes(sheets)}
    found: dict[str, bytes] = {}
    for number, (name, drawing) in enumerate(_named(assembly, pictures, date, sheet, answer)):
        found[f"{name}.{kind}"] = WRITERS[f".{kind}"](drawing, dpi)
        yield _DRAWN + (1 - _DRAWN) * min(1.0, (number + 1) / (len(pictures) + 1))
    return found


def _named(
    assembly: Assembly, pictures: Sequence[StepPicture], date: str, sheet: Sheet, answer: Lines
) -> list[tuple[str, Drawing]]:
    contacts = contact_pages(assembly, pictures, date=date, sheet=sheet, answer=answer)
    names = [f"steps-{number}" if number > 1 else "steps" for number in range(1, len(contacts) + 1)]
    own = [
        (
            f"step-{one.number:02}",
            step_page(assembly, one, len(pictures), date=date, sheet=sheet, answer=answer),
        )
        for one in pictures
    ]
    return [*zip(names, contacts, strict=True), *own]


def save_steps(files: dict[str, bytes], folder: Path) -> list[str]:
    """Saves what `step_files` made, in the place of an older order's sheets of that format; their names.

    Raises ExportError as `save_pictures` does.
    """
    return save_pictures(files, folder, r"steps(-\d+)?|step-\d\d+")
