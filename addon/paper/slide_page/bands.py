"""The stretched picture: where the nose can be at every opening, against what the opening catches; and its legend."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

from ...check.row.openings import OpeningProof
from ...check.row.proof import Edge, RowProof
from ...sizes.units import Units, format_size
from ..section import Panel, cross_hatch, draw_leaf, draw_leaf_break, draw_overlaps, draw_wood
from ..sheet import BLACK, WHITE, Drawing, Pen
from ..sheet.dimensions import (
    LETTERS,
    NARROW,
    SMALL_LETTERS,
    THIN,
    balloon,
    break_line,
    chain,
    double_dashed,
    spread,
)
from ..sheet.palette import BLOCKED, BY_HAND, GOOD, HATCH, LEAF, PALE, ROOM, WOOD
from .strips import Strips

Sign = Callable[[Drawing, float, float], None]

PITCH: Final = 3.9
"""From one line to the next, mm."""

WIDTH: Final = 62.0
"""mm."""

_SIGN: Final = 9.0
"""Width of a sign, mm."""


def entries(proof: RowProof) -> list[tuple[str, Sign]]:
    """Words and what draws the sign before them."""
    openings = proof.openings
    judged = [one for one in openings if one.verdict in ("guides-itself", "needs-steering")]
    found: list[tuple[str, Sign]] = [("wood, cut", _wood)]
    if proof.verdict == "does-not-pass":
        found.append(("leaf at its tightest", _leaf))
        found.append(("leaf in the wood", _in_wood))
    else:
        found.append(("leaf where it is tightest", _leaf))
    if judged:
        found.append(("nose here: caught", _caught))
        if any(one.verdict == "needs-steering" for one in judged):
            found.append(("nose here: needs steering", _missed))
        found.append(("the catch ends here", _catch))
    others = any(not one.holds for one in proof.row.openings)
    if proof.counterexample is not None:
        found.append(("leaf at its worst, other leaves" if others else "leaf at its worst", _other))
    elif others:
        found.append(("another leaf", _other))
    return found


def draw_legend(drawing: Drawing, proof: RowProof, x: float, top: float) -> None:
    """All signs, one under the other."""
    for place, (words, sign) in enumerate(entries(proof)):
        y = top - place * PITCH - LETTERS / 2
        sign(drawing, x, y)
        drawing.text(words, x + _SIGN + 2.0, y, LETTERS, vertical="middle")


def _box(drawing: Drawing, x: float, y: float, color: str) -> list[tuple[float, float]]:
    ring = [(x, y - 1.35), (x + _SIGN, y - 1.35), (x + _SIGN, y + 1.35), (x, y + 1.35)]
    drawing.polygon(ring, color, Pen(NARROW))
    return ring


def _wood(drawing: Drawing, x: float, y: float) -> None:
    drawing.hatch([_box(drawing, x, y, WOOD)], HATCH, 1.6)


def _leaf(drawing: Drawing, x: float, y: float) -> None:
    _box(drawing, x, y, LEAF)


def _caught(drawing: Drawing, x: float, y: float) -> None:
    _box(drawing, x, y, ROOM)


def _missed(drawing: Drawing, x: float, y: float) -> None:
    drawing.hatch([_box(drawing, x, y, BY_HAND)], MISS_HATCH, 0.9, 135)


def _in_wood(drawing: Drawing, x: float, y: float) -> None:
    cross_hatch(drawing, [np.array(_box(drawing, x, y, BLOCKED))])


def _catch(drawing: Drawing, x: float, y: float) -> None:
    drawing.fill([[(x + 2.0, y), (x + 0.4, y - 0.9), (x + 0.4, y + 0.9)]], GOOD)
    drawing.line((x + 2.0, y), (x + _SIGN, y), Pen(0.5, GOOD))


def _other(drawing: Drawing, x: float, y: float) -> None:
    drawing.line((x, y), (x + _SIGN, y), double_dashed(0.3))


_WIDTH: Final = 2.4
"""Of a nose's band, mm."""

_BEFORE: Final = 0.9
"""Between a band and the opening, mm."""

_TICK: Final = 1.0
"""How far the mark of what an opening catches reaches past the band, mm."""

_FLAG: Final = 1.6
"""Length of the flag before that mark, mm."""

MISS_HATCH: Final = Pen(0.3, WHITE)
"""Over where the nose has to be steered."""


@dataclass(frozen=True)
class Band:
    """Where a nose can be before an opening, on the sheet, mm.

    Parameters
    ----------
    left, right : of the band
    bottom, top : its ends; where the nose is not held, and beyond what is shown, those of the picture
    goes_on : whether it goes on below and above
    flagged : whether there is room for a flag at what is caught
    """

    number: int
    left: float
    right: float
    bottom: float
    top: float
    goes_on: tuple[bool, bool]
    flagged: bool


