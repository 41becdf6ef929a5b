"""Whether the cuts of a part leave it one sound board: each possible by itself, none running into another.

It is the door to everything that is worked out from parts.

Depth enters in closed form. Chamfers widen an opening most at one of the board's faces, and bevels and edge
treatments reach in furthest there or at the end of a blind cut, so that two depths tell for each pair.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import combinations
from math import hypot, inf, isfinite
from typing import Final

import numpy as np

from ...sizes.errors import PartError
from ...sizes.tolerances import WELD
from ...sizes.words import ordinal
from ..features import Groove, Hole, Opening
from ..features.base import Point
from ..meshes.outline import NOTCH, STOP, Lines, mouth_of, outline_lines
from ..part import Part, Shape
from ..profiles import distance_to_box, inside
from .angled_check import LEAST_WEB, Body, check_angled_holes, upright
from .outline_check import (
    check_edges,
    check_outline,
    check_sections,
    is_plain,
    is_surely_sound,
    rooms_in_rectangle,
)

_REMEMBERED: Final = 4096
"""Shapes: those of a few dozen tables, so that a part that stays as it was is not looked at again."""

_sound: set[Shape] = set()


def check_parts(parts: Iterable[Part]) -> None:
    """Refuse parts that cannot be cut, before anything is worked out from them.

    Raises
    ------
    PartError : one sentence with the part's label, and the cut or both cuts that run into each other
    """
    for part in parts:
        check_shape(part.shape, part.label)


def check_shape(shape: Shape, label: str = "") -> None:
    """Refuse a shape that cannot be cut, as `check_features` does; a sound one is looked at once only."""
    if shape in _sound:
        return
    check_features(shape, label)
    if len(_sound) >= _REMEMBERED:
        _sound.clear()
    _sound.add(shape)


@dataclass(frozen=True)
class Cut:
    """The place of an opening, groove or hole: a rectangle grown all around by a radius that may change with depth."""

    name: str
    source: Opening | Groove | Hole
    low: tuple[float, float]
    high: tuple[float, float]
    top: float
    bottom: float
    """Depths between which it is cut, mm."""
    radius: float = 0.0
    chamfers: tuple[float, float] = (0.0, 0.0)
    sharp: bool = True
    """Whether chamfers keep the rectangle's corners sharp instead of rounding them."""
    cone: tuple[float, float] = (0.0, 0.0)
    """How much wider it is at its top and at its bottom, evenly in between, mm."""

    @property
    def widest(self) -> float:
        """Greatest distance of its edges from the rectangle, mm."""
        return self.radius + max(*self.chamfers, *self.cone)

    def chamfer(self, w: float, thickness: float) -> float:
        """How far the cut's edges stand outside their land at a depth, mm."""
        front, back = self.chamfers
        upper, lower = self.cone
        share = (w - self.top) / (self.bottom - self.top)
        return max(0.0, front - w, w - (thickness - back), upper + (lower - upper) * share)


def check_features(shape: Shape, label: str = "") -> None:
    """Refuse a shape that cannot be cut; `label` is the part's, for the sentence.

    Raises
    ------
    PartError : one sentence that names the cut, or both cuts that run into each other
    """
    try:
        check_outline(shape)
        check_edges(shape)
        cuts = cuts_of(shape)
        for first, second in combinations(cuts, 2):
            _check_pair(first, second, shape.thickness)
        _check_inside(shape, cuts)
        if shape.angled_holes:
            check_angled_holes(shape, [_body(cut) for cut in cuts])
    except PartError as error:
        raise error.of(label) from None


def cuts_of(shape: Shape) -> list[Cut]:
    """All openings and grooves of a shape, and the cylinders and cones of its holes that stand square to the faces.

    Raises
    ------
    PartError : a cut that is none by itself
    """
    return [
        *(_opening(opening, shape) for opening in shape.openings),
        *(_groove(groove, shape) for groove in shape.grooves),
        *(cut for hole in shape.holes for cut in _hole(hole, shape)),
    ]


