"""Random parts, and the same parts built a second way out of manifold3d's own primitives.

manifold3d (E. Lalish and contributors, https://github.com/elalish/manifold) is the reference: its extrusions, hulls
and differences share nothing with the project but the facets of arcs.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING, Literal

import manifold3d as m3
import numpy as np

from addon.sizes.errors import PartError
from addon.wood.features import AngledHole, Bevel, EdgeTreatment, Groove, Hole, Opening, Taper
from addon.wood.part import Shape, rectangle
from addon.wood.profiles import corner_steps, edge_profile, hole_steps, steps
from addon.wood.sound import check_features

if TYPE_CHECKING:
    from addon.wood.features import End
    from addon.wood.meshes.mesh import Mesh
    from addon.wood.solids.pieces import Pieces

FAR = 1000.0


def as_manifold(mesh: Mesh) -> m3.Manifold:
    """The mesh as it is, vertices merged by nothing but their numbers."""
    return m3.Manifold(m3.Mesh64(vert_properties=mesh.vertices, tri_verts=mesh.triangles.astype(np.uint64)))


def difference(a: m3.Manifold, b: m3.Manifold) -> float:
    """Volume of what is in one of two solids only, mm³, by way of what is in both.

    The library's own differences of nearly equal solids leave flakes that are far larger than the solids' distance.
    """
    return a.volume() + b.volume() - 2.0 * (a ^ b).volume()


def allowed(solid: m3.Manifold) -> float:
    """Rounding to expect in `difference`, mm³."""
    return 1e-9 * solid.volume() + 1e-6


def union(pieces: Pieces) -> m3.Manifold:
    """Convex pieces as one solid."""
    return m3.Manifold.batch_boolean(_hulls(pieces), m3.OpType.Add)


def difference_from_union(solid: m3.Manifold, pieces: Pieces) -> float:
    """`difference` between a solid and the union of convex pieces.

    Where many faces lie in one plane the library now and then drops wood from a union, other wood for another
    order of the pieces; what is really missing is missing in every order. So the best of some orders counts.
    """
    hulls = _hulls(pieces)
    best = abs(difference(solid, m3.Manifold.batch_boolean(hulls, m3.OpType.Add)))
    rng = np.random.default_rng(0)
    for _ in range(20):
        if best <= allowed(solid):
            break
        joined = m3.Manifold()
        for number in rng.permutation(len(hulls)):
            joined += hulls[number]
        best = min(best, abs(difference(solid, joined)))
    return best


def _hulls(pieces: Pieces) -> list[m3.Manifold]:
    return [m3.Manifold.hull_points(pieces.piece(i)) for i in range(len(pieces))]


def reference(shape: Shape) -> m3.Manifold:
    """The shape as an extrusion from which every cut is taken away."""
    board = _prism(np.array(shape.outline, dtype=float), 0.0, shape.thickness)
    cuts = [cut for edge in range(len(shape.outline)) for cut in _edge_cuts(shape, edge)] + cuts_of(shape)
    return board - m3.Manifold.batch_boolean(cuts, m3.OpType.Add) if cuts else board


def cuts_of(shape: Shape) -> list[m3.Manifold]:
    """What each opening, groove and hole takes away."""
    cuts = [m3.Manifold.batch_boolean(_voids(opening, shape), m3.OpType.Add) for opening in shape.openings]
    for g in shape.grooves:
        low = 0.0 if g.face == "front" else shape.thickness - g.depth
        ends = g.round_ends(shape.blank)
        whole = m3.Manifold.cube((g.u1 - g.u0, g.v1 - g.v0, g.depth)).translate((g.u0, g.v0, low))
        cuts.append(
            whole - m3.Manifold.batch_boolean(_in_corners(g, low, ends), m3.OpType.Add) if ends else whole
        )
    cuts += [m3.Manifold.batch_boolean(_bores(hole, shape.thickness), m3.OpType.Add) for hole in shape.holes]
    cuts += [m3.Manifold.batch_boolean(_at_angle(hole, shape), m3.OpType.Add) for hole in shape.angled_holes]
    return cuts


def _in_corners(g: Groove, low: float, ends: tuple[End, ...]) -> list[m3.Manifold]:
    """What a bit leaves of the corners at a groove's stopped ends: a square less a polygon around a circle."""
    r, count = g.end_radius, 4 * steps(g.end_radius)
    along, left = (0 if g.along == "u" else 1), []
    corners = [(su, sv) for su in (-1, 1) for sv in (-1, 1)]
    for signs in corners:
        if ("start", "end")[signs[along] > 0] not in ends:
            continue
        u, v = (g.u0, g.u1)[signs[0] > 0] - signs[0] * r, (g.v0, g.v1)[signs[1] > 0] - signs[1] * r
        circle = _prism(_circle(2 * r, count), -1.0, g.depth + 1.0).translate((u, v, low))
        square = m3.Manifold.cube((r, r, g.depth)).translate(
            (u - r * (signs[0] < 0), v - r * (signs[1] < 0), low)
        )
        left.append(square - circle)
    return left


