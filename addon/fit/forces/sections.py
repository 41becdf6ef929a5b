"""Cross-sections of a board with recesses, for its stiffness and weight."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from ...model.part import Shape

    Floats = NDArray[np.float64]

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
    spans = [((one.u0, one.u1), (one.v0, one.v1)) for one in shape.grooves]
    cut = [
        (own[axis], own[1 - axis], groove)
        for own, groove in zip(spans, shape.grooves, strict=True)
        if own[axis][1] - own[axis][0] >= least
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
