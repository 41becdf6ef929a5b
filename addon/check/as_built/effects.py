"""One thing that a part cut otherwise than drawn leaves behind, and the cause that all such things of a part share."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from ...sizes.arrays import Floats
from ...sizes.tolerances import CONTACT
from ...wood.joints import BoardFace
from ..causes import Cause, Point
from ..spans import point

Kind = Literal[
    "proud", "low", "open", "loose", "thin bearing", "falls out", "rocks",
    "cover proud", "cover low", "cover gap", "cover full",
]  # fmt: skip
"""``proud``, ``low``: an edge or end stands past the one that it should be flush with, or back from it; ``open``: two
faces do not meet; ``loose``: a panel has more play in its groove; ``thin bearing``, ``falls out``: it reaches too
little into its groove, or a leaf onto its ledger; ``cover proud``, ``cover low``: a leaf's end stands past the side's
edge, or back from it; ``cover gap``, ``cover full``: there is too much room beside it, or too little."""

GRAVE: frozenset[Kind] = frozenset({"falls out", "cover full"})
"""Kinds with which the table does not work; with the others it can be put together."""


@dataclass(frozen=True)
class Effect:
    """One place at which something is not as drawn.

    Parameters
    ----------
    parts : labels, the one to change first
    amount : mm, never negative: how far it is off; of a bearing, how much it lacks to the least one
    at : in the table, mm
    face : the edge, end or face of the first part that is off, if any
    left : what is left of a bearing, mm
    between : labels of what stands, lies or reaches, and of what that is measured against
    axis : of the table, along which it is measured
    """

    kind: Kind
    parts: tuple[str, ...]
    amount: float
    at: Point
    face: BoardFace | None = None
    left: float = 0.0
    between: tuple[str, str] = ("", "")
    axis: int = 2


def too_thin(
    changes: Mapping[str, float], between: tuple[str, str], least: float, left: float, at: Floats, axis: int
) -> Effect:
    """A bearing of one board on another that is less than the least, or gone; first the part that took the most of it.

    Parameters
    ----------
    changes : label of each part that tells on it → how much it takes, mm
    between : what bears, and on what
    least, left : bearing that is asked for, and what there is of it, mm
    at : (3,) float; in the table, mm
    """
    first = max(changes, key=lambda label: changes[label])
    return Effect(
        "falls out" if left <= CONTACT else "thin bearing",
        (first, *(label for label in between if label != first)),
        least - left,
        point(at),
        left=max(left, 0.0),
        between=between,
        axis=axis,
    )


@dataclass(frozen=True)
class CutOtherwise(Cause):
    """A part came out otherwise than drawn; what that leaves behind, the gravest first."""

    part: str
    effects: tuple[Effect, ...]


@dataclass(frozen=True)
class Missing(Cause):
    """A part is not there; `frees` are the labels of those that it held."""

    part: str
    frees: tuple[str, ...]