def _named(feature: Opening | Groove | Hole, shape: Shape) -> str:
    """A cut in words; of several like ones, which it is, counted from the board's start: ``the 2nd window``."""
    alike = [one for one in shape.features if one.word == feature.word]
    if len(alike) == 1:
        return f"the {feature.word}"
    before = [one.bounds(shape.blank)[0] < feature.bounds(shape.blank)[0] for one in alike]
    return f"the {ordinal(sum(before) + 1)} {feature.word}"


def _opening(o: Opening, shape: Shape) -> Cut:
    name = f"the {o.word}" if o.leaf else _named(o, shape)
    if not (o.u1 - o.u0 > WELD and o.v1 - o.v0 > WELD and _finite(o.u0, o.u1, o.v0, o.v1)):
        raise PartError(f"{name} has no width or no height.")
    across, upright = (sum(walls) for walls in o.walls)
    if not 0.0 <= o.corner_radius <= min((o.u1 - o.u0) / across, (o.v1 - o.v0) / upright) + WELD:
        raise PartError(f"{name} is too small for corners of radius {{radius}}.", radius=o.corner_radius)
    for size in (o.front_chamfer, o.back_chamfer):
        if not 0.0 <= size < shape.thickness:
            raise PartError(
                f"{name} has a chamfer of {{size}} in a board of {{board}}.", size=size, board=shape.thickness
            )
    r = o.corner_radius
    low, high = (o.u0 + r, o.v0 + r), (o.u1 - r, o.v1 - r)
    if o.open_end == "start":
        low = (min(low[0], min(u for u, _ in shape.outline)), low[1])
    elif o.open_end == "end":
        high = (max(high[0], max(u for u, _ in shape.outline)), high[1])
    if o.open_above:
        high = (high[0], max(high[1], max(v for _, v in shape.outline)))
    return Cut(name, o, low, high, 0.0, shape.thickness, r, (o.front_chamfer, o.back_chamfer), r <= WELD)


def _groove(g: Groove, shape: Shape) -> Cut:
    name = _named(g, shape)
    if not (g.u1 - g.u0 > WELD and g.v1 - g.v0 > WELD and _finite(g.u0, g.u1, g.v0, g.v1)):
        raise PartError(f"{name} has no length or no width.")
    if not 0.0 <= g.end_radius <= min(g.u1 - g.u0, g.v1 - g.v0) / 2 + WELD:
        raise PartError(f"{name} is too narrow for ends of radius {{radius}}.", radius=g.end_radius)
    if not 0.0 < g.depth < shape.thickness - LEAST_WEB:
        raise _too_deep(name, g.depth, shape)
    us, vs = zip(*shape.outline, strict=True)
    if g.u1 <= min(us) or g.u0 >= max(us) or g.v1 <= min(vs) or g.v0 >= max(vs):
        raise PartError(f"{name} lies outside the board.")
    top, bottom = (0.0, g.depth) if g.face == "front" else (shape.thickness - g.depth, shape.thickness)
    return Cut(name, g, (g.u0, g.v0), (g.u1, g.v1), top, bottom)


def _too_deep(name: str, depth: float, shape: Shape) -> PartError:
    return PartError(f"{name} is {{depth}} deep in a board of {{board}}.", depth=depth, board=shape.thickness)


