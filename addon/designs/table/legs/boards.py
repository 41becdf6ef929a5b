"""Upright boards of a leg: tapered toward the foot, their long edges eased where they are touched.

b ^    a- |      | a+        A face is named by the way it looks in its corner: "a+" along the long side into the
  |   ____|______|____ b+    body, "b-" toward the long side. A board's width runs along `a` or `b`; faces at the
  |  |____|______|____| b-   ends of that are sawn as edges (`EdgeTaper`), the others slope as faces (`Taper`).
  +--------------------> a
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import replace
from itertools import pairwise
from typing import Final, Literal, NamedTuple

from ....sizes.tolerances import WELD
from ....wood.features import EdgeTaper, EdgeTreatment, Face, Feature, Hole, Taper
from ....wood.features.base import Point
from ....wood.part import Part, Placement, Shape
from ....wood.roles import LEG
from ....wood.stock import Stock
from ..lanes import Interval
from ..refusals import at_most, refuse
from .corners import Body, Corner

Look = Literal["a-", "a+", "b-", "b+"]
Along = Literal["a", "b"]

INNER: Final[tuple[Look, ...]] = ("a+", "b+")
"""What a taper of two faces takes."""


class Plan(NamedTuple):
    """One upright board of a leg, in its corner, mm.

    Parameters
    ----------
    along : the axis along which its width runs
    which : which board of the leg it is, in words
    free : faces that a taper may take
    touched : long edges that are eased, by the two faces that meet there
    bolts : where bolts go through it, along the axis of its width and up from the room's floor
    bore : diameter of their holes
    along_table : whether its width is counted along x or y in all corners, and not from the corner
    """

    name: str
    a: Interval
    b: Interval
    heights: Interval
    along: Along
    which: str
    free: Collection[Look] = ()
    touched: Collection[tuple[Look, Look]] = ()
    bolts: tuple[Point, ...] = ()
    bore: float = 0.0
    along_table: bool = False


def add_board(corner: Corner, body: Body, plan: Plan, stock: Stock | None = None) -> Part:
    """A board, from its foot up. Raises ParameterError where its taper leaves nothing of it."""
    (x0, x1), (y0, y1) = corner.room(plan.a, plan.b)
    bottom, top = plan.heights
    width = x1 - x0 if plan.along == "a" else y1 - y0
    thickness = y1 - y0 if plan.along == "a" else x1 - x0
    slopes = sloping(corner, plan)
    _check_taper(corner, plan, slopes, width, thickness)
    sign = 1 if plan.along_table else -corner.signs[0 if plan.along == "a" else 1]
    edges, faces = _looks(corner, plan.along, sign)
    shape = _shape(corner, plan, top - bottom, width, thickness, slopes, edges, faces)
    if plan.bolts:
        lowest, at_low = (plan.a if plan.along == "a" else plan.b)[0], edges[0][1] == "-"
        holes = (
            Hole(up - bottom, at - lowest if at_low else lowest + width - at, plan.bore)
            for at, up in plan.bolts
        )
        shape = replace(shape, features=(*shape.features, *holes))
    v = ("+" if sign > 0 else "-") + ("x" if plan.along == "a" else "y")
    # u runs up: with v along +x the front looks to the smaller y, with v along +y to the greater x
    at = ((x0, y0) if sign > 0 else (x1, y1)) if plan.along == "a" else (x1, y0) if sign > 0 else (x0, y1)
    place = Placement.along("+z", v, (*at, bottom))
    part = body.bill.add(LEG, plan.name, stock or corner.stock, shape, place, which=(corner.name, plan.which))
    body.bill.boxes[part.label] = (x0, y0, bottom), (x1, y1, top)
    return part


def sloping(corner: Corner, plan: Plan) -> frozenset[Look]:
    """Faces of a board that the legs' taper takes."""
    taper = corner.layout.table.legs.taper
    if taper == "none":
        return frozenset()
    return frozenset(look for look in plan.free if taper == "four" or look in INNER)


def taper_length(corner: Corner, bottom: float = 0.0) -> float:
    """From a board's lower end to where its taper begins, mm."""
    return corner.layout.table.legs.taper_length - max(bottom - corner.foot, 0.0)


