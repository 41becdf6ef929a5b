"""The guided length of a leaf on its way through a row of openings, exactly, as a function of travel.

A push beside the middle turns the leaf until it stands on two lips: a lower one ahead and an upper one behind (nose
low), or the other way round (nose high). What lies between the two along the travel guides it. A pair of lips with
height h between them, a length L apart, lets a leaf of thickness t tilt until (support function of two corners)

    t = h·cos(tilt) - L·sin(tilt)        tilt = arccos(t / sqrt(h² + L²)) - arctan(L / h)

Of all pairs the one that stops the leaf first holds it; among openings of equal height, from far lip to far lip. Where
the nose or the tail is inside an opening, its corner takes the place of a lip, and L grows or shrinks with the travel;
two such pairs change places at most once. So the guided length runs in straight pieces, whose ends are in closed form.

Travel is the x of the leaf's leading end in the row's coordinates: that of whichever corner of it touches.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Final

import numpy as np

from ..model.tolerances import ANGLE, WELD
from .piecewise import Piecewise, Straight, lesser

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import ArrayLike, NDArray

    from .row.profile import Row

    Floats = NDArray[np.float64]
    Ints = NDArray[np.intp]

UNGUIDED: Final = (-1, -1)
"""In place of the openings that hold a leaf, where none does."""


@dataclass(frozen=True)
class Guidance:
    """Guided lengths over travel, mm over mm, from the first mouth to home.

    The tag of each piece names the openings that hold the leaf, by their numbers in the row: that of the lower lip,
    then that of the upper one, or `UNGUIDED`.

    Parameters
    ----------
    nose_low : against a push that turns the nose toward the lower edge, one above the middle
    nose_high : against a push that turns the nose toward the upper edge, one below the middle
    least : the lesser of the two at every travel
    """

    nose_low: Piecewise
    nose_high: Piecewise
    least: Piecewise


def largest_tilt(thickness: ArrayLike, height: ArrayLike, length: ArrayLike) -> Floats:
    """Tilt at which a leaf stands on two diagonal lips, rad; broadcasts.

    Parameters
    ----------
    thickness : of the leaf, mm
    height : between the lips across the travel, mm; where it is less than the thickness, the tilt is negative: the leaf
        has to lean the other way by at least as much
    length : between the lips along the travel, mm
    """
    t, h, b = (np.asarray(value, dtype=float) for value in (thickness, height, length))
    return np.arccos(np.minimum(t / np.hypot(h, b), 1.0)) - np.arctan2(b, h)


def guidance(row: Row) -> Guidance:
    """The guided length of a row's leaf. Lands guide, chamfers do not."""
    cuts = _events(row)
    if len(cuts) < 2:
        nowhere = Piecewise((Straight(row.travel, row.travel, 0.0, 0.0, UNGUIDED),))
        return Guidance(nowhere, nowhere, nowhere)
    low, high = (
        Piecewise.of(
            piece
            for start, stop in pairwise(cuts)
            for piece in _Pairs.of(row, (start + stop) / 2, side).pieces(start, stop)
        )
        for side in (1.0, -1.0)
    )
    return Guidance(low, high, lesser(low, high))


def _lands(row: Row) -> list[tuple[float, float]]:
    """x of the lips of every opening, mm."""
    return [(one.face + one.entry.run, one.end - one.exit.run) for one in row.openings]


def _events(row: Row) -> list[float]:
    """Travels at which the nose or the tail passes a lip, and both ends of the way."""
    events = [row.first]
    for x in sorted(x + past for land in _lands(row) for x in land for past in (row.lead.run, row.length)):
        if events[-1] + WELD < x < row.travel - WELD:
            events.append(x)
    return [*events, row.travel] if row.travel > row.first + WELD else [row.travel]


@dataclass(frozen=True)
class _Place:
    """Where a leaf may touch: at x = at + moves · travel, on an edge at height z."""

    at: float
    moves: float
    z: float
    opening: int


def _places(row: Row, middle: float, side: float) -> Iterator[tuple[bool, _Place]]:
    """(on the lower edge, place): both ends of what each land guides with the nose near `middle`.

    For a leaf that turns its nose high (`side` -1) the picture is turned upside down.
    """
    nose, tail = middle - row.lead.run, middle - row.length
    for number, (opening, (start, stop)) in enumerate(zip(row.openings, _lands(row), strict=True)):
        if nose <= start or tail >= stop:
            continue
        front = (stop, 0.0) if nose >= stop else (-row.lead.run, 1.0)
        rear = (start, 0.0) if tail <= start else (-row.length, 1.0)
        for edge, lower in ((opening.bottom, side > 0), (opening.top, side < 0)):
            if edge is not None:
                yield from ((lower, _Place(*end, side * edge, number)) for end in (front, rear))


