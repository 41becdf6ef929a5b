"""From findings and passages to what is drawn: arrays that do not depend on the view (no bpy here)."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import NDArray

from ...check.causes import Point
from ...check.facts import Span
from ...check.spans import Passage
from .shapes import AWAY, LARGER, OF_PASSAGES, OF_SEVERITY, RADIUS, Color, Corners, dimension, joined, marker

Floats = NDArray[np.float32]

METERS: Final = 1e-3


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


@dataclass(frozen=True, eq=False)
class Overlay:
    """All that is drawn over the view for one table, in the table's frame, m.

    Parameters
    ----------
    marks : shapes of constant size on the screen
    texts : least rank first
    box_faces : (n, 3) float32; corners of triangles of the passages
    box_edges : (m, 3) float32; ends of their edges
    """

    marks: Corners
    texts: tuple[Text, ...] = ()
    box_faces: Floats = field(default_factory=lambda: np.zeros((0, 3), dtype=np.float32))
    box_edges: Floats = field(default_factory=lambda: np.zeros((0, 3), dtype=np.float32))

    @cached_property
    def places(self) -> NDArray[np.float64]:
        """(2 t, 3) float, m; of the texts, then the ends of the ways from there with which they come and go."""
        places = np.array([text.place for text in self.texts], dtype=float).reshape(-1, 3)
        ways = np.array([text.along for text in self.texts], dtype=float).reshape(-1, 3)
        return np.concatenate([places, places + ways])


def prepare(items: Sequence[Item], dimensions: bool = True, passages: Sequence[Passage] = ()) -> Overlay:
    """What is to be drawn of findings, gravest and chosen ones on top, and of passages."""
    back_to_front = sorted(items, key=_rank, reverse=True)
    shapes: list[Corners] = []
    for item in back_to_front:
        if dimensions and item.span is not None:
            shapes += dimension(*item.span, item.severity)
    for item in back_to_front:
        shapes += marker(item.place, item.severity, item.chosen)
    texts = [text for item in items for text in _texts(item, dimensions)]
    texts += [_name(passage) for passage in passages]
    texts.sort(key=lambda text: text.rank)
    corners = [_corners(passage) for passage in passages]
    faces = [corner[_TRIANGLES] for corner in corners]
    edges = [corner[_EDGES] for corner in corners]
    none = np.zeros((0, 3), dtype=np.float32)
    return Overlay(
        joined(shapes), tuple(texts), np.concatenate([none, *faces]), np.concatenate([none, *edges])
    )


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


def _name(passage: Passage) -> Text:
    """At the middle of the box, on top."""
    low, high = np.array(passage.low) * METERS, np.array(passage.high) * METERS
    x, y = ((low + high) / 2)[:2].tolist()
    return Text((x, y, float(high[2])), (f"Passage of {passage.leaf}",), (-40.0, 0.0), OF_PASSAGES, 5)


_BITS: Final = np.array([[(i >> 2) & 1, (i >> 1) & 1, i & 1] for i in range(8)], dtype=bool)
_EDGES: Final = np.array([(i, i | bit) for bit in (4, 2, 1) for i in range(8) if not i & bit]).ravel()
_QUADS: Final = np.array([[0, 1, 3, 2], [4, 6, 7, 5], [0, 4, 5, 1], [2, 3, 7, 6], [0, 2, 6, 4], [1, 5, 7, 3]])
_TRIANGLES: Final = _QUADS[:, [0, 1, 2, 0, 2, 3]].ravel()


def _corners(passage: Passage) -> Floats:
    """(8, 3) float32, m."""
    low, high = np.array(passage.low) * METERS, np.array(passage.high) * METERS
    return np.where(_BITS, high, low).astype(np.float32)
