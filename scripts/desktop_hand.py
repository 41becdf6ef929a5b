"""Mouse and keyboard in Blender's window: finds a button by what Blender says is under the mouse, and presses it.

Needs Blender to have been started with ``--enable-event-simulate``. What waits for the window is a generator that
yields seconds to wait.
"""

from __future__ import annotations

import importlib
from collections.abc import Generator
from typing import Any

bpy: Any = importlib.import_module("bpy")

Wait = Generator[float, None, Any]

BLINK = 0.04
"""Until Blender knows what is under the mouse, s."""
LOOK = 0.4
"""Until the window has been drawn anew, s."""
STEP = 8
"""From one look under the mouse to the next, pixels; buttons are higher."""
NOTCHES = 8
"""Turns of the wheel from one page of the sidebar to the next."""


done: list[str] = []
"""What a maker would have done with mouse and keyboard: each button and key pressed, each roll of the wheel."""


class NotThere(Exception):
    """A button that is not to be found in the sidebar."""


def window() -> Any:
    """The window."""
    return bpy.context.window_manager.windows[0]


def area() -> Any:
    """The window's 3D view."""
    return next(one for one in window().screen.areas if one.type == "VIEW_3D")


def region(kind: str) -> Any:
    """A region of the 3D view: ``UI`` is the sidebar, ``WINDOW`` the view itself."""
    return next(one for one in area().regions if one.type == kind)


def override(kind: str = "WINDOW") -> Any:
    """The context of a click into a region."""
    return bpy.context.temp_override(window=window(), area=area(), region=region(kind))


def event(kind: str, value: str, x: float, y: float, **more: Any) -> None:
    """One event of mouse or keyboard; what is pressed is counted, a roll of the wheel as a whole by who rolls it."""
    if value == "PRESS" and not kind.startswith("WHEEL"):
        done.append(kind)
    window().event_simulate(type=kind, value=value, x=int(x), y=int(y), **more)


def move(x: float, y: float) -> Wait:
    """Moves the mouse."""
    event("MOUSEMOVE", "NOTHING", x, y)
    yield BLINK


def click(x: float, y: float) -> Wait:
    """Presses and releases the left button."""
    yield from move(x, y)
    event("LEFTMOUSE", "PRESS", x, y)
    event("LEFTMOUSE", "RELEASE", x, y)
    yield LOOK


def drag(x: float, y: float, by: int) -> Wait:
    """Presses, moves sideways pixel by pixel, releases."""
    yield from move(x, y)
    event("LEFTMOUSE", "PRESS", x, y)
    yield BLINK
    way = 1 if by > 0 else -1
    for pixels in range(way, by + way, way):
        yield from move(x + pixels, y)
    event("LEFTMOUSE", "RELEASE", x + by, y)
    yield LOOK


def middle() -> tuple[float, float]:
    """The middle of the 3D view."""
    view = region("WINDOW")
    return view.x + view.width / 2, view.y + view.height / 2


def key(kind: str, **held: bool) -> Wait:
    """Presses a key while the mouse is over the 3D view; `held`: ``ctrl``, ``shift``, …"""
    x, y = middle()
    yield from move(x, y)
    event(kind, "PRESS", x, y, **held)
    event(kind, "RELEASE", x, y, **held)
    yield LOOK


def type_over(x: float, y: float, text: str) -> Wait:
    """Clicks into a field, types over what it holds, and presses Enter."""
    yield from click(x, y)
    event("A", "PRESS", x, y, ctrl=True)
    event("A", "RELEASE", x, y, ctrl=True)
    yield from type_in(x, y, text)


def type_in(x: float, y: float, text: str) -> Wait:
    """Types letters, and presses Enter."""
    for letter in text:
        kind = KEYS.get(letter, letter.upper())
        event(kind, "PRESS", x, y, unicode=letter)
        event(kind, "RELEASE", x, y)
        yield BLINK
    yield from press_enter(x, y)


def press_enter(x: float, y: float) -> Wait:
    """Presses Enter over a field or a dialog."""
    event("RET", "PRESS", x, y)
    event("RET", "RELEASE", x, y)
    yield LOOK


KEYS: dict[str, str] = dict(
    zip("0123456789", ("ZERO", "ONE", "TWO", "THREE", "FOUR", "FIVE", "SIX", "SEVEN", "EIGHT", "NINE"))
)
KEYS.update({".": "PERIOD", ",": "COMMA", "-": "MINUS", "/": "SLASH", " ": "SPACE"})


