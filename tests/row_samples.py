"""Rows of openings at random, and an account of leaf and wood as polygons that shares nothing with the proof.

A leaf that leans on wood from above is stopped at a vertex of the one or of the other: both outlines are straight
between their vertices, the leaf's lower outline is convex and the wood's upper one concave. So the distance that it may
be lowered is smallest at one of these places (support functions, as in check-values J-08).
"""

from __future__ import annotations

from random import Random

import numpy as np
import shapely
from numpy.typing import NDArray

from addon.check.row.profile import SQUARE, Chamfer, Row, RowOpening

Floats = NDArray[np.float64]

FAR = 400.0
"""mm; how far wood reaches beside the openings."""

LEVEL_EDGE = 1e-12
"""mm along the travel; a side of the leaf that spans less stands upright."""


def chamfer(random: Random, limit: float) -> Chamfer:
    """None, or one whose run leaves something of the board."""
    if random.random() < 0.4:
        return SQUARE
    return Chamfer(random.uniform(0.2, 0.45) * limit, random.uniform(0.3, 8.0))


def row(
    random: Random,
    *,
    eased: bool | None = None,
    one_sided: float = 0.0,
    short: bool = False,
    step: float = 0.5,
) -> Row:
    """A row of two to five openings, each stepped by up to `step` mm against level, about as high as the leaf.

    `one_sided` is the share of edges without wood, `short` makes leaves that may be shorter than a gap.
    """
    thickness = random.choice([6.0, 9.0, 12.0, 18.0, 25.0])
    face, openings = random.uniform(-20, 20), []
    for _ in range(random.randint(2, 5)):
        board = random.choice([9.0, 12.0, 18.0, 40.0])
        bottom = random.uniform(-step, step)
        top = bottom + thickness + random.uniform(0.2, 2.5)
        openings.append(
            RowOpening(
                face,
                board,
                None if random.random() < one_sided else bottom,
                None if random.random() < one_sided else top,
                chamfer(random, board),
                chamfer(random, board),
            )
        )
        face += board + random.uniform(5, 150)
    span = openings[-1].end - openings[0].face
    length = random.uniform(0.15, 0.6) * span if short else random.uniform(0.5, 1.3) * span
    eased = random.random() < 0.5 if eased is None else eased
    lead = Chamfer(random.uniform(0.5, 6.0), random.uniform(0.2, 0.4) * thickness) if eased else SQUARE
    return Row(length, thickness, tuple(openings), openings[-1].end + random.uniform(0, 30), lead)


def leaf_corners(leaf: Row, depth: Floats, height: Floats, tilt: Floats) -> Floats:
    """(n, 6, 2) mm: corners of leaves, counterclockwise from the lower rear one; noses at (depth, height)."""
    run, rise, long, thick = leaf.lead.run, leaf.lead.rise, leaf.length, leaf.thickness
    along = np.array([-long, -run, 0.0, 0.0, -run, -long])
    across = np.array([0.0, 0.0, rise, thick - rise, thick, thick])
    cosine, sine = np.cos(tilt)[:, None], np.sin(tilt)[:, None]
    return np.stack(
        [depth[:, None] + along * cosine - across * sine, height[:, None] + along * sine + across * cosine],
        -1,
    )


def leaves(leaf: Row, depth: Floats, height: Floats, tilt: Floats) -> NDArray[np.object_]:
    """(n,) polygons of leaves."""
    return shapely.polygons(leaf_corners(leaf, depth, height, tilt))


def outline(opening: RowOpening, side: int) -> Floats | None:
    """(4, 2) mm: edge of an opening's wood below (side -1) or above (1); None where there is none."""
    edge = opening.sill if side < 0 else opening.head
    if edge is None:
        return None
    return np.array(
        [
            (opening.face, edge + side * opening.entry.rise),
            (opening.face + opening.entry.run, edge),
            (opening.end - opening.exit.run, edge),
            (opening.end, edge + side * opening.exit.rise),
        ]
    )


def wood(opening: RowOpening) -> shapely.Geometry:
    """All wood of one opening, as polygons."""
    parts = []
    for side in (-1, 1):
        edge = outline(opening, side)
        if edge is not None:
            far = [(opening.end, side * FAR), (opening.face, side * FAR)]
            parts.append(shapely.Polygon([*edge.tolist(), *far]))
    return shapely.MultiPolygon(parts)


def overlap(leaf: Row, openings: list[RowOpening], depth: Floats, height: Floats, tilt: Floats) -> Floats:
    """(n,) mm²: how much of the leaf is in wood."""
    shapes = leaves(leaf, depth, height, tilt)
    return sum(
        (shapely.area(shapely.intersection(shapes, wood(one))) for one in openings), np.zeros(len(shapes))
    )


def bounds(
    leaf: Row, depth: Floats, slope: Floats, openings: list[RowOpening] | None = None, *, ends: bool = True
) -> tuple[Floats, Floats]:
    """(n,) mm each: least and greatest c of free poses z = c + slope·x, nose at `depth`.

    `ends` tells whether the leaf's ends count wherever they overhang wood; without them only its lower side and the
    chamfer below do from below, its upper side and the chamfer above from above.
    """
    tilt = np.arctan(slope)
    corners = leaf_corners(leaf, depth, slope * depth, tilt)
    start, stop = corners, np.roll(corners, -1, axis=1)
    own = {-1: np.isin(np.arange(6), (0, 1)), 1: np.isin(np.arange(6), (3, 4))}
    result = []
    for side in (-1, 1):
        reach = np.full(len(depth), side * np.inf)
        ahead = -side * (stop[:, :, 0] - start[:, :, 0])
        sides = (own[side] | ends) & (ahead > LEVEL_EDGE)
        with np.errstate(all="ignore"):
            incline = (stop[:, :, 1] - start[:, :, 1]) / (stop[:, :, 0] - start[:, :, 0])
        first = np.where(sides, np.minimum(start[:, :, 0], stop[:, :, 0]), np.inf).min(axis=1)
        last = np.where(sides, np.maximum(start[:, :, 0], stop[:, :, 0]), -np.inf).max(axis=1)

        def leaf_at(
            x: Floats, side: int = side, sides: NDArray[np.bool_] = sides, incline: Floats = incline
        ) -> Floats:
            # A convex outline is the greatest (a concave one the least) of the lines through its sides.
            with np.errstate(all="ignore"):
                lines = start[:, :, 1] + incline * (x[:, None] - start[:, :, 0])
            return -side * np.where(sides, -side * lines, -np.inf).max(axis=1)

        for one in leaf.openings if openings is None else openings:
            edge = outline(one, side)
            if edge is None:
                continue
            places = [np.full(len(depth), x) for x in edge[:, 0]] + [corners[:, k, 0] for k in range(6)]
            for x in [*places, first, last]:
                over = (x >= first) & (x <= last) & (x >= one.face) & (x <= one.end)
                reach_here = np.interp(x, edge[:, 0], edge[:, 1]) - leaf_at(x)
                better = over & (side * (reach_here - reach) < 0)
                reach = np.where(better, reach_here, reach)
        result.append(reach)
    return result[0], result[1]


def before(leaf: Row, face: float) -> list[RowOpening]:
    """The openings that hold the leaf when its nose is at a face."""
    return [one for one in leaf.openings if one.face < face]


def outline_x(opening: RowOpening) -> Floats:
    """(4,) mm: where an opening's edges turn."""
    return np.array(
        [opening.face, opening.face + opening.entry.run, opening.end - opening.exit.run, opening.end]
    )
