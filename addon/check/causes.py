"""What is behind a fact of the check: one record for each kind of cause.

A design turns them into sentences and remedies; only it knows which of its parameters moves what.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from ..sizes.arrays import Floats
from ..wood.features import End
from .tolerance.statistics import Share

Point = tuple[float, float, float]

Whereabouts = Literal["above", "below", "left", "right", "ahead", "behind"]
"""Sides of a leaf, as its nose looks on its way home."""


class Cause:
    """What is behind a fact; a design knows what to say of each kind."""


# -- on a leaf's way
# ------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Gaps:
    """Room around a leaf in one slot, window or groove, mm; left and right as the leaf's nose looks.

    None where there is no wood on that side: where the opening runs out of the part's end, or the groove is open.
    """

    part: str
    above: float | None
    below: float | None
    left: float | None
    right: float | None
    entry_chamfer: float
    """Size of the chamfer at the opening that the nose meets first, mm."""
    exit_chamfer: float


@dataclass(frozen=True)
class TooNear(Cause):
    """A leaf and another part come too near to each other on the leaf's way.

    Parameters
    ----------
    near : which face of the part it is, in words
    room : around the leaf in its own opening in that part; None where it has none there
    where : the side of the leaf's whole way that the part is on
    apart : from the box around that way to the box around the part, mm; negative where they overlap
    """

    near: str
    room: Gaps | None
    where: Whereabouts
    apart: float


@dataclass(frozen=True)
class MeetAtOnce(Cause):
    """Two leaves meet on the way if both are pushed home in the same time.

    Parameters
    ----------
    first : the leaf that may lie home when the other passes; "" where they meet either way
    """

    first: str = ""


# -- between parts that stay where they are
# ------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Overlapping(Cause):
    """Two parts claim the same space, and neither is a part that is too long for its joint."""


Way = Literal["low", "high", "evenly"]
"""A chain pressed toward its end with the smaller coordinate, toward the other one, or forced in evenly."""


@dataclass(frozen=True)
class Stop:
    """A leaf that a displaced part stands in the way of."""

    leaf: str
    part: str
    travel: float
    """Travel of the leaf at first contact, mm."""
    depth: float
    """How far the part stands in its way, mm."""
    at: Point


@dataclass(frozen=True)
class OffJoint:
    """A joint that is off as its two parts were cut.

    Parameters
    ----------
    part, neighbor : labels of the part whose end it is, and of the one that it seats on
    low : whether that is the part's end with the smaller coordinate
    off : mm; the two overlap by so much where they are placed, or are open by so much where it is less than 0
    by_part, by_neighbor : what of it either part adds, mm
    """

    part: str
    neighbor: str
    low: bool
    off: float
    by_part: float
    by_neighbor: float
    at: Point


@dataclass(frozen=True)
class Cut:
    """Wood to take off one end of a part, or to put there, mm."""

    part: str
    neighbor: str
    """Label of what that end seats on."""
    low: bool
    """Whether it is the end with the smaller coordinate."""
    amount: float


@dataclass(frozen=True)
class Fitted:
    """What comes of a chain that is put together in one of the three ways.

    Parameters
    ----------
    toward : labels of what the chain is pressed toward; none where it is forced in evenly
    shifts : label → how far a part ends up from where it is drawn, up the axis, mm; those that stay are left out
    give : what every joint has to give that gives most, mm; 0 or less where all close
    stops : the leaves that are stopped then, each where that is first
    """

    way: Way
    toward: tuple[str, ...]
    shifts: tuple[tuple[str, float], ...]
    give: float
    stops: tuple[Stop, ...]


@dataclass(frozen=True)
class ChainOff(Cause):
    """Parts that butt on each other from side to side add up to too much, or to too little.

    Parameters
    ----------
    axis : of the table, along which they do
    between : labels of what ends the chain, below and above
    joints : those that are off, the ones to blame first
    excess : by how much the chain is too long, mm; 0 or less where it goes together
    opening : the widest joint that pressing it toward either end leaves open, mm, once nothing is too long
    ways : pressed toward the low end, toward the high one, and, where something is between, forced in evenly
    trims : the least wood to take off for the chain to go together with every leaf passing
    shared : the same in all, as much off each of more parts; none where it cannot be shared so
    fills : what fills the joints that stay open
    """

    axis: int
    between: tuple[tuple[str, ...], tuple[str, ...]]
    joints: tuple[OffJoint, ...]
    excess: float
    opening: float
    ways: tuple[Fitted, ...]
    trims: tuple[Cut, ...] = ()
    shared: tuple[Cut, ...] = ()
    fills: tuple[Cut, ...] = ()


# -- boards under a panel, where a window is open to it
# ------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class WeakBar(Cause):
    """The wood of a board below a window that is open above bends too much under the load.

    Parameters
    ----------
    leaf : that passes over it
    span, height : of the bar, mm
    sag, allowed : at its middle, mm
    """

    part: str
    leaf: str
    span: float
    height: float
    sag: float
    allowed: float


@dataclass(frozen=True)
class LittleGlue(Cause):
    """At one end of such a bar too little of the board is glued to the panel above it.

    Parameters
    ----------
    end : of the bar
    length, need : of the glued edge there, mm
    """

    part: str
    panel: str
    leaf: str
    end: End
    length: float
    need: float


@dataclass(frozen=True)
class PanelOverGap(Cause):
    """A panel bends too much where a board under it is cut away.

    Parameters
    ----------
    spans : what it bridges, along x and along y, mm
    sag, allowed : at its middle, mm
    """

    panel: str
    part: str
    spans: tuple[tuple[float, float], tuple[float, float]]
    sag: float
    allowed: float


# -- a leaf stowed
# ------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class NothingStops(Cause):
    """Nothing near ends a leaf's travel.

    Parameters
    ----------
    gap : how much farther it slides, mm; None where it slides right through
    stops_at : label of what ends its travel then, or ""
    """

    gap: float | None
    stops_at: str


@dataclass(frozen=True)
class StopsEarly(Cause):
    """A leaf's own end stop ends its travel before it is stowed."""

    end_stop: str


