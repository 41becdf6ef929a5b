"""Where the parts of a step are drawn: drawn back along their ways, far enough to be clear of what they go into.

The corners of the space around a table, from which its steps are seen in isometric view.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from ...check.apart.blocking import DIRECTIONS, VECTORS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from ...check.apart.assembly_order import Arrival, AssemblyOrder, Pose, Step
    from ...check.apart.blocking import Blocking, Direction
    from ...wood.assembly import Assembly
    from ...wood.part import Part, Placement

    Floats = NDArray[np.float64]


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
"""From one to the next of what is glued up side by side, and how far boards are drawn back, in widths of the widest."""


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
    """What is glued up, one beside the other instead of in the table's corners."""
    units: list[list[Arrival]] = []
    for arrival in step.arrivals:
        if arrival.way is None and not arrival.blocked:
            units.append([])
        units[-1].append(arrival)
    boxes = [blocking.numbers([label for one in unit for label in one.parts]) for unit in units]
    lows = [blocking.low[numbers].min(axis=0) for numbers in boxes]
    sizes = [blocking.high[numbers].max(axis=0) - low for numbers, low in zip(boxes, lows, strict=True)]
    widest = max(float(max(size[0], size[1])) for size in sizes)
    pitch, far = _ROW * widest, _BACK * widest
    right = FIRST[step.pose].axes[0]
    places, moves = {}, []
    for number, (unit, low) in enumerate(zip(units, lows, strict=True)):
        shift = number * pitch * right - low
        for arrival in unit:
            own = blocking.numbers(arrival.parts)
            vector = np.zeros(3) if arrival.way is None else VECTORS[arrival.way] * far
            box = blocking.low[own].min(axis=0) + shift, blocking.high[own].max(axis=0) + shift
            moves.append(Move(arrival.parts, vector, *box))
            for label in arrival.parts:
                places[label] = assembly.by_label[label].placement.moved(shift - vector)
    parts = tuple(part for part in assembly.parts if part.label in places)
    return Scenery(parts, frozenset(range(len(parts))), places, tuple(moves), pitch * len(units))
