"""Every leaf slid home: smallest clearance over its whole way, the room in every opening, how it lies stowed.

Two that slide at once are asked whether they meet on the way.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, pairwise
from typing import Final

import numpy as np

from ..sizes.arrays import Floats
from ..sizes.tolerances import CONTACT, WELD
from ..wood.assembly import StowPath
from ..wood.part import Part
from ..wood.solids.pieces import Tag
from .causes import Gaps, MeetAtOnce, Point, TooNear, Whereabouts
from .clearance.kernel import Contact, Mover, Slide, StaticScene
from .facts import Fact, LeafResult, Span, Verdict
from .prepared import Cut, Prepared, chamfers_of, cuts_for, land_of, wood_beside
from .spans import point, span_of_way
from .stowed import ahead_of

Box = tuple[Floats, Floats]


def slide_leaves(prepared: Prepared, least: float) -> list[tuple[LeafResult, list[Fact]]]:
    """Every leaf on its way, and a fact for each part that it meets with less than `least` mm."""
    paths = prepared.assembly.stow_paths
    slides = prepared.slides(paths, least)
    return [_judge(prepared, path, own, least) for path, own in zip(paths, slides, strict=True)]


def _judge(
    prepared: Prepared, path: StowPath, slides: list[Slide], least: float
) -> tuple[LeafResult, list[Fact]]:
    """One leaf from the slides of its moves."""
    gaps = tuple(opening_gaps(prepared, path))
    rooms = {gap.part: gap for gap in gaps}
    contacts = contacts_of(path, slides, least)
    number, contact, travel = nearest_of(contacts)
    worst, blocked, facts = np.inf, [], []
    for other, each, when in contacts:
        label = prepared.assembly.bodies[other].label
        judged = judged_clearance(each, rooms.get(label))
        if judged >= least:
            continue
        # Where the leaf rests on its sill and another side is judged, nothing is measured at the contact.
        span = span_of_way(slides, other, each) if judged == each.clearance else None
        facts.append(_too_near(prepared, path, each, label, judged, when, rooms.get(label), span))
        worst = min(worst, judged)
        if judged < -CONTACT:
            blocked.append(when)
    end_gap, stops_at = ahead_of(prepared, path)
    result = LeafResult(
        leaf=path.leaf,
        slot=path.side,
        verdict=verdict_of(worst, least),
        clearance=contact.clearance,
        against=prepared.assembly.bodies[number].label,
        travel=travel,
        at=point(contact.place),
        gaps=gaps,
        near=what_is_near(prepared, path.leaf, contact),
        vertical_play=_vertical_play(gaps),
        proud=proud_of(prepared, path),
        end_gap=end_gap,
        stops_at=stops_at,
        contact=(min(blocked), path.length - path.zero) if blocked else None,
        span=span_of_way(slides, number, contact),
    )
    return result, facts


def _too_near(
    prepared: Prepared,
    path: StowPath,
    contact: Contact,
    part: str,
    clearance: float,
    travel: float,
    room: Gaps | None,
    span: Span | None,
) -> Fact:
    """A leaf that comes too near to a part; `clearance` is what is judged."""
    near = what_is_near(prepared, path.leaf, contact)
    cause = TooNear(near, room, *_beside(prepared, path, part))
    place, blocked = point(contact.place), clearance < -CONTACT
    return Fact(
        "leaf-blocked" if blocked else "leaf-tight",
        "error" if blocked else "warning",
        (part, path.leaf),
        place,
        -clearance if blocked else max(clearance, 0.0),
        cause,
        path.leaf,
        travel,
        span,
    )


def _beside(prepared: Prepared, path: StowPath, label: str) -> tuple[Whereabouts, float]:
    """On which side of a leaf's whole way a part is, by the boxes around both, and how far apart they are there, mm."""
    (low, high), (there_low, there_high) = prepared.bounds(path.leaf), prepared.bounds(label)
    ends = np.array([offset for move in path.moves for offset in (move.start, move.end)])
    low, high = low + ends.min(axis=0), high + ends.max(axis=0)
    gaps, beyond = np.maximum(there_low - high, low - there_high), there_low + there_high > low + high
    axis = int(gaps.argmax())
    toward = np.zeros(3)
    toward[axis] = 1.0 if beyond[axis] else -1.0
    inward = -path.outward
    along, leftward = float(inward @ toward), float(np.cross([0.0, 0.0, 1.0], inward) @ toward)
    if axis == 2:
        return ("above" if beyond[axis] else "below"), float(gaps[axis])
    if abs(along) > abs(leftward):
        return ("ahead" if along > 0 else "behind"), float(gaps[axis])
    return ("left" if leftward > 0 else "right"), float(gaps[axis])


