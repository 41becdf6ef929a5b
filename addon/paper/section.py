"""A leaf among its openings in section: a window of the sheet with a scale of its own, wood hatched, leaves in outline.

The slide page, the filmstrip's close-ups and the video draw with it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike

from ..check.row.openings import Pose
from ..check.row.profile import Row, RowOpening, stations
from ..sizes.arrays import Floats
from ..sizes.tolerances import CONTACT
from ..sizes.units import Units, format_amount
from .sheet import WHITE, Drawing, Pen
from .sheet.clip import Rectangle, overlap
from .sheet.dimensions import OUTLINE, THIN, break_line, double_dashed
from .sheet.palette import BLOCKED, HATCH, LEAF, WOOD


@dataclass(frozen=True)
class Wood:
    """The wood on one side of an opening.

    Parameters
    ----------
    number : of the opening in its row
    side : -1 below the leaf, 1 above it
    """

    number: int
    opening: RowOpening
    side: Literal[-1, 1]

    @property
    def edge(self) -> float:
        """Where it faces the leaf, mm."""
        edge = self.opening.sill if self.side < 0 else self.opening.head
        assert edge is not None
        return edge

    def ring(self, far: float) -> Floats:
        """Its corners, (n, 2) mm, convex; `far` is where it is cut off, away from the leaf."""
        first, start, stop, last = stations(self.opening)
        away = self.side
        points = [
            (first, far),
            (first, self.edge + away * self.opening.entry.rise),
            (start, self.edge),
            (stop, self.edge),
            (last, self.edge + away * self.opening.exit.rise),
            (last, far),
        ]
        return np.array([point for at, point in enumerate(points) if at == 0 or point != points[at - 1]])


def woods(row: Row) -> list[Wood]:
    """All wood of a row, so that what is farther from the leaf comes later.

    Wood that begins farther away hides what nearer wood would have behind it: a rib ends at the bottom panel above it.
    """
    found = []
    for number, opening in enumerate(row.openings):
        if opening.sill is not None:
            found.append(Wood(number, opening, -1))
        if opening.head is not None:
            found.append(Wood(number, opening, 1))
    return sorted(found, key=lambda wood: (wood.side * wood.edge, wood.opening.face))


def hidden_from(wood: Wood, others: list[Wood], x: float) -> float | None:
    """Where other wood begins to hide this one at x, mm; None where none does."""
    later = [
        other.edge
        for other in others
        if other is not wood
        and other.side == wood.side
        and other.side * other.edge > wood.side * wood.edge
        and other.opening.face <= x <= other.opening.end
    ]
    return min(later, key=lambda edge: wood.side * edge) if later else None


def leaf_ring(row: Row, pose: Pose) -> Floats:
    """The leaf's corners in a pose, (n, 2) mm, convex, from the lower rear one on."""
    run, rise, t = row.lead.run, row.lead.rise, row.thickness
    lower = (
        [(-row.length, 0.0), (-run, 0.0), (0.0, rise)] if run or rise else [(-row.length, 0.0), (0.0, 0.0)]
    )
    own = np.array(lower + [(u, t - w) for u, w in reversed(lower)])
    cosine, sine = np.cos(pose.tilt), np.sin(pose.tilt)
    return own @ np.array([[cosine, sine], [-sine, cosine]]) + (pose.travel, pose.height)


_SPACING: Final = 1.6
"""Between hatching lines, mm."""

_NARROWEST_BREAK: Final = 12.0
"""Width from which a cut has a zigzag, mm."""


@dataclass(frozen=True)
class Panel:
    """A window onto the row.

    Parameters
    ----------
    box : left, bottom, right, top on the sheet, mm
    x, z : of the row at the box's lower left corner, mm
    along, across : mm on the sheet for a mm along and across the travel
    """

    box: Rectangle
    x: float
    z: float
    along: float
    across: float

    def place(self, points: ArrayLike) -> Floats:
        """Points of the row, (n, 2) or (2,) mm, on the sheet."""
        scale = np.array([self.along, self.across])
        return (np.asarray(points, dtype=float) - (self.x, self.z)) * scale + self.box[:2]

    def across_at(self, z: float) -> float:
        """y on the sheet of a height of the row, mm."""
        return (z - self.z) * self.across + self.box[1]

    def along_at(self, x: float) -> float:
        """x on the sheet of a travel of the row, mm."""
        return (x - self.x) * self.along + self.box[0]

    @property
    def z_top(self) -> float:
        """Height of the row at the box's upper border, mm."""
        return self.z + (self.box[3] - self.box[1]) / self.across

    @property
    def x_right(self) -> float:
        """Travel of the row at the box's right border, mm."""
        return self.x + (self.box[2] - self.box[0]) / self.along


