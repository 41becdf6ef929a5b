"""Which parts butt on each other along an axis of the table, and by how much each joint is off as the parts were cut.

    S3 |==R5==|R1|====R6====|R2|==R7==|R3|====R8====|R4|==R9==| S4        seen from above
    S3 |==R10=|R1|====R11===|R2|==R12=|R3| ...

A part is a body with two faces along the axis; a joint is a link between the upper face of one part and the lower
face of the next. A link's excess is how much farther than drawn the two reach together: so much they overlap where
they stand, or so much the joint is open where it is negative. A through rib is a rigid body: it takes along the
segments of every row that ends on it.

What ends a chain (nothing butts on it from beyond) stands where it is drawn: the sides, flush at their corners.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from math import nan
from typing import Final

import numpy as np

from ...sizes.arrays import Floats
from ...sizes.tolerances import ANGLE, CONTACT
from ...wood.assembly import Assembly
from ...wood.features import End
from ...wood.joints import Joint, facing_ends
from ...wood.part import Part
from ...wood.seating import as_drawn
from ..causes import Point
from ..spans import point

_ENDS: Final[tuple[End, End]] = ("start", "end")

_PUT_UP: Final = 2.0
"""How much too short a part may be where it butts that is free at its other end: it is put up to its neighbor, and
lacks it there (common practice, no source), mm."""


def abutments(assembly: Assembly) -> Iterator[Joint]:
    """Dry butt joints for ends that, as drawn, touch a face of another part that they are not joined to.

    Leaves, which slide, are left out.
    """
    parts = [as_drawn(part) for part in assembly.parts if not part.role.slides]
    joined = {frozenset((joint.a, joint.b)) for joint in assembly.joints if joint.kind != "face"}
    low, high = (np.array([part.box[side] for part in parts]).reshape(-1, 3) for side in (0, 1))
    along = np.array([part.placement.axes[0] for part in parts]).reshape(-1, 3)
    for axis in range(3):
        others = [k for k in range(3) if k != axis]
        square = np.flatnonzero(np.abs(along[:, axis]) > 1.0 - ANGLE)
        shared = (
            np.minimum(high[square, None], high)[..., others]
            - np.maximum(low[square, None], low)[..., others]
        )
        beside = (shared > CONTACT).all(axis=2)
        for upper, ends, faces in ((False, low, high), (True, high, low)):
            touch = beside & (np.abs(ends[square, None, axis] - faces[None, :, axis]) <= CONTACT)
            for row, other in zip(*np.nonzero(touch), strict=True):
                a, b = parts[square[row]], parts[other]
                if frozenset((a.label, b.label)) not in joined:
                    end = _ENDS[int(upper == (a.placement.axes[0][axis] > 0))]
                    yield Joint(a.label, b.label, "butt", end, fastening="dry")


@dataclass(frozen=True)
class Link:
    """Two parts that butt on each other: the upper face of part number `low` on the lower face of number `high`.

    Parameters
    ----------
    excess : mm; how much the two overlap as placed, less than 0 where the joint is open by more than drawn
    by_low, by_high : what of it the one and the other add, mm
    ends_low : whether it is an end of the part `low` that seats here, else it is one of `high`
    at : the middle of that end, in table coordinates, mm
    glued : whether the two are held together, so that the joint has to close
    """

    low: int
    high: int
    excess: float
    by_low: float
    by_high: float
    ends_low: bool
    at: Point
    glued: bool = True

    @property
    def ending(self) -> int:
        """Number of the part whose end it is."""
        return self.low if self.ends_low else self.high

    @property
    def neighbor(self) -> int:
        """Number of the part that this end seats on."""
        return self.high if self.ends_low else self.low


@dataclass(frozen=True)
class Chain:
    """Parts that butt on each other along one axis of the table, from low to high.

    Parameters
    ----------
    labels : of the parts, in order along the axis
    held : numbers of those that stand where they are drawn: what ends the chain
    apart : labels of pairs of which one is not where it is drawn, but where what fits between both ends puts it
    """

    axis: int
    labels: tuple[str, ...]
    held: frozenset[int]
    links: tuple[Link, ...]
    apart: frozenset[frozenset[str]] = frozenset()

    @cached_property
    def below(self) -> list[list[Link]]:
        """For each part the links at its lower face."""
        found: list[list[Link]] = [[] for _ in self.labels]
        for link in self.links:
            found[link.high].append(link)
        return found

    @cached_property
    def above(self) -> list[list[Link]]:
        """For each part the links at its upper face."""
        found: list[list[Link]] = [[] for _ in self.labels]
        for link in self.links:
            found[link.low].append(link)
        return found

    def lengthened(self, amounts: Sequence[float], times: float = 1.0) -> Chain:
        """The same parts with each joint off by so many times its own of (links,) mm more."""
        links = zip(self.links, amounts, strict=True)
        return replace(
            self, links=tuple(replace(link, excess=_clean(link.excess + times * by)) for link, by in links)
        )


def chains_of(assembly: Assembly) -> Iterator[Chain]:
    """For each axis all parts that butt on others along it, as one chain, where something was cut otherwise.

    Ends that only stand against another part count as well: there nothing is amiss where they stay away from it. Boards
    that stand askew to the axes of the table are left out.
    """
    reach = {part.label: _reach(part) for part in assembly.parts if part.drawn is not None}
    if not reach:
        return
    joints: dict[int, list[Joint]] = {}
    for joint in (*assembly.joints, *abutments(assembly)):
        if joint.part_end is not None and joint.kind in ("butt", "miter"):
            along = np.abs(assembly.by_label[joint.a].placement.axes[0])
            axis = int(along.argmax())
            if along[axis] > 1.0 - ANGLE:
                joints.setdefault(axis, []).append(joint)
    for axis in sorted(joints):
        chain = _chain(assembly, axis, joints[axis], reach)
        if chain.links:
            yield chain


def _reach(part: Part) -> Floats:
    """(2, 3) float, mm: how much farther than drawn a part reaches down and up along each axis of the table."""
    (low, high), (drawn_low, drawn_high) = part.box, as_drawn(part).box
    return np.array([drawn_low - low, high - drawn_high])


def _chain(assembly: Assembly, axis: int, joints: list[Joint], reach: dict[str, Floats]) -> Chain:
    labels = {label for joint in joints for label in (joint.a, joint.b)}
    boxes = {label: as_drawn(assembly.by_label[label]).box for label in labels}
    middle = {label: float(low[axis] + high[axis]) for label, (low, high) in boxes.items()}
    ordered = tuple(sorted(labels, key=lambda label: (middle[label], label)))
    number = {label: at for at, label in enumerate(ordered)}
    links = _that_press([_link(assembly, axis, joint, reach, number) for joint in joints])
    between = {link.high for link in links} & {link.low for link in links}
    return _set_apart(Chain(axis, ordered, frozenset(range(len(ordered))) - between, links))


def _that_press(links: list[Link]) -> tuple[Link, ...]:
    """All links but those of parts that butt with one end alone, which is as drawn or a little short: what stands free
    at its other end is put up to its neighbor, wherever that stands."""
    count = Counter(number for link in links for number in (link.low, link.high))
    return tuple(
        link
        for link in links
        if count[link.ending] > 1
        or not -_PUT_UP <= (link.by_low if link.ends_low else link.by_high) <= CONTACT
    )


def _set_apart(chain: Chain) -> Chain:
    """The chain with what ends it above where the parts put it that reach from what ends it below right to there.

    Where all of these that are held at both ends are longer, or shorter, by the same, they set the two so much farther
    apart, or nearer.
    """
    ends: dict[tuple[int, int], list[float]] = {}
    for number in range(len(chain.labels)):
        for below in chain.below[number]:
            for above in chain.above[number]:
                if below.low in chain.held and above.high in chain.held and below.glued and above.glued:
                    as_drawn = max(abs(below.by_low), abs(above.by_high)) <= CONTACT
                    total = below.excess + above.excess if as_drawn else nan
                    ends.setdefault((below.low, above.high), []).append(total)
    amounts = [0.0] * len(chain.links)
    for (_, high), totals in ends.items():
        if len(totals) > 1 and max(totals) - min(totals) <= CONTACT:
            amounts = [
                -totals[0] if link.high == high else amount
                for link, amount in zip(chain.links, amounts, strict=True)
            ]
    if not any(amounts):
        return chain
    apart = frozenset(
        frozenset((chain.labels[link.low], chain.labels[link.high]))
        for link, amount in zip(chain.links, amounts, strict=True)
        if amount
    )
    return replace(chain.lengthened(amounts), apart=apart)


def _link(
    assembly: Assembly, axis: int, joint: Joint, reach: dict[str, Floats], number: dict[str, int]
) -> Link:
    a, b = assembly.by_label[joint.a], assembly.by_label[joint.b]
    upward = (joint.part_end == "end") == (a.placement.axes[0][axis] > 0)
    none = np.zeros((2, 3))
    by_a = float(reach.get(a.label, none)[int(upward), axis])
    by_b = float(reach.get(b.label, none)[int(not upward), axis])
    if joint.kind == "miter" and joint.part_end is not None:
        # At 45 degrees lengths count alike, and so does how far either board stands out before the other's end.
        side, across = _end_at_corner(a, joint.part_end, b)
        by_a -= float(reach.get(a.label, none)[side, across])
        by_b = float(reach.get(b.label, none)[side, across] - reach.get(b.label, none)[int(upward), axis])
    low, high = a.box
    place = (low + high) / 2
    place[axis] = high[axis] if upward else low[axis]
    own, other = number[a.label], number[b.label]
    off, glued = _off(by_a + by_b, joint.gap), joint.fastening != "dry"
    if upward:
        return Link(own, other, off, by_a, by_b, True, point(place), glued)
    return Link(other, own, off, by_b, by_a, False, point(place), glued)


def _end_at_corner(a: Part, end: End, b: Part) -> tuple[int, int]:
    """On which side, 0 lower and 1 upper, of which axis of the table `b` ends at its corner with `a`."""
    _, at = facing_ends(a, end, b)
    along = b.placement.axes[0]
    axis = int(np.abs(along).argmax())
    return int((at == "end") == (along[axis] > 0)), axis


def _off(excess: float, gap: float) -> float:
    """What a joint is off: it takes up the gap that is drawn before anything overlaps."""
    off = excess if excess < 0 else max(0.0, excess - gap)
    return _clean(off)


def _clean(off: float) -> float:
    return off if abs(off) > CONTACT else 0.0
