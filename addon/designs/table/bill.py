"""Collects the parts and joints while a table is built; labels count up by kind."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, replace
from typing import Literal

from ...sizes.arrays import Floats
from ...sizes.bounds import MOST_PARTS
from ...sizes.errors import BoundsError
from ...sizes.tolerances import WELD
from ...wood.fasteners import Fastener, FastenerKind, Sizes, role_of_kind
from ...wood.features import EdgeTreatment, End
from ...wood.joints import Fastening, Joint, JointKind
from ...wood.part import GluedStrip, Part, Placement, Shape, datum_of, rectangle
from ...wood.roles import Role
from ...wood.stock import Stock

Box = tuple[tuple[float, float, float], tuple[float, float, float]]


def boxes_meet(a: Box, b: Box) -> bool:
    """Whether two boxes share more than a face."""
    return all(a[0][k] < b[1][k] - WELD and b[0][k] < a[1][k] - WELD for k in range(3))


@dataclass(frozen=True)
class LeadIn:
    """A chamfer at both ends of a strip, on the side along which a leaf slides.

    Parameters
    ----------
    size : along each face, mm
    toward : that side: the strip's lower or upper edge, or one of its faces
    """

    size: float
    toward: Literal["lower edge", "upper edge", "front", "back"]


@dataclass
class Bill:
    """Parts, joints and what holds these so far."""

    parts: list[Part] = field(default_factory=list)
    joints: list[Joint] = field(default_factory=list)
    fasteners: list[Fastener] = field(default_factory=list)
    boxes: dict[str, Box] = field(default_factory=dict)
    """Label → the box that a plain board fills."""
    _numbers: Counter[str] = field(default_factory=Counter)

    def add(
        self,
        role: Role,
        kind: str,
        stock: Stock,
        shape: Shape,
        placement: Placement,
        strips: tuple[GluedStrip, ...] = (),
        *,
        of: str = "",
        which: tuple[str, ...] = (),
    ) -> Part:
        """A new part with the next label of its role; kind, `of` and `which` are as of `Part`.

        Raises BoundsError for more parts than are taken on.
        """
        if len(self.parts) == MOST_PARTS:
            raise BoundsError(
                f"The table has more than {MOST_PARTS:,} parts: leave out through ribs, rows of segments or strips."
            )
        self._numbers[role.prefix] += 1
        number = self._numbers[role.prefix]
        label = f"{role.prefix}{number}"
        part = Part(
            label, kind, role, stock, shape, placement, strips=strips, datum=datum_of(role, shape, placement),
            of=of, which=which, number=number,
        )  # fmt: skip
        self.parts.append(part)
        return part

    def add_box(
        self, role: Role, kind: str, stock: Stock, box: Box, u: str, v: str, lead_in: LeadIn | None = None,
        *, cut: float = 0.0, of: str = "", which: tuple[str, ...] = (),
    ) -> Part:  # fmt: skip
        """A board that fills an axis-aligned box; its u and v run along the named table axes ("+x").

        Parameters
        ----------
        cut : size of the cut across each corner of a board without lead-in, along either edge, mm
        """
        low, high = box
        size = {axis: high[k] - low[k] for k, axis in enumerate("xyz")}
        length, width = size[u[1]], size[v[1]]
        shape = _strip(length, width, _third(size, u, v), lead_in)
        if cut > 0:
            shape = replace(shape, outline=_corners_cut(length, width, cut))
        placement = Placement.along(u, v, low)
        origin = [low[k] if placement.axes[:, k].sum() > 0 else high[k] for k in range(3)]
        placement = Placement.along(u, v, (origin[0], origin[1], origin[2]))
        part = self.add(role, kind, stock, shape, placement, of=of, which=which)
        self.boxes[part.label] = box
        return part

    @staticmethod
    def box_of(part: Part) -> Box:
        """The box around a part in the table."""
        low, high = part.box
        return (float(low[0]), float(low[1]), float(low[2])), (float(high[0]), float(high[1]), float(high[2]))

    def part(self, label: str) -> Part:
        """The part with a label. Raises StopIteration where there is none."""
        return next(part for part in self.parts if part.label == label)

    def join(
        self,
        a: Part,
        b: Part,
        kind: JointKind,
        part_end: End | None = None,
        gap: float = 0.0,
        fastening: Fastening = "glue",
    ) -> None:
        """Note that `a` is joined to `b`.

        All joints of a table are glued, but for those of corner blocks and of what is lifted out. So is the bottom
        panel in its grooves: plywood does not grow and shrink with the seasons, and a panel that is glued all round
        stiffens the body (common practice, no source); a panel of solid wood would have to stay dry.
        """
        self.joints.append(Joint(a.label, b.label, kind, part_end, gap, fastening))

    def fasten(
        self, kind: FastenerKind, start: Floats, direction: Floats, sizes: Sizes, *joins: Part
    ) -> Fastener:
        """A new screw, brad or bolt with the next label of its kind.

        Parameters
        ----------
        start : (3,) float, mm; middle of the top of its head
        direction : (3,) float, of length 1; from the head to the tip
        joins : the boards that it goes through, the one under its head first
        """
        prefix = role_of_kind(kind).prefix
        self._numbers[prefix] += 1
        labels = tuple(part.label for part in joins)
        one = Fastener(f"{prefix}{self._numbers[prefix]}", kind, start, direction, sizes, labels)
        self.fasteners.append(one)
        return one


def _corners_cut(length: float, width: float, cut: float) -> tuple[tuple[float, float], ...]:
    """The outline of a board whose corners are cut across at 45 degrees."""
    far, wide = length - cut, width - cut
    return (
        (cut, 0.0),
        (far, 0.0),
        (length, cut),
        (length, wide),
        (far, width),
        (cut, width),
        (0.0, wide),
        (0.0, cut),
    )


def _third(size: dict[str, float], u: str, v: str) -> float:
    (axis,) = set("xyz") - {u[1], v[1]}
    return size[axis]


def _strip(length: float, width: float, thickness: float, lead_in: LeadIn | None) -> Shape:
    """A plain board, or one whose ends lead a leaf in."""
    if lead_in is None or lead_in.size <= 0:
        return Shape(rectangle(length, width), thickness)
    c = lead_in.size
    if lead_in.toward == "upper edge":
        corners = (
            (0.0, 0.0),
            (length, 0.0),
            (length, width - c),
            (length - c, width),
            (c, width),
            (0.0, width - c),
        )
        return Shape(corners, thickness)
    if lead_in.toward == "lower edge":
        corners = ((c, 0.0), (length - c, 0.0), (length, c), (length, width), (0.0, width), (0.0, c))
        return Shape(corners, thickness)
    edges = tuple(EdgeTreatment(edge, lead_in.toward, "chamfer", c) for edge in (1, 3))
    return Shape(rectangle(length, width), thickness, edges)
