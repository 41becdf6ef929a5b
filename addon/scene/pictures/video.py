"""The video: the leaves carried from the cover and slid home, the tightest places enlarged, the poses that snag."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date as calendar
from pathlib import Path
from typing import Final

import bpy
import numpy as np
from bpy.types import Scene

from ...designs.table.parameters import Table
from ...files.saving import temporary_folder
from ...sizes.arrays import Floats
from ...sizes.tolerances import CONTACT
from .. import marks, snag
from ..built import assembly_of, objects_of, prepared_of, proofs_of, report_of, told
from ..description import METERS, PartObject, TableObjects
from ..motion import animation, timeline
from . import engines, framing
from .pictures import Paper, corners, is_shown_open
from .studio import flat_camera, studio
from .video_layers import STRIP, Painter, Places, composed, places_of
from .video_script import STEP, Pause, Script, script_of

Progress = Callable[[int, int], None]

VIDEO: Final = (960, 600)
"""Pixels."""
ALONG: Final = (44.0, -24.0)
"""Elevation and azimuth of the eye, degrees."""
SEEN_OUTSIDE: Final = 0.5
"""Share of the way outside that the picture takes in; leaves come in from beyond its edge."""
RING: Final = 3.0
"""Radius of the ring around a place that is enlarged, in units of the lettering's paper."""


def video(
    table: Table, path: str | Path, size: tuple[int, int] = VIDEO, progress: Progress | None = None
) -> int:
    """The leaves carried from the cover and slid home, one after the other, as an MP4; the number of frames.

    Raises
    ------
    DryAssemblyError
        Where the table cannot be built.
    """
    with video_scene(table, path, size) as scene:
        frames = len(range(scene.frame_start, scene.frame_end + 1, scene.frame_step))
        with _Counting(scene, frames, progress):
            engines.render_video(scene)
    return frames


