"""Labels of the parts that are seen, in a column at either side, with leaders that do not cross."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import Final

import numpy as np

from ..sizes.arrays import Bools, Floats, Ints
from ..sizes.tolerances import CONTACT
from ..wood.part import Part
from .lines.seen import Grid, Seen, Sorted, Surface
from .sheet import Drawing, Pen
from .sheet.clip import Rectangle
from .sheet.dimensions import LETTERS, columns, leader
from .sheet.lettering import text_width

_BESIDE: Final = 7.0
"""From the drawing to where the leaders end, mm."""

_BEFORE: Final = 0.8
"""From a leader's end to the lettering, mm."""

_PITCH: Final = 5.0
_LINES: Final = 1.5 * LETTERS
"""From label to label, and from line to line of one, mm."""

_LINE: Final = Pen(0.18)
"""Narrower than edges, so that a leader is not taken for one."""

_TRIANGLES: Final = 4
_STEPS: Final = 8
"""In so many triangles of each flat face, its largest, points that divide their sides by so many are looked at."""

_SMALL: Final = 0.01
"""Share of a part's largest triangle below which another is not looked at."""

_CLEAR: Final = 0.7
"""Least distance of a leader's dot from the middle of any line, mm on the paper: half of both widths together."""

_AMPLE: Final = 2.5
"""Distance from lines beyond which more does not make a place better, mm on the paper."""

_CROWDED: Final = 2.0
"""How much worse a place at the very height of another dot is, mm."""

_PULL: Final = 0.01
"""How much a place gains by being nearer to its column, mm for a mm."""


def label_texts(parts: Sequence[Part]) -> list[str]:
    """What the labels of parts say: the code, and the name without which one of its kind it is."""
    return [f"{part.label} {part.short_name}" for part in parts]


def column_width(texts: Sequence[str]) -> float:
    """Room beside the drawing for a column of labels, with its distance from the drawing, mm."""
    lines = (line for text in texts for line in text.split("\n"))
    return _BESIDE + _BEFORE + max((text_width(line, LETTERS) for line in lines), default=0.0)


def draw_labels(
    drawing: Drawing, texts: Sequence[str], surface: Surface, lines: Floats, scale: float, place: Floats,
    box: Rectangle, rise: float, clear: float = _CLEAR,
) -> None:  # fmt: skip
    """Puts a label with a leader beside the drawing for each part that has a clear place.

    Where a column has no room for all of them, parts that come late in the list have none.

    Parameters
    ----------
    texts : of the labels, by number of the part; "" where it is to have none, and one for parts with the same text;
        lines of one are told apart by line feeds
    lines : (n, 2, 2) float, all lines drawn, mm on the paper
    scale, place : paper = place + points · scale
    box : left, bottom, right, top of the area for drawing and labels, mm on the paper
    rise : of the leaders toward the labels, where they have room; not that of the drawing's own lines
    clear : least distance of a place from the middle of any line, where a part has no better one, mm
    """
    part, spots = _spots(surface, lines, scale, place, clear)
    said = [texts[number] for number in part.tolist()]
    spoken = [at for at, text in enumerate(said) if text and text not in said[:at]]
    part, spots = part[spoken], spots[spoken]
    low, high = float(lines[:, :, 0].min()), float(lines[:, :, 0].max())
    pitch = _PITCH + _LINES * max((text.count("\n") for text in texts), default=0)
    placed, ends = columns(spots, (low - _BESIDE, high + _BESIDE), pitch, box[1], box[3], rise)
    for number, start, end in zip(part[placed].tolist(), spots[placed], ends, strict=True):
        leader(drawing, [end, start], "dot", _LINE)
        at, anchor = (end[0] - _BEFORE, "end") if end[0] < low else (end[0] + _BEFORE, "start")
        own = texts[int(number)].split("\n")
        for row, line in enumerate(own):
            y = float(end[1]) + ((len(own) - 1) / 2 - row) * _LINES
            drawing.text(line, float(at), y, LETTERS, anchor, vertical="middle", name="label")


