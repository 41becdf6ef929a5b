"""What every kind of feature can say of itself."""

from __future__ import annotations

from abc import ABC, abstractmethod
from typing import TYPE_CHECKING, Literal, NamedTuple

if TYPE_CHECKING:
    from .blank import Blank, Stretch
    from .dimension import Dimension

Face = Literal["front", "back"]
End = Literal["start", "end"]
Point = tuple[float, float]
Triple = tuple[float, float, float]


class Tool(NamedTuple):
    """What cuts a feature, where that decides its form."""

    name: str
    diameter: float | None = None
    """Of the bit, mm; the greatest that fits, where any smaller one does too."""
    angle: float | None = None
    """Degrees: between a chamfer and the face, of a countersink's cone, of an axis to the face."""


class Feature(ABC):
    """One cut into a board. A kind of feature is a frozen dataclass that says all of this of itself."""

    @property
    @abstractmethod
    def word(self) -> str:
        """What it is, in words: ``window for L4``."""

    @property
    def faces(self) -> tuple[Face, ...]:
        """The faces that it is open to."""
        return ("front", "back")

    @property
    def reference_edge(self) -> int | None:
        """The outline edge that it lies on or is measured from; None if it is measured from start and lower edge."""
        return None

    @property
    def tool(self) -> Tool | None:
        """What cuts it, where that decides its form."""
        return None

    @abstractmethod
    def bounds(self, blank: Blank) -> tuple[Triple, Triple]:
        """Low and high corner of a box that holds all of it that lies in the board, mm."""

    @abstractmethod
    def dimensions(self, blank: Blank) -> tuple[Dimension, ...]:
        """Its dimensions."""

    @abstractmethod
    def stretched(self, stretch: Stretch) -> Feature:
        """The same on a board that grew at one end."""

    def thickened(self, share: float) -> Feature:  # noqa: ARG002  # most features have a depth of their own
        """The same on a board that is so many times as thick."""
        return self


def depths(face: Face, depth: float, thickness: float) -> tuple[float, float]:
    """Least and greatest w of what is cut into a face down to some depth, mm."""
    return (0.0, depth) if face == "front" else (thickness - depth, thickness)