def _circle(diameter: float, count: int) -> np.ndarray:
    """A regular polygon around a circle; its sides touch it at multiples of 360 degrees over `count`."""
    angles = (2 * np.arange(count) + 1) * np.pi / count
    return diameter / 2 / np.cos(np.pi / count) * np.column_stack([np.cos(angles), np.sin(angles)])


def _bores(hole: Hole, thickness: float) -> list[m3.Manifold]:
    """Shank, counterbore and countersink, drawn from the front face and turned over for the back one."""
    count = hole_steps(max(hole.diameter, hole.counterbore_diameter, hole.countersink_diameter))
    bores = [_prism(_circle(hole.diameter, count), 0.0, thickness if hole.depth is None else hole.depth)]
    seat = hole.counterbore_depth if hole.counterbore_diameter else 0.0
    if seat:
        bores.append(_prism(_circle(hole.counterbore_diameter, count), 0.0, seat))
    if hole.countersink_diameter:
        sink = (
            (hole.countersink_diameter - hole.diameter) / 2 / np.tan(np.radians(hole.countersink_angle / 2))
        )
        rings = [(hole.countersink_diameter, seat), (hole.diameter, seat + sink)]
        points = [np.column_stack([_circle(size, count), np.full(count, w)]) for size, w in rings]
        bores.append(m3.Manifold.hull_points(np.concatenate(points)))
    if hole.face == "back":
        bores = [bore.mirror((0, 0, 1)).translate((0, 0, thickness)) for bore in bores]
    return [bore.translate((hole.u, hole.v, 0)) for bore in bores]


def _at_angle(hole: AngledHole, shape: Shape) -> list[m3.Manifold]:
    """Prisms along z, turned to the hole's axis; what runs out of the board goes far past it."""
    p, q = (np.array(shape.outline[i % len(shape.outline)], dtype=float) for i in (hole.edge, hole.edge + 1))
    along = (q - p) / np.linalg.norm(q - p)
    outward, lean = np.array([along[1], -along[0]]), np.radians(hole.angle)
    entry, down = p + along * hole.along - outward * hole.inset, 1.0 if hole.face == "front" else -1.0
    axis = np.array([*(outward * np.cos(lean)), down * np.sin(lean)])
    below = np.array([*(-outward * np.sin(lean)), down * np.cos(lean)])
    origin = np.array([*entry, 0.0 if hole.face == "front" else shape.thickness])
    count, bores = hole_steps(hole.diameter), []
    for size, depth in ((hole.diameter, hole.depth), (hole.pilot_diameter, hole.pilot_depth)):
        if size:
            ring, far = _circle(size, count), FAR if depth is None else depth
            points = [
                origin + ring[:, :1] * [*along, 0.0] + ring[:, 1:] * below + t * axis
                for t in (-FAR / 10, far)
            ]
            bores.append(m3.Manifold.hull_points(np.concatenate(points)))
    return bores


def _prism(loop: np.ndarray, low: float, high: float) -> m3.Manifold:
    return m3.CrossSection([loop]).extrude(high - low).translate((0, 0, low))


