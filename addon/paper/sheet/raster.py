"""Drawings as dots: how much of each an area covers, exactly.

Lines as areas: dashes cut out of them, and the edges of what a pen of some width covers.
"""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from ...sizes.units import MM_PER_INCH
from .items import MITER_LIMIT, WHITE, Fill, Image, Stroke
from .lettering import text_strokes
from .png import png_bytes

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from .drawing import Drawing
    from .items import Item

    Floats = NDArray[np.float64]
    Bools = NDArray[np.bool_]
    Floats32 = NDArray[np.float32]
    Ints = NDArray[np.intp]

_CAP: Final = 8
"""Sides of half a round end."""


def dashes(path: Floats, pattern: tuple[float, ...], closed: bool = False) -> list[Floats]:
    """The dashes of a line through (n, 2) points, mm, by lengths of dashes and gaps in turn, mm."""
    if closed:
        path = np.concatenate([path, path[:1]])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(path, axis=0).T))])
    total, period = along[-1], sum(pattern)
    if total == 0 or period <= 0:
        return [path]
    bounds = np.concatenate([[0.0], np.cumsum(pattern * (1 + len(pattern) % 2))])
    rounds = int(np.ceil(total / bounds[-1]))
    starts = (bounds[:-1:2] + bounds[-1] * np.arange(rounds)[:, None]).ravel()
    ends = (bounds[1::2] + bounds[-1] * np.arange(rounds)[:, None]).ravel()
    found = []
    for start, end in zip(starts, np.minimum(ends, total), strict=True):
        if start < end:
            inner = path[(along > start) & (along < end)]
            tips = [[np.interp(at, along, path[:, axis]) for axis in (0, 1)] for at in (start, end)]
            found.append(np.concatenate([tips[:1], inner, tips[1:]]))
    return found


def stroke_edges(
    paths: Sequence[Floats], width: float, closed: bool = False, round_ends: bool = False
) -> Floats:
    """Edges of what a pen covers, (m, 4) float x, y, x, y, mm, around each piece in the same sense.

    Each straight piece is an area of its own. At a corner two of them share the miter, so that together they cover
    the corner once; where the miter would be too long, or longer than a piece, the ends are round.

    Parameters
    ----------
    paths : (n, 2) float each, mm
    width : of the pen, mm
    round_ends : round instead of straight ends
    """
    start, along, length, first, last = _pieces(paths, closed)
    if not len(start):
        return np.empty((0, 4))
    half = width / 2
    normal = np.stack([-along[:, 1], along[:, 0]], axis=1)
    previous = np.arange(len(start)) - 1
    previous[first] = last if closed else first
    joined = np.ones(len(start), dtype=bool)
    if not closed:
        joined[first] = False
    # A path closed on itself with a single piece has no corner.
    joined &= previous != np.arange(len(start))
    cosine = (along * along[previous]).sum(axis=1)
    sine = np.abs(along[:, 0] * along[previous, 1] - along[:, 1] * along[previous, 0])
    with np.errstate(divide="ignore", invalid="ignore"):
        inset = half * sine / (1 + cosine)
        miter = (normal + normal[previous]) / (1 + cosine)[:, None]
    fits = (1 + cosine) / 2 * MITER_LIMIT**2 >= 1
    fits &= inset < np.minimum(length, length[previous]) / 2
    smooth = joined & fits
    following = np.zeros(len(start), dtype=np.intp)
    following[previous[joined]] = np.flatnonzero(joined)
    goes_on = np.zeros(len(start), dtype=bool)
    goes_on[previous[joined]] = True
    at_start = np.where(smooth[:, None], miter, normal) * half
    smooth_end = goes_on & smooth[following]
    at_end = np.where(smooth_end[:, None], miter[following], normal) * half
    end = start + along * length[:, None]
    bands = np.stack([start - at_start, end - at_end, end + at_end, start + at_start], axis=1)
    blunt_start = ~smooth & (joined | round_ends)
    blunt_end = ~smooth_end & (goes_on | round_ends)
    caps = np.concatenate(
        [
            _caps(start[blunt_start], -along[blunt_start], half),
            _caps(end[blunt_end], along[blunt_end], half),
        ]
    )
    return np.concatenate([ring_edges(bands), ring_edges(caps)])