def _looks(corner: Corner, along: Along, sign: int) -> tuple[tuple[Look, Look], tuple[Look, Look]]:
    """How the board's lower and upper edge look, and its front and back face.

    Parameters
    ----------
    sign : whether its width runs along x or y, or against
    """
    x_sign, y_sign = corner.signs
    a: tuple[Look, Look] = ("a-", "a+") if x_sign < 0 else ("a+", "a-")
    b: tuple[Look, Look] = ("b-", "b+") if y_sign < 0 else ("b+", "b-")
    back: tuple[Look, Look] = a[1], a[0]
    if sign > 0:
        return (a, b) if along == "a" else (b, back)
    return (back, (b[1], b[0])) if along == "a" else ((b[1], b[0]), a)


def _check_taper(
    corner: Corner, plan: Plan, slopes: Collection[Look], width: float, thickness: float
) -> None:
    """Refuse a taper that leaves nothing of a board at its foot, or that is longer than the board."""
    table = corner.layout.table
    across = "b" if plan.along == "a" else "a"
    for axis, size in ((plan.along, width), (across, thickness)):
        count = sum(look[0] == axis for look in slopes)
        most = (size - 1.0) / count if count else table.legs.taper_amount
        if table.legs.taper_amount > most:
            reason = f"nothing would be left of the {plan.name} at the foot"
            refuse(table, "legs.taper_amount", table.legs.taper_amount, at_most(table, most), reason)
    high = plan.heights[1] - plan.heights[0]
    if slopes and taper_length(corner) >= high:
        reason = f"the {plan.name} is no longer"
        refuse(table, "legs.taper_length", table.legs.taper_length, at_most(table, high - 1.0), reason)


def _shape(
    corner: Corner, plan: Plan, high: float, width: float, thickness: float, slopes: Collection[Look],
    edges: tuple[Look, Look], faces: tuple[Look, Look],
) -> Shape:  # fmt: skip
    amount, length = corner.layout.table.legs.taper_amount, taper_length(corner)
    low, up = (amount if look in slopes else 0.0 for look in edges)
    outline: list[Point] = [(0.0, low), *([(length, 0.0)] if low else []), (high, 0.0)]
    outline += [(high, width), *([(length, width)] if up else []), (0.0, width - up)]
    foot, end = len(outline) - 1, 1 + int(low > 0)
    features: list[Feature] = [EdgeTaper(edge, "start") for edge, on in ((0, low), (foot - 1, up)) if on]
    names: tuple[Face, Face] = ("front", "back")
    features += [
        Taper(foot, name, length, amount) for name, look in zip(names, faces, strict=True) if look in slopes
    ]
    for edge, numbers in zip(edges, (range(end), range(end + 1, foot)), strict=True):
        for name, look in zip(names, faces, strict=True):
            if ((edge, look) in plan.touched or (look, edge) in plan.touched) and look not in slopes:
                features += _eased(corner, outline, numbers, name, _until(corner, plan, edge, look))
    return Shape(tuple(outline), thickness, tuple(features))


def _until(corner: Corner, plan: Plan, edge: Look, look: Look) -> float:
    """How far up an edge is touched, from the board's foot, mm: where its faces stand against the body, to that."""
    inside = min(plan.a[1], plan.b[1]) > 0 and min(plan.a[0], plan.b[0]) >= 0
    if inside and (edge[1] == "-" or look[1] == "-"):
        return corner.layout.body_bottom - plan.heights[0]
    return plan.heights[1] - plan.heights[0]


def _eased(
    corner: Corner, outline: list[Point], numbers: Collection[int], face: Face, until: float
) -> Iterator[Feature]:
    """A treatment of each of the outline's edges that make one long edge of the board, as far up as it is touched."""
    legs = corner.layout.table.legs
    if legs.edge == "square":
        return
    corners = [*outline, outline[0]]
    for number, (start, stop) in enumerate(pairwise(corners)):
        if number not in numbers:
            continue
        rising = stop[0] > start[0]
        low, top = sorted((start[0], stop[0]))
        if until <= low + WELD:
            continue
        share = (min(until, top) - low) / (top - low)
        length = ((stop[0] - start[0]) ** 2 + (stop[1] - start[1]) ** 2) ** 0.5
        ends = (
            (None, None)
            if share >= 1.0
            else (None, share * length)
            if rising
            else ((1 - share) * length, None)
        )
        kind: Literal["chamfer", "round-over"] = "chamfer" if legs.edge == "chamfer" else "round-over"
        yield EdgeTreatment(number, face, kind, legs.edge_size, *ends)
