"""Stow positions where the file gives none: through which side each leaf goes in, on which tier, and where."""

from __future__ import annotations

from .lanes import Size, along_and_across
from .parameters import Stow, Table
from .refusals import BETWEEN_CHAMFERS, refuse

SIDES = {1: ("front", "back"), 0: ("right", "left")}
"""Sides by the axis that leaves travel along through them, in the order in which they are filled."""

BEFORE_OUTER = 0.4
"""Room between a side and the outer one of the lanes along it that lets leaves find the window beyond that lane, as a
share of its width (tried: with 0.2 and sheets that vary one in four misses it)."""

BEFORE_LONE = 0.5
"""The same where one leaf alone crosses, and the lanes can make way for it."""

PLAY = 0.1
"""More than the least room between two lanes, so that numbers that are rounded build too, mm."""

LEAST_BESIDE = 25.0
"""Least wood between such a lane and the rib beside it, mm (tried: with 16 the segments have too little glue)."""


def automatic_stow(table: Table, inner: tuple[float, float], size: Size, rib: float) -> tuple[Stow, ...]:
    """As many leaves through the long sides as through the short ones where both have room, spread over each side.

    Parameters
    ----------
    inner : half the inner length and width, mm
    size : length, width and thickness of a leaf, mm
    rib : thickness of a rib, mm

    Raises
    ------
    ParameterError
        Where there is no room for all of them.
    """
    capacity = [_capacity(table, axis, inner, size, rib) for axis in (0, 1)]
    if sum(capacity) < table.leaves.count:
        reason = f"below the table is room for {sum(capacity)} of this size"
        refuse(table, "leaves.count", str(table.leaves.count), "another number", reason)
    numbers = _share_out(table.leaves.count, capacity)
    stows = []
    for axis in (1, 0):
        tier = "upper" if axis == 1 or not numbers[1] else "lower"
        for index, place in enumerate(_places(table, axis, numbers, inner, size, rib)):
            stows.append(Stow(side=SIDES[axis][index % 2], tier=tier, offset=place))
    return tuple(stows)


def _places(
    table: Table, axis: int, numbers: tuple[int, int], inner: tuple[float, float], size: Size, rib: float
) -> list[float]:
    """Offsets of the lanes along an axis, in the order in which leaves take them, mm.

    Close together they leave the ribs beside the outer ones far from the sides: a leaf that crosses below them is
    held by slot and first rib over a third of its next bay, and finds the window at the bay's end, whatever the hand
    does.
    A leaf that crosses alone gets some of the room on the other side, too.
    """
    number = numbers[axis]
    farthest = _farthest(table, axis, inner, size, rib)
    most = 2 * farthest / (number - 1) if number > 1 else 0.0
    sign = 1 if axis == 1 else -1
    if table.stowing.spread == "wide":
        return [sign * most * (index - (number - 1) / 2) for index in range(number)]
    lane = _lane_width(table, axis, inner, size)
    wall = inner[1 - axis]
    step = min(lane + _beside(table, axis, number, lane, wall, rib), most)
    outermost = step * (number - 1) / 2
    aside = 0.0
    if axis == 1 and numbers[0] == 1 and number > 1:
        aside = min(max(BEFORE_LONE * lane - (wall - outermost - lane / 2), 0.0), farthest - outermost)
    return [sign * (step * index - outermost) - aside for index in range(number)]


def _beside(table: Table, axis: int, number: int, lane: float, wall: float, rib: float) -> float:
    """Room between two of a number of lanes that lie close, mm.

    Between leaves through the short sides one row of segments guides both. Between those through the long sides stands
    a through rib, as far from both as it may and leaves room before the outer ones: at least so far that the segments
    keep wood beside their windows.
    """
    ribs = table.ribs
    if axis == 0:
        chamfer = max(table.sides.slot_chamfer, ribs.window_chamfer)
        return max(rib + 2 * ribs.stand_off, 2 * chamfer + BETWEEN_CHAMFERS) + PLAY
    least = rib + 2 * max(LEAST_BESIDE, ribs.least_wood_beside_window + ribs.window_chamfer)
    left = 2 * (wall - BEFORE_OUTER * lane) - number * lane
    return max(least, min(rib + 2 * ribs.wood_beside_window, left / max(number - 1, 1)))


def _share_out(count: int, capacity: list[int]) -> tuple[int, int]:
    """Leaves that travel along x and along y. Up to two go through the long sides, more are shared evenly."""
    wanted = count if count <= 2 else (count + 1) // 2
    through_long = min(wanted, capacity[1])
    through_short = min(count - through_long, capacity[0])
    return through_short, count - through_short


def _farthest(table: Table, axis: int, inner: tuple[float, float], size: Size, rib: float) -> float:
    """How far from the middle of a side the outermost lane may lie: clear of legs and of a rib beside it, mm."""
    _, lateral = along_and_across(table, axis, inner, size) or (0.0, size[0])
    legs = table.legs.width if table.legs.fitted else 0.0
    taken = max(legs, table.ribs.least_wood_beside_window + table.sides.slot_chamfer) + rib
    return inner[1 - axis] - taken - lateral / 2 - table.stowing.side_clearance


def _lane_width(table: Table, axis: int, inner: tuple[float, float], size: Size) -> float:
    """Of a leaf and its room on either side, mm."""
    _, lateral = along_and_across(table, axis, inner, size) or (0.0, size[0])
    return lateral + 2 * table.stowing.side_clearance


def _capacity(table: Table, axis: int, inner: tuple[float, float], size: Size, rib: float) -> int:
    """How many lanes fit side by side along an axis, with a rib between each two."""
    farthest = _farthest(table, axis, inner, size, rib)
    if along_and_across(table, axis, inner, size) is None or farthest < 0:
        return 0
    chamfer = max(table.sides.slot_chamfer, table.ribs.window_chamfer)
    lane = _lane_width(table, axis, inner, size) + max(rib, 2 * chamfer + BETWEEN_CHAMFERS)
    return 1 + int(2 * farthest / lane + 1e-9)