def _edge_cuts(shape: Shape, edge: int) -> list[m3.Manifold]:
    """A wedge beyond each straight length of the edge's section. The wood of a convex section is what remains."""
    p, q = (np.array(shape.outline[i % len(shape.outline)], dtype=float) for i in (edge, edge + 1))
    along = (q - p) / np.linalg.norm(q - p)
    inward = np.array([-along[1], along[0]])
    length, thickness = float(np.linalg.norm(q - p)), shape.thickness
    runs = np.roll(shape.outline, -1, axis=0) - shape.outline
    before = np.roll(runs, 1, axis=0)
    turns = before[:, 0] * runs[:, 1] - before[:, 1] * runs[:, 0]
    # a cut goes on beyond a corner that turns left; past straight ones it ends square
    far = 2000.0 if turns.min() >= 0.0 else 100.0
    beyond = [far if turns[i % len(turns)] > 1e-9 else 0.0 for i in (edge, edge + 1)]
    bevel = next((b for b in shape.bevels if b.edge == edge), None)
    treatments = [t for t in shape.edge_cuts if t.edge == edge]
    spans = [(None, None, ())] if bevel else []
    spans += [(t.start, t.stop, (t,)) for t in treatments]
    cuts = []
    for start, stop, cut in spans:
        section = edge_profile(thickness, cut, bevel)
        for (w0, i0), (w1, i1) in pairwise(section):
            if w1 - w0 < 1e-12 or max(i0, i1) < 1e-12:
                continue
            slope = (i1 - i0) / (w1 - w0)
            # a gentle slope is followed to 100 mm beyond the edge only
            limit = float((-100.0 - i0) / slope + w0) if slope else 0.0
            down = (
                max(-1.0, limit) if slope > 0 else -1.0,
                min(thickness + 1, limit) if slope < 0 else thickness + 1,
            )
            ends = [(w, i0 + slope * (w - w0)) for w in down]
            s = (-beyond[0] if start is None else start, length + beyond[1] if stop is None else stop)
            corners = [
                (*(p + along * x + inward * i), w) for x in s for w, inset in ends for i in (-FAR, inset)
            ]
            cuts.append(m3.Manifold.hull_points(np.array(corners)))
    return cuts


def _voids(opening: Opening, shape: Shape) -> list[m3.Manifold]:
    """Land and both chamfers of an opening, each as what half-spaces leave of a block."""
    o, thickness = opening, shape.thickness
    r, count = o.corner_radius, corner_steps(opening)
    sides = [((1, 0), o.u1), ((0, 1), o.v1), ((-1, 0), -o.u0), ((0, -1), -o.v0)]
    if o.open_end:
        sides.remove(((1, 0), o.u1) if o.open_end == "end" else ((-1, 0), -o.u0))
    if o.open_above:
        sides.remove(((0, 1), o.v1))
    facets = [(np.array(direction, dtype=float), reach) for direction, reach in sides]
    for su, sv in ((1, 1), (-1, 1), (-1, -1), (1, -1)):
        if o.open_end == {1: "end", -1: "start"}[su] or (o.open_above and sv > 0):
            continue
        center = np.array([o.u1 - r if su > 0 else o.u0 + r, o.v1 - r if sv > 0 else o.v0 + r])
        for k in range(1, count):
            angle = k * np.pi / 2 / count
            direction = np.array([su * np.cos(angle), sv * np.sin(angle)])
            facets.append((direction, direction @ center + r))
    voids = []
    for slope, shift in ((0.0, 0.0), (1.0, o.front_chamfer), (-1.0, o.back_chamfer - thickness)):
        if slope and not (o.front_chamfer if slope > 0 else o.back_chamfer):
            continue
        (u0, v0), (u1, v1) = np.min(shape.outline, axis=0) - 50, np.max(shape.outline, axis=0) + 50
        void = m3.Manifold.cube((u1 - u0, v1 - v0, thickness)).translate((u0, v0, 0))
        for direction, reach in facets:
            # keep direction · (u, v) + slope · w <= reach + shift
            scale = np.hypot(1.0, slope)
            void = void.trim_by_plane(tuple(-np.append(direction, slope) / scale), -(reach + shift) / scale)
        voids.append(void)
    return voids


