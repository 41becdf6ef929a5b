"""Elastic sag of a leaf: of its free nose on the way home, and of the covering leaf across the well.

There a leaf with a load on it sags beside its neighbors: that is the step between them. Handbook mechanics of straight
beams: rigid supports, dry wood, no bow. Moduli scatter by a tenth and more.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from ...sizes.arrays import Floats
from ...sizes.tolerances import CONTACT
from ...wood.assembly import Assembly
from ...wood.limits import Limits
from ...wood.part import Part
from ...wood.stock import Stock
from ..row.profile import Row
from .beams import Overhang, deflection, fields, second_moment

GRAVITY: Final = 9.80665
"""Standard gravity, m/s² (3rd CGPM, 1901)."""

_PER_MM3: Final = 1e-9
"""Cubic meters in a cubic millimeter."""

BIRCH: Final = np.array(
    [
        (6.5, 12737.0, 4763.0),
        (9.0, 11395.0, 6105.0),
        (12.0, 10719.0, 6781.0),
        (15.0, 10316.0, 7184.0),
        (18.0, 10048.0, 7452.0),
        (21.0, 9858.0, 7642.0),
        (24.0, 9717.0, 7783.0),
    ]
)
"""Birch plywood: nominal thickness in mm, mean modulus of elasticity in bending along and across the face grain in
N/mm². Handbook of Finnish Plywood, from memory; each pair sums to 17 500."""

Material = Literal["plywood", "solid wood"]

CREEP: Final[dict[Material, tuple[float, float, float]]] = {
    "plywood": (0.80, 1.00, 2.50),
    "solid wood": (0.60, 0.80, 2.00),
}
"""Deformation factor k_def in service classes 1 (heated rooms), 2 and 3: EN 1995-1-1:2004, Table 3.2, from memory."""


class Moduli(NamedTuple):
    """Moduli of elasticity in bending, along and across the face grain, N/mm²."""

    along: float
    across: float


def birch_moduli(nominal: float) -> Moduli:
    """Moduli of birch plywood, interpolated in `BIRCH` by nominal thickness in mm; the ends' values beyond them."""
    along, across = (float(np.interp(nominal, BIRCH[:, 0], BIRCH[:, column])) for column in (1, 2))
    return Moduli(along, across)


def moduli(stock: Stock) -> Moduli:
    """A stock's own moduli, and birch plywood's where it says none."""
    birch = birch_moduli(stock.nominal)
    return Moduli(
        birch.along if stock.modulus_along is None else stock.modulus_along,
        birch.across if stock.modulus_across is None else stock.modulus_across,
    )


def final(instant: ArrayLike, service_class: int = 1, material: Material = "plywood") -> Floats:
    """Deflection under a lasting load after years: u_inst·(1 + k_def). EN 1995-1-1:2004, 2.2.3, from memory."""
    return np.asarray(instant, dtype=float) * (1 + CREEP[material][service_class - 1])


@dataclass(frozen=True)
class Board:
    """A board as a beam.

    Parameters
    ----------
    stiffness : E·I, N·mm²
    weight : N/mm of its length
    """

    stiffness: float
    weight: float


def board(width: float, thickness: float, stock: Stock, along: bool = True) -> Board:
    """A plain board that bends over its thickness, its length along or across the face grain; mm."""
    weight = stock.density * _PER_MM3 * GRAVITY * width * thickness
    return Board(_modulus(stock, along) * float(second_moment(width, thickness)), weight)


def leaf_board(leaf: Part, lengthwise: bool = True) -> Board:
    """A leaf that bends along its length, or along its width: everywhere as stiff as its weakest section, its weight
    evenly spread. Rim strips are reckoned as wood of the leaf's own stock."""
    own = fields(leaf.shape, 0 if lengthwise else 1)
    modulus = _modulus(leaf.stock, (leaf.grain == "u") == lengthwise)
    weight = leaf.stock.density * _PER_MM3 * GRAVITY * own.volume / float(own.lengths.sum())
    return Board(modulus * float(own.second_moments.min()), weight)


def _modulus(stock: Stock, along: bool) -> float:
    """Where no grain is minded, a part may be cut either way: the lesser modulus counts."""
    own = moduli(stock)
    return min(own) if stock.grain == "none" else own.along if along else own.across


@dataclass(frozen=True)
class NoseDroop:
    """How far gravity bends a leaf's free nose down, mm; beside the tilt that its openings allow.

    Parameters
    ----------
    travel : x of the leading end, mm
    opening : number of the opening that it meets there; None stowed
    free : length beyond the last lip that holds it, mm
    span : between the first and the last lip that hold it, mm
    clamped : as a cantilever from the last lip
    droop : on the first and the last lip as two supports, the outer end carried by the hand; negative where the span's
        sag lifts the nose
    """

    travel: float
    opening: int | None
    free: float
    span: float
    clamped: float
    droop: float


def nose_droops(row: Row, leaf: Board) -> tuple[NoseDroop, ...]:
    """The free nose at every opening after the first one, in order, and stowed. For the side view.

    Lands with a lower edge carry the leaf. Where none does, there is no entry.
    """
    faces = [
        (one.face, number) for number, one in enumerate(row.openings) if row.first < one.face <= row.travel
    ]
    found = []
    for travel, opening in [*sorted(faces), (row.travel, None)]:
        lips = list(_lips(row, travel))
        if lips:
            found.append(_nose_droop(travel, opening, min(lips)[0], max(lip[1] for lip in lips), leaf))
    return tuple(found)


