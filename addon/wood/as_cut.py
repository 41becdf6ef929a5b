"""Parts as they were cut: single dimensions that differ from the drawing."""

from __future__ import annotations

from dataclasses import MISSING, dataclass, replace
from typing import TYPE_CHECKING

from ..sizes import declare
from ..sizes.errors import AsCutError
from ..sizes.tolerances import WELD
from .part import Bevel, EdgeTreatment, Groove, Opening, Part, Shape, rectangle

if TYPE_CHECKING:
    from collections.abc import Callable

    from .assembly import Assembly


@dataclass(frozen=True)
class AsCut:
    """One dimension of one part as it was cut, or as it might be."""

    part: str = declare.text(MISSING, "Part", "Label of the part")
    dimension: str = declare.choice(
        MISSING,
        "Dimension",
        "Which of its dimensions",
        length="length of the part",
        width="width of the part",
        thickness="thickness of the part",
        window_width="width of its windows",
        window_height="height of its windows",
        window_offset="place of its windows along the part, from its start",
        window_sill="height of its windows' lower edge above the part's lower edge",
        slot_width="width of its slots",
        slot_height="height of its slots",
        slot_offset="place of its slots along the part, from its start",
        slot_sill="height of its slots' lower edge above the part's lower edge",
        groove_offset="height of its groove's lower edge above the part's lower edge",
        groove_width="width of its groove",
        groove_depth="depth of its groove",
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


LEAST_SIZE = 1.0
"""A dimension cut to less than this is no board and no opening, mm."""


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
    return _drawn(part.drawn_shape, entry, part.label, "as_cut")


def _cut(part: Part, entry: AsCut, where: str) -> Part:
    drawn = _drawn(part.shape, entry, part.label, where)
    deviation = entry.deviation if entry.deviation is not None else (entry.value or 0.0) - drawn
    kind = entry.dimension.rpartition("_")[2]
    if kind not in ("offset", "sill") and drawn + deviation < LEAST_SIZE:
        what = entry.dimension.replace("_", " ")
        raise AsCutError(
            f"{where} would leave {part.label} with a {what} of {drawn + deviation:.4g} mm: "
            f"use more than {LEAST_SIZE:.4g} mm."
        )
    at_start = (entry.end == "start") != _runs_backwards(part, entry.dimension)
    if entry.dimension == "length":
        shape, origin = _longer(part.shape, deviation, at_start), (deviation if at_start else 0.0, 0.0, 0.0)
    elif entry.dimension == "width":
        shape, origin = _wider(part.shape, deviation, at_start), (0.0, deviation if at_start else 0.0, 0.0)
    elif entry.dimension == "thickness":
        shape, origin = _thicker(part.shape, deviation), (0.0, 0.0, _growth_toward_front(part) * deviation)
    elif entry.dimension.startswith("groove"):
        shape, origin = _regrooved(part.shape, kind, deviation, at_start), (0.0, 0.0, 0.0)
    else:
        shape, origin = _reopened(part.shape, entry, kind, deviation, at_start), (0.0, 0.0, 0.0)
    u, v, w = part.placement.axes
    placement = part.placement.moved(-(origin[0] * u + origin[1] * v + origin[2] * w))
    return replace(
        part,
        shape=shape,
        placement=placement,
        drawn=part.drawn or part.shape,
        drawn_placement=part.drawn_placement or part.placement,
    )


def _runs_backwards(part: Part, dimension: str) -> bool:
    """Whether the dimension is counted from the end with the greater x or y, as the width of a leaf may be."""
    axis = {"length": 0, "width": 1}.get(dimension)
    return axis is not None and float(part.placement.axes[axis].sum()) < 0


def _matches(opening: Opening, entry: AsCut) -> bool:
    return entry.dimension.startswith(opening.kind) and entry.leaf in (None, opening.leaf)


def _drawn(shape: Shape, entry: AsCut, label: str, where: str) -> float:
    if entry.dimension in ("length", "width", "thickness"):
        return shape.size[("length", "width", "thickness").index(entry.dimension)]
    feature, _, kind = entry.dimension.partition("_")
    if feature == "groove":
        for groove in filter(_is_groove, shape.grooves):
            return {"offset": groove.v0, "width": groove.v1 - groove.v0, "depth": groove.depth}[kind]
    for opening in shape.openings:
        if _matches(opening, entry):
            return {
                "width": opening.u1 - opening.u0,
                "height": opening.v1 - opening.v0,
                "offset": opening.u0,
                "sill": opening.v0,
            }[kind]
    of_leaf = f" for {entry.leaf}" if entry.leaf else ""
    raise AsCutError(
        f"{where}.dimension = '{entry.dimension}' is no dimension of {label}, which has no {feature}{of_leaf}: "
        f"use length, width or thickness, or name another part."
    )


def _growth_toward_front(part: Part) -> float:
    """Share of a greater thickness that lies before the drawn front face.

    A side keeps its outer face, where the grooves are not; boards that stand free keep their middle; the bottom panel
    rests on the grooves' lower edge and keeps its underside.
    """
    if part.role == "side":
        return 1.0 if any(groove.face == "front" for groove in part.shape.grooves) else 0.0
    return 0.0 if part.role == "bottom" else 0.5


def _shifted_u(shape: Shape, by: float) -> Shape:
    """The same features `by` farther from the start."""
    return replace(
        shape,
        openings=tuple(replace(o, u0=o.u0 + by, u1=o.u1 + by) for o in shape.openings),
        grooves=tuple(replace(g, u0=g.u0 + by, u1=g.u1 + by) for g in shape.grooves),
        holes=tuple(replace(h, u=h.u + by) for h in shape.holes),
    )


def _longer(shape: Shape, by: float, at_start: bool) -> Shape:
    """A board `by` longer at one end. Features keep their places; what ran out of that end still does."""
    length, width, _ = shape.size
    moved = _shifted_u(shape, by) if at_start else shape
    new = length + by
    openings = []
    for opening in moved.openings:
        if opening.open_end == "end" and not at_start:
            opening = replace(opening, u1=new)
        elif opening.open_end == "start" and at_start:
            opening = replace(opening, u0=0.0)
        openings.append(opening)
    grooves = []
    for old, groove in zip(shape.grooves, moved.grooves, strict=True):
        if old.u1 >= length - WELD and not at_start:
            groove = replace(groove, u1=groove.u1 + by)
        elif old.u0 <= WELD and at_start:
            groove = replace(groove, u0=old.u0)
        grooves.append(groove)
    edges = tuple(_along_longer(edge, by, at_start) for edge in moved.edges)
    return replace(
        moved, outline=rectangle(new, width), openings=tuple(openings), grooves=tuple(grooves), edges=edges
    )


def _along_longer(treatment: EdgeTreatment, by: float, at_start: bool) -> EdgeTreatment:
    """Stops of an edge treatment keep their places: edge 0 runs from the start, edge 2 from the end."""
    from_start = treatment.edge == 0
    if treatment.edge not in (0, 2) or from_start != at_start:
        return treatment
    return replace(
        treatment,
        start=None if treatment.start is None else treatment.start + by,
        stop=None if treatment.stop is None else treatment.stop + by,
    )


def _wider(shape: Shape, by: float, at_lower_edge: bool) -> Shape:
    length, width, _ = shape.size
    up = by if at_lower_edge else 0.0
    return replace(
        shape,
        outline=rectangle(length, width + by),
        openings=tuple(replace(o, v0=o.v0 + up, v1=o.v1 + up) for o in shape.openings),
        grooves=tuple(_across_wider(g, width, by, at_lower_edge) for g in shape.grooves),
        holes=tuple(replace(h, v=h.v + up) for h in shape.holes),
    )


def _across_wider(groove: Groove, width: float, by: float, at_lower_edge: bool) -> Groove:
    """A groove in a board `by` wider keeps its place; one that ran out of that edge still does."""
    if not at_lower_edge:
        return replace(groove, v1=groove.v1 + by) if groove.v1 >= width - WELD else groove
    return replace(groove, v0=groove.v0 if groove.v0 <= WELD else groove.v0 + by, v1=groove.v1 + by)


def _thicker(shape: Shape, by: float) -> Shape:
    scale = (shape.thickness + by) / shape.thickness
    bevels = tuple(Bevel(b.edge, b.front_inset * scale, b.back_inset * scale) for b in shape.bevels)
    return replace(shape, thickness=shape.thickness + by, bevels=bevels)


def _regrooved(shape: Shape, kind: str, by: float, at_start: bool) -> Shape:
    def changed(groove: Groove) -> Groove:
        if kind == "depth":
            return replace(groove, depth=groove.depth + by)
        if kind == "offset":
            return replace(groove, v0=groove.v0 + by, v1=groove.v1 + by)
        return replace(groove, v0=groove.v0 - by) if at_start else replace(groove, v1=groove.v1 + by)

    return replace(
        shape, grooves=tuple(changed(groove) if _is_groove(groove) else groove for groove in shape.grooves)
    )


def _is_groove(groove: Groove) -> bool:
    """Not a leaf's recesses: they decide no fit."""
    return groove.kind in ("groove", "dado", "rabbet")


def _reopened(shape: Shape, entry: AsCut, kind: str, by: float, at_start: bool) -> Shape:
    changes: dict[str, Callable[[Opening], Opening]] = {
        "width": lambda o: _widened(o, by, at_start),
        "height": lambda o: replace(o, v0=o.v0 - by) if at_start else replace(o, v1=o.v1 + by),
        "offset": lambda o: _slid(o, by, shape.size[0]),
        "sill": lambda o: replace(o, v0=o.v0 + by, v1=o.v1 + by),
    }
    change = changes[kind]
    openings = tuple(_round_fit(change(o)) if _matches(o, entry) else o for o in shape.openings)
    return replace(shape, openings=openings)


def _widened(opening: Opening, by: float, at_start: bool) -> Opening:
    """A wider opening; one that runs out of an end has one edge only, which moves whatever was said."""
    at_start = at_start if opening.open_end is None else opening.open_end == "end"
    return replace(opening, u0=opening.u0 - by) if at_start else replace(opening, u1=opening.u1 + by)


def _slid(opening: Opening, by: float, length: float) -> Opening:
    """An opening further along the part; one that runs out of an end still does."""
    u0 = opening.u0 if opening.open_end == "start" else opening.u0 + by
    u1 = length if opening.open_end == "end" else opening.u1 + by
    return replace(opening, u0=u0, u1=u1)


def _round_fit(opening: Opening) -> Opening:
    """A bit cannot cut corners rounder than the opening is high."""
    return replace(
        opening,
        corner_radius=min(
            opening.corner_radius, (opening.v1 - opening.v0) / 2, (opening.u1 - opening.u0) / 2
        ),
    )
