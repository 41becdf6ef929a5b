"""What stages have in common: waiting, dragging values, undoing."""

from __future__ import annotations

import importlib
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import desktop_hand as hand
import desktop_model as model
from desktop_hand import Wait
from desktop_model import Differs, expect, table

bpy: Any = importlib.import_module("bpy")

#: What was kept at a stage for later ones.
kept: dict[str, Any] = {}


def settled() -> Wait:
    """Waits until the three lines and the study of leaves on their way are up to date."""
    for _ in range(300):
        yield 0.2
        state = table()
        if state is None:
            raise Differs("there is no table any more")
        waits = state.out_of_date or state.proof_out_of_date or not state.shop_count
        if not waits or state.error:
            yield hand.LOOK
            return
    raise Differs("the check is still pending after a minute")


def until(is_so: Callable[[], bool], seconds: float = 10.0) -> Wait:
    """Waits until something is so; whoever asks says what is wrong where it never is."""
    for _ in range(round(5 * seconds)):
        if is_so():
            return
        yield 0.2


def save_exploded(folder: Path) -> Wait:
    """Presses the button for the exploded view, which goes into an empty folder as SVG; the file has to be what the
    model draws."""
    group = bpy.context.scene.dry_assembly
    yield from hand.press("save_exploded_view(")
    yield from until(lambda: bool(group.picture_saved), 60.0)
    (path,) = folder.iterdir()
    expect("what is said", group.picture_saved, "Saved %s" % path)
    own = model.part("scene.access").table_in(table())
    drawing = model.part("paper.exploded_page").exploded_picture(
        model.part("designs.table").build(own),
        date=date.today().isoformat(),
        view=group.sheet.view,
        labels=True,
        answer=model.part("scene.built").told(own).table,
    )
    if path.read_text(encoding="utf-8") != model.part("paper.sheet.save").svg_text(drawing):
        raise Differs("%s is not what the model draws" % path.name)
    return "%s is what the model draws" % path.name


HANDLE = 0.905
"""Where the handle beside a length is, across the sidebar."""


def drag_value(path: str, by: int) -> Wait:
    """Drags a parameter by some pixels, by the handle beside its field, and waits for the check."""
    section, name = path.lstrip(".").split(".")
    before = getattr(getattr(table().parameters, section), name)
    x, y = yield from hand.find('parameter="%s"' % name, HANDLE)
    yield from hand.click(x, y)
    way = 1 if by > 0 else -1
    for pixels in range(way, by + way, way):
        yield from hand.move(x + pixels, y)
    yield from hand.click(x + by, y)
    yield from settled()
    after = getattr(getattr(table().parameters, section), name)
    if after == before or (after > before) != (by > 0):
        raise Differs("dragging %s by %d pixels left %r after %r" % (name, by, after, before))
    seen = "%s dragged from %.2f to %.2f mm; " % (name, before * 1000, after * 1000)
    return seen + model.compare()


PANELS = ("Check", "Show", "Output")
"""Panels that are closed at first, in order."""
FIRST, PITCH, PANEL = 26, 25 if bpy.app.version < (5,) else 21, 28
"""From the last field of Sizes to the first section below it, from section to section, from panel to panel, pixels: as
seen in Blender 4.3 and 5.2."""
opened: list[str] = []


def unfold(name: str) -> Wait:
    """Opens a panel, and closes the one that was open; by its place, as Blender does not tell of headers."""
    if opened == [name]:
        return
    for one in list(opened):
        yield from _toggle(one)
        opened.remove(one)
    yield from _toggle(name)
    opened.append(name)


def _toggle(name: str) -> Wait:
    """Clicks the header of a panel below Sizes, whose sections are all closed."""
    sections = len(model.part("ui.sizes_panel").SECTIONS)
    below = FIRST + PITCH * sections + 5 + PANEL * PANELS.index(name)
    _, y = yield from hand.find("well.depth_text", 0.7)
    for _ in range(12):
        if y - below > hand.region("UI").y + 14:
            break
        yield from hand.turn("WHEELDOWNMOUSE", 2)
        _, y = yield from hand.find("well.depth_text", 0.7)
    # The last header stands so low that the area's border takes a click on its middle.
    yield from hand.click(hand.region("UI").x + 110, max(y - below, hand.region("UI").y + 19))


def unfold_section(above: str, number: int) -> Wait:
    """Opens one of the sections that stand below a button: the first, the second, …"""
    _, y = yield from hand.find(above)
    x, below = hand.region("UI").x + 110, FIRST + PITCH * (number - 1)
    if y - below < hand.region("UI").y + 14:
        yield from hand.turn("WHEELDOWNMOUSE", 4)
        _, y = yield from hand.find(above)
    yield from hand.click(x, y - below)


def undo_to(name: str) -> Wait:
    """Presses Ctrl-Z until the text is the one kept; then all has to be."""
    nearest: list[str] = ["text"]
    for _ in range(60):
        if table().text == kept[name]["text"]:
            nearest = model.differences(kept[name])
            if not nearest:
                return
        yield from hand.key("Z", ctrl=True)
        if table() is None:
            break
        yield from settled()
    raise Differs("undo never brings back %s: %s" % (name, ", ".join(nearest)))
