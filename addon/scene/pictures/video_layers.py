"""What lies over the video: the strip with words and numbers below, the enlarged section in a corner.

Blender's sequencer lays these pictures over the frames while it renders, so that one job has progress, Esc and the
encoder; what it calls its strips changed with version 4.4 (`sequences` before).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path
from shutil import copyfile
from typing import Any, Final

import bpy
import numpy as np
from bpy.types import Scene

from ...check.prepared import Prepared
from ...check.row.leaf_rows import LeafRow, leaf_rows
from ...designs.table.parameters import Table
from ...designs.words.answer import Lines
from ...paper.close_up import draw_running, draw_snag, enlarged, seen, view_of, walls
from ...paper.sheet import Drawing, Pen
from ...paper.sheet.clip import clip_ring
from ...paper.sheet.dimensions import fitted
from ...paper.sheet.lettering import shortened, text_width
from ...paper.sheet.palette import GRAY, grade_mark, verdict_mark
from ...paper.sheet.png import png_bytes
from ...paper.sheet.raster import dots
from ...sizes.arrays import Floats
from ...sizes.tolerances import CONTACT
from ...sizes.units import MM_PER_INCH
from .framing import View
from .pictures import not_shown
from .video_script import STEP, Moment, Script

Box = tuple[int, int, int, int]


@dataclass(frozen=True)
class Layer:
    """Pictures of one size that lie over the video, one a frame.

    Parameters
    ----------
    first : frame of the first one
    channel : 1 or more; layers of one channel follow each other
    files : one for each frame of the scene from there on, PNG, all in one folder
    box : left, bottom, width and height in pixels, from the video's lower left corner; all even, so that no dot has to
        be blended with its neighbors
    """

    first: int
    channel: int
    files: tuple[Path, ...]
    box: tuple[int, int, int, int]


@contextmanager
def composed(scene: Scene, layers: Sequence[Layer]) -> Iterator[Scene]:
    """A scene whose video is that of `scene`, with its size, frames and step, under layers that do not overlap."""
    video = bpy.data.scenes.new("Dry Assembly Video")
    try:
        _as_large(video, scene)
        strips = _strips(video)
        strips.new_scene("Table", scene, channel=1, frame_start=scene.frame_start)
        for layer in layers:
            _lay(strips, layer, (video.render.resolution_x, video.render.resolution_y))
        yield video
    finally:
        bpy.data.scenes.remove(video)


def _as_large(video: Scene, scene: Scene) -> None:
    render = video.render
    render.resolution_x, render.resolution_y = scene.render.resolution_x, scene.render.resolution_y
    render.resolution_percentage = 100
    render.use_sequencer = True
    video.view_settings.view_transform = "Standard"
    video.frame_start, video.frame_end = scene.frame_start, scene.frame_end
    video.frame_step = scene.frame_step


def _strips(scene: Scene) -> Any:
    editor: Any = scene.sequence_editor_create()
    return editor.strips if hasattr(editor, "strips") else editor.sequences


def _lay(strips: Any, layer: Layer, size: tuple[int, int]) -> None:
    strip = strips.new_image(
        "Layer", str(layer.files[0]), layer.channel + 1, layer.first, fit_method="ORIGINAL"
    )
    for file in layer.files[1:]:
        strip.elements.append(file.name)
    strip.blend_type = "ALPHA_OVER"
    left, bottom, width, height = layer.box
    strip.transform.offset_x = left + width / 2 - size[0] / 2
    strip.transform.offset_y = bottom + height / 2 - size[1] / 2


HEIGHT: Final = 150.0
"""Of the video, in units of its layers, so that lettering keeps its share of the picture whatever its size."""
STRIP: Final = 0.1
"""Height of the strip, as a share of the video's."""
INSET: Final = (0.32, 0.38)
"""Width and height of the inset, as shares of the video's."""
MARGIN: Final = 0.015
"""Around the inset, as a share of the video's height."""
LETTERS: Final = 3.4
SMALL: Final = 2.5
"""Heights of capitals, in units."""
_MARKED: Final = 8.0
"""Room for the mark of a line of the answer and around it, in units."""
_SHOWN: Final = 0.6
"""Share of the inset's height up to which a clearance is shown."""


@dataclass(frozen=True)
class Places:
    """Where the layers lie, in pixels: left, bottom, width, height."""

    size: tuple[int, int]
    strip: Box
    inset: Box

    @property
    def unit(self) -> float:
        """Pixels."""
        return self.size[1] / HEIGHT


