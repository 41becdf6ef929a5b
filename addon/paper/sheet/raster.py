"""Drawings as dots: how much of each an area covers, exactly."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from ...sizes.arrays import Floats
from ...sizes.units import MM_PER_INCH
from .areas import dashes, fill_edges, stroke_edges
from .drawing import Drawing
from .items import WHITE, Fill, Image, Item, Stroke
from .lettering import text_strokes
from .png import png_of_bands

Floats32 = NDArray[np.float32]

_INCH: Final = float(MM_PER_INCH)
"""mm."""

_NOTHING: Final = 1e-9
"""Share of a dot below which it is not covered."""

_MOST: Final = 1_000_000
"""Dots that are worked out at a time."""

_SAME: Final = 1e-4
"""Share of a dot by which the dots of an image may lie beside those of the sheet and still be taken as they are."""


def png_of(drawing: Drawing, dpi: float) -> bytes:
    """A drawing as the bytes of a PNG file on white, that says how large it is."""
    return png_of_bands(bands(drawing, dpi), size_in_dots(drawing, dpi), dpi)


def dots(drawing: Drawing, dpi: float) -> NDArray[np.uint8]:
    """(rows, columns, 3) uint8, red, green and blue, the upper left dot first."""
    return np.concatenate(list(bands(drawing, dpi)))


def size_in_dots(drawing: Drawing, dpi: float) -> tuple[int, int]:
    """Rows and columns."""
    return round(drawing.height * dpi / _INCH), round(drawing.width * dpi / _INCH)


def bands(drawing: Drawing, dpi: float, most: int = _MOST) -> Iterator[NDArray[np.uint8]]:
    """The dots of a drawing band by band from the top, (h, columns, 3) uint8, as no memory holds a large sheet at once.

    Items of one color that follow each other are one area: where they overlap only partly within a dot, it counts
    them both, up to the whole dot. Where a band ends makes no difference to any dot.

    Parameters
    ----------
    most : dots of a band, unless a single row has more
    """
    rows, columns = size_in_dots(drawing, dpi)
    scale = dpi / _INCH
    layers = (layer for item in drawing.items for layer in _layers(item))
    covers: list[_Area | _PlacedImage] = []
    for color, group in groupby(layers, key=lambda layer: layer[0]):
        if isinstance(color, Image):
            covers.append(_PlacedImage(color, drawing.height, scale, (rows, columns)))
            continue
        edges = np.concatenate([edges for _, edges in group]) * scale
        edges[:, [1, 3]] = drawing.height * scale - edges[:, [1, 3]]
        covers.append(_Area(rgb(color).astype(np.float32), *_sorted_by_rows(edges, rows)))
    high = max(1, most // columns)
    for first in range(0, rows, high):
        band = np.full((min(high, rows - first), columns, 3), 255.0, dtype=np.float32)
        for cover in covers:
            cover.put(band, first)
        yield (band + 0.5).astype(np.uint8)


def rgb(color: str) -> Floats:
    """(3,) float: ``#rrggbb`` as numbers from 0 to 255."""
    return np.array([int(color[at : at + 2], 16) for at in (1, 3, 5)], dtype=float)


@dataclass(frozen=True, eq=False)
class _Area:
    """An area of one color, (3,) float32, by its edges as `_sorted_by_rows` gives them."""

    color: Floats32
    x: Floats
    y: Floats
    sign: Floats

    def put(self, band: NDArray[np.float32], first: int) -> None:
        """Cover the dots of a band of the sheet, (h, columns, 3) float32, whose upper row is the sheet's `first`."""
        h, columns = band.shape[:2]
        near = (self.y[:, 1] > first) & (self.y[:, 0] < first + h)
        rows = (first, first + h)
        covered, top, left = _covered(self.x[near], self.y[near], self.sign[near], columns, rows)
        hit = np.flatnonzero(covered)
        if len(hit):
            row, column = np.divmod(hit, covered.shape[1])
            image, place = band.reshape(-1, 3), (row + top - first) * columns + column + left
            share = covered.ravel()[hit].astype(np.float32)[:, None]
            below = image[place]
            image[place] = below + share * (self.color - below)