def draw_strips(drawing: Drawing, proof: RowProof, strips: Strips) -> list[Band]:
    """The whole stretched picture; returns the bands that it shows."""
    row = proof.row
    for panel in strips.panels:
        if proof.verdict == "does-not-pass" and proof.fit is not None:
            draw_leaf(drawing, panel, row, proof.fit, "leaf at its tightest, stretched")
        draw_wood(drawing, panel, row, (-np.inf, np.inf), ", stretched")
        if proof.verdict == "does-not-pass" and proof.fit is not None:
            draw_overlaps(drawing, panel, row, proof.fit, "overlap {}")
            draw_leaf_break(drawing, panel, row, proof.fit)
        if proof.counterexample is not None:
            draw_leaf(
                drawing, panel, row, proof.counterexample, "leaf that needs steering, stretched", other=True
            )
    _draw_borders(drawing, strips)
    bands = [
        band
        for number, proved in enumerate(proof.openings)
        if proved.verdict is not None and (band := _band(proof, number, strips)) is not None
    ]
    for band in bands:
        _draw_band(drawing, band, proof.openings[band.number], strips)
    if proof.verdict == "does-not-pass":
        _draw_numbers(drawing, proof.edges, strips)
    return bands


def _draw_borders(drawing: Drawing, strips: Strips) -> None:
    """Pale lines below and above, and breaks where the leaf's middle is left out."""
    left, bottom, right, top = strips.box
    drawing.line((left, bottom), (right, bottom), PALE)
    drawing.line((left, top), (right, top), PALE)
    if len(strips.panels) == 2:
        for y in (strips.panels[0].box[3], strips.panels[1].box[1]):
            break_line(drawing, (left, y), (right, y), PALE)


def _band(proof: RowProof, number: int, strips: Strips) -> Band | None:
    proved, opening = proof.openings[number], proof.row.openings[number]
    if proved.verdict == "does-not-pass":
        return None
    panel = strips.panels[0]
    face = panel.along_at(opening.face)
    ends = [one.end for one in proof.row.openings if one.end <= opening.face and one.window]
    room = face - panel.along_at(max(ends)) - _BEFORE if ends else _WIDTH
    right = face - min(_BEFORE, max(room / 4, 0.3))
    left = right - min(_WIDTH, max(room - 0.3, 1.0))
    low, high = strips.box[1], strips.box[3]
    bottom = _shown(strips, proved.nose_low, low)
    top = _shown(strips, proved.nose_top, high)
    below = proved.nose_low is None or proved.nose_low < strips.panels[0].z
    above = proved.nose_top is None or proved.nose_top > strips.panels[-1].z_top
    return Band(number, left, right, bottom, top, (below, above), room > _WIDTH + _BEFORE + _TICK + _FLAG)


def _shown(strips: Strips, z: float | None, otherwise: float) -> float:
    """y of a height; in the gap between strips, the border of the nearer one."""
    if z is None:
        return otherwise
    at = strips.across_at(z)
    if at is not None:
        return at
    for panel in strips.panels:
        if z < panel.z:
            return panel.box[1]
    return strips.panels[-1].box[3]


def _draw_band(drawing: Drawing, band: Band, proved: OpeningProof, strips: Strips) -> None:
    """Plain where the opening catches the nose, hatched where it needs steering, an arrow where it goes on."""
    low, high = strips.box[1], strips.box[3]
    caught_low = max(band.bottom, min(_shown(strips, proved.catch_low, low), band.top))
    caught_high = min(band.top, max(_shown(strips, proved.catch_high, high), band.bottom))
    with_gaps = [
        (caught_low, caught_high, ROOM, "nose caught"),
        (band.bottom, caught_low, BY_HAND, "nose to be steered"),
        (caught_high, band.top, BY_HAND, "nose to be steered"),
    ]
    for bottom, top, color, name in with_gaps:
        for panel in strips.panels:
            a, b = max(bottom, panel.box[1]), min(top, panel.box[3])
            if b - a < 1e-6:
                continue
            box = (band.left, a, band.right, b)
            drawing.rectangle(box, color, Pen(NARROW), f"{name} {band.number + 1}")
            if color == BY_HAND:
                ring = [(box[0], box[1]), (box[2], box[1]), (box[2], box[3]), (box[0], box[3])]
                drawing.hatch([ring], MISS_HATCH, 0.9, 135)
    for z, way in ((proved.catch_low, -1), (proved.catch_high, 1)):
        at = None if z is None else strips.across_at(z)
        if at is not None:
            _draw_catch(drawing, band, at, way)
    middle = (band.left + band.right) / 2
    for beyond, end, way in ((band.goes_on[0], low, 1), (band.goes_on[1], high, -1)):
        if beyond:
            head = [(middle, end), (middle - 1.3, end + 2.6 * way), (middle + 1.3, end + 2.6 * way)]
            drawing.polygon(head, BLACK, Pen(0.4, WHITE), f"nose goes on {band.number + 1}")


