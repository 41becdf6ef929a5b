"""A layout of parts on sheets, in words and as JSON. Lengths in mm."""

from __future__ import annotations

from typing import Any

from ..sawing.layout import Layout, Placement
from ..sizes.units import format_given


def layout_document(layout: Layout) -> dict[str, Any]:
    """What `sheets --json` says of a list of parts."""
    return {
        "sheets": layout.sheets,
        "bound": layout.bound,
        "placements": [
            {
                "sheet": one.sheet,
                "name": one.name,
                "x": one.x,
                "y": one.y,
                "w": one.width,
                "h": one.height,
                "turned": one.turned,
            }
            for one in layout.placements
        ],
        "cuts": [
            {"sheet": one.sheet, "box": list(one.box), "axis": one.axis, "at": one.at} for one in layout.cuts
        ],
    }


def layout_text(layout: Layout) -> str:
    """The same in words: how many sheets, and what lies where on each."""
    noun = "sheet" if layout.sheets == 1 else "sheets"
    needed = f"at least {layout.bound} {'is' if layout.bound == 1 else 'are'} needed"
    least = "fewer cannot do" if layout.bound == layout.sheets else needed
    lines = [f"{layout.sheets} {noun}; {least}."]
    for number in range(1, layout.sheets + 1):
        lines += ["", f"Sheet {number}, from its lower left corner"]
        lines += [f"  {_line(one)}" for one in layout.placements if one.sheet == number]
    return "\n".join(lines)


def _line(one: Placement) -> str:
    x, y, width, height = (format_given(mm, "mm") for mm in (one.x, one.y, one.width, one.height))
    return f"{one.name}: {width} × {height} at {x} right, {y} up{', turned' if one.turned else ''}"
