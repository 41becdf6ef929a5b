"""How far apart the parts of an exploded view are drawn, and the lines between them.

Gaps are measured on the paper. How far units have to go so that they are seen in a view follows in closed form from the
shadows of their boxes: all boxes are seen as hexagons with sides of the same three directions, so that the shift at
which one hexagon lets another go is the least of three distances between shadows. From each part a line leads to what
it goes onto, along the way that it takes.
"""

from __future__ import annotations

from collections.abc import Collection
from copy import copy
from dataclasses import replace
from functools import cached_property
from typing import Final

import numpy as np

from ..check.apart.blocking import DIRECTIONS, VECTORS
from ..check.apart.explosion import ComingApart, Explosion, explode, roughly
from ..check.apart.graph import Departure
from ..check.apart.units import Units
from ..check.progress import Steps
from ..sizes.arrays import Floats
from ..sizes.errors import ExportError
from ..sizes.tolerances import ANGLE, CONTACT
from ..wood.part import Placement
from .lines.hidden import seen_through_air
from .lines.seen import Surface
from .sheet import Drawing
from .sheet.dimensions import chain
from .sheet.sheet import A3, A4, Sheet
from .views import OnSheet, ViewFrom, placed_at


def ways_home(explosion: Explosion, shown: Collection[str]) -> Floats:
    """(n, 2, 3) float, mm in the table's axes: through the air from shown units to those that they hang on.

    Each line lies in the middle of where the two lie across the way most broadly over each other, and ends at both.
    """
    units, graph = explosion.order.units, explosion.order.graph
    there = {units.of[label] for label in shown}
    found = [_way(explosion, one) for one in graph.departures if one.unit in there and one.parent in there]
    return np.array([way for way in found if way is not None]).reshape(-1, 2, 3)


def _way(explosion: Explosion, one: Departure) -> Floats | None:
    """From what a unit hangs on to the unit; None where neither is beside the other, or they are not apart."""
    axis = DIRECTIONS.index(one.direction) % 3
    sign = 1.0 if one.direction[0] == "+" else -1.0
    low, high = _boxes(explosion, one.unit)
    low_below, high_below = _boxes(explosion, one.parent)
    shared_low, shared_high = np.maximum(low[:, None], low_below), np.minimum(high[:, None], high_below)
    size = np.delete(shared_high - shared_low, axis, axis=2)
    area = np.where((size > 0).all(axis=2), size.prod(axis=2), 0.0)
    # Of pieces that lie over each other alike, those that face each other.
    near = (low[:, None, axis] if sign > 0 else -high[:, None, axis]) - (
        high_below[:, axis] if sign > 0 else -low_below[:, axis]
    )
    broad = area >= 0.999 * area.max()
    if not area.max() > 0:
        return None
    piece, below = np.unravel_index(np.where(broad, np.abs(near), np.inf).argmin(), area.shape)
    start = (shared_low + shared_high)[piece, below] / 2
    end = start.copy()
    start[axis] = high_below[below, axis] if sign > 0 else low_below[below, axis]
    end[axis] = low[piece, axis] if sign > 0 else high[piece, axis]
    way = np.array([start + explosion.offsets[one.parent], end + explosion.offsets[one.unit]])
    return way if sign * (way[1] - way[0])[axis] > 0 else None


def _boxes(explosion: Explosion, unit: int) -> tuple[Floats, Floats]:
    """(n, 3) float each, mm: corners of the boxes of a unit's pieces, stowed."""
    blocking = explosion.order.blocking
    pieces = [blocking.pieces[blocking.number[label]] for label in explosion.order.units.members[unit]]
    return np.concatenate([one.low for one in pieces]), np.concatenate([one.high for one in pieces])


_WAY: Final = chain(0.18)
"""Line 04.1 of ISO 128-2 (from memory), narrower than edges."""


_SHORT: Final = 4.0
"""Length below which a piece is left out, mm on the paper: less than a dash."""

CLEAR: Final = 0.35
"""Least distance of a leader's dot from the middle of any line where parts are small, mm on the paper: a dot on the
line of its own part says still which part it is."""


def places_at_the_end(explosion: Explosion, shown: Collection[str]) -> dict[str, Placement]:
    """Label → where a part stands when all is taken apart."""
    assembly = explosion.order.assembly
    return {
        label: assembly.cover.get(label, assembly.body[label].placement).moved(
            explosion.offset_at(label, 1.0)
        )
        for label in shown
    }


