"""An assembly whose parts are cut to rounded sizes, being put together: what touches what, and what stands where."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from ..sizes.arrays import Floats
from ..sizes.tolerances import ANGLE, CONTACT
from ..wood.assembly import Assembly
from ..wood.part import Part
from ..wood.seating import as_drawn, seated
from .figures import Rule

_PASSES = 12
"""What holds others goes first: as many as parts hold each other in a row, and more."""


@dataclass(frozen=True)
class Between:
    """A part that fits between two others along an axis of the table.

    Parameters
    ----------
    label : of the part
    low, high : labels of those that it touches, as drawn
    """

    label: str
    low: str
    high: str


class Touching:
    """Which parts of an assembly touch each other along an axis of the table, before any came out otherwise."""

    def __init__(self, assembly: Assembly) -> None:
        parts = [as_drawn(part) for part in assembly.parts if not part.role.slides]
        self.labels = [part.label for part in parts]
        boxes = np.array([part.box for part in parts]).reshape(-1, 2, 3)
        self.low, self.high = boxes[:, 0], boxes[:, 1]

    def along(self, axis: int) -> tuple[dict[str, list[str]], dict[str, list[str]]]:
        """Label → what it touches with its face at the low side, and with that at the high side."""
        others = [k for k in range(3) if k != axis]
        shared = np.minimum(self.high[:, None], self.high) - np.maximum(self.low[:, None], self.low)
        beside = (shared[..., others] > CONTACT).all(axis=2)
        meet = beside & (np.abs(self.low[:, None, axis] - self.high[None, :, axis]) <= CONTACT)
        below: dict[str, list[str]] = {}
        above: dict[str, list[str]] = {}
        for own, other in zip(*np.nonzero(meet), strict=True):
            below.setdefault(self.labels[own], []).append(self.labels[other])
            above.setdefault(self.labels[other], []).append(self.labels[own])
        return below, above


@dataclass
class Fitting:
    """An assembly whose parts are cut to their rounded sizes, being put together.

    Parameters
    ----------
    drawn : as the file has it
    rule : what sizes are rounded to
    parts : label → the part with its sizes so far, where it is drawn
    fixed : labels of parts with the axis of the table along which they were measured, and are not rounded
    """

    drawn: Assembly
    rule: Rule
    parts: dict[str, Part]
    fixed: frozenset[tuple[str, int]] = frozenset()
    places: dict[str, Floats] = field(default_factory=dict)
    """Label → (3,) float mm: how far a part itself sits off."""
    targets: dict[tuple[str, int], float] = field(default_factory=dict)
    """(label, axis) → where its low side has to be, mm."""
    fitted: dict[str, Between] = field(default_factory=dict)
    """What was cut to fit, or would have been, had not its room been a rounded length."""
    lengths: dict[float, float] = field(default_factory=dict)
    """Drawn length of what stands in a row → rounded."""

    @cached_property
    def touching(self) -> Touching:
        """What touches what, as drawn."""
        return Touching(self.drawn)

    @cached_property
    def now(self) -> Assembly:
        """The parts where they stand so far."""
        return seated(replace(self.drawn, parts=tuple(self.parts.values())), self.places)

    def box(self, label: str) -> tuple[Floats, Floats]:
        """Of a part where it stands so far."""
        return self.now.by_label[label].box

    def drawn_box(self, label: str) -> tuple[Floats, Floats]:
        """Of a part as drawn."""
        return self.drawn.by_label[label].box

    def settle(self) -> None:
        """Moves every part with a target there, and what it holds along with it."""
        for _ in range(_PASSES):
            self.__dict__.pop("now", None)
            off = {
                (label, axis): at - float(self.box(label)[0][axis])
                for (label, axis), at in self.targets.items()
            }
            if all(abs(by) <= 1e-10 for by in off.values()):
                return
            for (label, axis), by in off.items():
                if abs(by) > 1e-10:
                    place = self.places.setdefault(label, np.zeros(3)).copy()
                    place[axis] += by
                    self.places[label] = place
        self.__dict__.pop("now", None)

    def lengthen(self, label: str, axis: int, size: float) -> None:
        """Gives a part another size along an axis of the table, which shows once the parts have settled."""
        part = self.parts[label]
        own = int(np.abs(part.placement.axes[:, axis]).argmax())
        if own < 2:
            self.parts[label] = resized(part, own, size)


def resized(part: Part, own: int, size: float) -> Part:
    """A part with another length (0) or width (1), which grows toward the greater x, y or z."""
    dimension = part.shape.blank.dimensions()[own]
    by = size - dimension.value
    if abs(by) <= 1e-12:
        return part
    along = part.placement.axes[own]
    backwards = float(along.sum()) < 0
    shape = part.shape.resized(dimension, by, backwards)
    return replace(
        part,
        shape=shape,
        placement=part.placement.moved(-by * along if backwards else np.zeros(3)),
        drawn=part.drawn or part.shape,
        drawn_placement=part.drawn_placement or part.placement,
    )


def runs_along(part: Part, axis: int) -> bool:
    """Whether a part's length lies along an axis of the table."""
    return abs(float(part.placement.axes[0, axis])) > 1.0 - ANGLE


def size_along(part: Part, axis: int) -> float:
    """Of a part, mm."""
    low, high = part.box
    return float(high[axis] - low[axis])
