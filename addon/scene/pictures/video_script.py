"""What the video shows at each of its frames, in words and numbers (no bpy here)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from ...check.facts import LeafResult
from ...check.prepared import Prepared
from ...check.running import Running, running_clearances
from ...check.slide.proof import LeafProof, Snag, snag_of
from ...designs.table.parameters import Table
from ...designs.words.slide import snag_lines
from ...paper.close_up import clearance_text, travel_text
from ...sizes.tolerances import CONTACT
from ...sizes.units import format_size
from ..motion import timeline

Kind = Literal["cover", "carry", "slide", "tightest", "snag", "stowed"]

STEP: Final = 2
"""The video shows every second frame, at half the rate: half the time to make, the same time to watch."""


@dataclass(frozen=True, eq=False)
class Moment:
    """One frame of the video.

    Parameters
    ----------
    words : what goes on
    travel, clearance : in words; empty where no leaf is on its way
    pose : how near the leaf is to what; None where no leaf is on its way
    snag : the pose that is shown beside it
    answers : whether the three lines of the table are shown
    """

    frame: int
    kind: Kind
    words: str
    travel: str = ""
    clearance: str = ""
    pose: Running | None = None
    snag: Snag | None = None
    answers: bool = False


@dataclass(frozen=True, eq=False)
class Pause:
    """Where the video waits: at a leaf's tightest place, or where it needs steering."""

    leaf: str
    travel: float
    snag: Snag | None
    frames: tuple[int, int]


@dataclass(frozen=True, eq=False)
class Script:
    """The whole video."""

    line: timeline.Timeline
    waits: dict[str, list[float]]
    """Leaf → travels at which it waits, mm, as `timeline.plan` takes them."""
    pauses: tuple[Pause, ...]
    moments: tuple[Moment, ...]


def script_of(
    table: Table, prepared: Prepared, results: Sequence[LeafResult], proofs: Sequence[LeafProof]
) -> Script:
    """The video of a table's leaves: one by one, each waiting at its tightest place and where it needs steering.

    Clearances are those to all that is there in the video: leaves still on the cover are not in their slots.
    """
    snags = {proof.leaf: snag_of(proof) for proof in proofs}
    stops = {result.leaf: _stops(prepared, result, snags.get(result.leaf)) for result in results}
    waits = {leaf: [travel for travel, _ in own] for leaf, own in stops.items()}
    line = timeline.plan(prepared.assembly, "in turn", waits)
    pauses = [
        Pause(leaf, travel, snag, (start, end))
        for leaf, own in stops.items()
        for (start, end, travel), (_, snag) in zip(line.leaves[leaf].pauses, own, strict=True)
    ]
    return Script(line, waits, tuple(pauses), tuple(_moments(table, prepared, line, pauses)))


def _stops(prepared: Prepared, result: LeafResult, snag: Snag | None) -> list[tuple[float, Snag | None]]:
    path = prepared.assembly.path_of(result.leaf)
    found: list[tuple[float, Snag | None]] = [(result.travel, None)]
    if snag is not None:
        found.append((min(snag.pose.travel, path.length - path.zero), snag))
    return sorted(found, key=lambda stop: stop[0])


def _moments(
    table: Table, prepared: Prepared, line: timeline.Timeline, pauses: Sequence[Pause]
) -> list[Moment]:
    frames = range(line.first, line.last + 1, STEP)
    moving = {frame: _mover(line, frame) for frame in frames}
    travels: dict[str, list[float]] = {leaf: [] for leaf in line.leaves}
    for leaf, travel in moving.values():
        if leaf and travel is not None:
            travels[leaf].append(travel)
    order = list(line.leaves)
    absent = {leaf: order[order.index(leaf) + 1 :] for leaf in order}
    poses = {leaf: iter(own) for leaf, own in running_clearances(prepared, travels, absent).items()}
    found = []
    for frame, (leaf, travel) in moving.items():
        if not leaf:
            found.append(Moment(frame, "cover", _covered(table, len(order)), answers=True))
        elif travel is None:
            slot = line.leaves[leaf].path.side
            found.append(Moment(frame, "carry", f"{leaf} goes to its slot in {slot}"))
        else:
            pause = next(
                (one for one in pauses if one.leaf == leaf and one.frames[0] <= frame <= one.frames[1]), None
            )
            found.append(_on_its_way(table, line, frame, next(poses[leaf]), pause))
    return found


def _mover(line: timeline.Timeline, frame: int) -> tuple[str, float | None]:
    """The leaf whose turn it is at a frame, "" before the first one's, and its travel, mm."""
    begun = [leaf for leaf, time in line.leaves.items() if time.leaves_cover <= frame]
    return (begun[-1], line.leaves[begun[-1]].travel_at(frame)) if begun else ("", None)


def _covered(table: Table, count: int) -> str:
    size = " x ".join(format_size(value, table.units) for value in (table.table.length, table.table.width))
    return f"{count} leaves cover the well, {size}"


def _on_its_way(
    table: Table, line: timeline.Timeline, frame: int, pose: Running, pause: Pause | None
) -> Moment:  # fmt: skip
    time = line.leaves[pose.leaf]
    travel, clearance = travel_text(pose.travel, table.units), clearance_text(pose, table.units)
    if pause is not None and pause.snag is not None:
        words = ", ".join(snag_lines(pause.snag, table.units))
        return Moment(frame, "snag", words, travel, clearance, pose, pause.snag)
    if pause is not None:
        words = "collides" if pose.clearance < -CONTACT else "at its tightest"
        return Moment(frame, "tightest", f"{pose.leaf} {words}", travel, clearance, pose)
    if frame >= time.home:
        every = frame > max(one.home for one in line.leaves.values()) + timeline.WAIT
        words = "All leaves stowed" if every else f"{pose.leaf} stowed"
        return Moment(frame, "stowed", words, travel, clearance, pose, answers=every)
    return Moment(frame, "slide", f"{pose.leaf} through {time.path.side}", travel, clearance, pose)
