"""Space that is reserved: parts and fasteners that stand in it, leaves that pass through it or cover it, walls, bends.

A leaf's way and a reserved space are convex bodies, so that the kernel's distances are exact here too. A wall is a
plane: a leaf has to come out straight until its nose has left the slot's outer face; from there on it can be turned.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..sizes.arrays import Floats
from ..sizes.tolerances import CONTACT
from ..wood.assembly import StowPath
from ..wood.reserved import Space
from ..wood.solids.pieces import Pieces
from ..wood.solids.solids import pieces_of
from .causes import Cause
from .clearance.kernel import Mover, Run, Runs, StaticScene
from .drawn_way import contacts_of
from .facts import Fact
from .prepared import Prepared
from .spans import point, span_of_way

Moves = tuple[float, float, float, float, float, float]
"""How far a space has to move to be out of the way, by boxes: along -x, -y, -z, then +x, +y, +z; mm."""


@dataclass(frozen=True)
class Crossed(Cause):
    """A leaf passes through a reserved space on its way, or lies in it as cover.

    Parameters
    ----------
    number : of the space's entry
    covering : whether it lies there as cover
    """

    number: int
    leaf: str
    moves: Moves
    covering: bool = False


@dataclass(frozen=True)
class BeforeWall(Cause):
    """A leaf cannot be pulled out for a wall.

    Parameters
    ----------
    number : of the wall's entry
    short : how much farther off the wall would have to be, mm
    """

    number: int
    leaf: str
    short: float


@dataclass(frozen=True)
class Taken(Cause):
    """A part or fastener stands in a reserved space."""

    number: int
    part: str
    moves: Moves


@dataclass(frozen=True)
class TightBend(Cause):
    """A straight length of a cable is too short for the arcs at its ends."""

    number: int
    short: float


def facts_of_reserved(prepared: Prepared) -> Iterator[Fact]:
    """All that is amiss with reserved spaces."""
    spaces = prepared.assembly.reserved
    for one in spaces:
        for bend in one.bends:
            cause = TightBend(one.number, bend.short)
            yield Fact("cable-bend", "warning", (one.label,), bend.at, bend.short, cause)
    solid = [one for one in spaces if one.wall is None]
    if solid:
        yield from _crossed(prepared, solid)
        yield from _covered(prepared, solid)
        yield from _taken(prepared, solid)
    yield from _before_walls(prepared, [one for one in spaces if one.wall is not None])


def _scene(spaces: Sequence[Space]) -> StaticScene:
    """The spaces as standing pieces, numbered in order."""
    owner = np.repeat(np.arange(len(spaces)), [len(one.pieces) for one in spaces])
    return StaticScene(Pieces.concatenate([one.pieces for one in spaces]), owner, part_count=len(spaces))


def _crossed(prepared: Prepared, spaces: Sequence[Space]) -> Iterator[Fact]:
    """Leaves on their ways, stowed at the end of them."""
    movers = prepared.movers
    paths = [path for path in prepared.assembly.stow_paths if _is_near(_swept(prepared, path), spaces)]
    runs = [
        Run(movers[path.leaf], move.vector, move.start, _open_to(path.leaf, spaces))
        for path in paths
        for move in path.moves
    ]
    slides = iter(_scene(spaces).slides(Runs(runs, len(spaces)), 0.0))
    for path in paths:
        own = [next(slides) for _ in path.moves]
        for number, contact, travel in contacts_of(path, own, -CONTACT):
            if contact.clearance >= -CONTACT:
                continue
            space = spaces[number]
            cause = Crossed(space.number, path.leaf, _moves(space.pieces, _swept(prepared, path)))
            yield Fact(
                "space-crossed", "error", (space.label, path.leaf), point(contact.place), -contact.clearance,
                cause, path.leaf, travel, span_of_way(own, number, contact),
            )  # fmt: skip


def _swept(prepared: Prepared, path: StowPath) -> list[tuple[Floats, Floats]]:
    """Corners of the boxes of what a leaf's pieces sweep in each of its moves, (n, 3) float each, mm."""
    own = prepared.movers[path.leaf].pieces
    return [
        (own.low + np.minimum(move.start, move.end), own.high + np.maximum(move.start, move.end))
        for move in path.moves
    ]


def _is_near(boxes: Iterable[tuple[Floats, Floats]], spaces: Sequence[Space]) -> bool:
    """Whether boxes, taken together, meet any space's."""
    for low, high in boxes:
        least, most = low.min(axis=0), high.max(axis=0)
        for one in spaces:
            if ((one.pieces.low < most) & (one.pieces.high > least)).all(axis=1).any():
                return True
    return False


