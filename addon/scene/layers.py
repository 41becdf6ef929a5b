"""A film put together: a scene's frames, and pictures of our own over them.

Blender's sequencer does it while it renders, so that one job has progress, Esc and the encoder; what it calls its
strips changed with version 4.4 (`sequences` before).
"""

from __future__ import annotations

from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import bpy

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from bpy.types import Scene


@dataclass(frozen=True)
class Layer:
    """Pictures of one size that lie over the film, one a frame.

    Parameters
    ----------
    first : frame of the first one
    channel : 1 or more; layers of one channel follow each other
    files : one for each frame of the scene from there on, PNG, all in one folder
    box : left, bottom, width and height in pixels, from the film's lower left corner; all even, so that no dot has to
        be blended with its neighbours
    """

    first: int
    channel: int
    files: tuple[Path, ...]
    box: tuple[int, int, int, int]


@contextmanager
def composed(scene: Scene, layers: Sequence[Layer]) -> Iterator[Scene]:
    """A scene whose film is that of `scene`, with its size, frames and step, under layers that do not overlap."""
    film = bpy.data.scenes.new("Dry Assembly Film")
    try:
        _as_large(film, scene)
        strips = _strips(film)
        strips.new_scene("Table", scene, channel=1, frame_start=scene.frame_start)
        for layer in layers:
            _lay(strips, layer, (film.render.resolution_x, film.render.resolution_y))
        yield film
    finally:
        bpy.data.scenes.remove(film)


def _as_large(film: Scene, scene: Scene) -> None:
    render = film.render
    render.resolution_x, render.resolution_y = scene.render.resolution_x, scene.render.resolution_y
    render.resolution_percentage = 100
    render.use_sequencer = True
    film.view_settings.view_transform = "Standard"
    film.frame_start, film.frame_end = scene.frame_start, scene.frame_end
    film.frame_step = scene.frame_step


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
