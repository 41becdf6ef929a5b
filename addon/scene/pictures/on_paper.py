"""Pictures on paper of a table: its lines, or what Blender renders with the camera of the line drawing."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from math import asin, atan2, degrees
from pathlib import Path
from typing import Final, cast

import bpy
import numpy as np
from bpy.types import Object, Scene
from mathutils import Quaternion, Vector
from numpy.typing import NDArray

from ...check.progress import Steps, share_of
from ...designs.table.parameters import Table
from ...designs.words.answer import Lines
from ...files.saving import temporary_folder
from ...paper.exploded_page import exploded_steps
from ...paper.sheet import Drawing, save
from ...paper.sheet.save import drawing_bytes, suffix_of
from ...paper.table_page import Leaves, Style, StyledPage, line_picture, styled_page
from ...paper.views import SHEETS, Frame
from ...sizes.errors import ExportError
from .. import access
from ..built import assembly_of, objects_of, told, told_steps
from ..description import METERS, PartObject
from ..materials import tone_of
from ..motion import animation
from ..state.choices import STYLE_ITEMS, VIEW_3D
from ..state.choices import DRY_ASSEMBLY_PG_sheet as SheetState
from ..state.properties import DRY_ASSEMBLY_PG_table as TableState
from . import engines
from .framing import View
from .rendering import Kind, path_of
from .studio import WHITE, flat_camera, ground, lights, studio

Dots = NDArray[np.uint8]

STEEP: Final = 89.9
"""Elevation from which a view counts as straight from above, degrees."""


def picture_ending(sheet: SheetState) -> str:
    """What the name of the picture's file ends with."""
    stowed = "-stowed" if sheet.leaves == "stowed" else ""
    return f"{sheet.style}-{sheet.view}{stowed}.{sheet.format}"


def exploded_ending(sheet: SheetState, once: bool) -> str:
    """The same of the exploded picture; `once`: like parts are drawn once."""
    return f"exploded-{sheet.view}{'-once' if once else ''}.{sheet.format}"


def kind_of(state: TableState, date: str, looking: Quaternion | None = None) -> Kind:
    """The picture that the table's scene asks for.

    Parameters
    ----------
    date : as it is to stand in the title block
    looking : turn of the 3D view, should the picture be seen as there

    Raises
    ------
    ExportError : where it should, and there is no 3D view
    DryAssemblyError : where the table cannot be built
    """
    sheet = access.scene_of(state).dry_assembly.sheet
    view = view_of(state, looking)
    answer = told(access.table_in(state)).table
    ending = picture_ending(sheet)
    label, meaning = next((name, words) for style, name, words in STYLE_ITEMS if style == sheet.style)
    if sheet.style == "lines":
        save_lines = partial(_save_lines, sheet=sheet, view=view, date=date, answer=answer)
        return Kind(label, meaning, ending, None, save_lines)
    choice = Choice(
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
        partial(picture_scene, choice=choice, date=date, answer=answer),
        partial(save_picture, choice=choice, date=date, answer=answer),
    )


def exploded_files(
    state: TableState, table: Table, date: str, looking: Quaternion | None
) -> Steps[dict[str, bytes]]:
    """The exploded picture by the name of its file, seen, labeled and saved as `kind_of` says.

    Raises ExportError where it should be seen as in the 3D view, and there is none.
    """
    sheet, once = access.scene_of(state).dry_assembly.sheet, state.explosion_once
    name = path_of(state, exploded_ending(sheet, once)).name
    return (yield from as_file(exploded_drawing(state, table, date, looking), name, sheet.dpi))


def exploded_drawing(
    state: TableState, table: Table, date: str, looking: Quaternion | None
) -> Steps[Drawing]:
    """The exploded picture; parameters and errors as of `exploded_files`."""
    sheet, view = access.scene_of(state).dry_assembly.sheet, view_of(state, looking)
    answer = (yield from share_of(told_steps(table), 0.0, 0.2)).table
    drawing = exploded_steps(
        assembly_of(table),
        date=date,
        view=view,
        once=state.explosion_once,
        labels=sheet.labels,
        sheet=SHEETS.get(sheet.size),
        answer=answer,
    )
    return (yield from share_of(drawing, 0.2, 1.0))


