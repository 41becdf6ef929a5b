"""Channels that a board goes into, made of boards that are glued up round it: they take it however thick it came out.

 ____    ____     ____
|    |  |side|   |    |      thick end of the sheet's tolerance: the side does not go in where the channel is narrower;
|    |__|____|___|    |      thin end: glue bridges what the shop allows of a fit and what the sheet varies by, no more.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from ..sizes.tolerances import CONTACT
from ..wood.assembly import Assembly
from ..wood.joints import Joint
from ..wood.part import Part
from ..wood.stock import thickness_limits
from .causes import Cause
from .facts import Fact
from .spans import point


@dataclass(frozen=True)
class ChannelOff(Cause):
    """A channel that is too narrow for the thickest board, or wider than glue fills.

    Parameters
    ----------
    board : label of what goes into it
    wide : the channel, mm
    thin, thick : the board at either end of its sheet's tolerance, mm
    """

    board: str
    wide: float
    thin: float
    thick: float


def channel_facts(assembly: Assembly) -> Iterator[Fact]:
    """A warning for each channel that is too narrow, a note for each that is too wide.

    Boards that came out otherwise are judged as they are, by what overlaps or stays open.
    """
    for board in assembly.parts:
        if board.drawn is not None or board.role.slides:
            continue
        around = [joint for joint in assembly.joints if joint.kind == "face" and joint.b == board.label]
        for one, other in _pairs(assembly, board, around):
            gap = sum(joint.gap for joint in around if joint.a in (one.label, other.label))
            limits, wide = thickness_limits(board.stock), board.stock.thickness + gap
            cause = ChannelOff(board.label, wide, limits.low, limits.high)
            low, high = other.box
            where = point((low + high) / 2)
            if limits.high > wide + CONTACT:
                amount = limits.high - wide
                yield Fact("channel-tight", "warning", (other.label, board.label), where, amount, cause)
            elif wide > limits.high + assembly.limits.fit_allowance + CONTACT:
                amount = wide - limits.high
                yield Fact("channel-loose", "note", (other.label, board.label), where, amount, cause)


def _pairs(assembly: Assembly, board: Part, around: Iterable[Joint]) -> Iterator[tuple[Part, Part]]:
    """Boards of another kind on either face of one that are glued up to one unit, those on its front first."""
    normal = board.placement.axes[2]
    middle = float(normal @ np.mean(board.box, axis=0))
    sides: tuple[list[Part], list[Part]] = ([], [])
    for joint in around:
        part = assembly.by_label[joint.a]
        if part.drawn is None and part.role != board.role:
            sides[float(normal @ np.mean(part.box, axis=0)) > middle].append(part)
    for one in sides[0]:
        unit = _unit(assembly, one)
        yield from ((one, other) for other in sides[1] if other.label in unit)


def _unit(assembly: Assembly, part: Part) -> set[str]:
    """Labels of all of a part's kind that are joined to it face to face, by way of others too."""
    found, left = {part.label}, [part.label]
    while left:
        label = left.pop()
        for joint in assembly.joints:
            if joint.kind == "face" and label in (joint.a, joint.b):
                other = joint.b if joint.a == label else joint.a
                if other not in found and assembly.by_label[other].role == part.role:
                    found.add(other)
                    left.append(other)
    return found
