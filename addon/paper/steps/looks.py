"""A step as it is looked at: parts drawn back along their ways, seen from a corner, with an arrow for each move.

The corner is that of the step before, unless another shows the step's parts better.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from typing import Final

import numpy as np

from ...check.apart.assembly_order import Arrival, AssemblyOrder, Step, kinds_of_units
from ...check.apart.blocking import DIRECTIONS, VECTORS, Blocking, Direction
from ...sizes.arrays import Floats
from ...wood.assembly import Assembly
from ...wood.part import Part, Placement
from ...wood.roles import Pose
from ..lines.regions import Seams, seams_of
from ..lines.seen import Grid, Seen, Surface, surface_of


@dataclass(frozen=True)
class Corner:
    """A corner of the space around the table, from which it is looked at along the space diagonal."""

    pose: Pose
    x: int
    y: int
    """1 or -1: from the right, and from the back, or not."""
    below: bool = False
    """Whether from below, as the table stands."""

    @property
    def axes(self) -> Floats:
        """(3, 3) float; rows to the right, up and toward the eye."""
        up = 1.0 if self.pose == "upright" else -1.0
        z = np.array([self.x, self.y, -up if self.below else up]) / np.sqrt(3.0)
        y = np.array([0.0, 0.0, up]) - up * z[2] * z
        y /= np.linalg.norm(y)
        return np.array([np.cross(y, z), y, z])

    @property
    def words(self) -> str:
        """Such as "from the front right"."""
        depth, across = "back" if self.y > 0 else "front", "right" if self.x > 0 else "left"
        return f"from the {depth} {across}{', below' if self.below else ''}"


FIRST: Final[dict[Pose, Corner]] = {
    "upright": Corner("upright", 1, -1),
    "upside-down": Corner("upside-down", -1, -1),
}
"""The corner that is tried first."""


GAP: Final = 0.07
"""From a part drawn back to what it goes onto, as a share of the table's longest side."""

_FARTHEST: Final = 0.3
"""How far a part is drawn back at most, as such a share: a leaf is then partly in its slot."""

_NEAR: Final = 5.0
"""Parts whose boxes are not farther apart than this are what a part goes into, mm."""

_ROW: Final = 6.0
_BACK: Final = 2.2
_FARTHER: Final = 1.2
"""From one to the next of what is glued up side by side, how far boards are drawn back, and how much farther each that
comes after another from the same side, in widths of the widest."""


@dataclass(frozen=True, eq=False)
class Move:
    """The last stretch of the way of parts that go in together."""

    parts: tuple[str, ...]
    vector: Floats
    """(3,) float, mm: from where they are drawn to where they belong; zero where they are drawn stowed."""
    low: Floats
    high: Floats
    """(3,) float, mm: corners of the first one's box where they belong, as the picture has them."""
    straight: bool = True
    """Whether that is a way; without one, they are drawn above where they belong."""


@dataclass(frozen=True, eq=False)
class Scenery:
    """What a picture shows, and where."""

    parts: tuple[Part, ...]
    strong: frozenset[int]
    """Numbers of the parts that the step is about."""
    places: dict[str, Placement]
    moves: tuple[Move, ...]
    span: float
    """The longest side of what it shows, mm: of the table, or of what is glued up."""


def scenery_of(assembly: Assembly, order: AssemblyOrder, number: int, blocking: Blocking) -> Scenery:
    """What the picture of a step shows, counted from 0."""
    step, there = order.steps[number], order.before(number)
    if step.kind == "glue-up":
        return _side_by_side(assembly, step, blocking)
    span = float((blocking.high.max(axis=0) - blocking.low.min(axis=0)).max())
    moves = _moves(step, there, blocking, span)
    present = {*there, *step.moved}
    parts = tuple(part for part in assembly.parts if part.label in present)
    places = {
        label: assembly.by_label[label].placement.moved(-move.vector)
        for move in moves
        for label in move.parts
    }
    strong = frozenset(place for place, part in enumerate(parts) if part.label in places)
    return Scenery(parts, strong, places, tuple(moves), span)


