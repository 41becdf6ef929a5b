"""What the eye sees on either side of an edge, close beside it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from ...model.tolerances import CONTACT
from .cells import Sorted

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from .cells import Grid
    from .surface import Surface

    Floats = NDArray[np.float64]
    Ints = NDArray[np.intp]
    Bools = NDArray[np.bool_]

NOTHING: Final = -1
"""In place of a part's number: the paper."""

_ON_LINE: Final = 1e-7
"""Distance on the paper within which a point lies on a triangle's side, mm: a tenth of `CONTACT`, which is the length
of the shortest interval."""

_POINTS: Final = 20_000
"""Points looked at at once."""


class Seen:
    """The triangles that face the eye, sorted by where they are on the paper.

    What is turned away from the eye hides nothing that the front of the same closed part does not hide.
    """

    def __init__(self, surface: Surface, grid: Grid) -> None:
        corners = surface.points[surface.triangles]
        flat = corners[:, :, :2]
        one, two = flat[:, 1] - flat[:, 0], flat[:, 2] - flat[:, 0]
        area = one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]
        front = np.flatnonzero((surface.facing > 0) & (area > 0))
        self._grid = grid
        self._normals = surface.normals[front]
        self._offsets = np.einsum("ij,ij->i", self._normals, corners[front, 0])
        self._part = surface.part[front]
        start, end = flat[front], np.roll(flat[front], -1, axis=1)
        length = np.hypot(*np.moveaxis(end - start, 2, 0))
        # Inward unit normals of the three sides: (-dy, dx) for sides that go counter-clockwise.
        self._inward = np.stack([start[:, :, 1] - end[:, :, 1], end[:, :, 0] - start[:, :, 0]], axis=2)
        self._inward /= length[:, :, None]
        self._sides = np.einsum("ijk,ijk->ij", self._inward, start)
        self._sorted = Sorted(*grid.cells(flat[front]))

    def hidden(self, points: Floats, left: Floats) -> Bools:
        """Whether points are hidden just beside them, on the left and on the right: (n, 2) bool.

        A face nearer to the eye than `CONTACT`, or that far behind, touches the point and does not hide it.

        Parameters
        ----------
        points : (n, 3) float, in no triangle's corner
        left : (n, 2) float, the unit direction to the left on the paper
        """
        covered = np.zeros((len(points), 2), dtype=bool)
        for start in range(0, len(points), _POINTS):
            some = slice(start, start + _POINTS)
            place, wall = self._sorted.meet(self._grid.cell(points[some, :2]))
            behind = self._distance(points[some], place, wall) < -CONTACT
            place, wall = place[behind], wall[behind]
            for side, over in enumerate(self._over(points[some], left[some], place, wall)):
                covered[start + place[over], side] = True
        return covered

    def foremost(self, points: Floats, left: Floats, own: Ints) -> Ints:
        """The number of the part seen just beside points, on the left and on the right: (n, 2) int, or `NOTHING`.

        Parameters
        ----------
        own : (n,) int, the part that is meant where several lie equally near to the eye
        """
        found = np.full((len(points), 2), NOTHING, dtype=np.intp)
        for start in range(0, len(points), _POINTS):
            some = slice(start, start + _POINTS)
            place, wall = self._sorted.meet(self._grid.cell(points[some, :2]))
            for side, over in enumerate(self._over(points[some], left[some], place, wall)):
                at, seen = place[over], wall[over]
                nearer = -self._distance(points[some], at, seen) / self._normals[seen, 2]
                is_own = self._part[seen] == own[start + at]
                nearer = nearer + np.where(is_own, 2 * CONTACT, 0.0)
                order = np.lexsort((nearer, at))
                last = np.flatnonzero(np.diff(at[order], append=-1))
                found[start + at[order][last], side] = self._part[seen[order][last]]
        return found

    def _distance(self, points: Floats, place: Ints, wall: Ints) -> Floats:
        """How far points are in front of the planes of triangles, mm."""
        normal = self._normals[wall]
        x, y, z = points[:, 0][place], points[:, 1][place], points[:, 2][place]
        return normal[:, 0] * x + normal[:, 1] * y + normal[:, 2] * z - self._offsets[wall]

    def _over(self, points: Floats, left: Floats, place: Ints, wall: Ints) -> tuple[Bools, Bools]:
        """Whether triangles cover points on the paper, just to the left and just to the right."""
        at, toward = points[place, :2], left[place]
        to_left, to_right = np.ones(len(place), dtype=bool), np.ones(len(place), dtype=bool)
        for side in range(3):
            inward = self._inward[wall, side]
            inside = inward[:, 0] * at[:, 0] + inward[:, 1] * at[:, 1] - self._sides[wall, side]
            slope = inward[:, 0] * toward[:, 0] + inward[:, 1] * toward[:, 1]
            clear, on = inside > _ON_LINE, np.abs(inside) <= _ON_LINE
            to_left &= clear | (on & (slope >= 0))
            to_right &= clear | (on & (slope <= 0))
        return to_left, to_right