class _PlacedImage:
    """An image on the sheet: each dot gets the mean of what it covers of the image. Bands come from the top down."""

    def __init__(self, image: Image, height: float, scale: float, size: tuple[int, int]) -> None:
        left, bottom, right, top = image.box
        self._pixels = image.pixels
        wide, high = image.pixels.shape[1], image.pixels.shape[0]
        self._down = _Resampling(high, (height - top) * scale, (height - bottom) * scale, size[0])
        self._across = _Resampling(wide, left * scale, right * scale, size[1])
        self._row = 0
        self._above = np.zeros((wide, 3))
        """Sum of the image's rows before that one, in whole numbers."""

    def put(self, band: NDArray[np.float32], first: int) -> None:
        """Cover the dots of a band, (h, columns, 3) float32, whose upper row is the sheet's `first`."""
        down, across = self._down, self._across
        start, end = max(first, down.first), min(first + len(band), down.first + len(down.share))
        if start >= end:
            return
        at, upto = start - down.first, end - down.first
        row = down.row(at)
        self._above += self._pixels[self._row : row].sum(axis=0, dtype=np.float64)
        self._row = row
        picture = down.dots(self._pixels, self._above, at, upto)
        turned = picture.swapaxes(0, 1)
        picture = across.dots(turned, np.zeros_like(turned[0], dtype=np.float64), 0, len(across.share))
        part = band[start - first : end - first, across.first : across.first + len(across.share)]
        part *= 1 - down.share[at:upto, None, None] * across.share[None, :, None]
        part += picture.swapaxes(0, 1)


class _Resampling:
    """How the rows of an image are spread over a line of `count` dots on which they lie from `start` to `end`.

    Rows are even bands, so the integral up to a place is known exactly: the sum of the rows before it and a share of
    its own.
    """

    def __init__(self, rows: int, start: float, end: float, count: int) -> None:
        self.first = max(int(np.floor(start + _NOTHING)), 0)
        """Number of the first dot that they lie on."""
        last = min(int(np.ceil(end - _NOTHING)), count)
        borders = np.clip((np.arange(self.first, last + 1) - start) * rows / (end - start), 0.0, rows)
        self._same = len(borders) == rows + 1 and bool(np.abs(borders - np.rint(borders)).max() < _SAME)
        self._borders = borders
        self._number = np.minimum(borders.astype(np.intp), rows - 1)
        self._size = (end - start) / rows
        share = np.ones(rows) if self._same else np.diff(borders) * self._size
        self.share: Floats32 = share.astype(np.float32)
        """(n,) how much of each dot lies on the image."""

    def row(self, dot: int) -> int:
        """The row in which a dot begins."""
        return int(self._number[dot])

    def dots(self, image: NDArray[Any], above: Floats, start: int, end: int) -> Floats32:
        """The sums of the rows of (rows, columns, 3) over dots, (end - start, columns, 3) float32.

        Parameters
        ----------
        above : (columns, 3) float, the sum of all rows before the one in which dot `start` begins
        """
        if self._same:
            return image[start:end].astype(np.float32)
        number, borders = self._number[start : end + 1], self._borders[start : end + 1]
        sums = np.cumsum(
            np.concatenate([above[None], image[number[0] : number[-1]]]), axis=0, dtype=np.float64
        )
        integral = sums[number - number[0]] + (borders - number)[:, None, None] * image[number]
        return (np.diff(integral, axis=0) * self._size).astype(np.float32)


def _layers(item: Item) -> Iterator[tuple[str | Image, Floats]]:
    """Colors and edges, (m, 4) float mm, of an item, the lowest first; an image has no edges."""
    if isinstance(item, Image):
        yield item, np.empty((0, 4))
    elif isinstance(item, Fill):
        yield item.color, fill_edges(item.rings)
    elif isinstance(item, Stroke):
        if item.pen.dash:
            paths = [one for path in item.paths for one in dashes(path, item.pen.dash, item.closed)]
            yield item.pen.color, stroke_edges(paths, item.pen.width)
        else:
            yield item.pen.color, stroke_edges(item.paths, item.pen.width, item.closed)
    else:
        strokes = text_strokes(item)
        width = item.weight * item.size
        if item.halo:
            yield WHITE, stroke_edges(strokes, width + 2 * item.halo, round_ends=True)
        yield item.color, stroke_edges(strokes, width, round_ends=True)


def coverage(edges: Floats, columns: int, rows: int) -> tuple[Floats, int, int]:
    """How much of each dot an area covers, exactly.

    Every edge is cut at the borders of rows and columns. A piece within one dot takes from that dot, and gives to all
    that follow in its row, the area to its right: its height times its distance from the dot's right border. The
    sums along the rows are the area, as by Green's theorem.

    Parameters
    ----------
    edges : (m, 4) float x, y, x, y, in dots; around areas, all in the same sense
    columns, rows : of the picture

    Returns
    -------
    (h, w) float from 0 to 1 for the part of the picture that the area is in, and that part's first row and column
    """
    return _covered(*_sorted_by_rows(edges, rows), columns, (0, rows))


