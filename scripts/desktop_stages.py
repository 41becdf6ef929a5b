"""The job in Blender's window, stage by stage.

Each stage is a generator that yields seconds to wait and returns what was seen; it raises where that is not what the
model says.
"""

from __future__ import annotations

import importlib
import json
from pathlib import Path
from typing import Any

import desktop_hand as hand
import desktop_model as model
from desktop_apart import STAGES as APART
from desktop_common import drag_value, kept, settled, undo_to, unfold, until
from desktop_hand import Wait
from desktop_model import Differs, expect, table
from desktop_variants import STAGES as VARIANTS

bpy: Any = importlib.import_module("bpy")
Vector: Any = importlib.import_module("mathutils").Vector

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
    return "tab clicked; it offers one table, and a menu of other ways to begin"


def example_table() -> Wait:
    """One click for a table."""
    yield from hand.click(*kept["start"])
    yield from settled()
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
    yield from unfold("Show")
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
    """A rib that came out too long, entered in the dialog of the part that is selected."""
    kept["sound"] = model.snapshot()
    parts, select = model.part("scene.access").part_objects(table()), model.part("scene.findings").select
    select(bpy.context.scene, [parts[PART]])
    hand.area().tag_redraw()
    yield hand.LOOK
    length = parts[PART].dimensions.x * 1000.0
    x, y = yield from hand.find("enter_as_cut(")
    yield from hand.click(x, y)
    pointed = model.part("scene.overlay.corner").pointed()
    if pointed is None or not pointed.words.startswith(PART):
        raise Differs("no arrow points at the end of %s" % PART)
    yield from hand.type_over(x + IN_DIALOG[0], y + IN_DIALOG[1], "%.1f" % (length + EXCESS))
    yield from hand.press_enter(x + IN_DIALOG[0], y + IN_DIALOG[1])
    yield from settled()
    (entry,) = model.part("scene.access").table_in(table()).as_cut
    expect(
        "the entry", (entry.part, entry.dimension, entry.value), (PART, "length", round(length + EXCESS, 1))
    )
    expect("the verdict", table().verdict, "blocked")
    return model.compare()


IN_DIALOG = (-70, -49)
"""From the button that opens a dialog to the second field of it, pixels."""


def show_finding() -> Wait:
    """The gravest finding, shown from the panel Table."""
    finding = table().findings[0]
    expect("how grave it is", finding.severity, "error")
    yield from hand.press("show_finding(index=0", 0.3)
    yield hand.LOOK
    selected = {item.name.split()[0] for item in bpy.context.view_layer.objects if item.select_get()}
    expect("the parts selected", selected, set(finding.parts.split(", ")))
    expect_seen(finding)
    expect("the finding that is shown", json.loads(table().shown)["finding"][0], finding.rule)
    line = model.part("scene.motion.motion").timeline_of(table())
    place = model.part("scene.findings").place_of(finding)
    at_travel = bool(place.leaf and place.has_travel)
    frame = line.frame_of(place.leaf, place.travel * 1000.0) if at_travel and line is not None else None
    if at_travel and frame is None:
        leaf = table().leaves[place.leaf]
        expect("how %s is" % leaf.name, leaf.state, "sliding")
        near = abs(leaf.travel - place.travel) < 1e-6
        expect("whether %s is at its travel" % leaf.name, near, True)
    if frame is not None and abs(bpy.context.scene.frame_current_final - frame) > 1e-4:
        raise Differs("frame %r is shown, not %r" % (bpy.context.scene.frame_current_final, frame))
    model.compare_places()
    return "%s: %s selected, its place in sight" % (finding.rule, ", ".join(sorted(selected)))


TOUCH, NEAR_OWN = 2e-4, 5e-3
"""How far before a place another part, and one that the finding is about, may be in the way of the eye, m."""


def expect_seen(finding: Any) -> None:
    """Raises Differs where the place of a finding is out of the view, or something stands before it."""
    found = model.part("scene.findings")
    place = found.place_of(finding)
    at = table().root.matrix_world @ Vector(found.looked_at(place))
    view, labels = hand.area().spaces.active.region_3d, found.labels_of(place)
    on_screen = view.perspective_matrix @ at.to_4d()
    if on_screen.w <= 0 or max(abs(on_screen.x), abs(on_screen.y)) > on_screen.w:
        raise Differs("the place of the finding is not in the view")
    length = (Vector(place.span_to) - Vector(place.span_from)).length if place.span_text else 0.0
    eye = view.view_matrix.inverted().translation
    way, graph = (at - eye).normalized(), bpy.context.evaluated_depsgraph_get()
    while (at - eye).length > TOUCH:
        hit, spot, _, _, item, _ = bpy.context.scene.ray_cast(graph, eye, way, distance=(at - eye).length)
        if not hit:
            return
        own = item.get("dry_assembly_part") in labels
        if not item.get("dry_assembly_through") and (at - spot).length > (
            NEAR_OWN + length if own else TOUCH
        ):
            raise Differs("%s stands before the place of the finding" % item.name)
        eye = spot + 1e-5 * way


def fix() -> Wait:
    """One button tries remedies and applies the first that holds: the finding goes away."""
    kept["blocked"] = model.snapshot()
    gone = table().findings[0].message
    yield from hand.press("fix_finding(", 0.75)
    yield from until(lambda: gone not in [one.message for one in table().findings], 60.0)
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
    "fix": fix,
    "undo and redo": undo_and_redo,
    **APART,
    **VARIANTS,
    "undo": undo,
    "switch off": disable,
}