def _pieces(
    paths: Sequence[Floats], closed: bool
) -> tuple[Floats, Floats, Floats, NDArray[np.intp], NDArray[np.intp]]:
    """Start, direction and length of all straight pieces, and the numbers of each path's first and last piece."""
    starts, steps, counts = [], [], []
    for path in paths:
        whole = np.concatenate([path, path[:1]]) if closed and len(path) > 2 else path
        step = np.diff(whole, axis=0)
        there = (step != 0).any(axis=1)
        starts.append(whole[:-1][there])
        steps.append(step[there])
        counts.append(int(there.sum()))
    count = np.array([each for each in counts if each], dtype=np.intp)
    if not len(count):
        return np.empty((0, 2)), np.empty((0, 2)), np.empty(0), count, count
    step = np.concatenate(steps)
    length = np.hypot(step[:, 0], step[:, 1])
    last = np.cumsum(count) - 1
    return np.concatenate(starts), step / length[:, None], length, last - count + 1, last


def _caps(at: Floats, outward: Floats, half: float) -> Floats:
    """(n, sides, 2) float: round ends at points, (n, 2) mm, that bulge outward."""
    turn = np.linspace(-np.pi / 2, np.pi / 2, _CAP + 1)
    side = np.stack([-outward[:, 1], outward[:, 0]], axis=1)
    bulge = outward[:, None] * np.cos(turn)[:, None] + side[:, None] * np.sin(turn)[:, None]
    return at[:, None] + half * bulge


def ring_edges(rings: Floats) -> Floats:
    """Edges of rings of one size, (n, k, 2) float mm, each in the sense of a positive area: (n·k, 4)."""
    edges = np.concatenate([rings, np.roll(rings, -1, axis=1)], axis=2)
    area = (edges[:, :, 0] * edges[:, :, 3] - edges[:, :, 1] * edges[:, :, 2]).sum(axis=1)
    turned = edges[area < 0]
    edges[area < 0] = turned[:, :, [2, 3, 0, 1]]
    return edges.reshape(-1, 4)


def fill_edges(rings: Sequence[Floats]) -> Floats:
    """Edges of a filled area, (m, 4) float mm; a ring inside an odd number of others is a hole."""
    found = []
    for number, ring in enumerate(rings):
        edges = ring_edges(ring[None])
        around = sum(_holds(other, ring[0]) for place, other in enumerate(rings) if place != number)
        found.append(edges[:, [2, 3, 0, 1]] if around % 2 else edges)
    return np.concatenate(found)


def _holds(ring: Floats, point: Floats) -> bool:
    """Whether a ring holds a point, by the crossings of a ray."""
    a, b = ring, np.roll(ring, -1, axis=0)
    crosses = (a[:, 1] > point[1]) != (b[:, 1] > point[1])
    a, b = a[crosses], b[crosses]
    x = a[:, 0] + (point[1] - a[:, 1]) / (b[:, 1] - a[:, 1]) * (b[:, 0] - a[:, 0])
    return bool((x > point[0]).sum() % 2)


_INCH: Final = float(MM_PER_INCH)
"""mm."""

_NOTHING: Final = 1e-9
"""Share of a dot below which it is not covered."""

_SAME: Final = 1e-4
"""Share of a dot by which the dots of an image may lie beside those of the sheet and still be taken as they are."""


def picture(drawing: Drawing, dpi: float) -> bytes:
    """A drawing as the bytes of a PNG file on white, that says how large it is."""
    return png_bytes(dots(drawing, dpi), dpi)


def dots(drawing: Drawing, dpi: float) -> NDArray[np.uint8]:
    """(rows, columns, 3) uint8, red, green and blue, the upper left dot first.

    Items of one color that follow each other are one area: where they overlap only partly within a dot, it counts
    them both, up to the whole dot.
    """
    scale = dpi / _INCH
    columns, rows = round(drawing.width * scale), round(drawing.height * scale)
    image = np.full((rows * columns, 3), 255.0, dtype=np.float32)
    layers = (layer for item in drawing.items for layer in _layers(item))
    for color, group in groupby(layers, key=lambda layer: layer[0]):
        if isinstance(color, Image):
            _put(image.reshape(rows, columns, 3), color, drawing.height, scale)
            continue
        edges = np.concatenate([edges for _, edges in group]) * scale
        edges[:, [1, 3]] = drawing.height * scale - edges[:, [1, 3]]
        covered, top, left = coverage(edges, columns, rows)
        hit = np.flatnonzero(covered)
        if len(hit):
            row, column = np.divmod(hit, covered.shape[1])
            place = (row + top) * columns + column + left
            share = covered.ravel()[hit].astype(np.float32)[:, None]
            below = image[place]
            image[place] = below + share * (rgb(color).astype(np.float32) - below)
    return (image + 0.5).astype(np.uint8).reshape(rows, columns, 3)