@dataclass(frozen=True, eq=False)
class _Pairs:
    """Pairs of a lower place ahead and an upper one behind; (n,) each.

    Attributes
    ----------
    height : between them, mm
    at, grows : their distance along the travel is at + grows · travel, mm; grows is -1, 0 or 1
    lower, upper : numbers of their openings
    """

    thickness: float
    height: Floats
    at: Floats
    grows: Floats
    openings: tuple[tuple[int, int], ...]

    @classmethod
    def of(cls, row: Row, middle: float, side: float) -> _Pairs:
        """Those of a leaf with its nose between two events, near `middle`."""
        places = list(_places(row, middle, side))
        found = [
            (
                upper.z - lower.z,
                lower.at - upper.at,
                lower.moves - upper.moves,
                (lower.opening, upper.opening),
            )
            for is_lower, lower in places
            if is_lower
            for is_other, upper in places
            if not is_other and lower.at - upper.at + (lower.moves - upper.moves) * middle > WELD
        ]
        height, at, grows = np.array([one[:3] for one in found]).reshape(-1, 3).T
        openings = tuple(one[3] if side > 0 else (one[3][1], one[3][0]) for one in found)
        return cls(row.thickness, height, at, grows, openings)

    def pieces(self, start: float, stop: float) -> Iterator[Straight]:
        """The guided length between two events."""
        if not self.openings:
            yield Straight(start, stop, 0.0, 0.0, UNGUIDED)
            return
        for low, high, pair in self._holding(start, stop, self._first(start), self._first(stop)):
            first, last = (max(self._length(pair, travel), 0.0) for travel in (low, high))
            yield Straight(low, high, first, last, self.openings[pair])

    def _length(self, pair: int, travel: float) -> float:
        return float(self.at[pair] + self.grows[pair] * travel)

    def _first(self, travel: float) -> int:
        """The pair that stops the leaf first; of several that do, the one farthest apart."""
        length = np.maximum(self.at + self.grows * travel, 0.0)
        tilt = largest_tilt(self.thickness, self.height, length)
        return int(np.argmax(np.where(tilt <= tilt.min() + ANGLE, length, -1.0)))

    def _holding(
        self, start: float, stop: float, first: int, last: int
    ) -> Iterator[tuple[float, float, int]]:
        """(from, to, pair): two pairs that each hold at one end have one change between them, or others in between."""
        if first == last:
            yield start, stop, last
            return
        change = self._change(first, last, start)
        if change <= start + WELD or change >= stop - WELD:
            yield start, stop, last if change <= start + WELD else first
            return
        between = self._first(change)
        if between in (first, last):
            yield start, change, first
            yield change, stop, last
            return
        yield from self._holding(start, change, first, between)
        yield from self._holding(change, stop, between, last)

    def _change(self, one: int, other: int, otherwise: float) -> float:
        """Travel at which two pairs stop the leaf at the same tilt, mm."""
        heights, at, grows = (values[[one, other]] for values in (self.height, self.at, self.grows))
        if abs(heights[0] - heights[1]) <= WELD:
            # Then the tilts are equal where the lengths are.
            turn = grows[0] - grows[1]
            return float((at[1] - at[0]) / turn) if turn else otherwise
        if grows[0] == grows[1]:
            # h·cos - L·sin is the same for both, and the travel drops out of the difference of their lengths.
            tilt = float(np.arctan((heights[0] - heights[1]) / (at[0] - at[1])))
        elif grows[0] == -grows[1]:
            # The travel drops out of the sum of their lengths.
            tilt = float(largest_tilt(2 * self.thickness, heights.sum(), at.sum()))
        else:
            fixed = int(np.argmin(np.abs(grows)))
            tilt = float(largest_tilt(self.thickness, heights[fixed], at[fixed]))
        moving = int(np.argmax(np.abs(grows)))
        if not grows[moving] or abs(np.sin(tilt)) <= ANGLE:
            return otherwise
        length = (heights[moving] * np.cos(tilt) - self.thickness) / np.sin(tilt)
        return float((length - at[moving]) / grows[moving])