def verdict_of(clearance: float, least: float) -> Verdict:
    """From the smallest clearance that is judged, mm."""
    return "blocked" if clearance < -CONTACT else "tight" if clearance < least else "clear"


def what_is_near(prepared: Prepared, leaf: str, contact: Contact) -> str:
    """What a leaf is near to: an edge of a slot or window of `leaf`, else the part by name."""
    row = int(np.flatnonzero(prepared.scene.original == contact.piece)[0])
    tag = prepared.scene.pieces.tags[row]
    if isinstance(tag, Tag) and tag.leaf == leaf:
        return str(tag)
    return prepared.assembly.bodies[int(prepared.scene.owner[row])].name


def contacts_of(path: StowPath, slides: list[Slide], least: float) -> list[tuple[int, Contact, float]]:
    """(part number, contact, travel): every part nearer than `least`, and the nearest however far."""
    done = -path.zero
    found: dict[int, tuple[int, Contact, float]] = {}
    for move, slide in zip(path.moves, slides, strict=True):
        near = set(np.flatnonzero(slide.exact & (slide.clearance < least)).tolist())
        tightest = slide.tightest()
        if tightest is not None:
            near.add(tightest)
        for part in near:
            contact = slide.contact(part)
            candidate = (part, contact, done + contact.fraction * move.length)
            if part not in found or contact.clearance < found[part][1].clearance - CONTACT:
                found[part] = candidate
        done += move.length
    return list(found.values())


def nearest_of(contacts: list[tuple[int, Contact, float]]) -> tuple[int, Contact, float]:
    """The contact with the smallest clearance; among those that are equal but for rounding, the one reached first."""
    least = min(contact.clearance for _, contact, _ in contacts)
    return min((one for one in contacts if one[1].clearance <= least + WELD), key=lambda one: one[2])


def judged_clearance(contact: Contact, room: Gaps | None) -> float:
    """The clearance that counts. A leaf that just rests on a part is judged by the room on its other sides."""
    resting = abs(contact.clearance) <= CONTACT and contact.axis[2] < -1 + CONTACT
    if not resting:
        return contact.clearance
    return (
        min((gap for gap in (room.above, room.left, room.right) if gap is not None), default=np.inf)
        if room
        else np.inf
    )


def opening_gaps(prepared: Prepared, path: StowPath, box: Box | None = None) -> Iterator[Gaps]:
    """The room around a leaf in each slot, window and groove that it passes, from the outside in.

    Parameters
    ----------
    box : corners of the leaf's bounding box stowed, (3,) float each, mm; by default those of the path's own leaf
    """
    low, high = box or prepared.bounds(path.leaf)
    inward = -path.outward
    passed = cuts_for(path.leaf, prepared.assembly.parts)
    for part, cut in sorted(passed, key=lambda one: float(inward @ one[0].placement.origin)):
        yield _gaps(part, cut, low, high, inward)


_AXES: Final = np.eye(3)


def _gaps(part: Part, cut: Cut, low: Floats, high: Floats, inward: Floats) -> Gaps:
    """Closed form: the leaf's bounds against the cut's land, both along the axes."""
    corners = part.placement.to_table(np.array(land_of(part, cut)))
    cut_low, cut_high = corners.min(axis=0), corners.max(axis=0)
    left = np.cross([0.0, 0.0, 1.0], inward)
    lateral = int(np.abs(left).argmax())

    def room(axis: int) -> tuple[float | None, float | None]:
        walls = wood_beside(part, cut, _AXES[axis])
        rooms = float(low[axis] - cut_low[axis]), float(cut_high[axis] - high[axis])
        before, behind = (gap if wall else None for gap, wall in zip(rooms, walls, strict=True))
        return before, behind

    (below, above), (at_low, at_high) = room(2), room(lateral)
    left_is_low = left[lateral] < 0
    entry, leaving = chamfers_of(part, cut, inward)
    return Gaps(
        part=part.label,
        above=above,
        below=below,
        left=at_low if left_is_low else at_high,
        right=at_high if left_is_low else at_low,
        entry_chamfer=entry,
        exit_chamfer=leaving,
    )


