"""Render engines and file formats: the one place that knows how Blender's versions differ here."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Final, Literal

import bpy
from bpy.types import Scene

SAMPLES: Final = 4
"""Rays for each pixel of a render; the denoiser smooths the rest."""
SAMPLES_ALONE: Final = 16
"""The same in a Blender built without the denoiser."""
SAMPLES_FINER: Final = 12
"""The same where edges stand against nothing."""

RELATIVE_PATHS: Final[set[Any]] = {"PATH_SUPPORTS_BLEND_RELATIVE"} if bpy.app.version >= (4, 5, 0) else set()
"""Options of a property whose path may start with //, the folder of the .blend file."""

Look = Literal["drawing", "render"]
"""``drawing``: Workbench, quick, even light, outlines. ``render``: Cycles on the processor, shadows, grain."""


def use(scene: Scene, look: Look, size: tuple[int, int]) -> None:
    """Sets a scene up to render in a look, `size` in pixels."""
    render = scene.render
    render.resolution_x, render.resolution_y = size
    render.resolution_percentage = 100
    render.film_transparent = False
    scene.view_settings.view_transform = "Standard"
    if look == "drawing":
        _workbench(scene)
    else:
        _cycles(scene)


def _workbench(scene: Scene) -> None:
    scene.render.engine = "BLENDER_WORKBENCH"
    scene.display.render_aa = "5"
    shading = scene.display.shading
    shading.light = "STUDIO"
    shading.studio_light = "paint.sl"
    shading.color_type = "MATERIAL"
    shading.background_type = "WORLD"
    shading.show_cavity = True
    shading.cavity_type = "BOTH"
    shading.cavity_ridge_factor = 1.0
    shading.cavity_valley_factor = 1.3
    shading.show_object_outline = True
    shading.object_outline_color = (0.10, 0.07, 0.05)
    shading.show_shadows = False
    shading.show_specular_highlight = False


def _cycles(scene: Scene) -> None:
    scene.render.engine = "CYCLES"
    cycles = scene.cycles
    cycles.device = "CPU"
    cycles.use_denoising = _has_denoiser()
    cycles.samples = SAMPLES if cycles.use_denoising else SAMPLES_ALONE
    cycles.use_adaptive_sampling = False
    cycles.use_light_tree = False
    cycles.max_bounces = 4
    cycles.denoising_prefilter = "NONE"
    if hasattr(cycles, "denoising_quality"):
        cycles.denoising_quality = "FAST"
    cycles.caustics_reflective = cycles.caustics_refractive = False


def _has_denoiser() -> bool:
    """Whether Cycles was built with its denoiser; some distributions leave it out."""
    try:
        import _cycles  # pyright: ignore[reportMissingImports]  (inside Blender only)
    except ImportError:
        return False
    return bool(getattr(_cycles, "with_openimagedenoise", False))


def under_lines(scene: Scene, painted: bool) -> None:
    """Has a drawing without outlines of its own, in the colors painted on the meshes or in those of the objects.

    Objects whose color is not opaque are seen through; what is painted is shown as it is, in no light.
    """
    shading = scene.display.shading
    shading.light = "FLAT" if painted else "STUDIO"
    shading.color_type = "VERTEX" if painted else "OBJECT"
    shading.show_object_outline = False
    shading.show_cavity = False


def with_shadows(scene: Scene) -> None:
    """Has a drawing like a render: without lines, dark where parts meet, the light from the upper left."""
    shading = scene.display.shading
    shading.show_object_outline = False
    shading.cavity_type = "WORLD"
    shading.cavity_ridge_factor = 0.0
    shading.cavity_valley_factor = 1.6
    shading.show_shadows = True
    shading.shadow_intensity = 0.35
    scene.display.light_direction = (-0.35, 0.55, 0.75)
    scene.view_settings.exposure = 0.4


def finer(scene: Scene) -> None:
    """Has a render's edges clean where nothing lies behind them: the denoiser leaves these as they are."""
    scene.cycles.samples = max(scene.cycles.samples, SAMPLES_FINER)


def without_background(scene: Scene) -> None:
    """Has the next picture transparent where there is nothing."""
    scene.render.film_transparent = True
    scene.render.image_settings.color_mode = "RGBA"


def picture_file(scene: Scene, path: str | Path) -> None:
    """Has the next render written to a PNG file."""
    settings = scene.render.image_settings
    if hasattr(settings, "media_type"):
        settings.media_type = "IMAGE"
    settings.file_format = "PNG"
    settings.color_mode = "RGB"
    settings.compression = 40
    scene.render.filepath = str(Path(path).resolve())
    scene.render.use_file_extension = False


def quick(scene: Scene) -> None:
    """Cheaper edges, for videos."""
    scene.display.render_aa = "FXAA"


def video_file(scene: Scene, path: str | Path, rate: int) -> None:
    """Has the next animation written to an MP4 file that browsers play: H.264, 4:2:0, one file whatever the frames."""
    settings = scene.render.image_settings
    if hasattr(settings, "media_type"):
        settings.media_type = "VIDEO"
    settings.file_format = "FFMPEG"
    settings.color_mode = "RGB"
    writer = scene.render.ffmpeg
    writer.format = "MPEG4"
    writer.codec = "H264"
    writer.constant_rate_factor = "HIGH"
    writer.ffmpeg_preset = "GOOD"
    writer.gopsize = 24
    writer.audio_codec = "NONE"
    scene.render.fps, scene.render.fps_base = rate, 1.0
    scene.render.filepath = str(Path(path).resolve())
    scene.render.use_file_extension = False


def render_picture(scene: Scene) -> None:
    """Renders the scene's frame into its file."""
    bpy.ops.render.render(scene=scene.name, write_still=True)


def render_video(scene: Scene) -> None:
    """Renders the scene's frames into its file."""
    bpy.ops.render.render(scene=scene.name, animation=True)


def start(scene: Scene) -> None:
    """Renders the scene into its file while the window goes on; a scene of several frames becomes a video.

    Until that ends, the scene has to stay: no undo. Esc stops it. No window opens for it: that would show the picture
    of the scene in the window, which is another one.
    """
    video = is_video(scene)
    view = bpy.context.preferences.view
    before, view.render_display_type = view.render_display_type, "NONE"
    try:
        bpy.ops.render.render("INVOKE_DEFAULT", scene=scene.name, animation=video, write_still=not video)
    finally:
        view.render_display_type = before


def is_video(scene: Scene) -> bool:
    """Whether the scene goes into a video file."""
    return scene.render.image_settings.file_format == "FFMPEG"


def is_rendering() -> bool:
    """Whether what `start` began goes on."""
    return bpy.app.is_job_running("RENDER")
