"""Whole jobs for scripts and the command line: a table file's text in, a .blend, a picture or a video out.

They need Blender, but neither a window nor the add-on switched on.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import bpy
from bpy.types import Scene

from ..check.tolerance.shop import FEW
from ..files import saving
from ..files.table_file import read_text
from ..sizes.errors import ExportError
from . import answer, pending, seeing, tables
from .built import table_of
from .motion import motion
from .pictures import pictures, studio, video
from .pictures.video import Progress
from .state import properties
from .state.properties import DRY_ASSEMBLY_PG_table as TableState


def read(path: str | Path) -> str:
    """The text of a table file. Raises TableFileError."""
    return read_text(path)


def build(text: str, blend: str | Path, arrange: Callable[[TableState], object] | None = None) -> None:
    """Writes a .blend of a table: parts, collections, materials, stow animation, camera and lights, findings.

    Parameters
    ----------
    arrange : called with the table before the file is saved, to show something of it

    Raises
    ------
    DryAssemblyError
        Where the table cannot be built, or the file not written.
    """
    table_of(text)
    with _properties():
        bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
        scene = bpy.context.scene
        made = tables.create_table(scene, text)
        answer.answer_now(made)
        motion.animate(made)
        studio.add_camera(scene, made.key)
        for space in seeing.views():
            space.shading.type = "MATERIAL"
            space.region_3d.view_perspective = "CAMERA"
        if arrange is not None:
            arrange(made)
        with written(blend) as path:
            save_blend(path)


def save_blend(path: str | Path) -> None:
    """Writes the .blend file, without changing what Blender takes for the open file's name."""
    bpy.ops.wm.save_as_mainfile(filepath=str(path), copy=True, check_existing=False, compress=True)


def render(text: str, image: str | Path, stowed: bool = False) -> None:
    """Writes a PNG of a table with its cover on, or with the leaves stowed and the tightest place marked.

    Raises
    ------
    DryAssemblyError
        Where the table cannot be built, or the file not written.
    """
    table = table_of(text)
    with written(image) as path:
        (pictures.stowed if stowed else pictures.assembled)(table, path)


def animate(text: str, file: str | Path, progress: Progress | None = None) -> int:
    """Writes an MP4 of the leaves sliding home; the number of its frames.

    Parameters
    ----------
    progress : called with the frames done and the frames in all

    Raises
    ------
    DryAssemblyError
        Where the table cannot be built, or the file not written.
    """
    table = table_of(text)
    with written(file) as path:
        return video.video(table, path, progress=progress)


def parameter_drag(
    scene: Scene, text: str, section: str = "table", name: str = "height", *, lines: bool = False
) -> Callable[[], None]:
    """For measurements: a function that moves a length on and waits for objects, and for findings as drawn.

    Each call adds a tenth of a millimeter to what the file says, so that the value was not there before. The tree of
    properties stays registered.

    Parameters
    ----------
    section, name : which length, as in the table file
    lines : wait for the other two lines as well, of a few random tables
    """
    if not _is_registered():
        properties.register()
    made = tables.create_table(scene, text)
    group = getattr(made.parameters, section)
    start, calls = getattr(group, name), 0

    def drag() -> None:
        nonlocal calls
        calls += 1
        setattr(group, name, start + calls * 1e-4)
        tables.check_now(made)
        if lines:
            answer.hand_now(made)
            answer.answer_now(made, FEW)

    return drag


def _is_registered() -> bool:
    return hasattr(bpy.types.Scene, "dry_assembly")


@contextmanager
def _properties() -> Iterator[None]:
    """The tree of properties, for as long as the job takes where the add-on is not switched on."""
    if _is_registered():
        yield
        return
    properties.register()
    try:
        yield
    finally:
        pending.cancel()
        properties.unregister()


@contextmanager
def written(path: str | Path) -> Iterator[Path]:
    """A path for Blender to write to instead; what is there afterwards takes the place of the file.

    Raises ExportError where no file comes of it.
    """
    with saving.written(path) as scratch:
        try:
            yield scratch
        except RuntimeError as error:
            why = str(error).replace(str(scratch), str(path)).strip()
            raise ExportError(f"{path} cannot be written: {why}") from error
        if not scratch.exists():
            raise ExportError(
                f"{path} cannot be written: Blender left no file; check the place and its permissions."
            )