def _hole(h: Hole, shape: Shape) -> Iterator[Cut]:
    """One cut for each cylinder and each cone of a hole."""
    name = _named(h, shape)
    if not (0.0 < h.diameter < inf and _finite(h.u, h.v)):
        raise PartError(f"{name} needs a diameter of more than 0.")
    if h.depth is not None and not 0.0 < h.depth < shape.thickness - LEAST_WEB:
        raise _too_deep(name, h.depth, shape)
    _check_steps(h, name, shape.thickness if h.depth is None else h.depth)
    end = shape.thickness if h.depth is None else h.depth
    for tier, bottom in zip(h.tiers, [*(tier.top for tier in h.tiers[1:]), end], strict=True):
        wider = tier.flare - tier.radius
        lengths = [(tier.top, tier.top + tier.sink, wider), (tier.top + tier.sink, bottom, 0.0)]
        for start, stop, more in lengths:
            if stop - start > WELD:
                ends, cone = (start, stop), (more, 0.0)
                if h.face == "back":
                    ends, cone = (shape.thickness - stop, shape.thickness - start), (0.0, more)
                yield Cut(name, h, (h.u, h.v), (h.u, h.v), *ends, tier.radius, sharp=False, cone=cone)


def _check_steps(h: Hole, name: str, end: float) -> None:
    """A counterbore or countersink is wider than what goes on from it, and leaves some of that."""
    bored = h.counterbore_diameter > 0
    for what, diameter in (("counterbore", h.counterbore_diameter), ("countersink", h.countersink_diameter)):
        if diameter and not h.diameter < diameter < inf:
            raise PartError(
                f"{name} has a {what} of {{wide}}: use more than its diameter, {{diameter}}.",
                wide=diameter,
                diameter=h.diameter,
            )
    if bored and h.countersink_diameter > h.counterbore_diameter:
        raise PartError(f"{name} has a countersink wider than its counterbore; make it smaller.")
    if bored and not 0.0 < h.counterbore_depth < inf:
        raise PartError(f"{name} has a counterbore without depth.")
    if h.countersink_diameter and not 0.0 < h.countersink_angle < 180.0:
        raise PartError(
            f"{name} has a countersink of {h.countersink_angle:.4g}°: use more than 0 and less than 180."
        )
    if (h.counterbore_depth if bored else 0.0) + h.sink > end - LEAST_WEB:
        raise PartError(f"{name} is all counterbore and countersink; make them shallower.")


def _body(cut: Cut) -> Body:
    """Around all of a cut."""
    return upright(cut.name, (*cut.low, cut.top), (*cut.high, cut.bottom), cut.widest)


def _finite(*values: float) -> bool:
    return all(isfinite(value) for value in values)


def _check_pair(a: Cut, b: Cut, thickness: float) -> None:
    """Two cuts must keep apart; but grooves of one face may cross, and a hole may start in a groove's floor.

    A groove may meet an opening: the board can be cut, though hardly on purpose, and the check says by how much.
    """
    if a.source is b.source or max(a.top, b.top) - min(a.bottom, b.bottom) >= LEAST_WEB:
        return
    first, second = a.source, b.source
    if isinstance(first, Groove) and isinstance(second, Groove) and first.face == second.face:
        return
    if {type(first), type(second)} == {Groove, Opening}:
        return
    gap = narrowest_gap(a, b, thickness)
    if gap >= LEAST_WEB or _starts_in(a, b) or _starts_in(b, a):
        return
    raise PartError(
        f"{a.name} runs into {b.name} by {{by}}; move either away by more than that, or make one so much smaller.",
        by=LEAST_WEB - gap,
    )


def _starts_in(hole: Cut, groove: Cut) -> bool:
    """Whether a hole is drilled within the floor of a groove, from there or right through, clear of its round ends."""
    if not (isinstance(hole.source, Hole) and isinstance(groove.source, Groove)):
        return False
    if hole.source.depth is not None and hole.source.face != groove.source.face:
        return False
    reach = hole.widest + LEAST_WEB + groove.source.end_radius
    return all(groove.low[k] + reach <= hole.low[k] <= groove.high[k] - reach for k in (0, 1))


def narrowest_gap(a: Cut, b: Cut, thickness: float) -> float:
    """Least distance between two cuts at any depth that both reach, chamfers included; negative if they overlap, mm."""
    return min(_gap(a, b, w, thickness) for w in (max(a.top, b.top), min(a.bottom, b.bottom)))


