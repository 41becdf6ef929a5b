"""Leaves and ribs that are not flat: what bow and twist do to the wood of a row, as forms of its openings.

                .--------.            A bowed leaf z = c + s·x - k·(x - m)², its middle at m, among openings at x is a
     sills  .--'##      ##'--.        flat one among openings that are k·(x - m)² higher. Wherever m is on the way: what
          ##                  ##      another m adds is linear in x, and the leaf may lie higher and lean.

A twisted one has edges of slopes that differ by 2·δ: between openings l apart it takes δ·l of their height, no more
than if each of them, at x, were narrower by δ·|x - c| above and below, whatever c is.

A rib is a strip of the sheet on edge, and bows sideways between the places a and b where other parts hold it: by
4·(x - a)·(b - x)/l² of its bow over the longest of these stretches, l. That moves the wood beside a leaf's way; what it
does to windows, which stay as high and wide and come out a little sooner or later on the way, is not followed.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Final

import numpy as np

from ...sizes.arrays import Floats
from ...wood.assembly import Assembly
from ...wood.part import Part
from ...wood.roles import RIB
from ..row.leaf_rows import LeafRow
from ..row.profile import SQUARE, Row, RowOpening
from ..sheets import held_at
from .deviations import Form, Register, added

OpeningForms = tuple[Form, Form, Form, Form]
"""Of an opening's face, board, sill and head."""

_PIECES: Final = 8
"""Wood beside a bowed leaf's way is taken in at most so many pieces from the leaf's middle to either end, over each of
which the curve rises alike; it is nowhere more than half of that off."""

_RISE: Final = 0.06
"""mm; pieces over which the curve would rise by less are not told apart."""

_STRETCH: Final = 3
"""Pieces of a rib between two places that hold it; the middle one is as far off as its middle."""

_SEEN: Final = 0.02
_SHARE: Final = 0.05
"""A bow of less, mm, or of less than this share of the room beside the leaf, is not followed."""


def lengthwise(assembly: Assembly, one: LeafRow) -> bool:
    """Whether a leaf's length runs along its way."""
    return abs(float(assembly.by_label[one.leaf].placement.axes[0] @ one.frame[0])) > 0.5


def with_ribs_in_pieces(one: LeafRow, assembly: Assembly) -> LeafRow:
    """A row in the plan view with ribs beside the way in pieces where their sheet is bowed."""
    if one.view == "side":
        return one
    openings: list[RowOpening] = []
    for opening in one.row.openings:
        held = _stretches(one, opening, assembly)
        places = [a + (b - a) * k / _STRETCH for a, b in held for k in range(_STRETCH + 1)]
        openings += _cut_at(opening, places)
    return replace(one, row=replace(one.row, openings=tuple(openings)))


def bow_of_rib(one: LeafRow, opening: RowOpening, register: Register) -> Form:
    """How far a piece of a rib beside a leaf's way is off across the way, by its bow."""
    middle = (opening.face + opening.end) / 2
    held = _stretches(one, opening, register.assembly)
    a, b = next(((a, b) for a, b in held if a <= middle <= b), (middle, middle))
    if a == b:
        return {}
    part = register.assembly.by_label[opening.label]
    longest = max(end - start for start, end in pairwise(held_at(register.assembly, part)))
    toward = float(part.placement.axes[2] @ one.frame[1])
    return added((register.bow(part, longest), 4 * toward * (middle - a) * (b - middle) / longest**2))


def _stretches(one: LeafRow, opening: RowOpening, assembly: Assembly) -> list[tuple[float, float]]:
    """Stretches of the travel along which a rib beside the way may bow toward it, mm; of anything else none, nor where
    the bow is nothing beside the room there."""
    part = assembly.by_label[opening.label]
    if one.view == "side" or opening.window or part.role != RIB or not part.stock.bow or part.grain != "u":
        return []
    if abs(float(part.placement.axes[0] @ one.frame[0])) < 0.5:
        return []
    low = one.row.rest
    room = low - opening.sill if opening.sill is not None else (opening.head or 0.0) - low - one.row.thickness
    least = max(_SEEN, _SHARE * room)
    start, sign = float(one.frame[0] @ one.origin), float(one.frame[0].sum())
    places = sorted(sign * place - start for place in held_at(assembly, part))
    curve = part.stock.bow / part.stock.sheet_length**2
    return [(a, b) for a, b in pairwise(places) if curve * (b - a) ** 2 >= least]


def with_pieces(one: LeafRow, leaf: Part, *, along: bool) -> LeafRow:
    """A row in the side view with long wood in pieces where its leaf is bowed along the way."""
    if one.view == "plan" or not leaf.stock.bow or not along:
        return one
    half, middle = one.row.length / 2, _middle(one.row)
    rises = min(_PIECES, math.ceil(leaf.stock.bow * (one.row.length / leaf.stock.sheet_length) ** 2 / _RISE))
    out = [half * math.sqrt(k / rises) for k in range(rises + 1)]
    places = [middle + sign * far for far in out for sign in (-1.0, 1.0)]
    openings = tuple(piece for opening in one.row.openings for piece in _cut_at(opening, places))
    return replace(one, row=replace(one.row, openings=openings))


def _cut_at(opening: RowOpening, places: Sequence[float]) -> Iterator[RowOpening]:
    """Wood beside a leaf's way in pieces that follow each other, chamfered at its ends; mm."""
    first, last = opening.face + opening.entry.run, opening.end - opening.exit.run
    between = [] if opening.window else sorted({place for place in places if first < place < last})
    ends = [opening.face, *between, opening.end]
    for number, (start, end) in enumerate(pairwise(ends)):
        yield replace(
            opening,
            face=start,
            board=end - start,
            entry=opening.entry if number == 0 else SQUARE,
            exit=opening.exit if number == len(ends) - 2 else SQUARE,
        )


def _reach(row: Row) -> Floats:
    """(openings, 2) float, mm: from where to where a leaf that is home lies in each."""
    reach = np.array([(own.face, own.end) for own in row.openings]).reshape(-1, 2)
    return reach.clip(row.travel - row.length, row.travel)


def _middle(row: Row) -> float:
    """Middle of all openings that a leaf lies in when it is home, mm."""
    reach = _reach(row)
    return float(reach.min(initial=row.travel) + reach.max(initial=row.travel - row.length)) / 2


def not_flat(
    one: LeafRow, openings: Sequence[OpeningForms], register: Register, *, along: bool
) -> list[OpeningForms]:
    """The forms of openings in the side view with what bow and twist of the leaf take of their height.

    Parameters
    ----------
    along : whether the leaf bows along its way
    """
    leaf, row = register.assembly.by_label[one.leaf], one.row
    bow = register.bow(leaf, leaf.shape.size[0 if leaf.grain == "u" else 1], one_sided=not along)
    twist, away = register.twist(leaf), _reach(row) - _middle(row)
    # Bowed along the way by b over its length l, k = 4·b/l²; bowed across it, the arc is b high all along.
    rise = 4 * (away**2).mean(axis=1) / row.length**2 if along else np.zeros(len(away))
    less, turned = (0.0 if along else -1.0), np.abs(away).max(axis=1) / (2 * row.length)
    return [
        (
            face,
            board,
            added((sill, 1.0), (bow, up), (twist, by)),
            added((head, 1.0), (bow, up + less), (twist, -by)),
        )
        for (face, board, sill, head), up, by in zip(openings, rise.tolist(), turned.tolist(), strict=True)
    ]
