"""Which dimensions a part has, asked by tolerances, exports and pages, and one that was measured (`AsCut`)."""

from __future__ import annotations

from dataclasses import MISSING, dataclass
from typing import TYPE_CHECKING, Final

from ..sizes import declare
from ..sizes.errors import AsCutError
from .features import AngledHole, Bevel, EdgeTreatment, Groove, Hole, Opening, Taper
from .part import Shape, rectangle

if TYPE_CHECKING:
    from .features import Dimension
    from .part import Part


@dataclass(frozen=True)
class AsCut:
    """One dimension of one part as it was cut, or as it might be."""

    part: str = declare.text(MISSING, "Part", "Label of the part")
    dimension: str = declare.text(
        MISSING,
        "Dimension",
        "Which of its dimensions, such as length, width, thickness, window_height or groove_offset",
    )
    value: float | None = declare.length(
        None, "Value", "The dimension as measured; give this or the deviation", low=-10_000
    )
    deviation: float | None = declare.length(None, "Deviation", "Measured less drawn", low=-1000, high=1000)
    end: str | None = declare.choice(
        None,
        "End",
        "Where the difference stands out; left out, at the end (or upper edge)",
        start="the end with the smaller x or y, or the lower edge",
        end="the end with the greater x or y, or the upper edge",
    )
    leaf: str | None = declare.text(
        None, "Leaf", "Only the slot or window of this leaf; left out, all of the part"
    )


def dimensions_of(part: Part) -> tuple[Dimension, ...]:
    """All dimensions of a part as it is."""
    return part.shape.dimensions


def chosen(part: Part, name: str, leaf: str | None = None) -> list[Dimension]:
    """The dimensions of that name, one for each feature that has it; those of a leaf's slot or window alone.

    Raises
    ------
    AsCutError : none; which there are
    """
    named = [one for one in dimensions_of(part) if one.name == name]
    of_leaf = [one for one in named if one.leaf == leaf]
    found = named if leaf is None else of_leaf or [one for one in named if one.leaf is None]
    if not found:
        wanted = f"'{name}' for {leaf}" if leaf else f"'{name}'"
        raise AsCutError(f"{part.label} has no dimension {wanted}: it has {_listed(part)}.")
    return found


def _listed(part: Part) -> str:
    """Names of all dimensions, with the leaves that they can be chosen by."""
    leaves: dict[str, list[str]] = {}
    for one in dimensions_of(part):
        own = leaves.setdefault(one.name, [])
        if one.leaf and one.leaf not in own:
            own.append(one.leaf)
    return ", ".join(f"{name} (for {', '.join(own)})" if own else name for name, own in leaves.items())


_SAMPLES: Final = Shape(
    rectangle(800.0, 300.0),
    18.0,
    (
        Opening(100, 200, 50, 70, 3, 2, 2, kind="window"),
        Opening(300, 400, 50, 70, 3, 2, 2, kind="slot"),
        Groove(20, 780, 100, 112, 6),
        Groove(20, 780, 120, 140, 6, kind="field"),
        Groove(20, 780, 150, 170, 6, kind="tray"),
        Groove(20, 780, 180, 200, 6, kind="pull"),
        Hole(500, 250, 20, 10, "front", 40, 3, 30),
        AngledHole(3, 150, 60, 10, 50, pilot_diameter=4, pilot_depth=60),
        EdgeTreatment(0, "front", "chamfer", 2, 10, 20),
        EdgeTreatment(1, "front", "round-over", 2, 10, 20),
        Bevel(3, 0.0, 4.0),
        Taper(1, "front", 300, 4),
    ),
)
"""One feature of each kind, with all that it can have."""


def catalog() -> dict[str, str]:
    """Every name that a dimension can have, and what it is in words."""
    found: dict[str, str] = {}
    for one in _SAMPLES.dimensions:
        of = "" if one.number is None or not one.of else f"{_SAMPLES.features[one.number].word}: "
        found.setdefault(one.name, of + one.word)
    return found
