"""Parts of the maker's own that stand in a leaf's way or in another board: moved aside, or made shorter."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Final

import numpy as np

from ....check.facts import Fact
from ....sizes.arrays import Floats
from ....sizes.tolerances import CONTACT
from ....wood.part import Part
from ...findings import Change, Remedy
from ..own_parameters import own_key
from ..own_parts import axis_held, labels_of
from .case import MARGIN, Advice, Case

_WAYS: Final = (("left", "right"), ("to the front", "to the back"), ("down", "up"))
MOST_WAYS: Final = 4
"""The nearest ways out that are tried."""


def own_behind(case: Case, labels: Iterable[str]) -> str:
    """Label of the first of some parts that is the maker's own; "" where none is."""
    own = labels_of(case.table) if case.table.own_part else {}
    return next((label for label in labels if label in own), "")


def blamed(case: Case, fact: Fact) -> frozenset[str]:
    """The entry of the part of the maker's own that a fact is about."""
    label = own_behind(case, fact.parts)
    return frozenset({f"{label} of my own"}) if label else frozenset()


def put_elsewhere(case: Case, group: Sequence[Fact], label: str) -> list[Remedy]:
    """The nearest places in which it is out of the way of all that these facts are about, and less of it."""
    part, index = case.assembly.by_label[label], labels_of(case.table)[label]
    low, high = part.box
    boxes = list(_in_its_way(case, group, label))
    if not boxes:
        return []
    found = [
        *((by, _moved(case, index, part, axis, sign, by)) for axis, sign, by in _moves(low, high, boxes)),
        *((by, _trimmed(case, index, part, axis, sign, by)) for axis, sign, by in _trims(low, high, boxes)),
    ]
    return [one for _, one in sorted(found, key=lambda pair: pair[0]) if one is not None][:MOST_WAYS]


def unheld(case: Case, fact: Fact) -> Advice:
    """A part that nothing holds: glued to what it touches or is next to, or set down on what is below it."""
    label = fact.parts[0]
    words = f"{label} ({case.assembly.by_label[label].name}) is joined to nothing and lies on nothing."
    by_hand = Remedy(f"Glue or screw {label} to a board that it touches")
    if not own_behind(case, fact.parts):
        return Advice(words, by_hand)
    part, index = case.assembly.by_label[label], labels_of(case.table)[label]
    ways = sorted(_neighbors(case, part), key=lambda one: one[0])[:MOST_WAYS]
    return Advice(words, *(_held(case, index, part, *one) for one in ways), by_hand)


def _neighbors(case: Case, part: Part) -> Iterator[tuple[float, int, int, str]]:
    """How far it is to the nearest board along each axis and way, mm, and which that is."""
    low, high = part.box
    for axis in range(3):
        across = [k for k in range(3) if k != axis]
        for sign in (-1, 1):
            gaps = []
            for other in case.assembly.parts:
                there_low, there_high = other.box
                facing = all(
                    low[k] < there_high[k] - CONTACT and there_low[k] < high[k] - CONTACT for k in across
                )
                gap = there_low[axis] - high[axis] if sign > 0 else low[axis] - there_high[axis]
                if other is not part and not other.role.slides and facing and gap >= -CONTACT:
                    gaps.append((max(float(gap), 0.0), other.label))
            if gaps:
                by, label = min(gaps)
                yield by, axis, sign, label


def _held(case: Case, index: int, part: Part, by: float, axis: int, sign: int, label: str) -> Remedy | None:
    joined = Change(own_key(index, "joined_to"), f"{label} glue")
    if by <= CONTACT:
        return Remedy(f"Glue {part.label} to {label}", (joined,))
    if axis_held(case.table.own_part[index]) == axis:
        return None
    at = Change(own_key(index, "xyz"[axis]), round(float(part.box[0][axis]) + sign * by, 9))
    text = f"Put {part.label} {case.place(by)} farther {_WAYS[axis][sign > 0]}"
    if (axis, sign) == (2, -1):
        return Remedy(f"{text}, onto {label}", (at,))
    return Remedy(f"{text}, and glue it to {label}", (at, joined))


def _in_its_way(case: Case, group: Sequence[Fact], label: str) -> Iterator[tuple[Floats, Floats]]:
    """The boxes that it has to be out of: of other boards, and of the ways of leaves with their least clearance."""
    for fact in group:
        if label not in fact.parts:
            continue
        for other in fact.parts:
            if other == label:
                continue
            low, high = case.assembly.body[other].box
            if fact.rule.startswith("leaf-"):
                path, room = case.assembly.path_of(other), case.table.limits.min_clearance + MARGIN
                ends = [end for move in path.moves for end in (move.start, move.end)]
                low = low + np.min(ends, axis=0) - room
                high = high + np.max(ends, axis=0) + room
            yield low, high


def _moves(
    low: Floats, high: Floats, boxes: Sequence[tuple[Floats, Floats]]
) -> Iterator[tuple[int, int, float]]:
    """For each axis and way, how far it has to go to be past all of them, mm."""
    for axis in range(3):
        down = max(float(high[axis] - one[0][axis]) for one in boxes)
        up = max(float(one[1][axis] - low[axis]) for one in boxes)
        yield from ((axis, -1, down), (axis, 1, up))


def _trims(
    low: Floats, high: Floats, boxes: Sequence[tuple[Floats, Floats]]
) -> Iterator[tuple[int, int, float]]:
    """For each axis and end, how much has to come off there, mm."""
    for axis, sign, by in _moves(low, high, boxes):
        if by < high[axis] - low[axis] - CONTACT:
            yield axis, sign, by


def _moved(case: Case, index: int, part: Part, axis: int, sign: int, by: float) -> Remedy | None:
    entry = case.table.own_part[index]
    if axis_held(entry) == axis:
        return None
    by = case.more(by)
    at = case.finely(float(part.box[0][axis]) + sign * by)
    text = f"Put {part.label} {case.place(by)} farther {_WAYS[axis][sign > 0]}"
    return Remedy(text, (Change(own_key(index, "xyz"[axis]), at),))


def _trimmed(case: Case, index: int, part: Part, axis: int, sign: int, by: float) -> Remedy | None:
    """Off the end across from where it would go: its box stays where it is at the other one."""
    entry = case.table.own_part[index]
    name = {entry.length_along[1]: "length", entry.width_along[1]: "width"}.get("xyz"[axis])
    if name is None or entry.corners is not None:
        return None
    by = case.more(by)
    left = case.finely(float(getattr(entry, name)) - by)
    changes = [Change(own_key(index, name), left)]
    if axis_held(entry) != axis:  # what comes off at the low end moves its lower corner
        at = float(part.box[0][axis]) + (by if sign > 0 else 0.0)
        changes.append(Change(own_key(index, "xyz"[axis]), case.finely(at)))
    text = f"Make {part.label} {case.place(by)} {'shorter' if name == 'length' else 'narrower'}"
    return Remedy(text, tuple(changes))
