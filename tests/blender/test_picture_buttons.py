"""The buttons that make pictures: where the files go, that they are whole, and that nothing else changes."""

from __future__ import annotations

import re
from pathlib import Path

import bpy
import pytest

from addon.scene import tables
from addon.scene.pictures import engines, rendering
from addon.sizes.errors import ExportError

from .conftest import QUILTING, first

PNG = b"\x89PNG\r\n\x1a\n"
"""How a PNG starts: W3C, Portable Network Graphics, 5.2."""


def census() -> dict[str, int]:
    """How much of everything is in the file."""
    kinds = ("scenes", "objects", "meshes", "curves", "cameras", "lights", "worlds", "collections", "actions")
    return {kind: len(getattr(bpy.data, kind)) for kind in kinds}


@pytest.fixture
def folder(state, tmp_path) -> Path:
    """Where the pictures of the quilting table go."""
    bpy.context.scene.dry_assembly.pictures_folder = str(tmp_path)
    return tmp_path


def test_a_picture_is_saved_where_the_report_says(folder):
    before = census()
    assert bpy.ops.dry_assembly.render_picture(kind="stowed") == {"FINISHED"}
    (path,) = folder.iterdir()
    assert path.read_bytes().startswith(PNG)
    assert bpy.context.scene.dry_assembly.picture_saved == f"Saved {path}"
    assert path.name == "quilting-table-stowed.png"
    assert census() == before


def test_slide_pictures_come_in_pairs_for_each_view_of_each_leaf(folder):
    assert bpy.ops.dry_assembly.save_sliding_in_pictures() == {"FINISHED"}
    (own,) = folder.iterdir()
    wanted = {
        f"{leaf.name}-{view}.{suffix}"
        for leaf in first().leaves
        for view in ("side", "plan")
        for suffix in ("svg", "png")
    }
    assert {path.name for path in own.iterdir()} == wanted
    assert bpy.context.scene.dry_assembly.picture_saved == f"Saved {len(wanted)} files in {own}"


def test_a_folder_that_is_not_there_is_said_in_a_sentence(folder):
    bpy.context.scene.dry_assembly.pictures_folder = str(folder / "missing")
    before = census()
    with pytest.raises(RuntimeError, match=r"there is no folder .*missing; make it first"):
        bpy.ops.dry_assembly.render_picture(kind="stowed")
    assert bpy.context.scene.dry_assembly.picture_saved == ""
    with pytest.raises(RuntimeError, match=r"There is no folder .*missing: make it"):
        bpy.ops.dry_assembly.save_sliding_in_pictures()
    assert not list(folder.iterdir())
    with pytest.raises(ExportError, match="make it first"):
        rendering.Rendering(first(), rendering.KINDS["stowed"])
    assert census() == before


def test_without_a_folder_pictures_go_beside_the_file(scene, tmp_path):
    state = tables.create_table(scene, QUILTING)
    assert rendering.folder_of(state) == Path.home()
    state.path = str(tmp_path / "tables" / "quilting.toml")
    assert rendering.folder_of(state) == tmp_path / "tables"
    scene.dry_assembly.pictures_folder = str(tmp_path / "chosen")
    assert rendering.folder_of(state) == tmp_path / "chosen"
    scene.dry_assembly.pictures_folder = "//pictures"
    assert rendering.folder_of(state) == tmp_path / "tables"
    bpy.ops.wm.save_as_mainfile(filepath=str(tmp_path / "sewing.blend"))
    assert rendering.folder_of(first()) == tmp_path / "pictures"


class Renders:
    """In place of Blender's own job, which needs a window: renders at once, or is stopped by the user."""

    def __init__(self, monkeypatch, stopped: bool):
        self.stopped = stopped
        monkeypatch.setattr(engines, "start", self)

    def __call__(self, scene):
        self.scene = scene.name
        if self.stopped:
            Path(scene.render.filepath).write_bytes(b"half a picture")
            for handler in list(bpy.app.handlers.render_cancel):
                handler(scene)
        else:
            engines.render_picture(scene)


def test_a_rendering_that_is_done_takes_the_place_of_the_old_file(folder, monkeypatch):
    before, handlers = census(), len(bpy.app.handlers.render_cancel)
    renders = Renders(monkeypatch, stopped=False)
    path = rendering.path_of(first(), "stowed.png")
    path.write_bytes(b"old")
    made = rendering.Rendering(first(), rendering.KINDS["stowed"])
    assert renders.scene in bpy.data.scenes
    assert path.read_bytes() == b"old"
    assert not made.goes_on
    assert (made.done, made.frames) == (1, 1)
    assert made.finish()
    assert path.read_bytes().startswith(PNG)
    assert [item.name for item in folder.iterdir()] == [path.name]
    assert census() == before
    assert len(bpy.app.handlers.render_cancel) == handlers


@pytest.mark.parametrize("kind", ["stowed", "video"])
def test_a_rendering_that_is_stopped_leaves_the_old_file(folder, monkeypatch, kind):
    before, handlers = census(), len(bpy.app.handlers.render_cancel)
    Renders(monkeypatch, stopped=True)
    path = rendering.path_of(first(), rendering.KINDS[kind].ending)
    path.write_bytes(b"old")
    made = rendering.Rendering(first(), rendering.KINDS[kind])
    video = ", frame 1 of " if kind == "video" else ""
    assert made.words.startswith(f"Rendering {path.name}{video}")
    assert not made.finish()
    assert path.read_bytes() == b"old"
    assert [item.name for item in folder.iterdir()] == [path.name]
    assert census() == before
    assert len(bpy.app.handlers.render_cancel) == handlers


def test_every_picture_says_that_it_replaces_the_old_one(state):
    for kind in rendering.KINDS:
        text = (
            bpy.types.DRY_ASSEMBLY_OT_render_video.bl_description
            if kind == "video"
            else bpy.types.DRY_ASSEMBLY_OT_render_picture.description(
                bpy.context, type("Settings", (), {"kind": kind})
            )
        )
        assert re.search(r"An older (picture|video) of that name is replaced$", text)