def draw_ways(
    drawing: Drawing, explosion: Explosion, surface: Surface, layout: OnSheet, shown: Collection[str]
) -> Floats:
    """Puts the lines from part to part on the sheet; returns them, (n, 2, 2) float mm on the paper.

    Short pieces of a line that are seen between other parts, far from its ends, are left out.
    """
    ways = ways_home(explosion, shown) @ surface.axes.T
    seen = seen_through_air(surface, ways)
    ends = ways.reshape(-1, 3)
    at_end = np.array(
        [(np.linalg.norm(one[:, None] - ends, axis=2) < CONTACT).any() for one in seen], dtype=bool
    )
    flat = seen[:, :, :2] * layout.scale + layout.place
    long = np.linalg.norm(flat[:, 1] - flat[:, 0], axis=1) >= _SHORT
    drawn = flat[long | at_end]
    drawing.strokes(list(drawn), _WAY, name="ways")
    return drawn


GAP: Final = 5.0
"""Between parts that come apart, mm on the paper."""

SEEN: Final = 0.6
"""Share of its own size by which a part has to come out from behind another."""

_ACROSS: Final = 0.2
"""Sine of the angle to the line of sight below which a move along a direction is not seen."""


def gaps_for(axes: Floats, scale: float, gap: float = GAP) -> Floats:
    """(6,) float, mm: gaps along each direction that are as wide on the paper, or deep where they go toward the eye.

    Parameters
    ----------
    axes : (3, 3) float of the view
    scale : of the paper
    """
    seen = np.array([np.hypot(*(axes[:2] @ VECTORS[way])) for way in DIRECTIONS])
    return gap / scale / np.where(seen > _ACROSS, seen, 1.0)


class Sight:
    """What a view shows of units.

    Parameters
    ----------
    axes : (3, 3) float of the view
    share : of its own size, that of a part has to be seen
    """

    def __init__(self, axes: Floats, units: Units, share: float = SEEN) -> None:
        self.axes, self.units, self.share = axes, units, share
        self._moved = np.zeros((len(units), 3))
        self._sides: frozenset[int] = frozenset()
        self._amounts: dict[int, Floats | None] = {}
        self._shown: dict[tuple[int, tuple[int, ...], tuple[int, ...]], float] = {}

    def past_the_sides(self, moved: Floats) -> Sight:
        """The same where some units have gone to a side, before others go up or down.

        Parameters
        ----------
        moved : (n, 3) float, mm; how far those have gone, 0 for all others
        """
        other = copy(self)
        other._moved = moved
        other._sides = frozenset(np.flatnonzero(moved.any(axis=1)).tolist())
        # What goes to a side itself is looked at from home.
        other._amounts = {way: amounts for way, amounts in self._amounts.items() if way % 3 != 2}
        other._shown = {key: amount for key, amount in self._shown.items() if key[0] % 3 != 2}
        return other

    def show(self, way: int, inner: tuple[int, ...], outer: tuple[int, ...]) -> float:
        """How far the outer units have to go along a direction so that the view shows the inner ones and them, mm."""
        key = way, inner, outer
        if key not in self._shown:
            self._shown[key] = self._show(way, inner, outer)
        return self._shown[key]

    def _show(self, way: int, inner: tuple[int, ...], outer: tuple[int, ...]) -> float:
        if way not in self._amounts:
            self._amounts[way] = self._amounts_along(way)
        amounts = self._amounts[way]
        if amounts is None:
            return 0.0
        if self.axes[2] @ VECTORS[DIRECTIONS[way]] > 0:
            front, hidden = outer, inner
        else:
            front, hidden = (*self._sides.union(inner),) if way % 3 == 2 else inner, outer
        return max(0.0, float(amounts[np.ix_(front, hidden)].max()))

    def _amounts_along(self, way: int) -> Floats | None:
        """(n, n) float, mm: how far front units have to go along a direction, or hidden ones, to let enough be seen.

        None where the view shows no such move.
        """
        along = VECTORS[DIRECTIONS[way]]
        if abs(float(self.axes[2] @ along)) <= ANGLE or np.hypot(*(self.axes[:2] @ along)) <= _ACROSS:
            return None
        own = self._let_go(along, True).diagonal()
        return self._let_go(along, way % 3 != 2) - (1.0 - self.share) * own

    def _let_go(self, along: Floats, unmoved: bool) -> Floats:
        """(n, n) float, mm: how far one has to go so that both are apart on the paper; 0 where they always are.

        The hidden unit, of the second axis, along the direction if that leads away from the eye, else the front one.
        """
        count = len(self.units)
        found = np.full((count, count), np.inf)
        behind = bool(self.axes[2] @ along < 0)
        for normal in self._normals:
            speed = float(normal @ along)
            low, high = self._shadows(normal, unmoved)
            (low_ahead, high_ahead), (low_back, high_back) = (low[:, None], high[:, None]), (low, high)
            if behind:
                (low_ahead, high_ahead), (low_back, high_back) = (low, high), (low[:, None], high[:, None])
            if abs(speed) <= ANGLE:
                found[(low_ahead >= high_back) | (high_ahead <= low_back)] = 0.0
            else:
                reach = high_back - low_ahead if speed > 0 else low_back - high_ahead
                found = np.minimum(found, reach / speed)
        return np.maximum(found, 0.0)

    @cached_property
    def _normals(self) -> list[Floats]:
        """(3,) float each, in the table's axes: square to a side of the hexagons and to the line of sight."""
        found = []
        for axis in np.eye(3):
            normal = np.cross(axis, self.axes[2])
            size = float(np.linalg.norm(normal))
            if size > ANGLE:
                found.append(normal / size)
        return found

    def _shadows(self, normal: Floats, unmoved: bool) -> tuple[Floats, Floats]:
        middle, half = (self.units.low + self.units.high) / 2, (self.units.high - self.units.low) / 2
        middle = middle if unmoved else middle + self._moved
        return middle @ normal - half @ np.abs(normal), middle @ normal + half @ np.abs(normal)


