"""Boards as plain boxes less the rectangles that are cut out of them; see `plain_boxes`."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from addon.wood.part import Part

    Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Deviation:
    """One dimension of one board that is `by` mm more than drawn, at one end where it has two."""

    part: str
    dimension: str
    by: float
    end: str | None = None
    leaf: str | None = None


@dataclass
class Rectangle:
    """An opening or a groove's outline, in the board's own u and v, mm."""

    low: list[float]
    high: list[float]
    leaf: str = ""
    kind: str = ""
    open_end: str | None = None
    open_above: bool = False


@dataclass
class Board:
    """A box in its own frame, with what is cut out of it. Coordinates stay those of the drawing."""

    part: Part
    low: list[float]
    high: list[float]
    openings: list[Rectangle] = field(default_factory=list)
    groove: Rectangle | None = None
    groove_depth: float = 0.0
    shift: list[float] = field(default_factory=lambda: [0.0, 0.0, 0.0])
    """How far it stands elsewhere than drawn, in the table, mm."""

    @classmethod
    def of(cls, part: Part) -> Board:
        """A part as it is described, without chamfers, round corners, holes and bevels."""
        shape = part.shape
        board = cls(part, [0.0, 0.0, 0.0], list(shape.size))
        for o in shape.openings:
            ends = [o.u0, o.v0], [o.u1, o.v1]
            board.openings.append(Rectangle(*ends, o.leaf, o.kind, o.open_end, o.open_above))
        for g in shape.grooves:
            board.groove, board.groove_depth = Rectangle([g.u0, g.v0], [g.u1, g.v1]), g.depth
        return board

    def change(self, one: Deviation) -> None:
        """Cut one dimension otherwise than drawn."""
        feature, _, kind = one.dimension.rpartition("_")
        at_start = one.end == "start"
        if one.dimension == "thickness":
            self._thicken(one.by)
        elif feature == "place":
            return  # where it stands is worked out of all boards together
        elif one.dimension in ("length", "width"):
            axis = ("length", "width").index(one.dimension)
            backwards = self.part.placement.axes[axis].sum() < 0
            if at_start != backwards:  # the start is the end with the smaller x or y
                self.low[axis] -= one.by
            else:
                self.high[axis] += one.by
            self._run_out()
        elif feature == "groove":
            self._regroove(kind, one.by, at_start)
        else:
            for opening in self.openings:
                if opening.kind == feature and one.leaf in (None, opening.leaf):
                    _move(opening, kind, one.by, at_start)
            self._run_out()

    def _run_out(self) -> None:
        """What runs out of an end or of the upper edge runs out of it wherever that is."""
        for opening in self.openings:
            if opening.open_end == "start":
                opening.low[0] = self.low[0]
            elif opening.open_end == "end":
                opening.high[0] = self.high[0]
            if opening.open_above:
                opening.high[1] = self.high[1]
        if self.groove is not None and self.groove.low[0] <= 0.0:
            self.groove.low[0] = min(self.groove.low[0], self.low[0])
        if self.groove is not None and self.groove.high[0] >= self.part.shape.size[0]:
            self.groove.high[0] = max(self.groove.high[0], self.high[0])

    def _thicken(self, by: float) -> None:
        """A side keeps its outer face, the bottom panel its underside, all else its middle."""
        role, w = self.part.role.word, self.part.placement.axes[2]
        if role == "bottom":
            self.high[2] += by
        elif role == "side":
            outward = float(w @ self.part.placement.origin)
            if outward > 0:
                self.low[2] -= by
            else:
                self.high[2] += by
        else:
            self.low[2] -= by / 2
            self.high[2] += by / 2

    def _regroove(self, kind: str, by: float, at_start: bool) -> None:
        if self.groove is None:
            raise ValueError(f"{self.part.label} has no groove")
        if kind == "depth":
            self.groove_depth += by
        elif kind == "offset":
            _move(self.groove, "sill", by, at_start)
        else:
            _move(self.groove, "height", by, at_start)

    def cells(self) -> tuple[Floats, Floats]:
        """The wood as boxes side by side in table coordinates: corners (n, 3), (n, 3) float, mm."""
        holes = [(*o.low, self.low[2], *o.high, self.high[2]) for o in self.openings]
        if self.groove is not None:
            front = self.part.shape.grooves[0].face == "front"
            bottom = self.low[2] if front else self.high[2] - self.groove_depth
            holes.append((*self.groove.low, bottom, *self.groove.high, bottom + self.groove_depth))
        low, high = _less(np.array(self.low), np.array(self.high), np.array(holes).reshape(-1, 2, 3))
        return self.in_table(low, high)

    def box(self) -> tuple[Floats, Floats]:
        """The blank in table coordinates: corners (1, 3), (1, 3) float, mm."""
        return self.in_table(np.array([self.low]), np.array([self.high]))

    def in_table(self, low: Floats, high: Floats) -> tuple[Floats, Floats]:
        """Boxes of the board's frame, (n, 3) each, in table coordinates."""
        ends = np.stack([self.part.placement.to_table(low), self.part.placement.to_table(high)])
        return ends.min(axis=0) + self.shift, ends.max(axis=0) + self.shift


def _move(rectangle: Rectangle, kind: str, by: float, at_start: bool) -> None:
    axis = 0 if kind in ("width", "offset") else 1
    both = kind in ("offset", "sill")
    if kind == "width" and rectangle.open_end:
        at_start = rectangle.open_end == "end"  # the only edge there is
    if kind == "height" and rectangle.open_above:
        at_start = True
    if both or at_start:
        rectangle.low[axis] += by if both else -by
    if both or not at_start:
        rectangle.high[axis] += by


def _less(low: Floats, high: Floats, holes: Floats) -> tuple[Floats, Floats]:
    """A box less (n, 2, 3) boxes, as boxes between all the planes that bound them."""
    if not len(holes):
        return low[None], high[None]
    cuts = [np.unique(np.clip([low[k], high[k], *holes[:, :, k].flat], low[k], high[k])) for k in range(3)]
    starts = np.stack(np.meshgrid(*[cut[:-1] for cut in cuts], indexing="ij"), axis=-1).reshape(-1, 3)
    stops = np.stack(np.meshgrid(*[cut[1:] for cut in cuts], indexing="ij"), axis=-1).reshape(-1, 3)
    middle = (starts + stops) / 2
    cut_away = ((middle[:, None] > holes[:, 0]) & (middle[:, None] < holes[:, 1])).all(axis=2).any(axis=-1)
    return starts[~cut_away], stops[~cut_away]
