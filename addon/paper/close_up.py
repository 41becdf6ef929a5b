"""A leaf and the wood around the place where it is the nearest to another part, enlarged; and what is said of it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from ..check.prepared import Prepared
from ..check.row.leaf_rows import LeafRow
from ..check.row.openings import Pose
from ..check.row.profile import Row
from ..check.running import Running
from ..sizes.arrays import Floats
from ..sizes.tolerances import CONTACT
from ..sizes.units import Units, format_size
from .section import Panel, amount, draw_leaf, draw_overlaps, draw_wood, leaf_ring, woods
from .sheet import BLACK, Drawing, Pen
from .sheet.clip import Rectangle, clip_ring
from .sheet.dimensions import LETTERS, OUTLINE, arrow, first_free
from .sheet.lettering import text_width
from .sheet.palette import BY_HAND, HATCH, WOOD


def clearance_text(pose: Running, units: Units) -> str:
    """``clearance 1.5 mm to R3``, ``overlaps R3 by 1 mm``, ``touches R3``."""
    if pose.clearance < -CONTACT:
        return f"overlaps {pose.against} by {amount(-pose.clearance, units)}"
    if pose.clearance <= CONTACT:
        return f"touches {pose.against}"
    return f"clearance {amount(pose.clearance, units)} to {pose.against}"


def travel_text(travel: float, units: Units) -> str:
    """``travel 120 mm``; before the slot what is left to it."""
    if travel < -CONTACT:
        return f"{format_size(-travel, units)} before the slot"
    return f"travel {format_size(travel, units)}"


def seen(view: str) -> str:
    """From where a section is seen."""
    return "seen from the side" if view == "side" else "seen from above"


BORDER: Final = Pen(0.35)
TAIL: Final = 6.0
"""Length of the arrows on both sides of a clearance, mm."""

_PLAIN: Final = 4.0
"""How large the smallest clearance should be at least, mm on the sheet."""

_SMALLEST: Final = 0.2
"""Clearance below which nothing is enlarged further, mm."""

_NEAR: Final = 0.01
"""Distance within which a point is on a face, mm."""

_SHARES: Final = np.array([(0.22, 0.5), (0.22, 0.25), (0.22, 0.75), (0.8, 0.5), (0.8, 0.25), (0.5, 0.5)])
"""Where a label may stand in what is seen of a part, as shares of its width and height, the best first."""

_LABELED: Final = 20.0
"""Area from which what is seen of a part has its label, mm² on the sheet."""


def enlarged(clearance: float) -> float:
    """The scale at which a clearance, mm, is plain to see."""
    return _PLAIN / max(abs(clearance), _SMALLEST)


def view_of(views: Sequence[LeafRow], pose: Running) -> LeafRow:
    """The one of a leaf's views in which the distance to the nearest part is seen best, of equals the first."""
    on_leaf, on_part = (np.array(place) for place in pose.span)
    seen = [round(float(np.linalg.norm((on_part - on_leaf) @ view.frame[:2].T)), 6) for view in views]
    return views[seen.index(max(seen))]


def walls(prepared: Prepared, view: LeafRow, pose: Running) -> list[Floats]:
    """What the row does not have of the nearest part, such as a side that the nose stops before.

    Returns
    -------
    (4, 2) float each, mm in the view: the outlines of its pieces in the leaf's section; none where the row has it
    """
    at = _in_view(view, pose.span[1])
    for wood in woods(view.row):
        edge = wood.opening.edge_at(float(at[0]), wood.side)
        if wood.opening.label == pose.against and edge is not None and wood.side * (at[1] - edge) > -_NEAR:
            return []
    pieces = prepared.pieces[prepared.number[pose.against]]
    depth = float((np.array(pose.span[1]) - view.origin) @ view.frame[2])
    rings = []
    for number in range(len(pieces)):
        corners = (pieces.piece(number) - view.origin) @ view.frame.T
        (x0, z0, low), (x1, z1, high) = corners.min(axis=0), corners.max(axis=0)
        if low - _NEAR <= depth <= high + _NEAR:
            rings.append(np.array([(x0, z0), (x1, z0), (x1, z1), (x0, z1)]))
    return rings


