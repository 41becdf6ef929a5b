"""Where parts stand, and how long those are that fit between others, once sizes are rounded.

    S3 |==R5==|R1|====R6====|R2|==R7==|R3|====R8====|R4|==R9==| S4        seen from above

Along a row, lengths are rounded from either side toward the middle, and the ribs between them stand where these put
them; what fits between a rib that is placed from one side and one that is placed from the other is cut to fit, and so
is every strip, stop and ledger between two boards. Sides stand where the ends of the sides that run between them are.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import numpy as np

from ..sizes.tolerances import CONTACT
from ..wood.assembly import Assembly
from ..wood.part import Part
from ..wood.roles import SIDE
from ..wood.seating import as_drawn, groove_box, groove_of, groove_that_holds, table_face
from .standing import Between, Fitting, runs_along, size_along

UP = 2


def fit_together(fitting: Fitting) -> None:
    """Puts all parts in their places and cuts to length what fits between others."""
    _set_sides(fitting)
    fitting.settle()
    _set_panel(fitting)
    fitting.settle()
    for axis in (0, 1):
        _set_ribs(fitting, axis)
        fitting.settle()
    for axis in (0, 1):
        _fit_between(fitting, axis)
        fitting.settle()
    _set_heights(fitting)
    fitting.settle()
    _set_legs(fitting)
    fitting.settle()


# -- sides and bottom panel
# ------------------------------------------------------------------------------------------------------------


def _set_sides(fitting: Fitting) -> None:
    """Each side keeps its middle along its length; across, it goes with the ends of the sides that run that way."""
    sides = fitting.drawn.with_role(SIDE.word)
    for side in sides:
        for axis in (0, 1):
            low, high = fitting.drawn_box(side.label)
            size = size_along(fitting.parts[side.label], axis)
            if runs_along(side, axis):
                fitting.targets[side.label, axis] = float(low[axis] + high[axis] - size) / 2
                continue
            for other in sides:
                if runs_along(other, axis):
                    grown = (size_along(fitting.parts[other.label], axis) - size_along(other, axis)) / 2
                    ends = (float(fitting.drawn_box(other.label)[k][axis]) for k in (0, 1))
                    meets = [
                        sign
                        for sign, end in zip((-1, 1), ends, strict=True)
                        if min(abs(end - float(low[axis])), abs(end - float(high[axis]))) <= CONTACT
                    ]
                    if meets:
                        fitting.targets[side.label, axis] = float(low[axis]) + meets[0] * grown
                        break


def _set_panel(fitting: Fitting) -> None:
    """What heights count from lies in the middle of its room.

    It is no larger than drawn where it then still reaches far enough into its grooves, pushed to either side; else it
    reaches no less far than drawn, where half its play is left so.
    """
    for panel in fitting.drawn.parts:
        if panel.role.height != "datum":
            continue
        for axis in (0, 1):
            walls = _walls(fitting, axis)
            if walls is not None and (panel.label, axis) not in fitting.fixed:
                fitting.lengthen(panel.label, axis, _panel_size(fitting, panel, walls, axis))
            low, high = panel.box
            size = size_along(fitting.parts[panel.label], axis)
            fitting.targets[panel.label, axis] = float(low[axis] + high[axis] - size) / 2


def _panel_size(fitting: Fitting, panel: Part, walls: tuple[str, str], axis: int) -> float:
    """Of a panel between two sides, mm."""
    size = size_along(panel, axis)
    rule = fitting.rule.of(panel, "length" if runs_along(panel, axis) else "width")
    drawn, new = (_grooves(assembly, panel, walls, axis) for assembly in (fitting.drawn, fitting.now))
    if drawn is None or new is None:
        return rule.rounded(size, "down")
    (room, depth), (new_room, new_depth) = drawn, new
    play, smaller = room - size, min(rule.rounded(size, "down"), rule.rounded(new_room, "down"))
    # Pushed to the bottom of one groove, it reaches its size less that groove's depth and the room between the sides.
    reach, planned = smaller + new_depth - new_room, size + depth - room
    if reach >= min(fitting.drawn.limits.bearing, planned):
        return smaller
    wanted = planned - new_depth + new_room
    return min(rule.rounded(wanted, "up"), rule.rounded(new_room - play / 2, "down"))


def _grooves(
    assembly: Assembly, panel: Part, walls: tuple[str, str], axis: int
) -> tuple[float, float] | None:
    """From the bottom of the groove in one side that holds a panel to that in the side across, and their depth, mm."""
    found = []
    for label, side in zip(walls, (0, 1), strict=True):
        wall = assembly.by_label[label]
        number = groove_that_holds(as_drawn(wall), panel)
        if number is None:
            return None
        groove = groove_of(wall, number)
        found.append((float(groove_box(wall, groove)[side][axis]), groove.depth))
    return found[1][0] - found[0][0], max(depth for _, depth in found)


# -- ribs
# ------------------------------------------------------------------------------------------------------------


def _set_ribs(fitting: Fitting, axis: int) -> None:
    """Ribs across an axis, placed by the segments between them, from either side toward the middle."""
    below, above = fitting.touching.along(axis)
    ribs = [part for part in fitting.drawn.parts if part.role.height == "edge"]
    across = [part for part in ribs if not runs_along(part, axis)]
    walls = _walls(fitting, axis)
    if walls is None:
        return
    middle = sum(float(fitting.drawn_box(label)[1 - side][axis]) for side, label in enumerate(walls)) / 2
    for upward in (True, False):
        beyond = below if upward else above
        half = [part for part in across if (middle - _middle(part, axis)) * (1 if upward else -1) > CONTACT]
        for rib in sorted(half, key=lambda one: _middle(one, axis), reverse=not upward):
            at = _placed_by_segment(fitting, axis, rib, beyond, upward=upward)
            if at is None:
                at = _placed_by_rule(fitting, axis, rib, walls[0 if upward else 1], upward=upward)
            fitting.targets[rib.label, axis] = at
            fitting.settle()


def _walls(fitting: Fitting, axis: int) -> tuple[str, str] | None:
    """Labels of the sides across an axis."""
    sides = [part for part in fitting.drawn.with_role(SIDE.word) if not runs_along(part, axis)]
    sides.sort(key=lambda part: _middle(part, axis))
    return (sides[0].label, sides[-1].label) if len(sides) > 1 else None


def _middle(part: Part, axis: int) -> float:
    low, high = part.box
    return float(low[axis] + high[axis]) / 2


def _placed_by_segment(
    fitting: Fitting,
    axis: int,
    rib: Part,
    beyond: dict[str, list[str]],
    *,
    upward: bool,
) -> float | None:
    """Where the low side of a rib is by the segment between it and what stands before it, mm; None without one.

    Parameters
    ----------
    beyond : what each part touches away from the middle
    """
    segments = [
        (segment, before)
        for segment in beyond.get(rib.label, [])
        if fitting.drawn.by_label[segment].role.height == "edge"
        and runs_along(fitting.drawn.by_label[segment], axis)
        for before in beyond.get(segment, [])
    ]
    if not segments:
        return None
    # A leg stands nearer than the side that it stands against: the longer of two rows decides.
    segment, before = max(segments, key=lambda one: size_along(fitting.drawn.by_label[one[0]], axis))
    drawn, face = size_along(fitting.drawn.by_label[segment], axis), 1 if upward else 0
    start = float(fitting.box(before)[face][axis])
    thick = size_along(fitting.parts[rib.label], axis)
    sign = 1.0 if upward else -1.0
    wanted = float(fitting.drawn_box(rib.label)[1 - face][axis])
    key = round(drawn, 6)
    if (segment, axis) in fitting.fixed:
        length = size_along(fitting.parts[segment], axis)
    elif key in fitting.lengths:
        length = fitting.lengths[key]
    else:
        rule = fitting.rule.of(fitting.drawn.by_label[segment], "length")
        choices = {rule.rounded(drawn, rounding) for rounding in ("down", "up")}
        length = fitting.lengths[key] = min(
            choices,
            key=lambda one: (round(abs(start + sign * one - wanted), 9), abs(one - drawn)),
        )
    at = start + sign * length
    return at if upward else at - thick


def _placed_by_rule(fitting: Fitting, axis: int, rib: Part, wall: str, *, upward: bool) -> float:
    """Where the low side of a rib is that is set to a line at a rounded distance from the side, mm."""
    face = 1 if upward else 0
    drawn = abs(float(fitting.drawn_box(rib.label)[1 - face][axis] - fitting.drawn_box(wall)[face][axis]))
    away = fitting.rule.rounded(drawn)
    at = float(fitting.box(wall)[face][axis])
    return at + away if upward else at - away - size_along(fitting.parts[rib.label], axis)


# -- what fits between others
# ------------------------------------------------------------------------------------------------------------


def _fit_between(fitting: Fitting, axis: int) -> None:
    """All but sides, ribs that stand across, and what is glued flat onto others: moved and cut to what it touches."""
    below, above = fitting.touching.along(axis)
    carried = set(_carried(fitting, axis))
    allowance = fitting.drawn.limits.fit_allowance / _most_in_a_row(fitting, axis, below)
    waiting: set[str] = set()
    order = [part for part in fitting.drawn.parts if part.role.height == "edge"]
    order += [part for part in fitting.drawn.parts if part.role.height == "line"]
    for part in order:
        label = part.label
        across_rib = part.role.height == "edge" and not runs_along(part, axis)
        if part.role.slides or part.role.rests or across_rib or label in carried:
            continue
        low, high = _nearest(fitting, below.get(label, [])), _nearest(fitting, above.get(label, []))
        if {low, high} & waiting:
            fitting.settle()
            waiting.clear()
        if low and high:
            _cut_to_fit(fitting, axis, Between(label, low, high), allowance)
        elif low:
            fitting.targets[label, axis] = float(fitting.box(low)[1][axis])
        elif high:
            size = size_along(fitting.parts[label], axis)
            fitting.targets[label, axis] = float(fitting.box(high)[0][axis]) - size
        waiting.add(label)


def _nearest(fitting: Fitting, labels: list[str]) -> str:
    """What a part keeps to of all that it touches at one side: what is glued up first."""
    parts = [fitting.drawn.by_label[label] for label in labels]
    standing = [part for part in parts if part.role.height != "datum"]
    return min(standing, key=lambda part: part.role.stage).label if standing else ""


def _carried(fitting: Fitting, axis: int) -> Iterator[str]:
    """Labels of what takes its place along an axis from a face that it is glued to."""
    parts = fitting.drawn.by_label
    for joint in fitting.drawn.joints:
        if joint.kind == "face" or (joint.kind == "butt" and joint.part_end is None):
            a, b = parts[joint.a], parts[joint.b]
            faces = joint.faces_of(a, b)
            if faces is not None and table_face(b, faces[1]).axis == axis:
                yield joint.a


def _most_in_a_row(fitting: Fitting, axis: int, below: dict[str, list[str]]) -> int:
    """How many boards that lie along an axis touch each other one after the other at most: their joints add up."""
    depths: dict[str, int] = {}

    def depth(label: str) -> int:
        if label not in depths:
            own = int(runs_along(fitting.drawn.by_label[label], axis))
            depths[label] = own + max((depth(one) for one in below.get(label, ())), default=0)
        return depths[label]

    return max(map(depth, below), default=1) or 1


def _cut_to_fit(fitting: Fitting, axis: int, between: Between, allowance: float) -> None:
    label = between.label
    low, high = float(fitting.box(between.low)[1][axis]), float(fitting.box(between.high)[0][axis])
    fitting.targets[label, axis] = low
    part = fitting.parts[label]
    own = int(np.abs(part.placement.axes[:, axis]).argmax())
    if own == 2 or (label, axis) in fitting.fixed:
        return
    drawn = fitting.drawn.by_label[label]
    # Room that nothing changed is as drawn, to the last digit.
    room = high - low
    room = size_along(drawn, axis) if abs(room - size_along(drawn, axis)) <= CONTACT / 2 else room
    fitting.fitted[label] = between
    fitting.lengthen(label, axis, fitting.rule.fitting(room, allowance))


# -- heights
# ------------------------------------------------------------------------------------------------------------


def _set_heights(fitting: Fitting) -> None:
    """What is set to a line: ledgers below the sides' edge by what lies on them; others flush where they were."""
    below, above = fitting.touching.along(0), fitting.touching.along(1)
    for part in fitting.drawn.parts:
        if part.role.height != "line" or part.role.slides or part.role.rests or part.role.stands_on_floor:
            continue
        if part.label in set(_carried(fitting, UP)):
            continue
        beside = [label for side in (*below, *above) for label in side.get(part.label, [])]
        at = _height_of(fitting, part, [fitting.drawn.by_label[label] for label in dict.fromkeys(beside)])
        if at is not None:
            fitting.targets[part.label, UP] = _above_panel(fitting, part, at)


