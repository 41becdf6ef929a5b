"""The covering leaves side by side in the well: play, gaps, and room to lift the first one out.

Play and gaps are sums of dimensions: as drawn, in the worst case, and by the root of the sum of squares.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ..sizes.arrays import Floats
from ..wood.assembly import Assembly
from ..wood.part import Part
from ..wood.roles import Bounds
from .causes import Point


@dataclass(frozen=True)
class Dimension:
    """One dimension in a stack, mm.

    Parameters
    ----------
    part : label of its part
    name : which of the part's dimensions: ``length``, ``width`` or ``thickness``; or its ``squareness``, the
        difference of its diagonals
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


def lift_room(width: ArrayLike, thickness: ArrayLike, radius: ArrayLike = 0.0) -> Floats:
    """Least play, mm, that lets a leaf be lifted out by one edge from between neighbors as high as itself.

    The greatest of `extent_when_tilted`, sqrt(w² + t²) for a square leaf, less the width. The leaf is widest at
    tan(tilt) = t / w, and its lifted edge is still below its neighbor's upper edge there, its resting edge all along:
    so less play than that never lets it out so, and as much always does.
    """
    w, t, r = (np.asarray(value, dtype=float) for value in (width, thickness, radius))
    return np.hypot(w - 2 * r, t - 2 * r) + 2 * r - w


@dataclass(frozen=True)
class Lift:
    """Room to lift one leaf by an edge, the others pushed together.

    Parameters
    ----------
    leaf : label
    needed : play that it takes, mm
    play : that there is
    """

    leaf: str
    needed: float
    play: Stack

    @property
    def room(self) -> float:
        """Play left over, as drawn, mm; negative: it cannot be lifted out so."""
        return self.play.nominal - self.needed

    @property
    def worst(self) -> float:
        """Play left over in the worst case, mm."""
        return self.room - self.play.worst

    @property
    def rss(self) -> float:
        """Play left over less the root of the sum of squares of the deviations, mm."""
        return self.room - self.play.rss


@dataclass(frozen=True)
class Cover:
    """The covering leaves in their opening.

    Parameters
    ----------
    leaves : labels in order along the opening
    opening : between the boards at either end of the row of leaves
    play : opening less the leaves: the room when all are pushed together
    end_play : leaf label → room lengthwise, between the sides
    by_side : one a leaf, lifted by a long edge in the room that the others leave
    by_end : one a leaf, lifted by an end, in its room lengthwise
    middle : of their upper faces, in table coordinates, mm
    """

    leaves: tuple[str, ...]
    opening: Stack
    play: Stack
    end_play: dict[str, Stack]
    by_side: tuple[Lift, ...]
    by_end: tuple[Lift, ...]
    middle: Point

    @property
    def best_lift(self) -> Lift | None:
        """The leaf and edge with the most room to be lifted out first."""
        return max((*self.by_side, *self.by_end), key=lambda one: one.room, default=None)

    @property
    def gap(self) -> float:
        """Each gap when the leaves are spread evenly, the outer ones included, mm."""
        return self.play.nominal / (len(self.leaves) + 1)

    @property
    def gap_worst(self) -> tuple[float, float]:
        """Least and greatest of that gap in the worst case, mm; negative: the leaves do not go in."""
        own = self.play.worst / (len(self.leaves) + 1)
        return self.gap - own, self.gap + own

    @property
    def gap_rss(self) -> tuple[float, float]:
        """The same by the root of the sum of squares, mm."""
        own = self.play.rss / (len(self.leaves) + 1)
        return self.gap - own, self.gap + own


def cover_of(assembly: Assembly) -> Cover | None:
    """The stacks of a table's covering leaves, from its parts as cut; None without any, or without boards around them.

    The opening is what the table's corner joints make it: the length of a board less the thicknesses of the boards
    that stand across its ends, less the fixed tops. Sawn sizes vary by their tolerance, thicknesses by half
    of their stock's spreads: within a sheet each by itself, between sheets all of one stock together. A leaf out of
    square lies with its edges along its neighbors' and needs more room at its ends (`out_at_end`), not beside them.
    """
    around = _bounding(assembly, "around")
    if not assembly.cover or not all(any(_runs_along(part, axis) for part in around) for axis in (0, 1)):
        return None
    sawn = assembly.tolerances.sawn_size
    middles = {leaf: _middle(assembly, leaf) for leaf in assembly.cover}
    across = 0 if abs(next(iter(assembly.cover.values())).axes[0][1]) > 0.5 else 1
    leaves = tuple(sorted(middles, key=lambda leaf: middles[leaf][across]))
    opening = _inner(assembly, across, sawn)
    opening = opening.plus(*(_sawn(top, "width", -1.0, sawn) for top in _bounding(assembly, "beside")))
    parts = [assembly.by_label[leaf] for leaf in leaves]
    play = opening.plus(*(_sawn(part, "width", -1.0, sawn) for part in parts))
    inner = _inner(assembly, 1 - across, sawn)
    square = assembly.tolerances.squareness
    ends = {
        part.label: inner.plus(_sawn(part, "length", -1.0, sawn), *_out_of_square(part, square))
        for part in parts
    }
    return Cover(
        leaves,
        opening,
        play,
        ends,
        tuple(Lift(part.label, _needed(part, along=False), play) for part in parts),
        tuple(Lift(part.label, _needed(part, along=True), ends[part.label]) for part in parts),
        _middle_of_all(assembly),
    )


