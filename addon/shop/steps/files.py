"""The sheets of a table's steps as files."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Final, Literal

from ...fit.steps import share_of
from ...model.errors import ExportError
from ..drawing.pdf import pdf_bytes
from ..drawing.save import WRITERS, save_files
from ..drawing.sheet import A4
from .pages import contact_pages, step_page, step_pictures

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ...fit.steps import Steps
    from ...model.assembly import Assembly
    from ...model.units import Units
    from ..drawing import Drawing
    from ..drawing.sheet import Sheet
    from .pages import StepPicture

Format = Literal["svg", "pdf", "png"]

_DRAWN: Final = 0.4
"""Share of the time that working out the pictures takes; putting them on paper takes the rest."""


def step_files(
    assembly: Assembly, units: Units, kind: Format, *, date: str, sheet: Sheet = A4, dpi: float = 200.0
) -> Steps[dict[str, bytes]]:
    """All sheets: `steps` has all steps small, `step-01` and on are their own; as PDF they are pages of one `steps`.

    Parameters
    ----------
    date : as it is to stand in the title blocks
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
        sheets = contact_pages(assembly, pictures, date=date, sheet=sheet)
        sheets += [step_page(assembly, one, len(pictures), date=date, sheet=sheet) for one in pictures]
        yield 0.9
        return {"steps.pdf": pdf_bytes(sheets)}
    found: dict[str, bytes] = {}
    for number, (name, drawing) in enumerate(_named(assembly, pictures, date, sheet)):
        found[f"{name}.{kind}"] = WRITERS[f".{kind}"](drawing, dpi)
        yield _DRAWN + (1 - _DRAWN) * min(1.0, (number + 1) / (len(pictures) + 1))
    return found


def _named(
    assembly: Assembly, pictures: Sequence[StepPicture], date: str, sheet: Sheet
) -> list[tuple[str, Drawing]]:
    contacts = contact_pages(assembly, pictures, date=date, sheet=sheet)
    names = [f"steps-{number}" if number > 1 else "steps" for number in range(1, len(contacts) + 1)]
    own = [
        (f"step-{one.number:02}", step_page(assembly, one, len(pictures), date=date, sheet=sheet))
        for one in pictures
    ]
    return [*zip(names, contacts, strict=True), *own]


def save_steps(files: dict[str, bytes], folder: Path) -> list[str]:
    """Saves what `step_files` made, and removes the further sheets of an older order that had more steps.

    Returns
    -------
    names of what was saved

    Raises
    ------
    ExportError : where a file cannot be written, or an older one not be removed
    """
    names = save_files(files, folder)
    for suffix in {Path(name).suffix for name in names} - {".pdf"}:
        for pattern, number in (("steps-{}", 2), ("step-{:02}", 1)):
            _remove_beyond(folder, pattern + suffix, number, names)
    return names


def _remove_beyond(folder: Path, pattern: str, number: int, names: Sequence[str]) -> None:
    """Removes files numbered from `number` on, without a gap, but for those named."""
    while (name := pattern.format(number)) in names or (folder / name).is_file():
        if name not in names:
            try:
                (folder / name).unlink()
            except OSError as error:
                raise ExportError(
                    f"{folder / name} is of an older order, but cannot be removed ({error.strerror}): remove it."
                ) from None
        number += 1