@dataclass(frozen=True)
class StandsOut(Cause):
    """A leaf's outer end stands farther out of the side than allowed.

    Parameters
    ----------
    side : label of that side
    excess : over what is allowed, mm
    """

    side: str
    excess: float


@dataclass(frozen=True, eq=False)
class Grip:
    """A hole or pull by which a stowed leaf is drawn out from below, lengths in mm.

    Parameters
    ----------
    at : (3,) float; its middle, on the leaf's underside
    along, across : its size along the leaf's way, and across it
    """

    kind: Literal["finger hole", "pull"]
    at: Floats
    along: float
    across: float

    @property
    def least_size(self) -> float:
        """What a finger has to pass, mm."""
        return min(self.along, self.across)


@dataclass(frozen=True)
class NoGrip(Cause):
    """Nothing to draw a leaf out by, although it lies inside.

    Parameters
    ----------
    side : label of the side that it lies inside of
    inside : by how much, mm
    turned_away : whether it has a pull that faces up
    """

    side: str
    inside: float
    turned_away: bool


@dataclass(frozen=True, eq=False)
class SmallGrip(Cause):
    """A hole or pull too small for a finger."""

    grip: Grip
    least: float


@dataclass(frozen=True, eq=False)
class FarGrip(Cause):
    """A hole or pull farther inside than fingers reach: by `depth` from the outer face of `side`, mm."""

    grip: Grip
    side: str
    depth: float
    reach: float


@dataclass(frozen=True, eq=False)
class CoveredGrip(Cause):
    """Something below a hole or pull leaves no room for fingers.

    Parameters
    ----------
    by : label of what is there
    spans : (n, 2) float; shifts of the grip inward between which it is covered, one row a piece of wood, mm
    spare : how much farther in fingers would still find it, mm
    """

    grip: Grip
    by: str
    spans: Floats
    spare: float


# -- in the shop
# ------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class TooFew(Cause):
    """Of tables cut at their tolerances, fewer work, or guide their leaves, than are asked for.

    Parameters
    ----------
    share : of the random tables
    wanted : least share that is asked for, 0 to 1
    leaves : label of each leaf with less → its own share
    """

    share: Share
    wanted: float
    leaves: dict[str, Share]