def places_of(size: tuple[int, int], body: Floats, swept: Floats) -> Places:
    """The strip below, and the inset in the corner where it hides the least.

    Parameters
    ----------
    size : of the video in pixels
    body, swept : (n, 2) float; where in the picture the table is, and where leaves come by as well, from 0 to 1
    """
    width, height = size
    strip = _even(STRIP * height)
    w, h = _even(INSET[0] * width), _even(INSET[1] * height)
    margin = _even(MARGIN * height)
    corners = [(x, y) for y in (height - margin - h, strip + margin) for x in (margin, width - margin - w)]
    hulls = [_hull(points) * size for points in (body, swept)]

    def hidden(at: tuple[int, int]) -> tuple[float, ...]:
        return tuple(round(_area(clip_ring(hull, (*at, at[0] + w, at[1] + h)))) for hull in hulls)

    left, bottom = min(corners, key=hidden)
    return Places(size, (0, 0, width, strip), (left, bottom, w, h))


def _even(pixels: float) -> int:
    return 2 * max(1, round(pixels / 2))


def _hull(points: Floats) -> Floats:
    """The convex hull of (n, 2) points, counterclockwise (monotone chain, Andrew 1979)."""
    order = points[np.lexsort((points[:, 1], points[:, 0]))]

    def chain(some: Floats) -> list[Floats]:
        found: list[Floats] = []
        for point in some:
            while len(found) > 1 and _turn(found[-2], found[-1], point) <= 0:
                found.pop()
            found.append(point)
        return found[:-1]

    return np.array(chain(order) + chain(order[::-1]))


def _turn(a: Floats, b: Floats, c: Floats) -> float:
    return float((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))


def _area(ring: Floats) -> float:
    after = np.roll(ring, -1, axis=0)
    return abs(float((ring[:, 0] * after[:, 1] - ring[:, 1] * after[:, 0]).sum())) / 2