_PLAIN: Final = 10
"""Reduction beyond which a larger sheet is taken."""

_PARTS: Final = (1, 2, 5, *range(10, 101))
"""Reductions: those of ISO 5455 (from memory), and any whole one where 1:10 is too large for what comes apart: the
largest picture that the paper takes serves better than a scale, and the title block says that it has none."""


_USUAL: Final = 5
"""About how many of them are tried."""


def arrange(
    order: ComingApart, view: ViewFrom, shown: Collection[str], sheet: Sheet | None, left: float, right: float
) -> Steps[tuple[Explosion, OnSheet]]:
    """The exploded view at the largest scale at which it fits a sheet, and where it stands, scale after scale.

    Parameters
    ----------
    sheet : where it must be that one
    shown : labels of the parts that are drawn
    left, right : room to be kept free, mm on the paper

    Raises
    ------
    ExportError : where it is too large for the paper
    """
    sight = Sight(view.axes, order.units)

    def placed(found: Explosion | None, parts: int) -> tuple[Explosion, OnSheet] | None:
        """Where it stands on the first sheet that takes it."""
        if found is None:
            return None
        points = corners(found, view.axes, shown)[:, :2]
        for paper in (A4, A3) if sheet is None else (sheet,):
            if sheet is None and paper is A4 and parts > _PLAIN:
                continue
            layout = placed_at(points, view, paper, (left + right) / 2, parts)
            if layout is not None:
                return found, _shifted(layout, (left - right) / 2)
        return None

    for number, parts in enumerate(_PARTS):
        yield number / (number + _USUAL)
        gaps = gaps_for(view.axes, view.enlarged / parts)
        # What is too large before parts have made way for each other is so after.
        if any(placed(rough_explosion(order, sight, gaps, beside), parts) for beside in (True, False)):
            there = placed(explosion_in(order, sight, gaps), parts)
            if there is not None:
                return there
    raise ExportError(
        f"{order.assembly.name} cannot be drawn exploded: it is too large for the paper even at 1:{_PARTS[-1]}."
    )


def _shifted(layout: OnSheet, to_the_right: float) -> OnSheet:
    x0, y0, x1, y1 = layout.box
    box = x0 + to_the_right, y0, x1 + to_the_right, y1
    return replace(layout, place=layout.place + np.array([to_the_right, 0.0]), box=box)


def explosion_in(order: ComingApart, sight: Sight, gaps: Floats) -> Explosion:
    """The exploded view in which gaps are wide enough on the paper and parts come out from behind each other."""
    first = explode(order, gaps, sight.show)
    return explode(order, gaps, sight.past_the_sides(_sideways(first)).show)


def rough_explosion(order: ComingApart, sight: Sight, gaps: Floats, beside: bool) -> Explosion | None:
    """The same, but for what parts need to make way for each other; see `roughly`."""
    first = roughly(order, gaps, sight.show, beside=beside)
    if first is None:
        return None
    return roughly(order, gaps, sight.past_the_sides(_sideways(first)).show, beside=beside)


def _sideways(first: Explosion) -> Floats:
    """(n, 3) float, mm: how far units go that go to a side; how far others have to go up or down depends on it."""
    return np.where(first.offsets[:, 2:] == 0, first.offsets, 0.0)


def corners(explosion: Explosion, axes: Floats, shown: Collection[str]) -> Floats:
    """(n, 3) float, mm in the view's axes: corners of the boxes of shown parts where they end up."""
    blocking, moved = explosion.order.blocking, explosion.part_offsets(1.0)
    ends = np.stack([blocking.low + moved, blocking.high + moved])[:, blocking.numbers(shown)]
    found = [
        np.stack([ends[x, :, 0], ends[y, :, 1], ends[z, :, 2]], axis=1)
        for x in (0, 1)
        for y in (0, 1)
        for z in (0, 1)
    ]
    return np.concatenate(found) @ axes.T