def random_shapes(count: int, seed: int) -> list[Shape]:
    """Sound shapes of every kind, in the sizes of furniture parts."""
    rng = np.random.default_rng(seed)
    shapes: list[Shape] = []
    while len(shapes) < count:
        shape = random_shape(rng)
        try:
            check_features(shape)
        except PartError:
            continue
        if not grooves_meet_openings(shape):
            shapes.append(shape)
    return shapes


def grooves_meet_openings(shape: Shape) -> bool:
    """Whether a groove and an opening have anything in common, chamfers and round corners taken for square."""
    for groove in shape.grooves:
        for o in shape.openings:
            wide = max(o.front_chamfer, o.back_chamfer) + 0.05
            (u0, v0, _), (u1, v1, _) = o.bounds(shape.blank)
            far = 1e4
            u0, u1 = (-far if o.open_end == "start" else u0), (far if o.open_end == "end" else u1)
            v1 = far if o.open_above else v1
            if (
                groove.u0 < u1 + wide
                and u0 - wide < groove.u1
                and groove.v0 < v1 + wide
                and v0 - wide < groove.v1
            ):
                return True
    return False


def random_drilled_shapes(count: int, seed: int) -> list[Shape]:
    """Sound shapes with tapers, with stepped holes and with holes at an angle, beside all the rest."""
    rng = np.random.default_rng(seed)
    shapes: list[Shape] = []
    while len(shapes) < count:
        shape = random_shape(rng)
        kept = [one for one in shape.features if rng.random() < 0.5]
        added = [_taper(rng, shape)] if rng.random() < 0.4 else []
        added += [_stepped(rng, shape) for _ in range(rng.integers(0, 3))]
        added += [_angled(rng, shape) for _ in range(rng.integers(0, 3))]
        drilled = Shape(shape.outline, shape.thickness, (*kept, *added))
        try:
            check_features(drilled)
        except PartError:
            continue
        if added and not grooves_meet_openings(drilled):
            shapes.append(drilled)
    return shapes


def _taper(rng: np.random.Generator, shape: Shape) -> Taper:
    edge = int(rng.integers(len(shape.outline)))
    amount = float(rng.uniform(0.5, 0.6 * shape.thickness))
    return Taper(edge, _face(rng), float(rng.uniform(5, 0.4 * min(shape.size[:2]))), amount)


def _stepped(rng: np.random.Generator, shape: Shape) -> Hole:
    length, width, thickness = shape.size
    diameter = float(rng.uniform(2, 10))
    depth = float(rng.uniform(0.5, 0.95)) * thickness if rng.random() < 0.4 else None
    hole = Hole(float(rng.uniform(0, length)), float(rng.uniform(0, width)), diameter, depth, _face(rng))
    if rng.random() < 0.6:
        bore, seat = diameter * float(rng.uniform(1.3, 2.5)), float(rng.uniform(0.05, 0.4)) * thickness
        hole = replace(hole, counterbore_diameter=bore, counterbore_depth=seat)
    if rng.random() < 0.6:
        sink, angle = diameter * float(rng.uniform(1.1, 2.2)), float(rng.choice([82.0, 90.0, 120.0]))
        hole = replace(hole, countersink_diameter=sink, countersink_angle=angle)
    return hole


def _angled(rng: np.random.Generator, shape: Shape) -> AngledHole:
    edge = int(rng.integers(len(shape.outline)))
    thickness, lean = shape.thickness, float(rng.choice([15.0, rng.uniform(10, 80)]))
    slope, diameter = np.tan(np.radians(lean)), float(rng.uniform(0.15, 0.5)) * shape.thickness
    inset = float(rng.uniform(0.2, 0.9)) * thickness / slope + float(
        rng.choice([0.0, 0.0, rng.uniform(0, 60)])
    )
    to_edge = inset / np.cos(np.radians(lean))
    bore = None if rng.random() < 0.3 else float(rng.uniform(0.3, 0.95)) * min(to_edge, thickness / slope * 3)
    pilot = 0.0 if bore is None or rng.random() < 0.3 else diameter * float(rng.uniform(0.2, 0.7))
    end = None if bore is None or rng.random() < 0.6 else bore * float(rng.uniform(1.02, 1.5))
    along = float(rng.uniform(0, shape.blank.edge(edge).length))
    return AngledHole(edge, along, inset, diameter, bore, lean, _face(rng), pilot, end if pilot else None)