def _lips(row: Row, travel: float) -> Iterator[tuple[float, float]]:
    """What each land carries of a leaf with its nose at a travel."""
    for one in row.openings:
        start, stop = max(one.face + one.entry.run, travel - row.length), one.end - one.exit.run
        if one.holds and one.sill is not None and start < min(stop, travel - row.lead.run):
            yield start, min(stop, travel - row.lead.run)


def _nose_droop(travel: float, opening: int | None, first: float, last: float, leaf: Board) -> NoseDroop:
    free = travel - last
    clamped = float(deflection("cantilever, uniform", leaf.weight * free, free, leaf.stiffness))
    beam = Overhang(last - first, free, leaf.stiffness, leaf.weight, leaf.weight)
    return NoseDroop(travel, opening, free, last - first, clamped, beam.droop)


@dataclass(frozen=True)
class Sag:
    """Sag of the middle of a covering leaf between its two supports, mm.

    Parameters
    ----------
    span : between the supports, mm
    own : under the leaf's own weight, at once
    own_final : the same after years
    load : under the stated load, its lasting share after years
    allowed : span over the least ratio; 360 for floors, 600 for shelves that look straight (common practice, no source)
    """

    span: float
    own: float
    own_final: float
    load: float
    allowed: float

    @property
    def total(self) -> float:
        """After years, under the load."""
        return self.own_final + self.load

    @property
    def enough(self) -> bool:
        """Whether it sags no more than allowed."""
        return self.total <= self.allowed

    @property
    def ratio(self) -> float:
        """Span over sag."""
        return self.span / self.total


def sag(
    span: float,
    leaf: Board,
    middle: float = Limits.load,
    uniform: float = 0.0,
    ratio: float = Limits.sag,
    lasting: float = 0.0,
    service_class: int = 1,
) -> Sag:
    """A leaf that spans the well between two supports.

    Parameters
    ----------
    span : mm
    middle : load at the middle, N
    uniform : load spread over the span, N/mm
    ratio : least span over sag
    lasting : share of the loads that stays for years and makes the wood creep; the leaf's own weight always does
    service_class : of EN 1995-1-1; 1 is a heated room
    """
    own = float(deflection("simple, uniform", leaf.weight * span, span, leaf.stiffness))
    load = float(deflection("simple, uniform", uniform * span, span, leaf.stiffness))
    load += float(deflection("simple, middle", middle, span, leaf.stiffness))
    crept = (1 - lasting) * load + lasting * float(final(load, service_class))
    return Sag(span, own, float(final(own, service_class)), crept, span / ratio)


def well_span(assembly: Assembly) -> float | None:
    """Clear distance between the two ledger strips that carry the covering leaves, mm; None without two of them."""
    boxes = [
        part.placement.to_table(np.array([(0.0, 0.0, 0.0), part.shape.size]))
        for part in assembly.parts
        if part.role.carries_cover
    ]
    if len(boxes) != 2:
        return None
    low, high = (np.array([getattr(box, name)(axis=0) for box in boxes]) for name in ("min", "max"))
    gaps = low.max(axis=0) - high.min(axis=0)
    return float(gaps[:2].max())


def well_sags(assembly: Assembly) -> dict[str, Sag]:
    """Leaf label → sag as a covering leaf, on its two ledgers. Empty without ledgers or covering leaves."""
    span, limits = well_span(assembly), assembly.limits
    if span is None:
        return {}
    return {
        label: sag(span, leaf_board(assembly.by_label[label]), limits.load, 0.0, limits.sag)
        for label in assembly.cover
    }


@dataclass(frozen=True)
class Step:
    """How far a leaf sinks beside its neighbors under the load at its middle, mm.

    Parameters
    ----------
    before : by itself
    after : with the center supports under its long edges, which bend along with it
    allowed : by the limits
    supports : labels of those
    """

    before: float
    after: float
    allowed: float
    supports: tuple[str, ...]


def steps_between(assembly: Assembly) -> dict[str, Step]:
    """Leaf label → its step beside its neighbors. Empty without ledgers, or with one leaf alone.

    Leaf and supports bend as beams side by side on the same two ledgers: what they carry adds up. That a leaf twists
    toward an edge without support is left out.
    """
    span, limits = well_span(assembly), assembly.limits
    if span is None or len(assembly.cover) < 2:
        return {}
    supports = [(part, board(part.shape.thickness, part.shape.size[1], part.stock).stiffness) for part in
                assembly.with_role("support")]  # fmt: skip
    found = {}
    for label in assembly.cover:
        own = leaf_board(assembly.by_label[label]).stiffness
        under = [(part.label, stiffness) for part, stiffness in supports if _is_under(assembly, part, label)]
        whole = own + sum(stiffness for _, stiffness in under)
        before, after = (
            float(deflection("simple, middle", limits.load, span, stiffness)) for stiffness in (own, whole)
        )
        found[label] = Step(before, after, limits.step, tuple(name for name, _ in under))
    return found


def _is_under(assembly: Assembly, support: Part, leaf: str) -> bool:
    """Whether a support lies under one of a covering leaf's edges."""
    shape, place = assembly.by_label[leaf].shape, assembly.cover[leaf]
    ends = place.to_table(np.array([(0.0, 0.0, 0.0), shape.size]))
    low, high = support.box
    across = 1 - int(np.argmax((high - low)[:2]))
    return any(low[across] - CONTACT <= edge[across] <= high[across] + CONTACT for edge in ends)
