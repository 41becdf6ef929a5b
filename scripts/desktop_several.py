"""Two tables of unlike units side by side, lengths typed as makers write them."""

from __future__ import annotations

import importlib
from typing import Any

import desktop_hand as hand
import desktop_model as model
from desktop_common import settled
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
    x, y = yield from hand.find("enter_as_cut(", 0.8)
    y -= BELOW
    yield from hand.click(x, y)
    for _ in range(FOUR_DOWN):
        yield from hand.tap(x, y, "DOWN_ARROW")
    yield from hand.tap(x, y, "RET")
    yield from settled()
    expect("the number of tables", len(model.tables()), 2)
    bench = table()
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


STAGES = {
    "install": install,
    "add": add,
    "beside": beside,
    "inches": inches,
    "switch off": disable,
}