@dataclass(eq=False)
class Painter:
    """Draws the layers of a video into a folder: equal ones once, and each not before its frame comes."""

    table: Table
    prepared: Prepared
    places: Places
    view: View
    date: str
    folder: Path
    answer: Lines = ()
    """Of the table; shown while the leaves cover the well, and when all are stowed."""

    def layers(self, script: Script) -> list[Layer]:
        """The strip over the whole video, and the inset wherever a leaf is near to something."""
        rows = leaf_rows(self.prepared)
        found = [
            Layer(
                script.line.first,
                1,
                self._files(script.moments, [self._strip(one) for one in script.moments]),
                self.places.strip,
            )
        ]
        scales = {
            leaf: enlarged(
                min(one.pose.clearance for one in script.moments if one.pose and one.pose.leaf == leaf)
            )
            for leaf in script.line.leaves
        }
        for shown, group in groupby(script.moments, key=lambda one: self._is_near(one, scales)):
            if shown:
                moments = list(group)
                files = []
                for one in moments:
                    assert one.pose is not None
                    own = [row for row in rows if row.leaf == one.pose.leaf]
                    files.append(self._inset(one, own, scales[one.pose.leaf]))
                found.append(Layer(moments[0].frame, 2, self._files(moments, files), self.places.inset))
        return found

    def paint(self, frame: int) -> None:
        """Draws what lies over this frame of the video and is not there yet."""
        for file in self._of_frame.get(frame, ()):
            self._paint(file)

    def _paint(self, file: Path) -> None:
        if file not in self._waiting:
            return
        box, draw = self._waiting.pop(file)
        drawing = Drawing(box[2] / self.places.unit, box[3] / self.places.unit)
        draw(drawing)
        dpi = self.places.unit * float(MM_PER_INCH)
        scratch = file.with_suffix(".part")
        scratch.write_bytes(png_bytes(dots(drawing, dpi), dpi))
        scratch.replace(file)

    def _files(self, moments: Sequence[Moment], files: Sequence[Path]) -> tuple[Path, ...]:
        """One for each frame of the scene. The first is drawn, as the sequencer takes the size from it.

        It stands in for the others until they are drawn: Blender 4.5 crashes where a picture of a strip is not there.
        """
        self._paint(files[0])
        for moment, file in zip(moments, files, strict=True):
            self._of_frame.setdefault(moment.frame, []).append(file)
            if not file.exists():
                copyfile(files[0], file)
        return tuple(file for file in files for _ in range(STEP))

    def _is_near(self, moment: Moment, scales: dict[str, float]) -> bool:
        pose = moment.pose
        if pose is None or moment.snag is not None:
            return pose is not None
        room = _SHOWN * self.places.inset[3] / self.places.unit
        return abs(pose.clearance) * scales[pose.leaf] <= room

    def _strip(self, moment: Moment) -> Path:
        said = (moment.kind, moment.words, moment.travel, moment.clearance)
        return self._drawn(
            f"strip-{said}", self.places.strip, lambda drawing: self._draw_strip(drawing, moment)
        )

    def _draw_strip(self, drawing: Drawing, moment: Moment) -> None:
        width, height = drawing.width, drawing.height
        drawing.line((0.0, height), (width, height), Pen(0.6))
        x, y = 3.0, 0.62 * height
        if moment.kind == "snag":
            verdict_mark(drawing, x + 2.6, y, 4.6, "needs-steering")
            x += 7.0
        elif moment.pose is not None and moment.pose.clearance < -CONTACT:
            verdict_mark(drawing, x + 2.6, y, 4.6, "does-not-pass")
            x += 7.0
        columns = [(x, moment.words, 0.14)]
        if self.answer and moment.answers:
            self._draw_answer(drawing, 0.36 * width, y)
        elif moment.kind == "snag":
            columns.append((0.72 * width, moment.travel, 0.1))
        else:
            columns += [(0.36 * width, moment.travel, 0.1), (0.62 * width, moment.clearance, 0.14)]
        ends = [*(at for at, words, _ in columns[1:]), 0.36 * width if len(columns) == 1 else width]
        for (at, words, weight), end in zip(columns, ends, strict=True):
            room = end - at - 3.0
            size = fitted(words, LETTERS, room, SMALL)
            drawing.text(shortened(words, size, room), at, y, size, vertical="middle", weight=weight)
        words = [self.table.name, "not to scale", self.date, *not_shown(self.prepared.assembly)]
        below = "   ".join(words)
        room = width - 6.0
        size = fitted(below, SMALL, room)
        drawing.text(shortened(below, size, room), 3.0, 0.2 * height, size, vertical="middle", color=GRAY)

    def _draw_answer(self, drawing: Drawing, left: float, y: float) -> None:
        """The three lines in short, side by side."""
        texts = [f"{line.name}: {line.short}" for line in self.answer]
        room = drawing.width - left - _MARKED * len(texts)
        size = fitted("".join(texts), LETTERS, room, SMALL * 0.8)
        for line, words in zip(self.answer, texts, strict=True):
            grade_mark(drawing, left + 2.0, y, 3.6, line.grade)
            drawing.text(words, left + 4.8, y, size, vertical="middle")
            left += _MARKED + text_width(words, size)

    def _inset(self, moment: Moment, rows: Sequence[LeafRow], scale: float) -> Path:
        assert moment.pose is not None
        name = f"inset-{moment.pose.leaf}-{moment.pose.travel:.4f}-{moment.kind == 'snag'}"
        return self._drawn(
            name, self.places.inset, lambda drawing: self._draw_inset(drawing, moment, rows, scale)
        )

    def _draw_inset(self, drawing: Drawing, moment: Moment, rows: Sequence[LeafRow], scale: float) -> None:
        pose = moment.pose
        assert pose is not None
        box = (0.2, 0.2, drawing.width - 0.2, drawing.height - 0.2)
        if moment.snag is not None:
            of = moment.snag.view.of
            draw_snag(drawing, box, of, moment.snag.pose, moment.snag.corner, seen(of.view), SMALL)
            return
        of = view_of(rows, pose)
        larger = scale * self.view.height * 1000.0 / HEIGHT
        title = f"{larger:.0f} × as large, {seen(of.view)}"
        draw_running(
            drawing, box, of, pose, scale, title, self.table.units, walls(self.prepared, of, pose), SMALL
        )

    def _drawn(self, name: str, box: Box, draw: Callable[[Drawing], None]) -> Path:
        """The file of a picture that is to be drawn."""
        if name not in self._known:
            path = self.folder / f"{len(self._known):05}.png"
            self._known[name] = path
            self._waiting[path] = box, draw
        return self._known[name]

    def __post_init__(self) -> None:
        self._known: dict[str, Path] = {}
        self._waiting: dict[Path, tuple[Box, Callable[[Drawing], None]]] = {}
        self._of_frame: dict[int, list[Path]] = {}
