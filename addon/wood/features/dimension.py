"""A dimension: one size or place of a board or of what is cut into it, how to read it and how to set it."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import inf
from typing import TYPE_CHECKING, Final, Literal

if TYPE_CHECKING:
    from collections.abc import Callable

    from .base import End, Feature
    from .blank import Blank

LEAST_SIZE: Final = 1.0
"""A board, an opening or a groove smaller than this is none, mm."""
LEAST_CUT: Final = 0.01
"""A smaller chamfer, round-over or hole is none, mm."""

Tolerance = Literal[
    "sawn size",
    "thickness",
    "opening size",
    "opening place",
    "groove place",
    "groove size",
    "hole size",
    "hole place",
    "edge size",
]
"""What a dimension is of, and so which tolerance applies to it."""

BOTH: Final[tuple[End, ...]] = ("start", "end")


@dataclass(frozen=True)
class Dimension:
    """One dimension of one part.

    Parameters
    ----------
    name : as `[[as_cut]]` entries have it, such as ``window_sill``
    word : what it is, in words: ``sill height``
    value : mm, or degrees
    tolerance : what it is a dimension of
    datum : the edge or face that it is measured from, in words; empty for a size that has none
    ends : which end may take the difference when it changes; none where the datum decides
    changed : the feature with this dimension greater by some mm, standing out at the start or not, or the blank for a
        feature that is part of the outline; None for the board's own, which `Shape.resized` changes
    of : the feature, in words (``window for L4``); empty for the board itself
    leaf : the leaf whose slot or window it is of, if it can be chosen by one
    least : smallest value that it may have
    unit : of the value
    number : which of the shape's features it is of
    """

    name: str
    word: str
    value: float
    tolerance: Tolerance
    datum: str = ""
    ends: tuple[End, ...] = ()
    changed: Callable[[float, bool], Feature | Blank] | None = field(default=None, repr=False, compare=False)
    of: str = ""
    leaf: str | None = None
    least: float = -inf
    unit: Literal["mm", "°"] = "mm"
    number: int | None = None

    @property
    def words(self) -> str:
        """Of which feature what it is: ``window for L4: sill height``."""
        return f"{self.of}: {self.word}" if self.of else self.word