def out_at_end(along: float, across: float, diagonals: float) -> float:
    """How far an end of a parallelogram is out over its width, mm: so much longer than its edges it is along them.

    With edges `along` long and `across` apart, the diagonals are sqrt((along ± e)² + across²). By how much they differ
    is the same on a hyperbola with the foci ± along, and e is where that is `across` high:
    e = d/2·sqrt(1 + across²/(along² - d²/4)).

    Parameters
    ----------
    diagonals : their difference, mm; less than twice `along`
    """
    return diagonals / 2 * math.sqrt(1 + across**2 / (along**2 - diagonals**2 / 4))


def _out_of_square(leaf: Part, diagonals: float) -> tuple[Dimension, ...]:
    """What a leaf whose diagonals differ by so much at most takes of the room at its ends."""
    if not diagonals:
        return ()
    length, width, _ = leaf.shape.size
    more = out_at_end(length, width, diagonals) / diagonals
    return (Dimension(leaf.label, "squareness", 0.0, -more, diagonals),)


def _middle(assembly: Assembly, leaf: str) -> Floats:
    size = np.array(assembly.by_label[leaf].shape.size)
    return assembly.cover[leaf].to_table(size[None] / 2)[0]


def _middle_of_all(assembly: Assembly) -> Point:
    """Middle of the leaves' upper faces, as drawn."""
    ends = [
        place.to_table(np.array([(0.0, 0.0, 0.0), assembly.by_label[leaf].drawn_shape.size]))
        for leaf, place in assembly.cover.items()
    ]
    low, high = np.min(ends, axis=(0, 1)), np.max(ends, axis=(0, 1))
    return float(low[0] + high[0]) / 2, float(low[1] + high[1]) / 2, float(high[2])


def _needed(leaf: Part, along: bool) -> float:
    length, width, thickness = leaf.shape.size
    return float(lift_room(length if along else width, thickness, _radius(leaf, (1, 3) if along else (0, 2))))


def _radius(leaf: Part, edges: tuple[int, int]) -> float:
    """Radius of the round-overs along two opposite edges of a leaf; 0 unless all four run right through."""
    found = {
        (one.edge, one.face): one.size
        for one in leaf.shape.edges
        if one.kind == "round-over" and one.start is None and one.stop is None
    }
    return min(found.get((edge, face), 0.0) for edge in edges for face in ("front", "back"))


def _inner(assembly: Assembly, axis: int, sawn: float) -> Stack:
    """Between the inner faces of the two boards around the cover that stand across an axis.

    The shorter of the two that run along the axis counts. Where its own ends butt against the others' faces, its
    length is the whole; where it runs through, or is mitered, their thicknesses go off.
    """
    sides = _bounding(assembly, "around")
    along = [part for part in sides if _runs_along(part, axis)]
    standing = [part for part in sides if part not in along]
    board = min(along, key=lambda part: part.shape.size[0])
    stack = Stack((_sawn(board, "length", 1.0, sawn),))
    if _butts_by_its_ends(assembly, board, standing):
        return stack
    return stack.plus(*(_thickness(part, -1.0) for part in standing))


def _bounding(assembly: Assembly, how: Bounds) -> list[Part]:
    """The parts that bound the cover so, by what their roles say."""
    return [part for part in assembly.parts if part.role.bounds_cover == how]


def _runs_along(part: Part, axis: int) -> bool:
    return abs(float(part.placement.axes[0][axis])) > 0.5


def _butts_by_its_ends(assembly: Assembly, board: Part, standing: list[Part]) -> bool:
    others = {part.label for part in standing}
    return any(
        joint.kind == "butt" and joint.a == board.label and joint.b in others for joint in assembly.joints
    )


def _sawn(part: Part, name: str, coefficient: float, tolerance: float) -> Dimension:
    size = part.shape.size[("length", "width").index(name)]
    return Dimension(part.label, name, size, coefficient, tolerance)


def _thickness(part: Part, coefficient: float) -> Dimension:
    stock = part.stock
    own, shared = stock.spread_within / 2, stock.spread_between / 2
    return Dimension(part.label, "thickness", part.shape.thickness, coefficient, own, shared, stock.name)
