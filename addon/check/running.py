"""The running clearance: how near a leaf is to the other parts at each place on its way, and where it is tightest.

Each place is a slide without travel, so its clearance is as exact as that of the whole way.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from ..sizes.tolerances import CONTACT
from ..wood.assembly import StowPath
from .causes import Point
from .clearance.kernel import Mover, Run, Slide
from .drawn_way import contacts_of, judged_clearance, opening_gaps, what_is_near
from .facts import Span
from .prepared import Prepared
from .spans import point, span_of_way

_WITHIN: Final = 4.0
"""mm; parts this near to a leaf are all looked at exactly, so that equal clearances are found equal."""

_AT_ONCE: Final = 8
"""Places that go through the kernel together: more would go through each other's pairs of pieces too often."""


@dataclass(frozen=True)
class Running:
    """How near a leaf is to the other parts at one place of its way.

    Parameters
    ----------
    travel : its nose past the outer face of the slot, mm
    clearance : mm; negative: the leaf and the nearest part overlap by so much
    against : label of the nearest part; among equals that whose place is the nearest to the nose
    span : the nearest points, on the leaf and on that part, in table coordinates, mm
    """

    leaf: str
    travel: float
    clearance: float
    against: str
    span: Span


@dataclass(frozen=True)
class TightPlace:
    """Where a leaf on its way comes as near to a part as to any.

    Parameters
    ----------
    travel : at which it first is that near, or begins to overlap, mm
    clearance : smallest signed distance over the whole way, mm; of a part on which the leaf rests, the room on its
        other sides
    near : which edge or part, in words
    at : place in table coordinates, mm
    """

    leaf: str
    part: str
    travel: float
    clearance: float
    near: str
    at: Point


def running_clearances(
    prepared: Prepared, travels: Mapping[str, ArrayLike], absent: Mapping[str, Collection[str]] | None = None
) -> dict[str, tuple[Running, ...]]:
    """The running clearance of leaves at several travels each, the other leaves stowed.

    A leaf's own end stop, which it touches stowed, is left out, as in the check of its whole way.

    Parameters
    ----------
    travels : leaf → (n,) float, mm; those before or beyond its way give the ends of it
    absent : leaf → labels of other leaves that are not there while it moves

    Raises
    ------
    KeyError
        for a leaf without a stow path
    """
    absent = absent or {}
    # A leaf that waits is asked for once.
    asked = {
        leaf: np.unique(np.asarray(values, dtype=float).ravel(), return_inverse=True)
        for leaf, values in travels.items()
    }
    runs: list[Run] = []
    for leaf, (values, _) in asked.items():
        path = prepared.assembly.path_of(leaf)
        away = {leaf, *absent.get(leaf, ())} | ({path.end_stop} if path.end_stop else set())
        numbers = {prepared.number[label] for label in away}
        # Through holes count: a leaf that stands still does not close them.
        mover = Mover(prepared.pieces[prepared.number[leaf]])
        runs += [Run(mover, np.zeros(3), path.offset_at(travel), numbers) for travel in values.tolist()]
    slides = (
        slide
        for first in range(0, len(runs), _AT_ONCE)
        for slide in prepared.scene.slides(runs[first : first + _AT_ONCE], _WITHIN)
    )
    found: dict[str, tuple[Running, ...]] = {}
    for leaf, (values, order) in asked.items():
        own = [_running(prepared, leaf, travel, next(slides)) for travel in values.tolist()]
        found[leaf] = tuple(own[place] for place in order.tolist())
    return found


def _running(prepared: Prepared, leaf: str, travel: float, slide: Slide) -> Running:
    path = prepared.assembly.path_of(leaf)
    smallest = slide.clearance.min(initial=np.inf)
    equal = np.flatnonzero(slide.exact & (slide.clearance <= smallest + CONTACT))
    contact = max((slide.contact(part) for part in equal.tolist()), key=lambda one: -one.place @ path.outward)
    label = prepared.assembly.bodies[contact.part].label
    span = span_of_way([slide], contact.part, contact)
    return Running(leaf, travel, float(slide.clearance[contact.part]), label, span)


def tight_places(prepared: Prepared, least: float = 0.0) -> dict[str, tuple[TightPlace, ...]]:
    """Where each leaf comes nearest to parts, and where it has less than `least` mm, on its way home.

    Parts that are equally near count once each. Where a leaf just rests on a part, the room on its other sides is
    judged, as in the check.

    Returns
    -------
    Leaf → its places in the order in which it comes to them.
    """
    paths = prepared.assembly.stow_paths
    within = max(least, _WITHIN)
    slides = prepared.slides(paths, within)
    return {
        path.leaf: _tight(prepared, path, own, least, within) for path, own in zip(paths, slides, strict=True)
    }


def _tight(
    prepared: Prepared, path: StowPath, slides: list[Slide], least: float, within: float
) -> tuple[TightPlace, ...]:
    rooms = {gap.part: gap for gap in opening_gaps(prepared, path)}
    found = []
    for number, contact, travel in contacts_of(path, slides, within):
        label = prepared.assembly.bodies[number].label
        judged = judged_clearance(contact, rooms.get(label))
        near = what_is_near(prepared, path.leaf, contact)
        found.append(TightPlace(path.leaf, label, travel, judged, near, point(contact.place)))
    limit = max(least - CONTACT, min((place.clearance for place in found), default=0.0) + CONTACT)
    return tuple(sorted((one for one in found if one.clearance <= limit), key=lambda one: one.travel))
