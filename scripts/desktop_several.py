"""Two tables of unlike units side by side; what is moved, copied and appended with Blender's own tools."""

from __future__ import annotations

import importlib
from pathlib import Path
from typing import Any

import desktop_hand as hand
import desktop_model as model
from desktop_common import kept, opened, settled, until
from desktop_hand import Wait
from desktop_job import add
from desktop_model import Differs, expect, table
from desktop_stages import disable, install

bpy: Any = importlib.import_module("bpy")
np: Any = importlib.import_module("numpy")

NEAR = 1e-6
"""How far a length may be from what was typed, mm."""
BELOW = 31
"""From the button for what was measured to the menu File below it, pixels: Blender does not tell of menus."""
FOUR_DOWN = 4
"""Keys down to the second example in the menu File."""


def beside() -> Wait:
    """The bench, from the menu File; it stands beside the table, and its fields show inches."""
    kept["mm"] = table().key
    x, y = yield from hand.find("enter_as_cut(", 0.8)
    y -= BELOW
    yield from hand.click(x, y)
    for _ in range(FOUR_DOWN):
        yield from hand.tap(x, y, "DOWN_ARROW")
    yield from hand.tap(x, y, "RET")
    yield from settled()
    expect("the number of tables", len(model.tables()), 2)
    bench = table()
    kept["inch"] = bench.key
    expect("the unit of the table added", bench.parameters.units, "in")
    (low, high), (other_low, other_high) = (_extent(one) for one in model.tables())
    apart = np.maximum(low - other_high, other_low - high).max()
    if apart <= 0.0:
        raise Differs("the tables stand in each other: %.0f mm" % (1000 * apart))
    return "%.0f mm apart; %s" % (1000 * apart, model.compare())


def _extent(state: Any) -> tuple[Any, Any]:
    """(2, 3) float, m: the corners of the box around a table in the scene."""
    bpy.context.view_layer.update()
    items = model.part("scene.access").part_objects(state).values()
    corners = np.array(
        [
            np.array(item.matrix_world) @ np.array([*corner, 1.0])
            for item in items
            for corner in item.bound_box
        ]
    )[:, :3]
    return corners.min(axis=0), corners.max(axis=0)


def inches() -> Wait:
    """A length in inches as makers write it."""
    seen = []
    for typed, wanted, shown in (("28-1/2", 723.9, "28 1/2 in"), ("28.75", 730.25, "28 3/4 in")):
        yield from _typed("table.height_text", typed)
        held = model.part("scene.access").table_in(table()).table.height
        near(typed, held, wanted)
        text = table().parameters.table.height_text
        expect("the field", text, shown)
        seen.append("%s reads %s" % (typed, text))
    return "; ".join(seen) + "; " + model.compare()


def _typed(path: str, text: str) -> Wait:
    x, y = yield from hand.find(path, 0.7)
    yield from hand.type_over(x, y, text)
    yield from settled()


def near(what: str, shown: float, wanted: float) -> None:
    """Raises Differs unless a length, mm, is the one wanted."""
    if abs(shown - wanted) > NEAR:
        raise Differs("%s is held as %r mm, not %r" % (what, shown, wanted))


def follows() -> Wait:
    """A click on a part of the other table: the panels show that one, in its own unit."""
    expect("the table shown", table().key, kept["inch"])
    other = next(one for one in model.tables() if one.key == kept["mm"])
    with hand.override():
        bpy.ops.view3d.view_all()
    yield hand.LOOK
    label = yield from click_part(other)
    yield from until(lambda: bpy.context.scene.unit_settings.length_unit == "MILLIMETERS")
    expect("the table shown", table().key, kept["mm"])
    expect("the unit of the scene", bpy.context.scene.unit_settings.length_unit, "MILLIMETERS")
    yield from _typed("table.length_text", "1510")
    near("1510", model.part("scene.access").table_in(table()).table.length, 1510.0)
    bench = next(one for one in model.tables() if one.key == kept["inch"])
    near("the bench", model.part("scene.access").table_in(bench).table.height, 730.25)
    expect("its field", bench.parameters.table.height_text, "28 3/4 in")
    return "%s clicked; %s shown, 1510 reads %s; %s" % (
        label,
        table().name,
        table().parameters.table.length_text,
        model.compare(),
    )


