"""Parts as they were cut: single dimensions that differ from the drawing."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from ..sizes.errors import AsCutError
from .dimensions import AsCut, chosen

if TYPE_CHECKING:
    from .assembly import Assembly
    from .features import Dimension
    from .part import Part


def apply_as_cut(assembly: Assembly, entries: tuple[AsCut, ...]) -> Assembly:
    """The assembly with each entry's dimension changed; changed parts keep their drawn shape beside.

    Raises AsCutError for an entry that names no part, a dimension the part has not, or an impossible size.
    """
    if not entries:
        return assembly
    parts = {part.label: part for part in assembly.parts}
    for index, entry in enumerate(entries):
        where = f"as_cut[{index}]"
        if entry.part not in parts:
            raise AsCutError(
                f"{where}.part = '{entry.part}' names no part of this table: use one of {', '.join(parts)}."
            )
        parts[entry.part] = _cut(parts[entry.part], entry, where)
    changed = tuple(parts[part.label] for part in assembly.parts)
    return replace(assembly, parts=changed, as_cut=(*assembly.as_cut, *entries))


def drawn_dimension(part: Part, entry: AsCut) -> float:
    """The dimension that an entry is about, as drawn, mm. Raises AsCutError where the part has none such."""
    return chosen(replace(part, shape=part.drawn_shape), entry.dimension, entry.leaf)[0].value


def _cut(part: Part, entry: AsCut, where: str) -> Part:
    try:
        dimensions = chosen(part, entry.dimension, entry.leaf)
    except AsCutError as error:
        raise AsCutError(f"{where}.dimension: {error}") from None
    first = dimensions[0]
    if first.unit != "mm":
        raise AsCutError(
            f"{where}.dimension = '{first.name}' is an angle: draw {part.label} with it instead."
        )
    by = entry.deviation if entry.deviation is not None else (entry.value or 0.0) - first.value
    for one in dimensions:
        if one.value + by < one.least:
            raise AsCutError(
                f"{where} would leave {part.label} with a {one.name.replace('_', ' ')} of {{size}}: "
                "use more than {least}.",
                size=one.value + by,
                least=one.least,
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