def _open_to(leaf: str, spaces: Sequence[Space]) -> list[int]:
    """Numbers of the spaces that a leaf may pass."""
    return [number for number, one in enumerate(spaces) if one.entry.leaf == leaf]


def _covered(prepared: Prepared, spaces: Sequence[Space]) -> Iterator[Fact]:
    """Leaves that lie in a space as cover."""
    assembly = prepared.assembly
    covering = [
        replace(assembly.by_label[label], placement=at)
        for label, at in assembly.cover.items()
        if label in assembly.by_label
    ]
    lying = {
        part.label: pieces_of(part)
        for part in covering
        if _is_near([(part.box[0][None], part.box[1][None])], spaces)
    }
    runs = [Run(Mover(own), np.zeros(3), skip=_open_to(label, spaces)) for label, own in lying.items()]
    slides = _scene(spaces).slides(Runs(runs, len(spaces)), 0.0)
    for (label, own), slide in zip(lying.items(), slides, strict=True):
        for number in np.flatnonzero(slide.exact & (slide.clearance < -CONTACT)).tolist():
            space, found = spaces[number], slide.separation(number)
            cause = Crossed(space.number, label, _moves(space.pieces, [(own.low, own.high)]), covering=True)
            span = point(found.point_a), point(found.point_b)
            yield Fact(
                "space-crossed", "error", (space.label, label), point(found.place), -found.distance, cause,
                label, span=span,
            )  # fmt: skip


def _taken(prepared: Prepared, spaces: Sequence[Space]) -> Iterator[Fact]:
    """What stands in a space; of leaves their ways tell."""
    bodies = prepared.assembly.bodies
    sliding = [number for number, body in enumerate(bodies) if body.role.slides]
    runs = [Run(Mover(one.pieces), np.zeros(3), skip=sliding) for one in spaces]
    slides = prepared.scene.slides(Runs(runs, len(bodies)), 0.0)
    for space, slide in zip(spaces, slides, strict=True):
        for number in np.flatnonzero(slide.exact & (slide.clearance < -CONTACT)).tolist():
            found, own = slide.separation(number), prepared.pieces[number]
            cause = Taken(space.number, bodies[number].label, _moves(space.pieces, [(own.low, own.high)]))
            span = point(found.point_a), point(found.point_b)
            yield Fact(
                "space-taken", "warning", (space.label, bodies[number].label), point(found.place),
                -found.distance, cause, span=span,
            )  # fmt: skip


def _moves(space: Pieces, others: Iterable[tuple[Floats, Floats]]) -> Moves:
    """How far a space has to move each way to be out of those boxes that it is in.

    Parameters
    ----------
    others : corners of boxes, (n, 3) float each, mm
    """
    found = np.zeros(6)
    for low, high in others:
        inside = (space.low[:, None] < high[None]) & (low[None] < space.high[:, None])
        one, other = np.nonzero(inside.all(axis=2))
        if len(one):
            down, up = space.high[one] - low[other], high[other] - space.low[one]
            found = np.maximum(found, np.concatenate([down.max(axis=0), up.max(axis=0)]))
    x, y, z, up_x, up_y, up_z = found.tolist()
    return x, y, z, up_x, up_y, up_z


def _before_walls(prepared: Prepared, walls: Sequence[Space]) -> Iterator[Fact]:
    """Leaves that a wall does not let out."""
    for path in prepared.assembly.stow_paths if walls else ():
        corners = prepared.pieces[prepared.number[path.leaf]].vertices
        ends = _out_of_slot(path)
        for space in walls:
            if space.wall is None or space.entry.leaf == path.leaf:
                continue
            normal, offset = space.wall[:3], float(space.wall[3])
            outward = corners @ normal
            short = float(outward.max() + (ends @ normal).max() - offset)
            if short <= CONTACT:
                continue
            farthest = ends[int((ends @ normal).argmax())]
            face = corners[outward >= outward.max() - CONTACT].mean(axis=0) + farthest
            cause = BeforeWall(space.number, path.leaf, short)
            at = face - short * normal
            yield Fact(
                "space-crossed", "error", (space.label, path.leaf), point(at), short, cause, path.leaf, 0.0,
                (point(face), point(at)),
            )  # fmt: skip


def _out_of_slot(path: StowPath) -> Floats:
    """(n, 3) float, mm: offsets from home where a leaf's moves end, from the slot's outer face on."""
    done, found = -path.zero, [path.offset_at(0.0)]
    for move in path.moves:
        done += move.length
        if done > 0:
            found.append(move.end)
    return np.array(found)
