"""What can be done about a part that was cut: wood taken away, a gap packed, or a new part.

The file gets what the part measures then: a changed `as_cut` entry, or further ones.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf
from typing import Final, Literal, NamedTuple

import numpy as np

from ....sizes.words import listed
from ....wood.as_cut import drawn_dimension
from ....wood.dimensions import PLACE
from ....wood.features import End, Groove
from ....wood.part import Part
from ....wood.roles import LEAF
from ...findings import Change, Remedy, Sized
from .case import Case, Cut

Edge = Literal["upper", "lower", "left", "right"]
"""Edges of an opening, as the leaf's nose looks on its way home."""

FARTHER: Final = 10.0
"""So much more than geometry asks for is tried when wood is taken away, mm."""

_SIZE: Final = "<size>"
"""Where a size goes in words that are put together before it is known."""

Entry = dict[str, str | float]
"""Keys and values of an `as_cut` entry."""


def added(case: Case, entries: Sequence[Entry]) -> tuple[Change, ...]:
    """Further `as_cut` entries."""
    first = len(case.table.as_cut)
    return tuple(
        Change(f"as_cut[{first + number}].{key}", value)
        for number, entry in enumerate(entries)
        for key, value in entry.items()
    )


def _with(case: Case, cut: Cut, off: float) -> Change:
    """An entry with another difference from the drawing."""
    if cut.entry.deviation is not None:
        return Change(f"as_cut[{cut.number}].deviation", case.finely(off))
    drawn = drawn_dimension(case.assembly.by_label[cut.entry.part], cut.entry)
    return Change(f"as_cut[{cut.number}].value", drawn if off == 0 else case.finely(drawn + off))


# -- a new part, or a packed gap
# --------------------------------------------------------------------------------------------------------------------


def remade(case: Case, label: str) -> Remedy | None:
    """A new part as drawn; None where it is that already."""
    cuts = case.cuts([label])
    if not cuts:
        return None
    changes = tuple(_with(case, cut, 0.0) for cut in cuts)
    if all(cut.entry.dimension in PLACE for cut in cuts):
        return Remedy(f"Set {label} where it is drawn", changes)
    return Remedy(f"Cut {new_part(case, label)}", changes)


def new_part(case: Case, label: str) -> str:
    """``a new B1 from a sheet 12.0 mm thick, if B1 is not glued yet``; the sheet where that was another than drawn."""
    sheet = ""
    if any(cut.entry.dimension == "thickness" for cut in case.cuts([label])):
        sheet = f" from a sheet {case.words(case.assembly.by_label[label].drawn_shape.thickness)} thick"
    return f"a new {label}{sheet}{case.until_glued([label])}"


# -- ends and edges
# --------------------------------------------------------------------------------------------------------------------


def trimmed(case: Case, cut: Cut, need: float, most: float | None = None) -> Sized | None:
    """Wood off the end or edge where a part was cut too large; None where it was not.

    Parameters
    ----------
    need, most : mm; by default as far as the drawing
    """
    if cut.off <= 0 or cut.entry.dimension not in ("length", "width"):
        return None
    where = edge_words(case, cut.entry.part, cut.entry.dimension, cut.entry.end or "end")
    loose = case.until_glued([cut.entry.part]) if cut.entry.dimension == "length" else ""

    def of(mm: float) -> Remedy:
        return Remedy(f"Trim {case.given(mm)} off {where}{loose}", (_with(case, cut, cut.off - mm),))

    return Sized(of, need, cut.off if most is None else most)


def ends_trimmed(case: Case, ends: Sequence[tuple[str, End]], need: float, most: float) -> Sized:
    """As much off each of some parts' ends."""
    where = [edge_words(case, label, "length", end) for label, end in ends]
    loose = case.until_glued(label for label, _ in ends)

    def of(mm: float) -> Remedy:
        entries: list[Entry] = [
            {"part": label, "dimension": "length", "deviation": -mm, "end": end} for label, end in ends
        ]
        return Remedy(f"Trim {case.given(mm)} off {listed(where)}{loose}", added(case, entries))

    return Sized(of, need, most)


def edge_words(case: Case, label: str, dimension: str, end: str) -> str:
    """``the end of R3 at S2``, ``the upper edge of R3``, ``one long edge of L1``."""
    part = case.assembly.by_label[label]
    if dimension == "length":
        at = next((one.b for one in case.assembly.joints if (one.a, one.part_end) == (label, end)), "")
        if at:
            return f"the end of {label} at {at}"
        upright = abs(float(part.placement.axes[0, 2])) > 0.5
        return (
            f"the {'upper' if end == 'end' else 'lower'} end of {label}" if upright else f"one end of {label}"
        )
    if abs(float(part.placement.axes[1, 2])) > 0.5:
        return f"the {'upper' if end == 'end' else 'lower'} edge of {label}"
    return f"one {'long ' if part.role == LEAF else ''}edge of {label}"


# -- openings
# --------------------------------------------------------------------------------------------------------------------


class Widening(NamedTuple):
    """An edge of the slot or window of a leaf in a part."""

    part: str
    leaf: str
    edge: Edge


def widened(case: Case, edges: Sequence[Widening], need: float) -> Sized | None:
    """As much wood off each of some edges of slots and windows; None where there are none."""
    if not edges:
        return None
    words = _widening_words(case, edges)
    if case.until_glued(one.part for one in edges):
        words += ", glued or not"

    def of(mm: float) -> Remedy:
        entries = [_widening(case, one, mm) for one in edges]
        return Remedy(words.replace(_SIZE, case.given(mm)), added(case, entries))

    return Sized(of, need, need + FARTHER)