def draw_running(
    drawing: Drawing, box: Rectangle, view: LeafRow, pose: Running, scale: float, title: str, units: Units,
    beyond: Sequence[Floats] = (), letters: float = LETTERS,
) -> None:  # fmt: skip
    """A leaf at one place of its way, enlarged around the nearest points, with the clearance as a dimension.

    Parameters
    ----------
    box : left, bottom, right, top on the sheet, mm
    scale : mm on the sheet for one
    title : in the upper left corner
    beyond : of `walls`
    letters : height of the capitals, mm
    """
    points = np.array([_in_view(view, place) for place in pose.span])
    panel = _panel(box, points.mean(axis=0), scale, letters)
    leaf = Pose(pose.travel, view.row.rest, 0.0)
    _draw_section(drawing, panel, view.row, [leaf])
    seen = _seen(panel, view.row, leaf, view.leaf)
    for ring in beyond:
        with drawing.clipped(panel.box):
            drawing.fill([panel.place(ring)], WOOD, "wood in the inset")
            drawing.hatch([panel.place(ring)], HATCH, 1.6)
        part = clip_ring(panel.place(ring), panel.box)
        if _area(part) > _area(seen.get(pose.against, part[:0])):
            seen[pose.against] = part
    if beyond:
        _draw_face(drawing, panel, beyond, points[1], points[1] - points[0])
    taken = _draw_clearance(drawing, panel, panel.place(points), amount(abs(pose.clearance), units), letters)
    _draw_labels(drawing, panel.box, seen, taken, letters)
    _draw_frame(drawing, box, title, letters)


def draw_snag(
    drawing: Drawing, box: Rectangle, view: LeafRow, pose: Pose, corner: tuple[float, float], title: str,
    letters: float = LETTERS,
) -> None:  # fmt: skip
    """A leaf in a pose that snags, dashed, and as it should be, with a ring around the corner that meets the wood.

    Parameters
    ----------
    corner : (x, z) in the view, mm
    """
    row = view.row
    straight = Pose(pose.travel, row.rest, 0.0)
    away = abs(corner[1] - (row.rest + (row.thickness if corner[1] > row.rest + row.thickness / 2 else 0.0)))
    height = box[3] - box[1] - 1.9 * letters
    thick = row.thickness if view.view == "side" else 0.0
    scale = height / (1.5 * away + 1.4 * thick + 12.0)
    middle = row.rest + thick / 2 if thick else corner[1]
    panel = _panel(box, np.array([corner[0], (corner[1] + middle) / 2]), scale, letters)
    _draw_section(drawing, panel, row, [straight, pose])
    x, y = panel.place(corner)
    seen, ring = _seen(panel, row, straight, view.leaf), (x - 4.0, y - 4.0, x + 4.0, y + 4.0)
    _draw_labels(drawing, panel.box, seen, [ring], letters)
    with drawing.clipped(panel.box):
        drawing.circle(panel.place(corner), 3.0, None, Pen(0.6, BY_HAND), "snag")
    _draw_frame(drawing, box, title, letters)


def _in_view(view: LeafRow, place: tuple[float, float, float]) -> Floats:
    """(2,) float, mm: x and z of a point of the table."""
    return (np.array(place) - view.origin) @ view.frame[:2].T


def _panel(box: Rectangle, middle: Floats, scale: float, letters: float) -> Panel:
    """A window with a point of the view in the middle of what the title leaves."""
    left, bottom, right, top = _below_title(box, letters)
    x, z = middle - np.array([right - left, top - bottom]) / 2 / scale
    return Panel((left, bottom, right, top), float(x), float(z), scale, scale)


def _draw_section(drawing: Drawing, panel: Panel, row: Row, poses: Sequence[Pose]) -> None:
    """Wood in section, the leaf in its first pose, and dashed in others; hatched both ways where it is in the wood."""
    drawing.rectangle(panel.box, "#ffffff", None, "inset")
    draw_leaf(drawing, panel, row, poses[0], "leaf in the inset")
    draw_wood(drawing, panel, row, (-np.inf, np.inf), " in the inset")
    draw_overlaps(drawing, panel, row, poses[-1], "overlap in the inset")
    draw_leaf(drawing, panel, row, poses[-1], "", other=True)


def _draw_face(drawing: Drawing, panel: Panel, rings: Sequence[Floats], at: Floats, away: Floats) -> None:
    """The face of what lies beyond, where the leaf comes near to it."""
    across = 1 - int(np.abs(away).argmax())
    here = [
        ring
        for ring in rings
        if (ring.min(axis=0) - _NEAR <= at).all() and (at <= ring.max(axis=0) + _NEAR).all()
    ]
    if not here:
        return
    ends = np.array([at, at])
    ends[:, across] = min(ring[:, across].min() for ring in here), max(ring[:, across].max() for ring in here)
    with drawing.clipped(panel.box):
        drawing.polyline(panel.place(ends), OUTLINE)


