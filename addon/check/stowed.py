"""How the leaves lie stowed: what ends their travel, how far they stand out, and what draws them out again.

What ends it is found exactly, by casting a leaf's convex pieces on along its way until they meet something:

stowed                              each pair of a piece of the leaf and one that stands overlaps on one part of
+--------------+ - - - - - +---+    the way, or nowhere: what begins first ahead of the leaf stops it. A round
| leaf    nose | --------> |   |    corner beside its eased edge, or wood above a nose that is chamfered, overlaps
+--------------+ - - - - - +---+    the box around the leaf, but not the leaf.
                  end gap

A leaf is drawn out from below where fingers find a hole or a pull that is large enough, near enough, and free.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from ..sizes.arrays import Floats, Ints, ragged_rows
from ..sizes.tolerances import ANGLE, CONTACT
from ..wood.assembly import StowPath
from ..wood.features import Groove
from ..wood.part import Part
from .causes import (
    Cause,
    CoveredGrip,
    FarGrip,
    Grip,
    NoGrip,
    NothingStops,
    Point,
    SmallGrip,
    StandsOut,
    StopsEarly,
)
from .clearance.broad import WAYS, Mover, turned
from .clearance.intervals import intervals, passage
from .facts import Fact, LeafResult, Rule
from .prepared import Prepared, cuts_for, land_of
from .spans import point


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


def stowed_facts(prepared: Prepared, path: StowPath, result: LeafResult) -> Iterator[Fact]:
    """Facts about one leaf stowed."""
    yield from _end_of_travel(prepared, path, result)
    yield from _outer_end(prepared, path, result)
    yield from grip_facts(prepared, path, result)


def _nose(prepared: Prepared, path: StowPath, outer: bool = False) -> Point:
    """Middle of the leaf's nose stowed, or of its outer end."""
    low, high = prepared.bounds(path.leaf)
    middle = (low + high) / 2
    axis = int(np.abs(path.outward).argmax())
    middle[axis] = high[axis] if (path.outward[axis] > 0) == outer else low[axis]
    return point(middle)


def _end_of_travel(prepared: Prepared, path: StowPath, result: LeafResult) -> Iterator[Fact]:
    gap, leaf = result.end_gap, path.leaf
    stowed, nose = path.length - path.zero, _nose(prepared, path)
    if gap is None or gap > prepared.assembly.limits.end_gap + CONTACT:
        amount = gap if gap is not None else path.length
        cause = NothingStops(gap, result.stops_at)
        yield Fact("no-end-stop", "warning", (leaf,), nose, amount, cause, leaf, stowed)
    elif gap < -CONTACT and result.stops_at == path.end_stop:
        parts, cause = (result.stops_at, leaf), StopsEarly(result.stops_at)
        yield Fact("end-stop-near", "warning", parts, nose, -gap, cause, leaf, stowed + gap)


def _outer_end(prepared: Prepared, path: StowPath, result: LeafResult) -> Iterator[Fact]:
    excess = result.proud - prepared.assembly.limits.leaf_proud
    if excess > CONTACT:
        place, stowed = _nose(prepared, path, outer=True), path.length - path.zero
        parts, cause = (path.leaf, path.side), StandsOut(path.side, excess)
        yield Fact("leaf-proud", "note", parts, place, result.proud, cause, path.leaf, stowed)


def grip_facts(prepared: Prepared, path: StowPath, result: LeafResult) -> Iterator[Fact]:
    """What is amiss with the finger hole or pull of one leaf stowed, if nothing draws it out: no finger gets it out.

    A leaf that stands out is gripped there. Of several holes and pulls one that serves is enough; else the first one
    is told of.
    """
    limits = prepared.assembly.limits
    if result.proud > 0:
        return
    leaf = prepared.assembly.by_label[path.leaf]
    grips = grips_of(leaf, int(np.abs(path.outward).argmax()))
    if grips:
        faults = [list(_faults_of(prepared, path, grip)) for grip in grips]
        if all(faults):
            yield from faults[0]
    elif limits.finger_hole > 0:
        low, high = prepared.bounds(path.leaf)
        lacking = NoGrip(path.side, -result.proud, _pull_of(leaf) is not None)
        yield _out_of_grip(path, "finger-hole", limits.finger_hole, (low + high) / 2, lacking)


