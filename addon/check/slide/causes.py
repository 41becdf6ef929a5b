"""What is behind the facts about leaves on their way and as a cover: one record for each kind of cause."""

from __future__ import annotations

from dataclasses import dataclass

from ..causes import Cause
from ..cover import Cover, Lift
from ..forces.droop import Sag
from ..forces.jamming import Jamming
from ..forces.step import Step
from ..matrix import MatrixCell
from .proof import LeafProof, ViewProof


@dataclass(frozen=True, eq=False)
class NeedsSteering(Cause):
    """Leaves whose noses may miss openings, unless the hand holds them right; the one that misses by the most first."""

    proofs: tuple[LeafProof, ...]


@dataclass(frozen=True, eq=False)
class IsHeld(Cause):
    """Three edges hold a leaf in one view, however it is tilted."""

    view: ViewProof


@dataclass(frozen=True)
class Droops(Cause):
    """A leaf's free nose bends down and misses an opening that a stiff one would meet.

    Parameters
    ----------
    opening : label of the part
    droop : how far the nose bends down, mm
    chamfer : rise of the chamfer at that opening, mm
    """

    opening: str
    droop: float
    chamfer: float


@dataclass(frozen=True)
class Sags(Cause):
    """A covering leaf sags more than allowed."""

    sag: Sag


@dataclass(frozen=True)
class StepsDown(Cause):
    """A covering leaf sinks too far beside its neighbors under the load."""

    step: Step


@dataclass(frozen=True, eq=False)
class Jams(Cause):
    """A leaf may jam even stowed: pushed more than `offset` mm off its middle."""

    jamming: Jamming
    offset: float


@dataclass(frozen=True)
class CoverTight(Cause):
    """In the worst case of the tolerances the covering leaves do not all lie down."""

    cover: Cover


@dataclass(frozen=True)
class NoLift(Cause):
    """No covering leaf can be lifted out by an edge; this one lacks the least."""

    lift: Lift


@dataclass(frozen=True)
class Misfits(Cause):
    """A leaf does not fit its own position other than as drawn, or those of others.

    Parameters
    ----------
    stuck : positions and ways round in which it does not pass clear
    stray : those in which it passes but does not end where it should
    """

    stuck: tuple[MatrixCell, ...]
    stray: tuple[MatrixCell, ...]

    @property
    def worst(self) -> MatrixCell:
        """Where it lacks the most."""
        return min(self.stuck or self.stray, key=lambda cell: cell.clearance)