def _moves(step: Step, there: Sequence[str], blocking: Blocking, span: float) -> list[Move]:
    """What comes the same way is drawn back equally far, and what has another ahead of it one gap more."""
    laid = [arrival for arrival in step.arrivals if arrival.way is None and not arrival.blocked]
    there = [*there, *(label for arrival in laid for label in arrival.parts)]
    down: Direction = "+z" if step.pose == "upside-down" else "-z"
    ways: list[Direction | None] = [None if one in laid else one.way or down for one in step.arrivals]
    depths: dict[Direction | None, float] = {None: 0.0}
    for arrival, way in zip(step.arrivals, ways, strict=True):
        if way is not None:
            depths[way] = max(depths.get(way, 0.0), _depth(arrival, way, there, blocking))
    found, levels = [], list[int]()
    for number, (arrival, way) in enumerate(zip(step.arrivals, ways, strict=True)):
        own = blocking.numbers(arrival.parts)
        ahead = [
            at for at in range(number)
            if way is not None and ways[at] == way
            and blocking.rooms(arrival.parts, step.arrivals[at].parts)[way] < np.inf
        ]  # fmt: skip
        levels.append(max((1 + levels[at] for at in ahead), default=0))
        far = min(depths[way] + GAP * span, _FARTHEST * span) + levels[-1] * GAP * span
        vector = np.zeros(3) if way is None else VECTORS[way] * far
        box = blocking.low[own[0]], blocking.high[own[0]]
        found.append(Move(arrival.parts, vector, *box, not arrival.blocked))
    return found


def _depth(arrival: Arrival, way: Direction, there: Sequence[str], blocking: Blocking) -> float:
    """How far parts go into those beside them, mm."""
    numbers, others = blocking.numbers(arrival.parts), blocking.numbers(there)
    low, high = blocking.low[numbers].min(axis=0), blocking.high[numbers].max(axis=0)
    least, most = blocking.low[others], blocking.high[others]
    near = ((least <= high + _NEAR) & (most >= low - _NEAR)).all(axis=1)
    axis = DIRECTIONS.index(way) % 3
    deep = high[axis] - least[near, axis] if way[0] == "+" else most[near, axis] - low[axis]
    return float(deep.max(initial=0.0))


def _side_by_side(assembly: Assembly, step: Step, blocking: Blocking) -> Scenery:
    """What is glued up, the first of each kind, one beside the other instead of in the table's corners."""
    firsts = {label for kind in kinds_of_units(assembly, step) for label in kind[0]}
    units = [unit for unit in step.units if unit[0].parts[0] in firsts]
    boxes = [blocking.numbers([label for one in unit for label in one.parts]) for unit in units]
    lows = [blocking.low[numbers].min(axis=0) for numbers in boxes]
    sizes = [blocking.high[numbers].max(axis=0) - low for numbers, low in zip(boxes, lows, strict=True)]
    widest = max(float(max(size[0], size[1])) for size in sizes)
    far = _BACK * widest
    most = max(Counter(one.way for one in unit if one.way is not None).most_common(1)[0][1] for unit in units)
    pitch = _ROW * widest + (most - 1) * _FARTHER * widest
    right = FIRST[step.pose].axes[0]
    places, moves = {}, []
    for number, (unit, low) in enumerate(zip(units, lows, strict=True)):
        shift = number * pitch * right - low
        before = Counter[Direction | None]()
        for arrival in unit:
            own = blocking.numbers(arrival.parts)
            back = far + before[arrival.way] * _FARTHER * widest
            before[arrival.way] += 1
            vector = np.zeros(3) if arrival.way is None else VECTORS[arrival.way] * back
            box = blocking.low[own].min(axis=0) + shift, blocking.high[own].max(axis=0) + shift
            moves.append(Move(arrival.parts, vector, *box))
            for label in arrival.parts:
                places[label] = assembly.by_label[label].placement.moved(shift - vector)
    parts = tuple(part for part in assembly.parts if part.label in places)
    return Scenery(parts, frozenset(range(len(parts))), places, tuple(moves), pitch * len(units))


_LONG: Final = 0.09
"""Length of an arrow behind a part, as a share of the scenery's longest side."""

_PLACES: Final = (0.5, 0.2, 0.8)
"""Across a part's box, the middle first."""

_ALONG: Final = np.linspace(0.1, 0.9, 9)
"""Where along an arrow it is looked whether it is seen."""

_PLAIN: Final = 0.5
"""Share that has to be seen of an arrow ahead of a part, for there to be none behind it."""


