"""The outcome of a slide: how near it comes to each part, and where and when that is."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from ...sizes.arrays import Bools, Floats, Ints
from ...sizes.tolerances import CONTACT, WELD
from .intervals import contact_interval
from .pairs import Pairs
from .separation import Polytope, Separation, signed_distance


class Contact(NamedTuple):
    """Where a slide comes nearest to a part.

    Parameters
    ----------
    part : number of the part
    clearance : mm; negative: the sweep overlaps the part by this much
    fraction : share of the move done when the clearance is first reached (when the overlap begins), 0 … 1
    axis : (3,) float, unit; from the mover to the part
    on_mover, on_part : (3,) float, mm; nearest points at that moment (points of contact)
    mover_piece, piece : numbers of the two pieces
    """

    part: int
    clearance: float
    fraction: float
    axis: Floats
    on_mover: Floats
    on_part: Floats
    mover_piece: int
    piece: int

    @property
    def place(self) -> Floats:
        """(3,) float, mm; half-way between mover and part."""
        return (self.on_mover + self.on_part) / 2


class Slide:
    """The outcome of one straight move.

    Attributes
    ----------
    clearance : (P,) float, mm; smallest signed distance of each part over the whole move; inf for parts left out
    exact : (P,) bool; False where `clearance` is only a lower bound (no less than the threshold, nor than the
        smallest clearance)
    """

    def __init__(self, pairs: Pairs, run: int, clearance: Floats, exact: Bools) -> None:
        self.clearance, self.exact = clearance, exact
        self._pairs, self._run, self._scene = pairs, run, pairs.scene
        self._contacts: dict[int, Contact] = {}
        self._travel = np.asarray(pairs.runs.runs[run].travel, dtype=float)

    def tightest(self) -> int | None:
        """The part that the move comes nearest to, among equals the one reached first; None without parts."""
        smallest = self.clearance.min(initial=np.inf)
        if not np.isfinite(smallest):
            return None
        first = self._first(np.flatnonzero(self.exact & (self.clearance <= smallest + CONTACT)))
        self._contacts[first.part] = first
        return first.part

    def contact(self, part: int) -> Contact:
        """Where and when the move comes nearest to a part, or begins to overlap it.

        Raises
        ------
        ValueError
            if the clearance of that part is only a lower bound
        """
        if not self.exact[part]:
            raise ValueError(f"the clearance of part {part} is not exact")
        if part not in self._contacts:
            self._contacts[part] = self._first(np.array([part]))
        return self._contacts[part]

    def separation(self, part: int) -> Separation:
        """How all that the mover passes through lies to a part: the nearest pair of pieces, or the deepest.

        Raises
        ------
        ValueError
            if the clearance of that part is only a lower bound
        """
        if not self.exact[part]:
            raise ValueError(f"the clearance of part {part} is not exact")
        return self._pairs.separation(self._pairs.nearest(self._run, part))

    def _first(self, parts: Ints) -> Contact:
        """The first contact with these parts, whose clearances are exact and (but for overlaps) equal."""
        clearance = float(self.clearance[parts].min())
        if clearance < -CONTACT:
            # What is thinner than twice the contact tolerance is never overlapped by more than that: then touching.
            first = self._earliest(parts, -CONTACT, self._meet) or self._earliest(parts, CONTACT, self._meet)
        else:
            first = self._earliest(parts, clearance + CONTACT, self._approach)
        assert first is not None, "an exact clearance is that of some pair"
        return first._replace(clearance=float(self.clearance[first.part]))

    def _earliest(
        self, parts: Ints, within: float, meet: Callable[[int, float], Contact | None]
    ) -> Contact | None:
        """Of all pairs with these parts that come `within` mm, the one that is there first."""
        pairs = self._pairs.near(self._run, parts, within)
        begins = self._pairs.begins(pairs, within)
        first: Contact | None = None
        for at in np.argsort(begins, kind="stable"):
            if begins[at] > 1.0 or (first is not None and begins[at] >= first.fraction):
                break
            here = meet(int(pairs[at]), within)
            if here is not None and (first is None or here.fraction < first.fraction):
                first = here
        return first

    def _approach(self, pair: int, within: float) -> Contact | None:
        """The first moment at which a pair is as near as it gets, or None if that is not `within`."""
        row, column = int(self._pairs.row[pair]), int(self._pairs.column[pair])
        body, other = self._pairs.runs.begin(row), self._scene.bounds.polytope(column)
        axis = self._pairs.facing_axis(pair)
        facing = _facing(body, self._travel, other, axis) if axis is not None else None
        if facing is not None:
            fraction, way, place = facing
            return self._contact(pair, float(self._pairs.bound[pair]), fraction, way, place)
        separation = self._pairs.separation(pair)
        if separation.distance > within:
            return None
        towards = other.translated(-separation.distance * separation.axis)
        interval = contact_interval(body, self._travel, towards, deeper_than=-WELD)
        fraction = interval[0] if interval else 0.0
        here = signed_distance(body.translated(fraction * self._travel), other)
        return self._contact(pair, separation.distance, fraction, separation.axis, here.point_b)

    def _meet(self, pair: int, within: float) -> Contact | None:
        """The first moment at which a pair is nearer than `within`, or None if it never is."""
        row, column = int(self._pairs.row[pair]), int(self._pairs.column[pair])
        body, other = self._pairs.runs.begin(row), self._scene.bounds.polytope(column)
        interval = contact_interval(body, self._travel, other, deeper_than=-within)
        if interval is None:
            return None
        here = signed_distance(body.translated(interval[0] * self._travel), other)
        return self._contact(pair, here.distance, interval[0], here.axis, here.point_b)

    def _contact(self, pair: int, distance: float, fraction: float, axis: Floats, on_part: Floats) -> Contact:
        row, column = int(self._pairs.row[pair]), int(self._pairs.column[pair])
        return Contact(
            int(self._scene.owner[column]),
            distance,
            fraction,
            axis,
            on_part - distance * axis,
            on_part,
            row - int(self._pairs.runs.starts[self._run]),
            int(self._scene.original[column]),
        )


def _facing(
    body: Polytope, travel: Floats, other: Polytope, axis: int
) -> tuple[float, Floats, Floats] | None:
    """When two flat faces first look at each other along an axis, if both fill rectangles along the other axes.

    Returns
    -------
    The share of the move done, the direction from body to other (3,), and the middle of what the faces share then,
    on the other (3,) mm.
    """
    across = [k for k in range(3) if k != axis]
    middle = body.vertices[:, axis].min() + body.vertices[:, axis].max() + travel[axis]
    ahead = bool(other.vertices[:, axis].min() + other.vertices[:, axis].max() > middle)
    face, face_there = _flat_face(body, axis, across, ahead), _flat_face(other, axis, across, not ahead)
    if face is None or face_there is None:
        return None
    (low, high), (there_low, there_high) = face, face_there
    direction = np.zeros(3)
    direction[axis] = 1.0 if ahead else -1.0
    fraction = 1.0 if travel @ direction > 0 else 0.0
    for k, along in enumerate(travel[across]):
        if along > 0:
            fraction = max(fraction, float(there_low[k] - high[k]) / along)
        elif along < 0:
            fraction = max(fraction, float(there_high[k] - low[k]) / along)
    moved = fraction * travel[across]
    place = np.empty(3)
    place[across] = (np.maximum(low + moved, there_low) + np.minimum(high + moved, there_high)) / 2
    place[axis] = other.vertices[:, axis].min() if ahead else other.vertices[:, axis].max()
    return float(fraction), direction, place


def _flat_face(body: Polytope, axis: int, across: list[int], high_side: bool) -> tuple[Floats, Floats] | None:
    """Corners (2,) of the flat face that a body shows at one end of an axis, if it is a rectangle along the axes.

    An edge or a vertex is a rectangle without area.
    """
    heights = body.vertices[:, axis]
    end = heights.max() if high_side else heights.min()
    corners = body.vertices[np.abs(heights - end) <= WELD][:, across]
    low, high = corners.min(axis=0), corners.max(axis=0)
    for corner in (low, high, np.array([low[0], high[1]]), np.array([high[0], low[1]])):
        if not (np.abs(corners - corner) <= WELD).all(axis=1).any():
            return None
    return low, high