def _out_of_grip(
    path: StowPath, rule: Rule, amount: float, at: Floats, cause: Cause, others: tuple[str, ...] = ()
) -> Fact:
    stowed = path.length - path.zero
    return Fact(rule, "error", (path.leaf, *others), point(at), amount, cause, path.leaf, stowed)


def _faults_of(prepared: Prepared, path: StowPath, grip: Grip) -> Iterator[Fact]:
    """Why fingers cannot draw a leaf out by one hole or pull."""
    limits, axis = prepared.assembly.limits, int(np.abs(path.outward).argmax())
    if grip.least_size < limits.finger_hole - CONTACT:
        short = limits.finger_hole - grip.least_size
        yield _out_of_grip(path, "finger-hole", short, grip.at, SmallGrip(grip, limits.finger_hole))
    low, high = prepared.bounds(path.side)
    outer = float(high[axis] if path.outward[axis] > 0 else low[axis])
    depth, reach = abs(outer - float(grip.at[axis])), limits.finger_reach
    if depth > reach + CONTACT:
        far = FarGrip(grip, path.side, depth, reach)
        yield _out_of_grip(path, "finger-reach", depth - reach, grip.at, far)
    spans, owners = _below(prepared, path, grip)
    below = [prepared.assembly.bodies[int(one)] for one in owners[(spans[:, 0] < 0) & (spans[:, 1] > 0)]]
    if below:
        # Another leaf that lies below is drawn out before.
        stays = [body for body in below if not body.role.slides]
        body = (stays or below)[0]
        covered = CoveredGrip(grip, body.label, spans, max(reach - depth, 0.0))
        fact = _out_of_grip(path, "finger-room", grip.along, grip.at, covered, (body.label,))
        yield fact if stays else replace(fact, severity="note")


def grips_of(leaf: Part, axis: int) -> list[Grip]:
    """What fingers find below a leaf that lies stowed and travels along table axis `axis`: holes, then its pull."""
    grips = [
        Grip("finger hole", _underside(leaf, hole.u, hole.v), hole.diameter, hole.diameter)
        for hole in leaf.shape.holes
    ]
    pull = _pull_of(leaf)
    if pull is None or not _is_below(leaf, pull):
        return grips
    length, width, _ = leaf.shape.size
    (u0, u1), (v0, v1) = (max(pull.u0, 0.0), min(pull.u1, length)), (max(pull.v0, 0.0), min(pull.v1, width))
    at = _underside(leaf, (u0 + u1) / 2, (v0 + v1) / 2)
    sizes = (u1 - u0, v1 - v0) if abs(leaf.placement.axes[0, axis]) > 0.5 else (v1 - v0, u1 - u0)
    return [*grips, Grip("pull", at, *sizes)]


def _pull_of(leaf: Part) -> Groove | None:
    """The recessed pull of a leaf, if it has one."""
    return next((groove for groove in leaf.shape.grooves if groove.kind == "pull"), None)


def _underside(leaf: Part, u: float, v: float) -> Floats:
    at = leaf.placement.to_table(np.array([[u, v, 0.0], [u, v, leaf.shape.thickness]]))
    return at[at[:, 2].argmin()]


def _is_below(leaf: Part, pull: Groove) -> bool:
    """Whether the face that the pull is in is down."""
    upright = leaf.placement.axes[2, 2] > 0
    return upright == (pull.face == "front")


def _below(prepared: Prepared, path: StowPath, grip: Grip) -> tuple[Floats, Ints]:
    """For each piece below a leaf's grip, but for its place along the travel: (n, 2) float, between which shifts of
    the grip inward it stays covered, mm; (n,) the number of the piece's part."""
    scene, at, half = prepared.scene, grip.at, grip.across / 2
    axis = int(np.abs(path.outward).argmax())
    low, high = scene.pieces.low, scene.pieces.high
    beside = (low[:, 1 - axis] < at[1 - axis] + half) & (high[:, 1 - axis] > at[1 - axis] - half)
    counts = beside & (low[:, 2] < at[2] - CONTACT) & (scene.owner != prepared.number[path.leaf])
    half = grip.along / 2
    start, stop = low[counts, axis] - at[axis] - half, high[counts, axis] - at[axis] + half
    if path.outward[axis] > 0:
        start, stop = -stop, -start
    return np.stack([start, stop], axis=1), scene.owner[counts]
