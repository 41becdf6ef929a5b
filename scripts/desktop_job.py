"""The whole job as a maker does it, by mouse and keyboard from the panels alone; its actions are counted."""

from __future__ import annotations

import importlib
from pathlib import Path
from typing import Any

import desktop_hand as hand
import desktop_model as model
from desktop_common import opened, save_exploded, settled, unfold, unfold_section
from desktop_hand import Wait
from desktop_model import Differs, expect, table
from desktop_stages import EXCESS, IN_DIALOG, PART, TAB, disable, fix, install, show_finding

bpy: Any = importlib.import_module("bpy")
np: Any = importlib.import_module("numpy")

MOST = 60
"""Actions that the job may take."""
SHARE = 1.0 / 3.0
"""Of the view's width or height that a table just added takes at least."""
BY_HEIGHT = 1.5
"""Screens that the sidebar's first state takes at most."""


def add() -> Wait:
    """A table in the scene that Blender begins with, its cube kept."""
    cube = bpy.context.scene.objects["Cube"]
    hand.done.clear()
    yield from hand.open_sidebar(TAB)
    yield from hand.press("add_example(example='quilting')")
    yield from settled()
    expect("whether the cube is hidden", cube.hide_get(), True)
    parts = model.part("scene.access").part_objects(table())
    selected = {item.name for item in bpy.context.view_layer.objects if item.select_get()}
    expect("what is selected", selected, {item.name for item in parts.values()})
    share = framed(list(parts.values()))
    screens = yield from sidebar_screens()
    return "cube hidden, table selected, over %.0f %% of the view; panels %.2f screens high; %s" % (
        100 * share,
        screens,
        said(model.compare()),
    )


def framed(items: list[Any]) -> float:
    """The share of the view that objects take, along the side where it is greater; all of them have to be in it."""
    view = hand.area().spaces.active.region_3d
    corners = [
        np.array(item.matrix_world) @ np.array([*corner, 1.0]) for item in items for corner in item.bound_box
    ]
    shown = np.array(corners) @ np.array(view.perspective_matrix).T
    places = shown[:, :2] / shown[:, 3:]
    if (shown[:, 3] <= 0.0).any() or np.abs(places).max() > 1.0:
        raise Differs("a part of the table is not in the view")
    share = float((places.max(axis=0) - places.min(axis=0)).max() / 2.0)
    if share < SHARE:
        raise Differs("the table takes %.0f %% of the view only" % (100 * share))
    return share


def sidebar_screens() -> Wait:
    """How many times the sidebar's height its panels take as they are at first; it stays at its top."""
    yield from hand.turn("WHEELUPMOUSE", 60, counted=False)
    top = _bottom()
    yield from hand.turn("WHEELDOWNMOUSE", 60, counted=False)
    screens = 1.0 + (top - _bottom()) / hand.region("UI").height
    yield from hand.turn("WHEELUPMOUSE", 60, counted=False)
    if screens > BY_HEIGHT:
        raise Differs("the panels take %.2f screens" % screens)
    return screens


def _bottom() -> float:
    """What of the panels is at the lower edge of the sidebar."""
    return float(hand.region("UI").view2d.region_to_view(0, 0)[1])


def said(words: str) -> str:
    """What was seen, with the actions up to here."""
    return "%s (%d actions so far)" % (words, len(hand.done))


def three_leaves() -> Wait:
    """Three leaves instead of four: positions chosen anew, and a note of it."""
    before = [leaf.name for leaf in table().leaves]
    x, y = yield from hand.find("leaves.count")
    yield from hand.type_over(x, y, "3")
    yield from settled()
    expect("the leaves", [leaf.name for leaf in table().leaves], before[:3])
    if not table().adapted:
        raise Differs("nothing says what changed with the leaves")
    return said("%s; %s" % (table().adapted, model.compare()))


