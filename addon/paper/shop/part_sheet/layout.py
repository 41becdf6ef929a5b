"""Where the views of a part stand in a box, at which scale, and which sections it needs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from ....shop.part_sheets import PartSheet
from ....sizes.arrays import Floats
from ....wood.features import AngledHole, EdgeTreatment, Feature, Groove, Hole, Opening
from ....wood.part import Shape
from ...sheet.clip import Rectangle
from ...sheet.sheet import scale_name
from .views import SCALES, Along, View, along, section

_LEFT: Final = 24.0
"""Left of the front view, for the numbers of heights, mm."""

RIGHT: Final = 24.0
"""Right of it."""

_RUN: Final = 17.0
"""Above it, where places along the board are counted."""

TIER: Final = 5.2
"""From one dimension line to the next, mm."""

_LOWEST: Final = 8.0
"""Height of an opening in which a dimension is written, mm."""

_FLAT: Final = 26.0
"""Height of a front view at which slots are told apart, mm."""


@dataclass(frozen=True)
class Cut:
    """A section: square to u (axis 0) or to v (axis 1), its letter, and what is cut."""

    axis: int
    at: float
    letter: str


@dataclass(frozen=True, eq=False)
class Layout:
    """Where the views of a part stand."""

    front: View
    edge: View
    sections: tuple[tuple[Cut, View], ...]

    @property
    def scale(self) -> str:
        """Of front and edge view."""
        return scale_name(self.front.x.scale)


# -- sections


def cuts_of(sheet: PartSheet) -> Iterator[Cut]:
    """Sections that show what is cut into the board: up to two across it, and one along it for its ends. Holes at an
    angle are seen in full where the board is drawn from above."""
    shape = sheet.shape
    left = [one.feature for one in sheet.features if not isinstance(one.feature, AngledHole)]
    places = sorted({round(_middle(shape, one), 6) for one in left})
    letters = iter("ABC")
    profiles: list[list[Floats]] = []
    while len(profiles) < 2:
        shown = {at: [one for one in left if _crosses(shape, one, at)] for at in places}
        if not any(shown.values()):
            break
        best = max(places, key=lambda at: (len(shown[at]), -at))
        profile = section(shape, 0, best)
        if not any(_alike(profile, other) for other in profiles):
            profiles.append(profile)
            yield Cut(0, best, next(letters))
        left = [one for one in left if all(one is not other for other in shown[best])]
    ends = [one for one in left if not isinstance(one, Opening | Groove | Hole)]
    if ends:
        taken = [(one.v0, one.v1) for one in shape.openings]
        taken += [(one.v - one.widest / 2, one.v + one.widest / 2) for one in shape.holes]
        low, high = shape.blank.low[1], shape.blank.high[1]
        heights = [low + share * (high - low) for share in (0.5, 0.75, 0.25, 0.9, 0.1)]
        free = [v for v in heights if not any(a - 1 < v < b + 1 for a, b in taken)]
        yield Cut(1, (free or heights)[0], next(letters))


def _alike(rings: Sequence[Floats], others: Sequence[Floats]) -> bool:
    """Whether two sections look the same."""
    one, other = (sorted(_moments(ring) for ring in each) for each in (rings, others))
    return len(one) == len(other) and bool(np.allclose(one, other, atol=0.01))


def _moments(ring: Floats) -> tuple[float, ...]:
    """Box and area of a ring, mm and mm²: what corners along straight lines do not change."""
    low, high, after = ring.min(axis=0), ring.max(axis=0), np.roll(ring, -1, axis=0)
    area = abs(float((ring[:, 0] * after[:, 1] - ring[:, 1] * after[:, 0]).sum())) / 2
    return tuple(round(float(one), 2) for one in (*low, *high, area))


def _middle(shape: Shape, feature: Feature) -> float:
    low, high = feature.bounds(shape.blank)
    return float((max(low[0], shape.blank.low[0]) + min(high[0], shape.blank.high[0])) / 2)


def _crosses(shape: Shape, feature: Feature, at: float) -> bool:
    """Whether a section square to u shows what a feature is like."""
    if isinstance(feature, Hole):
        return abs(feature.u - at) < feature.diameter / 4
    low, high = feature.bounds(shape.blank)
    if not low[0] < at < high[0]:
        return False
    if isinstance(feature, Opening | Groove):
        return True
    edge = getattr(feature, "edge", None)
    return edge is not None and abs(shape.blank.edge(edge).along[0]) > 0.99


# -- where the views stand


@dataclass(frozen=True)
class _Room:
    """What the views of a part may take, mm on the paper: beside, above and below the front view, and for it."""

    left: float
    above: float
    below: float
    width: float
    height: float


def layout_of(sheet: PartSheet, cuts: Sequence[Cut], box: Rectangle) -> Layout:
    """Where all views of a part stand in a box, the section along it smaller where that lets the others be larger."""
    blank = sheet.shape.blank
    lying_scale, room = 1.0, _room(sheet, cuts, box, 1.0)
    scale, x = _front(sheet, cuts, room)
    if any(cut.axis == 1 for cut in cuts):
        other = _room(sheet, cuts, box, 0.5)
        larger = _front(sheet, cuts, other)
        if larger[0] > scale:
            lying_scale, room, (scale, x) = 0.5, other, larger
    thick, sign = blank.thickness, _sign(sheet)
    height = (blank.high[1] - blank.low[1]) * scale
    front_x = x.moved(box[0] + room.left + max(room.width - (x.high - x.low), 0.0) / 2)
    spare = max(room.height - height - thick * scale, 0.0)
    front_bottom = box[3] - room.above - height - min(spare / 3, 8.0)
    front = View(front_x, Along(((blank.low[1], blank.high[1], front_bottom),), scale), (sign, 1))
    edge_bottom = front_bottom - room.below - thick * scale - 2.0
    w_low = -thick if sign > 0 else 0.0
    edge = View(front_x, Along(((w_low, w_low + thick, edge_bottom),), scale), (sign, -sign))
    sections = []
    at = front.box[2] + RIGHT - 2.0
    heights = _stations(sheet, 1, cuts)
    for cut in cuts:
        if cut.axis == 0:
            aside = at, box[1], at + thick + 10.0, box[3]
            sections.append((cut, _across_view(sheet, aside, heights, front)))
            at += thick + 13.0
        else:
            sections.append((cut, _lying_view(sheet, front_x, edge_bottom - 7.0, lying_scale)))
    return Layout(front, edge, tuple(sections))


def _sign(sheet: PartSheet) -> int:
    """Which way u runs on the paper."""
    return 1 if sheet.face == "back" else -1


def _room(sheet: PartSheet, cuts: Sequence[Cut], box: Rectangle, lying_scale: float) -> _Room:
    left, bottom, right, top = box
    thick = sheet.shape.thickness
    run_axes = {one.span.axis for one in sheet.entries if one.span and one.span.kind == "running"}
    above, beside = _RUN if 0 in run_axes else 2.0, _LEFT if 1 in run_axes else 8.0
    below = 4.0 + TIER * outer(sheet, 0)
    aside = sum(cut.axis == 0 for cut in cuts) * (thick + 13.0)
    ends = sum(cut.axis == 1 for cut in cuts) * (thick * lying_scale + 12.0)
    width = right - left - beside - RIGHT - aside
    return _Room(beside, above, below, width, top - bottom - above - below - ends - 10.0)


def _front(sheet: PartSheet, cuts: Sequence[Cut], room: _Room) -> tuple[float, Along]:
    """Scale of the front view and its axis along the board."""
    shape, blank, sign = sheet.shape, sheet.shape.blank, _sign(sheet)
    width = blank.high[1] - blank.low[1]
    wanted = _FLAT if cuts else 9.0
    if shape.openings:
        wanted = max(wanted, _LOWEST * width / min(one.v1 - one.v0 for one in shape.openings))
    places = [sign * u for u in _stations(sheet, 0, cuts)]
    low, high = sorted((sign * blank.low[0], sign * blank.high[0]))
    scales = [one for one in SCALES if (width + shape.thickness) * one <= room.height] or [SCALES[-1]]
    fits = [(scale, along(low, high, places, scale, room.width)) for scale in scales]
    found = [(scale, x) for scale, x in fits if x is not None]
    if not found:
        # Too many places to see each: the board is broken in its middle.
        x = along(low, high, [], scales[0], room.width)
        found = [(scales[0], x or Along(((low, high, 0.0),), scales[0]))]
    return _chosen(found, width, wanted)


def outer(sheet: PartSheet, axis: int) -> int:
    """How many dimension lines beside the front view are kept room for."""
    kinds = [one.span.kind for one in sheet.entries if one.span is not None and one.span.axis == axis]
    return min(kinds.count("size"), 3) + ("inside" in kinds)


def _chosen(fits: Sequence[tuple[float, Along]], height: float, wanted: float) -> tuple[float, Along]:
    """Whole where that shows enough; else broken, no larger than needed."""
    fits = [one for one in fits if one[0] <= 1.0 or height < 15.0] or fits
    whole = [one for one in fits if not one[1].broken]
    if whole and height * whole[0][0] >= wanted:
        return whole[0]
    enough = [one for one in fits if height * one[0] >= wanted]
    if enough:
        return enough[-1]
    return fits[0]


def _stations(sheet: PartSheet, axis: int, cuts: Sequence[Cut]) -> list[float]:
    """Places along an axis that have to be seen."""
    found = [corner[axis] for corner in sheet.shape.outline]
    for one in sheet.entries:
        if one.span is not None:
            found += [one.span.low, one.span.high] if one.span.axis == axis else list(one.span.beside)
    for lettered in sheet.features:
        feature = lettered.feature
        if isinstance(feature, EdgeTreatment):
            continue
        low, high = feature.bounds(sheet.shape.blank)
        found += [low[axis], high[axis]]
    found += [cut.at for cut in cuts if cut.axis == axis and not _inside_any(found, cut.at)]
    return found


def _inside_any(found: Sequence[float], at: float) -> bool:
    return any(abs(one - at) < 1.0 for one in found)


def _across_view(sheet: PartSheet, box: Rectangle, stations: Sequence[float], front: View) -> View:
    """Beside the front view, as large as its thickness shows well."""
    blank = sheet.shape.blank
    left, bottom, right, top = box
    room = top - bottom - 9.0
    scale, y = front.y.scale, front.y
    for one in SCALES:
        if one > 1.0 or one < scale:
            continue
        found = along(blank.low[1], blank.high[1], stations, one, room)
        if found is not None:
            scale, y = one, found
            break
    height = y.high - y.low
    y = y.moved(min(max(front.box[3] - height, bottom + 1.0), top - 6.0 - height) - y.low)
    back = sheet.face == "back"
    low = 0.0 if back else -blank.thickness
    start = (left + right - blank.thickness * scale) / 2
    return View(Along(((low, low + blank.thickness, start),), scale), y, (1 if back else -1, 1))


def _lying_view(sheet: PartSheet, front_x: Along, top: float, scale: float) -> View:
    """Below the view from above: both ends, what is between them left out."""
    blank, sign = sheet.shape.blank, _sign(sheet)
    low, high = sorted((sign * blank.low[0], sign * blank.high[0]))
    x = along(low, high, [], scale, min(front_x.high - front_x.low, 110.0))
    x = x or front_x.moved(-front_x.low)
    bottom = -blank.thickness if sign > 0 else 0.0
    y = Along(((bottom, bottom + blank.thickness, top - blank.thickness * x.scale),), x.scale)
    return View(x.moved((front_x.low + front_x.high - (x.high - x.low)) / 2), y, (sign, -sign))
