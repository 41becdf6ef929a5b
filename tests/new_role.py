"""A table with parts of a role that nobody has heard of: two sides of a drawer in its well."""

from __future__ import annotations

from dataclasses import replace

from addon.wood.assembly import Assembly, Joint
from addon.wood.part import Part, Placement, Shape, rectangle
from addon.wood.roles import role_of
from addon.wood.stock import Stock

WELL_FLOOR = 712.3
"""Upper face of the quilting table's bottom panel, mm: 770 less a leaf of 17.7 and a well of 40."""


def with_drawer_sides(assembly: Assembly, sunk: float = 0.0) -> Assembly:
    """The quilting table with two boards on edge on its bottom panel, 300 x 30 x 12; the first `sunk` mm into it."""
    stock = Stock("beech ply", 12.0, 12.0)
    shape = Shape(rectangle(300.0, 30.0), 12.0)
    role = role_of("drawer side")
    parts = tuple(
        Part(
            f"{role.prefix}{number}", "drawer side", role, stock, shape,
            Placement.along("+x", "+z", (-150.0, y, WELL_FLOOR - (sunk if number == 1 else 0.0))),
            which=(which,), number=number,
        )
        for number, which, y in ((1, "front", -100.0), (2, "back", 112.0))
    )  # fmt: skip
    joints = tuple(Joint(part.label, "B1", "butt") for part in parts)
    return replace(assembly, parts=assembly.parts + parts, joints=assembly.joints + joints)
