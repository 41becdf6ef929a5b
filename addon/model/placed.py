"""Parts as convex pieces where they stand in the table, all of them in one set."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import chain
from typing import TYPE_CHECKING

import numpy as np

from .convex import Pieces
from .errors import PartError
from .feature_check import check_features
from .ragged import joined_starts
from .solids import shapes_as_pieces

if TYPE_CHECKING:
    from collections.abc import Sequence

    from .part import Part


@dataclass(frozen=True, eq=False)
class Placed:
    """The pieces of several parts, part after part."""

    together: Pieces
    starts: list[int]
    """Where the pieces of each part begin; one more than there are parts."""

    def of(self, number: int) -> Pieces:
        """The pieces of one part."""
        return self.together.run(self.starts[number], self.starts[number + 1])

    def of_all(self) -> list[Pieces]:
        """The pieces of each part."""
        return [self.of(number) for number in range(len(self.starts) - 1)]


def placed(parts: Sequence[Part]) -> Placed:
    """Parts as pieces, mm. Raises PartError for features that run together."""
    try:
        shapes = shapes_as_pieces([part.shape for part in parts])
    except PartError:
        for part in parts:
            check_features(part.shape, part.label)
        raise
    sets = [shapes[part.shape] for part in parts]
    starts = np.cumsum([0] + [len(one) for one in sets]).tolist()
    vertices = np.empty((sum(len(one.vertices) for one in sets), 3))
    planes = np.empty((sum(len(one.planes) for one in sets), 4))
    vertex = plane = 0
    for one, part in zip(sets, parts, strict=True):
        axes, origin = part.placement.axes, part.placement.origin
        corners = vertices[vertex : vertex + len(one.vertices)]
        np.matmul(one.vertices, axes, out=corners)
        corners += origin
        facets = planes[plane : plane + len(one.planes)]
        np.matmul(one.planes[:, :3], axes, out=facets[:, :3])
        np.matmul(facets[:, :3], origin, out=facets[:, 3])
        facets[:, 3] += one.planes[:, 3]
        vertex, plane = vertex + len(corners), plane + len(facets)
    return Placed(
        Pieces(
            vertices,
            joined_starts([one.starts for one in sets]),
            planes,
            joined_starts([one.plane_starts for one in sets]),
            tuple(chain.from_iterable(one.edges for one in sets)),
            tuple(chain.from_iterable(one.tags for one in sets)),
        ),
        starts,
    )
