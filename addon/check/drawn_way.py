"""Every leaf slid home: smallest clearance over its whole way, the room in every opening, how it lies stowed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..sizes.tolerances import CONTACT, WELD
from .findings import Gaps, LeafResult
from .spans import span_of_way

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from ..wood.assembly import StowPath
    from ..wood.features import Opening
    from ..wood.part import Part
    from .clearance.kernel import Contact, Slide
    from .findings import Point, Span, Verdict
    from .prepared import Prepared

    Floats = NDArray[np.float64]
    Box = tuple[Floats, Floats]


@dataclass(frozen=True, eq=False)
class Meeting:
    """A leaf and another part that come too near to each other on the leaf's way."""

    leaf: str
    part: str
    clearance: float
    """What is judged, mm: without the sill that the leaf rests on."""
    travel: float
    at: Point
    near: str
    """What the leaf is near to, in words."""
    room: Gaps | None
    """Around the leaf in its own opening in that part, if it has one there."""
    span: Span | None = None
    """Where the clearance is measured; None where the leaf rests on its sill and another side is judged."""


def slide_leaves(prepared: Prepared, least: float) -> list[tuple[LeafResult, list[Meeting]]]:
    """Every leaf on its way, and all parts that it meets with less than `least` mm."""
    paths = prepared.assembly.stow_paths
    slides = prepared.slides(paths, least)
    return [_judge(prepared, path, own, least) for path, own in zip(paths, slides, strict=True)]


def _judge(
    prepared: Prepared, path: StowPath, slides: list[Slide], least: float
) -> tuple[LeafResult, list[Meeting]]:
    """One leaf from the slides of its moves."""
    gaps = tuple(opening_gaps(prepared, path))
    rooms = {gap.part: gap for gap in gaps}
    contacts = contacts_of(path, slides, least)
    number, contact, travel = nearest_of(contacts)
    meetings = []
    for other, each, when in contacts:
        label = prepared.assembly.parts[other].label
        judged = judged_clearance(each, rooms.get(label))
        if judged < least:
            near = what_is_near(prepared, path.leaf, each)
            span = span_of_way(slides, other, each) if judged == each.clearance else None
            meetings.append(
                Meeting(path.leaf, label, judged, when, _point(each.place), near, rooms.get(label), span)
            )
    worst = min((meeting.clearance for meeting in meetings), default=np.inf)
    blocked = [meeting.travel for meeting in meetings if meeting.clearance < -CONTACT]
    end_gap, stops_at = ahead_of(prepared, path)
    result = LeafResult(
        leaf=path.leaf,
        slot=path.side,
        verdict=verdict_of(worst, least),
        clearance=contact.clearance,
        against=prepared.assembly.parts[number].label,
        travel=travel,
        at=_point(contact.place),
        gaps=gaps,
        near=what_is_near(prepared, path.leaf, contact),
        vertical_play=_vertical_play(gaps),
        proud=proud_of(prepared, path),
        end_gap=end_gap,
        stops_at=stops_at,
        contact=(min(blocked), path.length - path.zero) if blocked else None,
        span=span_of_way(slides, number, contact),
    )
    return result, meetings


def verdict_of(clearance: float, least: float) -> Verdict:
    """From the smallest clearance that is judged, mm."""
    return "blocked" if clearance < -CONTACT else "tight" if clearance < least else "clear"


def what_is_near(prepared: Prepared, leaf: str, contact: Contact) -> str:
    """What a leaf is near to: an edge of a slot or window of `leaf`, else the part by name."""
    row = int(np.flatnonzero(prepared.scene.original == contact.piece)[0])
    tag = prepared.scene.pieces.tags[row]
    if tag.endswith(f" of {leaf}"):
        return tag
    return prepared.assembly.parts[int(prepared.scene.owner[row])].name


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
    """The room around a leaf in each slot and window that it passes, from the outside in.

    Parameters
    ----------
    box : corners of the leaf's bounding box stowed, (3,) float each, mm; by default those of the path's own leaf
    """
    low, high = box or prepared.bounds(path.leaf)
    inward = -path.outward
    passed = [
        (float(inward @ part.placement.origin), part, opening)
        for part in prepared.assembly.parts
        for opening in part.shape.openings
        if opening.leaf == path.leaf
    ]
    for _, part, opening in sorted(passed, key=lambda one: one[0]):
        yield _gaps(part, opening, low, high, inward)


