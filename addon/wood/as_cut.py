"""Parts as they were cut and put in: single dimensions off the drawing, parts that sit off or are missing."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ..sizes.arrays import Floats
from ..sizes.errors import AsCutError
from .assembly import Assembly
from .dimensions import PLACE, AsCut, chosen
from .features import Dimension
from .part import Part
from .seating import seated


def apply_as_cut(assembly: Assembly, entries: tuple[AsCut, ...]) -> Assembly:
    """The assembly with each entry's dimension changed, every part where it is then seated, missing ones left out.

    Changed parts keep their drawn shape and place beside.

    Raises AsCutError for an entry that names no part, a dimension the part has not, or an impossible size.
    """
    if not entries:
        return assembly
    parts = {part.label: part for part in assembly.parts}
    off: dict[str, Floats] = {}
    missing: set[str] = set()
    for index, entry in enumerate(entries):
        where = f"as_cut[{index}]"
        if entry.part not in parts:
            raise AsCutError(
                f"{where}.part = '{entry.part}' names no part of this table: use one of {', '.join(parts)}."
            )
        part = parts[entry.part]
        if entry.missing:
            _check_missing(assembly, entry, where)
            missing.add(entry.part)
        elif entry.dimension in PLACE:
            own = _off(part, entry, where)
            off[entry.part] = off[entry.part] + own if entry.part in off else own
        else:
            parts[entry.part] = cut_by(part, entry, where)
    changed = tuple(parts[part.label] for part in assembly.parts)
    cut = replace(assembly, parts=changed, as_cut=(*assembly.as_cut, *entries))
    return _without(_with_fasteners(cut, seated(cut, off)), missing)


def _with_fasteners(cut: Assembly, seated: Assembly) -> Assembly:
    """The seated assembly with every screw where the board under its head has gone."""
    moved = []
    for one in cut.fasteners:
        before, after = (each.by_label[one.goes_with].placement.origin for each in (cut, seated))
        moved.append(replace(one, start=one.start + after - before))
    return replace(seated, fasteners=tuple(moved))


def drawn_dimension(part: Part, entry: AsCut) -> float:
    """The dimension that an entry is about, as drawn, mm. Raises AsCutError where the part has none such."""
    if entry.missing or entry.dimension in PLACE:
        return 0.0
    return chosen(replace(part, shape=part.drawn_shape), entry.dimension, entry.leaf)[0].value


# -- missing parts, and parts that sit off
# ------------------------------------------------------------------------------------------------------------


def _check_missing(assembly: Assembly, entry: AsCut, where: str) -> None:
    path = next((path for path in assembly.stow_paths if path.side == entry.part), None)
    if path is not None:
        raise AsCutError(
            f"{where}.missing: {path.leaf} slides in through {entry.part}, so that nothing can be said without it: "
            "leave the entry out."
        )


def _without(assembly: Assembly, missing: set[str]) -> Assembly:
    """The assembly without some parts; what they stopped goes on."""
    if not missing:
        return assembly
    gone = [joint for joint in assembly.joints if {joint.a, joint.b} & missing]
    return replace(
        assembly,
        parts=tuple(part for part in assembly.parts if part.label not in missing),
        joints=tuple(joint for joint in assembly.joints if joint not in gone),
        fasteners=tuple(one for one in assembly.fasteners if not missing & {*one.joins}),
        stow_paths=tuple(
            replace(path, end_stop=None) if path.end_stop in missing else path
            for path in assembly.stow_paths
            if path.leaf not in missing
        ),
        cover={leaf: place for leaf, place in assembly.cover.items() if leaf not in missing},
        missing=(*assembly.missing, *(part for part in assembly.parts if part.label in missing)),
        lost_joints=(*assembly.lost_joints, *gone),
    )


def _off(part: Part, entry: AsCut, where: str) -> Floats:
    """(3,) float mm in the table: how far a part itself sits off."""
    by = entry.value if entry.deviation is None else entry.deviation
    if by is None:
        raise AsCutError(f"{where}.dimension = '{entry.dimension}' is a length: give its deviation.")
    u, v, _ = part.placement.axes
    along = np.abs(u if abs(u[2]) < 0.5 else v)  # toward the greater x or y
    directions = (along, np.array([along[1], along[0], 0.0]), np.array([0.0, 0.0, 1.0]))
    return by * directions[PLACE.index(entry.dimension)]


# -- one dimension
# ------------------------------------------------------------------------------------------------------------


def cut_by(part: Part, entry: AsCut, where: str) -> Part:
    """A part with one dimension as an entry has it, not seated. Raises AsCutError."""
    try:
        dimensions = chosen(part, entry.dimension, entry.leaf)
    except AsCutError as error:
        raise AsCutError(f"{where}.dimension: {error}") from None
    first = dimensions[0]
    by = _difference(first, entry, where)
    for one in dimensions:
        if one.value + by < one.least:
            raise AsCutError(
                f"{where} would leave {part.label} with a {one.name.replace('_', ' ')} of "
                + (
                    "{size}: use more than {least}."
                    if one.unit == "mm"
                    else f"{one.value + by:g}°: use more."
                ),
                **({"size": one.value + by, "least": one.least} if one.unit == "mm" else {}),
            )
    at_start = (entry.end == "start") != _runs_backwards(part, first)
    shape = part.shape
    for one in dimensions:
        shape = shape.resized(one, by, at_start)
    u, v, w = part.placement.axes
    back_u, back_v, back_w = _lead(part, first, by, at_start)
    return replace(
        part,
        shape=shape,
        placement=part.placement.moved(-(back_u * u + back_v * v + back_w * w)),
        drawn=part.drawn or part.shape,
        drawn_placement=part.drawn_placement or part.placement,
    )


def _difference(dimension: Dimension, entry: AsCut, where: str) -> float:
    """Measured less drawn, mm or degrees."""
    if dimension.unit != "mm":
        if entry.degrees is None:
            raise AsCutError(f"{where}.dimension = '{dimension.name}' is an angle: give its degrees.")
        return entry.degrees - dimension.value
    if entry.degrees is not None:
        raise AsCutError(
            f"{where}.dimension = '{dimension.name}' is a length: give its value or deviation, not degrees."
        )
    return entry.deviation if entry.deviation is not None else (entry.value or 0.0) - dimension.value


def _lead(part: Part, dimension: Dimension, by: float, at_start: bool) -> tuple[float, float, float]:
    """How far the origin of a part's frame goes back so that what does not move keeps its place, mm."""
    along = by if at_start else 0.0
    if dimension.name == "length":
        return along, 0.0, 0.0
    if dimension.name == "width":
        return 0.0, along, 0.0
    if dimension.name == "thickness":
        return 0.0, 0.0, {"front": 0.0, "middle": 0.5, "back": 1.0}[part.datum] * by
    return 0.0, 0.0, 0.0


def _runs_backwards(part: Part, dimension: Dimension) -> bool:
    """Whether the dimension is counted from the end with the greater x or y, as the width of a leaf may be."""
    axis = {"length": 0, "width": 1}.get(dimension.name)
    return axis is not None and float(part.placement.axes[axis].sum()) < 0