def thickness() -> Wait:
    """The thickness that a caliper read."""
    x, y = yield from hand.find("stock[0].measured_text", 0.75)
    yield from hand.type_over(x, y, "17.6")
    yield from settled()
    sheet = model.part("scene.access").table_in(table()).stock[0]
    expect("the thickness of %s" % sheet.name, sheet.measured, 17.6)
    return said(model.compare())


def rib() -> Wait:
    """A rib that came out too long: selected in the list of parts, entered in its dialog, found at once."""
    yield from unfold("Check")
    yield from unfold_section("analyze_tolerances(", 1)
    yield from choose_part(PART)
    length = model.part("scene.access").part_objects(table())[PART].dimensions.x * 1000.0
    entered = "%.1f" % (length + EXCESS)
    yield from hand.scroll_to_top()
    x, y = yield from hand.find("enter_as_cut(")
    yield from hand.click(x, y)
    yield from hand.type_over(x + IN_DIALOG[0], y + IN_DIALOG[1], entered)
    yield from hand.press_enter(x + IN_DIALOG[0], y + IN_DIALOG[1])
    yield from settled()
    (entry,) = model.part("scene.access").table_in(table()).as_cut
    expect("the entry", (entry.part, entry.dimension, entry.value), (PART, "length", float(entered)))
    finding = table().findings[0]
    expect("how grave the finding is", finding.severity, "error")
    if PART not in finding.parts.split(", "):
        raise Differs("the gravest finding is not about %s: %s" % (PART, finding.message))
    return said("%s; %s" % (finding.rule, model.compare()))


def choose_part(label: str) -> Wait:
    """Selects a part in the list of parts, which has five lines."""
    x, y = yield from hand.find("part_index", 0.5)  # the middle line of those shown
    yield from hand.click(x, y)
    for _ in range(3):  # Ctrl with the wheel goes from line to line
        off = table().parts.find(label) - table().part_index
        if off == 0:
            break
        yield from hand.wheel_at(x, y, "WHEELDOWNMOUSE" if off > 0 else "WHEELUPMOUSE", abs(off), ctrl=True)
    expect("the part chosen", table().parts[table().part_index].name, label)
    chosen = [item.get("dry_assembly_part") for item in bpy.context.selected_objects]
    expect("the part selected in the view", chosen, [label])


def show() -> Wait:
    """The finding, shown from the panel Table."""
    yield from hand.scroll_to_top()
    return said((yield from show_finding()))


def mend() -> Wait:
    """And fixed."""
    return said((yield from fix()))


def exploded() -> Wait:
    """The exploded view, saved as a picture."""
    group = bpy.context.scene.dry_assembly
    folder = Path(bpy.app.tempdir, "job")
    folder.mkdir()
    group.pictures_folder, group.sheet.format, group.sheet.labels = str(folder), "svg", True
    yield from unfold("Output")
    x, y = yield from hand.find("dry_assembly.output", 0.75)
    yield from hand.click(x, y)
    yield from hand.tap(x, y, "E")  # the letter that the menu underlines
    expect("what is to be saved", group.output, "exploded")
    return said((yield from save_exploded(folder)))


def list_of_parts() -> Wait:
    """The list of parts on the clipboard; with that the job is done."""
    yield from unfold("Check")
    yield from hand.press("copy_parts(", 0.9)
    copied = str(bpy.context.window_manager.clipboard)
    expect("what is on the clipboard", copied, model.part("scene.parts").as_columns(table()))
    rows = copied.split("\n")
    assembly = model.part("designs.table").build(model.part("scene.access").table_in(table()))
    expect(
        "the parts listed", [row.split("\t")[0] for row in rows[1:]], [one.label for one in assembly.parts]
    )
    if len(hand.done) > MOST:
        raise Differs("the job took %d actions, %d at most are wanted" % (len(hand.done), MOST))
    opened.clear()
    return said("%d parts; the job is done" % (len(rows) - 1))


STAGES = {
    "install": install,
    "add": add,
    "three leaves": three_leaves,
    "thickness": thickness,
    "long rib": rib,
    "show": show,
    "fix": mend,
    "exploded": exploded,
    "parts": list_of_parts,
    "switch off": disable,
}
