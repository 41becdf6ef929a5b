"""What ends a leaf's travel: its convex pieces cast on along its way, exactly, until they meet something.

stowed                              each pair of a piece of the leaf and one that stands overlaps on one part of
+--------------+ - - - - - +---+    the way, or nowhere: what begins first ahead of the leaf stops it. A round
| leaf    nose | --------> |   |    corner beside its eased edge, or wood above a nose that is chamfered, overlaps
+--------------+ - - - - - +---+    the box around the leaf, but not the leaf.
                  end gap
"""

from __future__ import annotations

import numpy as np

from ..sizes.arrays import Floats, Ints, ragged_rows
from ..sizes.tolerances import ANGLE, CONTACT
from ..wood.assembly import StowPath
from ..wood.features import Groove
from .clearance.broad import WAYS, Mover, turned
from .clearance.intervals import intervals, passage
from .cuts import cuts_for, land_of
from .prepared import Prepared


def ahead_of(
    prepared: Prepared, path: StowPath, leaf: Mover | None = None, absent: tuple[str, ...] = ()
) -> tuple[float | None, str]:
    """How far a leaf slides on from where it is stowed until it meets something, mm, and the label of that.

    Negative where it does not get as far as that; None and "" where nothing ends its travel.

    Parameters
    ----------
    leaf : stowed; by default the path's own
    absent : labels of leaves that are not stowed, besides the path's own
    """
    scene, leaf = prepared.scene, leaf or prepared.movers[path.leaf]
    away = {prepared.number[label] for label in (path.leaf, *absent)}
    best, stop = np.inf, -1
    for begin, i, j in _by_bounds(prepared, leaf, -path.outward, away):
        if begin >= best:
            break
        met = _met(leaf, i, prepared, j, -path.outward, begin)
        if met is not None and met < best and (met >= -CONTACT or _is_early(prepared, path, leaf, j)):
            best, stop = met, j
    return (best, prepared.assembly.bodies[scene.owner[stop]].label) if stop >= 0 else (None, "")


def _by_bounds(
    prepared: Prepared, leaf: Mover, inward: Floats, away: set[int]
) -> list[tuple[float, int, int]]:
    """Distances, mm, before which a piece of the leaf does not meet one that stands, with the numbers of both: by their
    shadows along axes and diagonals, the nearest first; those that it meets nowhere on the way on are left out."""
    scene, found = prepared.scene, []
    closing = (WAYS @ inward)[None]

    def meet(shadows: Floats, own: Floats) -> tuple[Ints, Floats]:
        begins, ends = intervals((shadows + own[:, None]).T, closing, ANGLE, CONTACT)
        near = np.flatnonzero((begins < ends) & (ends > CONTACT))
        return near, begins[near]

    for i, own in enumerate(turned(leaf.shadows).T):
        parts = [part for part in meet(scene.part_shadows, own)[0].tolist() if scene.parts[part] not in away]
        pieces, _ = ragged_rows(scene.part_starts, np.array(parts, dtype=np.intp))
        near, begins = meet(scene.bounds.shadows[:, pieces], own)
        found += [(begin, i, j) for begin, j in zip(begins.tolist(), pieces[near].tolist(), strict=True)]
    return sorted(found)


def _met(leaf: Mover, i: int, prepared: Prepared, j: int, inward: Floats, begin: float) -> float | None:
    """The distance at which a piece of the leaf meets one that stands, mm; None where it does not, or has left it.

    No sooner than `begin`: a line from the middle of the nose that meets the other piece there settles it.
    """
    bounds = prepared.scene.bounds
    along = leaf.pieces.piece(i) @ inward
    middle = leaf.pieces.piece(i)[along >= along.max() - CONTACT].mean(axis=0)
    planes = bounds.pieces.piece_planes(j)
    rest, closing = planes[:, :3] @ middle - planes[:, 3], -(planes[:, :3] @ inward)
    starts, ends = intervals(rest[None], closing[None], ANGLE, CONTACT)
    if starts[0] < ends[0] and starts[0] <= begin + CONTACT:
        return begin - CONTACT
    body, other = leaf.polytope(i), bounds.polytope(j)
    met = passage(body, inward, other)
    if met is None or met[1] <= CONTACT:
        return None
    touching = passage(body, inward, other, 0.0)
    return touching[0] if touching is not None else met[0]


def _is_early(prepared: Prepared, path: StowPath, leaf: Mover, j: int) -> bool:
    """Whether a piece that overlaps the leaf where it is stowed stands in its way, rather than beside it: it is of the
    leaf's end stop, or reaches past the nose and is no wood along a groove in which an edge runs."""
    scene, inward = prepared.scene, -path.outward
    label = prepared.assembly.bodies[scene.owner[j]].label
    if label == path.end_stop:
        return True
    reach = scene.pieces.piece(j) @ inward
    if reach.max() <= (leaf.pieces.vertices @ inward).max() + CONTACT:
        return False
    grooves = [
        part.placement.to_table(np.array(land_of(part, cut))) @ inward
        for part, cut in cuts_for(path.leaf, prepared.assembly.parts)
        if isinstance(cut, Groove) and part.label == label
    ]
    return all(reach.min() >= ends.max() - CONTACT for ends in grooves)
