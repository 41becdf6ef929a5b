"""Elastic deflection of a rectangular plate that lies on all four edges; lengths in mm, forces in N.

Small deflections, no shear through the thickness. Plywood has two stiffnesses and hardly any lateral contraction.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np

from ...wood.stock import Stock
from .droop import moduli

SHEAR: Final = 620.0
"""Modulus of rigidity of birch plywood in its plane, N/mm²: Handbook of Finnish Plywood, from memory."""

_TERMS: Final = np.arange(1.0, 300.0, 2.0)
"""Numbers of half waves that are summed up along each edge; even ones have no deflection at the middle."""


class Plate(NamedTuple):
    """Stiffnesses per mm of width, N·mm: against bending along x and along y, and against both together (H)."""

    along_x: float
    along_y: float
    twist: float


def plywood(stock: Stock, thickness: float, *, grain_along_x: bool) -> Plate:
    """A sheet, its lateral contraction left out; where its grain is not minded, the lesser modulus counts both ways."""
    own = moduli(stock)
    if stock.grain == "none":
        own = own._replace(along=min(own), across=min(own))
    x, y = (own.along, own.across) if grain_along_x else (own.across, own.along)
    inertia = thickness**3 / 12
    return Plate(x * inertia, y * inertia, 2 * SHEAR * inertia)


def sag_in_the_middle(plate: Plate, a: float, b: float, load: float) -> float:
    """Deflection under a load at the middle of a plate a long (x) and b wide (y), simply supported, mm.

    Navier's double series for an orthotropic plate: Timoshenko and Woinowsky-Krieger, Theory of Plates and Shells,
    articles 34 and 85, from memory.
    """
    m, n = _TERMS[:, None] / a, _TERMS[None, :] / b
    terms = plate.along_x * m**4 + 2 * plate.twist * (m * n) ** 2 + plate.along_y * n**4
    return float(4 * load / (np.pi**4 * a * b) * (1 / terms).sum())
