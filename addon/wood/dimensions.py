"""Which dimensions a part has, asked by tolerances, exports and pages, and one that was measured (`AsCut`)."""

from __future__ import annotations

import re
from dataclasses import MISSING, dataclass
from typing import Final

from ..sizes import declare
from ..sizes.errors import AsCutError
from .features import AngledHole, Bevel, Dimension, EdgeTreatment, Groove, Hole, Opening, Taper
from .part import Part, Shape, rectangle

PLACE: Final = ("place_along", "place_across", "place_up")
"""How far a part itself sits off: along its length (along the width of one that stands on end), level and square to
that, and upward; toward the greater x or y."""


@dataclass(frozen=True)
class AsCut:
    """One dimension of one part as it was cut or put in, or as it might be, or a part that is missing."""

    part: str = declare.text(MISSING, "Part", "Label of the part")
    dimension: str = declare.text(
        "",
        "Dimension",
        "Which of its dimensions, such as length, width, thickness, window_height or groove_offset, or how far the "
        "part itself sits off: place_along its length, place_across it, place_up; of several holes or grooves one "
        "alone by its number, such as hole_2_diameter",
    )
    value: float | None = declare.length(
        None, "Value", "The dimension as measured; give this or the deviation", low=-10_000
    )
    deviation: float | None = declare.length(None, "Deviation", "Measured less drawn", low=-1000, high=1000)
    degrees: float | None = declare.number(
        None, "Degrees", "The dimension as measured where it is an angle", "", -180, 180
    )
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
    missing: bool = declare.flag(False, "Missing", "The part is not there, whatever else the entry says")


def dimensions_of(part: Part) -> tuple[Dimension, ...]:
    """All dimensions of a part as it is."""
    return part.shape.dimensions


def names_of(part: Part) -> dict[str, str]:
    """Every name by which a dimension of a part can be set, and what it is; of several, each by its number as well."""
    found: dict[str, str] = {}
    for name, ones in _by_name(part).items():
        found.setdefault(name, ones[0].words)
        if len(ones) > 1:
            found |= {_numbered(one, k): f"{one.words}, number {k}" for k, one in enumerate(ones, 1)}
    for name, words in zip(PLACE, ("along", "across", "up"), strict=True):
        found[name] = f"place {words}"
    return found


def name_of(part: Part, dimension: Dimension) -> str:
    """The name by which a dimension of a part is chosen alone: with a number where neither name nor leaf tells it."""
    several = _by_name(part)[dimension.name]
    if len(several) == 1 or (dimension.leaf and sum(one.leaf == dimension.leaf for one in several) == 1):
        return dimension.name
    numbers = [one.number for one in several]
    return _numbered(dimension, numbers.index(dimension.number) + 1)


def chosen(part: Part, name: str, leaf: str | None = None) -> list[Dimension]:
    """The dimensions of that name, one for each feature that has it; those of a leaf's slot or window alone.

    A number within a name, ``hole_2_diameter``, chooses one feature of several.

    Raises
    ------
    AsCutError : none; which there are
    """
    named = _by_name(part).get(name) or _one_of_several(part, name)
    of_leaf = [one for one in named if one.leaf == leaf]
    found = named if leaf is None else of_leaf or [one for one in named if one.leaf is None]
    if not found:
        wanted = f"'{name}' for {leaf}" if leaf else f"'{name}'"
        raise AsCutError(f"{part.label} has no dimension {wanted}: it has {_listed(part)}.")
    return found


def _by_name(part: Part) -> dict[str, list[Dimension]]:
    """Name → the dimensions that bear it, in the order of their features."""
    found: dict[str, list[Dimension]] = {}
    for one in dimensions_of(part):
        found.setdefault(one.name, []).append(one)
    return found


def _one_of_several(part: Part, name: str) -> list[Dimension]:
    """The one dimension whose name has a number in it: ``groove_2_offset`` is that of the second groove."""
    number = re.search(r"_(\d{1,4})_", name, re.ASCII)
    if number is None:
        return []
    several = _by_name(part).get(f"{name[: number.start()]}_{name[number.end() :]}", [])
    return several[int(number[1]) - 1 : int(number[1])] if int(number[1]) else []


def _numbered(one: Dimension, number: int) -> str:
    """A dimension's name with a number behind the word for its feature."""
    feature = next((two for two in ("angled_hole", "round_over") if one.name.startswith(two)), "")
    feature = feature or one.name.partition("_")[0]
    return f"{feature}_{number}{one.name[len(feature) :]}"


def _listed(part: Part) -> str:
    """Names of all dimensions, with the leaves that they can be chosen by, and how many there are of others."""
    words = []
    for name, ones in _by_name(part).items():
        leaves = list(dict.fromkeys(one.leaf for one in ones if one.leaf))
        if leaves:
            words.append(f"{name} (for {', '.join(leaves)})")
        else:
            words.append(name if len(ones) == 1 else f"{name} (1 to {len(ones)})")
    return ", ".join(words)


_SAMPLES: Final = Shape(
    rectangle(800.0, 300.0),
    18.0,
    (
        Opening(100, 200, 50, 70, 3, 2, 2, kind="window"),
        Opening(300, 400, 50, 70, 3, 2, 2, kind="slot"),
        Groove(20, 780, 100, 112, 6, end_radius=3),
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
    for name, word in zip(PLACE, ("along its length", "level and square to that", "upward"), strict=True):
        found[name] = f"how far the part sits off {word}"
    return found