def arrows_of(scenery: Scenery, surface: Surface) -> tuple[Floats, ...]:
    """An arrow for each move: ahead of the part, to where it belongs, or behind it where that cannot be seen.

    Returns
    -------
    (2, 2) float each, mm at full size in the picture's plane: from where to where
    """
    moves = [move for move in scenery.moves if move.straight and move.vector.any()]
    if not moves:
        return ()
    ways = [_ways(move, scenery.span) for move in moves]
    ends = np.concatenate(ways) @ surface.axes.T
    points = ends[:, :1] + _ALONG[:, None] * (ends[:, 1:] - ends[:, :1])
    seen = Seen(
        surface, Grid.over(np.concatenate([surface.points[:, :2], points.reshape(-1, 3)[:, :2]]), 160)
    )
    right = np.broadcast_to(np.array([1.0, 0.0]), (points.shape[0] * points.shape[1], 2))
    share = 1.0 - seen.hidden(points.reshape(-1, 3), right).any(axis=1).reshape(points.shape[:2]).mean(axis=1)
    found, at = [], 0
    for way in ways:
        own, half = share[at : at + len(way)], len(way) // 2
        best = int(own[:half].argmax())
        if own[best] < _PLAIN:
            best = int(own.argmax())
        found.append(ends[at + best, :, :2])
        at += len(way)
    return tuple(found)


def _ways(move: Move, span: float) -> Floats:
    """(18, 2, 3) float, mm in the table's axes: arrows ahead of a part to where it belongs, then as many behind it."""
    axis = int(np.abs(move.vector).argmax())
    way = move.vector / np.abs(move.vector[axis])
    across = [one for one in range(3) if one != axis]
    forward = move.vector[axis] > 0
    found = []
    for behind, shares in product((False, True), product(_PLACES, _PLACES)):
        tip = np.empty(3)
        tip[across] = move.low[across] + shares * (move.high - move.low)[across]
        tip[axis] = (move.high if forward != behind else move.low)[axis]
        if behind:
            tip = tip - move.vector
            found.append((tip - _LONG * span * way, tip))
        else:
            found.append((tip - move.vector, tip))
    return np.array(found)


LEAST_SHOWN: Final = 0.1
"""Share of its own drawn area that is to be seen of all that goes in at a step."""

_AMPLE: Final = 0.2
"""Share from which the view stays as it was before."""


@dataclass(frozen=True, eq=False)
class Look:
    """A step's scenery as it is seen."""

    scenery: Scenery
    corner: Corner
    surface: Surface
    seams: Seams
    shown: dict[tuple[str, ...], float]
    """Labels of parts that go in together → share that is seen of the area that they alone would have drawn."""
    arrows: tuple[Floats, ...]
    """(2, 2) float each, mm at full size in the picture's plane: from where to where."""

    @property
    def least(self) -> float:
        """The least of these shares."""
        return min(self.shown.values(), default=1.0)


def look_at(scenery: Scenery, corner: Corner) -> Look:
    """Some scenery seen from a corner. Raises PartError where a part has no sound section."""
    axes = corner.axes
    surface = surface_of(scenery.parts, axes, scenery.places)
    seams = seams_of(surface)
    shown = {}
    for move in scenery.moves:
        numbers = [at for at, part in enumerate(scenery.parts) if part.label in move.parts]
        alone = seams_of(surface_of([scenery.parts[at] for at in numbers], axes, scenery.places))
        drawn = sum(alone.area(at) for at in range(len(numbers)))
        shown[move.parts] = sum(seams.area(at) for at in numbers) / drawn
    return Look(scenery, corner, surface, seams, shown, arrows_of(scenery, surface))


def best_look(scenery: Scenery, pose: Pose, before: Corner | None) -> Look:
    """The look from the corner before where it shows enough of all parts; else from the one that shows most.

    Raises
    ------
    PartError : where a part has no sound section
    """
    found = None
    for corner in _corners(pose, before):
        if found is not None and corner.below and found.least >= LEAST_SHOWN:
            break
        look = look_at(scenery, corner)
        if look.least >= _AMPLE:
            return look
        if found is None or look.least > found.least:
            found = look
    assert found is not None
    return found


def _corners(pose: Pose, before: Corner | None) -> Iterator[Corner]:
    first = before if before is not None and before.pose == pose else FIRST[pose]
    yield first
    for below, turn in product((False, True), ((1, 1), (-1, 1), (1, -1), (-1, -1))):
        corner = Corner(pose, first.x * turn[0], first.y * turn[1], below)
        if corner != first:
            yield corner
