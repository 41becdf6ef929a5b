"""From where a step is seen: from the corner of the step before, unless another shows its parts better."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING, Final

from ..lines.surface import surface_of
from .arrows import arrows_of
from .corners import FIRST, Corner
from .regions import seams_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    import numpy as np
    from numpy.typing import NDArray

    from ...fit.assembly_order import Pose
    from ..lines.surface import Surface
    from .moves import Scenery
    from .regions import Seams

    Floats = NDArray[np.float64]

LEAST_SHOWN: Final = 0.1
"""Share of its own drawn area that is to be seen of all that goes in at a step."""

_AMPLE: Final = 0.2
"""Share from which the view stays as it was before."""


@dataclass(frozen=True, eq=False)
class Look:
    """A step's scenery as it is seen."""

    scenery: Scenery
    corner: Corner
    surface: Surface
    seams: Seams
    shown: dict[tuple[str, ...], float]
    """Labels of parts that go in together → share that is seen of the area that they alone would have drawn."""
    arrows: tuple[Floats, ...]
    """(2, 2) float each, mm at full size in the picture's plane: from where to where."""

    @property
    def least(self) -> float:
        """The least of these shares."""
        return min(self.shown.values(), default=1.0)


def look_at(scenery: Scenery, corner: Corner) -> Look:
    """Some scenery seen from a corner. Raises PartError where a part has no sound section."""
    axes = corner.axes
    surface = surface_of(scenery.parts, axes, scenery.places)
    seams = seams_of(surface)
    shown = {}
    for move in scenery.moves:
        numbers = [at for at, part in enumerate(scenery.parts) if part.label in move.parts]
        alone = seams_of(surface_of([scenery.parts[at] for at in numbers], axes, scenery.places))
        drawn = sum(alone.area(at) for at in range(len(numbers)))
        shown[move.parts] = sum(seams.area(at) for at in numbers) / drawn
    return Look(scenery, corner, surface, seams, shown, arrows_of(scenery, surface))


def best_look(scenery: Scenery, pose: Pose, before: Corner | None) -> Look:
    """The look from the corner before where it shows enough of all parts; else from the one that shows most.

    Raises
    ------
    PartError : where a part has no sound section
    """
    found = None
    for corner in _corners(pose, before):
        if found is not None and corner.below and found.least >= LEAST_SHOWN:
            break
        look = look_at(scenery, corner)
        if look.least >= _AMPLE:
            return look
        if found is None or look.least > found.least:
            found = look
    assert found is not None
    return found


def _corners(pose: Pose, before: Corner | None) -> Iterator[Corner]:
    first = before if before is not None and before.pose == pose else FIRST[pose]
    yield first
    for below, turn in product((False, True), ((1, 1), (-1, 1), (1, -1), (-1, -1))):
        corner = Corner(pose, first.x * turn[0], first.y * turn[1], below)
        if corner != first:
            yield corner