def _widening(case: Case, one: Widening, mm: float) -> Entry:
    part = case.assembly.by_label[one.part]
    opening = next(own for own in part.shape.openings if own.leaf == one.leaf)
    upright = one.edge in ("upper", "lower")
    at_start = one.edge == "lower" if upright else _is_start(case, part, one)
    return {
        "part": one.part,
        "dimension": opening.named("height" if upright else "width"),
        "deviation": mm,
        "end": "start" if at_start else "end",
        "leaf": one.leaf,
    }


def _is_start(case: Case, part: Part, one: Widening) -> bool:
    """Whether the left or right edge of an opening is the one at its part's start."""
    left = np.cross([0.0, 0.0, 1.0], -case.assembly.path_of(one.leaf).outward)
    along = float(left @ part.placement.axes[0]) * (1.0 if one.edge == "left" else -1.0)
    return along < 0


def _widening_words(case: Case, edges: Sequence[Widening]) -> str:
    """``Widen the slot of L1 in S1 by <size> at its upper edge``; which slots and windows, and at which edges."""
    of_edges: dict[tuple[Edge, ...], list[tuple[str, str]]] = {}
    for label, leaf in dict.fromkeys((one.part, one.leaf) for one in edges):
        own: tuple[Edge, ...] = tuple(one.edge for one in edges if (one.part, one.leaf) == (label, leaf))
        of_edges.setdefault(own, []).append((label, leaf))
    clauses = []
    for own, openings in of_edges.items():
        which = "its" if len(openings) == 1 else "their"
        names = f"{which} {listed(own)} edge{'s' if len(own) > 1 or len(openings) > 1 else ''}"
        if {"left", "right"} & set(own):
            sides = dict.fromkeys(case.assembly.path_of(leaf).side for _, leaf in openings)
            names += f", seen from {listed(list(sides))}"
        clauses.append(f"{_openings_words(case, openings)} by {_SIZE} at {names}")
    return f"Widen {' and '.join(clauses)}"


def _openings_words(case: Case, openings: Sequence[tuple[str, str]]) -> str:
    """``the slot of L1 in S1``, ``the slot and windows of L1 in S1, R6 and R11``."""
    clauses = []
    for leaf in dict.fromkeys(leaf for _, leaf in openings):
        labels = [label for label, own in openings if own == leaf]
        kinds = [
            next(one.kind for one in case.assembly.by_label[label].shape.openings if one.leaf == leaf)
            for label in labels
        ]
        names = [kind + ("s" if kinds.count(kind) > 1 else "") for kind in dict.fromkeys(kinds)]
        clauses.append(f"the {listed(names)} of {leaf} in {listed(labels)}")
    return listed(clauses)


# -- grooves
# --------------------------------------------------------------------------------------------------------------------


def grooves_cut(case: Case, panel: str, labels: Sequence[str]) -> Sized | None:
    """Grooves made as wide, high and deep as a panel in them needs; None where they hold it as they are."""
    found = [one for label in labels for one in _groove_lacks(case, panel, label)]
    if not found:
        return None

    def of(mm: float) -> Remedy:
        entries: list[Entry] = []
        clauses = []
        for label, what, _ in found:
            if what == "depth":
                entries.append({"part": label, "dimension": "groove_depth", "deviation": mm})
            else:
                end = "end" if what == "upper" else "start"
                entries.append({"part": label, "dimension": "groove_width", "deviation": mm, "end": end})
        for what in dict.fromkeys(one[1] for one in found):
            those = [label for label, own, _ in found if own == what]
            name = f"groove{'s' if len(those) > 1 else ''} in {listed(those)}"
            which = "their" if len(those) > 1 else "its"
            if what == "depth":
                clauses.append(f"rout the {name} {case.given(mm)} deeper")
            else:
                ends = "edges" if len(those) > 1 else "edge"
                clauses.append(f"widen the {name} by {case.given(mm)} at {which} {what} {ends}")
        text = " and ".join(clauses)
        return Remedy(text[0].upper() + text[1:], added(case, entries))

    need = max(lack for _, _, lack in found)
    return Sized(of, need, need + FARTHER)


def _groove_lacks(
    case: Case, panel: str, label: str
) -> list[tuple[str, Literal["upper", "lower", "depth"], float]]:
    """By how much a groove is too small for the panel at its upper and lower edge, and in depth, mm."""
    low, high = case.assembly.by_label[panel].box
    side = case.assembly.by_label[label]
    groove = next((one for one in side.shape.features if isinstance(one, Groove) and one.holds), None)
    if groove is None:
        return []
    depth = groove.depth if groove.face == "front" else side.shape.thickness - groove.depth
    corners = side.placement.to_table(
        np.array([[groove.u0, groove.v0, depth], [groove.u1, groove.v1, depth]])
    )
    bottom, top = float(corners[:, 2].min()), float(corners[:, 2].max())
    axis = int(np.abs(side.placement.axes[2]).argmax())
    wall = float(corners[0, axis])
    over = float(high[axis]) - wall if wall > 0 else wall - float(low[axis])
    lacks: list[tuple[str, Literal["upper", "lower", "depth"], float]] = [
        (label, "upper", float(high[2]) - top),
        (label, "lower", bottom - float(low[2])),
        (label, "depth", over if over < inf else 0.0),
    ]
    return [one for one in lacks if one[2] > 1e-6]
