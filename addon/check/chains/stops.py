"""What a chain does to the leaves: which one is stopped, how far each part may shift, and what cures it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

import numpy as np

from ...sizes.arrays import Floats
from ...sizes.tolerances import CONTACT
from ..causes import Stop
from ..clearance.intervals import contact_interval
from ..clearance.separation import Polytope, sweep
from ..prepared import Prepared
from ..spans import point
from .links import Chain
from .pressed import Pressed, pressed
from .trims import Bounds, Trims, least_trims, shared_trims


def shifts(chain: Chain, at: Pressed) -> dict[str, Floats]:
    """Label → (3,) float, mm, of the parts that do not stand where they are drawn."""
    along = np.eye(3)[chain.axis]
    found = zip(chain.labels, at.positions, strict=True)
    return {label: off * along for label, off in found if abs(off) > CONTACT}


def stops(prepared: Prepared, moved: Mapping[str, Floats]) -> tuple[Stop, ...]:
    """Leaves that parts stop when they are shifted, all at once, by (3,) float mm each; for each leaf the first stop.

    Only the shifted parts are looked at.
    """
    if not moved:
        return ()
    scene = prepared.only(moved)
    paths = prepared.assembly.stow_paths
    found = []
    for path, slides in zip(paths, prepared.slides(paths, 0.0, scene), strict=True):
        done = -path.zero
        for move, slide in zip(path.moves, slides, strict=True):
            deep = np.flatnonzero(slide.exact & (slide.clearance < -CONTACT)).tolist()
            met = [(slide.contact(number), number) for number in deep]
            for contact, number in sorted(met, key=lambda one: one[0].fraction)[:1]:
                travel = done + contact.fraction * move.length
                label = prepared.assembly.bodies[number].label
                found.append(Stop(path.leaf, label, travel, -contact.clearance, point(contact.place)))
            if met:
                break
            done += move.length
    return tuple(found)


def free_shifts(prepared: Prepared, chain: Chain, farthest: float, least: float) -> dict[int, Bounds]:
    """How far the parts of a chain may shift along it, either way, with every leaf passing them: at a clearance of
    `least` mm where that can be, else just so; nearest to where they are drawn.

    Parameters
    ----------
    farthest : mm; no shift beyond this is looked at

    Returns
    -------
    Part number → bounds, of those parts that cannot shift freely; parts that no shift makes free are left out
    """
    swept = [body for path in prepared.assembly.stow_paths for body in _swept(prepared, path.leaf)]
    found = {}
    for number in range(len(chain.labels)):
        if number not in chain.held:
            part = _Shifted(prepared, chain.labels[number], chain.axis, farthest)
            room = part.free(swept, least) or part.free(swept, 0.0)
            if room is not None and room != (-farthest, farthest):
                found[number] = room
    return found


def _swept(prepared: Prepared, leaf: str) -> Iterator[tuple[str, Polytope]]:
    """The convex bodies that a leaf passes through, with its label."""
    pieces = prepared.movers[leaf].pieces
    for move in prepared.assembly.path_of(leaf).moves:
        begin = pieces.translated(move.start)
        yield from ((leaf, sweep(Polytope.of(begin, at), move.vector)) for at in range(len(begin)))


class _Shifted:
    """A part on its way from the farthest shift down an axis to the farthest one up it."""

    def __init__(self, prepared: Prepared, label: str, axis: int, farthest: float) -> None:
        self.farthest = farthest
        self.own = {path.leaf for path in prepared.assembly.stow_paths if path.end_stop == label}
        self.travel = 2 * farthest * np.eye(3)[axis]
        self.pieces = prepared.pieces[prepared.number[label]].translated(-self.travel / 2)

    def free(self, swept: list[tuple[str, Polytope]], least: float) -> Bounds | None:
        """The shifts, nearest to none, at which the part is nowhere nearer than `least` mm to what leaves pass through;
        None where there are none."""
        low, free = -self.farthest, []
        for start, end in sorted(self._blocked(swept, least)):
            if start > low:
                free.append((low, start))
            low = max(low, end)
        if low < self.farthest:
            free.append((low, self.farthest))
        return min(free, key=lambda room: max(room[0], -room[1], 0.0), default=None)

    def _blocked(self, swept: list[tuple[str, Polytope]], least: float) -> Iterator[Bounds]:
        deeper_than = -least if least > 0 else CONTACT
        for leaf, body in swept:
            if leaf in self.own:
                continue
            low, high = body.vertices.min(axis=0) - self.travel - least, body.vertices.max(axis=0) + least
            near = ((self.pieces.low < high) & (self.pieces.high > low)).all(axis=1)
            for at in np.flatnonzero(near).tolist():
                interval = contact_interval(Polytope.of(self.pieces, at), self.travel, body, deeper_than)
                if interval is not None:
                    start, end = interval
                    yield (2 * start - 1) * self.farthest, (2 * end - 1) * self.farthest


MOST_PARTS: Final = 6
"""Nobody takes apart more of a table than this to spare one part a cut (common practice, no source)."""


def curing_trims(prepared: Prepared, chain: Chain) -> Trims:
    """The least wood to take off for the chain to go together with every part where the leaves pass it."""
    found = least_trims(chain, {})
    if _passes(prepared, chain, found):
        return found
    return _with_every_leaf(prepared, chain, prepared.assembly.limits.min_clearance)


def passes_somewhere(prepared: Prepared, chain: Chain, least: float) -> bool:
    """Whether a chain that goes together can do so with every leaf passing at a clearance of `least` mm.

    A part that is nearer to a leaf wherever it stands is no matter of the chain.
    """
    return _with_every_leaf(prepared, chain, least).total <= CONTACT


def filled(prepared: Prepared, chain: Chain) -> tuple[float, ...]:
    """What to put in at each link so that all joints close, mm, for a chain that goes together.

    Where nothing is too long, each joint is filled by what it is open as placed; else by what is open with every part
    where the leaves pass it.
    """
    if not any(link.excess > 0 for link in chain.links):
        return tuple(-link.excess for link in chain.links)
    found = _with_every_leaf(prepared, chain, prepared.assembly.limits.min_clearance)
    at = Pressed("evenly", found.positions) if found.total <= CONTACT else pressed(chain, "evenly")
    return tuple(at.gap(link) for link in chain.links)


def _with_every_leaf(prepared: Prepared, chain: Chain, least: float) -> Trims:
    farthest = sum(abs(link.excess) for link in chain.links)
    return least_trims(chain, free_shifts(prepared, chain, farthest, least))


def sharing_trims(prepared: Prepared, chain: Chain, least: Trims) -> Trims | None:
    """The same in all as much off each of more parts; None where that cannot be, or stops a leaf."""
    found = shared_trims(chain, {})
    if found is None or found.total > least.total + CONTACT:
        return None
    off = [amount for amount in found.amounts if amount > CONTACT]
    more = MOST_PARTS >= len(off) > sum(amount > CONTACT for amount in least.amounts)
    if not more or max(off) - min(off) > CONTACT or not _passes(prepared, chain, found):
        return None
    return found


def _passes(prepared: Prepared, chain: Chain, trims: Trims) -> bool:
    """Whether no leaf is stopped by a part where the trims leave it."""
    return not stops(prepared, shifts(chain, Pressed("evenly", trims.positions)))