def open_sidebar(tab: str) -> Wait:
    """Opens the sidebar and clicks its tabs from above until the one wanted is in front; a maker, who can read, clicks
    once."""
    if not area().spaces.active.show_region_ui:
        yield from key("N")
        yield LOOK
    before = len(done)
    side = region("UI")
    x, y = side.x + side.width - 8, side.y + side.height - 30
    while region("UI").active_panel_category != tab:
        if y < side.y:
            raise NotThere("the sidebar has no tab '%s'" % tab)
        yield from click(x, y)
        y -= 20
    del done[before + 1 :]


def under_mouse() -> str:
    """What Blender says of the button under the mouse: its operator's call, its data path, or nothing."""
    with override("UI"):
        for ask in (bpy.ops.ui.copy_data_path_button, bpy.ops.ui.copy_python_command_button):
            if ask.poll():
                bpy.context.window_manager.clipboard = ""
                ask()
                return str(bpy.context.window_manager.clipboard)
    return ""


def look(x: float, y: float) -> Wait:
    """Moves the mouse there and asks what is under it."""
    yield from move(x, y)
    return under_mouse()


def find(wanted: str, across: float = 0.6) -> Wait:
    """(x, y) of the button whose call or data path contains `wanted`; the sidebar is scrolled to it.

    Parameters
    ----------
    across : share of the sidebar's width at which to look

    Raises
    ------
    NotThere
        Where no page of the sidebar has it.
    """
    place = yield from on_page(wanted, across)
    if place is None:
        yield from turn("WHEELUPMOUSE", 60)
        while place is None:
            place = yield from on_page(wanted, across)
            if place is None and not (yield from turn("WHEELDOWNMOUSE", NOTCHES)):
                raise NotThere("the sidebar has no button '%s'" % wanted)
    return place


def press(wanted: str, across: float = 0.6) -> Wait:
    """Finds a button and clicks it."""
    x, y = yield from find(wanted, across)
    yield from click(x, y)


def on_page(wanted: str, across: float) -> Wait:
    """(x, y) of the button's middle where it is on the page shown; None where it is not."""
    side = region("UI")
    x = side.x + across * (side.width - 20)
    hits: list[int] = []
    for y in range(int(side.y + side.height - 4), int(side.y - STEP), -STEP):
        inside = y > side.y + 4
        if inside:
            yield from move(x, y)
        if inside and wanted in under_mouse():
            hits.append(y)
        elif hits:
            place = yield from _verified(wanted, x, (hits[0] + hits[-1]) / 2)
            if place is not None:
                return place
            hits = []
    return None


def _verified(wanted: str, x: float, y: float) -> Wait:
    """Where the button really is, near a place where it was told of: a busy window tells late."""
    for up in (0, 6, 12, -6):
        yield from move(x, y + up)
        yield 3 * BLINK
        if wanted in under_mouse():
            return x, y + up
    return None


def tap(x: float, y: float, kind: str) -> Wait:
    """Presses a key while the mouse is at a place."""
    yield from move(x, y)
    event(kind, "PRESS", x, y)
    event(kind, "RELEASE", x, y)
    yield LOOK


def wheel_at(x: float, y: float, wheel: str, notches: int, **held: bool) -> Wait:
    """Turns the wheel over a place, such as a list; `held`: ``ctrl``, ``shift``, …"""
    yield from move(x, y)
    for _ in range(notches):
        event(wheel, "PRESS", x, y, **held)
        yield BLINK
    done.append(wheel)
    yield LOOK


def turn(wheel: str, notches: int, counted: bool = True) -> Wait:
    """Turns the wheel over the sidebar; whether that moved anything.

    Parameters
    ----------
    counted : whether a maker would have to do that too
    """
    side = region("UI")
    x, y = side.x + 40, side.y + side.height / 2
    yield from move(x, y)
    before = side.view2d.region_to_view(0, 0)[1]
    for _ in range(notches):
        event(wheel, "PRESS", x, y)
    yield LOOK
    moved = abs(region("UI").view2d.region_to_view(0, 0)[1] - before) > 1.0
    if moved and counted:
        done.append(wheel)
    return moved


def scroll_to_top() -> Wait:
    """The sidebar's first page."""
    yield from turn("WHEELUPMOUSE", 60)
