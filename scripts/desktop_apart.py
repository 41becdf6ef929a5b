"""Stages with the table taken apart: the Factor, the picture on paper, a long job stopped."""

from __future__ import annotations

import importlib
from pathlib import Path
from typing import Any

import desktop_hand as hand
import desktop_model as model
from desktop_common import kept, save_exploded, unfold
from desktop_hand import Wait
from desktop_model import Differs, expect, table

bpy: Any = importlib.import_module("bpy")


def exploded() -> Wait:
    """The Factor drawn to its right end."""
    yield from unfold("Show")
    yield from hand.press("dry_assembly.stop_animation(", 0.88)
    kept["together"] = model.snapshot()
    yield from _drag_factor(1.0, 200)
    explosion = model.part("scene.motion.exploded").explosion_in(table())
    offsets = explosion.part_offsets(1.0)
    labels = explosion.order.blocking.labels
    parts = model.compare_places(dict(zip(labels, offsets)))
    with hand.override():
        bpy.ops.view3d.view_all()
    moved = sum(1 for offset in offsets if abs(offset).max() > 1.0)
    if moved < parts / 2:
        raise Differs("%d parts of %d moved" % (moved, parts))
    return "%d of %d parts out of their places, each where the model has it" % (moved, parts)


def _drag_factor(wanted: float, by: int) -> Wait:
    """Drags the Factor to an end; once more where a busy window took that for a click and opened the field."""
    for _ in range(3):
        x, y = yield from hand.find("explosion_factor", 0.75)
        yield from hand.drag(x, y, by)
        yield hand.LOOK
        if table().explosion_factor == wanted:
            return
        hand.event("ESC", "PRESS", x, y)
        hand.event("ESC", "RELEASE", x, y)
        yield hand.LOOK
    expect("the Factor", table().explosion_factor, wanted)


def exploded_picture() -> Wait:
    """The picture on paper, drawn while the window goes on."""
    group = bpy.context.scene.dry_assembly
    folder = kept["pictures"] = Path(bpy.app.tempdir, "pictures")
    folder.mkdir()
    group.pictures_folder, group.sheet.format, group.sheet.labels = str(folder), "svg", True
    group.output = "exploded"
    yield from unfold("Output")
    return (yield from save_exploded(folder))


def stopped() -> Wait:
    """A long job, stopped with Esc on the way."""
    group = bpy.context.scene.dry_assembly
    folder, said = kept["pictures"], group.picture_saved
    before = sorted(folder.iterdir())
    group.output = "steps"
    yield from hand.press("save_step_pictures(")
    running = [one.bl_idname for one in hand.window().modal_operators]
    expect("what runs", running, ["DRY_ASSEMBLY_OT_save_step_pictures"])
    yield from hand.key("ESC")
    yield hand.LOOK
    expect("what runs", list(hand.window().modal_operators), [])
    expect("the files", sorted(folder.iterdir()), before)
    expect("what is said", group.picture_saved, said)
    return "Save Step Pictures stopped by Esc: nothing saved"


def together() -> Wait:
    """The Factor back to 0."""
    yield from unfold("Show")
    yield from _drag_factor(0.0, -400)
    model.expect_same(kept["together"])
    with hand.override():
        bpy.ops.view3d.view_all()
    return "every vertex as before; " + model.compare()


STAGES = {
    "exploded": exploded,
    "exploded picture": exploded_picture,
    "stopped": stopped,
    "together": together,
}