def click_part(state: Any) -> Wait:
    """Clicks on a part of a table where it is the first thing seen; its label."""
    graph = bpy.context.evaluated_depsgraph_get()
    view, region = hand.area().spaces.active.region_3d, hand.region("WINDOW")
    sidebar = hand.region("UI")
    matrix = np.array(view.perspective_matrix)
    back = np.linalg.inv(matrix)
    for label, item in model.part("scene.access").part_objects(state).items():
        corners = np.array([[*corner, 1.0] for corner in item.bound_box]) @ np.array(item.matrix_world).T
        seen = corners @ matrix.T
        seen = seen[:, :3] / seen[:, 3:]
        for place in (seen.mean(axis=0), *(0.9 * seen + 0.1 * seen.mean(axis=0))):
            start, end = (back @ np.array([place[0], place[1], depth, 1.0]) for depth in (-1.0, 1.0))
            start, end = start[:3] / start[3], end[:3] / end[3]
            hit, _, _, _, found, _ = bpy.context.scene.ray_cast(graph, list(start), list(end - start))
            x = region.x + (place[0] + 1.0) / 2.0 * region.width
            y = region.y + (place[1] + 1.0) / 2.0 * region.height
            if hit and found.name == item.name and x < sidebar.x - 10 and y < region.y + region.height - 60:
                yield from hand.click(x, y)
                if item.select_get() and bpy.context.view_layer.objects.active == item:
                    return label
    raise Differs("no part of the table could be clicked in the view")


def pulled_up() -> Wait:
    """A part pulled up by 300 mm: the verdict says so, in the panel and in the view, and a button to put it back comes
    up."""
    label = yield from click_part(table())
    x, y = hand.middle()
    yield from hand.tap(x, y, "G")
    yield from hand.tap(x, y, "Z")
    yield from hand.type_in(x, y, "300")
    yield from settled()
    moved = [(one.name, one.what) for one in table().moved]
    expect("what is said to be moved", moved, [(label, "moved")])
    words = model.part("scene.access").standing_words(table())
    expect("the words", words, "1 part moved: %s" % label)
    corner = model.part("scene.overlay.corner").verdict_of(table())
    grades = [grade for grade, _ in corner if grade]
    if "good" in grades or words.lower() not in [text.lower() for _, text in corner]:
        raise Differs("the view's corner says %r of a table with a part moved" % corner)
    yield from hand.find("put_back(", 0.3)
    return words


def put_back() -> Wait:
    """The button that puts it back."""
    yield from hand.press("put_back(", 0.3)
    yield from settled()
    expect("what is moved", len(table().moved), 0)
    return model.compare()


def copied() -> Wait:
    """Shift D of the whole table: the copy is a table of its own."""
    first = table()
    key, length = first.key, first.parameters.table.length_text
    model.part("scene.tables").make_active(first)
    yield hand.LOOK
    x, y = hand.middle()
    yield from hand.move(x, y)
    hand.event("D", "PRESS", x, y, shift=True)
    hand.event("D", "RELEASE", x, y, shift=True)
    yield hand.LOOK
    yield from hand.tap(x, y, "X")
    yield from hand.type_in(x, y, "4000")
    yield from until(lambda: len(model.tables()) == 3 and table().key != key)
    expect("the number of tables", len(model.tables()), 3)
    if table().key == key:
        raise Differs("the panels show the table that was copied, not the copy")
    yield from settled()
    yield from _typed("table.length_text", "1490")
    near("the copy's length", model.part("scene.access").table_in(table()).table.length, 1490.0)
    again = next(one for one in model.tables() if one.key == key)
    expect("the length of the other", again.parameters.table.length_text, length)
    expect("parts moved", [(one.name, one.what) for state in model.tables() for one in state.moved], [])
    with hand.override():
        bpy.ops.view3d.view_all()
    return "a third table, 1490 long beside %s; %s" % (length, model.compare())


def appended() -> Wait:
    """Appended from a saved file, by the operator: a simulated mouse does not reach the file window."""
    path = str(Path(bpy.app.tempdir, "saved.blend"))
    bpy.ops.wm.save_as_mainfile(filepath=path, check_existing=False, copy=True)
    collection = table().root.users_collection[0].name
    with hand.override():
        bpy.ops.wm.append(directory="%s/Collection/" % path, filename=collection)
    yield from until(lambda: len({one.key for one in model.tables()}) == 4)
    expect("the number of tables", len(model.tables()), 4)
    expect("the keys", len({one.key for one in model.tables()}), 4)
    newest = max(model.tables(), key=lambda one: one.number)
    model.part("scene.tables").make_active(newest)
    yield from settled()
    yield from _typed("table.length_text", "1480")
    near("its length", model.part("scene.access").table_in(table()).table.length, 1480.0)
    opened.clear()
    return "%s appended as a fourth table, and its length typed; %s" % (collection, model.compare())


STAGES = {
    "install": install,
    "add": add,
    "beside": beside,
    "inches": inches,
    "follows": follows,
    "pulled up": pulled_up,
    "put back": put_back,
    "copied": copied,
    "appended": appended,
    "switch off": disable,
}
