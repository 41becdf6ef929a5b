"""What stages have in common: waiting, dragging values, undoing."""

from __future__ import annotations

from typing import Any

import desktop_hand as hand
import desktop_model as model
from desktop_hand import Wait
from desktop_model import Differs, table

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


def remedies_tried() -> Wait:
    """Waits until the button that tries remedies has done so."""
    for _ in range(300):
        yield 0.2
        if table().remedies_found:
            yield hand.LOOK
            return
    raise Differs("no remedies are found after a minute")


def drag_value(path: str, by: int) -> Wait:
    """Drags a parameter by some pixels and waits for the check."""
    section, name = path.lstrip(".").split(".")
    before = getattr(getattr(table().parameters, section), name)
    x, y = yield from hand.find("parameters" + path, 0.75)
    yield from hand.drag(x, y, by)
    yield from settled()
    after = getattr(getattr(table().parameters, section), name)
    if after == before or (after > before) != (by > 0):
        raise Differs("dragging %s by %d pixels left %r after %r" % (name, by, after, before))
    seen = "%s dragged from %.2f to %.2f mm; " % (name, before * 1000, after * 1000)
    return seen + model.compare()


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
