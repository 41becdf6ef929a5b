"""From where the place of a finding is seen, what covers it, and where the parts' names stand (no bpy here).

Directions from a good set are tried by rays from the eye to the place and around it. Lengths in m, in one frame for
all.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import Final

import numpy as np

from ..sizes.arrays import Bools, Floats
from .pictures.framing import axes_of
from .rays import OTHERS, Body, entered

AROUND: Final = 0.003
"""So far around the place nothing may cover it, on the side seen, m."""
NEAR: Final = 0.02
"""So far around the place little should, m."""
SKIN: Final = 1e-4
"""What a ray meets nearer to its end than this is what the place lies on, m."""
IN_WOOD: Final = 0.004
"""The parts of a finding may be met this far, and its amount, before its place, which may lie in their wood, m."""
FIELD: Final = (0.055, 0.5)
"""Least and greatest of what is seen from the place to the nearest border of the view, m."""
READABLE, LEAST = 6.5, 3.2
"""Length on the screen at which a dimension can be read, and at which it is drawn at all, pixels."""
FAR: Final = 20.0
"""Without perspective the eye is this far away, m."""
IDEAL: Final = np.array([0.42, -0.72, 0.55])
"""Where people stand who look at a table: before it, a little to the right, above it. Length about 1."""


@dataclass(frozen=True, eq=False)
class Spot:
    """What is to be seen.

    Parameters
    ----------
    place : (3,) float
    span : (3,) float; from one end of its dimension to the other; zero where there is none
    labels : of the parts concerned
    """

    place: Floats
    span: Floats
    labels: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class Lens:
    """A view as it is before it turns.

    Parameters
    ----------
    slope : half the longer side of the view, in distances from the eye to what is in its middle
    size : width and height, pixels
    free : left, right, lower and upper end of what nothing lies over, pixels
    scale : pixels in a pixel of the sizes of words
    perspective : whether there is any
    back : (3,) float; unit vector toward the eye, as it looks now
    """

    slope: float
    size: tuple[int, int]
    free: tuple[float, float, float, float]
    scale: float
    perspective: bool
    back: Floats

    @property
    def pixel(self) -> float:
        """What a pixel shows at a distance of 1 from the eye."""
        return 2.0 * self.slope / max(self.size)

    @property
    def aside(self) -> Floats:
        """(2,) float, pixels: from the middle of what is free to the middle of the view, right and up."""
        left, right, low, high = self.free
        return np.array([self.size[0] - left - right, self.size[1] - low - high]) / 2.0

    @property
    def half(self) -> float:
        """From the middle of what is free to its nearest border, pixels."""
        left, right, low, high = self.free
        return max(1.0, min(right - left, high - low) / 2.0)


@dataclass(frozen=True, eq=False)
class Sight:
    """How a view shows a place.

    Parameters
    ----------
    axes : (3, 3) float; rows are right, up and back
    middle : (3,) float; what is in the middle of the view
    distance : from there to the eye
    through : numbers of the bodies that have to let the place be seen
    names : label of a part concerned → (3,) float, where it is seen and its name may stand
    """

    axes: Floats
    middle: Floats
    distance: float
    through: tuple[int, ...]
    names: dict[str, Floats]


def choose(bodies: Sequence[Body], spot: Spot, lens: Lens) -> Sight:
    """The view in which a place is seen best, from among a good set of directions.

    What counts most is that little has to be seen through, and that it is looked at from outside and not from below;
    then that the dimension is not looked at from its end, that the surroundings are seen too, and that the view turns
    little and toward where people stand.
    """
    axes = np.stack([_axes(back) for back in directions(lens.back, spot.span)])
    few = _costs(bodies, spot, lens, axes, _points()[:_CLOSE:3])[0]
    axes = axes[
        np.argsort(few, kind="stable")[:_TRIED]
    ]  # the others would need more to be seen through anyhow
    costs, close = _costs(bodies, spot, lens, axes, _points())
    best = int(costs.argmin())
    through = tuple(np.flatnonzero(close[:, best]).tolist())
    sight = Sight(axes[best], *turned(axes[best], spot, lens), through, {})
    return replace(sight, names=_names(bodies, spot, lens, sight))


def turned(axes: Floats, spot: Spot, lens: Lens) -> tuple[Floats, float]:
    """For another view that looks the same way: (3,) float, what is in its middle, and the distance to the eye."""
    distance = float(_distances(axes[None], spot.span, lens)[0])
    return spot.place + _middle(axes, distance, lens), distance


def directions(now: Floats, span: Floats) -> Floats:
    """(n, 3) float, unit vectors toward the eye: as now, along the 26 ways to the neighbors of a cube, and square to a
    span."""
    ways = [np.array(one, dtype=float) for one in product((-1, 0, 1), repeat=3) if any(one)]
    found = [now, IDEAL, *ways]
    if span.any():
        first = np.cross(span, [0.0, 0.0, 1.0] if abs(span[2]) < 0.9 * np.linalg.norm(span) else [1.0, 0, 0])
        second = np.cross(span, first)
        first, second = (one / np.linalg.norm(one) for one in (first, second))
        found += [np.cos(turn) * first + np.sin(turn) * second for turn in np.arange(12) * np.pi / 6]
    backs = np.array(found)
    return backs / np.linalg.norm(backs, axis=1, keepdims=True)


_CLOSE: Final = 13
"""Of the ends of rays to a place, the first so many are those that nothing may cover."""
_TRIED: Final = 12
"""So many directions, the best by a few rays, are tried with all."""


def _points() -> Floats:
    """(21, 3) float, right, up and back: the place, points near it on the side seen, and some farther around it."""
    turns = np.arange(12) * np.pi / 6
    circle = np.stack([np.cos(turns), np.sin(turns), np.ones(12)], axis=1) / np.sqrt(2.0)
    return np.concatenate([np.zeros((1, 3)), AROUND * circle, NEAR * circle[1::3], NEAR * circle[2::3]])


def _axes(back: Floats) -> Floats:
    """(3, 3) float: right, up and back of an eye that stands upright."""
    flat = float(np.hypot(back[0], back[1]))
    elevation = np.degrees(np.arctan2(back[2], flat))
    azimuth = np.degrees(np.arctan2(back[0], -back[1])) if flat > 1e-6 else 0.0
    return axes_of(float(elevation), float(azimuth))


def _distances(axes: Floats, span: Floats, lens: Lens) -> Floats:
    """(n,) float: from the place to the eye along each back, so that the dimension is `READABLE` and the part too."""
    seen = np.hypot(*(axes[:, :2] @ span).T)
    wanted = np.where(seen > 0.0, seen * lens.half / READABLE, FIELD[1] * 0.7)
    found: Floats = np.clip(wanted, *FIELD) / (lens.half * lens.pixel)
    return found


def _middle(axes: Floats, distance: float, lens: Lens) -> Floats:
    """(3,) float: from a place to what is in the middle of the view when the place is in the middle of what is free."""
    found: Floats = lens.aside * lens.pixel * distance @ axes[:2]
    return found


def _eyes(axes: Floats, place: Floats, distances: Floats, lens: Lens) -> Floats:
    """(n, 3) float."""
    aside = np.einsum("i,nij->nj", lens.aside * lens.pixel, axes[:, :2])
    found: Floats = place + (aside + axes[:, 2]) * distances[:, None]
    return found


def _starts(axes: Floats, eyes: Floats, ends: Floats, lens: Lens) -> Floats:
    """(n, r, 3) float: where rays begin that end at (n, r, 3) `ends`."""
    if lens.perspective:
        return np.broadcast_to(eyes[:, None], ends.shape)
    found: Floats = ends + FAR * axes[:, None, 2]
    return found


def _covered(bodies: Sequence[Body], eyes: Floats, ends: Floats, spot: Spot) -> Bools:
    """(b, r) bool: whether a body is met before the end of a ray."""
    lengths = np.linalg.norm(ends - eyes, axis=1)
    before = (1.0 - entered(bodies, eyes, ends)) * lengths
    own = IN_WOOD + float(np.linalg.norm(spot.span))
    least = np.array([own if one.label in spot.labels else SKIN for one in bodies])
    found: Bools = before > least.reshape(-1, 1)
    return found


def _around_eyes(bodies: Sequence[Body], eyes: Floats) -> Bools:
    """(b, n) bool: whether an eye is inside of the box of a body, whose faces would then be cut off before it."""
    lows, highs = (
        np.array([getattr(one, name) for one in bodies]).reshape(-1, 1, 3) for name in ("low", "high")
    )
    found: Bools = np.logical_and.reduce((lows < eyes) & (eyes < highs), axis=2)
    return found


_WITHIN: Final = 15.0
"""What it costs to look from within the body, where nobody can tell which way is up: nearly as much as to look through
four parts."""
_BELOW: Final = 9.0
"""The same for looking up from below: a bit more than to look through two parts from above."""
_UPWARD: Final = -0.2
"""Where the way toward the eye goes down by more than this share of its length, it looks up."""
_OFF_FLOOR: Final = 0.05
"""Parts that begin higher than this above the lowest are the body; the eye may be between the legs, m."""


def _is_within(bodies: Sequence[Body], eyes: Floats) -> Bools:
    """(n,) bool: whether an eye is inside of the box of all that is off the floor."""
    lows, highs = (np.array([getattr(one, name) for one in bodies]) for name in ("low", "high"))
    body = lows[:, 2] > lows[:, 2].min() + _OFF_FLOOR
    if not body.any():
        return np.zeros(len(eyes), dtype=bool)
    found: Bools = ((lows[body].min(axis=0) < eyes) & (eyes < highs[body].max(axis=0))).all(axis=1)
    return found


def _costs(
    bodies: Sequence[Body], spot: Spot, lens: Lens, axes: Floats, points: Floats
) -> tuple[Floats, Bools]:  # fmt: skip
    """(n,) float, the less the better, and (b, n) bool, what has to be seen through, of n directions.

    Parameters
    ----------
    axes : (n, 3, 3) float
    points : (r, 3) float; some of `_points`, about the place
    """
    backs, distances = axes[:, 2], _distances(axes, spot.span, lens)
    eyes = _eyes(axes, spot.place, distances, lens)
    ends = spot.place + np.einsum("ij,njk->nik", points, axes)
    starts = _starts(axes, eyes, ends, lens)
    covered = _covered(bodies, starts.reshape(-1, 3), ends.reshape(-1, 3), spot)
    rays: Bools = covered.reshape(len(bodies), *ends.shape[:2])
    close: Bools = np.logical_or.reduce(rays[:, :, :_CLOSE], axis=2)
    weight = np.array(
        [8.0 if one.label == OTHERS else 2.0 if one.label in spot.labels else 4.0 for one in bodies]
    )
    length = float(np.linalg.norm(spot.span))
    seen = np.hypot(*(axes[:, :2] @ spot.span).T)
    costs = weight @ close + 1.5 * (close & _around_eyes(bodies, eyes)).sum(axis=0)
    costs += np.maximum(_WITHIN * _is_within(bodies, eyes), _BELOW * (backs[:, 2] < _UPWARD))
    if length > 0.0:
        costs += 5.0 * np.maximum(0.0, 0.7 - seen / length)
        costs += 2.0 * (seen < LEAST * lens.pixel * distances)
    if len(points) > _CLOSE:
        others = np.array([one.label not in spot.labels for one in bodies], dtype=bool)
        hidden = rays[:, :, _CLOSE:] & others[:, None, None] & ~close[:, :, None]
        costs += 1.5 * hidden.any(axis=0).mean(axis=1)
    costs += np.clip(lens.back @ IDEAL, 0.25, 1.0) * (1.0 - backs @ lens.back)  # a bad view is soon left
    return costs + 0.7 * (1.0 - backs @ IDEAL), close


_GRID, _INSET = (17, 13), 0.86
"""Points of the view, across and up, that are asked which part is seen there; so much of what is free has them."""


def _names(bodies: Sequence[Body], spot: Spot, lens: Lens, sight: Sight) -> dict[str, Floats]:
    """Where the parts concerned are seen, apart from the place, its words and each other; of one hidden, where it is.

    None for those outside of the view.
    """
    left, right, low, high = lens.free
    free = np.array([right - left, high - low])
    across, up = (_INSET * np.linspace(-0.5, 0.5, count) for count in _GRID)
    grid = np.stack(np.meshgrid(across, up, indexing="ij"), axis=2).reshape(-1, 2)
    flat = grid * free * lens.pixel * sight.distance @ sight.axes[:2]
    eye = sight.middle + sight.distance * sight.axes[2]
    if lens.perspective:
        begin, end = np.broadcast_to(eye, flat.shape), eye + 4.0 * (spot.place + flat - eye)
    else:
        begin = spot.place + flat + FAR * sight.axes[2]
        end = begin - 2.0 * FAR * sight.axes[2]
    shares = entered(bodies, begin, end)
    solid = np.array([number not in sight.through for number in range(len(bodies))], dtype=bool)
    nearest = shares[solid].min(axis=0, initial=np.inf)
    own = [number for label in spot.labels for number, one in enumerate(bodies) if one.label == label]
    found: dict[str, Floats] = {}
    taken: list[Floats] = []
    for number in own:
        first, at = shares[number], grid
        mine = np.isfinite(first) & (first <= nearest) & (first > 0.0)  # 0: the eye is inside of it
        if mine.any():
            points = begin + np.where(mine, first, 0.0)[:, None] * (end - begin)
            plain = mine & (first <= shares[own].min(axis=0))
            room = _surrounded(mine) + plain + _apart(grid * free / lens.scale, taken)
            room = np.where(mine, room, -np.inf)
        else:
            points = _inside(bodies[number])
            at = _seen_at(points, sight, lens) / free
            inside = (np.abs(at) < _INSET / 2.0).all(axis=1)
            if not inside.any():
                continue
            room = np.where(inside, _apart(at * free / lens.scale, taken), -np.inf)
        best = int(room.argmax())
        found[bodies[number].label] = points[best]
        taken.append(at[best] * free / lens.scale)
    return found


def _inside(one: Body) -> Floats:
    """(n, 3) float: points all over the box of a body."""
    shares = np.array(list(product(np.linspace(0.02, 0.98, 9), repeat=3)))
    found: Floats = one.low + shares * (one.high - one.low)
    return found


def _seen_at(points: Floats, sight: Sight, lens: Lens) -> Floats:
    """(n, 2) float, pixels: where points are seen, from the place; far away for those behind the eye."""
    seen = (points - sight.middle) @ sight.axes.T
    ahead = sight.distance - seen[:, 2] if lens.perspective else np.full(len(seen), sight.distance)
    found: Floats = seen[:, :2] / np.where(ahead > 0.0, ahead, 1e-6)[:, None] / lens.pixel + lens.aside
    return found


def _surrounded(mine: Bools) -> Floats:
    """(g,) float: which share of the neighbors of each point of the grid shows the same part."""
    across, up = _GRID
    padded = np.pad(mine.reshape(_GRID), 1).astype(float)
    steps = product((0, 1, 2), repeat=2)
    return np.asarray(sum(padded[x : x + across, y : y + up] for x, y in steps)).ravel() / 9.0


_WORDS: Final = (170.0, 26.0)
"""Room that a name takes beside its place, and above and below it, pixels."""
_HEAD: Final = (-170.0, 230.0, -60.0, 75.0)
"""Left, right, lower and upper end of what the dimension and the words on the finding take about the place, pixels."""


def _apart(at: Floats, taken: Sequence[Floats]) -> Floats:
    """(n,) float: how well a name stands at points, pixels from the place: near it, but beside all other words."""
    x, y = at.T
    left, right, low, high = _HEAD
    found = -np.hypot(x, y) / 800.0 - 4.0 * ((x > left) & (x < right) & (y > low) & (y < high))
    for other in taken:
        found -= 4.0 * ((np.abs(x - other[0]) < _WORDS[0]) & (np.abs(y - other[1]) < _WORDS[1]))
    return np.asarray(found)