def lines_drawing(state: TableState, table: Table, date: str, looking: Quaternion | None) -> Steps[Drawing]:
    """The picture in lines that the table's scene asks for, for `looking` see `kind_of`. Raises DryAssemblyError."""
    sheet, view = access.scene_of(state).dry_assembly.sheet, view_of(state, looking)
    answer = (yield from share_of(told_steps(table), 0.0, 0.4)).table
    return _lines(table, sheet, view, date, answer)


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
    if looking is None:
        raise ExportError("No 3D view to look from: choose another view, or press the button in a 3D view.")
    turn = state.root.matrix_world.to_quaternion().inverted() @ looking
    toward, up = turn @ Vector((0.0, 0.0, 1.0)), turn @ Vector((0.0, 1.0, 0.0))
    elevation = degrees(asin(min(max(toward.z, -1.0), 1.0)))
    # Straight from above or below, what is up on the screen tells the azimuth.
    side = toward if abs(elevation) < STEEP else up * (-1 if elevation > 0 else 1)
    return f"{round(degrees(atan2(side.x, -side.y)), 1) + 0.0:g},{round(elevation, 1) + 0.0:g}"


def _save_lines(table: Table, path: Path, sheet: SheetState, view: str, date: str, answer: Lines) -> None:
    save(_lines(table, sheet, view, date, answer), path, sheet.dpi)


def _lines(table: Table, sheet: SheetState, view: str, date: str, answer: Lines) -> Drawing:
    return line_picture(
        assembly_of(table),
        date=date,
        view=view,
        leaves=sheet.leaves,
        labels=sheet.labels,
        sheet=SHEETS.get(sheet.size),
        answer=answer,
    )


GLASS: Final = (0.62, 0.66, 0.70)
"""Color of a body that is seen through, linear RGB."""
SHARE: Final = 0.12
"""How much each of its surfaces covers."""

LIGHT: Final = np.array([-0.35, 0.6, 0.72])
"""Where the light comes from: the upper left, before the table. Right, up, toward the eye."""
DARKEST: Final = 0.4
"""Brightness of a face that is turned away from it, linear."""
PALER: Final = 0.12
"""How much white is in the colors of the wood, so that lines stand out."""

LOOKS: Final[dict[str, engines.Look]] = {"workbench": "drawing", "cycles": "render"}
"""Engine, by its name in Blender → look."""


@dataclass(frozen=True)
class Choice:
    """How a table is to be shown.

    Parameters
    ----------
    engine : one of `LOOKS`; what is shaded or transparent is always drawn by Workbench
    view : as of `paper.views.view_from`
    labels : whether parts have their labels
    sheet : one of `paper.views.SHEETS`; None for the one that shows the table well
    dpi : dots an inch of the picture
    """

    style: Style
    engine: str = "workbench"
    view: str = "isometric"
    leaves: Leaves = "covered"
    labels: bool = False
    sheet: str | None = None
    dpi: float = 150.0


def save_picture(
    table: Table, path: str | Path, choice: Choice, date: str, answer: Lines = ()
) -> None:  # fmt: skip
    """Renders a table onto a sheet of paper, an SVG, PNG or PDF file.

    Parameters
    ----------
    answer : the three lines for the title block; () where nobody asked

    Raises
    ------
    DryAssemblyError : where the table cannot be built or drawn, or the file not written; it is as it was
    """
    with picture_scene(table, path, choice, date, answer) as scene:
        engines.render_picture(scene)


@contextmanager
def picture_scene(
    table: Table, path: str | Path, choice: Choice, date: str, answer: Lines = ()
) -> Iterator[Scene]:  # fmt: skip
    """What `save_picture` renders; the file is written at the end, where nothing went wrong until then.

    Raises DryAssemblyError as `save_picture` does.
    """
    suffix_of(path)
    page = page_of(table, choice)
    frame = page.frame(choice.dpi)
    with temporary_folder() as folder:
        picture = folder / "picture.png"
        with raster_scene(table, page, frame, choice.engine, picture) as scene:
            yield scene
        pixels = read_dots(picture)
    save(page.drawing(date, frame, pixels, answer), path, choice.dpi)