def _covered(
    x: Floats, y: Floats, sign: Floats, columns: int, rows: tuple[int, int]
) -> tuple[Floats, int, int]:
    """`coverage` of the rows from one to before another, by edges that `_sorted_by_rows` gave."""
    x, y, sign = _cut(x, y, sign, rows)
    if not len(x):
        return np.zeros((0, 0)), 0, 0
    x, y = _rising(x, y)
    y, x, sign = _cut(y, x, sign)
    middle = (x[:, 0] + x[:, 1]) / 2
    row = np.minimum(np.floor((y[:, 0] + y[:, 1]) / 2).astype(np.intp), rows[1] - 1)
    column = np.floor(middle).astype(np.intp)
    height = sign * np.abs(y[:, 1] - y[:, 0])
    share = middle - column
    share, column = np.where(column < 0, 0.0, share), np.clip(column, 0, columns)
    top, left = int(row.min()), int(column.min())
    h, w = int(row.max()) - top + 1, int(column.max()) - left + 2
    place = (row - top) * w + column - left
    sums = (
        np.bincount(place, height * (1 - share), h * w)
        + np.bincount(place + 1, height * share, h * w + 1)[: h * w]
    )
    covered: Floats = np.cumsum(sums.reshape(h, w), axis=1, dtype=np.float64)
    np.abs(covered, out=covered)
    np.minimum(covered, 1.0, out=covered)
    # What is left of rounding where an area has ended is nothing.
    covered[covered < _NOTHING] = 0.0
    return covered[:, : columns - left], top, left


def _sorted_by_rows(edges: Floats, rows: int) -> tuple[Floats, Floats, Floats]:
    """x and y, (n, 2) float each, of edges from the top down within the picture, and which way they went."""
    x, y = edges[:, [0, 2]], edges[:, [1, 3]]
    sign = np.sign(y[:, 1] - y[:, 0])
    there = (sign != 0) & (y.max(axis=1) > 0) & (y.min(axis=1) < rows)
    x, y, sign = x[there], y[there], sign[there]
    y, x = _rising(y, x)
    for end, limit in ((0, 0.0), (1, float(rows))):
        beyond = y[:, end] < limit if end == 0 else y[:, end] > limit
        with np.errstate(divide="ignore", invalid="ignore"):
            at = x[:, 0] + (limit - y[:, 0]) / (y[:, 1] - y[:, 0]) * (x[:, 1] - x[:, 0])
        x[:, end], y[:, end] = np.where(beyond, at, x[:, end]), np.where(beyond, limit, y[:, end])
    return x, y, sign


def _rising(key: Floats, other: Floats) -> tuple[Floats, Floats]:
    """Both, (n, 2) float, with their columns swapped where `key` falls."""
    falls = key[:, 1] < key[:, 0]
    return np.where(falls[:, None], key[:, ::-1], key), np.where(falls[:, None], other[:, ::-1], other)


def _cut(
    x: Floats, y: Floats, sign: Floats, within: tuple[float, float] = (-np.inf, np.inf)
) -> tuple[Floats, Floats, Floats]:
    """Edges whose y rises, (n, 2) float each, cut where y is whole; of these the pieces `within` two whole values."""
    upper = np.floor(y[:, 0])
    pieces = np.maximum(np.ceil(y[:, 1]) - upper, 1)
    start = np.clip(within[0] - upper, 0, pieces)
    count = (np.clip(within[1] - upper, start, pieces) - start).astype(np.intp)
    edge = np.repeat(np.arange(len(x)), count)
    place = np.arange(len(edge)) - np.repeat(np.cumsum(count) - count, count) + start[edge]
    border = upper[edge] + 1 + place
    low = np.where(place == 0, y[edge, 0], border - 1)
    high = np.where(place == pieces[edge] - 1, y[edge, 1], border)
    rise = y[:, 1] - y[:, 0]
    steep = np.divide(x[:, 1] - x[:, 0], rise, out=np.zeros(len(x)), where=rise != 0)[edge]
    at_low = np.where(place == 0, x[edge, 0], x[edge, 0] + (low - y[edge, 0]) * steep)
    at_high = np.where(place == pieces[edge] - 1, x[edge, 1], x[edge, 0] + (high - y[edge, 0]) * steep)
    return np.stack([at_low, at_high], axis=1), np.stack([low, high], axis=1), sign[edge]
