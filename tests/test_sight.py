"""Where findings are looked at from, against rays and triangles: every triangle of every part is asked, one by one.

The reference (Möller and Trumbore, "Fast, minimum storage ray-triangle intersection", 1997, from memory) knows meshes
only; what is tested knows convex pieces only.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import cycle, product
from random import Random

import numpy as np
import pytest

from addon.check.facts import Place
from addon.check.prepared import Prepared, prepare
from addon.designs.findings import Finding
from addon.designs.table.build import build
from addon.designs.table.design import check
from addon.designs.table.parameters import Table
from addon.files.editing import set_values
from addon.scene import sight
from addon.scene.rays import Body, body, box, entered
from addon.wood.assembly import Assembly
from addon.wood.meshes.mesh import mesh_of
from random_tables import sound_table
from tests.large import sampled
from tests.old_tables import EXAMPLES
from tests.test_findings import FAULTS, FIRST_FAULTS, Changes, as_cut, place_at

pytestmark = pytest.mark.once

QUILTING, BENCH = EXAMPLES["quilting"].table(), EXAMPLES["seed-bench"].table()
MM = 1e-3
BACKS = [(0.5, -0.6, 0.6), (0.0, 0.0, -1.0), (-0.7, 0.7, -0.1)]
"""Ways from the place to where the view is looked from before."""

SIZES = {"wide": (1300, 900), "small": (420, 300), "upright": (500, 900)}
"""Views, pixels; over the right third of each lies a sidebar."""


def lens(size: tuple[int, int], back: tuple[float, float, float], perspective: bool = True) -> sight.Lens:
    unit = np.array(back) / np.linalg.norm(back)
    return sight.Lens(0.72, size, (0.0, size[0] * 0.7, 0.0, size[1] - 50.0), 1.0, perspective, unit)


def moves_of(assembly: Assembly, place: Place) -> dict[str, np.ndarray]:
    """Where each leaf is: on the cover, but for the one that a place is about, which is at its travel."""
    found = {}
    for label, lies in assembly.cover.items():
        home = assembly.by_label[label].placement
        if label == place.leaf and place.travel is not None:
            goal = home.moved(assembly.path_of(label).offset_at(place.travel))
        else:
            goal = lies
        found[label] = matrix(goal) @ np.linalg.inv(matrix(home))
    return found


def matrix(placement) -> np.ndarray:
    found = np.eye(4)
    found[:3, :3], found[:3, 3] = placement.axes.T, placement.origin * MM
    return found


def bodies_of(prepared: Prepared, moves: dict[str, np.ndarray]) -> list[Body]:
    return [
        body(label, prepared.pieces[number], moves.get(label, np.eye(4)))
        for label, number in prepared.number.items()
    ]


def triangles_of(assembly: Assembly, moves: dict[str, np.ndarray]) -> dict[str, np.ndarray]:
    """Label → (t, 3, 3) float, m."""
    found = {}
    for part in assembly.parts:
        mesh, move = mesh_of(part.shape), moves.get(part.label, np.eye(4))
        points = part.placement.to_table(mesh.vertices) * MM
        found[part.label] = (points @ move[:3, :3].T + move[:3, 3])[mesh.triangles]
    return found


def met(triangles: np.ndarray, begin: np.ndarray, end: np.ndarray) -> list[np.ndarray]:
    """For each ray the shares of its way, from 0 to 1, at which it meets triangles."""
    a, b, c = triangles[:, 0], triangles[:, 1], triangles[:, 2]
    found = []
    for start, way in zip(begin, end - begin, strict=True):
        across = np.cross(way, c - a)
        size = ((b - a) * across).sum(axis=1)
        with np.errstate(all="ignore"):
            u = ((start - a) * across).sum(axis=1) / size
            side = np.cross(start - a, b - a)
            v = side @ way / size
            t = (side * (c - a)).sum(axis=1) / size
            inside = (u >= 0) & (v >= 0) & (u + v <= 1) & (t > 0) & (t < 1)
        found.append(t[inside])
    return found


def spot_of(place: Place, there: Assembly) -> sight.Spot:
    """Where the amount is measured, if that is farther than 20 mm from the place: else neither would be in view."""
    span, at = np.zeros(3), np.array(place.at)
    if place.span is not None:
        span, middle = np.subtract(place.span[1], place.span[0]), np.mean(place.span, axis=0)
        at = middle if np.linalg.norm(middle - at) > 20.0 else at
    return sight.Spot(at * MM, span * MM, tuple(one for one in place.parts if one in there.by_label))


def assert_seen(table: Table, place: Place, one: sight.Lens, seed: int = 1) -> sight.Sight:
    prepared = prepared_of(table)
    assembly = prepared.assembly
    moves = moves_of(assembly, place)
    bodies, triangles = bodies_of(prepared, moves), triangles_of(assembly, moves)
    spot = spot_of(place, assembly)
    found = sight.choose(bodies, spot, one)
    through = {bodies[number].label for number in found.through}
    back = found.axes[2]
    np.testing.assert_allclose(found.axes @ found.axes.T, np.eye(3), atol=1e-9)
    assert np.linalg.det(found.axes) == pytest.approx(1)
    # The place, and points 3 mm around it on the side seen.
    some = np.random.default_rng(seed).normal(size=(24, 3))
    some *= 0.003 / np.linalg.norm(some, axis=1, keepdims=True)
    some[some @ back < 0] *= -1
    ends = spot.place + np.concatenate([np.zeros((1, 3)), some[some @ back > 0.002]])
    eye = found.middle + found.distance * back
    begin = np.broadcast_to(eye, ends.shape) if one.perspective else ends + 5.0 * back
    lengths = np.linalg.norm(ends - begin, axis=1)
    own = 0.005 + float(np.linalg.norm(spot.span))
    for label, corners in triangles.items():
        if label in through:
            continue
        # The place may lie in the wood of the finding's own parts, as deep as they overlap and the points reach.
        least = own if label in spot.labels else 1e-4
        for shares, length in zip(met(corners, begin, ends), lengths, strict=True):
            assert not ((1.0 - shares) * length > least + 1e-6).any(), (label, place)
    x, y = seen_at(spot.place, found, one)
    left, right_end, low, high = one.free
    assert (x, y) == pytest.approx(((left + right_end) / 2, (low + high) / 2), abs=0.01)
    for label, point in found.names.items():
        assert label in spot.labels
        x, y = seen_at(point, found, one)
        if label not in through:
            assert left < x < right_end
            assert low < y < high
    return found


def seen_at(point: np.ndarray, found: sight.Sight, one: sight.Lens) -> tuple[float, float]:
    """Pixels from the lower left corner, as a camera with a film as wide as the longer side of the view sees it."""
    x, y, depth = found.axes @ (point - found.middle)
    ahead = found.distance - depth if one.perspective else found.distance
    size = np.array(one.size)
    pixels = np.array([x, y]) / (ahead * one.slope) * size.max() / 2 + size / 2
    return float(pixels[0]), float(pixels[1])


@lru_cache(maxsize=8)
def prepared_of(table: Table) -> Prepared:
    return prepare(build(table))


@lru_cache(maxsize=8)
def checked(table: Table) -> tuple[Finding, ...]:
    return check(table).findings


@pytest.mark.parametrize(
    ("rule", "parts", "changes"),
    [(rule, parts, changes) for rule, parts, _, changes in sampled(FIRST_FAULTS, FAULTS)],
)
def test_the_place_of_every_rule_is_seen(rule: str, parts: tuple[str, ...], changes: Changes) -> None:
    table = set_values(QUILTING, changes)
    places = [place_at(one, rule, parts) for one in checked(table)]
    place = next(one for one in places if one is not None)
    found = assert_seen(table, place, lens(SIZES["wide"], (0.5, -0.6, 0.6)))
    # No eye is between the sides, whose upper edges are at 770 mm.
    low = triangles_of(build(table), {})["S1"][:, :, 2].min()
    x, y, z = found.middle + found.distance * found.axes[2]
    assert not (abs(x) < 0.75 and abs(y) < 0.48 and low < z < 0.77)


BENCH_FAULTS: list[Changes] = [
    as_cut("R2", "length", 3.0, "end"),
    as_cut("R2", "length", -3.0, "end"),
    as_cut("S1", "slot_height", -2.0),
    as_cut("S1", "width", -4.0),
    as_cut("L1", "width", 6.0),
    as_cut("B1", "length", -5.0),
    {
        **as_cut("R2", "length", 3.0, "end"),
        **as_cut("S1", "slot_height", -2.0, at=1),
        **as_cut("L1", "width", 6.0, at=2),
    },
]


@pytest.mark.parametrize(
    ("size", "back", "perspective"),
    sampled(
        list(zip([*SIZES] * 2, [*BACKS, *BACKS[1:], BACKS[0]], cycle((True, False)), strict=False)),
        list(product(SIZES, BACKS, (True, False))),
    ),
)
def test_from_any_start_in_any_window(size: str, back: tuple[float, float, float], perspective: bool) -> None:
    seen = 0
    for changes in BENCH_FAULTS:
        table = set_values(BENCH, changes)
        for finding in checked(table):
            for place in finding.places[:2]:
                assert_seen(table, place, lens(SIZES[size], back, perspective))
                seen += 1
    assert seen >= len(BENCH_FAULTS)


@pytest.mark.parametrize("seed", range(sampled(6, 60)))
def test_on_random_tables_with_two_faults(seed: int) -> None:
    random = Random(seed)
    table, assembly = sound_table(seed)
    ribs = [part.label for part in assembly.parts if part.role.word == "rib"]
    faults = {
        **as_cut(random.choice(ribs), "length", random.uniform(1.0, 6.0), "end"),
        **as_cut("S1", "groove_width", -random.uniform(0.5, 2.0), at=1),
    }
    table = set_values(table, faults)
    back = np.random.default_rng(seed).normal(size=3)
    findings = [one for one in checked(table) if one.severity != "note"]
    assert findings
    for finding in findings:
        assert_seen(table, finding.places[0], lens((900, 700), (back[0], back[1], back[2])), seed)


def boards(*boxes: tuple[str, tuple[float, float, float], tuple[float, float, float]]) -> list[Body]:
    return [box(label, np.array(low), np.array(high), np.eye(4)) for label, low, high in boxes]


@pytest.mark.parametrize(("lids", "through"), [(1, 1), (2, 2), (3, 0)])
def test_two_lids_are_looked_through_rather_than_under(lids: int, through: int) -> None:
    """A post on an open shelf below lids: from below and before nothing is in the way, but nobody stands there."""
    post = ("P", (-0.02, -0.02, 0.0), (0.02, 0.02, 0.4))
    above = [(f"LID{n}", (-1, -1, 0.4 + 0.02 * n), (1, 1, 0.42 + 0.02 * n)) for n in range(lids)]
    spot = sight.Spot(np.array([0.0, -0.02, 0.4]), np.array([0.0, 0.0, 0.004]), ("P",))
    found = sight.choose(boards(post, *above), spot, lens(SIZES["wide"], (0.4, -0.7, 0.6)))
    assert len(found.through) == through
    assert (found.axes[2][2] > 0.0) == (through > 0)  # the eye is above
    assert found.axes[2][1] < 0.0  # and before


def test_without_perspective_one_board_is_looked_through() -> None:
    """The eye is outside of a closed box."""
    post, lid = ("P", (-0.02, -0.02, 0.0), (0.02, 0.02, 0.4)), ("LID", (-1, -1, 0.4), (1, 1, 0.42))
    spot = sight.Spot(np.array([0.0, -0.02, 0.4]), np.array([0.0, 0.0, 0.004]), ("P",))
    walls = [
        ("W", (-1, -1, 0), (-0.98, 1, 0.4)), ("E", (0.98, -1, 0), (1, 1, 0.4)),
        ("S", (-1, -1, 0), (1, -0.98, 0.4)), ("N", (-1, 0.98, 0), (1, 1, 0.4)), ("FLOOR", (-1, -1, -0.02), (1, 1, 0)),
    ]  # fmt: skip
    bodies = boards(post, lid, *walls)
    found = sight.choose(bodies, spot, lens(SIZES["wide"], (0.4, -0.7, 0.6), perspective=False))
    assert len(found.through) == 1
    assert bodies[found.through[0]].label in ("S", "E", "LID")


def closed_body(around: int, below: int) -> list[Body]:
    """A rib in a closed body on four legs, which begins 0.5 m above the floor: so many boards on each other around it
    and below it."""
    layers = range(around)
    bodies = [("P", (-0.01, -0.4, 0.52), (0.01, 0.4, 0.72))]
    bodies += [
        (f"LEG{x}{y}", (x, y, 0.0), (x + 0.04, y + 0.04, 0.5)) for x in (-0.9, 0.9) for y in (-0.5, 0.5)
    ]
    bodies += [(f"B{n}", (-1, -0.6, 0.48 - 0.02 * n), (1, 0.6, 0.5 - 0.02 * n)) for n in range(below)]
    for n in layers:
        out = 0.02 * n
        bodies += [
            (f"T{n}", (-1, -0.6, 0.74 + out), (1, 0.6, 0.76 + out)),
            (f"W{n}", (-1.02 - out, -0.6, 0.5), (-1 - out, 0.6, 0.74)),
            (f"E{n}", (1 + out, -0.6, 0.5), (1.02 + out, 0.6, 0.74)),
            (f"S{n}", (-1, -0.62 - out, 0.5), (1, -0.6 - out, 0.74)),
            (f"N{n}", (-1, 0.6 + out, 0.5), (1, 0.62 + out, 0.74)),
        ]
    return boards(*bodies)


@pytest.mark.parametrize(
    ("around", "below", "through"),
    [
        (1, 1, 1),
        (2, 2, 2),
        (3, 1, 3),  # not from below, between the legs, through one
        (3, 3, 3),
        (4, 1, 1),  # but there rather than through four
        (1, 3, 1),
        (4, 4, 0),  # nobody knows what four boards hide: from within
    ],
)
@pytest.mark.parametrize("back", [(0.4, -0.7, 0.6), (0.9, 0.3, 0.1), (0.0, 0.1, -1.0)])
def test_the_eye_is_within_the_body_only_where_four_boards_hide_the_place(
    around: int, below: int, through: int, back: tuple[float, float, float]
) -> None:
    bodies = closed_body(around, below)
    spot = sight.Spot(np.array([0.01, 0.1, 0.62]), np.array([0.0, 0.0, 0.004]), ("P",))
    found = sight.choose(bodies, spot, lens(SIZES["wide"], back))
    eye = found.middle + found.distance * found.axes[2]
    within = (np.abs(eye) < [1.0, 0.6, 9.0]).all() and 0.5 < eye[2] < 0.74
    assert within == (through == 0)
    assert len(found.through) == through
    assert "P" not in {bodies[number].label for number in found.through}


def test_a_place_in_the_open_is_seen_as_the_user_looks() -> None:
    """Nothing is in the way and the dimension lies across: the view need not turn."""
    now = np.array([0.5, -0.6, 0.62])
    spot = sight.Spot(np.array([0.0, 0.0, 0.02]), np.array([0.01, 0.0, 0.0]), ("TOP",))
    top = boards(("TOP", (-1, -1, 0), (1, 1, 0.02)))
    found = sight.choose(top, spot, lens(SIZES["wide"], (0.5, -0.6, 0.62)))
    np.testing.assert_allclose(found.axes[2], now / np.linalg.norm(now), atol=1e-9)
    # Along the way that is looked, a dimension would be a point: then it turns, by 45 degrees at least.
    along = sight.Spot(spot.place, -0.01 * now, ("TOP",))
    turned = sight.choose(top, along, lens(SIZES["wide"], (0.5, -0.6, 0.62)))
    assert abs(turned.axes[2] @ now) / np.linalg.norm(now) < np.cos(np.radians(40))


def test_the_dimension_is_long_enough_to_be_read_and_the_part_is_seen() -> None:
    top = boards(("TOP", (-1, -1, 0), (1, 1, 0.02)))
    for length, pixels in ((0.004, 6.5), (0.008, 6.5)):
        spot = sight.Spot(np.array([0.0, 0.0, 0.02]), np.array([length, 0.0, 0.0]), ("TOP",))
        one = lens(SIZES["wide"], (0.5, -0.6, 0.62))
        found = sight.choose(top, spot, one)
        ends = [seen_at(spot.place + share * spot.span, found, one) for share in (-0.5, 0.5)]
        assert np.hypot(*np.subtract(*ends)) == pytest.approx(pixels, rel=0.15)  # perspective
    for length in (
        1e-5,
        0.3,
    ):  # a hair, and what is longer than the view: between 55 and 500 mm to its border
        spot = sight.Spot(np.array([0.0, 0.0, 0.02]), np.array([length, 0.0, 0.0]), ("TOP",))
        found = sight.choose(top, spot, one)
        across = seen_at(spot.place + 0.06 * found.axes[0], found, one)[0] - one.free[1] / 2
        border = min(one.free[1], one.free[3]) / 2
        assert 0.055 - 1e-6 <= 0.06 * border / across <= 0.5 + 1e-6


def test_rays_meet_what_they_meet_by_triangles() -> None:
    """Where a ray enters each part, against all its triangles; the part is closed, so the first is where it goes in."""
    prepared = prepare(build(QUILTING))
    bodies, triangles = bodies_of(prepared, {}), triangles_of(prepared.assembly, {})
    random = np.random.default_rng(4)
    begin = random.normal(size=(60, 3)) * 3.0
    end = random.uniform([-0.7, -0.45, 0.6], [0.7, 0.45, 0.75], size=(60, 3))
    found = entered(bodies, begin, end)
    count = 0
    for one, shares in zip(bodies, found, strict=True):
        for ray, hits in enumerate(met(triangles[one.label], begin, end)):
            wanted = hits.min() if len(hits) else np.inf
            assert shares[ray] == pytest.approx(wanted, abs=1e-5) or min(abs(shares[ray] - 1), 1) < 1e-5
            count += np.isfinite(wanted)
    assert count > 60
