"""Elastic deflection of beams and plates in closed form; all functions broadcast unless they say otherwise.

Lengths in mm, forces in N, uniform loads in N/mm, pressures and moduli in N/mm², bending stiffness E·I in N·mm².
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


@dataclass(frozen=True)
class Span:
    """A beam on supports at its two ends, with loads anywhere (superposition of textbook cases).

    Parameters
    ----------
    length : mm
    stiffness : E·I, N·mm²
    uniform : N/mm
    loads : (place from the first support in mm, force in N)
    """

    length: float
    stiffness: float
    uniform: float = 0.0
    loads: tuple[tuple[float, float], ...] = ()

    @property
    def reactions(self) -> tuple[float, float]:
        """Upward forces of the supports, N."""
        second = sum(force * place for place, force in self.loads) / self.length
        half = self.uniform * self.length / 2
        return half + sum(force for _, force in self.loads) - second, half + second

    def moment_at(self, place: ArrayLike) -> Floats:
        """Sagging moment, N·mm."""
        x = np.asarray(place, dtype=float)
        found = self.reactions[0] * x - self.uniform * x**2 / 2
        for at, force in self.loads:
            found = found - force * np.maximum(x - at, 0.0)
        return found

    @property
    def greatest_moment(self) -> float:
        """N·mm; it is at a load, or between two where the shear is nought."""
        places = [at for at, _ in self.loads]
        if self.uniform:
            shear = self.reactions[0]
            before = [0.0, *np.cumsum([force for _, force in sorted(self.loads)]).tolist()]
            places += [(shear - force) / self.uniform for force in before]
        inside = [min(max(place, 0.0), self.length) for place in places]
        return max((float(self.moment_at(place)) for place in inside), default=0.0)

    def deflection_at(self, place: ArrayLike) -> Floats:
        """mm"""
        x, span = np.asarray(place, dtype=float), self.length
        found = self.uniform * x * (span**3 - 2 * span * x**2 + x**3) / 24
        for at, force in self.loads:
            rest = span - at
            found = found + force * rest * x * (span**2 - rest**2 - x**2) / (6 * span)
            found = found + force * np.maximum(x - at, 0.0) ** 3 / 6
        return found / self.stiffness

    @property
    def end_slopes(self) -> tuple[float, float]:
        """How steeply the beam goes down from the first and comes up to the second support, rad, small."""
        span = self.length
        slopes = []
        for turned in (False, True):
            slope = self.uniform * span**3 / 24
            for at, force in self.loads:
                rest = at if turned else span - at
                slope += force * rest * (span**2 - rest**2) / (6 * span)
            slopes.append(slope / self.stiffness)
        return slopes[0], slopes[1]


POISSON: Final = 0.3
"""Poisson's ratio where nothing else is said, as in the handbook tables of plates."""

_TERMS: Final = 25
"""Odd terms of the plate's series; they fall off with the fifth power."""


@dataclass(frozen=True)
class PlateSag:
    """Sag of the middle of a plate, mm, and whether plate theory for small deflections may be asked at all."""

    sag: float
    small: bool


def plate_sag(
    sides: tuple[float, float], thickness: float, modulus: float, pressure: float, poisson: float = POISSON
) -> PlateSag:
    """A plate simply supported along its four edges, under a uniform pressure.

    M. Lévy's single series, as in Timoshenko and Woinowsky-Krieger, Theory of Plates and Shells, from memory. `small`
    is false where the plate is thicker than a quarter of its short side or sags by more than half its thickness
    (Roark's Formulas for Stress and Strain, ch. 11); then the sag is not to be trusted.
    """
    short, long = sorted(sides)
    rigidity = modulus * thickness**3 / (12 * (1 - poisson**2))
    odd = np.arange(1, 2 * _TERMS, 2, dtype=float)
    # exp(-2a) keeps tanh and 1 / cosh of long plates finite.
    half = odd * np.pi * long / (2 * short)
    fading = np.exp(-half)
    slope, inverse = np.tanh(half), 2 * fading / (1 + fading**2)
    terms = (-1) ** ((odd - 1) / 2) / odd**5 * (1 - (half * slope + 2) / 2 * inverse)
    sag = float(4 * pressure * short**4 / (np.pi**5 * rigidity) * terms.sum())
    return PlateSag(sag, thickness <= short / 4 and abs(sag) <= thickness / 2)
