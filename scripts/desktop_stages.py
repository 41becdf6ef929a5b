"""The job in Blender's window, stage by stage.

Each stage is a generator that yields seconds to wait and returns what was seen; it raises where that is not what the
model says.
"""

from __future__ import annotations

import importlib
from pathlib import Path
from typing import Any

import desktop_hand as hand
import desktop_model as model
from desktop_apart import STAGES as APART
from desktop_common import drag_value, kept, remedies_tried, settled, undo_to
from desktop_hand import Wait
from desktop_model import Differs, expect, table
from desktop_variants import STAGES as VARIANTS

bpy: Any = importlib.import_module("bpy")

TAB = "Dry Assembly"
PART = "R3"
EXCESS = 4.0


def install(archive: str) -> Wait:
    """Installs the zip."""
    with hand.override():
        bpy.ops.extensions.package_install_files(
            filepath=str(Path(archive).resolve()), repo="user_default", enable_on_install=True
        )
    yield 1.0
    if model.PACKAGE not in bpy.context.preferences.addons:
        raise Differs("the extension is not switched on after the installation")
    return "installed and switched on (operator called: files cannot be dropped by a simulated mouse)"


def first_run() -> Wait:
    """The tab as a newcomer finds it, in a scene without the cube that Blender begins with."""
    yield from hand.key("A")
    yield from hand.key("DEL")
    expect("the number of objects", len(bpy.context.scene.objects), 0)
    yield from hand.open_sidebar(TAB)
    expect("the number of tables", len(model.tables()), 0)
    kept["start"] = yield from hand.find("add_example(example='quilting')")
    yield from hand.find("add_example(example='seed-bench')")
    yield from hand.find("open_table(")
    return "tab clicked; it offers two example tables and to open a table file"


def example_table() -> Wait:
    """One click for a table."""
    yield from hand.click(*kept["start"])
    yield from settled()
    with hand.override():
        bpy.ops.view3d.view_all()
    yield hand.LOOK
    kept["example"] = model.snapshot()
    return model.compare()


def drag_height() -> Wait:
    """The first slider."""
    return (yield from drag_value(".table.height", 24))


def drag_well_depth() -> Wait:
    """The second slider."""
    kept["height"] = model.snapshot()
    return (yield from drag_value(".well.depth", -12))


def play() -> Wait:
    """The stow animation, played."""
    yield from hand.press("dry_assembly.animate(order='in turn')", 0.3)
    bpy.context.scene.frame_set(1)
    x, y = yield from hand.find("screen.animation_play")
    yield from hand.click(x, y)
    frames: set[float] = set()
    for _ in range(20):
        yield 0.25
        model.compare_places()
        frames.add(bpy.context.scene.frame_current_final)
    kept["playing"] = hand.window().screen.is_animation_playing
    yield from hand.click(x, y)
    expect("playing", (kept["playing"], hand.window().screen.is_animation_playing), (True, False))
    if len(frames) < 5:
        raise Differs("the animation showed %d frames only" % len(frames))
    return "leaves where the timeline has them at %d frames from %d to %d, while it played" % (
        len(frames),
        min(frames),
        max(frames),
    )


def long_rib() -> Wait:
    """A rib that was cut too long, entered in the panel As Cut."""
    kept["sound"] = model.snapshot()
    yield from _open_as_cut()
    yield from hand.press("add_entry(section='as_cut')", BESIDE)
    yield from settled()
    for name, text in (("part", PART), ("deviation", "%g" % EXCESS)):
        x, y = yield from hand.find(
            "as_cut[0]." + name, BESIDE
        )  # where the list, which has them too, does not reach
        yield from hand.type_over(x - IN_FIELD, y, text)
    yield from settled()
    entry = table().parameters.as_cut[0]
    expect(
        "the entry", (entry.part, entry.dimension, round(entry.deviation * 1000, 3)), (PART, "length", EXCESS)
    )
    expect("the verdict", table().verdict, "blocked")
    return model.compare()


BESIDE = 0.88
"""Where the buttons beside a list are, across the sidebar."""
IN_FIELD = 50
"""From there to the middle of a field, pixels."""


