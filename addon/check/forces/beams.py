"""Elastic deflection of beams in closed form; all functions broadcast unless they say otherwise.

Lengths in mm, forces in N, uniform loads in N/mm, moduli in N/mm², bending stiffness E·I in N·mm².
Deflections are positive downward. Small deflections, linear elasticity; without a shear stiffness, none from shear.

Cross-sections of a board with recesses, for its stiffness and weight.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ...sizes.arrays import Floats
from ...wood.part import Shape

LOCAL: Final = 0.1
"""A recess shorter than this share of the board, such as a pull, hardly changes how it bends and is left out; so are
holes, openings and eased edges."""


@dataclass(frozen=True, eq=False)
class Fields:
    """A board in rectangular fields, within each of which it is equally thick. First index along the beam.

    Attributes
    ----------
    lengths : (n,) float, mm; along the beam
    widths : (m,) float, mm; across it
    low, high : (n, m) float, mm; heights between which there is wood, from the front face
    """

    lengths: Floats
    widths: Floats
    low: Floats
    high: Floats

    @property
    def volume(self) -> float:
        """mm³"""
        return float(self.lengths @ (self.high - self.low) @ self.widths)

    @property
    def second_moments(self) -> Floats:
        """(n,) float, mm⁴: of each section about its own centroid (Steiner)."""
        height, middle = self.high - self.low, (self.high + self.low) / 2
        area = self.widths * height
        centroid = (area * middle).sum(axis=1) / area.sum(axis=1)
        return (area * (height**2 / 12 + (middle - centroid[:, None]) ** 2)).sum(axis=1)


def fields(shape: Shape, axis: int) -> Fields:
    """The fields of a board that bends along u (axis 0) or v (axis 1)."""
    corners = np.array(shape.outline)
    bounds = [(corners[:, k].min(), corners[:, k].max()) for k in (axis, 1 - axis)]
    least = LOCAL * (bounds[0][1] - bounds[0][0])
    cut = [
        (groove.spans[axis], groove.spans[1 - axis], groove)
        for groove in shape.grooves
        if groove.spans[axis][1] - groove.spans[axis][0] >= least
    ]
    along = np.unique(np.clip([*bounds[0], *(end for run, _, _ in cut for end in run)], *bounds[0]))
    across = np.unique(np.clip([*bounds[1], *(end for _, side, _ in cut for end in side)], *bounds[1]))
    low = np.zeros((len(along) - 1, len(across) - 1))
    high = np.full_like(low, shape.thickness)
    for run, side, groove in cut:
        inside = np.ix_(_within(along, run), _within(across, side))
        if groove.face == "front":
            low[inside] = np.maximum(low[inside], groove.depth)
        else:
            high[inside] = np.minimum(high[inside], shape.thickness - groove.depth)
    return Fields(np.diff(along), np.diff(across), low, high)


def _within(cuts: Floats, span: tuple[float, float]) -> NDArray[np.bool_]:
    middles = (cuts[1:] + cuts[:-1]) / 2
    return (middles > span[0]) & (middles < span[1])


Case = Literal[
    "simple, uniform",
    "simple, middle",
    "clamped, uniform",
    "clamped, middle",
    "cantilever, uniform",
    "cantilever, end",
]

FACTORS: Final[dict[Case, tuple[float, float]]] = {
    "simple, uniform": (5 / 384, 1 / 8),
    "simple, middle": (1 / 48, 1 / 4),
    "clamped, uniform": (1 / 384, 1 / 8),
    "clamped, middle": (1 / 192, 1 / 4),
    "cantilever, uniform": (1 / 8, 1 / 2),
    "cantilever, end": (1 / 3, 1.0),
}
"""Factors of bending and shear for the greatest deflection under a total load: USDA Wood Handbook FPL-GTR-190,
Table 9-1, from memory."""


def second_moment(width: ArrayLike, thickness: ArrayLike) -> Floats:
    """b·h³ / 12, mm⁴, of a rectangle that bends over its thickness."""
    return np.asarray(width, dtype=float) * np.asarray(thickness, dtype=float) ** 3 / 12


def deflection(
    case: Case, load: ArrayLike, length: ArrayLike, stiffness: ArrayLike, shear: ArrayLike | None = None
) -> Floats:
    """Greatest deflection, mm: k_b·W·L³ / (E·I) + k_s·W·L / (G·A'). USDA Wood Handbook FPL-GTR-190, Eq. 9-2.

    Parameters
    ----------
    load : all of it together, N
    stiffness : E·I, N·mm²
    shear : G·A' with A' = 5/6 of the area of a rectangle, N; None leaves the shear's share out
    """
    bending, sliding = FACTORS[case]
    load, length = np.asarray(load, dtype=float), np.asarray(length, dtype=float)
    found = bending * load * length**3 / np.asarray(stiffness, dtype=float)
    return found if shear is None else found + sliding * load * length / np.asarray(shear, dtype=float)


@dataclass(frozen=True)
class Overhang:
    """A beam on two supports that runs on past the second one, its nose free; past the first one too, where it has a
    tail.

    Standard beam tables for each load by itself; sums of them here.

    Parameters
    ----------
    span : between the supports, mm
    nose, tail : lengths beyond the second and the first support, mm
    stiffness : E·I, N·mm²
    on_span, on_nose, on_tail : uniform loads there, N/mm
    at_tip : load at the nose's tip, N
    """

    span: float
    nose: float
    stiffness: float
    on_span: float = 0.0
    on_nose: float = 0.0
    at_tip: float = 0.0
    tail: float = 0.0
    on_tail: float = 0.0

    @property
    def _moments(self) -> tuple[float, float]:
        """Hogging moments at the supports, N·mm."""
        return self.on_tail * self.tail**2 / 2, self.on_nose * self.nose**2 / 2 + self.at_tip * self.nose

    @property
    def droop(self) -> float:
        """Deflection of the tip, mm; negative where the span's own sag lifts it."""
        span, nose = self.span, self.nose
        first, second = self._moments
        turn = second * span / 3 + first * span / 6 - self.on_span * span**3 / 24
        bent = self.on_nose * nose**4 / 8 + self.at_tip * nose**3 / 3
        return (turn * nose + bent) / self.stiffness

    @property
    def rise(self) -> float:
        """How far the load on the nose alone lifts the beam between the supports, at span / sqrt(3), mm."""
        return self._moments[1] * self.span**2 / (9 * np.sqrt(3.0) * self.stiffness)

    @property
    def reactions(self) -> tuple[float, float]:
        """Upward forces of the supports, N; a negative one is a lip that holds the beam down."""
        first, second = self._moments
        half, lever = self.on_span * self.span / 2, (second - first) / self.span
        on_nose = self.on_nose * self.nose + self.at_tip
        return half - lever + self.on_tail * self.tail, half + lever + on_nose