@contextmanager
def video_scene(
    table: Table, path: str | Path, size: tuple[int, int] = VIDEO, date: str = ""
) -> Iterator[Scene]:
    """What `video` renders. Raises DryAssemblyError where the table cannot be built.

    Parameters
    ----------
    size : in pixels, even
    date : as the video is to say it; today's by default
    """
    made, assembly, prepared = objects_of(table), assembly_of(table), prepared_of(table)
    script = script_of(table, prepared, report_of(table).leaves, proofs_of(table))
    points = _swept(made, script.line)
    view = framing.fit(points, framing.axes_of(*ALONG), size, (0.02, 0.02, STRIP + 0.03, 0.03))
    body, swept = (
        view.project(one) / [view.width, view.height] + 0.5 for one in (corners(made, is_shown_open), points)
    )
    places = places_of(size, body, swept)
    with (
        temporary_folder() as folder,
        studio(made, "drawing", size, is_shown_open) as room,
    ):
        flat_camera(room, view)
        parts = {part.label: part for part in made.parts}
        animation.animate(room.parts, parts, assembly, "in turn", script.waits)
        room.scene.frame_start, room.scene.frame_end = script.line.first, script.line.last
        room.scene.frame_step = STEP
        paper = Paper(room, view)
        _point_at(paper, timeline.marks(script.line, report_of(table).leaves))
        for pause in script.pauses:
            _show_pause(paper, pause, script, places, parts[pause.leaf])
        engines.quick(room.scene)
        today = date or calendar.today().isoformat()
        painter = Painter(table, prepared, places, view, today, folder, told(table).table)
        with composed(room.scene, painter.layers(script)) as together, _Painting(together, painter):
            engines.video_file(together, path, timeline.FRAME_RATE // STEP)
            yield together


def _swept(made: TableObjects, line: timeline.Timeline) -> Floats:
    """(n, 3) float, m: the body, and as much of every leaf before its slot as the video shows."""
    points = [corners(made, is_shown_open)]
    for part in made.parts:
        if part.label in line.leaves:
            move = line.leaves[part.label].path.moves[0]
            placed = part.mesh.positions @ part.matrix[:3, :3].T + part.matrix[:3, 3]
            points.append(placed + move.start * METERS * SEEN_OUTSIDE)
    return np.concatenate(points)


def _point_at(paper: Paper, found: list[timeline.Mark]) -> None:
    """Rings around overlaps and tight places, hatching on parts that collide."""
    for mark in found:
        material = marks.material_of(mark)
        place = paper.view.project(np.array(mark.at) * METERS)[0]
        made = [paper.stroke(paper.circle(place, 3.0), 0.8, material, closed=True)]
        if mark.word == "overlap":
            parts = [
                paper.studio.parts[label] for label in (mark.leaf, mark.other) if label in paper.studio.parts
            ]
            made += [paper.studio.add(marks.hatched(part, material)) for part in parts]
        for item in made:
            marks.show_between(item, *mark.frames)


def _show_pause(paper: Paper, pause: Pause, script: Script, places: Places, part: PartObject) -> None:
    """A ring around what the inset enlarges, a line from there to the inset, and the leaf as it snags."""
    poses = [
        one.pose for one in script.moments if one.pose and pause.frames[0] <= one.frame <= pause.frames[1]
    ]
    if not poses:
        return
    if pause.snag is not None:
        at = np.array(pause.snag.view.of.place(*pause.snag.corner))
        ghost = paper.studio.add(snag.ghost_of(paper.studio.parts[pause.leaf], part, pause.snag))
        marks.show_between(ghost, *pause.frames)
    else:
        at = np.array(poses[0].span).mean(axis=0)
    bad = pause.snag is not None or poses[0].clearance < -CONTACT
    material = marks.overlap_paint() if bad else marks.tight_paint()
    place = paper.view.project(at * METERS)[0]
    left, bottom, width, height = places.inset
    box = np.array([(left, bottom), (left + width, bottom + height)]) / places.size - 0.5
    box *= [paper.view.width, paper.view.height]
    end = np.clip(place, *box)
    made = [paper.stroke(paper.circle(place, RING), 0.7, material, closed=True)]
    distance = float(np.linalg.norm(end - place))
    if distance > RING * paper.unit:
        start = place + (end - place) / distance * RING * paper.unit
        made.append(paper.stroke(np.array([start, end]), 0.35, material))
    for item in made:
        marks.show_between(item, *pause.frames)


class _Painting:
    """Has the layers of each frame drawn before it is put together.

    Blender goes on where that fails; the first error is raised at the end, so that no video is kept without its words.
    """

    def __init__(self, scene: Scene, painter: Painter) -> None:
        self.name, self.painter = scene.name, painter
        self.error: Exception | None = None

    def __enter__(self) -> None:
        bpy.app.handlers.render_pre.append(self._before)

    def __exit__(self, kind: object, *_rest: object) -> None:
        bpy.app.handlers.render_pre.remove(self._before)
        if self.error is not None and kind is None:
            raise self.error

    def _before(self, scene: Scene, *_rest: object) -> None:
        if scene.name != self.name or self.error is not None:
            return
        try:
            self.painter.paint(scene.frame_current)
        except Exception as error:
            self.error = error


class _Counting:
    """Reports frames as they are rendered."""

    def __init__(self, scene: Scene, frames: int, progress: Progress | None) -> None:
        self.name, self.frames, self.progress, self.done = scene.name, frames, progress, 0

    def __enter__(self) -> None:
        bpy.app.handlers.render_post.append(self._rendered)

    def __exit__(self, *_error: object) -> None:
        bpy.app.handlers.render_post.remove(self._rendered)

    def _rendered(self, scene: Scene, *_rest: object) -> None:
        if scene.name != self.name:
            return  # the scene below the layers
        self.done += 1
        if self.progress is not None:
            self.progress(self.done, self.frames)
