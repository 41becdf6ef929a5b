"""Elastic deflection of beams in closed form; all functions broadcast unless they say otherwise.

Lengths in mm, forces in N, uniform loads in N/mm, moduli in N/mm², bending stiffness E·I in N·mm².
Deflections are positive downward. Small deflections, linear elasticity; without a shear stiffness, none from shear.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Floats = NDArray[np.float64]

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