def rgb(color: str) -> Floats:
    """(3,) float: ``#rrggbb`` as numbers from 0 to 255."""
    return np.array([int(color[at : at + 2], 16) for at in (1, 3, 5)], dtype=float)


def _put(sheet: NDArray[np.float32], image: Image, height: float, scale: float) -> None:
    """Puts an image on (rows, columns, 3) float32 dots: each gets the mean of what it covers of the image."""
    left, bottom, right, top = image.box
    picture, row, high = _resampled(
        image.pixels, (height - top) * scale, (height - bottom) * scale, len(sheet)
    )
    picture, column, wide = _resampled(picture.swapaxes(0, 1), left * scale, right * scale, sheet.shape[1])
    part = sheet[row : row + len(high), column : column + len(wide)]
    part *= 1 - high[:, None, None] * wide[None, :, None]
    part += picture.swapaxes(0, 1)


def _resampled(image: NDArray[Any], start: float, end: float, count: int) -> tuple[Floats32, int, Floats32]:
    """The sums of an image's rows over the dots of a line of `count` that it lies on from `start` to `end`.

    Rows are even bands, so the integral up to a place is known exactly: the sum of the rows before it and a share of
    its own.

    Returns
    -------
    (h, columns, 3) float32, the number of the first dot, (h,) float32 how much of each dot lies on the image
    """
    rows = len(image)
    first, last = max(int(np.floor(start + _NOTHING)), 0), min(int(np.ceil(end - _NOTHING)), count)
    borders = np.clip((np.arange(first, last + 1) - start) * rows / (end - start), 0.0, rows)
    whole = np.rint(borders)
    if len(borders) == rows + 1 and np.abs(borders - whole).max() < _SAME:
        return image.astype(np.float32), first, np.ones(rows, dtype=np.float32)
    number = np.minimum(borders.astype(np.intp), rows - 1)
    sums = np.concatenate(
        [np.zeros_like(image[:1], dtype=np.float64), np.cumsum(image, axis=0, dtype=np.float64)]
    )
    integral = sums[number] + (borders - number)[:, None, None] * image[number]
    share = np.diff(borders) * (end - start) / rows
    dots = np.diff(integral, axis=0) * ((end - start) / rows)
    return dots.astype(np.float32), first, share.astype(np.float32)


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
    x, y, sign = _sorted_by_rows(edges, rows)
    if not len(x):
        return np.zeros((0, 0)), 0, 0
    x, y, sign = _cut(x, y, sign)
    x, y = _rising(x, y)
    y, x, sign = _cut(y, x, sign)
    middle = (x[:, 0] + x[:, 1]) / 2
    row = np.minimum(np.floor((y[:, 0] + y[:, 1]) / 2).astype(np.intp), rows - 1)
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


def _cut(x: Floats, y: Floats, sign: Floats) -> tuple[Floats, Floats, Floats]:
    """Edges whose y rises, (n, 2) float each, cut where y is whole."""
    first = np.floor(y[:, 0]) + 1
    count = np.maximum(np.ceil(y[:, 1]) - first, 0).astype(np.intp) + 1
    edge = np.repeat(np.arange(len(x)), count)
    place = np.arange(len(edge)) - np.repeat(np.cumsum(count) - count, count)
    border = first[edge] + place
    low = np.where(place == 0, y[edge, 0], border - 1)
    high = np.where(place == count[edge] - 1, y[edge, 1], border)
    rise = y[:, 1] - y[:, 0]
    steep = np.divide(x[:, 1] - x[:, 0], rise, out=np.zeros(len(x)), where=rise != 0)[edge]
    at_low = np.where(place == 0, x[edge, 0], x[edge, 0] + (low - y[edge, 0]) * steep)
    at_high = np.where(place == count[edge] - 1, x[edge, 1], x[edge, 0] + (high - y[edge, 0]) * steep)
    return np.stack([at_low, at_high], axis=1), np.stack([low, high], axis=1), sign[edge]
