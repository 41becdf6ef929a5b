"""Joints of parts cut otherwise than drawn: faces that do not meet, edges that were flush and are so no more."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ...sizes.tolerances import CONTACT
from ...wood.joints import BoardFace, Joint
from ...wood.seating import groove_box, groove_of, groove_that_holds, table_face
from ..spans import point
from .moves import Effect, Moves, too_thin


def flush_no_more(moves: Moves, limit: float) -> Iterator[Effect]:
    """Edges and ends of joined parts that were drawn flush and are apart by more than the limit, where nothing covers
    them.

    Whether one stands out or back is said of the part that is off by its own doing. What only went along with a third
    part is that part's matter.
    """
    for joint in moves.joints:
        for axis in _axes_of_joint(moves, joint):
            for side in (0, 1):
                effect = _step(moves, joint, axis, side, limit)
                if effect is not None:
                    yield effect


def _axes_of_joint(moves: Moves, joint: Joint) -> tuple[int, ...]:
    """Axes of the table in the plane of the faces that meet; of a miter only the one square to both boards."""
    a, b = moves.drawn(joint.a), moves.drawn(joint.b)
    faces = None if joint.kind == "groove" else joint.faces_of(a, b)
    if faces is None:
        return ()
    normals = {table_face(b, faces[1]).axis}
    if joint.kind == "miter":
        normals |= {table_face(a, faces[0]).axis}
    return tuple(axis for axis in range(3) if axis not in normals)


def _step(moves: Moves, joint: Joint, axis: int, side: int, limit: float) -> Effect | None:
    a, b = joint.a, joint.b
    if abs(moves.before(a, axis, side) - moves.before(b, axis, side)) > CONTACT:
        return None
    step = moves.now(a, axis, side) - moves.now(b, axis, side)
    first = moves.blame(a, b, axis, (side, side))
    if abs(step) <= limit + CONTACT or not first or any(moves.meets(label, axis, side) for label in (a, b)):
        return None
    second = b if first == a else a
    out = (step > 0) == (side == 1)
    at = moves.between(a, b)
    at[axis] = moves.now(first, axis, side)
    kind = "proud" if out == (first == a) else "low"
    return Effect(
        kind,
        (first, second),
        abs(step),
        point(at),
        moves.face(first, axis, side),
        between=(first, second),
        axis=axis,
    )


def open_faces(moves: Moves, limit: float) -> Iterator[Effect]:
    """Faces that should lie on each other and are apart by more than the limit.

    Ends are looked at elsewhere (sums along a row); what lies on a ledger is part of the cover.
    """
    for joint in moves.joints:
        a, b = moves.parts[joint.a], moves.parts[joint.b]
        faces = joint.faces_of(moves.drawn(joint.a), moves.drawn(joint.b))
        if joint.kind not in ("face", "butt") or joint.part_end or faces is None or b.role.carries_cover:
            continue
        own, other = table_face(a, faces[0]), table_face(b, faces[1])
        before = table_face(moves.drawn(joint.a), faces[0]).at - table_face(moves.drawn(joint.b), faces[1]).at
        gap = (own.at - other.at - before) * other.sign
        if gap > limit + CONTACT:
            sides = ((1 + own.sign) // 2, (1 + other.sign) // 2)
            first = moves.blame(joint.a, joint.b, own.axis, sides) or joint.a
            second = joint.b if first == joint.a else joint.a
            face = faces[0] if first == joint.a else faces[1]
            at = point(moves.between(joint.a, joint.b))
            yield Effect("open", (first, second), gap, at, face, between=(first, second), axis=own.axis)


def open_miters(moves: Moves, limit: float) -> Iterator[Effect]:
    """Mitered ends that were sawn at another angle and so gape at one of their faces, mm along the boards.

    How far ends stay apart because a board is short is looked at elsewhere.
    """
    for joint in moves.joints:
        faces = None
        if joint.kind == "miter":
            faces = joint.faces_of(moves.drawn(joint.a), moves.drawn(joint.b))
        if faces is None:
            continue
        off = {
            label: _insets_off(moves, label, face)
            for label, face in zip((joint.a, joint.b), faces, strict=True)
        }
        gap = max(off[joint.a][0] + off[joint.b][0], off[joint.a][1] + off[joint.b][1])
        if gap > limit + CONTACT:
            first, second = sorted(off, key=lambda label: max(off[label]), reverse=True)
            face = faces[0] if first == joint.a else faces[1]
            at = point(moves.between(joint.a, joint.b))
            yield Effect("open", (first, second), gap, at, face, between=(first, second), axis=0)


def _insets_off(moves: Moves, label: str, end: BoardFace) -> tuple[float, float]:
    """How much farther back than drawn a beveled end is at its shorter face, and at its longer one, mm."""
    edge = {"end": 1, "start": 3}.get(end)
    insets = [
        next(((one.front_inset, one.back_inset) for one in part.shape.bevels if one.edge == edge), (0.0, 0.0))
        for part in (moves.drawn(label), moves.parts[label])
    ]
    front, back = (insets[1][k] - insets[0][k] for k in (0, 1))
    return (front, back) if insets[0][0] >= insets[0][1] else (back, front)


# -- grooves
# ------------------------------------------------------------------------------------------------------------


def in_grooves(moves: Moves, play: float, bearing: float) -> Iterator[Effect]:
    """Panels that are loose in their grooves, or reach too little into them.

    A panel can be pushed to the bottom of one groove; what then holds it in the one across from it is its bearing.

    Parameters
    ----------
    play : how much more a panel may have than drawn, mm
    bearing : the least, mm
    """
    grooved = [joint for joint in moves.assembly.joints if joint.kind == "groove"]
    for joint in grooved:
        if moves.is_off(joint.a, joint.b):
            yield from _loose(moves, joint, play)
        yield from _bearing(moves, joint, grooved, bearing)


def _loose(moves: Moves, joint: Joint, limit: float) -> Iterator[Effect]:
    """More play across the groove than drawn."""
    panel, board = joint.a, joint.b
    number = groove_that_holds(moves.drawn(board), moves.drawn(panel))
    if number is None:
        return
    axis = int(np.abs(moves.drawn(panel).placement.axes[2]).argmax())
    drawn, cut = moves.drawn(board), moves.parts[board]
    heights = [
        float(np.subtract(*groove_box(one, groove_of(one, number))[::-1])[axis]) for one in (drawn, cut)
    ]
    sizes = [one.shape.thickness for one in (moves.drawn(panel), moves.parts[panel])]
    wider, thinner = heights[1] - heights[0], sizes[0] - sizes[1]
    if wider + thinner > limit + CONTACT:
        parts = (board, panel) if wider >= thinner else (panel, board)
        at = point(moves.between(panel, board))
        yield Effect("loose", parts, heights[1] - sizes[1], at, between=(panel, board), axis=axis)


def _bearing(moves: Moves, joint: Joint, grooved: list[Joint], least: float) -> Iterator[Effect]:
    panel, board = joint.a, joint.b
    faces = joint.faces_of(moves.drawn(panel), moves.drawn(board))
    if faces is None:
        return
    inner = table_face(moves.drawn(board), faces[1])
    axis, side = inner.axis, (1 + inner.sign) // 2
    across = [
        other.b
        for other in grooved
        if other.a == panel and other.b != board and _looks_back(moves, other, axis, -inner.sign)
    ]
    if not moves.is_off(panel, board, *across):
        return

    def reach(*, drawn: bool) -> float:
        """Into the board's groove, with the panel at the bottom of the one across from it, mm."""
        at = moves.before if drawn else moves.now
        own = (at(board, axis, side) - at(panel, axis, 1 - side)) * inner.sign
        if not across:
            return own
        far = across[0]
        other = (at(panel, axis, side) - at(far, axis, 1 - side)) * inner.sign
        return own + other - _depth(moves, far, panel, drawn=drawn)

    left, planned = reach(drawn=False), reach(drawn=True)
    if left >= least - CONTACT or left >= planned - CONTACT:
        return
    shorter = moves.parts[panel].shape.size, moves.drawn(panel).shape.size
    own_axis = int(np.abs(moves.drawn(panel).placement.axes[:, axis]).argmax())
    changes = {panel: shorter[1][own_axis] - shorter[0][own_axis]}
    changes[board] = -moves.own(board, axis, side) * inner.sign
    for far in across[:1]:
        deeper = _depth(moves, far, panel, drawn=False) - _depth(moves, far, panel, drawn=True)
        changes[far] = deeper + moves.own(far, axis, 1 - side) * inner.sign
    at = moves.between(panel, board)
    at[axis] = moves.now(board, axis, side)
    yield too_thin(changes, (panel, board), least, left, at, axis)


def _looks_back(moves: Moves, joint: Joint, axis: int, sign: int) -> bool:
    """Whether the face that a joint's groove is in looks along an axis."""
    faces = joint.faces_of(moves.drawn(joint.a), moves.drawn(joint.b))
    return faces is not None and table_face(moves.drawn(joint.b), faces[1])[:2] == (axis, sign)


def _depth(moves: Moves, board: str, panel: str, *, drawn: bool) -> float:
    """Of the groove that holds a panel, mm."""
    number = groove_that_holds(moves.drawn(board), moves.drawn(panel))
    if number is None:
        return 0.0
    return groove_of(moves.drawn(board) if drawn else moves.parts[board], number).depth