def draw_wood(drawing: Drawing, panel: Panel, row: Row, reach: tuple[float, float], where: str = "") -> None:
    """All wood of a row in section, cut off where it leaves the panel, or beyond a reach of heights, mm.

    Sections are hatched at 45 degrees; parts that are no windows lie against those that are and are hatched the
    other way (ISO 128-50, from memory). Another leaf need not be there: it is drawn as an adjacent part.

    Parameters
    ----------
    where : what to add to the names, in pictures that do not show by break lines where wood goes on
    """
    every = woods(row)
    low, high = max(reach[0], panel.z), min(reach[1], panel.z_top)
    with drawing.clipped(panel.box):
        for wood in every:
            far = low if wood.side < 0 else high
            if wood.side * (far - wood.edge) <= 0:
                continue
            ring = panel.place(wood.ring(far))
            opening = wood.opening
            # The cut is no edge of the part: its side of the ring has no outline.
            if opening.holds:
                drawing.fill([ring], WOOD, _named("wood", opening, where))
                drawing.hatch([ring], HATCH, _SPACING, 45 if opening.window else 135)
                drawing.polyline(ring, OUTLINE)
            else:
                drawing.fill([ring], WHITE, _named("other leaf", opening, where))
                drawing.polyline(ring, double_dashed())
    if not where:
        for wood in every:
            _draw_break(drawing, panel, wood, every, low if wood.side < 0 else high)


def _named(what: str, opening: RowOpening, where: str) -> str:
    return f"{what} {opening.label}".rstrip() + where


def _draw_break(drawing: Drawing, panel: Panel, wood: Wood, every: list[Wood], far: float) -> None:
    """The line along which wood is cut off, where it is not hidden there."""
    opening = wood.opening
    left, right = max(opening.face, panel.x), min(opening.end, panel.x_right)
    hidden = hidden_from(wood, every, (left + right) / 2)
    if left >= right or wood.side * (far - wood.edge) <= 0:
        return
    if hidden is not None and wood.side * (far - hidden) > 0:
        return
    a, b = panel.place((left, far)), panel.place((right, far))
    if b[0] - a[0] < _NARROWEST_BREAK:
        drawing.line(a, b, THIN)
    else:
        break_line(drawing, a, b, share=_share(panel, wood, every, float(a[0]), float(b[0])))


def _share(panel: Panel, wood: Wood, every: list[Wood], left: float, right: float) -> float:
    """Where a cut has its zigzag: near its middle, not where other wood is, whose name may point there."""
    others = [one.opening for one in every if one.number != wood.number]
    middles = [panel.along_at(one.face + one.board / 2) for one in others]
    shares = [0.5 + way * step for step in (0.0, 0.06, 0.12, 0.18) for way in (1, -1)]
    places = [left + share * (right - left) for share in shares]
    clear = [min((abs(x - middle) for middle in middles), default=99.0) for x in places]
    good = [share for share, room in zip(shares, clear, strict=True) if room > 5.0]
    return good[0] if good else shares[clear.index(max(clear))]


def draw_leaf(
    drawing: Drawing, panel: Panel, row: Row, pose: Pose, name: str, *, other: bool = False
) -> None:
    """The leaf in a pose: its outline, or with dashes and double dots as another position of it."""
    ring = panel.place(leaf_ring(row, pose))
    with drawing.clipped(panel.box):
        if other:
            drawing.polyline(ring, double_dashed(0.3), closed=True, name=name)
        else:
            drawing.fill([ring], LEAF, name)
            drawing.polyline(ring, OUTLINE, closed=True)


def draw_leaf_break(drawing: Drawing, panel: Panel, row: Row, pose: Pose) -> None:
    """The line along which the leaf is cut off at the panel's left border, if it reaches there."""
    ring = leaf_ring(row, pose)
    after = np.roll(ring, -1, axis=0)
    crossing = (ring[:, 0] < panel.x) != (after[:, 0] < panel.x)
    if crossing.sum() != 2:
        return
    a, b = ring[crossing], after[crossing]
    heights = a[:, 1] + (panel.x - a[:, 0]) / (b[:, 0] - a[:, 0]) * (b[:, 1] - a[:, 1])
    low, high = (min(max(panel.across_at(z), panel.box[1]), panel.box[3]) for z in sorted(heights))
    if high > low:
        break_line(drawing, (panel.box[0], low), (panel.box[0], high))


def draw_overlaps(drawing: Drawing, panel: Panel, row: Row, pose: Pose, name: str) -> None:
    """Where the leaf in a pose would be in the wood, hatched both ways.

    Parameters
    ----------
    name : of what is drawn; ``{}`` in it stands for the part's label
    """
    leaf = leaf_ring(row, pose)
    for wood in woods(row):
        far = panel.z - 1.0 if wood.side < 0 else panel.z_top + 1.0
        if not wood.opening.holds or wood.side * (far - wood.edge) <= CONTACT:
            continue
        both = overlap(wood.ring(far), leaf)
        if len(both) < 3 or np.ptp(both, axis=0).min() <= CONTACT:
            continue
        with drawing.clipped(panel.box):
            drawing.fill([panel.place(both)], BLOCKED, name.format(wood.opening.label).strip())
            cross_hatch(drawing, [panel.place(both)])
            drawing.polygon(panel.place(both), None, THIN)


def cross_hatch(drawing: Drawing, rings: list[Floats]) -> None:
    """Over the leaf in the wood."""
    for degrees in (45, 135):
        drawing.hatch(rings, Pen(0.25, WHITE), 1.1, degrees)


def amount(mm: float, units: Units) -> str:
    """A length without the dust of its arithmetic, with its unit."""
    return format_amount(mm, units)