def _gaps(part: Part, opening: Opening, low: Floats, high: Floats, inward: Floats) -> Gaps:
    """Closed form: the leaf's bounds against the opening's land, both along the axes."""
    corners = part.placement.to_table(
        np.array([[opening.u0, opening.v0, 0.0], [opening.u1, opening.v1, 0.0]])
    )
    lateral = int(np.abs(part.placement.axes[0]).argmax())
    edges = corners[:, lateral]
    at_low, at_high = float(low[lateral] - edges.min()), float(edges.max() - high[lateral])
    ascending = edges[0] <= edges[1]
    low_gap: float | None = at_low
    high_gap: float | None = at_high
    if opening.open_end is not None:
        if (opening.open_end == "start") == ascending:
            low_gap = None
        else:
            high_gap = None
    left = np.cross([0.0, 0.0, 1.0], inward)
    left_is_low = left[lateral] < 0
    enters_front = float(inward @ part.placement.axes[2]) > 0
    chamfers = (opening.front_chamfer, opening.back_chamfer)
    entry, leaving = chamfers if enters_front else chamfers[::-1]
    return Gaps(
        part=part.label,
        above=float(corners[:, 2].max() - high[2]),
        below=float(low[2] - corners[:, 2].min()),
        left=low_gap if left_is_low else high_gap,
        right=high_gap if left_is_low else low_gap,
        entry_chamfer=entry,
        exit_chamfer=leaving,
    )


def _vertical_play(gaps: tuple[Gaps, ...]) -> float:
    """How far the leaf can be lifted off the highest sill before it meets the lowest edge above."""
    if not gaps:
        return 0.0
    return min(gap.above for gap in gaps) + min(gap.below for gap in gaps)


def proud_of(prepared: Prepared, path: StowPath, box: Box | None = None) -> float:
    """How far a leaf's outer end stands out of the side's outer face stowed, mm; `box` as in `opening_gaps`."""
    low, high = box or prepared.bounds(path.leaf)
    side_low, side_high = prepared.bounds(path.side)
    axis = int(np.abs(path.outward).argmax())
    if path.outward[axis] > 0:
        return float(high[axis] - side_high[axis])
    return float(side_low[axis] - low[axis])


def ahead_of(
    prepared: Prepared, path: StowPath, box: Box | None = None, absent: tuple[str, ...] = ()
) -> tuple[float | None, str]:
    """Distance from the nose stowed to the next thing in line with the leaf, mm, and its label.

    Negative where the nose does not get that far; None and "" where there is nothing.

    Parameters
    ----------
    box : as in `opening_gaps`
    absent : labels of leaves that are not stowed, besides the path's own
    """
    scene = prepared.scene
    low, high = box or prepared.bounds(path.leaf)
    axis, sign = int(np.abs(path.outward).argmax()), -float(path.outward[np.abs(path.outward).argmax()])
    across = [k for k in range(3) if k != axis]
    bottom, top = scene.pieces.low, scene.pieces.high
    in_line = ((bottom[:, across] < high[across] - CONTACT) & (top[:, across] > low[across] + CONTACT)).all(
        axis=1
    )
    nose = high[axis] if sign > 0 else low[axis]
    distance = (bottom[:, axis] - nose) if sign > 0 else (nose - top[:, axis])
    beyond = (top[:, axis] - nose) if sign > 0 else (nose - bottom[:, axis])
    ends = beyond > CONTACT
    if path.end_stop is not None:
        # however long the leaf: its end stop stands in its way, not behind its nose
        ends |= scene.owner == prepared.number[path.end_stop]
    counts = in_line & ends
    for leaf in (path.leaf, *absent):
        counts &= scene.owner != prepared.number[leaf]
    if not counts.any():
        return None, ""
    nearest = int(np.flatnonzero(counts)[distance[counts].argmin()])
    return float(distance[nearest]), prepared.assembly.parts[scene.owner[nearest]].label


def _point(place: Floats) -> Point:
    return float(place[0]), float(place[1]), float(place[2])
