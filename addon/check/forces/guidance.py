"""The guided length of a leaf on its way through a row of openings, exactly, as a function of travel.

A push beside the middle turns the leaf until it stands on two lips: a lower one ahead and an upper one behind (nose
low), or the other way round (nose high). What lies between the two along the travel guides it. A pair of lips with
height h between them, a length L apart, lets a leaf of thickness t tilt until (support function of two corners)

    t = h·cos(tilt) - L·sin(tilt)        tilt = arccos(t / sqrt(h² + L²)) - arctan(L / h)

Of all pairs the one that stops the leaf first holds it; among openings of equal height, from far lip to far lip. Where
the nose or the tail is inside an opening, its corner takes the place of a lip, and L grows or shrinks with the travel;
two such pairs change places at most once. So the guided length runs in straight pieces (`Piecewise`), with jumps
between them, whose ends are in closed form.

Travel is the x of the leaf's leading end in the row's coordinates: that of whichever corner of it touches.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ...sizes.arrays import Floats, Ints
from ...sizes.tolerances import ANGLE, WELD
from ..row.profile import Row

Interval = tuple[float, float]


@dataclass(frozen=True)
class Straight:
    """One piece: from (start, first) to (stop, last).

    Parameters
    ----------
    start, stop : travel, mm
    first, last : value at either end, approached from inside the piece
    tag : what the value comes from
    """

    start: float
    stop: float
    first: float
    last: float
    tag: tuple[int, ...] = ()

    @property
    def slope(self) -> float:
        """Change of the value over travel; 0 for a piece of no length."""
        return (self.last - self.first) / (self.stop - self.start) if self.stop > self.start else 0.0

    def at(self, travel: float) -> float:
        """Value of the piece's straight line."""
        return self.first + self.slope * (travel - self.start)

    def cut(self, start: float, stop: float) -> Straight:
        """The part between two travels inside it."""
        first = self.first if start == self.start else self.at(start)
        last = self.last if stop == self.stop else self.at(stop)
        return Straight(start, stop, first, last, self.tag)


@dataclass(frozen=True)
class Piecewise:
    """Straight pieces that follow each other without a hole; where two meet at different values, the lesser counts."""

    pieces: tuple[Straight, ...]

    @classmethod
    def of(cls, pieces: Iterable[Straight]) -> Piecewise:
        """Pieces in order of travel, those that run on in one line with the same tag joined."""
        joined: list[Straight] = []
        for piece in pieces:
            last = joined[-1] if joined else None
            if last is None or not _run_on(last, piece):
                joined.append(piece)
            else:
                joined[-1] = Straight(last.start, piece.stop, last.first, piece.last, piece.tag)
        return cls(tuple(joined))

    @property
    def start(self) -> float:
        """Where it begins, mm."""
        return self.pieces[0].start

    @property
    def stop(self) -> float:
        """Where it ends, mm."""
        return self.pieces[-1].stop

    @property
    def breakpoints(self) -> tuple[float, ...]:
        """Where its pieces meet, and both ends, mm."""
        return (self.start, *(piece.stop for piece in self.pieces))

    def at(self, travel: ArrayLike) -> Floats:
        """Values at travels between its ends; broadcasts. Outside, it is NaN."""
        x = np.asarray(travel, dtype=float)
        start, stop, first, slope = (
            np.array([getattr(piece, name) for piece in self.pieces])
            for name in ("start", "stop", "first", "slope")
        )
        inside = (start <= x[..., None]) & (x[..., None] <= stop)
        values = np.where(inside, first + slope * (x[..., None] - start), np.inf).min(axis=-1)
        return np.where(np.isfinite(values), values, np.nan)

    def least(self, start: float | None = None, stop: float | None = None) -> float:
        """Its least value between two travels, by default everywhere."""
        return min(min(one.first, one.last) for one in self.between(start, stop))

    def between(self, start: float | None = None, stop: float | None = None) -> Iterator[Straight]:
        """Its pieces between two travels. At a travel where two meet, both count."""
        low = self.start if start is None else max(start, self.start)
        high = self.stop if stop is None else min(stop, self.stop)
        for piece in self.pieces:
            if piece.start <= high and piece.stop >= low:
                yield piece.cut(max(low, piece.start), min(high, piece.stop))

    def above_from(self, level: float) -> float | None:
        """Travel after which it stays above a level to the end, mm; None where it does not end above it."""
        reached: float | None = None
        for piece in reversed(self.pieces):
            if piece.last <= level:
                break
            if piece.first <= level:
                return _crossing(piece, level)
            reached = piece.start
        return reached

    def within(self, level: float) -> tuple[Interval, ...]:
        """Intervals of travel in which it is more than 0 and at most a level."""
        found: list[Interval] = []
        for piece in self.pieces:
            low, high = min(piece.first, piece.last), max(piece.first, piece.last)
            if low > level or high <= 0.0:
                continue
            ends = [piece.start, piece.stop]
            if high > level:
                ends[0 if piece.first > level else 1] = _crossing(piece, level)
            found.append((ends[0], ends[1]))
        return united(found)


