"""The README's pictures of Blender's window: a table added, changed, found wrong, taken apart, and saved.

``python3 scripts/desktop_check.py --course readme --pictures blend_examples/pictures`` makes them anew.
"""

from __future__ import annotations

import importlib
import sys
from pathlib import Path
from typing import Any

import desktop_hand as hand
import desktop_model as model
import desktop_picture
from desktop_common import opened, settled, unfold
from desktop_hand import Wait
from desktop_model import Differs, expect, table
from desktop_stages import EXCESS, PART, TAB, disable, install

bpy: Any = importlib.import_module("bpy")

SIZES = (74, 265)
"""From the first sheet's field up to the edge of Sizes, and the height of its first lines, pixels."""
REFUSED = 620
"""Height of Table and Sizes with a sentence in it, pixels."""
ONE_PART = 330
"""Height of Table with what is said of a part, pixels."""
TOO_SHORT = "400"
"""Length, mm, of a table that no leaf fits into."""
TABS = 28
"""Width of the sidebar's tabs, pixels."""
PAGE = 275
"""What a page and its arrows take below their button, pixels."""
HEADER = 26
"""Height of a panel's header, pixels."""


def add() -> Wait:
    """A new table, with its verdict beside it."""
    yield from hand.open_sidebar(TAB)
    yield from hand.press("add_example(example='quilting')")
    yield from settled()
    return view("first-table-1")


def sizes() -> Wait:
    """The sheets as they measure."""
    x, y = yield from hand.find("stock[0].measured_text", 0.75)
    yield from hand.type_over(x, y, "17.6")
    yield from settled()
    above, height = SIZES
    return sidebar("first-table-2", y + above, height)


def refused() -> Wait:
    """A length that cannot be built, and then the one before."""
    x, y = yield from hand.find("table.length_text", 0.7)
    yield from hand.type_over(x, y, TOO_SHORT)
    yield from hand.turn("WHEELUPMOUSE", 60, counted=False)
    yield 1.0
    if not table().error:
        raise Differs("a table %s mm long can be built" % TOO_SHORT)
    seen = sidebar("first-table-3", top(), REFUSED)
    yield from change({"table.length": 1500.0})
    return seen


def finding() -> Wait:
    """The place of a rib that came out too long."""
    yield from change(
        {"as_cut[0].part": PART, "as_cut[0].dimension": "length", "as_cut[0].deviation": EXCESS}
    )
    yield from hand.turn("WHEELUPMOUSE", 60, counted=False)
    yield from hand.press("show_finding(", 0.3)
    yield 1.0
    return view("desktop-finding")


def one_part() -> Wait:
    """What is said of the part selected."""
    with hand.override():
        bpy.ops.dry_assembly.stop_showing()
    parts, select = model.part("scene.access").part_objects(table()), model.part("scene.findings").select
    select(bpy.context.scene, [parts[PART]])
    hand.area().tag_redraw()
    yield from hand.turn("WHEELUPMOUSE", 60, counted=False)
    yield hand.LOOK
    return sidebar("first-table-5", top(), ONE_PART)


def taken_apart() -> Wait:
    """The table taken apart, sound again."""
    yield from change({"as_cut[0]": None})
    expect("the entries", len(model.part("scene.access").table_in(table()).as_cut), 0)
    parts, select = model.part("scene.access").part_objects(table()), model.part("scene.findings").select
    table().explosion_factor = 1.0
    select(bpy.context.scene, list(parts.values()))
    with hand.override():
        bpy.ops.view3d.view_selected()
    select(bpy.context.scene, [])
    yield 1.0
    shown, side = hand.region("WINDOW"), hand.region("UI")
    width = side.x - shown.x
    clear = width * 9 // 25  # of the words in the corner
    return save("first-table-6", (shown.x + clear, shown.y, width - clear, shown.height - 2 * HEADER))


def pages() -> Wait:
    """The shop set, a page of it in the panel."""
    table().explosion_factor = 0.0
    group = bpy.context.scene.dry_assembly
    group.output = "shop-set"
    group.pictures_folder = "/papers"
    yield from unfold("Output")
    yield from hand.press("dry_assembly.preview(")
    for _ in range(300):
        yield 0.2
        if not list(hand.window().modal_operators):
            break
    yield from hand.turn("WHEELDOWNMOUSE", 60, counted=False)
    _, low = yield from hand.find("dry_assembly.preview(")
    _, high = yield from hand.find("dry_assembly.output", 0.75)
    opened.clear()
    upper = high + 1.75 * HEADER
    return sidebar("first-table-7", upper, int(upper - low) + PAGE)


def change(changed: dict[str, Any]) -> Wait:
    """Changes values by their keys in the table file."""
    model.part("scene.tables").change(table(), changed)
    yield from settled()


def top() -> float:
    """Of the sidebar, pixels."""
    side = hand.region("UI")
    return float(side.y + side.height)


def view(name: str) -> str:
    """A picture of the whole 3D view."""
    whole = hand.area()
    return save(name, (whole.x, whole.y, whole.width, whole.height))


def sidebar(name: str, upper: float, height: int) -> str:
    """A picture of what lies below some height in the sidebar."""
    side = hand.region("UI")
    low = max(int(upper) - height, side.y)
    return save(name, (side.x, low, side.width - TABS, int(upper) - low))


def save(name: str, part: tuple[int, int, int, int]) -> str:
    """Writes a picture of part of the window, beside those of the stages."""
    folder = Path(sys.argv[sys.argv.index("--") + 2]).resolve()
    desktop_picture.save_part(folder / ("%s.png" % name), part)
    return "%s.png, %d by %d" % (name, *part[2:])


STAGES = {
    "install": install,
    "add": add,
    "sizes": sizes,
    "refused": refused,
    "finding": finding,
    "one part": one_part,
    "taken apart": taken_apart,
    "pages": pages,
    "switch off": disable,
}