def _vertical_play(gaps: tuple[Gaps, ...]) -> float:
    """How far the leaf can be lifted off the highest sill before it meets the lowest edge above; 0 where it has none
    of either."""
    above = [gap.above for gap in gaps if gap.above is not None]
    below = [gap.below for gap in gaps if gap.below is not None]
    return min(above) + min(below) if above and below else 0.0


def proud_of(prepared: Prepared, path: StowPath, box: Box | None = None) -> float:
    """How far a leaf's outer end stands out of the side's outer face stowed, mm; `box` as in `opening_gaps`."""
    low, high = box or prepared.bounds(path.leaf)
    side_low, side_high = prepared.bounds(path.side)
    axis = int(np.abs(path.outward).argmax())
    if path.outward[axis] > 0:
        return float(high[axis] - side_high[axis])
    return float(side_low[axis] - low[axis])


def meetings_at_once(prepared: Prepared) -> Iterator[Fact]:
    """Pairs of leaves that collide when both are pushed home in the same time, each evenly."""
    for one, other in combinations(prepared.assembly.stow_paths, 2):
        if not _ways_cross(prepared, one, other):
            continue
        found = _collision(prepared, one, other)
        if found is None:
            continue
        share, depth, place = found
        travel = share * one.length - one.zero
        parts = (one.leaf, other.leaf)
        in_turn = ((one, other), (other, one))
        first = next((a.leaf for a, b in in_turn if _passes(prepared, b, a.leaf)), "")
        yield Fact("leaves-meet", "note", parts, place, depth, MeetAtOnce(first), one.leaf, travel)


def _passes(prepared: Prepared, path: StowPath, home: str) -> bool:
    """Whether a leaf goes its whole way past another that lies stowed."""
    (slides,) = prepared.slides((path,), CONTACT, prepared.only({home: np.zeros(3)}))
    return all(slide.clearance[prepared.number[home]] >= -CONTACT for slide in slides)


def _ways_cross(prepared: Prepared, one: StowPath, other: StowPath) -> bool:
    """Whether the bounding boxes of both whole ways meet."""
    low_a, high_a = _way_bounds(prepared, one)
    low_b, high_b = _way_bounds(prepared, other)
    return bool((low_a < high_b - CONTACT).all() and (low_b < high_a - CONTACT).all())


def _way_bounds(prepared: Prepared, path: StowPath) -> tuple[Floats, Floats]:
    low, high = prepared.bounds(path.leaf)
    ends = np.array([offset for move in path.moves for offset in (move.start, move.end)])
    return low + ends.min(axis=0), high + ends.max(axis=0)


def _collision(prepared: Prepared, one: StowPath, other: StowPath) -> tuple[float, float, Point] | None:
    """(share of the way, depth, place) of the first collision: one leaf slides past the other by their difference.

    Over any span in which both are on one straight move, their relative motion is uniform, so the slide of the
    first by the difference of both against the second standing still is exact.
    """
    shares = sorted({0.0, 1.0, *_turning_points(one), *_turning_points(other)})
    for begin, end in pairwise(shares):
        a0, a1 = (one.offset_at(share * one.length - one.zero) for share in (begin, end))
        b0, b1 = (other.offset_at(share * other.length - other.zero) for share in (begin, end))
        standing = prepared.movers[other.leaf].pieces.translated(b0)
        scene = StaticScene(standing, np.zeros(len(standing), dtype=np.intp))
        slide = scene.slide(Mover(prepared.movers[one.leaf].pieces), (a1 - a0) - (b1 - b0), start=a0)
        if slide.clearance[0] < -CONTACT:
            contact = slide.contact(0)
            place = contact.place + contact.fraction * (b1 - b0)
            share = begin + contact.fraction * (end - begin)
            return share, -contact.clearance, point(place)
    return None


def _turning_points(path: StowPath) -> list[float]:
    done = np.cumsum([move.length for move in path.moves])
    return [float(length / path.length) for length in done[:-1]]