def united(intervals: Iterable[Interval]) -> tuple[Interval, ...]:
    """Intervals in order, those that meet or overlap as one."""
    found: list[Interval] = []
    for start, stop in sorted(intervals):
        if found and start <= found[-1][1] + WELD:
            found[-1] = (found[-1][0], max(stop, found[-1][1]))
        else:
            found.append((start, stop))
    return tuple(found)


def lesser(one: Piecewise, other: Piecewise) -> Piecewise:
    """The lesser of two functions with the same ends, at every travel."""
    if one == other:
        return one
    cuts = sorted({*one.breakpoints, *other.breakpoints})
    found: list[Straight] = []
    for start, stop in pairwise(cuts):
        a, b = (_piece(function, start, stop) for function in (one, other))
        before, after = a.first - b.first, a.last - b.last
        if before * after < 0:
            middle = start + (stop - start) * before / (before - after)
            found += [(a if before < 0 else b).cut(start, middle), (a if after < 0 else b).cut(middle, stop)]
        else:
            found.append(a if before + after <= 0 else b)
    return Piecewise.of(found)


def _piece(function: Piecewise, start: float, stop: float) -> Straight:
    """The one piece that covers a stretch without breakpoints."""
    middle = (start + stop) / 2
    own = next(piece for piece in function.pieces if piece.start <= middle <= piece.stop)
    return own.cut(start, stop)


def _run_on(one: Straight, other: Straight) -> bool:
    """Whether two pieces are one straight line."""
    if one.tag != other.tag or abs(one.last - other.first) > WELD:
        return False
    whole = Straight(one.start, other.stop, one.first, other.last)
    return abs(whole.at(one.stop) - one.last) <= WELD


def _crossing(piece: Straight, level: float) -> float:
    share = (level - piece.first) / (piece.last - piece.first)
    return piece.start + (piece.stop - piece.start) * share


UNGUIDED: Final = (-1, -1)
"""In place of the openings that hold a leaf, where none does."""


@dataclass(frozen=True)
class Guidance:
    """Guided lengths over travel, mm over mm, from the first opening to where it is stowed.

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
    """The guided length of a row's leaf. Lands guide; chamfers, and openings that do not hold, do not."""
    cuts = _events(row)
    if len(cuts) < 2:
        nowhere = Piecewise((Straight(row.travel, row.travel, 0.0, 0.0, UNGUIDED),))
        return Guidance(nowhere, nowhere, nowhere)
    places = _Places.of(row, np.array(cuts))
    low, high = (Piecewise.of(_Pairs.of(places, row.thickness, side).pieces()) for side in (1, -1))
    return Guidance(low, high, lesser(low, high))


def _lands(row: Row) -> Floats:
    """(n, 2) float, mm: x of the lips of every opening."""
    return np.array([(one.face + one.entry.run, one.end - one.exit.run) for one in row.openings])


def _events(row: Row) -> list[float]:
    """Travels at which the nose or the tail passes a lip, and both ends of the way."""
    events = [row.first]
    for x in np.sort(np.add.outer(_lands(row), (row.lead.run, row.length)), axis=None).tolist():
        if events[-1] + WELD < x < row.travel - WELD:
            events.append(x)
    return [*events, row.travel] if row.travel > row.first + WELD else [row.travel]


@dataclass(frozen=True, eq=False)
class _Places:
    """Where a leaf may touch between two events each: both ends of what each land guides, front ends first.

    Attributes
    ----------
    start, stop : (m,) float, mm; the events
    at, moves : (m, 2n) float; x is at + moves · travel, mm
    guides : (m, 2n) bool; whether the leaf is in that opening
    low, high : (2n,) float, mm; edges there, NaN where there is no wood
    """

    start: Floats
    stop: Floats
    at: Floats
    moves: Floats
    guides: NDArray[np.bool_]
    low: Floats
    high: Floats

    @classmethod
    def of(cls, row: Row, events: Floats) -> _Places:
        """Those of a row between its events."""
        first, last = _lands(row).T
        middle = ((events[1:] + events[:-1]) / 2)[:, None]
        nose, tail = middle - row.lead.run, middle - row.length
        past, within = nose >= last, tail <= first
        at = np.concatenate(
            [np.where(past, last, -row.lead.run), np.where(within, first, -row.length)], axis=1
        )
        inside = (nose > first) & (tail < last) & np.array([one.holds for one in row.openings])
        low, high = (
            np.array([np.nan if edge is None else edge for edge in edges] * 2)
            for edges in zip(*((one.sill, one.head) for one in row.openings), strict=True)
        )
        moves = 1.0 - np.concatenate([past, within], axis=1)
        return cls(events[:-1], events[1:], at, moves, np.tile(inside, 2), low, high)