def _gap(a: Cut, b: Cut, w: float, thickness: float) -> float:
    """Distance between two cuts at a depth, negative if they overlap, mm."""
    grown = [(cut.chamfer(w, thickness), cut.sharp) for cut in (a, b)]
    square = sum(c for c, sharp in grown if sharp)
    return land_gap(a, b, square) - sum(c for c, sharp in grown if not sharp)


def land_gap(a: Cut, b: Cut, square: float = 0.0) -> float:
    """Distance between two cuts in the board's plane without chamfers and cones, negative if they overlap, mm.

    Parameters
    ----------
    square : by how much both together are greater on each side, mm
    """
    du, dv = (max(a.low[k] - b.high[k], b.low[k] - a.high[k]) - square for k in (0, 1))
    apart = hypot(max(du, 0.0), max(dv, 0.0)) if max(du, dv) > 0.0 else max(du, dv)
    return apart - a.radius - b.radius


def _check_inside(shape: Shape, cuts: list[Cut]) -> None:
    """Edges must leave a section, and openings and holes must stay within it."""
    plain = is_plain(shape.outline)
    cuts = [cut for cut in cuts if not isinstance(cut.source, Groove)]
    if plain:
        cuts = [cut for cut in cuts if not _clear_of_rectangle(cut, shape)]
    if not (plain and is_surely_sound(shape)):
        check_sections(shape)
    for cut in cuts:
        for w in (cut.top, cut.bottom):
            room = _room(cut, outline_lines(shape), w, shape)
            if room >= LEAST_WEB:
                continue
            if isinstance(cut.source, Opening) and room + cut.chamfer(w, shape.thickness) >= LEAST_WEB:
                raise PartError(f"the chamfer around {cut.name} runs out of the board; make it smaller.")
            raise PartError(f"{cut.name} runs out of the board; move it or make it smaller.")


def _clear_of_rectangle(cut: Cut, shape: Shape) -> bool:
    """Whether a cut keeps clear of the edges of a plain rectangle however far they are beveled or eased."""
    rooms = rooms_in_rectangle(shape, cut.low, cut.high)
    if isinstance(cut.source, Opening) and cut.source.is_notch:
        for edge in mouth_of(shape, cut.source).edges:
            rooms[edge] = inf
    return min(rooms) >= cut.widest + LEAST_WEB


def keeps_clear_of_edges(shape: Shape, low: Point, high: Point) -> bool:
    """Whether a rectangle of the board's plane with its middle in the wood keeps clear of all edges at all depths."""
    if is_plain(shape.outline) and min(rooms_in_rectangle(shape, low, high)) >= 0.0:
        return True
    lines = outline_lines(shape)
    rings = lines.vertices(lines.insets(np.array(lines.knees)))
    onwards = np.roll(rings, -1, axis=1)
    box = np.array(low), np.array(high)
    return all(
        distance_to_box(ring, onward, *box).min() > 0.0 for ring, onward in zip(rings, onwards, strict=True)
    )


def _room(cut: Cut, lines: Lines, w: float, shape: Shape) -> float:
    """Distance of a cut from the section's outline at a depth; negative outside, mm."""
    ring = lines.vertices(lines.insets(np.array([w])))[0]
    onward = np.roll(ring, -1, axis=0)
    chamfer = cut.chamfer(w, shape.thickness)
    grown = chamfer if cut.sharp else 0.0
    low, high = np.array(cut.low) - grown, np.array(cut.high) + grown
    others = lines.edge != NOTCH
    if isinstance(cut.source, Opening) and cut.source.is_notch:
        others &= ~np.isin(lines.edge, [*mouth_of(shape, cut.source).edges, STOP])
    elif not inside(((low + high) / 2)[None], ring, onward)[0]:
        return -inf
    distance = distance_to_box(ring[others], onward[others], low, high).min()
    return float(distance) - cut.radius - (0.0 if cut.sharp else chamfer)
