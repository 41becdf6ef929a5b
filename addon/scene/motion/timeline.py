"""When each leaf is where during the stow animation: frames from travel and back (no bpy here).

A leaf waits on the cover, is lifted and carried before its slot, and slides home along its stow path. Every stretch
starts and ends at rest: position over time is 3s² - 2s³, which is a Bezier curve whose handles lie level at a third
of the stretch, so Blender's keyframes reproduce it exactly.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from math import asin, ceil, floor, sin
from typing import Final, Literal

from ...check.facts import LeafResult
from ...sizes.tolerances import CONTACT
from ...wood.assembly import Assembly, Move, StowPath

Order = Literal["in turn", "together"]

FRAME_RATE: Final = 24
FIRST: Final = 1
"""First frame of the animation."""
WAIT: Final = 4
"""Frames before the first leaf moves, and after a leaf has come home."""
CARRY: Final = 16
"""Frames from the cover to before the slot."""
SLIDE: Final = 22
"""Frames from before the slot to home."""
PAUSE: Final = 24
"""Frames for which a leaf waits where there is something to look at."""


def ease(share: float) -> float:
    """Share of the way after a share of the time."""
    return share * share * (3.0 - 2.0 * share)


def unease(way: float) -> float:
    """Share of the time after a share of the way: the inverse of `ease` on 0 … 1, in closed form."""
    return 0.5 - sin(asin(1.0 - 2.0 * min(max(way, 0.0), 1.0)) / 3.0)


@dataclass(frozen=True, eq=False)
class LeafTime:
    """The frames of one leaf."""

    path: StowPath
    leaves_cover: int
    """Last frame on the cover."""
    at_slot: int
    """Frame before the slot, where the stow path starts."""
    move_ends: tuple[int, ...]
    """Frame at the end of each move of the stow path."""

    @property
    def home(self) -> int:
        """Frame at which it has come home."""
        return self.move_ends[-1]

    @cached_property
    def _stretches(self) -> tuple[tuple[int, int, float, float], ...]:
        """Per move: first and last frame, distance at its start, its length, mm."""
        found, frame, distance = [], self.at_slot, 0.0
        for move, end in zip(self.path.moves, self.move_ends, strict=True):
            found.append((frame, end, distance, move.length))
            frame, distance = end, distance + move.length
        return tuple(found)

    @cached_property
    def pauses(self) -> tuple[tuple[int, int, float], ...]:
        """First and last frame and travel, mm, of each pause on the way."""
        return tuple(
            (start, end, distance - self.path.zero)
            for start, end, distance, length in self._stretches
            if length == 0
        )

    def travel_at(self, frame: float) -> float | None:
        """Travel at a frame, mm; None before the leaf has been brought to its slot."""
        if frame < self.at_slot:
            return None
        for start, end, distance, length in self._stretches:
            if frame <= end:
                return distance + length * ease((frame - start) / (end - start)) - self.path.zero
        return self.path.length - self.path.zero

    def frame_at(self, travel: float) -> float:
        """Frame at which the leaf has this travel, mm; travels beyond the stow path give its ends."""
        rest = travel + self.path.zero
        for start, end, distance, length in self._stretches:
            if rest <= distance + length:
                return start + (end - start) * unease((rest - distance) / length)
        return float(self.home)

    def frames_between(self, travel: float, until: float) -> tuple[int, int]:
        """Whole frames of a range of travel, widened to at least one frame."""
        first, last = self.frame_at(travel), self.frame_at(until)
        return floor(first + 1e-6), max(ceil(last - 1e-6), floor(first + 1e-6))


@dataclass(frozen=True, eq=False)
class Timeline:
    """The frames of all leaves of a table."""

    leaves: dict[str, LeafTime]
    first: int
    last: int

    def frame_of(self, leaf: str, travel: float | None) -> float | None:
        """Frame of a leaf's travel (home without one); None for a leaf that has no stow path."""
        time = self.leaves.get(leaf)
        if time is None:
            return None
        return float(time.home) if travel is None else time.frame_at(travel)