def _above_panel(fitting: Fitting, part: Part, at: float) -> float:
    """Where a part's lower side is, mm; one that would stand in the panel below it is made narrower instead."""
    for panel in fitting.drawn.parts:
        if panel.role.height == "datum" and part.box[0][UP] > panel.box[1][UP] - CONTACT:
            top, floor = (
                at + size_along(fitting.parts[part.label], UP),
                float(fitting.box(panel.label)[1][UP]),
            )
            if at < floor - CONTACT and (part.label, UP) not in fitting.fixed:
                size = fitting.rule.of(part, "width").rounded(top - floor, "down")
                fitting.lengthen(part.label, UP, size)
                return top - size
    return at


def _height_of(fitting: Fitting, part: Part, beside: Iterable[Part]) -> float | None:
    """Where a part's lower side is, mm; None where nothing says so."""
    size, (low, high) = size_along(fitting.parts[part.label], UP), part.box
    neighbors = [one for one in beside if one.role.height in ("edge", "groove")]
    if part.role.carries_cover:
        for one in neighbors:
            if one.role == SIDE and not runs_along(one, 1 - int(np.abs(part.placement.axes[0]).argmax())):
                top = float(fitting.box(one.label)[1][UP])
                return top - float(one.box[1][UP] - high[UP]) - size
    for one in neighbors:
        if abs(float(one.box[0][UP] - low[UP])) <= CONTACT:
            return float(fitting.box(one.label)[0][UP])
    return None


def _set_legs(fitting: Fitting) -> None:
    """Boards that stand on the floor end below where those under the panel do; others reach up to what they carry."""
    standing = {part.label: part for part in fitting.drawn.parts if part.role.stands_on_floor}
    floor = min((float(part.box[0][UP]) for part in standing.values()), default=0.0)
    carried = {
        joint.a: joint.b
        for joint in fitting.drawn.joints
        if joint.a in standing and joint.kind == "butt" and abs(standing[joint.a].placement.axes[0, UP]) > 0.5
        and joint.part_end is not None
    }  # fmt: skip
    datums = [label for label, on in carried.items() if fitting.drawn.by_label[on].role.height == "datum"]
    if not datums:
        return
    foot = min(float(fitting.box(label)[0][UP]) for label in datums)
    for label, part in standing.items():
        if abs(float(part.box[0][UP]) - floor) > CONTACT:
            continue
        fitting.targets[label, UP] = foot
        on = carried.get(label)
        if on is not None and label not in datums and (label, UP) not in fitting.fixed:
            room = float(fitting.box(on)[0][UP]) - foot
            rule = fitting.rule.of(part, "length")
            fitting.lengthen(label, UP, room if rule.shows(room) else rule.rounded(room, "down"))
