"""What is behind a fact about a single board: the sheet that it is cut from, and the wood that its cuts leave of it."""

from __future__ import annotations

from dataclasses import dataclass

from .causes import Cause


@dataclass(frozen=True)
class UnmeasuredSheet(Cause):
    """A sheet of which only is known as what it is sold: its nominal thickness, and what that may be, mm."""

    stock: str
    nominal: float
    least: float
    most: float


@dataclass(frozen=True)
class BowedLeaf(Cause):
    """A leaf whose sheet is not flat needs more room in its openings than there is; mm.

    Parameters
    ----------
    bow, twist : room that either takes
    play : room above and below
    """

    stock: str
    bow: float
    twist: float
    play: float


@dataclass(frozen=True)
class BowedRib(Cause):
    """A rib whose sheet is not flat bows toward the way of a leaf beside it; mm.

    Parameters
    ----------
    span : between the places at which ends of other ribs hold it
    bow : its rise there
    room : to the leaf
    """

    stock: str
    rib: str
    leaf: str
    span: float
    bow: float
    room: float


@dataclass(frozen=True)
class HeldByNothing(Cause):
    """A board that is joined to nothing, held by no screw, and lies on nothing."""


@dataclass(frozen=True)
class ThinWood(Cause):
    """Two cuts of one board, or a cut and an edge or face of it, that leave too little wood between them.

    Parameters
    ----------
    one, other : both in words, such as ``the window for L1`` and ``the upper edge``
    kinds : what they are: ``slot``, ``window``, ``groove``, ``hole`` …, ``edge`` or ``face``
    wood : between them, chamfers left out of account, mm
    need : least wood that there should be, mm
    length : over which they face each other, mm
    at_face : what their chamfers leave of it at a face of the board, mm; none where that is not more than 0
    leaf : the leaf that either is cut for, or ""
    """

    part: str
    one: str
    other: str
    kinds: tuple[str, str]
    wood: float
    need: float
    length: float
    at_face: float
    leaf: str = ""
