"""What is cut out of a board, as boxes of which a slope may leave a part: what steel in the board must keep out of.

A void is the box around a cut, or what of that box lies beyond one plane, where the cut is a slope. Rounded corners
of openings count as square, round holes as the squares around them, round-overs as the chamfer of their size: a little
more than is cut, never less.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import hypot, inf
from typing import NamedTuple

import numpy as np

from ..sizes.arrays import Bools, Floats
from .features import AngledHole, Bevel, EdgeTaper, EdgeTreatment, Feature, Groove, Hole, Opening, Taper
from .part import Shape

_FAR = 1e5
"""How far a cut that runs out of the board goes on past it, mm."""


@dataclass(frozen=True, eq=False)
class Voids:
    """The cuts of one shape, in its frame, mm.

    Parameters
    ----------
    low, high : (n, 3) float; boxes around them
    slope : (n, 4) float; the void is where ``slope[:3] · x >= slope[3]``; all of the box where that is 0 and -inf
    bore : (n, 6) float; a point of a round hole's axis and its direction; nan for other cuts
    chamfer : (n,) float; size of the greatest chamfer around an opening, which its box leaves out
    words : what each is: ``window for L4``
    """

    low: Floats
    high: Floats
    slope: Floats
    bore: Floats
    chamfer: Floats
    words: tuple[str, ...]


class Rim(NamedTuple):
    """The edges of a board's outline: (n, 2) float, mm, from where to where, and (n,) bool, which are its ends."""

    start: Floats
    stop: Floats
    is_end: Bools


@lru_cache(maxsize=2048)
def voids_of(shape: Shape) -> Voids:
    """All cuts of a shape, each once; edge tapers are part of the outline and are here too."""
    rows = [_void(feature, shape) for feature in shape.features]
    low, high, slope, bore = (np.array([row[k] for row in rows], dtype=float) for k in range(4))
    count = len(rows)
    return Voids(
        low.reshape(count, 3), high.reshape(count, 3), slope.reshape(count, 4), bore.reshape(count, 6),
        np.array([_chamfer(feature) for feature in shape.features], dtype=float),
        tuple(feature.word for feature in shape.features),
    )  # fmt: skip


@lru_cache(maxsize=2048)
def rim_of(shape: Shape) -> Rim:
    """The edges of a shape's outline."""
    start = np.array(shape.outline, dtype=float)
    stop = np.roll(start, -1, axis=0)
    run = np.abs(stop - start)
    return Rim(start, stop, run[:, 1] > run[:, 0])


def _chamfer(feature: Feature) -> float:
    return max(feature.front_chamfer, feature.back_chamfer) if isinstance(feature, Opening) else 0.0


_WHOLE = (0.0, 0.0, 0.0, -inf)
_NO_BORE = (np.nan,) * 6


def _void(
    feature: Feature, shape: Shape
) -> tuple[tuple[float, ...], tuple[float, ...], tuple[float, ...], tuple[float, ...]]:
    """Low and high corner, slope and bore of one cut."""
    blank = shape.blank
    low, high = feature.bounds(blank)
    if isinstance(feature, Opening):
        low, high = _run_out(feature, shape)
    if isinstance(feature, Groove):
        low = tuple(-_FAR if at <= edge else at for at, edge in zip(low, (*blank.low, 0.0), strict=True))
        ends = (*blank.high, blank.thickness)
        high = tuple(_FAR if at >= edge else at for at, edge in zip(high, ends, strict=True))
    bore = _NO_BORE
    if isinstance(feature, AngledHole):
        axis = feature.axis(blank)
        bore = (*axis.entry, *axis.along)
    if isinstance(feature, Hole):
        bore = (feature.u, feature.v, 0.0, 0.0, 0.0, 1.0)
    return low, high, _slope(feature, shape), bore


def _run_out(opening: Opening, shape: Shape) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """An opening's box, which goes on past the edges that it is open to."""
    u0 = -_FAR if opening.open_end == "start" else opening.u0
    u1 = _FAR if opening.open_end == "end" else opening.u1
    v1 = _FAR if opening.open_above else opening.v1
    return (u0, opening.v0, -_FAR), (u1, v1, shape.thickness + _FAR)


def _slope(feature: Feature, shape: Shape) -> tuple[float, ...]:
    """The plane beyond which a sloping cut takes the wood."""
    if isinstance(feature, EdgeTreatment | Taper):
        run, deep = feature.reach, feature.depth
        at_back = feature.face == "back"
        return _plane(shape, feature.edge, run, (0.0, 1.0) if at_back else (0.0, -1.0), deep, at_back)
    if isinstance(feature, Bevel):
        return _bevel(feature, shape)
    if isinstance(feature, EdgeTaper):
        edge = shape.blank.edge(feature.edge)
        (u, v), (du, dv) = edge.start, edge.along
        return dv, -du, 0.0, dv * u - du * v
    return _WHOLE


def _plane(
    shape: Shape, number: int, run: float, face: tuple[float, float], deep: float, at_back: bool
) -> tuple[float, ...]:
    """From the face, `run` before an edge, to `deep` below the face at the edge."""
    edge = shape.blank.edge(number)
    du, dv = edge.along
    size = hypot(run, deep)
    outward, up = deep / size, run / size * face[1]
    u, v = edge.at(0.0, run)
    w = shape.thickness if at_back else 0.0
    normal = (dv * outward, -du * outward, up)
    return (*normal, normal[0] * u + normal[1] * v + normal[2] * w)


def _bevel(feature: Bevel, shape: Shape) -> tuple[float, ...]:
    edge = shape.blank.edge(feature.edge)
    du, dv = edge.along
    rise = (feature.back_inset - feature.front_inset) / shape.thickness
    size = hypot(1.0, rise)
    normal = (dv / size, -du / size, rise / size)
    u, v = edge.at(0.0, feature.front_inset)
    return (*normal, normal[0] * u + normal[1] * v)
