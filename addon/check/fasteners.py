"""Screws, brads and bolts: whether their tips stay in the wood, clear of edges and cuts, and a driver gets at them.

What stands in a leaf's way, or in another fastener, is found where all bodies are (`drawn_way`, `clearance.kernel`).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from ..sizes.arrays import Floats, Ints, ragged_rows, reduce_ragged
from ..sizes.tolerances import ANGLE, CONTACT
from ..wood.fasteners import Body, Fastener
from ..wood.solids.pieces import Pieces
from ..wood.voids import voids_of
from .causes import Cause
from .facts import Fact, Severity
from .in_wood import EDGE_RULES, Boards, EdgeRule, InWood
from .prepared import Prepared
from .spans import point


@dataclass(frozen=True)
class TipOut(Cause):
    """A tip stands out of its board, or too little wood is left between the two.

    Parameters
    ----------
    wood : ahead of the tip or beside it, mm; negative where it stands out
    beside : whether it comes out of a face along which it runs
    need : least wood, mm
    """

    fastener: Fastener
    board: str
    wood: float
    beside: bool
    need: float


@dataclass(frozen=True)
class TipShort(Cause):
    """A fastener that does not reach a board that it should hold."""

    fastener: Fastener
    board: str


@dataclass(frozen=True)
class InCut(Cause):
    """A fastener stands in a cut of one of its boards, or too near to it; brads with all that they may wander.

    Parameters
    ----------
    cut : in words
    distance : from the steel, mm; negative by how far it stands in the cut
    along : mm from the head
    """

    fastener: Fastener
    board: str
    cut: str
    distance: float
    along: float
    need: float


@dataclass(frozen=True)
class NearEdge(Cause):
    """A fastener too near to an edge or end of a board by one of the published rules.

    Parameters
    ----------
    into_edge : whether it goes into the edge of the board, between its faces
    distance, need : from its axis, mm
    """

    fastener: Fastener
    board: str
    of: Literal["edge", "end"]
    into_edge: bool
    distance: float
    need: float
    source: str

    @property
    def clamping(self) -> bool:
        """Whether it stands too near to a face between which it goes in: the glue has to carry."""
        return self.into_edge and self.of == "edge"

    @property
    def diameters(self) -> tuple[float, float]:
        """Both in diameters."""
        return self.distance / self.fastener.sizes.shank, self.need / self.fastener.sizes.shank


@dataclass(frozen=True)
class NoDriver(Cause):
    """Something stands behind a head that is in its place before the screw is driven.

    Parameters
    ----------
    by : label of what is there
    room, need : along the axis behind the head, mm
    """

    fastener: Fastener
    by: str
    room: float
    need: float


_WRENCH: Final = 10.0
"""Behind the head of a bolt, for a ring wrench from the side and the fingers that take the bolt back, mm (common
practice, no source)."""


def fastener_facts(prepared: Prepared) -> Iterator[Fact]:
    """All that is amiss with what holds the parts together; several facts of one fastener, each once."""
    assembly = prepared.assembly
    driven = [
        one for one in assembly.fasteners if one.kind != "leveling foot"
    ]  # these screw into a bored hole
    if not driven:
        return
    labels = dict.fromkeys(label for one in driven for label in one.joins)
    held = [assembly.by_label[label] for label in labels if label in assembly.by_label]
    rows = InWood.of(driven, Boards(held))
    limits = assembly.limits
    yield from _tips(rows, limits.tip_margin)
    yield from _cuts(rows, limits.tip_margin)
    yield from _edges(rows, EDGE_RULES[limits.edge_rule])
    yield from _drivers(prepared, limits.driver_length, limits.driver_width / 2)


def _tips(rows: InWood, margin: float) -> Iterator[Fact]:
    """Bolts go through; their tips are in their nuts."""
    wood, need, aside = rows.ahead(margin)
    reached = rows.leaves - rows.enters > CONTACT
    for row in np.flatnonzero(rows.is_last & ~rows.bolt & ~(reached & (wood >= need - CONTACT))):
        one, board = rows.fasteners[rows.number[row]], rows.part(int(row)).label
        parts, at = (one.label, board), point(one.tip)
        if not reached[row]:
            yield Fact("tip-short", "error", parts, at, 0.0, TipShort(one, board))
            continue
        left = float(wood[row])
        cause = TipOut(one, board, left, bool(aside[row]), float(need[row]))
        yield Fact("tip-out", _gravity(left), parts, at, cause.need - left, cause)


def _gravity(room: float) -> Severity:
    """Steel where it should not be at all, or only nearer than it should."""
    return "error" if room < -CONTACT else "warning"


def _cuts(rows: InWood, margin: float) -> Iterator[Fact]:
    """The nearest cut of each fastener in each board."""
    near = rows.from_cuts()
    order = np.lexsort([near.distance, near.row])
    first = np.unique(near.row[order], return_index=True)[1]
    for at in order[first]:
        distance, row = float(near.distance[at]), int(near.row[at])
        if distance >= margin - CONTACT:
            continue
        one, board = rows.fasteners[rows.number[row]], rows.part(row)
        along = float(near.along[at])
        cause = InCut(one, board.label, voids_of(board.shape).words[near.cut[at]], distance, along, margin)
        place = point(one.start + along * np.asarray(one.direction))
        yield Fact(
            "screw-in-cut", _gravity(distance), (one.label, board.label), place, margin - distance, cause
        )


def _edges(rows: InWood, rule: EdgeRule) -> Iterator[Fact]:
    """The distance that falls short by the most, of each fastener.

    A board that came out otherwise than drawn is left out: who drives the screw sees where its wood is.
    """
    edge, end, most = rows.diameters_to_rim(rule)
    needs = rule.needs(rows.brad, rows.axis != 2)
    drawn = np.array([rows.part(row).drawn is None for row in range(len(most))], dtype=bool)
    short = np.flatnonzero((most < 2 * rows.shank - CONTACT) & drawn)
    worst = short[np.lexsort([(most / rows.shank)[short], rows.number[short]])]
    for row in worst[np.unique(rows.number[worst], return_index=True)[1]]:
        one, board = rows.fasteners[int(rows.number[row])], rows.part(int(row)).label
        into_edge = bool(rows.axis[row] != 2)
        by_edge = edge[row] / needs[0, row] <= end[row] / needs[1, row]
        distance, times = (edge[row], needs[0, row]) if by_edge else (end[row], needs[1, row])
        cause = NearEdge(
            one, board, "edge" if by_edge else "end", into_edge, float(distance), float(times * one.sizes.shank),
            rule.source,
        )  # fmt: skip
        yield Fact(
            "edge-screw" if cause.clamping else "near-edge", "note" if cause.clamping else "warning",
            (one.label, board), point(one.tip if cause.clamping else one.start), cause.need - cause.distance, cause,
        )  # fmt: skip


def _drivers(prepared: Prepared, length: float, radius: float) -> Iterator[Fact]:
    """What is met first behind each head, of all that goes in before: planes and boxes moved outward by the radius."""
    assembly = prepared.assembly
    driven = [one for one in assembly.fasteners if one.kind not in ("brad", "leveling foot")]
    if not driven:
        return
    pieces, owner = prepared.scene.pieces, prepared.scene.owner
    stages = np.array([_stage(body) for body in assembly.bodies])
    standing = np.flatnonzero(np.isfinite(stages)[owner])
    start = np.array([one.start for one in driven], dtype=float)
    back = -np.array([one.direction for one in driven], dtype=float)
    needs = np.array(
        [_taken_back(prepared, one) + _WRENCH if one.kind == "bolt" else length for one in driven]
    )
    low, high = (end(start, start + needs[:, None] * back) for end in (np.minimum, np.maximum))
    own = np.zeros((len(driven), len(assembly.bodies)), dtype=bool)
    for at, one in enumerate(driven):
        for label in one.joins:
            if label in prepared.number:
                own[at, prepared.number[label]] = True
    before = np.where(own, np.where(np.isfinite(stages), stages, -np.inf), -np.inf).max(axis=1)
    meet = (pieces.low[standing] < (high + radius)[:, None]).all(axis=2)
    meet &= (pieces.high[standing] > (low - radius)[:, None]).all(axis=2)
    meet &= (stages < before[:, None])[:, owner[standing]] & ~own[:, owner[standing]]
    which, column = np.nonzero(meet)
    if not len(which):
        return
    piece = standing[column]
    enters = _first_met(pieces, piece, start[which], back[which], radius, float(needs.max()))
    order = np.lexsort([enters, which])
    for at in order[np.unique(which[order], return_index=True)[1]]:
        need = float(needs[which[at]])
        if enters[at] < need - CONTACT:
            one, by = driven[which[at]], assembly.bodies[owner[piece[at]]].label
            room = max(float(enters[at]), 0.0)
            cause = NoDriver(one, by, room, need)
            yield Fact("no-driver", "warning", (one.label, by), point(one.start), need - room, cause)


def _taken_back(prepared: Prepared, bolt: Fastener) -> float:
    """How far a bolt comes back before its boards come apart, mm: it may stay in the one under its head."""
    first = prepared.assembly.by_label.get(bolt.joins[0])
    square = first is not None and abs(float(first.placement.axes[2] @ bolt.direction)) > 1 - ANGLE
    kept = first.stock.thickness if first is not None and square else 0.0
    return max(bolt.sizes.length - bolt.sizes.head_height - kept, 0.0)


def _stage(body: Body) -> float:
    """When a part goes in; fasteners and what slides stand in no driver's way."""
    return np.inf if isinstance(body, Fastener) or body.role.slides else float(body.role.stage)


def _first_met(
    pieces: Pieces, piece: Ints, start: Floats, back: Floats, radius: float, length: float
) -> Floats:
    """(n,) how far lines run before they meet pieces grown by a radius, mm; infinite where they do not."""
    rows, runs = ragged_rows(pieces.plane_starts, piece)
    line = np.repeat(np.arange(len(piece)), np.diff(runs))
    normal, off = pieces.planes[rows, :3], pieces.planes[rows, 3] + radius
    rise = np.einsum("ni,ni->n", normal, back[line])
    above = off - np.einsum("ni,ni->n", normal, start[line])
    with np.errstate(divide="ignore", invalid="ignore"):
        at = above / rise
    flat = np.abs(rise) < ANGLE
    first = np.where(flat, np.where(above < 0, np.inf, 0.0), np.where(rise < 0, at, 0.0))
    last = np.where(flat, np.where(above < 0, -np.inf, length), np.where(rise > 0, at, length))
    enter = reduce_ragged(np.maximum, np.maximum(first, 0.0), runs)
    leave = reduce_ragged(np.minimum, last, runs)
    return np.where(enter < leave - CONTACT, enter, np.inf)