def plan(
    assembly: Assembly, order: Order, pauses: Mapping[str, Sequence[float]] | None = None
) -> Timeline:  # fmt: skip
    """The stow animation of a table: one frame range per leaf in turn, or all leaves at once.

    Parameters
    ----------
    pauses : leaf → travels at which it waits, mm
    """
    frame = FIRST + WAIT
    leaves: dict[str, LeafTime] = {}
    for way in assembly.stow_paths:
        path = _with_pauses(way, (pauses or {}).get(way.leaf, ()))
        at_slot = frame + CARRY
        leaves[path.leaf] = LeafTime(path, frame, at_slot, _move_ends(path, at_slot))
        if order == "in turn":
            frame = leaves[path.leaf].home + WAIT
    last = max((time.home for time in leaves.values()), default=FIRST) + 2 * WAIT
    return Timeline(leaves, FIRST, last)


def _with_pauses(path: StowPath, travels: Sequence[float]) -> StowPath:
    """A stow path whose moves are cut where the leaf waits, with a move of no length there."""
    if not travels:
        return path
    stops = [
        min(travel + path.zero, path.length) for travel in sorted(travels) if travel + path.zero > CONTACT
    ]
    moves: list[Move] = []
    done = 0.0
    for number, move in enumerate(path.moves):
        end = done + move.length
        last = number == len(path.moves) - 1
        own = [stop for stop in stops if done <= stop < end or (last and stop == end)]
        at = move.start
        for stop in own:
            place = move.start + move.vector * ((stop - done) / move.length)
            cut = Move(at, place)
            moves += [cut] if cut.length > CONTACT else []
            moves.append(Move(place, place))
            at = place
        rest = Move(at, move.end)
        moves += [rest] if rest.length > CONTACT else []
        done = end
    return replace(path, moves=tuple(moves))


def _move_ends(path: StowPath, frame: int) -> tuple[int, ...]:
    """Frames at which the moves end: each has its share of `SLIDE`, at least two frames, a pause `PAUSE`.

    Where there are pauses, a move between them takes a quarter of `SLIDE` or more: it begins and ends at rest.
    """
    least = SLIDE // 4 if any(move.length == 0 for move in path.moves) else 2
    ends: list[int] = []
    for move in path.moves:
        frame += max(least, round(SLIDE * move.length / path.length)) if move.length else PAUSE
        ends.append(frame)
    return tuple(ends)


@dataclass(frozen=True)
class Mark:
    """Something to point at while a leaf slides."""

    leaf: str
    other: str
    """Label of the part it meets or comes near to."""
    word: Literal["overlap", "tight"]
    frames: tuple[int, int]
    """First and last frame at which it is shown."""
    at: tuple[float, float, float]
    """Place in table coordinates, mm."""
    amount: float
    """Overlap, or room that is left, mm."""

    @property
    def marker(self) -> str:
        """Name of the marker in the timeline."""
        return f"{self.leaf} {'overlaps' if self.word == 'overlap' else 'tight at'} {self.other}"


def marks(timeline: Timeline, results: tuple[LeafResult, ...]) -> list[Mark]:
    """Overlaps and tight places of the leaves that have any.

    An overlap is shown as long as it lasts, and from then on if the leaf is stowed in it; a tight place from a little
    before the leaf gets there until it is home.
    """
    found = []
    for result in results:
        time = timeline.leaves.get(result.leaf)
        if time is None or result.verdict == "clear":
            continue
        if result.verdict == "blocked" and result.contact is not None:
            first, last = time.frames_between(*result.contact)
            last = timeline.last if last >= time.home else last
            found.append(_mark(result, "overlap", (first, last)))
        elif result.verdict == "tight":
            first = floor(time.frame_at(result.travel))
            found.append(_mark(result, "tight", (max(first - 4, time.at_slot), time.home + WAIT)))
    return found


def _mark(result: LeafResult, word: Literal["overlap", "tight"], frames: tuple[int, int]) -> Mark:
    return Mark(result.leaf, result.against, word, frames, result.at, abs(result.clearance))
