"""Reserved spaces on paper: narrow lines of long dashes and two dots, each with its name (ISO 128-2, from memory).

They are drawn as if nothing stood before them: what is reserved is mostly below a table or in it.

    +-- . . -- . . --+
    |    RES1        |   a box, cylinder, hand or wall: its edges toward the eye
    +-- . . -- . . --+
    -- . . -- . . -- .   a cable: its middle
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Final

import numpy as np

from ..sizes.arrays import Floats
from ..sizes.units import Units, format_size
from ..wood.reserved import Space
from .lines.chains import paths_of
from .lines.seen import CREASE
from .sheet import BLACK, Drawing
from .sheet.clip import Rectangle
from .sheet.dimensions import LETTERS, THIN, double_dashed
from .sheet.free import line_boxes, over
from .sheet.items import Text
from .sheet.lettering import text_box

NAME: Final = "reserved space"
"""Of its lines in a drawing."""

_CLEAR: Final = 0.5
"""Between lettering and what is near it, mm."""

_FACED: Final = 0.9
"""Cosine from which on a wall is looked at square, and its outline says nothing."""

_EDGE_ON: Final = 1e-9
"""Cosine below which a face is seen edge-on."""


def outline(space: Space, axes: Floats) -> list[Floats]:
    """What is drawn of a space, (n, 2) float each, mm in the view.

    Parameters
    ----------
    axes : (3, 3) float; rows to the right, up and toward the eye
    """
    if space.entry.form == "cable":
        return [space.line @ axes[:2].T]
    if space.wall is not None and abs(float(space.wall[:3] @ axes[2])) > _FACED:
        return []
    pieces = space.pieces
    ends, planes = pieces.edges[0]
    normals = pieces.piece_planes(0)[:, :3]
    toward = normals @ axes[2] > _EDGE_ON
    one, other = toward[planes].T
    bent = (normals[planes[:, 0]] * normals[planes[:, 1]]).sum(axis=1) < np.cos(CREASE)
    flat = pieces.piece(0) @ axes[:2].T
    lines = flat[ends[(one != other) | (one & other & bent)]]
    paths = paths_of(lines[np.abs(lines[:, 1] - lines[:, 0]).max(axis=1) > _EDGE_ON])
    return [path[:-1] if len(path) > 3 and np.array_equal(path[:2], path[-2:]) else path for path in paths]


def points_of(spaces: Sequence[Space], axes: Floats) -> Floats:
    """(n, 2) float, mm in the view: corners of all but walls, for which a drawing makes no room."""
    own = [one.pieces.vertices @ axes[:2].T for one in spaces if one.wall is None]
    return np.concatenate(own) if own else np.empty((0, 2))


def draw_spaces(
    drawing: Drawing, spaces: Sequence[Space], axes: Floats, scale: float, place: Floats, box: Rectangle, *,
    cut: bool = False,
) -> dict[str, Floats]:  # fmt: skip
    """Draws spaces, and says where: label → (n, 2) float, mm on the paper, points on its lines.

    Parameters
    ----------
    scale, place : paper = place + points · scale
    box : left, bottom, right, top, mm; what goes beyond is not drawn
    cut : what goes beyond in part is drawn as far as it is within
    """
    found = {}
    for space in spaces:
        paths = [path * scale + place for path in outline(space, axes)]
        points = np.concatenate([_along(path) for path in paths]) if paths else np.empty((0, 2))
        inside = ((points >= box[:2]) & (points <= box[2:])).all(axis=1)
        if not (inside.any() if cut else inside.all() and len(points) > 0):
            continue
        with drawing.clipped(box):
            drawing.strokes(paths, double_dashed(), name=NAME)
        found[space.label] = points[inside]
    return found


def _along(path: Floats) -> Floats:
    """(n, 2) float: points on a path, its corners among them, `_STEP` from each other at most."""
    found = [path[:1]]
    for one, other in pairwise(path):
        count = 1 + int(np.hypot(*(other - one)) / _STEP)
        found.append(one + (other - one) * (np.arange(1, count + 1) / count)[:, None])
    return np.concatenate(found)


_STEP: Final = 2.0
"""mm on the paper."""

_BESIDE: Final = 2.0
"""Words without a leader stand no farther from what they name, mm."""


def name_spaces(drawing: Drawing, drawn: dict[str, Floats], texts: dict[str, str], box: Rectangle) -> None:
    """Words beside spaces where nothing else is, else farther off with a leader that crosses little; called last."""
    words = np.array([own for _, own in drawing.texts()]).reshape(-1, 4)
    for label, points in drawn.items():
        lines = line_boxes(drawing)
        ways = list(_places(texts[label], points))
        boxes = np.array([text_box(text) for text, _ in ways]) + (-_CLEAR, -_CLEAR, _CLEAR, _CLEAR)
        leads = np.array([tip is not None for _, tip in ways])
        within = (
            (leads | (_apart(boxes, points) <= _BESIDE))
            & (boxes[:, :2] >= box[:2]).all(axis=1)
            & (boxes[:, 2:] <= box[2:]).all(axis=1)
        )
        clear = within & ~over(boxes, words)
        free = np.flatnonzero(clear & ~over(boxes, lines))[:_LOOKED_AT].tolist()
        costs = [_crossings(ways[one][1], lines, words) + _FARTHER * place for place, one in enumerate(free)]
        chosen = free[int(np.argmin(costs))] if free else int(clear.argmax())
        text, tip = ways[chosen]
        if tip is not None:
            drawing.line(*tip, THIN)
            drawing.circle(tip[1], 0.5, BLACK)
        drawing.items.append(text)
        words = np.concatenate([words, boxes[chosen : chosen + 1]])


_LOOKED_AT: Final = 60
"""Places without anything below them that are compared."""

_FARTHER: Final = 0.05
"""Each place before another one counts as much as so many crossed lines."""

_OVER_WORDS: Final = 100.0
"""A leader through words counts as much as so many crossed lines."""


def _apart(boxes: Floats, points: Floats) -> Floats:
    """(n,) float: from (n, 4) boxes to the nearest of (m, 2) points, mm."""
    beyond = np.maximum(boxes[:, None, :2] - points, points - boxes[:, None, 2:])
    away: Floats = np.hypot(*np.maximum(beyond, 0.0).transpose(2, 0, 1)).min(axis=1)
    return away


def _crossings(leader: tuple[Floats, Floats] | None, lines: Floats, words: Floats) -> float:
    """How many lines a leader goes over; its last bit is on the one that it speaks of."""
    if leader is None:
        return 0.0
    points = np.linspace(*leader, 24)[:-2]
    low, high = np.minimum(points[:-1], points[1:]), np.maximum(points[:-1], points[1:])
    own = np.concatenate([low, high], axis=1)
    return float(over(lines, own).sum()) + (_OVER_WORDS if over(own, words).any() else 0.0)


def _places(text: str, points: Floats) -> Iterator[tuple[Text, tuple[Floats, Floats] | None]]:
    """Where words may stand, the nearest first: around the box of points, then with a leader to one of them."""
    (left, bottom), (right, top) = points.min(axis=0).tolist(), points.max(axis=0).tolist()
    x, half = (left + right) / 2, LETTERS / 2
    for at, y, anchor in (
        (right, top + 1.2, "end"), (left, top + 1.2, "start"), (x, top + 1.2, "middle"),
        (x, bottom - 1.2 - LETTERS, "middle"), (right + 1.2, (top + bottom) / 2 - half, "start"),
        (left - 1.2, (top + bottom) / 2 - half, "end"), (x, (top + bottom) / 2 - half, "middle"),
    ):  # fmt: skip
        yield _text(text, at, y, anchor), None
    ends = [
        *points.argmin(axis=0),
        *points.argmax(axis=0),
        len(points) // 4,
        len(points) // 2,
        3 * len(points) // 4,
    ]
    corners = [points[int(one)] for one in np.unique(ends)]
    for out in np.arange(3.0, 40.0, 1.5).tolist():
        for tip in corners:
            for across in (1.0, -1.0):
                for up in (0.6, -0.6, 1.2, -1.2, 0.2, -0.2):
                    end = tip + np.array([across * out, up * out])
                    anchor = "start" if across > 0 else "end"
                    yield _text(text, float(end[0]) + across * 0.8, float(end[1]) - half, anchor), (end, tip)


def _text(text: str, x: float, y: float, anchor: str) -> Text:
    side = "start" if anchor == "start" else "end" if anchor == "end" else "middle"
    return Text(text, x, y, LETTERS, side, halo=0.4, name=NAME)


def words_of(space: Space, units: Units | None) -> str:
    """What a space is, and the sizes that its lines do not show: ``RES2 wall, 930 mm from the left side``."""
    entry = space.entry
    words = f"{space.label} {entry.name}"
    if units is None:
        return words
    if entry.form == "wall":
        return f"{words}, {format_size(entry.distance, units)} from the {entry.side} side"
    if entry.form == "cable":
        bend = format_size(entry.bend * entry.diameter, units)
        return f"{words}, {format_size(entry.diameter, units)}, bent to {bend} inside at least"
    if entry.leaf and entry.leaf not in entry.name:
        return f"{words}, for {entry.leaf}"
    return words
