"""What is built, as a whole: its parts, the joints between them and the ways of what slides home."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from ..sizes.arrays import Floats
from .dimensions import AsCut
from .fasteners import Body, Fastener
from .joints import Joint
from .limits import Limits, Tolerances
from .part import Part, Placement
from .reserved import Space
from .roles import named


@dataclass(frozen=True, eq=False)
class Move:
    """One straight move of a leaf; offsets from home, (3,) float, mm."""

    start: Floats
    end: Floats

    @cached_property
    def vector(self) -> Floats:
        """(3,) float, mm"""
        return self.end - self.start

    @cached_property
    def length(self) -> float:
        """Distance covered, mm."""
        return float(np.linalg.norm(self.vector))


@dataclass(frozen=True, eq=False)
class StowPath:
    """The way of one leaf from outside, through its slot or along its grooves, to home."""

    leaf: str
    side: str
    """Label of the part from whose outer face its travel counts: the side whose slot it enters."""
    moves: tuple[Move, ...]
    zero: float
    """Distance along the moves at which the leaf's nose is at the slot's outer face, mm; travel counts from there."""
    outward: Floats
    """(3,) float, unit direction out of the slot."""
    end_stop: str | None = None
    """Label of the part that ends the travel, if the leaf has an end stop of its own."""
    position: int = 0
    """Number of the position where it stows, from 0, as the design counts them."""

    @cached_property
    def length(self) -> float:
        """Length of all moves together, mm."""
        return sum(move.length for move in self.moves)

    def offset_at(self, travel: float) -> Floats:
        """Offset from home, (3,) float mm, with the nose `travel` mm past the slot's outer face."""
        rest = min(max(travel + self.zero, 0.0), self.length)
        for move in self.moves:
            if rest <= move.length:
                return move.start + move.vector * (rest / move.length)
            rest -= move.length
        return self.moves[-1].end


@dataclass(frozen=True, eq=False)
class Assembly:
    """What is built, ready to be checked. What slides stands stowed; `cover` tells where leaves lie as top."""

    name: str
    parts: tuple[Part, ...]
    joints: tuple[Joint, ...]
    stow_paths: tuple[StowPath, ...]
    cover: dict[str, Placement] = field(default_factory=dict)
    """Leaf label → placement as a cover leaf."""
    limits: Limits = field(default_factory=Limits)
    tolerances: Tolerances = field(default_factory=Tolerances)
    as_cut: tuple[AsCut, ...] = ()
    """The dimensions that were measured; they deviate no more."""
    missing: tuple[Part, ...] = ()
    """Parts that were drawn and are not there."""
    lost_joints: tuple[Joint, ...] = ()
    """Their joints."""
    fasteners: tuple[Fastener, ...] = ()
    """Screws, brads and bolts."""

    reserved: tuple[Space, ...] = ()
    """What nothing may stand in."""

    @cached_property
    def bodies(self) -> tuple[Body, ...]:
        """All that takes up space: the parts, then the fasteners."""
        return (*self.parts, *self.fasteners)

    @cached_property
    def body(self) -> dict[str, Body]:
        """Label → part or fastener."""
        return {body.label: body for body in self.bodies}

    @cached_property
    def by_label(self) -> dict[str, Part]:
        """Label → part."""
        return {part.label: part for part in self.parts}

    @property
    def hiding(self) -> list[str]:
        """What stands before the inside of the body, in words: left out of pictures of that."""
        return named(part.role for part in self.parts if part.role.hides_inside)

    def with_role(self, *words: str) -> tuple[Part, ...]:
        """The parts of the roles with these words, in order."""
        return tuple(part for part in self.parts if part.role.word in words)

    def are_joined(self, a: Body, b: Body) -> bool:
        """Whether one of the two is a fastener that goes through the other by design."""
        return any(isinstance(one, Fastener) and other.label in one.joins for one, other in ((a, b), (b, a)))

    def called(self, labels: Sequence[str]) -> str:
        """What a part is called, or several that are glued up: ``end stop of L3``, ``leg``."""
        part = self.by_label[labels[0]]
        return part.short_name if len(labels) == 1 else part.role.one

    def path_of(self, leaf: str) -> StowPath:
        """The stow path of a leaf. Raises KeyError for a leaf that has none."""
        for path in self.stow_paths:
            if path.leaf == leaf:
                return path
        raise KeyError(leaf)
