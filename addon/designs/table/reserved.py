"""Reserved spaces of a table, and the holes that are drilled for its cables."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from ...sizes.tolerances import ANGLE, CONTACT
from ...wood.features import Hole
from ...wood.part import Part
from ...wood.reserved import Reserved, Space, space_of
from ...wood.solids.solids import pieces_of
from .bill import Bill
from .parameters import Table


def spaces_of(table: Table) -> tuple[Space, ...]:
    """The reserved spaces where they stand."""
    outside = table.table
    x, y, top = outside.length / 2, outside.width / 2, outside.height
    return tuple(
        space_of(number, entry, (-x, -y, 0.0), (x, y, top)) for number, entry in enumerate(table.reserved)
    )


def drill_for_cables(bill: Bill, spaces: tuple[Space, ...]) -> None:
    """Holes in boards that a cable meets square to their faces, where its entry asks for them."""
    for space in spaces:
        if space.entry.form == "cable" and space.entry.hole:
            for at, part in enumerate(bill.parts):
                own = tuple(Hole(u, v, space.entry.hole) for u, v in holes_for(part, space))
                if own:
                    shape = part.shape.with_features((*part.shape.features, *own))
                    bill.parts[at] = replace(part, shape=shape)


def holes_for(part: Part, space: Space) -> Iterator[tuple[float, float]]:
    """Where a cable goes square through the wood of a board that stays where it is: u and v, mm."""
    if part.role.slides or space.entry.form != "cable":
        return
    thickness, wood = part.shape.thickness, None
    for ends in space.legs:
        start, stop = part.placement.to_part(np.array(ends))
        way = (stop - start) / np.linalg.norm(stop - start)
        low, high = sorted((float(start[2]), float(stop[2])))
        if abs(way[2]) < 1 - ANGLE or low > CONTACT or high < thickness - CONTACT:
            continue
        wood = pieces_of(part) if wood is None else wood
        middle = part.placement.to_table(np.array([[start[0], start[1], thickness / 2]]))
        if wood.contains(middle).any():
            yield float(start[0]), float(start[1])


def lacks_hole(entry: Reserved) -> bool:
    """Whether an entry is a cable for which no holes are drilled."""
    return entry.form == "cable" and not entry.hole
