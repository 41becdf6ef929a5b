"""From findings and passages to what is drawn: shapes of constant size on the screen, tied to places in the table.

A corner is a place, a direction in space and an offset in pixels: along the direction as it looks on the screen, and
square to it. So lines have their width, arrows their heads and marks their size at every distance, and nothing needs
to be made anew when the view turns. Findings have a mark for each severity, and a dimension between two faces (no bpy
here).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ...check.causes import Point
from ...check.facts import Span
from ...check.spans import Passage
from ...paper.sheet import palette
from ..description import METERS

Color = tuple[float, float, float]

OF_SEVERITY: Final[dict[str, Color]] = {
    "error": palette.rgb(palette.BLOCKED),
    "warning": palette.rgb(palette.BY_HAND),
    "note": palette.rgb(palette.NOTE),
}
OF_GRADE: Final[dict[str, Color]] = {
    "good": palette.rgb(palette.GOOD),
    "watch": OF_SEVERITY["warning"],
    "bad": OF_SEVERITY["error"],
}
OF_PASSAGES: Final[Color] = palette.rgb(palette.ROOM)

READABLE: Final = 4.5
"""Least contrast of text (WCAG 2.2, success criterion 1.4.3)."""


def readable(text: Sequence[float], paper: Sequence[float]) -> Color:
    """The color of a text, or black or white where it would not stand out from its paper."""
    if contrast(text, paper) >= READABLE:
        return text[0], text[1], text[2]
    shade = max((0.0, 1.0), key=lambda one: contrast((one, one, one), paper))
    return shade, shade, shade


def contrast(some: Sequence[float], other: Sequence[float]) -> float:
    """Contrast ratio of two sRGB colors, 1 … 21 (WCAG 2.2)."""
    light, dark = sorted((_luminance(some), _luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def _luminance(color: Sequence[float]) -> float:
    """Relative luminance of an sRGB color (WCAG 2.2)."""
    red, green, blue = (
        value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4 for value in color[:3]
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


AWAY: Final = (26.0, 26.0)
"""From a place to the middle of its mark, pixels to the right and up."""
LARGER: Final = 1.4
"""How many times as large the mark of the chosen finding is."""
RADIUS: Final = 8.0
"""Of a mark, pixels."""
LINE: Final = 1.6
HEAD: Final = (10.0, 3.5)
"""Length and half width of an arrow's head, pixels."""
TAIL: Final = 22.0
"""From an arrow's tip to its end, pixels."""
TICK: Final = 9.0
"""Half length of the line at each end of a dimension, pixels."""

OUTLINES: Final = {
    "error": 0.9 * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]),
    "warning": np.array([[-1.1, -0.8], [1.1, -0.8], [0.0, 1.15]]),
}
"""A square and a triangle, of radius about 1; what is graver has corners, a note is round."""
DOT: Final = 3.0
"""Radius of the dot at the place itself, pixels."""

_NOWHERE: Final = (0.0, 0.0, 0.0)


def marker(place: ArrayLike, severity: str, chosen: bool) -> Iterator[Corners]:
    """A shape beside a place, and the line that ties it to the place."""
    ink = OF_SEVERITY[severity]
    radius = RADIUS * (LARGER if chosen else 1.0)
    for color, rim in ((None, HALO), (ink, 0.0)):
        yield fan(place, _NOWHERE, stroke((0, 0), AWAY, LINE + 2 * rim), color)
        yield disc(place, (0, 0), DOT + rim, color)
        if severity in OUTLINES:
            yield fan(place, _NOWHERE, (radius + 1.5 * rim) * OUTLINES[severity] + AWAY, color)
        else:
            yield disc(place, AWAY, radius + rim, color)


def dot(place: ArrayLike, ink: Color) -> Iterator[Corners]:
    """A small disc at a place."""
    for color, rim in ((None, HALO), (ink, 0.0)):
        yield disc(place, (0, 0), DOT + rim, color)


def dimension(start: ArrayLike, end: ArrayLike, severity: str) -> Iterator[Corners]:
    """A line between two places, and at each a short line across and an arrow that points at it from outside.

    Arrows stand outside, as is usual where there is little room between them (ISO 129-1, from memory).
    """
    ink = OF_SEVERITY[severity]
    for color, rim in ((None, HALO), (ink, 0.0)):
        yield bar(start, end, LINE + 2 * rim, color)
        yield from _arrow(start, np.subtract(end, start), color, rim)
        yield from _arrow(end, np.subtract(start, end), color, rim)


def _arrow(tip: ArrayLike, along: ArrayLike, ink: Color | None, rim: float) -> Iterator[Corners]:
    length, half = HEAD
    yield fan(tip, along, stroke((0, -TICK - rim), (0, TICK + rim), LINE + 2 * rim), ink)
    yield fan(tip, along, stroke((-TAIL - rim, 0), (-length / 2, 0), LINE + 2 * rim), ink)
    head = np.array([[0.0, 0.0], [-length - rim, half + 1.2 * rim], [-length - rim, -half - 1.2 * rim]])
    yield fan(tip, along, head, ink)