def random_shapes_on_grid(count: int, seed: int, inner_corners: bool) -> list[Shape]:
    """Sound shapes with one to three grooves, all coordinates multiples of 10 mm, so that much coincides.

    With `inner_corners` bevels and treatments may be on any edge, also where two meet in an inner corner.
    """
    rng = np.random.default_rng(seed)
    shapes: list[Shape] = []
    while len(shapes) < count:
        outline = _GRID_OUTLINES[rng.integers(len(_GRID_OUTLINES))]
        grooves = []
        for _ in range(rng.integers(1, 4)):
            u0, u1 = sorted(rng.choice(np.arange(-10.0, 111.0, 10.0), 2, replace=False).tolist())
            v0, v1 = sorted(rng.choice(np.arange(-10.0, 71.0, 10.0), 2, replace=False).tolist())
            grooves.append(Groove(u0, u1, v0, v1, float(rng.choice([3.0, 5.0])), _face(rng)))
        edges, bevels = [], []
        for edge in range(len(outline)) if inner_corners or len(outline) not in (6, 8) else ():
            if rng.random() < 0.16:
                stops = (10.0, 20.0) if rng.random() < 0.3 else (None, None)
                size = float(rng.choice([2.0, 4.0]))
                edges.append(EdgeTreatment(edge, _face(rng), _kind(rng), size, *stops))
            if rng.random() < 0.05:
                bevels.append(Bevel(edge, *((0.0, 12.0) if rng.random() < 0.5 else (12.0, 0.0))))
        shape = Shape(outline, 12.0, (*grooves, *edges, *bevels))
        try:
            check_features(shape)
        except PartError:
            continue
        shapes.append(shape)
    return shapes


_GRID_OUTLINES = (
    rectangle(100.0, 60.0),
    ((0.0, 0.0), (50.0, 0.0), (100.0, 0.0), (100.0, 60.0), (0.0, 60.0)),
    ((0.0, 0.0), (100.0, 0.0), (80.0, 60.0), (20.0, 60.0)),
    ((0.0, 0.0), (100.0, 0.0), (100.0, 60.0), (50.0, 60.0), (50.0, 30.0), (0.0, 30.0)),
    (
        *((0.0, 0.0), (100.0, 0.0), (100.0, 60.0), (70.0, 60.0)),
        *((70.0, 30.0), (30.0, 30.0), (30.0, 60.0), (0.0, 60.0)),
    ),
)


def _face(rng: np.random.Generator) -> Literal["front", "back"]:
    return "front" if rng.random() < 0.6 else "back"


def _kind(rng: np.random.Generator) -> Literal["chamfer", "round-over"]:
    return "chamfer" if rng.random() < 0.5 else "round-over"


def random_shape(rng: np.random.Generator) -> Shape:
    """One shape, perhaps with cuts that run into each other."""
    length, width = float(rng.uniform(200, 1600)), float(rng.uniform(60, 500))
    thickness = float(rng.choice([11.8, 17.7, rng.uniform(5, 30)]))
    kind = rng.choice(["rectangle", "rectangle", "convex", "notched"])
    if kind == "rectangle":
        outline = rectangle(length, width)
    elif kind == "convex":
        outline = _convex_outline(rng, length, width)
    else:
        step_u, step_v = length * rng.uniform(0.3, 0.7), width * rng.uniform(0.3, 0.7)
        outline = (*rectangle(length, width)[:3], (step_u, width), (step_u, step_v), (0.0, step_v))
    openings, grooves, holes = [], [], []
    for _ in range(rng.integers(0, 4)):
        openings.append(_opening(rng, length, width, thickness))
    for _ in range(rng.integers(0, 3) if rng.random() < 0.6 else 0):
        grooves.append(_groove(rng, length, width, thickness))
    for _ in range(rng.integers(0, 3)):
        depth = float(rng.uniform(1, thickness - 1)) if rng.random() < 0.5 else None
        face = _face(rng)
        place = float(rng.uniform(0, length)), float(rng.uniform(0, width))
        holes.append(Hole(*place, float(rng.uniform(2, 30)), depth, face))
    edges, bevels = _edges(rng, outline, thickness, kind == "notched")
    return Shape(outline, thickness, (*openings, *grooves, *holes, *edges, *bevels))