@dataclass(frozen=True, eq=False)
class _Pairs:
    """Pairs of a lower and an upper place, one of them ahead of the other, between two events each.

    Attributes
    ----------
    start, stop : (m,) float, mm; the events
    height : (p,) float, mm; between the two
    at, grows : (m, p) float; their distance along the travel is at + grows · travel, mm; grows is -1, 0 or 1
    hold : (m, p) bool; whether the right one is ahead and the leaf over both
    openings : (p, 2) int; their numbers
    """

    thickness: float
    start: Floats
    stop: Floats
    height: Floats
    at: Floats
    grows: Floats
    hold: NDArray[np.bool_]
    openings: Ints

    @classmethod
    def of(cls, places: _Places, thickness: float, side: int) -> _Pairs:
        """Those that hold a leaf whose nose turns low (side 1: the lower place is ahead) or high (-1)."""
        count, number = len(places.start), len(places.low)
        at, grows = (
            (side * (x[:, :, None] - x[:, None, :])).reshape(count, -1) for x in (places.at, places.moves)
        )
        height = (places.high - places.low[:, None]).ravel()
        guides = (places.guides[:, :, None] & places.guides[:, None, :]).reshape(count, -1)
        middle = ((places.start + places.stop) / 2)[:, None]
        hold = guides & np.isfinite(height) & (at + grows * middle > WELD)
        openings = np.indices((number, number)).reshape(2, -1).T % (number // 2)
        height = np.where(np.isfinite(height), height, 1.0)
        return cls(thickness, places.start, places.stop, height, at, grows, hold, openings)

    def pieces(self) -> Iterator[Straight]:
        """The guided length from the first event to the last."""
        some = np.any(self.hold, axis=1).tolist()
        every = np.arange(len(self.start))
        firsts, lasts = (self._first(every, travel).tolist() for travel in (self.start, self.stop))
        for k, (start, stop) in enumerate(zip(self.start.tolist(), self.stop.tolist(), strict=True)):
            if not some[k]:
                yield Straight(start, stop, 0.0, 0.0, UNGUIDED)
                continue
            for low, high, pair in self._holding(k, start, stop, firsts[k], lasts[k]):
                ends = (float(self.at[k, pair] + self.grows[k, pair] * travel) for travel in (low, high))
                first, last = (max(length, 0.0) for length in ends)
                lower, upper = self.openings[pair].tolist()
                yield Straight(low, high, first, last, (lower, upper))

    def _first(self, k: Ints, travel: Floats) -> Ints:
        """(j,) int: the pair that stops the leaf first between events k at a travel, (j,) each; of several that do, the
        one farthest apart."""
        length = np.maximum(self.at[k] + self.grows[k] * travel[:, None], 0.0)
        tilt = np.where(self.hold[k], largest_tilt(self.thickness, self.height, length), np.inf)
        soonest = np.less_equal(tilt, tilt.min(axis=1, keepdims=True) + ANGLE)
        return np.argmax(np.where(soonest, length, -1.0), axis=1)

    def _holding(
        self, k: int, start: float, stop: float, first: int, last: int
    ) -> Iterator[tuple[float, float, int]]:
        """(from, to, pair): two pairs that each hold at one end have one change between them, or others in between."""
        if first == last:
            yield start, stop, last
            return
        change = self._change(k, first, last, start)
        if change <= start + WELD or change >= stop - WELD:
            yield start, stop, last if change <= start + WELD else first
            return
        between = int(self._first(np.array([k]), np.array([change]))[0])
        if between in (first, last):
            yield start, change, first
            yield change, stop, last
            return
        yield from self._holding(k, start, change, first, between)
        yield from self._holding(k, change, stop, between, last)

    def _change(self, k: int, one: int, other: int, otherwise: float) -> float:
        """Travel at which two pairs stop the leaf at the same tilt, mm."""
        heights, at, grows = (values[[one, other]] for values in (self.height, self.at[k], self.grows[k]))
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