HALO: Final = 1.4
"""Width of the rim in the paper's color around every shape, pixels."""

LEAST: Final = 3.0
"""Length on the screen that a direction needs for what is drawn along it to be shown, pixels."""

BORDER: Final = 1.0
"""By how much the square that a disc is drawn into is larger on each side, for its soft edge, pixels."""

_SQUARE: Final = np.array([[-1, -1], [1, -1], [1, 1], [-1, -1], [1, 1], [-1, 1]], dtype=float)


class Corners(NamedTuple):
    """Corners of triangles, three a triangle.

    Parameters
    ----------
    place : (n, 3) float32, m
    along : (n, 3) float32, m; a way in space, or zero for offsets to the right and up. Where the way looks shorter
        than `LEAST`, the shape is not drawn
    offset : (n, 2) float32, pixels; along the direction, and to its left
    ink : (n, 4) float32, sRGB; alpha 0 stands for the paper's color
    round : (n, 2) float32; where the corner lies about the middle of a disc of radius 1, outside of which nothing is
        drawn; zero for what is not round
    """

    place: NDArray[np.float32]
    along: NDArray[np.float32]
    offset: NDArray[np.float32]
    ink: NDArray[np.float32]
    round: NDArray[np.float32]


def joined(shapes: Sequence[Corners]) -> Corners:
    """All of them; later ones lie on top."""
    if not shapes:
        return Corners(*(np.zeros((0, columns), dtype=np.float32) for columns in (3, 3, 2, 4, 2)))
    return Corners(*(np.concatenate(column) for column in zip(*shapes, strict=True)))


def fan(place: ArrayLike, along: ArrayLike, outline: ArrayLike, ink: Color | None) -> Corners:
    """A convex outline, (n, 2) pixels, around one place; without ink in the paper's color."""
    points = np.asarray(outline, dtype=np.float32)
    last = np.arange(2, len(points))
    triangles = np.stack([np.zeros_like(last), last - 1, last], axis=1).ravel()
    return _in_pixels(place, along, points[triangles], ink)


def disc(place: ArrayLike, middle: ArrayLike, radius: float, ink: Color | None) -> Corners:
    """A disc about an offset (2,) from one place, pixels; without ink in the paper's color."""
    offset = np.asarray(middle) + (radius + BORDER) * _SQUARE
    return _in_pixels(place, (0.0, 0.0, 0.0), offset, ink, (radius + BORDER) / radius * _SQUARE)


def bar(start: ArrayLike, end: ArrayLike, width: float, ink: Color | None) -> Corners:
    """A line from place to place, `width` pixels wide."""
    along = np.subtract(end, start)
    half = width / 2
    near = _in_pixels(start, along, np.array([[0, half], [0, -half]]), ink)
    far = _in_pixels(end, along, np.array([[0, half], [0, -half]]), ink)
    order = [0, 1, 2, 2, 1, 3]
    return Corners(*(np.concatenate(pair)[order] for pair in zip(near, far, strict=True)))


def stroke(start: ArrayLike, end: ArrayLike, width: float) -> NDArray[np.float64]:
    """Outline (4, 2) of a line between two offsets, pixels."""
    way = np.subtract(end, start)
    side = np.array([-way[1], way[0]]) / np.hypot(*way) * width / 2
    return np.array([start - side, end - side, end + side, start + side])


def _in_pixels(
    place: ArrayLike, along: ArrayLike, offset: ArrayLike, ink: Color | None, around: ArrayLike = (0.0, 0.0)
) -> Corners:
    count = len(np.asarray(offset))
    color = (0.0, 0.0, 0.0, 0.0) if ink is None else (*ink, 1.0)
    return Corners(
        *(
            np.broadcast_to(np.asarray(value, dtype=np.float32), (count, columns)).copy()
            for value, columns in ((place, 3), (along, 3), (offset, 2), (color, 4), (around, 2))
        )
    )


Floats = NDArray[np.float32]


@dataclass(frozen=True)
class Item:
    """A finding as it is to be drawn; places in m.

    Parameters
    ----------
    head : how grave it is, what it is about and by how much, in words
    span : the two points that a dimension is drawn between
    span_text : the number on it, with its unit
    """

    severity: str
    place: Point
    head: str
    parts: str
    chosen: bool = False
    span: Span | None = None
    span_text: str = ""


@dataclass(frozen=True)
class Text:
    """Lines of words beside a place.

    Parameters
    ----------
    offset : from the place to the left end of the first line's middle, pixels
    along : m; a way as in `Corners`, with which the words come and go
    tone : of the bar at the side of its mark
    rank : where there is no room for all, those with the least rank are drawn
    mark : from the place to the middle of the mark that it stands beside, pixels; None for one without
    """

    place: Point
    lines: tuple[str, ...]
    offset: tuple[float, float]
    tone: Color
    rank: int
    along: Point = (0.0, 0.0, 0.0)
    mark: tuple[float, float] | None = None


@dataclass(frozen=True)
class Name:
    """What a part is called, beside a place where it is seen, m."""

    place: Point
    words: str
    severity: str


