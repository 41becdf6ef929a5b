"""Pictures on paper of a table in the scene, as its scene's choices have them."""

from __future__ import annotations

from functools import partial
from math import asin, atan2, degrees
from typing import TYPE_CHECKING, Final

from mathutils import Vector

from ..check.progress import share_of
from ..paper.exploded_page import exploded_steps
from ..paper.sheet import save
from ..paper.sheet.save import drawing_bytes
from ..paper.table_page import line_picture
from ..paper.views import SHEETS
from ..sizes.errors import ExportError
from . import access, styles
from .built import assembly_of
from .rendering import Kind, path_of
from .sheet_state import STYLE_ITEMS, VIEW_3D

if TYPE_CHECKING:
    from pathlib import Path

    from mathutils import Quaternion

    from ..check.progress import Steps
    from ..designs.table.parameters import Table
    from ..paper.sheet import Drawing
    from .sheet_state import DRY_ASSEMBLY_PG_sheet as SheetState
    from .state import DRY_ASSEMBLY_PG_table as TableState

STEEP: Final = 89.9
"""Elevation from which a view counts as straight from above, degrees."""


def kind_of(state: TableState, date: str, looking: Quaternion | None = None) -> Kind:
    """The picture that the table's scene asks for.

    Parameters
    ----------
    date : as it is to stand in the title block
    looking : turn of the 3D view, should the picture be seen as there

    Raises
    ------
    ExportError : where it should, and there is no 3D view
    """
    sheet = access.scene_of(state).dry_assembly.sheet
    view = view_of(state, looking)
    stowed = "-stowed" if sheet.leaves == "stowed" else ""
    ending = f"{sheet.style}-{sheet.view}{stowed}.{sheet.format}"
    label, meaning = next((name, words) for style, name, words in STYLE_ITEMS if style == sheet.style)
    if sheet.style == "lines":
        return Kind(label, meaning, ending, None, partial(_save_lines, sheet=sheet, view=view, date=date))
    choice = styles.Choice(
        sheet.style,
        engine=sheet.engine,
        view=view,
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


def exploded_files(
    state: TableState, table: Table, date: str, looking: Quaternion | None
) -> Steps[dict[str, bytes]]:
    """The exploded picture by the name of its file, seen, labeled and saved as `kind_of` says.

    Raises ExportError where it should be seen as in the 3D view, and there is none.
    """
    sheet, once = access.scene_of(state).dry_assembly.sheet, state.explosion_once
    drawing = exploded_steps(
        assembly_of(table),
        date=date,
        view=view_of(state, looking),
        once=once,
        labels=sheet.labels,
        sheet=SHEETS.get(sheet.size),
    )
    name = path_of(state, f"exploded-{sheet.view}{'-once' if once else ''}.{sheet.format}").name
    return as_file(drawing, name, sheet.dpi)


def as_file(drawing: Steps[Drawing], name: str, dpi: float) -> Steps[dict[str, bytes]]:
    """A drawing as the only one of several files."""
    done = yield from share_of(drawing, 0.0, 0.8)
    yield 0.8
    return {name: drawing_bytes(done, name, dpi)}


def view_of(state: TableState, looking: Quaternion | None) -> str:
    """Where the table is seen from, as `view_from` takes it.

    Parameters
    ----------
    looking : turn of the 3D view, should the picture be seen as there

    Raises
    ------
    ExportError : where it should, and there is no 3D view
    """
    view = access.scene_of(state).dry_assembly.sheet.view
    return view if view != VIEW_3D else direction_of(state, looking)


def direction_of(state: TableState, looking: Quaternion | None) -> str:
    """Azimuth and elevation, degrees, from which the 3D view looks at the table, as `view_from` takes them.

    Raises
    ------
    ExportError : where there is no 3D view
    """
    if looking is None or state.root is None:
        raise ExportError("No 3D view to look from: choose another view, or press the button in a 3D view.")
    turn = state.root.matrix_world.to_quaternion().inverted() @ looking
    toward, up = turn @ Vector((0.0, 0.0, 1.0)), turn @ Vector((0.0, 1.0, 0.0))
    elevation = degrees(asin(min(max(toward.z, -1.0), 1.0)))
    # Straight from above or below, what is up on the screen tells the azimuth.
    side = toward if abs(elevation) < STEEP else up * (-1 if elevation > 0 else 1)
    return f"{round(degrees(atan2(side.x, -side.y)), 1) + 0.0:g},{round(elevation, 1) + 0.0:g}"


def _save_lines(table: Table, path: Path, sheet: SheetState, view: str, date: str) -> None:
    drawing = line_picture(
        assembly_of(table),
        date=date,
        view=view,
        leaves=sheet.leaves,
        labels=sheet.labels,
        sheet=SHEETS.get(sheet.size),
    )
    save(drawing, path, sheet.dpi)