def _draw_catch(drawing: Drawing, band: Band, y: float, way: int) -> None:
    """A line across the band at the last height that is caught, with a flag on the side that is."""
    left = band.left - (_TICK if band.flagged else 0.3)
    drawing.line((left, y), (band.right + 0.3, y), Pen(0.5, GOOD), f"catch {band.number + 1}")
    if band.flagged:
        drawing.fill([[(left, y), (left - _FLAG, y - 0.9), (left - _FLAG, y + 0.9)]], GOOD)
        drawing.line((left - _FLAG, y), (left - _FLAG, y - way * 2.2), Pen(0.35, GOOD))


def _draw_numbers(drawing: Drawing, edges: tuple[Edge, ...], strips: Strips) -> None:
    """The edges that hold the leaf, numbered as in the words."""
    panel = strips.panels[0]
    wanted = np.array([panel.along_at(edge.x) + 7.0 for edge in edges])
    places = spread(wanted, np.full(len(edges), 6.0), strips.box[0], strips.box[2])
    for number, (edge, x) in enumerate(zip(edges, places.tolist(), strict=True), 1):
        y = strips.across_at(edge.z)
        if y is None:
            continue
        inward = 5.5 if edge.side == "lower" else -5.5
        drawing.line((panel.along_at(edge.x), y), (x, y + inward), THIN)
        balloon(drawing, (x, y + inward), str(number))


def draw_heights(drawing: Drawing, strips: Strips, rest: float, units: Units, title: str) -> None:
    """The scale of heights at the left, from the leaf at rest; `title` says what is how many times as large."""
    left, bottom, _, top = strips.box
    step = _step(10.0 / strips.panels[0].across, units)
    unit = 1.0 if units == "mm" else 25.4
    for panel in strips.panels:
        low, high = (z - rest for z in (panel.z, panel.z_top))
        drawing.line((left, panel.box[1]), (left, panel.box[3]), THIN)
        for count in range(int(np.ceil(low / step)), int(np.floor(high / step)) + 1):
            y = panel.across_at(rest + count * step)
            drawing.line((left, y), (left - 1.2, y), THIN)
            if panel.box[1] + 1.0 <= y <= panel.box[3] - 1.0:
                words = f"{count * step / unit:.10g}".replace("-", "−")
                drawing.text(words, left - 1.8, y, SMALL_LETTERS, "end", vertical="middle")
    middle = (bottom + top) / 2
    drawing.text(title, left - 13.6, middle, LETTERS, "middle", angle=90, weight=0.13)
    drawing.text(f"{units} from the leaf at rest", left - 10.0, middle, SMALL_LETTERS, "middle", angle=90)


def draw_travel(drawing: Drawing, panel: Panel, y: float, travel: float, units: Units, end: float) -> None:
    """The scale of the travel below, and where the nose stops.

    Parameters
    ----------
    y : of its line, mm on the sheet
    travel : where the nose stops, mm
    end : upper end of the line that marks this, mm on the sheet
    """
    step, unit = _step(14.0 / panel.along, units), 1.0 if units == "mm" else 25.4
    left, _, right, _ = panel.box
    drawing.line((left, y), (right, y), THIN)
    drawing.text(f"travel, {units}", left - 2.0, y - 1.9, SMALL_LETTERS, "end", vertical="top")
    for count in range(int(np.ceil(panel.x / step)), int(np.floor(panel.x_right / step)) + 1):
        x = panel.along_at(count * step)
        drawing.line((x, y), (x, y - 1.2), THIN)
        if left + 4.0 <= x <= right - 4.0:
            words = f"{count * step / unit:.10g}".replace("-", "−")
            drawing.text(words, x, y - 1.9, SMALL_LETTERS, "middle", vertical="top")
    at = panel.along_at(travel)
    drawing.line((at, y), (at, end), chain(), "nose stowed")
    words = f"nose stowed, {format_size(travel, units)}"
    drawing.text(words, right + 3.0, (y + end) / 2, SMALL_LETTERS, "middle", angle=90)


def _step(least: float, units: Units) -> float:
    """A round step of a scale, mm, of at least `least` mm."""
    unit = 1.0 if units == "mm" else 25.4
    steps = [unit * size * 10.0**power for power in range(-3, 5) for size in (1, 2, 5)]
    return next((step for step in steps if step >= least), steps[-1])
