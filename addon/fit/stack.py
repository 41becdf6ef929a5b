"""Linear stacks of dimensions: nominal, worst case and root of the sum of squares."""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True)
class Dimension:
    """One dimension in a stack, mm.

    Parameters
    ----------
    part : label of its part
    name : which of the part's dimensions: ``length``, ``width`` or ``thickness``
    nominal : as drawn, or as cut where that is known
    coefficient : how the sum changes with it
    tolerance : how far it may be off, either way, by itself
    shared : how far it may be off, either way, together with all dimensions that have the same `source`
    source : what these have in common, such as the sheet that they are cut from
    """

    part: str
    name: str
    nominal: float
    coefficient: float
    tolerance: float = 0.0
    shared: float = 0.0
    source: str = ""


@dataclass(frozen=True)
class Stack:
    """A sum of dimensions, each times its coefficient."""

    dimensions: tuple[Dimension, ...]

    @property
    def nominal(self) -> float:
        """The sum as drawn, mm."""
        return math.fsum(one.coefficient * one.nominal for one in self.dimensions)

    @property
    def deviations(self) -> tuple[float, ...]:
        """How far the sum may be off, either way, for each deviation that is independent of the others, mm.

        What dimensions share adds up before it counts as one: n layers of one sheet that is off by d are off by n·d.
        """
        own = [abs(one.coefficient) * one.tolerance for one in self.dimensions if one.tolerance]
        common: dict[str, float] = {}
        for one in self.dimensions:
            if one.shared:
                common[one.source] = common.get(one.source, 0.0) + one.coefficient * one.shared
        return (*own, *(abs(value) for value in common.values()))

    @property
    def worst(self) -> float:
        """How far the sum is off, either way, when everything is off to the worse side, mm."""
        return math.fsum(self.deviations)

    @property
    def rss(self) -> float:
        """Root of the sum of squares of the deviations, mm."""
        return math.hypot(*self.deviations)

    def plus(self, *dimensions: Dimension) -> Stack:
        """The stack with more dimensions in it."""
        return Stack(self.dimensions + dimensions)