@dataclass(frozen=True, eq=False)
class Hatching:
    """Stripes and edges of a part of the finding shown.

    Parameters
    ----------
    item : name of the object that they move with
    stripes : (n, 3) float32, m, in the object's frame; corners of triangles
    edges : (m, 3) float32; ends of lines
    through : whether the part is seen through
    """

    item: str
    color: Color
    stripes: Floats
    edges: Floats
    through: bool = False


@dataclass(frozen=True, eq=False)
class Overlay:
    """All that is drawn over the view for one table, in the table's frame, m.

    Parameters
    ----------
    marks : shapes of constant size on the screen
    texts : least rank first
    box_faces : (n, 3) float32; corners of triangles of the passages
    box_edges : (m, 3) float32; ends of their edges
    hatchings : in the frames of the objects that bear them
    """

    marks: Corners
    texts: tuple[Text, ...] = ()
    box_faces: Floats = field(default_factory=lambda: np.zeros((0, 3), dtype=np.float32))
    box_edges: Floats = field(default_factory=lambda: np.zeros((0, 3), dtype=np.float32))
    hatchings: tuple[Hatching, ...] = ()

    @cached_property
    def places(self) -> NDArray[np.float64]:
        """(2 t, 3) float, m; of the texts, then the ends of the ways from there with which they come and go."""
        places = np.array([text.place for text in self.texts], dtype=float).reshape(-1, 3)
        ways = np.array([text.along for text in self.texts], dtype=float).reshape(-1, 3)
        return np.concatenate([places, places + ways])


def prepare(
    items: Sequence[Item],
    dimensions: bool = True,
    passages: Sequence[tuple[Passage, str]] = (),
    names: Sequence[Name] = (),
    hatchings: Sequence[Hatching] = (),
) -> Overlay:
    """What is to be drawn of findings, gravest and chosen ones on top, of parts named and hatched, and of passages with
    the words on them."""
    back_to_front = sorted(items, key=_rank, reverse=True)
    shapes: list[Corners] = []
    for item in back_to_front:
        if dimensions and item.span is not None:
            shapes += dimension(*item.span, item.severity)
    for name in names:
        shapes += dot(name.place, OF_SEVERITY[name.severity])
    for item in back_to_front:
        shapes += marker(item.place, item.severity, item.chosen)
    texts = [text for item in items for text in _texts(item, dimensions)]
    texts += [_passage(*one) for one in passages]
    texts += [
        Text(name.place, (name.words,), (DOT + 6.0, 0.0), OF_SEVERITY[name.severity], 1) for name in names
    ]
    texts.sort(key=lambda text: text.rank)
    corners = [_corners(passage) for passage, _ in passages]
    faces = [corner[_TRIANGLES] for corner in corners]
    edges = [corner[_EDGES] for corner in corners]
    none = np.zeros((0, 3), dtype=np.float32)
    boxes = np.concatenate([none, *faces]), np.concatenate([none, *edges])
    return Overlay(joined(shapes), tuple(texts), *boxes, tuple(hatchings))


def _rank(item: Item) -> int:
    return 0 if item.chosen else {"error": 2, "warning": 4, "note": 6}[item.severity]


def _texts(item: Item, dimensions: bool) -> Iterator[Text]:
    """The head beside the mark, and of the chosen finding the parts; the number of the dimension."""
    lines = (item.head, item.parts) if item.chosen else (item.head,)
    tone = OF_SEVERITY[item.severity]
    beside = AWAY[0] + RADIUS * (LARGER if item.chosen else 1.0) + 8.0
    yield Text(item.place, lines, (beside, AWAY[1]), tone, _rank(item), mark=AWAY)
    if dimensions and item.span is not None:
        middle = tuple((np.add(*item.span) / 2).tolist())
        along = tuple(np.subtract(*item.span).tolist())
        yield Text(middle, (item.span_text,), (16.0, -20.0), tone, _rank(item) + 1, along)


def _passage(passage: Passage, words: str) -> Text:
    """At the middle of the box, on top."""
    low, high = np.array(passage.low) * METERS, np.array(passage.high) * METERS
    x, y = ((low + high) / 2)[:2].tolist()
    return Text((x, y, float(high[2])), (words,), (-40.0, 0.0), OF_PASSAGES, 5)


_BITS: Final = np.array([[(i >> 2) & 1, (i >> 1) & 1, i & 1] for i in range(8)], dtype=bool)
_EDGES: Final = np.array([(i, i | bit) for bit in (4, 2, 1) for i in range(8) if not i & bit]).ravel()
_QUADS: Final = np.array([[0, 1, 3, 2], [4, 6, 7, 5], [0, 4, 5, 1], [2, 3, 7, 6], [0, 2, 6, 4], [1, 5, 7, 3]])
_TRIANGLES: Final = _QUADS[:, [0, 1, 2, 0, 2, 3]].ravel()


def _corners(passage: Passage) -> Floats:
    """(8, 3) float32, m."""
    low, high = np.array(passage.low) * METERS, np.array(passage.high) * METERS
    return np.where(_BITS, high, low).astype(np.float32)