def page_of(table: Table, choice: Choice) -> StyledPage:
    """The page that a choice asks for. Raises DryAssemblyError where the table cannot be built or drawn."""
    sheet = None if choice.sheet is None else SHEETS[choice.sheet]
    return styled_page(
        assembly_of(table),
        choice.style,
        view=choice.view,
        leaves=choice.leaves,
        labels=choice.labels,
        sheet=sheet,
    )


def raster(table: Table, page: StyledPage, frame: Frame, engine: str) -> Dots:
    """What a frame shows: (rows, columns, 4) uint8, transparent where there is nothing.

    Raises
    ------
    DryAssemblyError : where the table cannot be built
    """
    with temporary_folder() as folder:
        path = folder / "picture.png"
        with raster_scene(table, page, frame, engine, path) as scene:
            engines.render_picture(scene)
        return read_dots(path)


@contextmanager
def raster_scene(table: Table, page: StyledPage, frame: Frame, engine: str, path: Path) -> Iterator[Scene]:
    """What `raster` renders, into a file."""
    made = objects_of(table)
    view = View(frame.axes, frame.middle * METERS, frame.width * METERS, frame.height * METERS)
    look = LOOKS[engine] if page.style == "rendered" else "drawing"
    with studio(made, look, (frame.columns, frame.rows)) as room:
        flat_camera(room, view)
        for part in made.parts:
            if part.role.slides and page.leaves == "stowed":
                animation.stow(room.parts[part.label], part)
        if page.style != "rendered":
            engines.under_lines(room.scene, page.style == "shaded")
            for part in made.parts:
                _color(room.parts[part.label], part, page)
        elif engine == "cycles":
            reach = float(np.ptp(made.extent()[:, :2], axis=0).max())
            lights(room.scene.collection, reach)
            if page.view.axes[2, 2] > 0:  # seen from above: a floor as white as the paper
                ground(room, reach, WHITE)
            else:
                engines.finer(room.scene)
        else:
            engines.with_shadows(room.scene)
        engines.picture_file(room.scene, path)
        engines.without_background(room.scene)
        yield room.scene


def _color(item: Object, part: PartObject, page: StyledPage) -> None:
    """The colors under the lines: faces shaded, or glass but for the leaves where the body is to be seen through."""
    tone = np.array(tone_of(part.role).screen)
    if page.style == "transparent":
        item.color = (*tone, 1.0) if part.role.slides else (*GLASS, SHARE)
        return
    stands = part.matrix if part.cover is None or page.leaves == "stowed" else part.cover
    corners = part.mesh.positions[part.mesh.triangles].astype(float)
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    normals /= np.maximum(np.linalg.norm(normals, axis=1, keepdims=True), np.finfo(float).tiny)
    light = LIGHT / np.linalg.norm(LIGHT)
    facing = (normals @ stands[:3, :3].T @ page.view.axes.T @ light + 1) / 2
    shade = DARKEST + (1 - DARKEST) * facing**2
    painted = np.ones((len(shade), 3, 4), dtype=np.float32)
    painted[:, :, :3] = (shade[:, None] * (PALER + (1 - PALER) * tone))[:, None]
    colors = item.data.color_attributes.new("Shade", "FLOAT_COLOR", "CORNER")
    colors.data.foreach_set("color", painted.ravel())


def read_dots(path: Path) -> Dots:
    """(rows, columns, 4) uint8, straight alpha, the upper left dot first, of a PNG file."""
    image = bpy.data.images.load(str(path))
    try:
        columns, rows = cast("tuple[int, int]", image.size)
        values = np.empty(columns * rows * 4, dtype=np.float32)
        image.pixels.foreach_get(values)
    finally:
        bpy.data.images.remove(image)
    return np.rint(values.reshape(rows, columns, 4)[::-1] * 255).astype(np.uint8)
