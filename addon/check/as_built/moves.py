"""How far the faces of parts are from where they were drawn, in all and of their own, and what that leaves behind."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np

from ...sizes.arrays import Floats
from ...sizes.tolerances import CONTACT
from ...wood.assembly import Assembly
from ...wood.joints import BoardFace, Joint
from ...wood.part import Part
from ...wood.seating import as_drawn, table_face
from ..causes import Cause, Point
from ..spans import point

_FACES: tuple[tuple[BoardFace, BoardFace], ...] = (
    ("start", "end"), ("lower edge", "upper edge"), ("front", "back")
)  # fmt: skip


class Moves:
    """An assembly as cut, beside the same as drawn; sides are 0 for the lower one of an axis, 1 for the upper one."""

    def __init__(self, assembly: Assembly) -> None:
        self.assembly = assembly
        self.parts = assembly.by_label
        self._drawn: dict[str, Part] = {}
        self._meeting: dict[str, set[tuple[int, int]]] = {}

    def drawn(self, label: str) -> Part:
        """A part as drawn."""
        if label not in self._drawn:
            self._drawn[label] = as_drawn(self.parts[label])
        return self._drawn[label]

    def is_off(self, *labels: str) -> bool:
        """Whether any of these is cut or stands otherwise than drawn."""
        return any(self.parts[label].drawn is not None for label in labels)

    def now(self, label: str, axis: int, side: int) -> float:
        """Where a side of a part's blank is, mm."""
        return float(self.parts[label].box[side][axis])

    def before(self, label: str, axis: int, side: int) -> float:
        """Where it was drawn, mm."""
        return float(self.drawn(label).box[side][axis])

    def own(self, label: str, axis: int, side: int) -> float:
        """How far it is from there by the part's own doing, and not because what holds it moved, mm."""
        carried = self.parts[label].carried
        return (
            self.now(label, axis, side)
            - self.before(label, axis, side)
            - (0.0 if carried is None else float(carried[axis]))
        )

    def face(self, label: str, axis: int, side: int) -> BoardFace:
        """What people call that side of a part."""
        axes = self.parts[label].placement.axes
        own = int(np.abs(axes[:, axis]).argmax())
        return _FACES[own][side if axes[own, axis] > 0 else 1 - side]

    @cached_property
    def standing(self) -> tuple[list[str], Floats, Floats]:
        """All that does not slide: labels, and low and high corners of their boxes as drawn, (n, 3) float, mm."""
        labels = [part.label for part in self.assembly.parts if not part.role.slides]
        boxes = np.array([self.drawn(label).box for label in labels]).reshape(-1, 2, 3)
        return labels, boxes[:, 0], boxes[:, 1]

    @cached_property
    def _joints_of(self) -> dict[str, list[Joint]]:
        found: dict[str, list[Joint]] = {}
        for joint in self.assembly.joints:
            found.setdefault(joint.a, []).append(joint)
            found.setdefault(joint.b, []).append(joint)
        return found

    def meets(self, label: str, axis: int, side: int) -> bool:
        """Whether something is joined to that side of a part, so that nobody sees whether it is flush with another."""
        if label not in self._meeting:
            own = self._meeting[label] = set()
            for joint in self._joints_of[label]:
                faces = joint.faces_of(self.drawn(joint.a), self.drawn(joint.b))
                if faces is not None and joint.kind in ("butt", "face"):
                    face = table_face(self.drawn(label), faces[0] if label == joint.a else faces[1])
                    own.add((face.axis, (1 + face.sign) // 2))
        return (axis, side) in self._meeting[label]

    @cached_property
    def joints(self) -> list[Joint]:
        """Joints of which at least one part is off."""
        return [joint for joint in self.assembly.joints if self.is_off(joint.a, joint.b)]

    def blame(self, a: str, b: str, axis: int, sides: tuple[int, int]) -> str:
        """Which of two parts, by one side of each, is the farther off of its own; empty where neither is."""
        one, other = abs(self.own(a, axis, sides[0])), abs(self.own(b, axis, sides[1]))
        if max(one, other) <= CONTACT:
            return ""
        return a if one >= other else b

    def between(self, a: str, b: str) -> Floats:
        """(3,) float mm: the middle of what the boxes around two parts share, or of the gap between them."""
        low = np.maximum(self.parts[a].box[0], self.parts[b].box[0])
        high = np.minimum(self.parts[a].box[1], self.parts[b].box[1])
        return (low + high) / 2


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