def _open_as_cut() -> Wait:
    """Opens the panel As Cut, whose header lies above the one of the findings; Blender does not tell of headers."""
    x, y = yield from hand.find("dry_assembly.show_errors", 0.3)
    for above in (50, 56, 44, 62):
        if (yield from hand.look(x, y + above)):
            continue
        yield from hand.click(x, y + above)
        place = yield from hand.on_page("add_entry(section='as_cut')", BESIDE)
        if place is not None:
            return
        yield from hand.click(x, y + above)
    raise hand.NotThere("no header above the findings opens the panel As Cut")


def show_finding() -> Wait:
    """The finding, chosen and shown."""
    findings = table().findings
    index = next(number for number, one in enumerate(findings) if one.severity == "error")
    finding = findings[index]
    if table().finding_index != index:
        raise Differs("the gravest finding is not the one selected")
    yield from hand.press("show_finding(", 0.3)
    yield hand.LOOK
    selected = {item.name.split()[0] for item in bpy.context.view_layer.objects if item.select_get()}
    expect("the parts selected", selected, set(finding.parts.split(", ")))
    place = table().root.matrix_world @ finding.place.copy()
    eye = hand.area().spaces.active.region_3d.view_location
    if (place - eye).length > 1e-5:
        raise Differs("the view is not turned to the place of the finding")
    line = model.part("scene.motion.motion").timeline_of(table())
    frame = line.frame_of(finding.leaf, finding.travel * 1000.0)
    if abs(bpy.context.scene.frame_current_final - frame) > 1e-4:
        raise Differs("frame %r is shown, not %r" % (bpy.context.scene.frame_current_final, frame))
    model.compare_places()
    return "%s: %s selected, view at its place, frame %.2f" % (
        finding.rule,
        ", ".join(sorted(selected)),
        frame,
    )


def remedy() -> Wait:
    """Remedies are tried on demand; the one that is offered makes the finding go away."""
    yield from hand.press("find_remedies(", 0.5)
    yield from remedies_tried()
    kept["blocked"] = model.snapshot()
    gone = table().findings[table().finding_index].message
    yield from hand.press("apply_remedy(", 0.75)
    yield from settled()
    if gone in [one.message for one in table().findings]:
        raise Differs("the finding is still there")
    kept["mended"] = model.snapshot()
    return "finding gone; " + model.compare()


def undo_and_redo() -> Wait:
    """Ctrl-Z takes the remedy back, Ctrl-Shift-Z makes it again."""
    yield from undo_to("blocked")
    seen = model.compare()
    for _ in range(5):
        if model.differences(kept["mended"]):
            yield from hand.key("Z", ctrl=True, shift=True)
            yield from settled()
    model.expect_same(kept["mended"])
    return "finding back: %s; and gone again" % seen


def undo() -> Wait:
    """Ctrl-Z back to the example table as it was added."""
    for name in ("height", "example"):  # as they were before anything was animated
        yield from undo_to(name)
    return "rib and both sliders taken back; text, findings and every vertex as before; " + model.compare()


def disable() -> Wait:
    """Switched off, it leaves nothing behind."""
    loaded = [name for name in dir(bpy.types) if name.startswith("DRY_ASSEMBLY_")]
    own = model.own_things()
    if not loaded or not own:
        raise Differs("nothing of the extension was to be found before it was switched off")
    bpy.ops.preferences.addon_disable(module=model.PACKAGE)
    yield 1.0
    left = [name for name in dir(bpy.types) if name.startswith("DRY_ASSEMBLY_")] + model.own_things()
    expect("what is left", left, [])
    return "%d classes, %s gone" % (len(loaded), ", ".join(own))


STAGES = {
    "install": install,
    "first run": first_run,
    "example table": example_table,
    "drag height": drag_height,
    "drag well depth": drag_well_depth,
    "play": play,
    "long rib": long_rib,
    "show finding": show_finding,
    "apply remedy": remedy,
    "undo and redo": undo_and_redo,
    **APART,
    **VARIANTS,
    "undo": undo,
    "switch off": disable,
}
