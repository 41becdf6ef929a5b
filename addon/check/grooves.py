r"""What is amiss with grooves: a panel's corner in a round end, and a groove that meets a slot or window.

 the board's inner face, seen from the panel        A bit leaves the stopped end of a groove as round as it is
______________________________                      itself. The square corner of a panel in it meets the arc
   groove                     \  ) radius r          before it is home:
########## panel ##########|   |                        reach of the panel at a height e above the arc's middle:
______________________________/                         end - r + sqrt(r² - e²)
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import product
from math import sqrt
from typing import Final, NamedTuple

import numpy as np

from ..sizes.arrays import Floats
from ..sizes.tolerances import CONTACT, WELD
from ..wood.assembly import Assembly
from ..wood.features import End, Groove, Opening
from ..wood.part import Part, Shape
from ..wood.sound import Cut, cuts_of, land_gap
from .causes import Cause, Point
from .clearance.kernel import Overlap
from .facts import Fact, Place
from .spans import point

_SAME: Final = 1e-3
"""mm; what meets by amounts that agree to this has one cause."""


@dataclass(frozen=True)
class RoundEnd(Cause):
    """A panel's corner jams in the round end of a groove.

    Parameters
    ----------
    panel, board : the gravest place
    ends : all boards in whose grooves it jams, each with the groove's end, and how far it is short there, mm
    radius : of the end, mm
    short : how far the panel stays off its place, so how much farther the groove would have to run, mm
    reach : of the panel into the groove, mm
    """

    panel: str
    board: str
    ends: tuple[tuple[str, End, float], ...]
    radius: float
    short: float
    reach: float

    @property
    def boards(self) -> tuple[str, ...]:
        """Each board once."""
        return tuple(dict.fromkeys(board for board, _, _ in self.ends))


@dataclass(frozen=True)
class CutsMeet(Cause):
    """A groove and an opening of one board run into each other.

    Parameters
    ----------
    groove, opening : in words
    kind : of the opening: ``slot``, ``window``, ``notch``
    leaf : that passes the opening, or ""
    by : how much they have in common, mm
    """

    part: str
    groove: str
    opening: str
    kind: str
    leaf: str
    by: float


# -- panels in round ends
# ------------------------------------------------------------------------------------------------------------


class Jam(NamedTuple):
    """A corner of a panel in a round end: how far off its place it stays and how far it reaches in, mm, and where."""

    panel: str
    board: str
    end: End
    radius: float
    short: float
    reach: float
    low: Floats
    high: Floats
    """(3,) float: corners of a box around the end in the table, mm."""


def jams(assembly: Assembly) -> list[Jam]:
    """All corners of panels that jam in round ends of grooves, the farthest from home first."""
    found = []
    for joint in assembly.joints:
        if joint.kind == "groove" and {joint.a, joint.b} <= assembly.by_label.keys():
            panel, board = assembly.by_label[joint.a], assembly.by_label[joint.b]
            for groove in board.shape.grooves:
                for end in groove.round_ends(board.shape.blank) if groove.holds and not groove.leaf else ():
                    jam = _jam(panel, board, groove, end)
                    if jam is not None:
                        found.append(jam)
    return sorted(found, key=lambda one: -one.short)


def _jam(panel: Part, board: Part, groove: Groove, end: End) -> Jam | None:
    """How a panel lies in one end, in the board's frame turned so that the groove runs toward the end along axis 0."""
    along, sign, r = (0 if groove.along == "u" else 1), (1.0 if end == "end" else -1.0), groove.end_radius
    corners = board.placement.to_part(_corners_of(panel))
    normal = panel.placement.axes[2] @ board.placement.axes.T
    if abs(abs(normal[1 - along]) - 1.0) > CONTACT:
        return None
    (low, high), stop = groove.spans[1 - along], groove.spans[along][end == "end"] * sign
    across = corners[:, 1 - along]
    depth = corners[:, 2] if groove.face == "front" else board.shape.thickness - corners[:, 2]
    ring = np.stack([corners[:, along] * sign, depth], axis=1)[: len(corners) // 2]
    own = _farthest_within(ring, 0.0)
    if own is None or across.min() >= high or across.max() <= low:
        return None
    excess = max(float(across.max()) - (high - r), low + r - float(across.min()), 0.0)
    short = own - (stop - r + sqrt(max(r * r - excess * excess, 0.0)))
    if short <= CONTACT:
        return None
    box = np.array([groove.bounds(board.shape.blank)[k] for k in (0, 1)], dtype=float)
    box[:, along] = sorted((stop * sign, (stop - r) * sign))
    ends = board.placement.to_table(box)
    return Jam(
        panel.label, board.label, end, r, short, float(ring[:, 1].max()), ends.min(axis=0), ends.max(axis=0)
    )


def _corners_of(panel: Part) -> Floats:
    """(2n, 3) float, mm: of a board's outline in the table, at its front face and then at its back face."""
    ring = np.array(panel.shape.outline)
    levels = [np.column_stack([ring, np.full(len(ring), w)]) for w in (0.0, panel.shape.thickness)]
    return panel.placement.to_table(np.concatenate(levels))


def _farthest_within(ring: Floats, depth: float) -> float | None:
    """Greatest first coordinate of a polygon, (n, 2) mm, where its second one is more than `depth`; None: nowhere."""
    onward = np.roll(ring, -1, axis=0)
    inside = ring[:, 1] > depth + CONTACT
    if not inside.any():
        return None
    crossing = inside != np.roll(inside, -1)
    start, stop = ring[crossing], onward[crossing]
    share = (depth - start[:, 1]) / (stop[:, 1] - start[:, 1])
    return float(max(ring[inside, 0].max(), *(start[:, 0] + share * (stop[:, 0] - start[:, 0]))))


def round_end_facts(found: Iterable[Jam]) -> Iterator[Fact]:
    """One error for each panel, with all its corners that jam."""
    by_panel: dict[str, list[Jam]] = {}
    for jam in found:
        by_panel.setdefault(jam.panel, []).append(jam)
    for panel, own in by_panel.items():
        first, *others = (Place((one.board, panel), _middle(one), one.short) for one in own)
        ends: tuple[tuple[str, End, float], ...] = tuple((one.board, one.end, one.short) for one in own)
        cause = RoundEnd(panel, own[0].board, ends, own[0].radius, own[0].short, own[0].reach)
        yield Fact("round-end", "error", first.parts, first.at, first.amount, cause, others=tuple(others))


def _middle(jam: Jam) -> Point:
    return point((jam.low + jam.high) / 2)


def explains(jam: Jam, overlap: Overlap, labels: frozenset[str]) -> bool:
    """Whether two parts overlap at a corner that jams."""
    if labels != {jam.panel, jam.board}:
        return False
    return bool((overlap.place >= jam.low - CONTACT).all() and (overlap.place <= jam.high + CONTACT).all())


# -- grooves and openings that meet
# ------------------------------------------------------------------------------------------------------------


def cuts_that_meet(assembly: Assembly) -> Iterator[Fact]:
    """One error for each groove and the openings that it meets by as much, in parts of one role."""
    found: dict[tuple[object, ...], list[tuple[Place, CutsMeet]]] = {}
    for part in assembly.parts:
        if not part.shape.grooves or not part.shape.openings:
            continue
        for groove, opening in meeting_cuts(part.shape):
            by, source = -land_gap(groove, opening), opening.source
            assert isinstance(source, Opening)
            cause = CutsMeet(part.label, groove.name, opening.name, source.kind, source.leaf, by)
            key = part.role.word, source.kind, round(by / _SAME)
            found.setdefault(key, []).append((_place_of(part, groove, opening, by), cause))
    for same in found.values():
        (first, cause), *others = same
        more = tuple(place for place, _ in others)
        yield Fact("cuts-meet", "error", first.parts, first.at, first.amount, cause, cause.leaf, others=more)


@lru_cache(maxsize=512)
def meeting_cuts(shape: Shape) -> tuple[tuple[Cut, Cut], ...]:
    """Grooves and openings of a shape between whose lands there is no wood."""
    cuts = cuts_of(shape)
    grooves = [cut for cut in cuts if isinstance(cut.source, Groove)]
    openings = [cut for cut in cuts if isinstance(cut.source, Opening)]
    return tuple((a, b) for a, b in product(grooves, openings) if land_gap(a, b) <= WELD)


def _place_of(part: Part, groove: Cut, opening: Cut, by: float) -> Place:
    """Middle of what both have in common."""
    r = opening.radius
    low = np.maximum(groove.low, np.array(opening.low) - r)
    high = np.minimum(groove.high, np.array(opening.high) + r)
    middle = (low + high) / 2
    at = part.placement.to_table(np.array([[*middle, (groove.top + groove.bottom) / 2]]))[0]
    return Place((part.label,), point(at), by)
