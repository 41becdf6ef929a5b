"""Functions of travel in straight pieces, with jumps between them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike

from ...sizes.arrays import Floats
from ...sizes.tolerances import WELD

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
