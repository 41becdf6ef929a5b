"""Pictures on paper of a table in the scene, as its scene's choices have them."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from ..shop.drawing import save
from ..shop.lines import SHEETS, line_picture
from . import access, styles
from .built import assembly_of
from .rendering import Kind
from .sheet_state import STYLE_ITEMS

if TYPE_CHECKING:
    from pathlib import Path

    from ..model.parameters import Table
    from .sheet_state import DRY_ASSEMBLY_PG_sheet as SheetState
    from .state import DRY_ASSEMBLY_PG_table as TableState


def kind_of(state: TableState, date: str) -> Kind:
    """The picture that the table's scene asks for.

    Parameters
    ----------
    date : as it is to stand in the title block
    """
    sheet = access.scene_of(state).dry_assembly.sheet
    stowed = "-stowed" if sheet.leaves == "stowed" else ""
    ending = f"{sheet.style}-{sheet.view}{stowed}.{sheet.format}"
    label, meaning = next((name, words) for style, name, words in STYLE_ITEMS if style == sheet.style)
    if sheet.style == "lines":
        return Kind(label, meaning, ending, None, partial(_save_lines, sheet=sheet, date=date))
    choice = styles.Choice(
        sheet.style,
        engine=sheet.engine,
        view=sheet.view,
        leaves=sheet.leaves,
        labels=sheet.labels,
        sheet=None if sheet.size == "fit" else sheet.size,
        dpi=sheet.dpi,
    )
    return Kind(
        label,
        meaning,
        ending,
        partial(styles.picture_scene, choice=choice, date=date),
        partial(styles.save_picture, choice=choice, date=date),
    )


def _save_lines(table: Table, path: Path, sheet: SheetState, date: str) -> None:
    drawing = line_picture(
        assembly_of(table),
        date=date,
        view=sheet.view,
        leaves=sheet.leaves,
        labels=sheet.labels,
        sheet=SHEETS.get(sheet.size),
    )
    save(drawing, path, sheet.dpi)
