"""Pictures and videos of a table that is in the scene: at once for scripts, or while the window goes on."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager, ExitStack
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import bpy
from bpy.types import Scene

from ...designs.table.parameters import Table
from ...sizes.errors import ExportError
from .. import access, preferences
from ..jobs import written
from ..state.properties import DRY_ASSEMBLY_PG_table as TableState
from . import engines, pictures, video


@dataclass(frozen=True)
class Kind:
    """A kind of picture.

    Parameters
    ----------
    ending : of the file's name, after the table's
    scene : what sets up the scene that is rendered, for a table and a path; None where nothing is rendered
    render : what makes the file at once
    """

    label: str
    meaning: str
    ending: str
    scene: Callable[[Table, Path], AbstractContextManager[Scene]] | None
    render: Callable[[Table, Path], object]


KINDS: Final[dict[str, Kind]] = {
    "assembled": Kind(
        "Covered",
        "A render of the table with its cover on",
        "covered.png",
        pictures.assembled_scene,
        pictures.assembled,
    ),
    "stowed": Kind(
        "Stowed",
        "A drawing from above into the body, leaves stowed, the tightest place marked",
        "stowed.png",
        pictures.stowed_scene,
        pictures.stowed,
    ),
    "video": Kind(
        "Video",
        "A video of the leaves sliding home one after the other",
        "video.mp4",
        video.video_scene,
        video.video,
    ),
}


def folder_of(state: TableState) -> Path:
    """Where pictures go: the folder given, or the one preferred; beside the .blend file ("//") only once that is saved.

    Until then beside the table file, or else in the user's home folder.
    """
    group = access.scene_of(state).dry_assembly
    chosen = group.pictures_folder if group.is_property_set("pictures_folder") else preferences.folder()
    given = chosen or "//"
    if not given.startswith("//") or bpy.data.filepath:
        return Path(bpy.path.abspath(given))
    return Path(bpy.path.abspath(state.path)).parent if state.path else Path.home()


def need_folder(state: TableState) -> None:
    """Raises ExportError where the folder for pictures is not there."""
    folder = folder_of(state)
    if not folder.is_dir():
        raise ExportError(f"There is no folder {folder}: make it, or choose another for the pictures.")


def path_of(state: TableState, ending: str) -> Path:
    """Where a file of a table goes whose name has this ending."""
    name = bpy.path.clean_name(state.name).lower().replace("_", "-")
    return folder_of(state) / f"{name}-{ending}"


def render_now(state: TableState, kind: Kind) -> Path:
    """Makes a picture or video, and waits for it; the file's path.

    Raises
    ------
    DryAssemblyError
        Where the table cannot be built, or the file not written.
    """
    path = path_of(state, kind.ending)
    with written(path) as scratch:
        kind.render(access.table_in(state), scratch)
    return path


class Rendering:
    """A picture or video in the making, in a scene of its own that has to be tidied away: call `finish` in any case."""

    def __init__(self, state: TableState, kind: Kind) -> None:
        """Starts it, of a kind that is rendered.

        Raises DryAssemblyError where the table cannot be built, or there is no such folder.
        """
        if kind.scene is None:
            raise ValueError(f"{kind.label} is not rendered")
        self.path = path_of(state, kind.ending)
        self.cancelled = False
        self.done = 0
        self._stack = ExitStack()
        try:
            scratch = self._stack.enter_context(written(self.path))
            scene = self._stack.enter_context(kind.scene(access.table_in(state), scratch))
            video = engines.is_video(scene)
            self.frames = len(range(scene.frame_start, scene.frame_end + 1, scene.frame_step)) if video else 1
            self._listen(bpy.app.handlers.render_cancel, self._stopped)
            self._scene = scene.name
            self._listen(bpy.app.handlers.render_post, self._rendered)
            engines.start(scene)
        except BaseException as error:
            self._stack.__exit__(type(error), error, error.__traceback__)
            raise

    def _listen(self, handlers: list[Any], handler: Callable[..., None]) -> None:
        handlers.append(handler)
        self._stack.callback(handlers.remove, handler)

    def _rendered(self, scene: Scene, *_unused: Any) -> None:
        self.done += (
            scene.name == self._scene
        )  # a video's frames are put together from those of another scene

    def _stopped(self, *_unused: Any) -> None:
        self.cancelled = True

    @property
    def words(self) -> str:
        """How far it is."""
        frame = f", frame {min(self.done + 1, self.frames)} of {self.frames}" if self.frames > 1 else ""
        return f"Rendering {self.path.name}{frame}: Esc stops it"

    @property
    def goes_on(self) -> bool:
        """Whether Blender still renders."""
        return engines.is_rendering()

    def finish(self) -> bool:
        """Tidies up; whether the file is there. Raises ExportError where it could not be written."""
        if not self.cancelled:
            self._stack.close()
            return True
        self._stack.__exit__(_Stopped, _Stopped(), None)
        return False


class _Stopped(Exception):
    """The user stopped it: no file takes the old one's place."""
