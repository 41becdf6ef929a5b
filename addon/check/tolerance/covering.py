"""The covering leaves in the well, as sums of the same deviations as the stow rows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ...sizes.arrays import Floats
from ..cover import Stack, cover_of
from .deviations import Deviation, Form, Register, added, as_matrix
from .report import CoverTolerance, GapTolerance, stacked
from .statistics import share


@dataclass(frozen=True)
class GapSum:
    """A gap as drawn, mm, and how deviations change it."""

    name: str
    nominal: float
    form: Form
    leaf: str = ""
    """The leaf at whose ends it is; none for the play of all."""

    def at(self, deviations: Floats) -> Floats:
        """(n,) float, mm: with deviations (deviations, n) float."""
        numbers = list(self.form)
        return self.nominal + np.array([self.form[one] for one in numbers]) @ deviations[numbers]


def cover_sums(register: Register) -> list[GapSum]:
    """The gaps that may not be less than nothing; their deviations are added to the register."""
    cover = cover_of(register.assembly)
    if cover is None:
        return []
    gaps = [_gap("play of all covering leaves", cover.play, register)]
    gaps += [
        _gap(f"{leaf}: room at its ends", stack, register, leaf) for leaf, stack in cover.end_play.items()
    ]
    return gaps


def _gap(name: str, stack: Stack, register: Register, leaf: str = "") -> GapSum:
    terms = []
    for one in stack.dimensions:
        part = register.assembly.by_label[one.part]
        off = register.thickness(part) if one.name == "thickness" else register.dimension(part, one.name)
        terms.append((off, one.coefficient))
    return GapSum(name, stack.nominal, added(*terms), leaf)


def cover_tolerance(
    gaps: Sequence[GapSum], deviations: Sequence[Deviation], fits: NDArray[np.bool_]
) -> CoverTolerance:
    """What the analysis says of the cover; fits : (gaps, tables) bool"""
    count = fits.shape[1]
    return CoverTolerance(
        tuple(
            GapTolerance(
                gap.name,
                stacked(gap.nominal, as_matrix([gap.form], len(deviations))[0], deviations),
                share(int(own.sum()), count),
            )
            for gap, own in zip(gaps, fits, strict=True)
        ),
        share(int(fits.all(axis=0).sum()), count),
    )