def _spots(surface: Surface, lines: Floats, scale: float, place: Floats, least: float) -> tuple[Ints, Floats]:
    """The number of each part that has a clear place, and that place, (n, 2) float mm on the paper."""
    owner, points = _candidates(surface)
    seen = Seen(surface, Grid.over(surface.points[:, :2], 160))
    right = np.broadcast_to(np.array([1.0, 0.0]), (len(points), 2))
    visible = ~seen.hidden(points, right).any(axis=1)
    owner, flat = owner[visible], points[visible, :2] * scale + place
    middle = (lines[:, :, 0].min() + lines[:, :, 0].max()) / 2
    gain = _PULL * np.abs(flat[:, 0] - middle)
    clear = _clearance(flat, lines)
    best = np.zeros(int(owner.max(initial=0)) + 1)
    np.maximum.at(best, owner, clear)
    good = np.flatnonzero((clear >= _CLEAR) | ((clear >= least) & (best[owner] < _CLEAR)))
    good = good[np.argsort(owner[good], kind="stable")]
    owner, flat, worth = owner[good], flat[good], (clear + gain)[good]
    chosen = _apart(owner, flat, worth, flat[:, 0] > middle)
    return owner[chosen], flat[chosen]


def _apart(owner: Ints, spots: Floats, worth: Floats, right: Bools) -> Ints:
    """The best spot for each part, numbers rising.

    Where there is a choice, it is not at the height of another one on the same side: leaders run nearly level, so that
    one from there would pass close to the other's dot. Parts with the least choice come first.
    """
    parts, first = np.unique(owner, return_index=True)
    bounds = np.append(first, len(owner))
    best = [float(worth[start:end].max()) for start, end in itertools.pairwise(bounds.tolist())]
    chosen: dict[int, int] = {}
    for number in np.argsort(best, kind="stable").tolist():
        mine = np.arange(int(bounds[number]), int(bounds[number + 1]))
        taken = np.array(list(chosen.values()), dtype=np.intp)
        beside = np.abs(spots[mine, 1][:, None] - spots[taken, 1]) / _PITCH
        beside[right[mine][:, None] != right[taken]] = 1.0
        crowded = _CROWDED * (1.0 - beside.min(axis=1, initial=1.0))
        chosen[number] = int(mine[(worth[mine] - crowded).argmax()])
    return np.array([chosen[number] for number in range(len(parts))], dtype=np.intp)


def _candidates(surface: Surface) -> tuple[Ints, Floats]:
    """Points all over the largest triangles of the flat faces that the eye sees: the part's number, (n, 3) float mm."""
    corners = surface.points[surface.triangles]
    one, two = corners[:, 1, :2] - corners[:, 0, :2], corners[:, 2, :2] - corners[:, 0, :2]
    area = one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]
    front = np.flatnonzero(surface.facing > 0)
    largest = np.zeros(int(surface.part.max()) + 1)
    np.maximum.at(largest, surface.part[front], area[front])
    front = front[area[front] > _SMALL * largest[surface.part[front]]]
    order = front[np.lexsort((-area[front], surface.face[front]))]
    face = surface.face[order]
    chosen = order[np.arange(len(order)) - np.searchsorted(face, face) < _TRIANGLES]
    steps = np.arange(1, _STEPS - 1)
    a, b = (grid.ravel() for grid in np.meshgrid(steps, steps))
    shares = np.stack([a, b, _STEPS - a - b], axis=1)[a + b < _STEPS] / _STEPS
    points = np.einsum("sk,tkj->tsj", shares, corners[chosen])
    return np.repeat(surface.part[chosen], len(shares)), points.reshape(-1, 3)


def _clearance(points: Floats, lines: Floats) -> Floats:
    """Distance, up to `_AMPLE`, of (n, 2) points from the nearest of (m, 2, 2) lines in the cells around each."""
    found = np.full(len(points), _AMPLE)
    if not len(points):
        return found
    span = float(np.ptp(np.concatenate([points, lines.reshape(-1, 2)]), axis=0).max())
    grid = Grid.over(np.concatenate([points, lines.reshape(-1, 2)]), max(1, int(span / _AMPLE)))
    around = [(x, y) for x in (-grid.size, 0.0, grid.size) for y in (-grid.size, 0.0, grid.size)]
    near = Sorted(*grid.cells(lines))
    (ax, ay), (bx, by) = np.moveaxis(lines, 0, 2)
    dx, dy = bx - ax, by - ay
    size = np.maximum(dx * dx + dy * dy, CONTACT)
    for shift in around:
        point, line = near.meet(grid.cell(points + shift))
        x, y = points[point, 0] - ax[line], points[point, 1] - ay[line]
        share = np.clip((x * dx[line] + y * dy[line]) / size[line], 0.0, 1.0)
        away = np.hypot(x - share * dx[line], y - share * dy[line])
        np.minimum.at(found, point, away)
    return found