def _seen(panel: Panel, row: Row, pose: Pose, leaf: str) -> dict[str, Floats]:
    """What is seen of the leaf and of the parts around it, by label: (n, 2) float each, mm on the sheet."""
    rings: dict[str, Floats] = {}
    for wood in woods(row):
        far = panel.z if wood.side < 0 else panel.z_top
        if wood.opening.label and wood.side * (far - wood.edge) > 0:
            ring = clip_ring(panel.place(wood.ring(far)), panel.box)
            if _area(ring) > _area(rings.get(wood.opening.label, np.zeros((0, 2)))):
                rings[wood.opening.label] = ring
    rings[leaf] = clip_ring(panel.place(leaf_ring(row, pose)), panel.box)
    return rings


def _draw_labels(
    drawing: Drawing, room: Rectangle, rings: dict[str, Floats], taken: Sequence[Rectangle], letters: float
) -> None:
    """What the leaf and the parts are called, in what is seen of each where there is nothing else."""
    boxes = [*taken]
    for label, whole in rings.items():
        ring = clip_ring(whole, room)
        if _area(ring) < _LABELED:
            continue
        low, high = ring.min(axis=0), ring.max(axis=0)
        half = np.array([text_width(label, letters) / 2 + 1.0, letters / 2 + 1.0])
        inside = [at for share in _SHARES if _contains(ring, at := low + (high - low) * share)]
        box = first_free([(*(at - half).tolist(), *(at + half).tolist()) for at in inside], boxes)
        if box is not None:
            boxes.append(box)
            x, y = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
            drawing.text(label, x, y, letters, "middle", vertical="middle", halo=0.7, name="label")


def _contains(ring: Floats, at: Floats) -> bool:
    """Whether a point lies in a convex ring."""
    after = np.roll(ring, -1, axis=0)
    (x, y), (far_x, far_y) = (ring - at).T, (after - at).T
    turns = x * far_y - y * far_x
    return bool((turns >= 0).all() or (turns <= 0).all())


def _area(ring: Floats) -> float:
    if len(ring) < 3:
        return 0.0
    after = np.roll(ring, -1, axis=0)
    return abs(float((ring[:, 0] * after[:, 1] - ring[:, 1] * after[:, 0]).sum())) / 2


def _draw_clearance(
    drawing: Drawing, panel: Panel, points: Floats, text: str, letters: float
) -> list[Rectangle]:
    """Arrows from outside to the leaf and to the part, and the amount beside the part's; the boxes that they take."""
    on_leaf, on_part = points
    away = on_part - on_leaf
    size = float(np.hypot(*away))
    if size < CONTACT:
        drawing.circle(on_part, 2.0, None, Pen(0.6, BY_HAND), "touch")
        return []
    along = away / size
    start, end = on_leaf - along * TAIL, on_part + along * TAIL
    with drawing.clipped(panel.box):
        drawing.line(on_leaf, on_part, OUTLINE)
        arrow(drawing, start, on_leaf, OUTLINE)
        arrow(drawing, end, on_part, OUTLINE)
    side = np.array([abs(along[1]), abs(along[0])])
    x, y = on_part + along * TAIL * 0.9 + side * (1.5, letters * 0.8)
    left, bottom, right, top = panel.box
    width = text_width(text, letters)
    x = float(min(max(x, left + 1.0), right - width - 1.5))
    y = float(min(max(y, bottom + letters), top - letters))
    drawing.text(text, x, y, letters, vertical="middle", weight=0.14, halo=0.8, name="clearance")
    low, high = np.minimum(start, end) - 0.5, np.maximum(start, end) + 0.5
    arrows = float(low[0]), float(low[1]), float(high[0]), float(high[1])
    return [arrows, (x - 1.0, y - letters * 0.7, x + width + 1.0, y + letters * 0.7)]


def _below_title(box: Rectangle, letters: float) -> Rectangle:
    return box[0], box[1], box[2], box[3] - 1.9 * letters


def _draw_frame(drawing: Drawing, box: Rectangle, title: str, letters: float) -> None:
    """The border, and over it the title on white."""
    left, _, right, top = box
    drawing.rectangle((left, top - 1.9 * letters, right, top), "#ffffff")
    drawing.line((left, top - 1.9 * letters), (right, top - 1.9 * letters), Pen(0.25))
    drawing.text(title, left + 0.6 * letters, top - 0.5 * letters, letters, vertical="top", color=BLACK)
    drawing.rectangle(box, None, BORDER)