def _convex_outline(rng: np.random.Generator, length: float, width: float) -> tuple[tuple[float, float], ...]:
    count = int(rng.integers(3, 9))
    angles = (np.arange(count) + rng.uniform(-0.3, 0.3, count)) * 2 * np.pi / count + rng.uniform(0, 7)
    points = np.column_stack([np.cos(angles), np.sin(angles)]) * [length / 2, width / 2]
    return tuple(map(tuple, (points + [length / 2, width / 2]).tolist()))


def _opening(rng: np.random.Generator, length: float, width: float, thickness: float) -> Opening:
    u0, v0 = float(rng.uniform(0, length * 0.8)), float(rng.uniform(0, width * 0.8))
    u1, v1 = u0 + float(rng.uniform(5, length * 0.4)), v0 + float(rng.uniform(5, width * 0.4))
    open_end: End | None = None
    if rng.random() < 0.3:
        open_end = "start" if rng.random() < 0.5 else "end"
    u0, u1 = (min(0.0, u0) if open_end == "start" else u0), (length if open_end == "end" else u1)
    above = bool(rng.random() < 0.3)
    v1 = width if above else v1
    radius = float(rng.choice([0.0, 3.0, min(rng.uniform(0, 20), (u1 - u0) / 2, (v1 - v0) / 2)]))
    chamfers = [float(rng.choice([0.0, 2.0, rng.uniform(0, 0.8 * thickness)])) for _ in range(2)]
    return Opening(u0, u1, v0, v1, radius, *chamfers, open_end, open_above=above)


def _groove(rng: np.random.Generator, length: float, width: float, thickness: float) -> Groove:
    depth = float(rng.uniform(1, 0.7 * thickness))
    face = _face(rng)
    u = sorted(rng.uniform(-0.2 * length, 1.2 * length, 2).tolist())
    v = sorted(rng.uniform(-0.2 * width, 1.2 * width, 2).tolist())
    style = rng.integers(0, 5)
    if style == 0:
        u = [0.0, length]
    elif style == 1:
        v = [0.0, width]
    elif style == 2:
        u, v = [0.0, length], [0.0, float(rng.uniform(4, width / 2))]
    elif style == 3:
        u, v = [length - float(rng.uniform(4, length / 2)), length], [0.0, width]
    return Groove(u[0], u[1], v[0], v[1], depth, face)


def _edges(
    rng: np.random.Generator, outline: tuple[tuple[float, float], ...], thickness: float, notched: bool
) -> tuple[list[EdgeTreatment], list[Bevel]]:
    """Treatments and bevels; in a notched outline only on edges that touch no inner corner."""
    edges, bevels = [], []
    allowed = [0, 1, 5] if notched else range(len(outline))
    for edge in allowed:
        if rng.random() < 0.2:
            insets = [(0.0, thickness), (thickness, 0.0), tuple(rng.uniform(0, 15, 2).tolist())][
                rng.integers(3)
            ]
            bevels.append(Bevel(edge, *insets))
        for face in ("front", "back"):
            if rng.random() > 0.3:
                continue
            (u, v), (u1, v1) = outline[edge], outline[(edge + 1) % len(outline)]
            length = float(np.hypot(u1 - u, v1 - v))
            start, stop = (float(rng.uniform(0.1, 0.4)) * length, float(rng.uniform(0.5, 0.9)) * length)
            size = float(rng.choice([3.0, rng.uniform(0.5, 0.7 * thickness)]))
            edges.append(
                EdgeTreatment(
                    edge,
                    face,
                    _kind(rng),
                    size,
                    start if rng.random() < 0.4 else None,
                    stop if rng.random() < 0.4 else None,
                )
            )
    return edges, bevels
